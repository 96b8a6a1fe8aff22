/* What the files of the seal's key share: the key itself, files with secrets, and OpenSSL's reasons. */
#ifndef REPORT_SEAL_INTERNAL_H
#define REPORT_SEAL_INTERNAL_H

#include <openssl/bio.h>
#include <pthread.h>
#include <sys/types.h>
#include "report/seal_key.h"

#define SEAL_FILE_SIZE_MAX (1u << 20) /* of a file with a key or certificates; usual ones have 2 to 10 kB */
#define SEAL_PATH_SIZE	   4096

struct seal_key {
	enum seal_source source;
	EVP_PKEY *private;
	X509 *certificate;
	STACK_OF(X509) * chain; /* nearest issuer first, without the root */
	X509 *root;		/* NULL when not known */
	bool in_turn;		/* a device: one operation at a time */
	pthread_mutex_t turn;
	char warning[160];
};

/* OpenSSL's last reason, and an empty queue; "" when it gave none. */
const char *seal_crypto_reason(void);
/* The last failure's reason code of OpenSSL; the queue stays. */
int seal_crypto_code(void);

/*
 * Reads a small file that holds a secret into a BIO, which wipes its memory when it is freed (BUF_MEM_free). FORBIDDEN when everybody may read it; when
 * its group may, a warning is written. what names it in sentences: "the seal key".
 */
enum status seal_file_secret(const char *path, const char *what, BIO **out, char *warning, size_t warning_size,
			     struct err *err);
/* Writes the bytes to a new file with that mode, down to the disk; removed again when that fails. */
enum status seal_file_write(const char *path, BIO *bytes, mode_t mode, struct err *err);
enum status seal_path(char out[SEAL_PATH_SIZE], const char *folder, const char *name, struct err *err);

/*
 * Makes a key of its parts, which become the key's own whatever comes out: others (may be NULL) are certificates in any
 * order, among which the chain and the root are looked for. Checks all that seal_key.h promises for opening.
 */
enum status seal_key_assemble(enum seal_source source, EVP_PKEY *private, X509 *certificate, STACK_OF(X509) * others,
			      const char *where, struct seal_key **out, struct err *err);

/* Private key of a PEM text; the passphrase may be NULL. The caller frees it. */
enum status seal_pem_private(BIO *bio, const char *passphrase, const char *where, EVP_PKEY **out, struct err *err);
/* The certificates of a PEM text from where it stands, in their order; at least one. */
enum status seal_pem_certificates(BIO *bio, const char *where, STACK_OF(X509) * *out, struct err *err);

/* Common name, or organisation, or "(no name)": UTF-8 without control characters, cut to fit. */
void seal_name_text(const X509_NAME *name, char *out, size_t size);
int64_t seal_time_ms(const ASN1_TIME *t); /* UTC; INT64_MIN for what is no time */
bool seal_is_self_signed(X509 *certificate);

#endif
