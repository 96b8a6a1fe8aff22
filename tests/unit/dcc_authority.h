/* An authority made for one test: root, issuer under it, and a signer; EC P-256 or RSA. */
#ifndef TESTS_DCC_AUTHORITY_H
#define TESTS_DCC_AUTHORITY_H

#include <openssl/ec.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/rsa.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>
#include "report/dcc_seal.h"
#include "unit/dcc_check.h"

struct authority {
	EVP_PKEY *root_key, *issuer_key, *key;
	X509 *root, *issuer, *certificate;
	STACK_OF(X509) * chain;
	X509_STORE *store;
	struct dcc_signer signer;
};

static inline void authority_extension(X509 *x, int nid, const char *value)
{
	X509_EXTENSION *e = X509V3_EXT_conf_nid(NULL, NULL, nid, value);

	assert_non_null(e);
	assert_int_equal(X509_add_ext(x, e, -1), 1);
	X509_EXTENSION_free(e);
}

/* Valid from 2026-01-01 for ten years; for a signer end_s seconds after that. */
static inline X509 *authority_certificate(EVP_PKEY *key, const char *name, X509 *issuer, EVP_PKEY *issuer_key, bool ca,
					  long end_s)
{
	static long serial = 1;
	X509 *x = X509_new();
	X509_NAME *subject = X509_get_subject_name(x);

	X509_set_version(x, X509_VERSION_3);
	ASN1_INTEGER_set(X509_get_serialNumber(x), serial++);
	ASN1_TIME_set(X509_getm_notBefore(x), 1767225600);
	ASN1_TIME_set(X509_getm_notAfter(x), 1767225600 + end_s);
	X509_NAME_add_entry_by_txt(subject, "O", MBSTRING_UTF8, (const unsigned char *)"Brackenholm Water Works", -1,
				   -1, 0);
	X509_NAME_add_entry_by_txt(subject, "CN", MBSTRING_UTF8, (const unsigned char *)name, -1, -1, 0);
	X509_set_issuer_name(x, issuer ? X509_get_subject_name(issuer) : subject);
	X509_set_pubkey(x, key);
	authority_extension(x, NID_basic_constraints, ca ? "critical,CA:TRUE" : "critical,CA:FALSE");
	authority_extension(x, NID_key_usage, ca ? "critical,keyCertSign,cRLSign" : "critical,digitalSignature");
	assert_true(X509_sign(x, issuer_key, EVP_sha256()) > 0);
	return x;
}

static inline enum status authority_sign(void *key, const void *bytes, size_t size, unsigned char **signature,
					 size_t *signature_size, struct err *err)
{
	EVP_MD_CTX *context = EVP_MD_CTX_new();

	(void)err;
	assert_int_equal(EVP_DigestSignInit(context, NULL, EVP_sha256(), NULL, key), 1);
	assert_int_equal(EVP_DigestSign(context, NULL, signature_size, bytes, size), 1);
	*signature = malloc(*signature_size);
	assert_int_equal(EVP_DigestSign(context, *signature, signature_size, bytes, size), 1);
	EVP_MD_CTX_free(context);
	return OK;
}

static inline struct authority authority_new(bool rsa, long end_s)
{
	struct authority a = {.root_key = EVP_EC_gen("P-256"),
			      .issuer_key = EVP_EC_gen("P-256"),
			      .key = rsa ? EVP_RSA_gen(2048) : EVP_EC_gen("P-256")};

	a.root = authority_certificate(a.root_key, "Test root", NULL, a.root_key, true, 315360000);
	a.issuer = authority_certificate(a.issuer_key, "Test issuer", a.root, a.root_key, true, 315360000);
	a.certificate = authority_certificate(a.key, "Seal of the test plant", a.issuer, a.issuer_key, false, end_s);
	a.chain = sk_X509_new_null();
	sk_X509_push(a.chain, a.issuer);
	a.store = X509_STORE_new();
	X509_STORE_add_cert(a.store, a.root);
	a.signer = (struct dcc_signer){a.certificate, a.chain, authority_sign, a.key};
	return a;
}

static inline void authority_free(struct authority *a)
{
	EVP_PKEY_free(a->root_key);
	EVP_PKEY_free(a->issuer_key);
	EVP_PKEY_free(a->key);
	X509_free(a->root);
	X509_free(a->issuer);
	X509_free(a->certificate);
	sk_X509_free(a->chain);
	X509_STORE_free(a->store);
}

#endif
