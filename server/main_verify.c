/* verify: what a certificate's file is worth, without a browser and without the plant's server. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "main.h"
#include "report/check.h"

static enum status read_file(const char *path, char **bytes, size_t *size, struct err *err)
{
	FILE *in = strcmp(path, "-") ? fopen(path, "rb") : stdin;
	enum status rc = OK;

	*bytes = NULL;
	*size = 0;
	if (!in)
		return err_set(err, FAILED, "", "%s cannot be read: %s", path, strerror(errno));
	*bytes = malloc(CHECK_FILE_MAX + 1);
	if (!*bytes)
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	else
		*size = fread(*bytes, 1, CHECK_FILE_MAX + 1, in);
	if (!rc && ferror(in))
		rc = err_set(err, FAILED, "", "%s cannot be read: %s", path, strerror(errno));
	if (in != stdin)
		fclose(in);
	return rc;
}

/* A check away from the plant rests on the roots that the settings name. */
static enum status check_alone(const struct config *c, const char *bytes, size_t size, struct arena *a,
			       struct file_check *out, struct err *err)
{
	struct seal_roots *seal = NULL, *stamp = NULL;
	enum status rc = OK;

	if (!c->seal_roots)
		return err_set(
			err, INVALID, "",
			"there is no plant here: --seal-roots FILE says whose seal is believed, or --data where the plant is");
	seal = seal_roots_new();
	stamp = seal_roots_new();
	if (!seal || !stamp)
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	if (!rc)
		rc = seal_roots_add_file(seal, c->seal_roots, err);
	if (!rc && c->stamp_roots)
		rc = seal_roots_add_file(stamp, c->stamp_roots, err);
	if (!rc)
		rc = check_file(NULL, &(struct check_roots){seal, stamp}, bytes, size, a, out, err);
	seal_roots_free(seal);
	seal_roots_free(stamp);
	return rc;
}

static enum status check_at_plant(struct store *store, struct issuer *issuer, const char *bytes, size_t size,
				  struct arena *a, struct file_check *out, struct err *err)
{
	struct check_roots roots = {0};
	enum status rc = issuer_roots(issuer, store, &roots.seal, err);
	struct db *db;

	if (rc)
		return rc;
	roots.stamp = issuer_stamp_roots(issuer);
	db = store_read_begin(store);
	rc = check_file(db, &roots, bytes, size, a, out, err);
	store_read_end(store, db);
	return rc;
}

static bool has_plant(const struct config *c)
{
	struct err err = {0};
	char *path = NULL;
	bool has = !config_plant_file(c, false, &path, &err);

	free(path);
	return has;
}

static bool stands(const struct file_check *c, bool compared)
{
	if (!compared)
		return c->verdict == CHECK_SEALED;
	return c->verdict == CHECK_GENUINE && !strcmp(c->certificate.state, "current");
}

static int tell(const struct file_check *c, bool compared)
{
	char sentences[CHECK_SENTENCES][CHECK_SENTENCE_SIZE];
	size_t n = check_sentences(c, compared, sentences);

	for (size_t i = 0; i < n; i++)
		puts(sentences[i]);
	printf("SHA-256 %s\n", c->sha256);
	return stands(c, compared) ? EXIT_SUCCESS : EXIT_FAILURE;
}

int main_verify(const struct config *c, int n, const char **words)
{
	struct store *store = NULL;
	struct issuer *issuer = NULL;
	struct arena a = {0};
	struct file_check check;
	struct err err = {0};
	char *bytes = NULL;
	size_t size;
	bool compared = n == 1 && has_plant(c);
	enum status rc = OK;
	int result;

	if (n != 1)
		rc = err_set(&err, INVALID, "", "loopledger verify FILE: one file, or - for standard input");
	if (!rc)
		rc = read_file(words[0], &bytes, &size, &err);
	if (!rc && compared)
		rc = main_open(c, false, &store, &err);
	if (!rc && compared)
		rc = main_issuer(c, &issuer, &err);
	if (!rc)
		rc = compared ? check_at_plant(store, issuer, bytes, size, &a, &check, &err) :
				check_alone(c, bytes, size, &a, &check, &err);
	result = rc ? main_fail(&err) : tell(&check, compared);
	store_close(store);
	issuer_free(issuer);
	arena_clear(&a);
	free(bytes);
	return result;
}
