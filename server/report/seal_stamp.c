#include "report/seal_stamp.h"

#include <openssl/err.h>
#include <openssl/rand.h>
#include <openssl/ts.h>
#include <stdlib.h>
#include <string.h>
#include "seal_internal.h"
#include "seal_stamp_internal.h"

#define TIMEOUT_MS 10000

X509_STORE *seal_roots_at(const struct seal_roots *roots, int64_t at_ms)
{
	X509_STORE *store = X509_STORE_new();
	STACK_OF(X509_OBJECT) *all = X509_STORE_get0_objects(seal_roots_store(roots));
	X509_VERIFY_PARAM *param;

	if (!store)
		return NULL;
	for (int i = 0; i < sk_X509_OBJECT_num(all); i++)
		X509_STORE_add_cert(store, X509_OBJECT_get0_X509(sk_X509_OBJECT_value(all, i)));
	param = X509_STORE_get0_param(store);
	X509_VERIFY_PARAM_set_time(param, (time_t)(at_ms / 1000));
	return store;
}

static bool imprint_is(TS_TST_INFO *info, const unsigned char sha256[32])
{
	TS_MSG_IMPRINT *imprint = TS_TST_INFO_get_msg_imprint(info);
	const ASN1_OCTET_STRING *hash = TS_MSG_IMPRINT_get_msg(imprint);
	const ASN1_OBJECT *algorithm = NULL;

	X509_ALGOR_get0(&algorithm, NULL, NULL, TS_MSG_IMPRINT_get_algo(imprint));
	return OBJ_obj2nid(algorithm) == NID_sha256 && ASN1_STRING_length(hash) == 32 &&
	       memcmp(ASN1_STRING_get0_data(hash), sha256, 32) == 0;
}

/* Also that the signer's certificate may stamp times, and is the one that the token names. */
static enum stamp_answer judge_signature(PKCS7 *token, const struct seal_roots *roots, int64_t at_ms)
{
	TS_VERIFY_CTX *context = TS_VERIFY_CTX_new();
	X509_STORE *store = seal_roots_at(roots, at_ms);
	enum stamp_answer answer = STAMP_SIGNATURE;

	if (context && store) {
		TS_VERIFY_CTX_set_flags(context, TS_VFY_SIGNATURE | TS_VFY_VERSION);
		TS_VERIFY_CTX_set_store(context, store); /* becomes the context's */
		if (TS_RESP_verify_token(context, token) == 1)
			answer = STAMP_GOOD;
		else if (seal_crypto_code() == TS_R_CERTIFICATE_VERIFY_ERROR)
			answer = STAMP_UNTRUSTED;
	} else {
		X509_STORE_free(store);
	}
	TS_VERIFY_CTX_free(context);
	ERR_clear_error();
	return answer;
}

static void name_signer(PKCS7 *token, char out[SEAL_NAME_SIZE])
{
	STACK_OF(X509) *signers = PKCS7_get0_signers(token, NULL, 0);

	out[0] = '\0';
	if (sk_X509_num(signers) == 1)
		seal_name_text(X509_get_subject_name(sk_X509_value(signers, 0)), out, SEAL_NAME_SIZE);
	sk_X509_free(signers);
	ERR_clear_error();
}

static enum stamp_answer judge_info(PKCS7 *token, TS_TST_INFO *info, const unsigned char sha256[32],
				    const ASN1_INTEGER *nonce, const struct seal_roots *roots,
				    struct stamp_facts *facts)
{
	facts->at_ms = seal_time_ms(TS_TST_INFO_get_time(info));
	if (facts->at_ms == INT64_MIN)
		return STAMP_MALFORMED;
	name_signer(token, facts->signer);
	if (!imprint_is(info, sha256))
		return STAMP_IMPRINT;
	if (nonce && (!TS_TST_INFO_get_nonce(info) || ASN1_INTEGER_cmp(nonce, TS_TST_INFO_get_nonce(info)) != 0))
		return STAMP_NONCE;
	if (!roots || seal_roots_count(roots) == 0)
		return STAMP_UNTRUSTED;
	return judge_signature(token, roots, facts->at_ms);
}

enum stamp_answer seal_stamp_judge(const unsigned char *der, size_t size, const unsigned char sha256[32],
				   const ASN1_INTEGER *nonce, const struct seal_roots *roots, struct stamp_facts *facts)
{
	const unsigned char *at = der;
	PKCS7 *token = size <= SEAL_STAMP_SIZE_MAX ? d2i_PKCS7(NULL, &at, (long)size) : NULL;
	TS_TST_INFO *info = NULL;
	enum stamp_answer answer = STAMP_MALFORMED;

	*facts = (struct stamp_facts){0};
	if (token && at == der + size && PKCS7_type_is_signed(token) && token->d.sign && token->d.sign->contents &&
	    PKCS7_get_detached(token) == 0)
		info = PKCS7_to_TS_TST_INFO(token);
	if (info)
		answer = judge_info(token, info, sha256, nonce, roots, facts);
	TS_TST_INFO_free(info);
	PKCS7_free(token);
	ERR_clear_error();
	return answer;
}

static enum status explain(enum stamp_answer answer, enum status status, const char *url, struct err *err)
{
	static const char *const words[] = {
		[STAMP_MALFORMED] = "is not a time stamp",
		[STAMP_IMPRINT] = "is for another signature",
		[STAMP_NONCE] = "answers another question than ours",
		[STAMP_SIGNATURE] = "is not validly signed",
		[STAMP_UNTRUSTED] = "is not signed by an authority that this plant trusts",
	};

	if (answer == STAMP_GOOD)
		return OK;
	return err_set(err, status, "", "what the time stamp authority%s%.150s sent %s", *url ? " " : "", url,
		       words[answer]);
}

enum status seal_stamp_check(const unsigned char *token, size_t size, const unsigned char sha256[32],
			     const struct seal_roots *roots, int64_t *at_ms, char signer[SEAL_NAME_SIZE],
			     struct err *err)
{
	struct stamp_facts facts;
	enum status rc = explain(seal_stamp_judge(token, size, sha256, NULL, roots, &facts), INVALID, "", err);

	if (rc)
		return rc;
	*at_ms = facts.at_ms;
	if (signer)
		memcpy(signer, facts.signer, SEAL_NAME_SIZE);
	return OK;
}

static TS_MSG_IMPRINT *make_imprint(const unsigned char sha256[32])
{
	TS_MSG_IMPRINT *imprint = TS_MSG_IMPRINT_new();
	X509_ALGOR *algorithm = X509_ALGOR_new();
	unsigned char copy[32];
	bool made;

	memcpy(copy, sha256, sizeof copy);
	made = imprint && algorithm && X509_ALGOR_set0(algorithm, OBJ_nid2obj(NID_sha256), V_ASN1_NULL, NULL) &&
	       TS_MSG_IMPRINT_set_algo(imprint, algorithm) && TS_MSG_IMPRINT_set_msg(imprint, copy, sizeof copy);
	X509_ALGOR_free(algorithm);
	if (made)
		return imprint;
	TS_MSG_IMPRINT_free(imprint);
	return NULL;
}

static ASN1_INTEGER *make_nonce(void)
{
	unsigned char bytes[8];
	BIGNUM *number = RAND_bytes(bytes, sizeof bytes) == 1 ? BN_bin2bn(bytes, sizeof bytes, NULL) : NULL;
	ASN1_INTEGER *nonce = number ? BN_to_ASN1_INTEGER(number, NULL) : NULL;

	BN_free(number);
	return nonce;
}

/* The request in DER; the caller frees it with OPENSSL_free. */
static int make_request(const unsigned char sha256[32], const ASN1_INTEGER *nonce, unsigned char **der)
{
	TS_REQ *request = TS_REQ_new();
	TS_MSG_IMPRINT *imprint = make_imprint(sha256);
	int n = -1;

	if (request && imprint && TS_REQ_set_version(request, 1) && TS_REQ_set_msg_imprint(request, imprint) &&
	    TS_REQ_set_nonce(request, nonce) && TS_REQ_set_cert_req(request, 1))
		n = i2d_TS_REQ(request, der);
	TS_MSG_IMPRINT_free(imprint);
	TS_REQ_free(request);
	return n;
}

static enum status refused(TS_RESP *response, const char *url, struct err *err)
{
	TS_STATUS_INFO *status = TS_RESP_get_status_info(response);
	const STACK_OF(ASN1_UTF8STRING) *texts = TS_STATUS_INFO_get0_text(status);
	const ASN1_UTF8STRING *text = sk_ASN1_UTF8STRING_num(texts) > 0 ? sk_ASN1_UTF8STRING_value(texts, 0) : NULL;

	return err_set(err, BUSY, "", "the time stamp authority %.100s refuses: %.*s (status %ld)", url,
		       text && ASN1_STRING_length(text) < 120 ? ASN1_STRING_length(text) : 15,
		       text && ASN1_STRING_length(text) < 120 ? (const char *)ASN1_STRING_get0_data(text) :
								"no reason given",
		       ASN1_INTEGER_get(TS_STATUS_INFO_get0_status(status)));
}

static enum status take_token(const struct bytes *body, const unsigned char sha256[32], const ASN1_INTEGER *nonce,
			      const struct seal_stamp_authority *authority, struct bytes *token, int64_t *at_ms,
			      struct err *err)
{
	const unsigned char *at = (const unsigned char *)body->data;
	TS_RESP *response = body->size ? d2i_TS_RESP(NULL, &at, (long)body->size) : NULL;
	unsigned char *der = NULL;
	struct stamp_facts facts;
	enum status rc = OK;
	long status;
	int n;

	ERR_clear_error();
	if (!response || at != (const unsigned char *)body->data + body->size) {
		TS_RESP_free(response);
		return explain(STAMP_MALFORMED, BUSY, authority->url, err);
	}
	status = ASN1_INTEGER_get(TS_STATUS_INFO_get0_status(TS_RESP_get_status_info(response)));
	if (status != 0 && status != 1) /* granted; granted with modifications: RFC 3161 2.4.2 */
		rc = refused(response, authority->url, err);
	n = rc || !TS_RESP_get_token(response) ? 0 : i2d_PKCS7(TS_RESP_get_token(response), &der);
	if (!rc && n <= 0)
		rc = explain(STAMP_MALFORMED, BUSY, authority->url, err);
	if (!rc)
		rc = explain(seal_stamp_judge(der, (size_t)n, sha256, nonce, authority->roots, &facts), BUSY,
			     authority->url, err);
	if (!rc) {
		bytes_add(token, der, (size_t)n);
		*at_ms = facts.at_ms;
		rc = token->failed ? err_set(err, NO_MEMORY, "", "out of memory") : OK;
	}
	OPENSSL_free(der);
	TS_RESP_free(response);
	return rc;
}

enum status seal_stamp_get(const struct seal_stamp_authority *authority, const unsigned char sha256[32],
			   unsigned char **token, size_t *token_size, int64_t *at_ms, struct err *err)
{
	ASN1_INTEGER *nonce = make_nonce();
	unsigned char *request = NULL;
	struct bytes body = {0}, taken = {0};
	int n = nonce ? make_request(sha256, nonce, &request) : -1;
	enum status rc = OK;

	if (n <= 0)
		rc = err_set(err, FAILED, "", "the question for a time stamp could not be made: %s",
			     seal_crypto_reason());
	if (!rc)
		rc = seal_http_post(authority->url, "Content-Type: application/timestamp-query", (const char *)request,
				    (size_t)n, authority->timeout_ms > 0 ? authority->timeout_ms : TIMEOUT_MS,
				    SEAL_STAMP_SIZE_MAX, &body, err);
	if (!rc)
		rc = take_token(&body, sha256, nonce, authority, &taken, at_ms, err);
	if (!rc) {
		*token = (unsigned char *)taken.data;
		*token_size = taken.size;
	} else {
		bytes_free(&taken);
	}
	bytes_free(&body);
	OPENSSL_free(request);
	ASN1_INTEGER_free(nonce);
	return rc;
}
