#ifndef REPORT_SEAL_STAMP_INTERNAL_H
#define REPORT_SEAL_STAMP_INTERNAL_H

#include <openssl/bn.h>
#include "report/seal_stamp.h"
#include "seal_text.h"

enum stamp_answer { STAMP_GOOD, STAMP_MALFORMED, STAMP_IMPRINT, STAMP_NONCE, STAMP_SIGNATURE, STAMP_UNTRUSTED };

struct stamp_facts {
	int64_t at_ms;
	char signer[SEAL_NAME_SIZE];
};

/* Judges a token; nonce NULL: not asked for. roots NULL or empty: UNTRUSTED at best. The authority's certificate is judged
 * at the time it states. facts are filled from IMPRINT on. */
enum stamp_answer seal_stamp_judge(const unsigned char *token, size_t size, const unsigned char sha256[32],
				   const ASN1_INTEGER *nonce, const struct seal_roots *roots,
				   struct stamp_facts *facts);

/* A store of its own with the same roots, that judges dates at at_ms; the caller frees it. NULL for no memory. */
X509_STORE *seal_roots_at(const struct seal_roots *roots, int64_t at_ms);

/* POSTs the body; the answer's body is added to *out. BUSY with a sentence; INVALID for another kind of address. */
enum status seal_http_post(const char *url, const char *type, const char *body, size_t size, long timeout_ms,
			   size_t max, struct bytes *out, struct err *err);

#endif
