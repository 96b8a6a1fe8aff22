/* Reference standards through the API: states by date, certificates that are never edited. */
#include "register.h"

static struct fixture *lead(void **state)
{
	struct fixture *f = *state;

	f->as = LEAD;
	return f;
}

/* A current source, calibrated and valid so many days from today. */
static cJSON *add(struct fixture *f, const char *code, int calibrated, int valid)
{
	char on[DATE_TEXT_SIZE], until[DATE_TEXT_SIZE];

	return callf(f, "POST", "/api/v1/standards", JSON({
			     "code" : "%s",
			     "name" : "Current source",
			     "quantity" : "current",
			     "serial" : "1187",
			     "calibration" : {
				     "certificate_number" : "C-1",
				     "issued_by" : "Fellgate",
				     "calibrated_on" : "%s",
				     "valid_until" : "%s",
				     "low" : 0,
				     "high" : 24,
				     "unit" : "mA",
				     "expanded_uncertainty" : 0.004,
				     "coverage_factor" : 2,
				     "traceability" : "SI"
			     }
		     }),
		     code, day(calibrated, on), day(valid, until));
}

static void a_standard_with_a_certificate_is_valid(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a = add(f, "MA-01", -100, 265);

	expect_status(f, 201);
	assert_string_equal(text_at(a, "/state"), "valid");
	assert_near(number_at(a, "/calibration/expanded_uncertainty"), 0.004, 0);
	assert_string_equal(text_at(a, "/calibrations/0/certificate_number"), "C-1");
	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(a, "uses")), 0);
}

/* The last day counts; due soon from 30 days before it on (docs/api.md, own rule). */
static void the_state_follows_the_date(void **state)
{
	static const struct {
		int valid;
		const char *state;
	} cases[] = {{31, "valid"}, {30, "due_soon"}, {0, "due_soon"}, {-1, "expired"}};
	struct fixture *f = lead(state);
	char code[10];

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		snprintf(code, sizeof code, "MA-%zu", i);
		assert_string_equal(text_at(add(f, code, -300, cases[i].valid), "/state"), cases[i].state);
	}
}

static void a_standard_without_a_certificate_says_so(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a = call(f, "POST", "/api/v1/standards",
			"{\"code\": \"MA-01\", \"name\": \"Current source\", \"quantity\": \"current\"}");

	expect_status(f, 201);
	assert_string_equal(text_at(a, "/state"), "none");
	assert_true(is_null_at(a, "/calibration"));
}

static void the_newest_certificate_that_has_begun_is_the_current_one(void **state)
{
	struct fixture *f = lead(state);
	char id[40], on[DATE_TEXT_SIZE], until[DATE_TEXT_SIZE];
	static const char certificate[] = JSON({
		"certificate_number" : "%s",
		"issued_by" : "Fellgate",
		"calibrated_on" : "%s",
		"valid_until" : "%s",
		"low" : 0,
		"high" : 24,
		"unit" : "mA",
		"expanded_uncertainty" : 0.003,
		"coverage_factor" : 2,
		"traceability" : "SI"
	});
	char body[600];

	keep_id(add(f, "MA-01", -400, -35), id);
	snprintf(body, sizeof body, certificate, "C-2", day(-10, on), day(355, until));
	assert_string_equal(text_at(call(f, "POST", path_of("standards", id, "/calibrations"), body), "/state"),
			    "valid");
	expect_status(f, 201);
	snprintf(body, sizeof body, certificate, "C-3", day(5, on), day(370, until));
	call(f, "POST", path_of("standards", id, "/calibrations"), body);
	expect_status(f, 201);
	assert_string_equal(text_at(f->answer, "/calibration/certificate_number"), "C-2");
	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(f->answer, "calibrations")), 3);
	call(f, "POST", path_of("standards", id, "/calibrations"), body);
	expect_refusal(f, 409, "/certificate_number");
}

static void faults_of_a_certificate_are_pointed_at(void **state)
{
	static const struct {
		const char *from, *to, *pointer;
	} cases[] = {
		{"\"high\": 24", "\"high\": 0", "/high"},
		{"\"high\": 24", "\"high\": 1e308", "/high"},
		{"0.004", "0", "/expanded_uncertainty"},
		{"0.004", "-0.004", "/expanded_uncertainty"},
		{"\"mA\"", "\"mAmp\"", "/unit"},
		{"2026-11-25", "2026-11-31", "/valid_until"},
		{"2026-11-25", "2025-11-25", "/valid_until"},
		{"\"coverage_factor\": 2", "\"coverage_factor\": 0.5", "/coverage_factor"},
		{"\"traceability\": \"SI\"", "\"traceability\": \"\"", "/traceability"},
		{"\"C-9\"", "9", "/certificate_number"},
		{"\"issued_by\"", "\"issuer\"", "/issued_by"},
	};
	static const char sound[] =
		"{\"certificate_number\": \"C-9\", \"issued_by\": \"Fellgate\", \"calibrated_on\": \"2025-11-25\","
		" \"valid_until\": \"2026-11-25\", \"low\": 0, \"high\": 24, \"unit\": \"mA\", \"expanded_uncertainty\": 0.004,"
		" \"coverage_factor\": 2, \"traceability\": \"SI\"}";
	struct fixture *f = lead(state);
	char id[40], body[600];

	keep_id(add(f, "MA-01", -100, 265), id);
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		const char *at_fault = strstr(sound, cases[i].from);

		assert_non_null(at_fault);
		snprintf(body, sizeof body, "%.*s%s%s", (int)(at_fault - sound), sound, cases[i].to,
			 at_fault + strlen(cases[i].from));
		call(f, "POST", path_of("standards", id, "/calibrations"), body);
		expect_refusal(f, 422, cases[i].pointer);
	}
	call(f, "POST", path_of("standards", id, "/calibrations"), sound);
	expect_status(f, 201);
}

static void a_failed_standard_keeps_its_reason(void **state)
{
	struct fixture *f = lead(state);
	char id[40];
	static const char failed[] =
		"{\"code\": \"MA-01\", \"name\": \"Current source\", \"quantity\": \"current\", \"status\": \"failed\","
		" \"status_reason\": \"Read 0.03 mA high.\"}";
	cJSON *a;

	keep_id(add(f, "MA-01", -100, 265), id);
	a = call_version(f, 1, "PUT", path_of("standards", id, ""), failed);
	expect_status(f, 200);
	assert_string_equal(text_at(a, "/state"), "failed");
	assert_string_equal(text_at(a, "/status_reason"), "Read 0.03 mA high.");
	assert_string_equal(text_at(a, "/calibration/certificate_number"), "C-1");
	call_version(f, 1, "PUT", path_of("standards", id, ""), failed);
	expect_status(f, 412);
}

static void a_code_is_unique_regardless_of_case(void **state)
{
	struct fixture *f = lead(state);

	add(f, "MA-01", -100, 265);
	add(f, "ma-01", -100, 265);
	expect_refusal(f, 409, "/code");
}

static void standards_are_found_by_name(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a;

	add(f, "MA-01", -100, 265);
	a = call(f, "GET", "/api/v1/standards?q=SOURCE", NULL);
	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(a, "items")), 1);
	assert_string_equal(text_at(a, "/items/0/state"), "valid");
	a = call(f, "GET", "/api/v1/standards?q=pump", NULL);
	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(a, "items")), 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(a_standard_with_a_certificate_is_valid),
		TEST(the_state_follows_the_date),
		TEST(a_standard_without_a_certificate_says_so),
		TEST(the_newest_certificate_that_has_begun_is_the_current_one),
		TEST(faults_of_a_certificate_are_pointed_at),
		TEST(a_failed_standard_keeps_its_reason),
		TEST(a_code_is_unique_regardless_of_case),
		TEST(standards_are_found_by_name),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
