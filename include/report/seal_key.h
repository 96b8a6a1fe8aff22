/*
 * The key the plant seals its certificates with, and the certificate (X.509) that names its owner. Three sources, one
 * struct seal_key:
 *
 *   own      a small authority of the plant's own, made at the first start: a root, and a seal certificate it issued
 *   pkcs12   a file from the company's authority: key, certificate and chain
 *   token    a PKCS#11 device that keeps the key to itself; certificate from the device or from a file
 *
 * The own authority is a folder, made whole or not at all, mode 0700:
 *   root.pem   root key and certificate (0600)      renewing needs it; may be taken away and kept elsewhere
 *   root.crt   root certificate alone (0644)        what a reader of certificates imports once; seal_fingerprint prints it
 *   seal.pem   seal key and certificate (0600)
 * With a passphrase, both keys are PKCS#8 encrypted: PBES2, PBKDF2-HMAC-SHA-256 with 600 000 rounds, AES-256-CBC (RFC 8018).
 *
 * Passphrases are never logged or kept. Everything here may be called from any thread; a struct seal_key may be used by
 * many threads at once (device keys take turns).
 */
#ifndef REPORT_SEAL_KEY_H
#define REPORT_SEAL_KEY_H

#include <openssl/evp.h>
#include <openssl/x509.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/status.h"

#define SEAL_FINGERPRINT_SIZE 96 /* 32 bytes as "AB:CD:…", 95 characters and the end */
#define SEAL_NAME_SIZE	      192

enum seal_algorithm { SEAL_EC_P256, SEAL_RSA_3072 };
enum seal_source { SEAL_OWN, SEAL_PKCS12, SEAL_TOKEN };

struct seal_key;

/*
 * Makes the own authority in folder (which must not exist; its parent must). Subject: O = plant_name, 1..200 characters,
 * cut to the 64 that X.509 allows. Valid from a day before now_ms: the root 25 years, the seal certificate 5. passphrase
 * NULL: the keys are kept unencrypted, readable by the service's user alone. CONFLICT when the folder is there already,
 * INVALID plant_name, FAILED when it cannot be written; nothing is left behind then.
 */
enum status seal_authority_create(const char *folder, const char *plant_name, enum seal_algorithm algorithm,
				  const char *passphrase, int64_t now_ms, struct err *err);
bool seal_authority_exists(const char *folder);
/*
 * A new seal key and certificate from the folder's root, in place of seal.pem: the same subject, 5 years from now_ms but
 * never longer than the root. Certificates sealed before stay valid, each carries its own seal certificate. NOT_FOUND when
 * root.pem has been taken away.
 */
enum status seal_authority_renew(const char *folder, enum seal_algorithm algorithm, const char *passphrase,
				 int64_t now_ms, struct err *err);

/*
 * Opening. *out is the caller's, seal_key_free. What is checked: file readable, permissions, passphrase, key belongs to the
 * certificate, key usage allows signatures, kind and strength of the key (EC P-256 or P-384, RSA of 2048 bits and more).
 * The dates are not: an expired certificate opens, so that it can be shown and renewed; seal_key_check judges it.
 *
 * Sentences name the file. INVALID field passphrase: missing or wrong; NOT_FOUND: no such file; FORBIDDEN: everybody may
 * read the file; INVALID: what it holds does not fit; FAILED: cannot be read, the device does not answer.
 */
enum status seal_key_open_own(const char *folder, const char *passphrase, struct seal_key **out, struct err *err);
enum status seal_key_open_pkcs12(const char *path, const char *passphrase, struct seal_key **out, struct err *err);

struct seal_token {
	const char *module; /* the device's own library, "/usr/lib/softhsm/libsofthsm2.so" */
	const char *uri;    /* RFC 7512, "pkcs11:token=seal;object=seal"; without a pin */
	const char *pin;    /* NULL: the device asks for none */
	const char *
		certificate; /* PEM file: certificate, then its chain; NULL: the certificate beside the key on the device */
};
enum status seal_key_open_token(const struct seal_token *token, struct seal_key **out, struct err *err);

void seal_key_free(struct seal_key *key);

/* OK when the key may seal at now_ms. INVALID: "expired on 2026-11-25", "not valid before 2026-11-25". */
enum status seal_key_check(const struct seal_key *key, int64_t now_ms, struct err *err);

/*
 * The one place where the private key works: SHA-256 of the bytes, signed; ECDSA as DER, RSA as PKCS#1 v1.5.
 * *signature is malloc'ed, the caller frees it.
 */
enum status seal_key_sign(struct seal_key *key, const void *bytes, size_t size, unsigned char **signature,
			  size_t *signature_size, struct err *err);

/* Borrowed, they live as long as key. The private key of a device works only in seal_key_sign's turn: hold seal_key_lock. */
EVP_PKEY *seal_key_private(const struct seal_key *key);
X509 *seal_key_certificate(const struct seal_key *key);
STACK_OF(X509) *
	seal_key_chain(const struct seal_key *key); /* issuers, nearest first, without the root; may be empty */
X509 *seal_key_root(const struct seal_key *key);    /* NULL when the source does not hold it */
void seal_key_lock(struct seal_key *key);
void seal_key_unlock(struct seal_key *key);

/* What a page or a log says about a key. */
struct seal_key_facts {
	enum seal_source source;
	char subject[SEAL_NAME_SIZE], issuer[SEAL_NAME_SIZE]; /* common name, or the organisation when there is none */
	char algorithm[32];				      /* "EC P-256", "RSA 3072" */
	int64_t not_before_ms, not_after_ms;
	char fingerprint[SEAL_FINGERPRINT_SIZE];      /* SHA-256 of the seal certificate */
	char root_fingerprint[SEAL_FINGERPRINT_SIZE]; /* of the root, "" when it is not known */
	char root_subject[SEAL_NAME_SIZE];
	char warning[160]; /* "" or a sentence: "the group may read /…/seal.pem" */
};
void seal_key_facts(const struct seal_key *key, struct seal_key_facts *out);
void seal_fingerprint(const X509 *certificate, char out[SEAL_FINGERPRINT_SIZE]);

/*
 * A passphrase from a file (its first line; FORBIDDEN when everybody may read it) or, when file is NULL, from the
 * environment variable; both may be absent: *out is NULL then. *out is the caller's: seal_passphrase_free wipes it.
 */
enum status seal_passphrase_read(const char *file, const char *variable, char **out, struct err *err);
void seal_passphrase_free(char *passphrase);

/*
 * Roots whose seals are trusted. A new set trusts nobody. roots are the caller's, seal_roots_free.
 */
struct seal_roots;
struct seal_roots *seal_roots_new(void); /* NULL when memory is exhausted */
void seal_roots_free(struct seal_roots *roots);
enum status seal_roots_add(struct seal_roots *roots, X509 *root, struct err *err);	      /* copies the reference */
enum status seal_roots_add_file(struct seal_roots *roots, const char *path, struct err *err); /* PEM, one or more */
size_t seal_roots_count(const struct seal_roots *roots);
X509_STORE *seal_roots_store(const struct seal_roots *roots); /* borrowed */

#endif
