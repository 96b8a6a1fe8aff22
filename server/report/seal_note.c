#include "report/seal_note.h"

#include <openssl/pem.h>
#include <stdlib.h>
#include <string.h>

#define SIGNATURE_MAX	1024 /* bytes; RSA of 8192 bits */
#define CERTIFICATE_MAX 65536
#define CHAIN_MAX	8

static enum status no_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

static char *to_base64(const unsigned char *bytes, size_t size)
{
	char *text = malloc(4 * ((size + 2) / 3) + 1);

	if (text)
		EVP_EncodeBlock((unsigned char *)text, bytes, (int)size);
	return text;
}

static char *to_pem(struct seal_key *key)
{
	BIO *bio = BIO_new(BIO_s_mem());
	STACK_OF(X509) *chain = seal_key_chain(key);
	bool ok = bio && PEM_write_bio_X509(bio, seal_key_certificate(key));
	char *data, *copy = NULL;
	long size;

	for (int i = 0; ok && i < sk_X509_num(chain); i++)
		ok = PEM_write_bio_X509(bio, sk_X509_value(chain, i));
	size = ok ? BIO_get_mem_data(bio, &data) : 0;
	if (size > 0)
		copy = strndup(data, (size_t)size);
	BIO_free(bio);
	return copy;
}

enum status seal_note_sign(struct seal_key *key, const char *text, char **signature, char **certificate,
			   struct err *err)
{
	unsigned char *bytes = NULL;
	size_t size;
	enum status rc = seal_key_sign(key, text, strlen(text), &bytes, &size, err);

	if (rc)
		return rc;
	*signature = to_base64(bytes, size);
	*certificate = to_pem(key);
	free(bytes);
	if (*signature && *certificate)
		return OK;
	free(*signature);
	free(*certificate);
	*signature = *certificate = NULL;
	return no_memory(err);
}

/* Exactly what to_base64 writes, so that one signature has one text. */
static bool from_base64(const char *text, unsigned char out[SIGNATURE_MAX], size_t *size)
{
	size_t length = strlen(text);
	char *again;
	bool same;
	int n;

	if (length % 4 || !length || length / 4 * 3 > SIGNATURE_MAX)
		return false;
	n = EVP_DecodeBlock(out, (const unsigned char *)text, (int)length);
	if (n < 0)
		return false;
	*size = (size_t)n - (text[length - 1] == '=') - (text[length - 2] == '=');
	again = to_base64(out, *size);
	same = again && !strcmp(again, text);
	free(again);
	return same;
}

/* The first certificate, and those after it in chain. */
static X509 *read_certificates(const char *pem, STACK_OF(X509) * chain)
{
	BIO *bio = BIO_new_mem_buf(pem, -1);
	X509 *first = bio ? PEM_read_bio_X509(bio, NULL, NULL, NULL) : NULL, *next;

	while (first && sk_X509_num(chain) < CHAIN_MAX && (next = PEM_read_bio_X509(bio, NULL, NULL, NULL))) {
		if (!sk_X509_push(chain, next))
			X509_free(next);
	}
	BIO_free(bio);
	return first;
}

static bool is_trusted(const struct seal_roots *roots, X509 *certificate, STACK_OF(X509) * chain)
{
	X509_STORE_CTX *ctx = X509_STORE_CTX_new();
	bool yes = ctx && X509_STORE_CTX_init(ctx, seal_roots_store(roots), certificate, chain);

	if (yes) {
		X509_VERIFY_PARAM_set_flags(X509_STORE_CTX_get0_param(ctx), X509_V_FLAG_NO_CHECK_TIME);
		yes = X509_verify_cert(ctx) == 1;
	}
	X509_STORE_CTX_free(ctx);
	return yes;
}

static bool is_signed(X509 *certificate, const char *text, const unsigned char *signature, size_t size)
{
	EVP_MD_CTX *ctx = EVP_MD_CTX_new();
	bool yes = ctx && EVP_DigestVerifyInit(ctx, NULL, EVP_sha256(), NULL, X509_get0_pubkey(certificate)) == 1 &&
		   EVP_DigestVerify(ctx, signature, size, (const unsigned char *)text, strlen(text)) == 1;

	EVP_MD_CTX_free(ctx);
	return yes;
}

bool seal_note_fits(const struct seal_roots *roots, const char *text, const char *signature, const char *certificate)
{
	unsigned char bytes[SIGNATURE_MAX];
	STACK_OF(X509) *chain = sk_X509_new_null();
	X509 *signer = NULL;
	size_t size;
	bool fits = false;

	if (chain && strlen(certificate) <= CERTIFICATE_MAX && from_base64(signature, bytes, &size))
		signer = read_certificates(certificate, chain);
	if (signer)
		fits = is_signed(signer, text, bytes, size) && is_trusted(roots, signer, chain);
	X509_free(signer);
	sk_X509_pop_free(chain, X509_free);
	return fits;
}
