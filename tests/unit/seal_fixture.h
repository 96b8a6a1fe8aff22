/* A sealed certificate to look at: the sample's pages, an authority of its own in a temporary folder, two fields. */
#ifndef TESTS_SEAL_FIXTURE_H
#define TESTS_SEAL_FIXTURE_H

#include "base/time.h"
#include "report/seal.h"
#include "report/seal_verify.h"
#include "unit/certificate_check.h"

#define RECORD_XML "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<record number=\"BWW-2026-0017\"/>\n"

struct seal_fixture {
	char home[40], folder[64]; /* a temporary folder, and the authority's in it */
	int64_t now;
	struct seal_key *key;
	struct seal_roots *roots;
	char *finished, *once, *twice; /* the file before, after the first and after the second signature */
	size_t finished_size, once_size, twice_size;
};

static const struct seal_field fixture_fields[] = {
	{"performed", "Signature of the technician", 2, 57, 742, 180, 36},
	{"reviewed", "Signature of the reviewer", 2, 245, 742, 180, 36},
	{"plant", "Seal of the plant", 2, 0, 0, 0, 0},
};

static const char *const fixture_alternatives[] = {"Chart of the errors", "QR code of the address"};

static const char *const performed_lines[] = {"Performed by Иван Ёлкин (i.yolkin)", "2026-11-25 12:30:11 UTC",
					      "Meaning: tested, readings as recorded"};
static const char *const reviewed_lines[] = {"Reviewed by Asta Lindqvist", "2026-11-25 13:05:40 UTC",
					     "Meaning: reviewed and found in order"};

static inline void must(enum status rc, const struct err *err)
{
	if (rc == OK)
		return;
	print_error("refused (%d): %s %s\n", rc, err->field, err->message);
	fail();
}

static inline void fixture_finish(const struct seal_fixture *f, char **out, size_t *size)
{
	static const char xml[] = RECORD_XML;
	const struct seal_attachment attachment = {"BWW-2026-0017.xml", "text/xml", "The test record for machines", xml,
						   sizeof xml - 1,	f->now};
	const struct seal_finish_options options = {.language = "en",
						    .fields = fixture_fields,
						    .field_count = 3,
						    .attachments = &attachment,
						    .attachment_count = 1,
						    .alternatives = fixture_alternatives,
						    .alternative_count = 2};
	struct sample *s = sample_adjusted();
	struct err err = {0};
	size_t drawn_size;
	char *drawn = draw(s, &drawn_size);

	must(seal_finish(drawn, drawn_size, &options, out, size, &err), &err);
	free(drawn);
	free(s);
}

static inline struct seal_sign_options fixture_performed(const struct seal_fixture *f)
{
	return (struct seal_sign_options){.field = "performed",
					  .name = "Иван Ёлкин",
					  .reason = "Tested, readings as recorded",
					  .location = "Brackenholm Water Works",
					  .at_ms = f->now,
					  .lines = performed_lines,
					  .line_count = 3};
}

static inline struct seal_sign_options fixture_reviewed(const struct seal_fixture *f)
{
	return (struct seal_sign_options){.field = "reviewed",
					  .name = "Asta Lindqvist",
					  .reason = "Reviewed and found in order",
					  .at_ms = f->now,
					  .lines = reviewed_lines,
					  .line_count = 3};
}

/* The authority's kind is asked for by tests that need RSA. */
static inline struct seal_fixture *fixture_new(enum seal_algorithm algorithm)
{
	struct seal_fixture *f = calloc(1, sizeof *f);
	struct seal_sign_options options;
	struct err err = {0};

	assert_non_null(f);
	strcpy(f->home, "/tmp/seal-XXXXXX");
	assert_non_null(mkdtemp(f->home));
	snprintf(f->folder, sizeof f->folder, "%s/seal", f->home);
	f->now = time_now_ms();
	must(seal_authority_create(f->folder, "Brackenholm Water Works", algorithm, NULL, f->now, &err), &err);
	must(seal_key_open_own(f->folder, NULL, &f->key, &err), &err);
	f->roots = seal_roots_new();
	must(seal_roots_add(f->roots, seal_key_root(f->key), &err), &err);
	fixture_finish(f, &f->finished, &f->finished_size);
	options = fixture_performed(f);
	must(seal_sign(f->key, f->finished, f->finished_size, &options, &f->once, &f->once_size, &err), &err);
	options = fixture_reviewed(f);
	must(seal_sign(f->key, f->once, f->once_size, &options, &f->twice, &f->twice_size, &err), &err);
	return f;
}

static inline void fixture_free(struct seal_fixture *f)
{
	char command[64];

	snprintf(command, sizeof command, "rm -r %s", f->home);
	assert_int_equal(system(command), 0);
	seal_key_free(f->key);
	seal_roots_free(f->roots);
	free(f->finished);
	free(f->once);
	free(f->twice);
	free(f);
}

static inline int fixture_setup(void **state)
{
	*state = fixture_new(SEAL_EC_P256);
	return 0;
}

static inline int fixture_teardown(void **state)
{
	fixture_free(*state);
	return 0;
}

static inline struct seal_report verified(const struct seal_fixture *f, const void *bytes, size_t size)
{
	struct seal_report r;
	struct err err = {0};

	must(seal_verify(bytes, size, f->roots, NULL, &r, &err), &err);
	return r;
}

static inline void write_file(const char *path, const void *bytes, size_t size)
{
	FILE *out = fopen(path, "wb");

	assert_non_null(out);
	assert_int_equal(fwrite(bytes, 1, size, out), size);
	assert_int_equal(fclose(out), 0);
}

/* What a shell command prints about the bytes, which lie in $f; $d is the fixture's folder. The caller frees it. */
static inline char *tool_about(const struct seal_fixture *f, const void *bytes, size_t size, const char *shell)
{
	char path[64], command[1024];

	snprintf(path, sizeof path, "%s/file.pdf", f->home);
	snprintf(command, sizeof command, "d=%s; %s", f->home, shell);
	write_file(path, bytes, size);
	return output_of(command, path);
}

#endif
