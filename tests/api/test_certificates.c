/* Certificates: issued once, after the review, numbered in order, printed from the record. */
#include "plant.h"

#include <stdio.h>
#include <string.h>
#include "base/time.h"

/* fontconfig keeps pointers as offsets, where the leak checker does not find them again. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig.so\n";
}

static int issue(struct plant *p)
{
	return record_ask(p, "POST", "/certificate", "{}");
}

static void certify(struct plant *p, double offset)
{
	p->f->as = TECHNICIAN;
	perform(p, offset);
	review(p);
	assert_int_equal(issue(p), 201);
}

static void a_certificate_follows_the_review(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	p->f->as = LEAD;
	assert_int_equal(issue(p), 409);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 409);
	review(p);
	p->f->as = TECHNICIAN;
	assert_int_equal(issue(p), 403);
	p->f->as = LEAD;
	look(p);
	assert_true(has_word(p, "/may", "issue"));
	assert_int_equal(issue(p), 201);
	assert_string_equal(text_of(p, "/state"), "certified");
	assert_string_equal(text_of(p, "/phase"), "done");
	assert_string_equal(text_of(p, "/certificate/state"), "current");
	assert_string_equal(text_of(p, "/certificate/issued_by"), "Leda Marsh");
	assert_int_equal(issue(p), 409);
}

static void numbers_carry_the_plants_prefix_and_the_year(void **state)
{
	struct plant *p = *state;
	char today[DATE_TEXT_SIZE], number[40];

	fixture_sql(p->f, "INSERT INTO setting (key, value, updated_at) VALUES ('certificate_prefix', 'BWW', 0)");
	certify(p, 0);
	date_to_text(date_today(), today);
	snprintf(number, sizeof number, "BWW-%.4s-0001", today);
	assert_string_equal(text_of(p, "/certificate/number"), number);
	certify(p, 0);
	snprintf(number, sizeof number, "BWW-%.4s-0002", today);
	assert_string_equal(text_of(p, "/certificate/number"), number);
}

static void it_is_found_by_its_number(void **state)
{
	struct plant *p = *state;
	char path[100];

	certify(p, 1.2);
	snprintf(path, sizeof path, "/api/v1/certificates/%s", text_of(p, "/certificate/number"));
	p->f->as = AUDITOR;
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_string_equal(text_of(p, "/record/id"), p->record);
	assert_string_equal(text_of(p, "/record/tag"), "FV-301");
	assert_string_equal(text_of(p, "/record/reviewed_by"), "Corin Vale");
	assert_string_equal(text_of(p, "/record/verdict_as_found"), "pass");
	assert_string_equal(text_of(p, "/state"), "current");
	assert_int_equal(ask(p, "GET", "/api/v1/certificates/BWW-1999-0001", NULL), 404);
}

static void the_pdf_is_drawn_from_the_record(void **state)
{
	struct plant *p = *state;

	certify(p, 1.2);
	p->f->as = AUDITOR;
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 200);
	assert_string_equal(p->f->content_type, "application/pdf");
	/* ISO 32000-1, 7.5.2: a file begins with this header */
	assert_memory_equal(p->f->text, "%PDF-", 5);
	assert_true(p->f->size > 10000);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf?paper=letter", NULL), 200);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf?paper=a5", NULL), 422);
	p->f->as = NOBODY;
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 401);
}

/* DCC schema 3.3.0: root, namespace and version of the document; it says itself that it is not sealed. */
static void the_certificate_for_machines_is_written_from_the_record(void **state)
{
	struct plant *p = *state;
	char number[40];

	perform(p, 0);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 409);
	review(p);
	assert_int_equal(issue(p), 201);
	snprintf(number, sizeof number, ">%s<", text_of(p, "/certificate/number"));
	p->f->as = AUDITOR;
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 200);
	assert_string_equal(p->f->content_type, "application/xml");
	assert_non_null(strstr(p->f->text, "<dcc:digitalCalibrationCertificate xmlns:dcc=\"https://ptb.de/dcc\""));
	assert_non_null(strstr(p->f->text, "schemaVersion=\"3.3.0\""));
	assert_non_null(strstr(p->f->text, "<!-- not sealed"));
	assert_non_null(strstr(p->f->text, number));
	assert_non_null(strstr(p->f->text, "FV-301"));
	p->f->as = NOBODY;
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 401);
}

static void a_void_record_takes_its_certificate_with_it(void **state)
{
	struct plant *p = *state;

	certify(p, 0);
	p->f->as = LEAD;
	assert_int_equal(
		record_ask(p, "POST", "/void", "{\"reason\": \"Wrong valve\", \"password\": \"" FIXTURE_PASSWORD "\"}"),
		200);
	assert_string_equal(text_of(p, "/certificate/state"), "void");
}

static void a_certified_record_never_goes_back(void **state)
{
	struct plant *p = *state;

	certify(p, 0);
	p->f->as = LEAD;
	assert_int_equal(
		record_ask(p, "POST", "/return", "{\"reason\": \"Hm\", \"password\": \"" FIXTURE_PASSWORD "\"}"), 409);
}

#define T(name) cmocka_unit_test_setup_teardown(name, plant_setup, plant_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(a_certificate_follows_the_review),
		T(numbers_carry_the_plants_prefix_and_the_year),
		T(it_is_found_by_its_number),
		T(the_pdf_is_drawn_from_the_record),
		T(the_certificate_for_machines_is_written_from_the_record),
		T(a_void_record_takes_its_certificate_with_it),
		T(a_certified_record_never_goes_back),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
