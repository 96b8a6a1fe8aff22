/* What the tests of the seal on the machine-readable certificate share: two authorities, documents sealed by them, and verdicts on those. */
#ifndef TESTS_UNIT_DCC_SEAL_CHECK_H
#define TESTS_UNIT_DCC_SEAL_CHECK_H

#include "unit/dcc_authority.h"

#include <pthread.h>
#include <sys/wait.h>
#include <unistd.h>

#define SEALED_AT (SAMPLE_OPENED + 1500 * SAMPLE_MINUTE) /* 2026-03-15 10:00 UTC */
#define TEN_YEARS 315360000L

static struct authority plant, stranger;

/* Not inlined: gcc 12 then takes the pointer that they return for one to their own variable. */
#define APART static __attribute__((noinline, unused))

APART char *unsealed(size_t *size)
{
	struct sample *s = sample_adjusted();
	struct err err = {0};
	char *bytes;

	assert_int_equal(dcc_xml(&s->r, &s->options, &bytes, size, &err), OK);
	free(s);
	return bytes;
}

APART char *sealed_by(const struct authority *a, size_t *size)
{
	struct err err = {0};
	size_t plain_size;
	char *plain = unsealed(&plain_size), *out;

	if (dcc_seal(&a->signer, plain, plain_size, SEALED_AT, &out, size, &err) != OK)
		fail_msg("%s", err.message);
	free(plain);
	return out;
}

static inline struct dcc_report judged(const char *bytes, size_t size)
{
	struct dcc_report report;
	struct err err = {0};

	assert_int_equal(dcc_unseal(bytes, size, plant.store, &report, &err), OK);
	assert_true(report.sentence[0]);
	return report;
}

static inline void write_file(char path[40], const void *bytes, size_t size)
{
	int fd;

	strcpy(path, "/tmp/dcc-seal-XXXXXX");
	fd = mkstemp(path);
	assert_true(fd >= 0);
	assert_int_equal(write(fd, bytes, size), size);
	close(fd);
}

static inline void write_root(char path[40], const struct authority *a)
{
	BIO *bio = BIO_new(BIO_s_mem());
	char *bytes;
	long size;

	PEM_write_bio_X509(bio, a->root);
	size = BIO_get_mem_data(bio, &bytes);
	write_file(path, bytes, (size_t)size);
	BIO_free(bio);
}

/* What the command line tool says: true for a good signature. Its own check of dates is set to the time of sealing. */
static inline bool xmlsec_says_good(const char *bytes, size_t size, const char *root)
{
	char path[40], command[400];
	int rc;

	write_file(path, bytes, size);
	snprintf(command, sizeof command,
		 "xmlsec1 --verify --trusted-pem %s --verification-time '2026-03-15 10:00:00' "
		 "--enabled-reference-uris empty,same-doc "
		 "--id-attr:Id http://uri.etsi.org/01903/v1.3.2#:SignedProperties %s >/dev/null 2>&1",
		 root, path);
	rc = system(command);
	unlink(path);
	assert_true(WIFEXITED(rc));
	return WEXITSTATUS(rc) == 0;
}

#endif
