/*
 * The plant's own small authority: a root that issues one seal certificate at a time. The folder is written beside its
 * place and renamed, so a full disk or a lost supply leaves either all of it or nothing.
 */
#include "seal_internal.h"

#include <errno.h>
#include <fcntl.h>
#include <openssl/err.h>
#include <openssl/pem.h>
#include <openssl/pkcs12.h>
#include <openssl/rand.h>
#include <openssl/rsa.h>
#include <openssl/x509v3.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include "base/text.h"

#define DAY_MS	       86400000LL
#define ROOT_DAYS      9131   /* 25 years */
#define SEAL_DAYS      1826   /* 5 years */
#define ROUNDS	       600000 /* PBKDF2-HMAC-SHA-256: about 0.2 s at each start; common practice, no source */
#define SALT_SIZE      16
#define NAME_MAX_CHARS 64 /* ub-common-name, ub-organization-name: RFC 5280 appendix A.1 */

static const char *const names[] = {"root.pem", "root.crt", "seal.pem"};

static enum status crypto_failed(struct err *err)
{
	return err_set(err, FAILED, "", "the seal's key could not be made: %s", seal_crypto_reason());
}

static EVP_PKEY *make_private(enum seal_algorithm algorithm)
{
	return algorithm == SEAL_RSA_3072 ? EVP_RSA_gen(3072) : EVP_EC_gen("P-256");
}

/* As many whole characters of the name as leave room for what stands behind it. */
static bool add_name(X509_NAME *name, const char *part, const char *plant, const char *behind)
{
	char text[4 * NAME_MAX_CHARS + 1];
	size_t room = NAME_MAX_CHARS - strlen(behind), n = 0, characters = 0;

	for (; plant[n]; n++) {
		if (((unsigned char)plant[n] & 0xc0U) != 0x80 && characters++ == room)
			break;
	}
	snprintf(text, sizeof text, "%.*s%s", (int)n, plant, behind);
	return X509_NAME_add_entry_by_txt(name, part, MBSTRING_UTF8, (const unsigned char *)text, -1, -1, 0) == 1;
}

static bool add_extension(X509 *certificate, X509 *issuer, int nid, const char *value)
{
	X509V3_CTX context;
	X509_EXTENSION *extension;
	bool added;

	X509V3_set_ctx(&context, issuer, certificate, NULL, NULL, 0);
	extension = X509V3_EXT_conf_nid(NULL, &context, nid, value);
	added = extension && X509_add_ext(certificate, extension, -1) == 1;
	X509_EXTENSION_free(extension);
	return added;
}

/* 127 random bits: RFC 5280 4.1.2.2 wants it positive and at most 20 octets. */
static bool set_serial(X509 *certificate)
{
	unsigned char bytes[16];
	BIGNUM *number = NULL;
	bool set = RAND_bytes(bytes, sizeof bytes) == 1;

	bytes[0] = (unsigned char)((bytes[0] & 0x7fU) | 0x40U);
	number = set ? BN_bin2bn(bytes, sizeof bytes, NULL) : NULL;
	set = number && BN_to_ASN1_INTEGER(number, X509_get_serialNumber(certificate));
	BN_free(number);
	return set;
}

static X509 *begin_certificate(EVP_PKEY *key, int64_t from_ms, int64_t to_ms)
{
	X509 *c = X509_new();

	if (c && X509_set_version(c, X509_VERSION_3) && set_serial(c) &&
	    ASN1_TIME_set(X509_getm_notBefore(c), (time_t)(from_ms / 1000)) &&
	    ASN1_TIME_set(X509_getm_notAfter(c), (time_t)(to_ms / 1000)) && X509_set_pubkey(c, key))
		return c;
	X509_free(c);
	return NULL;
}

static X509 *make_root(EVP_PKEY *key, const char *plant, int64_t now_ms)
{
	X509 *c = begin_certificate(key, now_ms - DAY_MS, now_ms + ROOT_DAYS * DAY_MS);
	X509_NAME *name = X509_NAME_new();

	if (c && name && add_name(name, "O", plant, "") && add_name(name, "CN", plant, " seal root") &&
	    X509_set_subject_name(c, name) && X509_set_issuer_name(c, name) &&
	    add_extension(c, c, NID_basic_constraints, "critical,CA:TRUE,pathlen:0") &&
	    add_extension(c, c, NID_key_usage, "critical,keyCertSign,cRLSign") &&
	    add_extension(c, c, NID_subject_key_identifier, "hash") && X509_sign(c, key, EVP_sha256()) > 0) {
		X509_NAME_free(name);
		return c;
	}
	X509_NAME_free(name);
	X509_free(c);
	return NULL;
}

/* The root's subject, its common name ending in "seal" instead of "seal root". */
static X509_NAME *seal_name(X509 *root)
{
	X509_NAME *name = X509_NAME_dup(X509_get_subject_name(root));
	char common[SEAL_NAME_SIZE];
	char *end;

	seal_name_text(X509_get_subject_name(root), common, sizeof common);
	end = strstr(common, " seal root");
	if (end)
		memcpy(end, " seal", sizeof " seal");
	X509_NAME_ENTRY_free(X509_NAME_delete_entry(name, X509_NAME_get_index_by_NID(name, NID_commonName, -1)));
	if (X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_UTF8, (const unsigned char *)common, -1, -1, 0) == 1)
		return name;
	X509_NAME_free(name);
	return NULL;
}

static X509 *make_seal(EVP_PKEY *key, X509 *root, EVP_PKEY *root_key, int64_t now_ms)
{
	int64_t root_end = seal_time_ms(X509_get0_notAfter(root)), end = now_ms + SEAL_DAYS * DAY_MS;
	X509 *c = begin_certificate(key, now_ms - DAY_MS, end < root_end ? end : root_end);
	X509_NAME *name = seal_name(root);

	if (c && name && X509_set_subject_name(c, name) && X509_set_issuer_name(c, X509_get_subject_name(root)) &&
	    add_extension(c, root, NID_basic_constraints, "critical,CA:FALSE") &&
	    add_extension(c, root, NID_key_usage, "critical,digitalSignature,nonRepudiation") &&
	    add_extension(c, root, NID_subject_key_identifier, "hash") &&
	    add_extension(c, root, NID_authority_key_identifier, "keyid:always") &&
	    X509_sign(c, root_key, EVP_sha256()) > 0) {
		X509_NAME_free(name);
		return c;
	}
	X509_NAME_free(name);
	X509_free(c);
	return NULL;
}

static bool encrypt_key(BIO *bio, EVP_PKEY *key, const char *passphrase)
{
	PKCS8_PRIV_KEY_INFO *plain = EVP_PKEY2PKCS8(key);
	unsigned char salt[SALT_SIZE];
	X509_SIG *sealed = NULL;
	bool done = false;

	if (plain && RAND_bytes(salt, sizeof salt) == 1)
		sealed = PKCS8_encrypt(-1, EVP_aes_256_cbc(), passphrase, (int)strlen(passphrase), salt, sizeof salt,
				       ROUNDS, plain);
	if (sealed)
		done = PEM_write_bio_PKCS8(bio, sealed) == 1;
	X509_SIG_free(sealed);
	PKCS8_PRIV_KEY_INFO_free(plain);
	return done;
}

/* key NULL: the certificate alone. */
static enum status write_pem(const char *path, EVP_PKEY *key, const char *passphrase, X509 *certificate, mode_t mode,
			     struct err *err)
{
	BIO *bio = BIO_new(BIO_s_mem());
	enum status rc;
	bool made = bio;

	if (made && key && passphrase)
		made = encrypt_key(bio, key, passphrase);
	else if (made && key)
		made = PEM_write_bio_PKCS8PrivateKey(bio, key, NULL, NULL, 0, NULL, NULL) == 1;
	made = made && PEM_write_bio_X509(bio, certificate) == 1;
	rc = made ? seal_file_write(path, bio, mode, err) : crypto_failed(err);
	BIO_free(bio);
	return rc;
}

static enum status write_in(const char *folder, const char *name, EVP_PKEY *key, const char *passphrase,
			    X509 *certificate, mode_t mode, struct err *err)
{
	char path[SEAL_PATH_SIZE];
	enum status rc = seal_path(path, folder, name, err);

	return rc ? rc : write_pem(path, key, passphrase, certificate, mode, err);
}

static void remove_folder(const char *folder)
{
	char path[SEAL_PATH_SIZE];
	struct err ignored;

	for (size_t i = 0; i < sizeof names / sizeof *names; i++)
		if (!seal_path(path, folder, names[i], &ignored))
			unlink(path);
	rmdir(folder);
}

/* The names of what is in the folder reach the disk, too. */
static enum status sync_folder(const char *folder, struct err *err)
{
	int file = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
	bool done = file >= 0 && fsync(file) == 0;
	int why = errno;

	if (file >= 0)
		close(file);
	return done ? OK : err_set(err, FAILED, "", "%.200s cannot be written: %s", folder, strerror(why));
}

static enum status write_authority(const char *folder, EVP_PKEY *keys[2], X509 *certificates[2], const char *passphrase,
				   struct err *err)
{
	char beside[SEAL_PATH_SIZE];
	enum status rc;

	if (snprintf(beside, sizeof beside, "%s.new", folder) >= (int)sizeof beside)
		return err_set(err, INVALID, "", "the path of the seal's folder is too long");
	remove_folder(beside); /* of a start that was cut short */
	if (mkdir(beside, 0700) != 0)
		return err_set(err, FAILED, "", "%.200s cannot be made: %s", beside, strerror(errno));
	rc = write_in(beside, "root.pem", keys[0], passphrase, certificates[0], 0600, err);
	if (!rc)
		rc = write_in(beside, "root.crt", NULL, NULL, certificates[0], 0644, err);
	if (!rc)
		rc = write_in(beside, "seal.pem", keys[1], passphrase, certificates[1], 0600, err);
	if (!rc)
		rc = sync_folder(beside, err);
	if (!rc && rename(beside, folder) != 0)
		rc = err_set(err, FAILED, "", "%.200s cannot be made: %s", folder, strerror(errno));
	if (rc)
		remove_folder(beside);
	return rc;
}

static enum status check_plant(const char *plant, const char *passphrase, struct err *err)
{
	size_t n = plant ? text_characters(plant) : 0;

	if (n < 1 || n > 200 || !text_is_clean(plant, strlen(plant)) || strpbrk(plant, "\n\t"))
		return err_set(err, INVALID, "plant_name",
			       "the plant's name must have 1 to 200 characters on one line");
	if (passphrase && !*passphrase)
		return err_set(err, INVALID, "passphrase", "the passphrase is empty");
	return OK;
}

enum status seal_authority_create(const char *folder, const char *plant_name, enum seal_algorithm algorithm,
				  const char *passphrase, int64_t now_ms, struct err *err)
{
	EVP_PKEY *keys[2] = {NULL, NULL};
	X509 *certificates[2] = {NULL, NULL};
	struct stat st;
	enum status rc = check_plant(plant_name, passphrase, err);

	if (rc)
		return rc;
	if (lstat(folder, &st) == 0)
		return err_set(err, CONFLICT, "", "%.200s is there already: a seal is never made over another", folder);
	keys[0] = make_private(algorithm);
	keys[1] = make_private(algorithm);
	if (keys[0] && keys[1])
		certificates[0] = make_root(keys[0], plant_name, now_ms);
	if (certificates[0])
		certificates[1] = make_seal(keys[1], certificates[0], keys[0], now_ms);
	rc = certificates[1] ? write_authority(folder, keys, certificates, passphrase, err) : crypto_failed(err);
	for (int i = 0; i < 2; i++) {
		EVP_PKEY_free(keys[i]);
		X509_free(certificates[i]);
	}
	return rc;
}

bool seal_authority_exists(const char *folder)
{
	char path[SEAL_PATH_SIZE];
	struct err ignored;
	struct stat st;

	return !seal_path(path, folder, "seal.pem", &ignored) && stat(path, &st) == 0;
}

/* Key and first certificate of a PEM file of the folder. */
static enum status read_pair(const char *folder, const char *name, const char *what, const char *passphrase,
			     EVP_PKEY **key, X509 **certificate, char *warning, size_t warning_size, struct err *err)
{
	char path[SEAL_PATH_SIZE];
	STACK_OF(X509) *all = NULL;
	BIO *bio = NULL;
	enum status rc = seal_path(path, folder, name, err);

	if (!rc)
		rc = seal_file_secret(path, what, &bio, warning, warning_size, err);
	if (!rc)
		rc = seal_pem_private(bio, passphrase, path, key, err);
	if (!rc)
		rc = seal_pem_certificates(bio, path, &all, err);
	if (!rc)
		*certificate = sk_X509_shift(all);
	sk_X509_pop_free(all, X509_free);
	BIO_free(bio);
	return rc;
}

/* Without root.crt the seal still works; it is only not shown where it comes from. */
static STACK_OF(X509) * read_root(const char *folder)
{
	char path[SEAL_PATH_SIZE];
	struct err ignored;
	STACK_OF(X509) *all = NULL;
	BIO *bio;

	if (seal_path(path, folder, "root.crt", &ignored))
		return NULL;
	bio = BIO_new_file(path, "r");
	if (bio)
		seal_pem_certificates(bio, path, &all, &ignored);
	BIO_free(bio);
	ERR_clear_error();
	return all;
}

enum status seal_key_open_own(const char *folder, const char *passphrase, struct seal_key **out, struct err *err)
{
	char warning[160] = "", path[SEAL_PATH_SIZE];
	EVP_PKEY *private = NULL;
	X509 *certificate = NULL;
	enum status rc = read_pair(folder, "seal.pem", "the seal key", passphrase, &private, &certificate, warning,
				   sizeof warning, err);

	if (!rc)
		rc = seal_path(path, folder, "seal.pem", err);
	if (rc) {
		EVP_PKEY_free(private);
		X509_free(certificate);
		return rc;
	}
	rc = seal_key_assemble(SEAL_OWN, private, certificate, read_root(folder), path, out, err);
	if (!rc)
		memcpy((*out)->warning, warning, sizeof warning);
	return rc;
}

static enum status replace_seal(const char *folder, EVP_PKEY *key, const char *passphrase, X509 *certificate,
				struct err *err)
{
	char path[SEAL_PATH_SIZE], beside[SEAL_PATH_SIZE];
	enum status rc = seal_path(path, folder, "seal.pem", err);

	if (!rc)
		rc = seal_path(beside, folder, "seal.pem.new", err);
	if (rc)
		return rc;
	unlink(beside);
	rc = write_pem(beside, key, passphrase, certificate, 0600, err);
	if (rc)
		return rc;
	if (rename(beside, path) != 0) {
		rc = err_set(err, FAILED, "", "%.200s cannot be replaced: %s", path, strerror(errno));
		unlink(beside);
		return rc;
	}
	return sync_folder(folder, err);
}

static enum status check_root(X509 *root, EVP_PKEY *root_key, int64_t now_ms, struct err *err)
{
	if (X509_check_private_key(root, root_key) != 1) {
		ERR_clear_error();
		return err_set(err, INVALID, "", "the root's key does not belong to its certificate");
	}
	if (now_ms + DAY_MS > seal_time_ms(X509_get0_notAfter(root)))
		return err_set(err, INVALID, "", "the root itself has expired: a new authority is needed");
	return OK;
}

enum status seal_authority_renew(const char *folder, enum seal_algorithm algorithm, const char *passphrase,
				 int64_t now_ms, struct err *err)
{
	EVP_PKEY *root_key = NULL, *key = NULL;
	X509 *root = NULL, *certificate = NULL;
	enum status rc = read_pair(folder, "root.pem", "the root key", passphrase, &root_key, &root, NULL, 0, err);

	if (!rc)
		rc = check_root(root, root_key, now_ms, err);
	if (!rc) {
		key = make_private(algorithm);
		certificate = key ? make_seal(key, root, root_key, now_ms) : NULL;
		rc = certificate ? replace_seal(folder, key, passphrase, certificate, err) : crypto_failed(err);
	}
	EVP_PKEY_free(root_key);
	EVP_PKEY_free(key);
	X509_free(root);
	X509_free(certificate);
	return rc;
}
