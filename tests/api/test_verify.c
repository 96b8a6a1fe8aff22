/* Verification: what is on file of a certificate, and what a file in somebody's hand is worth; strangers only where the plant
 * allows it. */
#include "plant.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* fontconfig keeps pointers as offsets, where the leak checker does not find them again. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig.so\n";
}

struct file {
	char *bytes;
	size_t size;
};

static void certify(struct plant *p)
{
	p->f->as = TECHNICIAN;
	perform(p, 1.2);
	review(p);
	assert_int_equal(record_ask(p, "POST", "/certificate", "{}"), 201);
}

static struct file issued(struct plant *p, const char *what)
{
	struct file file;

	p->f->as = AUDITOR;
	assert_int_equal(record_ask(p, "GET", what, NULL), 200);
	file.size = p->f->size;
	file.bytes = malloc(file.size);
	assert_non_null(file.bytes);
	memcpy(file.bytes, p->f->text, file.size);
	return file;
}

static const char *certificate_number(struct plant *p, char out[64])
{
	p->f->as = AUDITOR;
	look(p);
	snprintf(out, 64, "%s", text_of(p, "/certificate/number"));
	return out;
}

static const cJSON *verify(struct plant *p, const void *bytes, size_t size)
{
	const cJSON *answer = call_file(p->f, "/api/v1/verify", bytes, size);

	expect_status(p->f, 200);
	return answer;
}

static void the_plant_shows_strangers_nothing_unless_it_says_so(void **state)
{
	struct plant *p = *state;
	char number[64], path[100];

	certify(p);
	snprintf(path, sizeof path, "/api/v1/verify/%s", certificate_number(p, number));
	call_as(p->f, NOBODY, "GET", path, NULL);
	expect_status(p->f, 401);
	call_file(p->f, "/api/v1/verify", "%PDF", 4);
	expect_status(p->f, 401);
	fixture_sql(p->f, "INSERT INTO setting (key, value, updated_at) VALUES ('verify_public', 'yes', 0)");
	call(p->f, "GET", path, NULL);
	expect_status(p->f, 200);
	call_file(p->f, "/api/v1/verify", "%PDF", 4);
	expect_status(p->f, 200);
	call(p->f, "GET", "/api/v1/test-records", NULL); /* and nothing else */
	expect_status(p->f, 401);
}

static void it_shows_what_the_certificate_says_itself(void **state)
{
	struct plant *p = *state;
	char number[64], path[100];
	const cJSON *a;

	certify(p);
	snprintf(path, sizeof path, "/api/v1/verify/%s", certificate_number(p, number));
	a = call_as(p->f, AUDITOR, "GET", path, NULL);
	expect_status(p->f, 200);
	assert_string_equal(text_at(a, "/number"), number);
	assert_string_equal(text_at(a, "/state"), "current");
	assert_string_equal(text_at(a, "/tag"), "FV-301");
	assert_string_equal(text_at(a, "/as_found"), "pass");
	assert_string_equal(text_at(a, "/signatures/0/meaning"), "performed");
	assert_string_equal(text_at(a, "/signatures/1/meaning"), "reviewed");
	assert_string_equal(text_at(a, "/signatures/1/name"), "Corin Vale");
	assert_true(is_null_at(a, "/reason"));
	assert_null(at(a, "/record")); /* no way further in */
	call(p->f, "GET", "/api/v1/verify/BWW-1999-0001", NULL);
	expect_status(p->f, 404);
}

static void the_files_that_were_issued_are_genuine(void **state)
{
	struct plant *p = *state;
	char number[64];
	struct file pdf, xml;
	const cJSON *a;

	certify(p);
	certificate_number(p, number);
	pdf = issued(p, "/certificate.pdf");
	xml = issued(p, "/certificate.xml");
	a = verify(p, pdf.bytes, pdf.size);
	assert_string_equal(text_at(a, "/verdict"), "genuine");
	assert_string_equal(text_at(a, "/kind"), "pdf");
	assert_string_equal(text_at(a, "/certificate/number"), number);
	assert_string_equal(text_at(a, "/sha256"), text_at(a, "/certificate/pdf_sha256"));
	a = verify(p, xml.bytes, xml.size);
	assert_string_equal(text_at(a, "/verdict"), "genuine");
	assert_string_equal(text_at(a, "/kind"), "xml");
	assert_string_equal(text_at(a, "/sha256"), text_at(a, "/certificate/xml_sha256"));
	free(pdf.bytes);
	free(xml.bytes);
}

static void one_changed_byte_is_told(void **state)
{
	struct plant *p = *state;
	struct file pdf, xml;
	char *error;
	const cJSON *a;

	certify(p);
	pdf = issued(p, "/certificate.pdf");
	xml = issued(p, "/certificate.xml");
	pdf.bytes[pdf.size / 3] ^= 1;
	a = verify(p, pdf.bytes, pdf.size);
	assert_string_equal(text_at(a, "/verdict"), "changed");
	assert_true(is_null_at(a, "/certificate"));
	error = memmem(xml.bytes, xml.size, "FV-301", 6);
	assert_non_null(error);
	error[5] = '2';
	a = verify(p, xml.bytes, xml.size);
	assert_string_equal(text_at(a, "/verdict"), "changed");
	free(pdf.bytes);
	free(xml.bytes);
}

static void what_is_not_sealed_or_not_ours_is_called_so(void **state)
{
	static const char text[] = "This is to certify that everything is well.";
	struct plant *p = *state;
	struct file other;

	certify(p);
	other = issued(p, "/certificate.pdf?paper=letter"); /* another paper than the issued one's is drawn, unsealed */
	assert_string_equal(text_at(verify(p, other.bytes, other.size), "/verdict"), "unsealed");
	assert_string_equal(text_at(verify(p, text, sizeof text - 1), "/verdict"), "unreadable");
	assert_string_equal(text_at(verify(p, "<certificate/>", 14), "/verdict"), "unreadable");
	call_file(p->f, "/api/v1/verify", "", 0);
	expect_refusal(p->f, 422, NULL);
	/* the same file before a plant that trusts another root */
	free(other.bytes);
	other = issued(p, "/certificate.pdf");
	fixture_sql(p->f, "UPDATE certificate SET pdf_sha256 = 'x'");
	assert_string_equal(text_at(verify(p, other.bytes, other.size), "/verdict"), "sealed");
	free(other.bytes);
}

static void a_void_certificate_says_so_wherever_it_is_asked_for(void **state)
{
	struct plant *p = *state;
	char number[64], path[100];
	struct file pdf;
	const cJSON *a;

	certify(p);
	snprintf(path, sizeof path, "/api/v1/verify/%s", certificate_number(p, number));
	pdf = issued(p, "/certificate.pdf");
	p->f->as = LEAD;
	look(p);
	assert_int_equal(record_ask(p, "POST", "/void",
				    "{\"reason\": \"The wrong valve was tested\", \"password\": \"" FIXTURE_PASSWORD
				    "\"}"),
			 200);
	a = call_as(p->f, AUDITOR, "GET", path, NULL);
	expect_status(p->f, 200);
	assert_string_equal(text_at(a, "/state"), "void");
	assert_string_equal(text_at(a, "/reason"), "The wrong valve was tested");
	a = verify(p, pdf.bytes, pdf.size);
	assert_string_equal(text_at(a, "/verdict"), "genuine"); /* the file is: its certificate no longer stands */
	assert_string_equal(text_at(a, "/certificate/state"), "void");
	assert_non_null(strstr(text_at(a, "/sentences/2"), "The wrong valve was tested"));
	free(pdf.bytes);
}

/* A reason has up to 500 characters, which are up to four bytes each: none is cut in two, and nothing of it is lost. */
static void a_long_reason_in_any_script_is_told_whole(void **state)
{
	struct plant *p = *state;
	char number[64], path[100], reason[3 * 500 + 1] = "", body[1700];
	struct file pdf;
	const cJSON *a;

	for (size_t i = 0; i < 500; i++)
		memcpy(reason + 3 * i, "\xe6\xb0\xb4", 4);
	certify(p);
	snprintf(path, sizeof path, "/api/v1/verify/%s", certificate_number(p, number));
	pdf = issued(p, "/certificate.pdf");
	p->f->as = LEAD;
	look(p);
	snprintf(body, sizeof body, "{\"reason\": \"%s\", \"password\": \"" FIXTURE_PASSWORD "\"}", reason);
	assert_int_equal(record_ask(p, "POST", "/void", body), 200);
	a = call_as(p->f, AUDITOR, "GET", path, NULL);
	expect_status(p->f, 200);
	assert_string_equal(text_at(a, "/reason"), reason);
	assert_non_null(strstr(text_at(a, "/sentence"), reason));
	a = verify(p, pdf.bytes, pdf.size);
	assert_non_null(strstr(text_at(a, "/sentences/2"), reason));
	free(pdf.bytes);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(the_plant_shows_strangers_nothing_unless_it_says_so, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(it_shows_what_the_certificate_says_itself, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(the_files_that_were_issued_are_genuine, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(one_changed_byte_is_told, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(what_is_not_sealed_or_not_ours_is_called_so, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(a_void_certificate_says_so_wherever_it_is_asked_for, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(a_long_reason_in_any_script_is_told_whole, plant_setup, plant_teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
