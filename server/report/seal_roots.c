/* Whose seals are trusted: a set of roots, empty unless somebody fills it. */
#include "seal_internal.h"

#include <openssl/err.h>
#include <openssl/x509_vfy.h>
#include <stdlib.h>

struct seal_roots {
	X509_STORE *store;
	size_t count;
};

struct seal_roots *seal_roots_new(void)
{
	struct seal_roots *roots = calloc(1, sizeof *roots);

	if (roots && !(roots->store = X509_STORE_new())) {
		free(roots);
		return NULL;
	}
	return roots;
}

void seal_roots_free(struct seal_roots *roots)
{
	if (!roots)
		return;
	X509_STORE_free(roots->store);
	free(roots);
}

enum status seal_roots_add(struct seal_roots *roots, X509 *root, struct err *err)
{
	char name[SEAL_NAME_SIZE];

	seal_name_text(X509_get_subject_name(root), name, sizeof name);
	if (!seal_is_self_signed(root) || X509_verify(root, X509_get0_pubkey(root)) != 1) {
		ERR_clear_error();
		return err_set(err, INVALID, "", "%s is no root: it was issued by another certificate", name);
	}
	if (X509_STORE_add_cert(roots->store, root) != 1) {
		ERR_clear_error();
		return err_set(err, NO_MEMORY, "", "out of memory");
	}
	roots->count++;
	return OK;
}

enum status seal_roots_add_file(struct seal_roots *roots, const char *path, struct err *err)
{
	STACK_OF(X509) *all = NULL;
	BIO *bio = BIO_new_file(path, "r");
	enum status rc;

	if (!bio) {
		ERR_clear_error();
		return err_set(err, NOT_FOUND, "", "the root certificate %.200s cannot be read", path);
	}
	rc = seal_pem_certificates(bio, path, &all, err);
	BIO_free(bio);
	for (int i = 0; !rc && i < sk_X509_num(all); i++)
		rc = seal_roots_add(roots, sk_X509_value(all, i), err);
	sk_X509_pop_free(all, X509_free);
	return rc;
}

size_t seal_roots_count(const struct seal_roots *roots)
{
	return roots ? roots->count : 0;
}

X509_STORE *seal_roots_store(const struct seal_roots *roots)
{
	return roots->store;
}
