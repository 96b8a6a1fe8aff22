/* The signature value: detached CMS to CAdES baseline B (ETSI EN 319 122-1), made and checked. */
#ifndef REPORT_SEAL_CMS_H
#define REPORT_SEAL_CMS_H

#include <openssl/cms.h>
#include "report/seal_key.h"
#include "report/seal_stamp.h"
#include "report/seal_verify.h"

/* One operation of the key. *der is malloc'ed. Errors of seal_key_sign and seal_stamp_get. */
enum status seal_cms_make(struct seal_key *key, const unsigned char sha256[32],
			  const struct seal_stamp_authority *authority, unsigned char **der, size_t *size,
			  struct err *err);

/*
 * Checks der (exactly one CMS of that size) against the hash; out->at_ms holds the claimed time, and is replaced by a
 * stamped one. Fills signer, issuer, fingerprint, time, stamped_by, intact and trust. NONE, SIGNATURE or CONTENT.
 */
enum seal_fault seal_cms_check(const unsigned char *der, size_t size, const unsigned char sha256[32],
			       const struct seal_roots *roots, const struct seal_roots *stamp_roots,
			       struct seal_signature *out);

/* The form: version 1, SHA-256, no content inside, one signer; what OpenSSL reads but does not hold against anything. */
bool seal_cms_form(const unsigned char *der, size_t size);

#endif
