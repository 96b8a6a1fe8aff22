/*
 * The dead band of a run: sought at the procedure's places once the points are read. FV-902 of these tests: 4 to 20 mA over 0 to
 * 100 % of travel; 1 % of the input span is 0.16 mA. Expected values are arithmetic on what is typed: 12.02 − 11.98 = 0.04 mA
 * = 0.25 % of the span of 16 mA; 12.02 − 11.97 = 0.05 mA = 0.3125 %.
 */
#include <stdio.h>
#include "register.h"

/* printf formats: the limit as a member, or nothing; the tolerance's % of span. */
#define DEAD_BAND_DOCUMENT                                                                                                           \
	"{\"title\": \"Travel\", \"purpose\": \"\", \"kinds\": [\"control_valve\"], \"preparation\": [], \"cautions\": [],"          \
	" \"needs\": [], \"steps\": [{\"kind\": \"points\", \"title\": \"Travel\", \"percent\": [10, 90], \"pattern\": \"up_down\"," \
	" \"cycles\": 1, \"settle_s\": 0, \"dead_band\": {\"percent\": [10, 50]%s}}],"                                               \
	" \"tolerance\": {\"as_found\": {\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": 1}], \"join\": \"sum\"},"             \
	" \"adjust\": null, \"as_left\": null}, \"decision\": {\"rule\": \"simple\"}, \"environment\": false,"                       \
	" \"adjustment\": \"\"}"

struct bench {
	struct fixture *f;
	char area[40], valve[40], procedure[40], record[40];
};

static int begin(void **state)
{
	struct bench *b = calloc(1, sizeof *b);
	void *f = NULL;

	fixture_setup(&f);
	b->f = f;
	b->f->as = LEAD;
	add_area(b->f, "Header", NULL, b->area);
	add_valve(b->f, "FV-902", b->area, b->valve);
	*state = b;
	return 0;
}

static int end(void **state)
{
	struct bench *b = *state;
	void *f = b->f;

	fixture_teardown(&f);
	free(b);
	return 0;
}

static cJSON *write_procedure(struct bench *b, const char *more)
{
	char text[1400];

	b->f->as = LEAD;
	snprintf(text, sizeof text, DEAD_BAND_DOCUMENT, more);
	return callf(b->f, "POST", "/api/v1/procedures", "{\"code\": \"CV-9\", \"document\": %s}", text);
}

/* A test by such a procedure, its cautions read. */
static void open_with(struct bench *b, const char *more)
{
	char hash[80];
	cJSON *a = write_procedure(b, more);

	expect_status(b->f, 201);
	keep_id(a, b->procedure);
	snprintf(hash, sizeof hash, "%s", text_at(a, "/draft/content_sha256"));
	callf(b->f, "POST", path_of("procedures", b->procedure, "/approve"),
	      "{\"password\": \"" FIXTURE_PASSWORD "\", \"content_sha256\": \"%s\"}", hash);
	expect_status(b->f, 200);
	b->f->as = TECHNICIAN;
	a = callf(b->f, "POST", "/api/v1/test-records", "{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\"}",
		  b->valve, b->procedure);
	expect_status(b->f, 201);
	keep_id(a, b->record);
	call(b->f, "PUT", path_of("test-records", b->record, "/cautions/hazard.1"), "{}");
	expect_status(b->f, 200);
}

static cJSON *read_points(struct bench *b)
{
	static const char *const observed[] = {"10.0", "90.0", "10.2"};
	cJSON *a = NULL;

	for (int i = 0; i < 3; i++) {
		a = callf(b->f, "POST", path_of("test-records", b->record, "/readings"),
			  "{\"run\": \"as_found\", \"point\": %d, \"observed\": \"%s\"}", i, observed[i]);
		expect_status(b->f, 201);
	}
	return a;
}

static cJSON *take(struct bench *b, const char *place, const char *rising, const char *falling)
{
	char end_of_path[40];

	snprintf(end_of_path, sizeof end_of_path, "/dead-band/%s", place);
	return callf(b->f, "PUT", path_of("test-records", b->record, end_of_path),
		     "{\"run\": \"as_found\", \"rising\": \"%s\", \"falling\": \"%s\"}", rising, falling);
}

static void a_run_with_dead_band_is_complete_when_every_place_is_taken(void **state)
{
	struct bench *b = *state;
	cJSON *a;

	open_with(b, "");
	a = read_points(b);
	assert_true(cJSON_IsFalse(at(a, "/runs/0/complete")));
	assert_string_equal(text_at(a, "/phase"), "as_found");
	assert_string_equal(text_at(a, "/to_do/0/text"),
			    "Seek the dead band of the as-found run: 0 of 2 places are taken");
	assert_near(number_at(a, "/runs/0/dead_band/places/1/set"), 12, 1e-12);
	take(b, "0", "5.61", "5.60");
	expect_status(b->f, 200);
	a = take(b, "1", "12.02", "11.98");
	expect_status(b->f, 200);
	assert_true(cJSON_IsTrue(at(a, "/runs/0/complete")));
	assert_string_equal(text_at(a, "/phase"), "adjust");
	assert_near(number_at(a, "/runs/0/dead_band/places/1/value"), 0.04, 1e-12);
	assert_string_equal(text_at(a, "/runs/0/dead_band/places/1/shown"), "0.04 mA");
	assert_near(number_at(a, "/runs/0/dead_band/percent_of_input_span"), 0.25, 1e-12);
	assert_string_equal(text_at(a, "/runs/0/dead_band/shown"), "0.25 %");
	assert_string_equal(text_at(a, "/runs/0/dead_band/verdict"), "not_judged");
	assert_string_equal(text_at(a, "/runs/0/summary/verdict"), "pass");
	assert_non_null(strstr(text_at(a, "/runs/0/summary/sentence"),
			       "The largest dead band is 0.25 % of the input span, at 12.00 mA."));
}

static void a_dead_band_on_its_limit_is_inside_and_one_count_more_fails_the_run(void **state)
{
	struct bench *b = *state;
	cJSON *a;

	open_with(b, ", \"limit\": 0.25");
	read_points(b);
	take(b, "0", "5.60", "5.60");
	a = take(b, "1", "12.02", "11.98");
	assert_string_equal(text_at(a, "/runs/0/dead_band/verdict"), "pass");
	assert_string_equal(text_at(a, "/runs/0/summary/verdict"), "pass");
	a = take(b, "1", "12.02", "11.97");
	assert_string_equal(text_at(a, "/runs/0/dead_band/places/0/verdict"), "pass");
	assert_string_equal(text_at(a, "/runs/0/dead_band/places/1/verdict"), "fail");
	assert_string_equal(text_at(a, "/runs/0/dead_band/shown"), "0.31 %");
	assert_string_equal(text_at(a, "/runs/0/summary/verdict"), "fail");
	assert_near(number_at(a, "/runs/0/summary/failed"), 0, 0);
	assert_non_null(strstr(text_at(a, "/runs/0/summary/sentence"),
			       "0.31 % of the input span at 12.00 mA, is more than the 0.25 % allowed"));
}

/* 10 % up 10.0 and down 10.2: hysteresis 0.2 % of span; dead band 0.01 / 16 = 0.0625 %: 0.1375 % are left. */
static void hysteresis_without_the_dead_band_is_told(void **state)
{
	struct bench *b = *state;
	cJSON *a;

	open_with(b, "");
	read_points(b);
	a = take(b, "0", "5.61", "5.60");
	assert_near(number_at(a, "/runs/0/dead_band/hysteresis_alone"), 0.2 - 0.0625, 1e-9);
}

static void a_dead_band_out_of_turn_or_out_of_place_is_refused(void **state)
{
	struct bench *b = *state;
	cJSON *a;

	open_with(b, "");
	take(b, "0", "5.61", "5.60");
	expect_status(b->f, 409);
	read_points(b);
	a = take(b, "1", "11.98", "12.02");
	expect_status(b->f, 422);
	assert_string_equal(text_at(a, "/errors/0/pointer"), "/falling");
	a = take(b, "1", "16.01", "11.98"); /* a quarter of the span from 12 mA is 16.00 */
	expect_status(b->f, 422);
	assert_string_equal(text_at(a, "/errors/0/pointer"), "/rising");
	take(b, "2", "12.02", "11.98");
	expect_status(b->f, 404);
	take(b, "x", "12.02", "11.98");
	expect_status(b->f, 404);
	callf(b->f, "PUT", path_of("test-records", b->record, "/dead-band/0"),
	      "{\"run\": \"as_left\", \"rising\": 5.61, \"falling\": 5.60}");
	expect_status(b->f, 409);
	a = call(b->f, "GET", path_of("test-records", b->record, ""), NULL);
	assert_true(cJSON_IsNull(at(a, "/runs/0/dead_band/percent_of_input_span")));
}

static void a_limit_below_nothing_is_refused(void **state)
{
	struct bench *b = *state;
	cJSON *a = write_procedure(b, ", \"limit\": -1");

	expect_status(b->f, 422);
	assert_string_equal(text_at(a, "/errors/0/pointer"), "/document/steps/0/dead_band/limit");
}

static cJSON *sign(struct bench *b)
{
	char hash[80];
	cJSON *a = callf(b->f, "PUT", path_of("test-records", b->record, "/adjustment"), "{\"made\": false}");

	expect_status(b->f, 200);
	snprintf(hash, sizeof hash, "%s", text_at(a, "/content_sha256"));
	return callf(b->f, "POST", path_of("test-records", b->record, "/sign"),
		     "{\"meaning\": \"performed\", \"password\": \"" FIXTURE_PASSWORD "\", \"content_sha256\": \"%s\"}",
		     hash);
}

static void too_wide_a_dead_band_opens_a_finding_that_says_so(void **state)
{
	struct bench *b = *state;
	cJSON *a;

	open_with(b, ", \"limit\": 0.25");
	read_points(b);
	take(b, "0", "5.60", "5.60");
	take(b, "1", "12.02", "11.97");
	a = sign(b);
	expect_status(b->f, 200);
	assert_string_equal(
		text_at(a, "/finding/sentence"),
		"FV-902 was found outside its limits: dead band 0.31 % of the input span at 12.00 mA, at most "
		"0.25 % allowed.");
}

/* The hash is what is signed: an other dead band must be an other hash; and "no adjustment" must be said again. */
static void a_dead_band_taken_again_changes_what_is_signed(void **state)
{
	struct bench *b = *state;
	char hash[80];
	cJSON *a;

	open_with(b, "");
	read_points(b);
	take(b, "0", "5.60", "5.60");
	take(b, "1", "12.02", "11.98");
	a = callf(b->f, "PUT", path_of("test-records", b->record, "/adjustment"), "{\"made\": false}");
	assert_string_equal(text_at(a, "/phase"), "sign");
	snprintf(hash, sizeof hash, "%s", text_at(a, "/content_sha256"));
	a = take(b, "1", "12.02", "11.97");
	assert_string_equal(text_at(a, "/phase"), "adjust");
	a = callf(b->f, "PUT", path_of("test-records", b->record, "/adjustment"), "{\"made\": false}");
	assert_string_not_equal(text_at(a, "/content_sha256"), hash);
	b->f->as = LEAD;
	a = call(b->f, "GET", "/api/v1/ledger?thing=test_record&field=falling", NULL);
	assert_string_equal(text_at(a, "/items/0/before/falling"), "11.98");
	assert_string_equal(text_at(a, "/items/0/after/falling"), "11.97");
}

static cJSON *take_in(struct bench *b, const char *run, const char *place, const char *rising, const char *falling)
{
	char end_of_path[40];

	snprintf(end_of_path, sizeof end_of_path, "/dead-band/%s", place);
	return callf(b->f, "PUT", path_of("test-records", b->record, end_of_path),
		     "{\"run\": \"%s\", \"rising\": %s, \"falling\": %s}", run, rising, falling);
}

static void each_run_has_a_dead_band_of_its_own(void **state)
{
	struct bench *b = *state;
	cJSON *a;

	open_with(b, ", \"limit\": 0.25");
	read_points(b);
	take(b, "0", "5.60", "5.60");
	take(b, "1", "12.02", "11.97");
	callf(b->f, "PUT", path_of("test-records", b->record, "/adjustment"),
	      "{\"made\": true, \"text\": \"Packing eased\"}");
	expect_status(b->f, 200);
	take_in(b, "as_found", "1", "12.02", "11.98");
	expect_status(b->f, 409);
	for (int i = 0; i < 3; i++) {
		callf(b->f, "POST", path_of("test-records", b->record, "/readings"),
		      "{\"run\": \"as_left\", \"point\": %d, \"observed\": \"%s\"}", i, i == 1 ? "90.0" : "10.0");
		expect_status(b->f, 201);
	}
	take_in(b, "as_left", "0", "5.61", "5.60");
	a = take_in(b, "as_left", "1", "12.01", "12.00");
	expect_status(b->f, 200);
	assert_string_equal(text_at(a, "/runs/0/summary/verdict"), "fail");
	assert_string_equal(text_at(a, "/runs/1/summary/verdict"), "pass");
	assert_string_equal(text_at(a, "/runs/0/dead_band/shown"), "0.31 %");
	assert_string_equal(text_at(a, "/runs/1/dead_band/shown"), "0.06 %"); /* 0.01 / 16 */
	assert_string_equal(text_at(a, "/phase"), "sign");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
	const struct CMUnitTest tests[] = {
		TEST(a_run_with_dead_band_is_complete_when_every_place_is_taken),
		TEST(a_dead_band_on_its_limit_is_inside_and_one_count_more_fails_the_run),
		TEST(hysteresis_without_the_dead_band_is_told),
		TEST(a_dead_band_out_of_turn_or_out_of_place_is_refused),
		TEST(a_limit_below_nothing_is_refused),
		TEST(too_wide_a_dead_band_opens_a_finding_that_says_so),
		TEST(a_dead_band_taken_again_changes_what_is_signed),
		TEST(each_run_has_a_dead_band_of_its_own),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
