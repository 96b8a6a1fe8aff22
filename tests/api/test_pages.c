#include "support/api_fixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* What a file of static/ holds; owned by the caller. */
static char *file_text(const char *path, size_t *size)
{
	FILE *file = fopen(path, "r");
	char *text = calloc(1, 1 << 20);

	assert_non_null(file);
	assert_non_null(text);
	*size = fread(text, 1, (1 << 20) - 1, file);
	fclose(file);
	return text;
}

static void expect_file(const struct fixture *f, const char *path)
{
	size_t size;
	char *text = file_text(path, &size);

	assert_int_equal(f->size, size);
	assert_memory_equal(f->text, text, size);
	free(text);
}

static void the_first_page_is_what_is_due(void **state)
{
	static const char *const paths[] = {"/", "/due", "/due.html"};
	struct fixture *f = *state;

	for (size_t i = 0; i < 3; i++) {
		call(f, "GET", paths[i], NULL);
		expect_status(f, 200);
		assert_string_equal(f->content_type, "text/html; charset=utf-8");
		expect_file(f, SOURCE_DIR "/static/due.html");
	}
}

static void a_style_sheet_comes_as_it_stands(void **state)
{
	struct fixture *f = *state;

	call(f, "GET", "/css/book.css", NULL);
	expect_status(f, 200);
	assert_string_equal(f->content_type, "text/css; charset=utf-8");
	assert_string_equal(f->cache, "no-cache");
	expect_file(f, SOURCE_DIR "/static/css/book.css");
}

/* A browser may keep a page, but asks each time whether it still is the one. */
static void a_page_has_a_tag_of_its_content(void **state)
{
	struct fixture *f = *state;
	char first[64];

	call(f, "GET", "/due", NULL);
	assert_int_equal(strlen(f->etag), 34);
	snprintf(first, sizeof first, "%s", f->etag);
	call(f, "GET", "/", NULL);
	assert_string_equal(f->etag, first);
	call(f, "GET", "/css/book.css", NULL);
	assert_string_not_equal(f->etag, first);
}

static void an_unknown_page_says_so_as_a_page(void **state)
{
	struct fixture *f = *state;

	call(f, "GET", "/no-such-page", NULL);
	expect_status(f, 404);
	assert_string_equal(f->content_type, "text/html; charset=utf-8");
	assert_string_equal(f->etag, "");
	expect_file(f, SOURCE_DIR "/static/missing.html");
}

static void an_unknown_path_of_the_api_says_so_as_json(void **state)
{
	struct fixture *f = *state;

	call(f, "GET", "/api/v1/no-such-thing", NULL);
	expect_refusal(f, 404, NULL);
	assert_string_equal(f->content_type, "application/problem+json");
}

static void another_method_is_told_what_there_is(void **state)
{
	struct fixture *f = *state;

	call(f, "PATCH", "/api/v1/settings", NULL);
	expect_status(f, 405);
	assert_string_equal(f->allow, "GET, HEAD, PUT");
}

static void nothing_outside_the_pages_can_be_had(void **state)
{
	static const char *const paths[] = {
		"/../docs/api.md", "/css/../../README.md", "//etc/passwd", "/css/", "/css", "/.", "/..",
		"/openapi.json",   "/due.html/",
	};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
		call(f, "GET", paths[i], NULL);
		if (f->status != 404)
			print_error("%s\n", paths[i]);
		expect_status(f, 404);
	}
}

/* A module begins with \0asm and version 1 (WebAssembly Core Specification 2.0, 5.5.16). */
static void expect_module(struct fixture *f, const char *path)
{
	call(f, "GET", path, NULL);
	expect_status(f, 200);
	assert_string_equal(f->content_type, "application/wasm");
	assert_true(f->size > 8);
	assert_memory_equal(f->text, "\0asm\1\0\0\0", 8);
}

static void the_browsers_core_comes_as_a_module(void **state)
{
	expect_module(*state, "/metrology.wasm");
	expect_module(*state, "/hart.wasm");
}

/* ---- from a folder ---- */

static void write_file(const char *path, const char *text)
{
	FILE *file = fopen(path, "w");

	assert_non_null(file);
	fputs(text, file);
	fclose(file);
}

static void a_folder_serves_what_stands_there_now(void **state)
{
	struct fixture *f = *state;
	char folder[80], page[120], secret[120], link[120];

	snprintf(folder, sizeof folder, "%s/pages", f->folder);
	snprintf(page, sizeof page, "%s/due.html", folder);
	snprintf(secret, sizeof secret, "%s/secret.txt", f->folder);
	snprintf(link, sizeof link, "%s/link.txt", folder);
	assert_int_equal(mkdir(folder, 0700), 0);
	write_file(secret, "secret");
	assert_int_equal(symlink("../secret.txt", link), 0);
	f->app.static_dir = folder;

	write_file(page, "one");
	call(f, "GET", "/due", NULL);
	assert_string_equal(f->text, "one");
	write_file(page, "two");
	call(f, "GET", "/", NULL);
	assert_string_equal(f->text, "two");
	assert_string_equal(f->etag, "");
	call(f, "GET", "/../secret.txt", NULL);
	expect_status(f, 404);
	call(f, "GET", "/link.txt", NULL);
	expect_status(f, 404);
	call(f, "GET", "/missing", NULL);
	expect_refusal(f, 404, NULL);
	expect_module(f, "/metrology.wasm"); /* compiled, so it lies in no folder */

	unlink(link);
	unlink(secret);
	unlink(page);
	rmdir(folder);
}

#define T(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(the_first_page_is_what_is_due),
		T(a_style_sheet_comes_as_it_stands),
		T(a_page_has_a_tag_of_its_content),
		T(an_unknown_page_says_so_as_a_page),
		T(an_unknown_path_of_the_api_says_so_as_json),
		T(another_method_is_told_what_there_is),
		T(nothing_outside_the_pages_can_be_had),
		T(the_browsers_core_comes_as_a_module),
		T(a_folder_serves_what_stands_there_now),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
