/* Compute documents: what goes in as JSON, what comes out, read back by another JSON library. */
#include "api/compute.h"
#include "support/check.h"

#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MINUS "\xe2\x88\x92"

static char *file_text(const char *name)
{
	static char text[16384];
	char path[512];
	FILE *f;
	size_t n;

	snprintf(path, sizeof path, "%s/tests/data/compute/%s", SOURCE_DIR, name);
	f = fopen(path, "r");
	if (!f)
		fail_msg("%s cannot be read", path);
	n = fread(text, 1, sizeof text - 1, f);
	fclose(f);
	text[n] = '\0';
	return text;
}

static enum status run_text(const char *kind, const char *text, cJSON **out, struct err *err)
{
	json_error_t fault;
	json_t *document = json_loads(text, 0, &fault), *result = NULL;
	enum status rc;
	char *dumped;

	if (!document)
		fail_msg("the test's own JSON is wrong at line %d: %s", fault.line, fault.text);
	*err = (struct err){0};
	rc = compute_run(kind, document, &result, err);
	*out = NULL;
	if (!rc) {
		dumped = json_dumps(result, JSON_REAL_PRECISION(17));
		assert_non_null(dumped);
		*out = cJSON_Parse(dumped);
		assert_non_null(*out);
		free(dumped);
	} else {
		assert_null(result);
	}
	json_decref(result);
	json_decref(document);
	return rc;
}

static cJSON *computed(const char *kind, const char *text)
{
	struct err err;
	cJSON *out;

	if (run_text(kind, text, &out, &err))
		fail_msg("%s: %s", err.field, err.message);
	return out;
}

/* "summary/hysteresis/value", "points/3/verdict" */
static const cJSON *member(const cJSON *json, const char *path)
{
	char step[64];

	while (json && *path) {
		size_t n = strcspn(path, "/");

		snprintf(step, sizeof step, "%.*s", (int)n, path);
		json = cJSON_IsArray(json) ? cJSON_GetArrayItem(json, atoi(step)) :
					     cJSON_GetObjectItemCaseSensitive(json, step);
		path += n + (path[n] == '/');
	}
	if (!json)
		fail_msg("the answer lacks a member of that path");
	return json;
}

static double number_at(const cJSON *json, const char *path)
{
	const cJSON *v = member(json, path);

	assert_true(cJSON_IsNumber(v));
	return v->valuedouble;
}

static const char *text_at(const cJSON *json, const char *path)
{
	const cJSON *v = member(json, path);

	assert_true(cJSON_IsString(v));
	return v->valuestring;
}

/* Worked by hand in test_evaluation.c. */
static void evaluation_judges_points_and_sums_up(void **state)
{
	cJSON *out = computed("evaluation", file_text("evaluation.json"));

	(void)state;
	assert_int_equal(cJSON_GetArraySize(member(out, "points")), 9);
	assert_near(number_at(out, "points/5/error"), 3.1, 1e-12);
	assert_near(number_at(out, "points/5/error_percent_of_span"), 3.1, 1e-12);
	assert_near(number_at(out, "points/5/expected"), 75, 1e-12);
	assert_near(number_at(out, "points/5/limit_high"), 3, 1e-12);
	assert_near(number_at(out, "points/5/limit_low"), -3, 1e-12);
	assert_string_equal(text_at(out, "points/5/verdict"), "fail");
	assert_string_equal(text_at(out, "points/5/direction"), "falling");
	assert_string_equal(text_at(out, "points/4/verdict"), "pass");
	assert_string_equal(text_at(out, "summary/verdict"), "fail");
	assert_near(number_at(out, "summary/judged"), 9, 0);
	assert_near(number_at(out, "summary/failed"), 1, 0);
	assert_near(number_at(out, "summary/max_error/percent_of_span"), 3.1, 1e-12);
	assert_near(number_at(out, "summary/zero_error/value"), 0.8, 1e-12);
	assert_near(number_at(out, "summary/span_error/value"), 1.8, 1e-12);
	assert_near(number_at(out, "summary/hysteresis/value"), 1.3, 1e-12);
	assert_near(number_at(out, "summary/linearity/independent/value"), 0.3, 1e-12);
	assert_near(number_at(out, "summary/linearity/terminal/value"), 0.6, 1e-12);
	assert_near(number_at(out, "summary/linearity/zero/value"), 0.4, 1e-12);
	assert_near(number_at(out, "summary/linearity/least_squares/value"), 0.32, 1e-12);
	assert_true(cJSON_IsNull(member(out, "summary/repeatability")));
	cJSON_Delete(out);
}

static void numbers_come_with_the_text_people_read(void **state)
{
	cJSON *out = computed("evaluation", file_text("evaluation.json"));

	(void)state;
	assert_string_equal(text_at(out, "points/5/shown/error"), "+3.1 %");
	assert_string_equal(text_at(out, "points/5/shown/applied"), "16.00 mA");
	assert_string_equal(text_at(out, "points/5/shown/limit_low"), MINUS "3.0 %");
	assert_string_equal(text_at(out, "points/5/shown/limits_percent"), "±3.0 %");
	assert_true(cJSON_IsNull(member(out, "points/5/shown/uncertainty")));
	assert_string_equal(text_at(out, "points/5/sentence"),
			    "16.00 mA → 78.1 %: 3.1 % of span high, limit ±3.0 %: outside");
	assert_string_equal(text_at(out, "summary/hysteresis/shown"), "1.3 %");
	assert_string_equal(text_at(out, "summary/hysteresis/shown_percent"), "1.3 %");
	cJSON_Delete(out);
}

static void diagnosis_and_advice_belong_to_the_summary(void **state)
{
	cJSON *out = computed("evaluation", file_text("evaluation.json"));
	double sum = 0;

	(void)state;
	assert_int_equal(cJSON_GetArraySize(member(out, "summary/diagnosis")), 5);
	for (int i = 0; i < 5; i++)
		sum += cJSON_GetArrayItem(member(out, "summary/diagnosis"), i)->child->next->valuedouble;
	assert_near(sum, 1, 1e-12);
	assert_true(number_at(out, "summary/diagnosis/0/share") >= number_at(out, "summary/diagnosis/1/share"));
	assert_true(cJSON_IsTrue(member(out, "summary/adjustment/needed")));
	assert_true(cJSON_IsTrue(member(out, "summary/adjustment/trim_helps")));
	assert_true(number_at(out, "summary/adjustment/zero") + number_at(out, "summary/adjustment/span") < 0);
	assert_string_equal(text_at(out, "summary/advice"), text_at(out, "summary/adjustment/sentence"));
	assert_true(strlen(text_at(out, "summary/sentence")) > 20);
	cJSON_Delete(out);
}

/* At 90 mbar 13.6 mA; limits +0.05, -0.03; w = 2 * 0.005: 0.045 is conditional; 10.4 mA at 40 mbar, -0.025 too. */
static void guarded_rule_and_uneven_limits_are_read(void **state)
{
	cJSON *out = computed("evaluation", file_text("evaluation_guarded.json"));

	(void)state;
	assert_near(number_at(out, "points/0/expected"), 13.6, 1e-12);
	assert_near(number_at(out, "points/0/limit_high"), 0.05, 1e-12);
	assert_near(number_at(out, "points/0/acceptance_high"), 0.04, 1e-12);
	assert_near(number_at(out, "points/0/limit_low"), -0.03, 1e-12);
	assert_string_equal(text_at(out, "points/0/verdict"), "conditional_pass");
	assert_string_equal(text_at(out, "points/1/verdict"), "conditional_pass");
	assert_string_equal(text_at(out, "points/0/shown/uncertainty"), "0.010 mA");
	assert_string_equal(text_at(out, "summary/verdict"), "conditional_pass");
	cJSON_Delete(out);
}

static void characteristic_goes_both_ways(void **state)
{
	cJSON *out = computed(
		"characteristic",
		"{\"characteristic\":{\"kind\":\"rtd\",\"r0\":100},\"input\":{\"low\":-50,\"high\":150,"
		"\"unit\":\"°C\"},\"output\":{\"low\":80,\"high\":160,\"unit\":\"ohm\"},\"direction\":\"forward\",\"values\":[20,-10]}");

	(void)state; /* IEC 60751 table: 107.79 and 96.09 ohm */
	assert_near(number_at(out, "values/0"), 107.79, 0.005);
	assert_near(number_at(out, "values/1"), 96.09, 0.005);
	cJSON_Delete(out);
	out = computed(
		"characteristic",
		"{\"characteristic\":{\"kind\":\"thermocouple\",\"type\":\"K\"},\"input\":{\"low\":0,\"high\":1000,"
		"\"unit\":\"°C\"},\"output\":{\"low\":0,\"high\":41.276,\"unit\":\"mV\"},\"direction\":\"inverse\",\"values\":[4.096]}");
	assert_near(number_at(out, "values/0"), 100, 0.02); /* ITS-90 table, 4.096 mV */
	cJSON_Delete(out);
}

static void conversion_keeps_the_quantity(void **state)
{
	cJSON *out = computed("conversion", "{\"value\":2.5,\"from\":\"bar\",\"to\":\"psi\"}");

	(void)state; /* 250000 / 6894.757293168362 */
	assert_near(number_at(out, "value"), 36.2594345, 1e-6);
	cJSON_Delete(out);
}

static void fit_answers_with_deviations(void **state)
{
	cJSON *out = computed("fit", "{\"x\":[1,2,3,4],\"y\":[2.1,3.9,6.2,7.8],\"order\":1}");

	(void)state; /* by hand in test_fit.c */
	assert_near(number_at(out, "coefficients/0"), 0.15, 1e-12);
	assert_near(number_at(out, "coefficients/1"), 1.94, 1e-12);
	assert_near(number_at(out, "residual_sd"), sqrt(0.041), 1e-12);
	assert_near(number_at(out, "standard_deviations/1"), sqrt(0.041 / 5), 1e-12);
	cJSON_Delete(out);
	out = computed("fit", "{\"x\":[1,2],\"y\":[2,7],\"order\":1,\"through_zero\":false}");
	assert_true(cJSON_IsNull(member(out, "residual_sd")));
	cJSON_Delete(out);
}

/* The sound evaluation with further members before its readings. */
static const char *evaluation_with(const char *members)
{
	static char text[32768];
	const char *sound = file_text("evaluation.json"), *place = strstr(sound, "\"readings\"");

	assert_non_null(place);
	snprintf(text, sizeof text, "%.*s%s, %s", (int)(place - sound), sound, members, place);
	return text;
}

#define PERCENT_RULE(plus) "{\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": " plus "}], \"join\": \"sum\"}"

/* Errors 0.4 1.1 1.7 2.2 2.6 3.1 2.9 2.4 1.2: beyond 2 % five, beyond 1 % eight, beyond 3 % one. */
static void other_limits_are_asked_beside_the_tolerance(void **state)
{
	cJSON *out = computed("evaluation", evaluation_with("\"tolerance_adjust\": " PERCENT_RULE(
						    "2") ", \"tolerance_as_left\": " PERCENT_RULE("1")));

	(void)state;
	assert_near(number_at(out, "summary/outside_adjust"), 5, 0);
	assert_near(number_at(out, "summary/outside_as_left"), 8, 0);
	assert_near(number_at(out, "summary/failed"), 1, 0);
	assert_true(cJSON_IsTrue(member(out, "points/2/inside_adjust")));
	assert_true(cJSON_IsFalse(member(out, "points/2/inside_as_left")));
	cJSON_Delete(out);
	out = computed("evaluation", file_text("evaluation.json"));
	assert_near(number_at(out, "summary/outside_adjust"), 1, 0);
	cJSON_Delete(out);
}

static void no_adjustment_inside_the_adjust_limits(void **state)
{
	cJSON *out = computed("evaluation", evaluation_with("\"tolerance_adjust\": " PERCENT_RULE("3.1")));

	(void)state;
	assert_true(cJSON_IsFalse(member(out, "summary/adjustment/needed")));
	assert_string_equal(text_at(out, "summary/advice"), "No adjustment: every error is inside the adjust limits.");
	cJSON_Delete(out);
}

/* Whatever the trim is: % of travel is % of span here, and 16 mA at the input are 100 % of it. */
static void trim_is_said_in_three_units(void **state)
{
	cJSON *out = computed("evaluation", file_text("evaluation.json"));
	double zero = number_at(out, "summary/adjustment/zero"), span = number_at(out, "summary/adjustment/span");

	(void)state;
	assert_true(zero != 0 || span != 0);
	assert_near(number_at(out, "summary/adjustment/zero_percent"), zero, 1e-12); /* of 0 to 100 % */
	assert_near(number_at(out, "summary/adjustment/zero_ma"), zero * 0.16, 1e-12);
	assert_near(number_at(out, "summary/adjustment/span_ma"), span * 0.16, 1e-12);
	assert_true(number_at(out, "summary/adjustment/predicted_max_error") < 3);
	cJSON_Delete(out);
}

static void averages_and_dead_band_belong_to_the_summary(void **state)
{
	cJSON *out = computed("evaluation",
			      evaluation_with("\"dead_band\": [{\"rising\": 12.07, \"falling\": 11.96}]"));

	(void)state; /* 0.11 of 16 mA; hysteresis 1.3 % at 8 mA */
	assert_near(number_at(out, "summary/dead_band/value"), 0.11, 1e-12);
	assert_near(number_at(out, "summary/dead_band/percent_of_input_span"), 0.6875, 1e-12);
	assert_near(number_at(out, "summary/hysteresis_alone/percent_of_span"), 0.6125, 1e-12);
	assert_int_equal(cJSON_GetArraySize(member(out, "summary/averages")), 5);
	assert_near(number_at(out, "summary/averages/1/rising"), 1.1, 1e-12);
	assert_near(number_at(out, "summary/averages/1/falling"), 2.4, 1e-12);
	assert_near(number_at(out, "summary/averages/1/hysteresis"), 1.3, 1e-12);
	assert_true(cJSON_IsNull(member(out, "summary/averages/4/falling")));
	assert_near(number_at(out, "summary/max_mean_error/value"), 3.1, 1e-12);
	cJSON_Delete(out);
	out = computed("evaluation", file_text("evaluation.json"));
	assert_true(cJSON_IsNull(member(out, "summary/dead_band")));
	cJSON_Delete(out);
}

/* Applied 0.01 mA above what was set is 0.0625 % of travel. */
static void error_can_be_asked_at_the_set_point(void **state)
{
	static char text[32768];
	const char *sound = evaluation_with("\"error_at\": \"set\""), *place = strstr(sound, "\"applied\": \"8.00\"");
	cJSON *out;

	(void)state;
	snprintf(text, sizeof text, "%.*s\"applied\": \"8.01\"%s", (int)(place - sound), sound,
		 place + strlen("\"applied\": \"8.00\""));
	out = computed("evaluation", text);
	assert_near(number_at(out, "points/1/error"), 1.1, 1e-12);
	cJSON_Delete(out);
}

/* 0.1 / sqrt(12) = 0.0288675; with u = 0.05: 0.0577350, U = 0.11547, shown as 0.12. */
static void resolution_widens_the_uncertainty(void **state)
{
	cJSON *out = computed("evaluation", evaluation_with("\"standard_uncertainty\": 0.05, \"resolution\": 0.1"));

	(void)state;
	assert_string_equal(text_at(out, "points/0/shown/uncertainty"), "0.12 %");
	cJSON_Delete(out);
}

static const char *switch_document(const char *extra)
{
	static char text[4096];

	snprintf(
		text, sizeof text,
		"{\"input\": {\"low\": 0, \"high\": 10, \"unit\": \"bar\"}, \"tolerance\": " PERCENT_RULE(
			"1") ", \"decision\": {\"rule\": \"simple\"}, \"switch\": {\"set_point\": 6, \"reset_point\": 5.5, \"acts_on\": \"rising\", "
			     "\"dead_band\": {\"low\": 0.3, \"high\": 0.7}, \"actuations\": [{\"set\": \"6.05\", \"reset\": \"5.52\"}, "
			     "{\"set\": \"6.08\", \"reset\": \"5.55\"}, {\"set\": \"6.02\", \"reset\": \"5.48\"}]%s}}",
		extra);
	return text;
}

/* Worked by hand in test_switch.c. */
static void evaluation_judges_a_switch(void **state)
{
	cJSON *out = computed("evaluation", switch_document(""));

	(void)state;
	assert_string_equal(text_at(out, "summary/verdict"), "pass");
	assert_string_equal(text_at(out, "summary/unit"), "bar");
	assert_near(number_at(out, "summary/set_error/value"), 0.05, 1e-12);
	assert_near(number_at(out, "summary/set_error/percent_of_span"), 0.5, 1e-12);
	assert_near(number_at(out, "summary/set_repeatability/value"), 0.06, 1e-12);
	assert_near(number_at(out, "actuations/1/dead_band"), 0.53, 1e-12);
	assert_string_equal(text_at(out, "actuations/2/reset_verdict"), "pass");
	cJSON_Delete(out);
}

/* ---- refusals ---- */

static void refused(const char *kind, const char *text, const char *pointer)
{
	struct err err;
	cJSON *out;
	enum status rc = run_text(kind, text, &out, &err);

	cJSON_Delete(out);
	if (rc != INVALID || strcmp(err.field, pointer))
		fail_msg("%s: expected a refusal at %s, got status %d at \"%s\" (%s)", kind, pointer, (int)rc,
			 err.field, err.message);
	assert_true(strlen(err.message) > 5);
}

static void refused_saying(const char *kind, const char *text, const char *pointer, const char *sentence)
{
	struct err err;
	cJSON *out;

	assert_int_equal(run_text(kind, text, &out, &err), INVALID);
	assert_string_equal(err.field, pointer);
	assert_string_equal(err.message, sentence);
}

/* A characteristic document over 0..1 bar and 0..100 %, or what the characteristic asks for. */
static const char *way(const char *characteristic, const char *units, const char *direction, const char *values)
{
	static char text[2000];
	char in[16], out[16];

	assert_int_equal(sscanf(units, "%15s %15s", in, out), 2);
	snprintf(
		text, sizeof text,
		"{\"characteristic\":%s,\"input\":{\"low\":0,\"high\":1,\"unit\":\"%s\"},\"output\":{\"low\":0,\"high\":100,"
		"\"unit\":\"%s\"},\"direction\":\"%s\",\"values\":[%s]}",
		characteristic, in, out, direction, values);
	return text;
}

static double one_way(const char *characteristic, const char *units, const char *direction, const char *value)
{
	cJSON *out = computed("characteristic", way(characteristic, units, direction, value));
	double v = number_at(out, "values/0");

	cJSON_Delete(out);
	return v;
}

#define VALVE  "{\"kind\":\"equal_percentage\",\"rangeability\":50}"
#define CUT    "{\"kind\":\"square_root\",\"cutoff\":5}"
#define TANK   "{\"kind\":\"table\",\"points\":[[0,0],[0.25,10],[1,100]]}"
#define BEND   "{\"kind\":\"polynomial\",\"coefficients\":[0,1,-0.5],\"validity\":{\"low\":0,\"high\":2}}"
#define OWN    "{\"kind\":\"callendar_van_dusen\",\"r0\":99.96,\"a\":3.92e-3,\"b\":-6.2e-7,\"c\":-3.5e-12}"
#define TYPE_B "{\"kind\":\"thermocouple\",\"type\":\"B\"}"

/* By hand, or worked out in test_characteristic_kinds.c. */
static void every_characteristic_goes_both_ways(void **state)
{
	(void)state;
	assert_near(one_way(VALVE, "bar %", "forward", "0.5"), 14.14213562373095, 1e-12);
	assert_near(one_way(VALVE, "bar %", "inverse", "14.14213562373095"), 0.5, 1e-12);
	assert_near(one_way(CUT, "bar %", "forward", "0.0024"), 0, 0);
	assert_near(one_way(CUT, "bar %", "forward", "0.04"), 20, 1e-12);
	assert_near(one_way(TANK, "m m3", "forward", "0.5"), 40, 1e-12); /* 10 + 90 / 3 */
	assert_near(one_way(TANK, "m m3", "inverse", "40"), 0.5, 1e-12);
	assert_near(one_way(BEND, "V %", "forward", "0.4"), 0.32, 1e-12);
	assert_near(one_way(OWN, "°C ohm", "forward", "150"), 157.342038, 1e-9);
	assert_near(one_way(TYPE_B, "°C mV", "inverse", "4.834"), 1000, 0.06); /* ITS-90 table, 1000 degC, 9 uV/degC */
}

static void limits_of_a_characteristic_are_named(void **state)
{
	(void)state;
	refused_saying("characteristic", way(TYPE_B, "°C mV", "forward", "20, 1821"), "/values/1",
		       "thermocouple type B (IEC 60584-1) reaches from 0 °C to 1820 °C");
	refused_saying("characteristic", way(TYPE_B, "°C mV", "inverse", "-0.001"), "/values/0",
		       "thermocouple type B (IEC 60584-1) reaches from 0 mV to 13.8203 mV");
	refused_saying("characteristic", way(TANK, "m m3", "forward", "1.2"), "/values/0",
		       "table of 3 points, straight between them reaches from 0 m to 1 m");
	refused_saying("characteristic", way(BEND, "V %", "inverse", "0.3"), "/values/0",
		       "polynomial of order 2 turns, so an output does not tell the input");
	refused_saying(
		"characteristic", way(CUT, "bar %", "inverse", "3"), "/values/0",
		"square root, cut-off 5 % of span reaches from 0 %, but gives nothing between there and the cut-off");
	refused_saying("characteristic",
		       way("{\"kind\":\"table\",\"points\":[[0,0],[0.5,50]]}", "m m3", "forward", "0.2"), "/input/high",
		       "table of 2 points, straight between them reaches from 0 m to 0.5 m");
}

static void members_of_a_characteristic_are_held_to_their_rules(void **state)
{
	(void)state;
	refused("characteristic", way("{\"kind\":\"table\",\"points\":[[0,0],[0,50]]}", "m m3", "forward", "0"),
		"/characteristic/points/1");
	refused("characteristic", way("{\"kind\":\"table\",\"points\":[[0,0],[1]]}", "m m3", "forward", "0"),
		"/characteristic/points/1");
	refused("characteristic", way("{\"kind\":\"table\",\"points\":[[0,0]]}", "m m3", "forward", "0"),
		"/characteristic/points");
	refused("characteristic", way("{\"kind\":\"equal_percentage\",\"rangeability\":1}", "mA %", "forward", "0"),
		"/characteristic/rangeability");
	refused("characteristic", way("{\"kind\":\"polynomial\",\"coefficients\":[0,1]}", "mA %", "forward", "0"),
		"/characteristic/validity");
	refused("characteristic",
		way("{\"kind\":\"callendar_van_dusen\",\"r0\":100,\"a\":3.9e-3,\"b\":-3e-6,\"c\":0}", "°C ohm",
		    "forward", "0"),
		"/characteristic/a");
	refused("characteristic", way(TYPE_B, "°C ohm", "forward", "0"), "/output/unit");
}

/* The sound document with one thing in it replaced. */
static void refused_with(const char *was, const char *is, const char *pointer)
{
	static char text[32768];
	const char *sound = file_text("evaluation.json"), *place = strstr(sound, was);

	if (!place)
		fail_msg("%s does not stand in the document", was);
	snprintf(text, sizeof text, "%.*s%s%s", (int)(place - sound), sound, is, place + strlen(was));
	refused("evaluation", text, pointer);
}

static void evaluation_names_the_member_at_fault(void **state)
{
	(void)state;
	refused_with("\"high\": 20", "\"high\": 4", "/input/high");
	refused_with("\"high\": 100", "\"high\": 0", "/output/high");
	refused_with("\"high\": 100", "\"high\": 1e-13", "/output/high");
	refused_with("\"low\": 4, \"high\": 20", "\"low\": 20.00000001, \"high\": 20", "/input/high");
	refused_with("\"low\": 4", "\"low\": \"4\"", "/input/low");
	refused_with("\"unit\": \"mA\"", "\"unit\": \"mAmp\"", "/input/unit");
	refused_with("\"kind\": \"linear\"", "\"kind\": \"cubic\"", "/characteristic/kind");
	refused_with("\"kind\": \"linear\"", "\"kind\": \"linear\", \"r0\": 100", "/characteristic/r0");
	refused_with("\"kind\": \"linear\"", "\"kind\": \"rtd\", \"r0\": 100", "/input/unit");
	refused_with("\"plus\": 3", "\"plus\": -3", "/tolerance/terms/0/plus");
	refused_with("\"plus\": 3", "\"plus\": 3, \"minus\": 1e300", "/tolerance/terms/0/minus");
	refused_with("\"kind\": \"percent_of_span\"", "\"kind\": \"percent\"", "/tolerance/terms/0/kind");
	refused_with("\"join\": \"sum\"", "\"join\": \"product\"", "/tolerance/join");
	refused_with("\"rule\": \"simple\"", "\"rule\": \"strict\"", "/decision/rule");
	refused_with("\"rule\": \"simple\"", "\"rule\": \"guarded\"", "/standard_uncertainty");
	refused_with("\"rule\": \"simple\"", "\"rule\": \"guarded\", \"guard_factor\": 3.5", "/decision/guard_factor");
	refused_with("\"observed\": \"26.1\"", "\"observed\": 1e308", "/readings/1/observed");
	refused_with("\"observed\": \"26.1\"", "\"observed\": \"26.1x\"", "/readings/1/observed");
	refused_with("\"observed\": \"26.1\"", "\"observed\": \"\"", "/readings/1/observed");
	refused_with("\"observed\": \"26.1\", ", "", "/readings/1/observed");
	refused_with("\"direction\": \"falling\"", "\"direction\": \"down\"", "/readings/5/direction");
	refused_with("\"cycle\": 1", "\"cycle\": 0", "/readings/0/cycle");
	refused_with("\"cycle\": 1", "\"cycle\": 1, \"note\": \"x\"", "/readings/0/note");
	refused_with("\"readings\"", "\"remark\": 1, \"readings\"", "/remark");
	refused("evaluation", "[]", "");
	refused("evaluation", "{}", "/input");
}

static void further_members_are_held_to_their_rules(void **state)
{
	(void)state;
	refused("evaluation", evaluation_with("\"error_at\": \"left\""), "/error_at");
	refused("evaluation", evaluation_with("\"resolution\": -1"), "/resolution");
	refused("evaluation", evaluation_with("\"dead_band\": [{\"rising\": 1}]"), "/dead_band/0/falling");
	refused("evaluation", evaluation_with("\"tolerance_adjust\": {\"terms\": [], \"join\": \"sum\"}"),
		"/tolerance_adjust/terms");
	refused("evaluation", switch_document(", \"note\": 1"), "/switch/note");
	refused("evaluation", switch_document("}, \"readings\": {"), "/readings");
	refused("evaluation",
		"{\"input\": {\"low\": 0, \"high\": 10, \"unit\": \"bar\"}, \"tolerance\": " PERCENT_RULE(
			"1") ", \"decision\": {\"rule\": \"simple\"}, \"switch\": {\"set_point\": 6, \"acts_on\": \"up\", \"actuations\": [{\"set\": 6}]}}",
		"/switch/acts_on");
}

static void more_readings_than_a_run_may_have_are_refused(void **state)
{
	static char text[200000];
	size_t at;

	(void)state;
	at = (size_t)snprintf(text, sizeof text, "%s", file_text("evaluation.json"));
	at = (size_t)(strstr(text, "\"readings\"") - text);
	at += (size_t)sprintf(text + at, "\"readings\": [");
	for (int i = 0; i < READINGS_MAX + 1; i++)
		at += (size_t)sprintf(
			text + at,
			"%s{\"set\": 12, \"applied\": 12, \"observed\": 50, \"direction\": \"rising\", \"cycle\": 1}",
			i ? "," : "");
	sprintf(text + at, "]}");
	refused("evaluation", text, "/readings");
}

static void temperature_beyond_the_reference_function_is_refused(void **state)
{
	static const char *const document =
		"{\"input\":{\"low\":0,\"high\":800,\"unit\":\"°C\"},\"output\":{\"low\":100,\"high\":375.7,\"unit\":\"ohm\"},"
		"\"characteristic\":{\"kind\":\"rtd\",\"r0\":100},\"tolerance\":{\"terms\":[{\"kind\":\"absolute\",\"plus\":1}],\"join\":\"sum\"},"
		"\"decision\":{\"rule\":\"simple\"},\"readings\":[{\"set\":800,\"applied\":851,\"observed\":390,\"direction\":\"rising\",\"cycle\":1}]}";

	(void)state;
	refused("evaluation", document, "/readings/0/applied");
}

static void other_kinds_name_the_member_at_fault(void **state)
{
	(void)state;
	refused("conversion", "{\"value\":1,\"from\":\"mA\",\"to\":\"mV\"}", "/to");
	refused("conversion", "{\"value\":1,\"from\":\"furlong\",\"to\":\"m\"}", "/from");
	refused("conversion", "{\"value\":-0.1,\"from\":\"bar(a)\",\"to\":\"psi(a)\"}", "/value");
	refused_saying("conversion", "{\"value\":1,\"from\":\"barg\",\"to\":\"bar(a)\"}", "/to",
		       "bar(g) measures gauge pressure, but bar(a) measures absolute pressure");
	refused_saying("conversion", "{\"value\":1,\"from\":\"kg/h\",\"to\":\"m3/h\"}", "/to",
		       "kg/h measures mass flow, but m3/h measures volume flow");
	refused("conversion", "{\"value\":-280,\"from\":\"°C\",\"to\":\"K\"}", "/value");
	refused("conversion", "{\"value\":1e300,\"from\":\"m\",\"to\":\"mm\"}", "/value");
	refused("conversion", "{\"value\":1,\"from\":\"m\",\"to\":\"mm\",\"digits\":3}", "/digits");
	refused("fit", "{\"x\":[1,2,3],\"y\":[1,2],\"order\":1}", "/y");
	refused("fit", "{\"x\":[1,\"2\",3],\"y\":[1,2,3],\"order\":1}", "/x/1");
	refused("fit", "{\"x\":[2,2,2],\"y\":[1,2,3],\"order\":1}", "/x");
	refused("fit", "{\"x\":[1,2,3],\"y\":[1,2,3],\"order\":6}", "/order");
	refused("fit", "{\"x\":[1,2,3],\"y\":[1,2,3],\"order\":0,\"through_zero\":true}", "/order");
	refused("characteristic",
		"{\"characteristic\":{\"kind\":\"thermocouple\",\"type\":\"Z\"},\"input\":{\"low\":0,\"high\":1,\"unit\":\"°C\"},"
		"\"output\":{\"low\":0,\"high\":1,\"unit\":\"mV\"},\"direction\":\"forward\",\"values\":[1]}",
		"/characteristic/type");
	refused("characteristic",
		"{\"characteristic\":{\"kind\":\"linear\"},\"input\":{\"low\":0,\"high\":1,\"unit\":\"bar\"},"
		"\"output\":{\"low\":0,\"high\":1,\"unit\":\"mV\"},\"direction\":\"forward\",\"values\":[1,null]}",
		"/values/1");
}

static void unknown_kind_is_not_found(void **state)
{
	struct err err;
	cJSON *out;

	(void)state;
	assert_int_equal(run_text("horoscope", "{}", &out, &err), NOT_FOUND);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(evaluation_judges_points_and_sums_up),
		cmocka_unit_test(numbers_come_with_the_text_people_read),
		cmocka_unit_test(diagnosis_and_advice_belong_to_the_summary),
		cmocka_unit_test(guarded_rule_and_uneven_limits_are_read),
		cmocka_unit_test(characteristic_goes_both_ways),
		cmocka_unit_test(other_limits_are_asked_beside_the_tolerance),
		cmocka_unit_test(no_adjustment_inside_the_adjust_limits),
		cmocka_unit_test(trim_is_said_in_three_units),
		cmocka_unit_test(averages_and_dead_band_belong_to_the_summary),
		cmocka_unit_test(error_can_be_asked_at_the_set_point),
		cmocka_unit_test(resolution_widens_the_uncertainty),
		cmocka_unit_test(evaluation_judges_a_switch),
		cmocka_unit_test(further_members_are_held_to_their_rules),
		cmocka_unit_test(every_characteristic_goes_both_ways),
		cmocka_unit_test(limits_of_a_characteristic_are_named),
		cmocka_unit_test(members_of_a_characteristic_are_held_to_their_rules),
		cmocka_unit_test(conversion_keeps_the_quantity),
		cmocka_unit_test(fit_answers_with_deviations),
		cmocka_unit_test(evaluation_names_the_member_at_fault),
		cmocka_unit_test(more_readings_than_a_run_may_have_are_refused),
		cmocka_unit_test(temperature_beyond_the_reference_function_is_refused),
		cmocka_unit_test(other_kinds_name_the_member_at_fault),
		cmocka_unit_test(unknown_kind_is_not_found),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
