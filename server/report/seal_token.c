/*
 * A key in a PKCS#11 device, through OpenSSL's pkcs11 engine (Debian package libengine-pkcs11-openssl). Engines are the old
 * way; Debian 12 has no provider for PKCS#11. Everything of it stays in this file: what comes out is a struct seal_key.
 */
#define OPENSSL_SUPPRESS_DEPRECATED
#include "seal_internal.h"

#include <openssl/engine.h>
#include <openssl/err.h>
#include <stdio.h>

static enum status read_certificates(const char *path, STACK_OF(X509) * *out, struct err *err)
{
	BIO *bio = BIO_new_file(path, "r");
	enum status rc;

	if (!bio) {
		ERR_clear_error();
		return err_set(err, NOT_FOUND, "", "the seal certificate %.200s cannot be read", path);
	}
	rc = seal_pem_certificates(bio, path, out, err);
	BIO_free(bio);
	return rc;
}

static enum status load_certificates(ENGINE *engine, const struct seal_token *token, STACK_OF(X509) * *out,
				     struct err *err)
{
	struct {
		const char *id;
		X509 *certificate;
	} wanted = {token->uri, NULL};

	if (token->certificate)
		return read_certificates(token->certificate, out, err);
	if (ENGINE_ctrl_cmd(engine, "LOAD_CERT_CTRL", 0, &wanted, NULL, 1) != 1 || !wanted.certificate) {
		ERR_clear_error();
		return err_set(err, NOT_FOUND, "", "the device holds no certificate at %.200s", token->uri);
	}
	*out = sk_X509_new_null();
	if (*out && sk_X509_push(*out, wanted.certificate))
		return OK;
	X509_free(wanted.certificate);
	return err_set(err, NO_MEMORY, "", "out of memory");
}

static enum status start_engine(const struct seal_token *token, ENGINE **out, struct err *err)
{
	ENGINE *engine;

	ENGINE_load_builtin_engines();
	engine = ENGINE_by_id("pkcs11");
	if (!engine) {
		ERR_clear_error();
		return err_set(err, FAILED, "",
			       "the way to PKCS#11 devices is not installed (Debian package libengine-pkcs11-openssl)");
	}
	if (ENGINE_ctrl_cmd_string(engine, "MODULE_PATH", token->module, 0) == 1 &&
	    (!token->pin || ENGINE_ctrl_cmd_string(engine, "PIN", token->pin, 0) == 1) && ENGINE_init(engine) == 1) {
		*out = engine;
		return OK;
	}
	ENGINE_free(engine);
	ERR_clear_error();
	return err_set(err, FAILED, "", "the device's library %.200s cannot be used", token->module);
}

enum status seal_key_open_token(const struct seal_token *token, struct seal_key **out, struct err *err)
{
	ENGINE *engine = NULL;
	EVP_PKEY *private = NULL;
	STACK_OF(X509) *all = NULL;
	enum status rc = start_engine(token, &engine, err);

	if (rc)
		return rc;
	private = ENGINE_load_private_key(engine, token->uri, NULL, NULL);
	if (!private) {
		ERR_clear_error();
		rc = err_set(err, INVALID, "", "the device gives no key at %.200s: wrong address, wrong PIN or locked",
			     token->uri);
	}
	if (!rc)
		rc = load_certificates(engine, token, &all, err);
	if (rc) {
		EVP_PKEY_free(private);
		sk_X509_pop_free(all, X509_free);
	} else {
		X509 *certificate = sk_X509_shift(all);

		rc = seal_key_assemble(SEAL_TOKEN, private, certificate, all, token->uri, out, err);
	}
	ENGINE_finish(engine); /* the key holds its own reference */
	ENGINE_free(engine);
	return rc;
}
