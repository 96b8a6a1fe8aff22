/*
 * Time stamps (RFC 3161): an authority outside states when it saw a hash. Asked over HTTP, and its answer is checked before
 * use: granted, for our hash and our nonce, signed by a certificate that may stamp times, under a root that is trusted.
 */
#ifndef REPORT_SEAL_STAMP_H
#define REPORT_SEAL_STAMP_H

#include <stddef.h>
#include <stdint.h>
#include "base/status.h"
#include "report/seal_key.h"

#define SEAL_STAMP_SIZE_MAX (64u << 10) /* of an answer; usual ones have 2 to 6 kB */

struct seal_stamp_authority {
	const char *url;		/* http:// or https:// */
	const struct seal_roots *roots; /* whom we believe the time; needed */
	long timeout_ms;		/* for the whole exchange; 0: 10 000 */
};

/*
 * Stamps the SHA-256. *token is DER (a CMS of TSTInfo), malloc'ed, the caller frees it; *at_ms is the time it states.
 * INVALID: the address is neither http nor https. BUSY, with a sentence of its own for each: cannot be reached, no answer
 * in time, HTTP status, answer too long, not a time stamp, refused (with its reason), for another hash, not our nonce,
 * not signed by somebody we trust.
 */
enum status seal_stamp_get(const struct seal_stamp_authority *authority, const unsigned char sha256[32],
			   unsigned char **token, size_t *token_size, int64_t *at_ms, struct err *err);

/* The same checks on a token that is already there (without nonce). INVALID with the sentence. signer may be NULL. */
enum status seal_stamp_check(const unsigned char *token, size_t size, const unsigned char sha256[32],
			     const struct seal_roots *roots, int64_t *at_ms, char signer[SEAL_NAME_SIZE],
			     struct err *err);

#endif
