/* Procedures through the API: drafts, approval by signature, the worked example. */
#include "register.h"

static struct fixture *lead(void **state)
{
	struct fixture *f = *state;

	f->as = LEAD;
	return f;
}

static void a_new_procedure_begins_with_a_draft(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a = callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\", \"document\": %s}", DOCUMENT);

	expect_status(f, 201);
	assert_string_equal(text_at(a, "/code"), "CV-5");
	assert_true(is_null_at(a, "/approved"));
	assert_string_equal(text_at(a, "/draft/state"), "draft");
	assert_near(number_at(a, "/draft/number"), 1, 0);
	assert_string_equal(text_at(a, "/versions/0/title"), "Control valve, five points");
	assert_int_equal(strlen(text_at(a, "/draft/content_sha256")), 64);
}

static void a_faulty_document_is_pointed_at_inside_the_body(void **state)
{
	struct fixture *f = lead(state);

	call(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\", \"document\": {\"title\": \"\"}}");
	expect_refusal(f, 422, "/document/title");
	callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV 5\", \"document\": %s}", DOCUMENT);
	expect_refusal(f, 422, "/code");
	call(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\"}");
	expect_refusal(f, 422, "/document");
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM procedure"), 0);
}

static void a_code_is_unique_regardless_of_case(void **state)
{
	struct fixture *f = lead(state);

	callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\", \"document\": %s}", DOCUMENT);
	callf(f, "POST", "/api/v1/procedures", "{\"code\": \"cv-5\", \"document\": %s}", DOCUMENT);
	expect_refusal(f, 409, "/code");
}

static void an_approval_is_signed_by_name(void **state)
{
	struct fixture *f = lead(state);
	char id[40];
	cJSON *a;

	add_procedure(f, "CV-5", id);
	assert_string_equal(text_at(f->answer, "/state"), "approved");
	a = call(f, "GET", path_of("procedures", id, ""), NULL);
	assert_true(is_null_at(a, "/draft"));
	assert_true(strlen(text_at(a, "/approved/approved_by")) > 0);
	assert_int_equal(
		fixture_sql_int(
			f, "SELECT count(*) FROM signature s JOIN procedure_version v ON v.id = s.procedure_version_id"
			   " WHERE s.meaning = 'approved' AND s.role = 'lead'"),
		1);
}

static void what_is_approved_is_what_was_shown(void **state)
{
	struct fixture *f = lead(state);
	char id[40], hash[80], body[1400];
	cJSON *a = callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\", \"document\": %s}", DOCUMENT);

	keep_id(a, id);
	snprintf(hash, sizeof hash, "%s", text_at(a, "/draft/content_sha256"));
	snprintf(body, sizeof body, "{\"document\": %s}", DOCUMENT_4_PERCENT);
	call_version(f, 1, "PUT", path_of("procedures", id, "/draft"), body);
	expect_status(f, 200);
	callf(f, "POST", path_of("procedures", id, "/approve"), "{\"password\": \"%s\", \"content_sha256\": \"%s\"}",
	      FIXTURE_PASSWORD, hash);
	expect_refusal(f, 409, "/content_sha256");
}

static void an_approval_needs_the_password(void **state)
{
	struct fixture *f = lead(state);
	char id[40];
	cJSON *a = callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\", \"document\": %s}", DOCUMENT);
	char hash[80];

	keep_id(a, id);
	snprintf(hash, sizeof hash, "%s", text_at(a, "/draft/content_sha256"));
	callf(f, "POST", path_of("procedures", id, "/approve"),
	      "{\"password\": \"wrong, wrong\", \"content_sha256\": \"%s\"}", hash);
	expect_status(f, 401);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM procedure_version WHERE state = 'approved'"), 0);
}

static void a_second_version_supersedes_the_first(void **state)
{
	struct fixture *f = lead(state);
	char id[40], first[40], hash[80], body[1400];
	cJSON *a;

	add_procedure(f, "CV-5", id);
	keep_id(f->answer, first);
	a = call(f, "POST", path_of("procedures", id, "/draft"), "{}");
	expect_status(f, 201);
	assert_near(number_at(a, "/number"), 2, 0);
	call(f, "POST", path_of("procedures", id, "/draft"), "{}");
	expect_status(f, 409);
	snprintf(body, sizeof body, "{\"document\": %s}", DOCUMENT_4_PERCENT);
	a = call_version(f, 1, "PUT", path_of("procedures", id, "/draft"), body);
	snprintf(hash, sizeof hash, "%s", text_at(a, "/content_sha256"));
	callf(f, "POST", path_of("procedures", id, "/approve"), "{\"password\": \"%s\", \"content_sha256\": \"%s\"}",
	      FIXTURE_PASSWORD, hash);
	expect_status(f, 200);
	a = call(f, "GET", path_of("procedure-versions", first, ""), NULL);
	assert_string_equal(text_at(a, "/state"), "superseded");
	a = call(f, "GET", path_of("procedures", id, ""), NULL);
	assert_string_equal(text_at(a, "/approved/title"), "Control valve, wider");
	assert_near(number_at(a, "/versions/0/number"), 2, 0);
}

static void a_draft_that_somebody_else_changed_is_not_overwritten(void **state)
{
	struct fixture *f = lead(state);
	char id[40], body[1400];

	keep_id(callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\", \"document\": %s}", DOCUMENT), id);
	snprintf(body, sizeof body, "{\"document\": %s}", DOCUMENT_4_PERCENT);
	call_version(f, 1, "PUT", path_of("procedures", id, "/draft"), body);
	expect_status(f, 200);
	assert_string_equal(f->etag, "\"v2\"");
	call_version(f, 1, "PUT", path_of("procedures", id, "/draft"), body);
	expect_status(f, 412);
}

static void a_first_draft_takes_the_procedure_with_it(void **state)
{
	struct fixture *f = lead(state);
	char id[40];

	keep_id(callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\", \"document\": %s}", DOCUMENT), id);
	call(f, "DELETE", path_of("procedures", id, "/draft"), NULL);
	expect_status(f, 204);
	call(f, "GET", path_of("procedures", id, ""), NULL);
	expect_status(f, 404);
}

static void a_later_draft_leaves_the_approved_version(void **state)
{
	struct fixture *f = lead(state);
	char id[40];
	cJSON *a;

	add_procedure(f, "CV-5", id);
	call(f, "POST", path_of("procedures", id, "/draft"), "{}");
	call(f, "DELETE", path_of("procedures", id, "/draft"), NULL);
	expect_status(f, 204);
	a = call(f, "GET", path_of("procedures", id, ""), NULL);
	assert_string_equal(text_at(a, "/approved/state"), "approved");
	call(f, "DELETE", path_of("procedures", id, "/draft"), NULL);
	expect_status(f, 404);
}

static void a_list_names_approved_and_draft(void **state)
{
	struct fixture *f = lead(state);
	char id[40];
	cJSON *a;

	add_procedure(f, "CV-5", id);
	callf(f, "POST", "/api/v1/procedures", "{\"code\": \"AT-3\", \"document\": %s}", DOCUMENT_4_PERCENT);
	a = call(f, "GET", "/api/v1/procedures", NULL);
	assert_string_equal(text_at(a, "/items/0/code"), "AT-3");
	assert_true(is_null_at(a, "/items/0/approved"));
	assert_near(number_at(a, "/items/0/draft/number"), 1, 0);
	assert_near(number_at(a, "/items/1/approved/number"), 1, 0);
	assert_near(number_at(a, "/items/1/schedules"), 0, 0);
	a = call(f, "GET", "/api/v1/procedures?q=WIDER", NULL);
	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(a, "items")), 1);
}

/* 4-20 mA to 0-100 %, limits of 3 % of 100 %: at 25 % the input is 8 mA and 22 to 28 % are allowed. */
static void the_example_shows_points_and_limits(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a = callf(f, "POST", "/api/v1/procedures/example", "{\"document\": %s}", DOCUMENT);

	expect_status(f, 200);
	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(a, "points")), 9); /* five up, four down */
	assert_string_equal(text_at(a, "/input_unit"), "mA");
	assert_string_equal(text_at(a, "/points/1/shown_set"), "8.00");
	assert_string_equal(text_at(a, "/points/1/shown_expected"), "25.0");
	assert_string_equal(text_at(a, "/points/1/shown_low"), "22.0");
	assert_string_equal(text_at(a, "/points/1/shown_high"), "28.0");
	assert_near(number_at(a, "/points/1/set"), 8, 1e-12);
	assert_near(number_at(a, "/points/1/limit_low"), -3, 1e-12);
	assert_near(number_at(a, "/points/1/limit_high"), 3, 1e-12);
	assert_string_equal(text_at(a, "/points/1/shown_limit_high"), "+3.0");
	assert_string_equal(text_at(a, "/points/0/shown_low"), "\xe2\x88\x92"
							       "3.0"); /* U+2212 */
	assert_string_equal(text_at(a, "/points/8/direction"), "falling");
	assert_true(is_null_at(a, "/tag"));
}

static void the_example_follows_an_instrument(void **state)
{
	struct fixture *f = lead(state);
	char area[40], id[40];
	cJSON *a;

	add_area(f, "Backwash", NULL, area);
	add_valve(f, "FCV-2107", area, id);
	a = callf(f, "POST", "/api/v1/procedures/example", "{\"document\": %s, \"instrument_id\": \"%s\"}", DOCUMENT,
		  id);
	assert_string_equal(text_at(a, "/tag"), "FCV-2107");
	callf(f, "POST", "/api/v1/procedures/example",
	      "{\"document\": %s, \"instrument_id\": \"01890000-0000-7000-8000-000000000000\"}", DOCUMENT);
	expect_refusal(f, 422, "/instrument_id");
}

static void a_technician_writes_no_procedures(void **state)
{
	struct fixture *f = lead(state);

	f->as = TECHNICIAN;
	callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-5\", \"document\": %s}", DOCUMENT);
	expect_status(f, 403);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(a_new_procedure_begins_with_a_draft),
		TEST(a_faulty_document_is_pointed_at_inside_the_body),
		TEST(a_code_is_unique_regardless_of_case),
		TEST(an_approval_is_signed_by_name),
		TEST(what_is_approved_is_what_was_shown),
		TEST(an_approval_needs_the_password),
		TEST(a_second_version_supersedes_the_first),
		TEST(a_draft_that_somebody_else_changed_is_not_overwritten),
		TEST(a_first_draft_takes_the_procedure_with_it),
		TEST(a_later_draft_leaves_the_approved_version),
		TEST(a_list_names_approved_and_draft),
		TEST(the_example_shows_points_and_limits),
		TEST(the_example_follows_an_instrument),
		TEST(a_technician_writes_no_procedures),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
