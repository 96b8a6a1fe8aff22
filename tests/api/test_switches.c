/*
 * Switches: the data sheet in the register, and a test of where they act.
 *
 * PSH-901 of these tests: 0 to 10 bar, acts at 6 bar rising, dead band 0.3 to 0.7 bar; ±1 % of span is ±0.10 bar. The standard has
 * U = 0.003 bar (k = 2), typed with two decimals: u = sqrt(0.0015^2 + (0.01 / sqrt 12)^2) = 0.00325 bar (JCGM 100:2008, 4.3.7, 5.1.2),
 * U = 0.0065 bar.
 */
#include <stdio.h>
#include "register.h"

/* fontconfig keeps pointers as offsets, where the leak checker does not find them again. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig.so\n";
}

static const char switch_body[] =
	"{\"tag\": \"%s\", \"service\": \"Header pressure high\", \"kind\": \"%s\", \"area_id\": \"%s\","
	" \"input\": {\"quantity\": \"pressure\", \"low\": 0, \"high\": 10, \"unit\": \"bar\"},"
	" \"output\": {\"quantity\": \"switching pressure\", \"low\": 0, \"high\": 10, \"unit\": \"bar\"},"
	" \"characteristic\": {\"kind\": \"linear\"}, \"loop\": null, \"switch\": %s, \"hazards\": [], \"status\": \"in_service\"}";
static const char sheet[] =
	"{\"set_point\": 6, \"reset_point\": null, \"acts_on\": \"rising\", \"dead_band\": {\"low\": 0.3, \"high\": 0.7}}";
static const char document[] =
	"{\"title\": \"Switch point\", \"purpose\": \"\", \"kinds\": [\"switch\"], \"preparation\": [], \"cautions\": [],"
	" \"needs\": [{\"role\": \"input\", \"text\": \"Gauge\", \"optional\": false}],"
	" \"steps\": [{\"kind\": \"switch\", \"title\": \"Acts\", \"actuations\": 2, \"reads_reset\": %s, \"settle_s\": 0}],"
	" \"tolerance\": {\"as_found\": {\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": 1}], \"join\": \"sum\"},"
	" \"adjust\": null, \"as_left\": null}, \"decision\": {\"rule\": \"simple\"}, \"environment\": false, \"adjustment\": \"\"}";

struct plant {
	struct fixture *f;
	char area[40], instrument[40], procedure[40], standard[40], record[40];
};

static cJSON *add_switch(struct plant *p, const char *tag, const char *kind, const char *data)
{
	p->f->as = LEAD;
	return callf(p->f, "POST", "/api/v1/instruments", switch_body, tag, kind, p->area, data);
}

static void add_switch_procedure(struct plant *p, const char *code, const char *reads_reset)
{
	char text[1400], hash[80];
	cJSON *a;

	p->f->as = LEAD;
	snprintf(text, sizeof text, document, reads_reset);
	a = callf(p->f, "POST", "/api/v1/procedures", "{\"code\": \"%s\", \"document\": %s}", code, text);
	expect_status(p->f, 201);
	keep_id(a, p->procedure);
	snprintf(hash, sizeof hash, "%s", text_at(a, "/draft/content_sha256"));
	callf(p->f, "POST", path_of("procedures", p->procedure, "/approve"),
	      "{\"password\": \"" FIXTURE_PASSWORD "\", \"content_sha256\": \"%s\"}", hash);
	expect_status(p->f, 200);
}

static int begin(void **state)
{
	struct plant *p = calloc(1, sizeof *p);
	void *f = NULL;

	fixture_setup(&f);
	fixture_sql(f, "INSERT INTO setting (key, value, updated_at) VALUES ('plant_name', 'Harrow Vale Works', 0)");
	p->f = f;
	p->f->as = LEAD;
	add_area(p->f, "Header", NULL, p->area);
	keep_id(add_switch(p, "PSH-901", "switch", sheet), p->instrument);
	expect_status(p->f, 201);
	add_switch_procedure(p, "PS-9", "true");
	keep_id(callf(p->f, "POST", "/api/v1/standards",
		      "{\"code\": \"PG-1\", \"name\": \"Gauge\", \"quantity\": \"pressure\", \"calibration\":"
		      " {\"certificate_number\": \"K-1\", \"issued_by\": \"Harrow Vale Metrology\", \"calibrated_on\": \"2020-01-10\","
		      " \"valid_until\": \"2199-12-31\", \"low\": 0, \"high\": 16, \"unit\": \"bar\","
		      " \"expanded_uncertainty\": 0.003, \"coverage_factor\": 2, \"traceability\": \"National standards\"}}"),
		p->standard);
	expect_status(p->f, 201);
	*state = p;
	return 0;
}

static int end(void **state)
{
	struct plant *p = *state;
	void *f = p->f;

	fixture_teardown(&f);
	free(p);
	return 0;
}

static cJSON *open_test(struct plant *p)
{
	cJSON *a;

	p->f->as = TECHNICIAN;
	a = callf(p->f, "POST", "/api/v1/test-records", "{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\"}",
		  p->instrument, p->procedure);
	expect_status(p->f, 201);
	keep_id(a, p->record);
	return callf(p->f, "PUT", path_of("test-records", p->record, "/standards"),
		     "{\"standards\": [{\"role\": \"input\", \"standard_id\": \"%s\"}]}", p->standard);
}

static cJSON *reading(struct plant *p, const char *run, int point, const char *observed)
{
	return callf(p->f, "POST", path_of("test-records", p->record, "/readings"),
		     "{\"run\": \"%s\", \"point\": %d, \"observed\": \"%s\"}", run, point, observed);
}

static void the_data_sheet_stands_in_the_register_and_is_frozen_with_the_test(void **state)
{
	struct plant *p = *state;
	cJSON *a = call(p->f, "GET", path_of("instruments", p->instrument, ""), NULL);

	assert_near(number_at(a, "/switch/set_point"), 6, 0);
	assert_true(is_null_at(a, "/switch/reset_point"));
	assert_string_equal(text_at(a, "/switch/acts_on"), "rising");
	assert_near(number_at(a, "/switch/dead_band/high"), 0.7, 0);
	a = open_test(p);
	assert_near(number_at(a, "/instrument/switch/set_point"), 6, 0);
	assert_string_equal(text_at(a, "/runs/0/switch/shown_set_point"), "6.00 bar");
	assert_string_equal(text_at(a, "/runs/0/switch/shown_limits"), "±0.10 bar");
	assert_string_equal(text_at(a, "/runs/0/switch/shown_dead_band_limits"), "0.30 to 0.70 bar");
}

static void every_member_of_the_data_sheet_is_refused_by_its_pointer(void **state)
{
	static const struct {
		const char *data, *pointer;
	} wrong[] = {
		{"{\"acts_on\": \"rising\"}", "/switch/set_point"},
		{"{\"set_point\": \"6\", \"acts_on\": \"rising\"}", "/switch/set_point"},
		{"{\"set_point\": 10.5, \"acts_on\": \"rising\"}", "/switch/set_point"},
		{"{\"set_point\": -0.1, \"acts_on\": \"rising\"}", "/switch/set_point"},
		{"{\"set_point\": 6}", "/switch/acts_on"},
		{"{\"set_point\": 6, \"acts_on\": \"both\"}", "/switch/acts_on"},
		{"{\"set_point\": 6, \"acts_on\": \"rising\", \"reset_point\": 6.1}", "/switch/reset_point"},
		{"{\"set_point\": 6, \"acts_on\": \"falling\", \"reset_point\": 5.9}", "/switch/reset_point"},
		{"{\"set_point\": 6, \"acts_on\": \"rising\", \"reset_point\": -1}", "/switch/reset_point"},
		{"{\"set_point\": 6, \"acts_on\": \"rising\", \"dead_band\": 1}", "/switch/dead_band"},
		{"{\"set_point\": 6, \"acts_on\": \"rising\", \"dead_band\": {\"low\": -0.1}}",
		 "/switch/dead_band/low"},
		{"{\"set_point\": 6, \"acts_on\": \"rising\", \"dead_band\": {\"low\": 2, \"high\": 1}}",
		 "/switch/dead_band/high"},
		{"{\"set_point\": 6, \"acts_on\": \"rising\", \"dead_band\": {\"high\": 11}}", "/switch/dead_band"},
		{"{\"set_point\": 6, \"acts_on\": \"rising\", \"dead_band\": {\"wide\": 1}}", "/switch/dead_band/wide"},
		{"{\"set_point\": 6, \"acts_on\": \"rising\", \"latching\": true}", "/switch/latching"},
		{"[6]", "/switch"},
	};
	struct plant *p = *state;

	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		add_switch(p, "PSH-902", "switch", wrong[i].data);
		if (p->f->status != 422)
			print_error("taken: %s\n", wrong[i].data);
		expect_refusal(p->f, 422, wrong[i].pointer);
	}
	add_switch(p, "PT-902", "transmitter", sheet);
	expect_refusal(p->f, 422, "/switch");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM instrument"), 1);
	add_switch(p, "PSH-902", "switch", "null");
	expect_status(p->f, 201);
}

static void a_test_needs_a_set_point(void **state)
{
	struct plant *p = *state;
	cJSON *a;

	keep_id(add_switch(p, "PSH-903", "switch", "null"), p->instrument);
	p->f->as = TECHNICIAN;
	a = callf(p->f, "POST", "/api/v1/test-records", "{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\"}",
		  p->instrument, p->procedure);
	expect_status(p->f, 409);
	assert_non_null(strstr(text_at(a, "/detail"), "PSH-903 has no set point in the register"));
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM test_record"), 0);
}

static cJSON *reading_said(struct plant *p, int point, const char *observed, const char *verdict)
{
	return callf(p->f, "POST", path_of("test-records", p->record, "/readings"),
		     "{\"run\": \"as_found\", \"point\": %d, \"observed\": \"%s\", \"client_verdict\": \"%s\"}", point,
		     observed, verdict);
}

/* 6.05 is inside 6 ± 0.10; 6.05 − 5.30 = 0.75, more than the 0.70 allowed; 6.11 is outside. */
static void what_the_tablet_judged_otherwise_is_told_in_the_ledger(void **state)
{
	struct plant *p = *state;
	cJSON *a;

	open_test(p);
	reading_said(p, 0, "6.05", "pass");
	expect_status(p->f, 201);
	reading_said(p, 1, "5.30", "fail");
	expect_status(p->f, 201);
	assert_int_equal(
		fixture_sql_int(p->f, "SELECT count(*) FROM ledger_entry WHERE after_json LIKE '%client_verdict%'"), 0);
	a = reading_said(p, 2, "6.11", "pass");
	expect_status(p->f, 201);
	assert_string_equal(text_at(a, "/runs/0/points/2/reading/verdict"), "fail");
	assert_string_equal(text_at(a, "/runs/0/points/2/reading/client_verdict"), "pass");
	assert_int_equal(
		fixture_sql_int(
			p->f, "SELECT count(*) FROM ledger_entry WHERE after_json LIKE '%\"client_verdict\":\"pass\"%'"
			      " AND after_json LIKE '%\"verdict\":\"fail\"%'"),
		1);
}

static void each_actuation_is_asked_for_in_turn_and_judged_at_once(void **state)
{
	struct plant *p = *state;
	cJSON *a = open_test(p);

	assert_int_equal(cJSON_GetArraySize(at(a, "/runs/0/points")), 4);
	assert_string_equal(text_at(a, "/runs/0/points/0/direction"), "rising");
	assert_string_equal(text_at(a, "/runs/0/points/0/shown_low"), "5.90 bar");
	assert_string_equal(text_at(a, "/runs/0/points/1/direction"), "falling");
	assert_true(is_null_at(a, "/runs/0/points/1/shown_expected"));
	a = reading(p, "as_found", 0, "6.10");
	expect_status(p->f, 201);
	assert_string_equal(text_at(a, "/runs/0/points/0/reading/verdict"), "pass"); /* on the limit */
	assert_string_equal(text_at(a, "/runs/0/points/0/reading/sentence"),
			    "Acted at 6.10 bar: 0.10 bar late, limit ±0.10 bar: inside");
	assert_string_equal(text_at(a, "/runs/0/points/0/reading/shown_uncertainty"), "0.0065 bar");
	/* 6.10 - 0.70 and 6.10 - 0.30 */
	assert_string_equal(text_at(a, "/runs/0/points/1/shown_low"), "5.40 bar");
	assert_string_equal(text_at(a, "/runs/0/points/1/shown_high"), "5.80 bar");
	a = reading(p, "as_found", 1, "5.39");
	assert_string_equal(text_at(a, "/runs/0/points/1/reading/verdict"), "fail");
	assert_string_equal(text_at(a, "/runs/0/switch/actuations/0/dead_band_verdict"), "fail");
	assert_near(number_at(a, "/runs/0/switch/actuations/0/dead_band"), 0.71, 1e-9);
	assert_string_equal(text_at(a, "/runs/0/summary/verdict"), "fail");
	assert_true(cJSON_IsFalse(at(a, "/runs/0/complete")));
	reading(p, "as_found", 3, "5.5");
	expect_refusal(p->f, 409, "/point");
}

static void the_newest_goes_by_an_undo_and_may_be_read_again(void **state)
{
	struct plant *p = *state;
	cJSON *a;
	char rest[80];

	open_test(p);
	reading(p, "as_found", 0, "6.02");
	a = reading(p, "as_found", 1, "5.00");
	snprintf(rest, sizeof rest, "/readings/%s", text_at(a, "/runs/0/points/1/reading/id"));
	a = call(p->f, "DELETE", path_of("test-records", p->record, rest), NULL);
	expect_status(p->f, 200);
	assert_true(is_null_at(a, "/runs/0/points/1/reading"));
	assert_true(is_null_at(a, "/runs/0/switch/actuations/0/dead_band"));
	a = reading(p, "as_found", 1, "5.50");
	assert_string_equal(text_at(a, "/runs/0/summary/verdict"), "pass");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading WHERE undone_at IS NOT NULL"), 1);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading WHERE applied <> observed"), 0);
}

static void what_no_switch_can_have_read_is_refused(void **state)
{
	struct plant *p = *state;

	open_test(p);
	reading(p, "as_found", 0, "111"); /* ten spans beyond 10 bar is 110 */
	expect_refusal(p->f, 422, "/observed");
	reading(p, "as_found", 0, "six");
	expect_refusal(p->f, 422, "/observed");
	call(p->f, "POST", path_of("test-records", p->record, "/readings"),
	     "{\"run\": \"as_found\", \"point\": 0, \"observed\": \"6.0\", \"applied\": \"6.0\"}");
	expect_refusal(p->f, 422, "/applied");
	reading(p, "as_found", 4, "6.0");
	expect_refusal(p->f, 422, "/point");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading"), 0);
}

/* Else its dead band would be below nothing, and pass. */
static void a_switch_goes_back_on_the_side_it_came_from(void **state)
{
	struct plant *p = *state;

	open_test(p);
	reading(p, "as_found", 0, "6.02");
	expect_status(p->f, 201);
	reading(p, "as_found", 1, "6.03");
	expect_refusal(p->f, 422, "/observed");
	assert_non_null(strstr(text_at(p->f->answer, "/errors/0/detail"), "6.02 bar"));
	reading(p, "as_found", 1, "6.02");
	expect_status(p->f, 201);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading"), 2);
}

static void sign_as(struct plant *p, enum caller who, const char *meaning)
{
	char hash[80];

	p->f->as = who;
	snprintf(hash, sizeof hash, "%s",
		 text_at(call(p->f, "GET", path_of("test-records", p->record, ""), NULL), "/content_sha256"));
	callf(p->f, "POST", path_of("test-records", p->record, "/sign"),
	      "{\"meaning\": \"%s\", \"password\": \"" FIXTURE_PASSWORD "\", \"content_sha256\": \"%s\"}", meaning,
	      hash);
	expect_status(p->f, 200);
}

/* 6.20 and 6.24: mean 0.22 late, which is 2.2 % of 10 bar, and 0.02 on either side of it. */
static void a_late_switch_is_adjusted_signed_and_leaves_a_finding(void **state)
{
	struct plant *p = *state;
	cJSON *a;

	open_test(p);
	reading(p, "as_found", 0, "6.20");
	reading(p, "as_found", 1, "5.70");
	reading(p, "as_found", 2, "6.24");
	a = reading(p, "as_found", 3, "5.72");
	assert_true(cJSON_IsTrue(at(a, "/runs/0/complete")));
	assert_string_equal(text_at(a, "/runs/0/summary/sentence"),
			    "Acts 0.22 bar late, repeats within 0.04 bar, and goes back after 0.51 bar.");
	assert_string_equal(
		text_at(a, "/runs/0/summary/adjustment/sentence"),
		"Set it 0.22 bar lower (2.2 % of span), then run as left: the error should be at most 0.02 bar.");
	assert_near(number_at(a, "/runs/0/summary/adjustment/zero"), -0.22, 1e-9);
	call(p->f, "PUT", path_of("test-records", p->record, "/adjustment"),
	     "{\"made\": true, \"text\": \"One turn\"}");
	expect_status(p->f, 200);
	reading(p, "as_left", 0, "6.01");
	reading(p, "as_left", 1, "5.50");
	reading(p, "as_left", 2, "5.99");
	a = reading(p, "as_left", 3, "5.48");
	assert_string_equal(text_at(a, "/runs/1/summary/verdict"), "pass");
	sign_as(p, TECHNICIAN, "performed");
	a = call(p->f, "GET", path_of("test-records", p->record, ""), NULL);
	assert_string_equal(text_at(a, "/finding/sentence"), "PSH-901 was found outside its limits. Acted at 6.24 bar: "
							     "0.24 bar late, limit ±0.10 bar: outside.");
	sign_as(p, LEAD_2, "reviewed");
	call(p->f, "POST", path_of("test-records", p->record, "/certificate"), "{}");
	expect_status(p->f, 201);
	call(p->f, "GET", path_of("test-records", p->record, "/certificate.pdf"), NULL);
	expect_status(p->f, 200);
	call(p->f, "GET", path_of("test-records", p->record, "/certificate.xml"), NULL);
	expect_status(p->f, 200);
	assert_non_null(strstr(p->f->text, "<dcc:content lang=\"en\">Went back at</dcc:content>"));
	assert_non_null(strstr(p->f->text, "0.50 0.52")); /* 6.20 - 5.70 and 6.24 - 5.72 */
	a = call(p->f, "GET", path_of("instruments", p->instrument, ""), NULL);
	assert_string_equal(text_at(a, "/records/0/shown_worst_as_found"), "+2.40 %");
}

static void a_step_that_leaves_the_way_back_out_asks_only_where_it_acts(void **state)
{
	struct plant *p = *state;
	cJSON *a;

	add_switch_procedure(p, "PS-1W", "false");
	a = open_test(p);
	assert_int_equal(cJSON_GetArraySize(at(a, "/runs/0/points")), 2);
	reading(p, "as_found", 0, "6.0");
	a = reading(p, "as_found", 1, "6.1");
	assert_true(cJSON_IsTrue(at(a, "/runs/0/complete")));
	assert_string_equal(text_at(a, "/runs/0/summary/verdict"), "pass");
	assert_true(is_null_at(a, "/runs/0/switch/summary/dead_band"));
}

static void the_worked_example_shows_one_actuation(void **state)
{
	struct plant *p = *state;
	char text[1400];
	cJSON *a;

	snprintf(text, sizeof text, document, "true");
	a = callf(p->f, "POST", "/api/v1/procedures/example", "{\"document\": %s, \"instrument_id\": \"%s\"}", text,
		  p->instrument);
	expect_status(p->f, 200);
	assert_string_equal(text_at(a, "/tag"), "PSH-901");
	assert_int_equal(cJSON_GetArraySize(at(a, "/points")), 2);
	assert_near(number_at(a, "/switch/set_point"), 6, 0);
	assert_string_equal(text_at(a, "/points/0/shown_low"), "5.90");
	assert_string_equal(text_at(a, "/points/1/shown_low"), "5.30"); /* 6 - 0.7 */
	keep_id(add_switch(p, "PSH-904", "switch", "null"), p->instrument);
	callf(p->f, "POST", "/api/v1/procedures/example", "{\"document\": %s, \"instrument_id\": \"%s\"}", text,
	      p->instrument);
	expect_refusal(p->f, 422, "/instrument_id");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
	const struct CMUnitTest tests[] = {
		TEST(the_data_sheet_stands_in_the_register_and_is_frozen_with_the_test),
		TEST(every_member_of_the_data_sheet_is_refused_by_its_pointer),
		TEST(a_test_needs_a_set_point),
		TEST(what_the_tablet_judged_otherwise_is_told_in_the_ledger),
		TEST(each_actuation_is_asked_for_in_turn_and_judged_at_once),
		TEST(the_newest_goes_by_an_undo_and_may_be_read_again),
		TEST(what_no_switch_can_have_read_is_refused),
		TEST(a_switch_goes_back_on_the_side_it_came_from),
		TEST(a_late_switch_is_adjusted_signed_and_leaves_a_finding),
		TEST(a_step_that_leaves_the_way_back_out_asks_only_where_it_acts),
		TEST(the_worked_example_shows_one_actuation),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
