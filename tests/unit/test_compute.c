/* Compute documents: what goes in as JSON, what comes out. */
#include "unit/compute_check.h"

#define MINUS "\xe2\x88\x92"

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
	assert_near(number_at(out, "residuals/2"), 0.23, 1e-12);
	assert_int_equal(cJSON_GetArraySize(member(out, "at")), 0);
	cJSON_Delete(out);
	out = computed("fit", "{\"x\":[1,2,3,4],\"y\":[2.1,3.9,6.2,7.8],\"order\":1,\"at\":[6]}");
	assert_near(number_at(out, "at/0/value"), 0.15 + 6 * 1.94, 1e-12);
	assert_near(number_at(out, "at/0/standard_deviation"), sqrt(0.041) * sqrt(0.25 + 12.25 / 5), 1e-12);
	cJSON_Delete(out);
	out = computed("fit", "{\"x\":[1,2],\"y\":[2,7],\"order\":1,\"through_zero\":false}");
	assert_true(cJSON_IsNull(member(out, "residual_sd")));
	cJSON_Delete(out);
}

/* 0.02 mA of 16 mA are 0.125 % of 4 bar. The set points are typed in whole bars, which would show that as none. */
static void a_trim_that_is_not_zero_does_not_read_zero(void **state)
{
	cJSON *out = computed(
		"evaluation",
		"{\"input\":{\"low\":-1,\"high\":3,\"unit\":\"bar\"},\"output\":{\"low\":4,\"high\":20,"
		"\"unit\":\"mA\"},\"characteristic\":{\"kind\":\"linear\"},\"decision\":{\"rule\":\"simple\"},"
		"\"tolerance\":" PERCENT_RULE("0.1") ",\"readings\":[{\"set\":\"1\",\"observed\":\"12.020\","
						     "\"direction\":\"rising\"}]}");

	(void)state;
	assert_string_equal(text_at(out, "summary/advice"),
			    "Lower the zero by 0.020 mA (0.13 % of span, 0.0050 bar at the input), then run as left: "
			    "the largest error should be about 0.0 % of span.");
	cJSON_Delete(out);
}

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
		cmocka_unit_test(conversion_keeps_the_quantity),
		cmocka_unit_test(fit_answers_with_deviations),
		cmocka_unit_test(a_trim_that_is_not_zero_does_not_read_zero),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
