/* Keys and certificates in files: PEM, PKCS#12, and the passphrase that opens them. */
#include "seal_internal.h"

#include <errno.h>
#include <fcntl.h>
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/pkcs12.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum status seal_path(char out[SEAL_PATH_SIZE], const char *folder, const char *name, struct err *err)
{
	int n = snprintf(out, SEAL_PATH_SIZE, "%s/%s", folder, name);

	if (n < 0 || n >= SEAL_PATH_SIZE)
		return err_set(err, INVALID, "", "the path of the seal's folder is too long");
	return OK;
}

static enum status judge_mode(const struct stat *st, const char *path, const char *what, char *warning,
			      size_t warning_size, struct err *err)
{
	if (!S_ISREG(st->st_mode))
		return err_set(err, INVALID, "", "%s: %.200s is not a file", what, path);
	if (st->st_mode & (S_IROTH | S_IWOTH))
		return err_set(err, FORBIDDEN, "",
			       "everybody on this machine may read or change %s, %.160s: take that right away (chmod "
			       "600)",
			       what, path);
	if (warning && st->st_mode & (S_IRGRP | S_IWGRP))
		snprintf(warning, warning_size, "its group may read or change %s, %.100s", what, path);
	return OK;
}

static enum status read_all(int file, const char *path, const char *what, BIO *bio, struct err *err)
{
	char part[4096];
	size_t total = 0;
	ssize_t n;

	while ((n = read(file, part, sizeof part)) > 0) {
		total += (size_t)n;
		if (total > SEAL_FILE_SIZE_MAX || BIO_write(bio, part, (int)n) != n)
			break;
	}
	OPENSSL_cleanse(part, sizeof part);
	if (n < 0)
		return err_set(err, FAILED, "", "%s, %.200s, cannot be read: %s", what, path, strerror(errno));
	if (total > SEAL_FILE_SIZE_MAX)
		return err_set(err, INVALID, "", "%s, %.200s, is far too large", what, path);
	if (n > 0)
		return err_set(err, NO_MEMORY, "", "out of memory");
	return OK;
}

static enum status open_file(const char *path, const char *what, int *file, struct stat *st, struct err *err)
{
	*file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
	if (*file < 0 && errno == ENOENT)
		return err_set(err, NOT_FOUND, "", "%s is missing: there is no %.200s", what, path);
	if (*file < 0 || fstat(*file, st) != 0)
		return err_set(err, FAILED, "", "%s, %.200s, cannot be read: %s", what, path, strerror(errno));
	return OK;
}

enum status seal_file_secret(const char *path, const char *what, BIO **out, char *warning, size_t warning_size,
			     struct err *err)
{
	struct stat st = {0};
	BIO *bio = NULL;
	int file = -1;
	enum status rc = open_file(path, what, &file, &st, err);

	if (!rc)
		rc = judge_mode(&st, path, what, warning, warning_size, err);
	if (!rc && !(bio = BIO_new(BIO_s_mem())))
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	if (!rc)
		rc = read_all(file, path, what, bio, err);
	if (file >= 0)
		close(file);
	if (rc)
		BIO_free(bio);
	else
		*out = bio;
	return rc;
}

static bool write_all(int file, const char *bytes, size_t size)
{
	while (size > 0) {
		ssize_t n = write(file, bytes, size);

		if (n < 0 && errno == EINTR)
			continue;
		if (n <= 0)
			return false;
		bytes += n;
		size -= (size_t)n;
	}
	return fsync(file) == 0;
}

enum status seal_file_write(const char *path, BIO *bytes, mode_t mode, struct err *err)
{
	char *data;
	long size = BIO_get_mem_data(bytes, &data);
	int file = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, mode);
	bool written;
	int why;

	if (file < 0)
		return err_set(err, FAILED, "", "%.200s cannot be written: %s", path, strerror(errno));
	written = fchmod(file, mode) == 0 && write_all(file, data, (size_t)size);
	why = errno;
	if (close(file) != 0 && written) {
		written = false;
		why = errno;
	}
	if (written)
		return OK;
	unlink(path);
	return err_set(err, FAILED, "", "%.200s cannot be written: %s", path, strerror(why));
}

struct asked {
	const char *passphrase;
	bool needed;
};

static int give_passphrase(char *room, int size, int writing, void *context)
{
	struct asked *asked = context;
	size_t length;

	(void)writing;
	asked->needed = true;
	if (!asked->passphrase)
		return -1;
	length = strlen(asked->passphrase);
	if (length > (size_t)size)
		return -1;
	memcpy(room, asked->passphrase, length);
	return (int)length;
}

static enum status passphrase_fault(const char *passphrase, const char *where, struct err *err)
{
	ERR_clear_error();
	if (!passphrase)
		return err_set(err, INVALID, "passphrase", "%.200s is encrypted: its passphrase is needed", where);
	return err_set(err, INVALID, "passphrase", "wrong passphrase for %.200s", where);
}

enum status seal_pem_private(BIO *bio, const char *passphrase, const char *where, EVP_PKEY **out, struct err *err)
{
	struct asked asked = {.passphrase = passphrase};

	*out = PEM_read_bio_PrivateKey(bio, NULL, give_passphrase, &asked);
	if (*out)
		return OK;
	if (asked.needed)
		return passphrase_fault(passphrase, where, err);
	return err_set(err, INVALID, "", "%.200s holds no private key: %s", where, seal_crypto_reason());
}

enum status seal_pem_certificates(BIO *bio, const char *where, STACK_OF(X509) * *out, struct err *err)
{
	STACK_OF(X509) *all = sk_X509_new_null();
	struct asked none = {0};
	X509 *one;

	while (all && (one = PEM_read_bio_X509(bio, NULL, give_passphrase, &none)))
		if (!sk_X509_push(all, one)) {
			X509_free(one);
			break;
		}
	ERR_clear_error(); /* "no start line" ends the file */
	if (sk_X509_num(all) > 0) {
		*out = all;
		return OK;
	}
	sk_X509_free(all);
	return err_set(err, INVALID, "", "%.200s holds no certificate", where);
}

static enum status parse_pkcs12(BIO *bio, const char *path, const char *passphrase, EVP_PKEY **private,
				X509 **certificate, STACK_OF(X509) * *others, struct err *err)
{
	PKCS12 *box = d2i_PKCS12_bio(bio, NULL);
	int code;
	bool done;

	if (!box) {
		ERR_clear_error();
		return err_set(err, INVALID, "", "%.200s is not a PKCS#12 file", path);
	}
	if (PKCS12_verify_mac(box, passphrase, passphrase ? -1 : 0) != 1 &&
	    (passphrase || PKCS12_verify_mac(box, "", 0) != 1)) {
		PKCS12_free(box);
		return passphrase_fault(passphrase, path, err);
	}
	done = PKCS12_parse(box, passphrase ? passphrase : "", private, certificate, others) == 1;
	code = seal_crypto_code();
	PKCS12_free(box);
	if (!done && code == ERR_R_UNSUPPORTED)
		return err_set(err, INVALID, "",
			       "%.160s is encrypted in an outdated way (%s): export it anew with AES-256", path,
			       seal_crypto_reason());
	if (!done)
		return err_set(err, INVALID, "", "%.200s cannot be opened: %s", path, seal_crypto_reason());
	ERR_clear_error();
	if (*private && *certificate)
		return OK;
	return err_set(err, INVALID, "", "%.200s holds no %s", path,
		       *private ? "certificate that belongs to its key" : "private key");
}

enum status seal_key_open_pkcs12(const char *path, const char *passphrase, struct seal_key **out, struct err *err)
{
	char warning[160] = "";
	BIO *bio = NULL;
	EVP_PKEY *private = NULL;
	X509 *certificate = NULL;
	STACK_OF(X509) *others = NULL;
	enum status rc = seal_file_secret(path, "the key file", &bio, warning, sizeof warning, err);

	if (rc)
		return rc;
	rc = parse_pkcs12(bio, path, passphrase, &private, &certificate, &others, err);
	BIO_free(bio);
	if (rc) {
		EVP_PKEY_free(private);
		X509_free(certificate);
		sk_X509_pop_free(others, X509_free);
		return rc;
	}
	rc = seal_key_assemble(SEAL_PKCS12, private, certificate, others, path, out, err);
	if (!rc)
		memcpy((*out)->warning, warning, sizeof warning);
	return rc;
}

static enum status first_line(BIO *bio, const char *file, char **out, struct err *err)
{
	char *bytes;
	long size = BIO_get_mem_data(bio, &bytes);
	size_t n = 0;

	while (n < (size_t)size && bytes[n] && bytes[n] != '\n' && bytes[n] != '\r')
		n++;
	if (n == 0 || n > 1000)
		return err_set(err, INVALID, "passphrase", "the first line of %.200s is no passphrase", file);
	*out = strndup(bytes, n);
	return *out ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

enum status seal_passphrase_read(const char *file, const char *variable, char **out, struct err *err)
{
	const char *value = variable ? getenv(variable) : NULL;
	BIO *bio = NULL;
	enum status rc;

	*out = NULL;
	if (!file && (!value || !*value))
		return OK;
	if (!file) {
		*out = strdup(value);
		return *out ? OK : err_set(err, NO_MEMORY, "", "out of memory");
	}
	rc = seal_file_secret(file, "the passphrase file", &bio, NULL, 0, err);
	if (!rc)
		rc = first_line(bio, file, out, err);
	BIO_free(bio);
	return rc;
}

void seal_passphrase_free(char *passphrase)
{
	if (passphrase)
		OPENSSL_cleanse(passphrase, strlen(passphrase));
	free(passphrase);
}
