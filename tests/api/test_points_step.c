/* What a points step can ask for: patterns, several cycles, points drawn in to a signal, and where the error is taken. */
#include <stdio.h>
#include "register.h"

/* printf formats: percent, pattern, cycles, more members. */
#define POINTS_DOCUMENT                                                                                                     \
	"{\"title\": \"Travel\", \"purpose\": \"\", \"kinds\": [\"control_valve\"], \"preparation\": [], \"cautions\": []," \
	" \"needs\": [], \"steps\": [{\"kind\": \"points\", \"title\": \"Travel\", \"percent\": [%s], \"pattern\": \"%s\"," \
	" \"cycles\": %d, \"settle_s\": 0%s}],"                                                                             \
	" \"tolerance\": {\"as_found\": {\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": 1}], \"join\": \"sum\"},"    \
	" \"adjust\": null, \"as_left\": null}, \"decision\": {\"rule\": \"simple\"}, \"environment\": false,"              \
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
	add_valve(b->f, "FV-901", b->area, b->valve);
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

/* Writes, approves and opens a test by such a procedure; the answer is the record. */
static cJSON *open_with(struct bench *b, const char *percent, const char *pattern, int cycles, const char *more)
{
	char text[1400], hash[80];
	cJSON *a;

	b->f->as = LEAD;
	snprintf(text, sizeof text, POINTS_DOCUMENT, percent, pattern, cycles, more);
	a = callf(b->f, "POST", "/api/v1/procedures", "{\"code\": \"CV-9\", \"document\": %s}", text);
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
	return call(b->f, "PUT", path_of("test-records", b->record, "/cautions/hazard.1"), "{}");
}

static cJSON *reading(struct bench *b, int point, const char *observed)
{
	return callf(b->f, "POST", path_of("test-records", b->record, "/readings"),
		     "{\"run\": \"as_found\", \"point\": %d, \"observed\": \"%s\"}", point, observed);
}

static void a_pattern_may_begin_at_the_top(void **state)
{
	/* 90, 50, 10, 50, 90 % of 4 to 20 mA */
	static const double sets[] = {18.4, 12, 5.6, 12, 18.4};
	static const char *const directions[] = {"falling", "falling", "falling", "rising", "rising"};
	cJSON *a = open_with(*state, "10, 50, 90", "down_up", 1, "");
	char pointer[60];

	assert_int_equal(cJSON_GetArraySize(at(a, "/runs/0/points")), 5);
	for (int i = 0; i < 5; i++) {
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/set", i);
		assert_near(number_at(a, pointer), sets[i], 1e-9);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/direction", i);
		assert_string_equal(text_at(a, pointer), directions[i]);
	}
	assert_int_equal(cJSON_GetArraySize(at(a, "/runs/0/averages")), 0);
}

/* 4 to 20 mA over 0 to 100 %: 105 % is 20.8 mA; NE 43 lets the signal measure up to 20.5 mA. Error at the set point: applied 12.08
 * mA gives 50.5 % by the characteristic, and the reading 50.5 % is right on there, but 0.5 % of span high at 12 mA. */
static void points_may_be_drawn_in_and_the_error_taken_at_the_set_point(void **state)
{
	struct bench *b = *state;
	cJSON *a;

	a = open_with(b, "-5, 50, 105", "up", 1, ", \"within_signal\": true, \"error_at\": \"set\"");
	assert_near(number_at(a, "/runs/0/points/0/set"), 3.8, 1e-12);
	assert_near(number_at(a, "/runs/0/points/2/set"), 20.5, 1e-12);
	reading(b, 0, "-1.25");
	a = callf(b->f, "POST", path_of("test-records", b->record, "/readings"),
		  "{\"run\": \"as_found\", \"point\": 1, \"applied\": \"12.08\", \"observed\": \"50.50\"}");
	expect_status(b->f, 201);
	assert_near(number_at(a, "/runs/0/points/1/reading/error_percent"), 0.5, 1e-9);
	assert_near(number_at(a, "/runs/0/points/1/reading/expected"), 50, 1e-9);
}

/*
 * At 0 %: rising 0.2 and 0.4, mean 0.3, range 0.2; falling 0.8 and 0.6, mean 0.7, range 0.2: hysteresis 0.4, mean of all 0.5. At 100
 * %, which up_all reads in both directions: 0.1 rising and -0.1 falling in either cycle.
 */
static void several_cycles_are_averaged_point_by_point(void **state)
{
	static const char *const observed[] = {"0.2", "100.1", "99.9", "0.8", "0.4", "100.1", "99.9", "0.6"};
	struct bench *b = *state;
	cJSON *a = open_with(b, "0, 100", "up_all", 2, "");

	assert_int_equal(cJSON_GetArraySize(at(a, "/runs/0/points")), 8);
	assert_near(number_at(a, "/runs/0/points/4/cycle"), 2, 0);
	for (int i = 0; i < 8; i++) {
		a = reading(b, i, observed[i]);
		expect_status(b->f, 201);
	}
	assert_int_equal(cJSON_GetArraySize(at(a, "/runs/0/averages")), 2);
	assert_string_equal(text_at(a, "/runs/0/averages/0/shown_set"), "4.00 mA");
	assert_near(number_at(a, "/runs/0/averages/0/readings"), 4, 0);
	assert_string_equal(text_at(a, "/runs/0/averages/0/shown_rising"), "+0.3 %");
	assert_string_equal(text_at(a, "/runs/0/averages/0/shown_falling"), "+0.7 %");
	assert_string_equal(text_at(a, "/runs/0/averages/0/shown_mean"), "+0.5 %");
	assert_string_equal(text_at(a, "/runs/0/averages/0/shown_hysteresis"), "0.4 %");
	assert_string_equal(text_at(a, "/runs/0/averages/0/shown_repeatability"), "0.2 %");
	assert_string_equal(text_at(a, "/runs/0/averages/1/shown_rising"), "+0.1 %");
	assert_string_equal(text_at(a, "/runs/0/averages/1/shown_falling"), "\u22120.1 %");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
	const struct CMUnitTest tests[] = {
		TEST(a_pattern_may_begin_at_the_top),
		TEST(points_may_be_drawn_in_and_the_error_taken_at_the_set_point),
		TEST(several_cycles_are_averaged_point_by_point),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
