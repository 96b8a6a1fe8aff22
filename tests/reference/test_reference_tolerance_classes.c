/* Tolerance classes against the tables of their standards. */
#include "csv.h"
#include "json_data.h"

#include <ctype.h>
#include <stdlib.h>

#include "metrology/format.h"
#include "metrology/tolerance_class.h"

static const struct range none = {0, 1};

static double half_of_last_digit(const char *printed)
{
	int decimals = decimals_of_text(printed);

	return 0.5 * pow(10, -decimals) * (1 + 1e-9);
}

static const struct tolerance_class *class_of(const char *type, const char *class)
{
	char code[40];

	snprintf(code, sizeof code, "iec60584_%c_%s", tolower(*type), class);
	if (!tolerance_class_find(code))
		fail_msg("%s is missing", code);
	return tolerance_class_find(code);
}

/* Limits of the rule for an instrument in degC, as an evaluation takes them. */
static double by_rule(const struct tolerance_class *c, double t)
{
	struct tolerance rule;

	assert_true(tolerance_class_rule(c, &rule));
	return tolerance_limits(&rule, none, t).high;
}

static void thermocouple_classes(void **state)
{
	struct csv f;
	int rows = 0;

	(void)state;
	csv_open(&f, "tolerance_classes_iec60584.csv");
	for (; csv_next(&f); rows++) {
		const struct tolerance_class *c = class_of(f.field[0], f.field[1]);
		double low = atof(f.field[2]), high = atof(f.field[3]), constant = atof(f.field[4]),
		       slope = atof(f.field[5]);

		assert_near(c->low, low, 0);
		assert_near(c->high, high, 0);
		for (int i = 0; i <= 50; i++) {
			double t = low + (high - low) * i / 50;
			double expected = slope > 0 ? fmax(constant, slope * fabs(t)) : fmax(1, 1 + 0.003 * (t - 1100));

			assert_near(tolerance_class_limit(c, t), expected, 1e-12);
			if (slope > 0)
				assert_near(by_rule(c, t), expected, 1e-12);
		}
		assert_true(0 != isnan(tolerance_class_limit(c, low - 0.01)) &&
			    0 != isnan(tolerance_class_limit(c, high + 0.01)));
	}
	print_message("tolerance_classes_iec60584.csv: %d rows\n", rows);
	assert_int_equal(rows, 20);
}

/* The 1995 edition gave classes A and B wider ranges than today's, so the range is opened for its rows. */
static struct tolerance_class opened(const char *code)
{
	struct tolerance_class c = *tolerance_class_find(code);

	c.low = -200;
	c.high = 850;
	return c;
}

static int compared, disagreeing;

static void compare(const char *what, const char *t, const char *printed, double ours)
{
	if (!*printed)
		return;
	compared++;
	if (fabs(ours - atof(printed)) <= half_of_last_digit(printed))
		return;
	print_message("%s at %s degC: %s printed, %.4f computed\n", what, t, printed, ours);
	disagreeing++;
}

/*
 * The ohm columns were made from the tolerance rounded to 0.1 degC before, so that some differ by up to a unit of their last
 * digit; the recomputed column next to them does not.
 */
static void platinum_classes(void **state)
{
	struct tolerance_class a = opened("iec60751_a_wire"), b = opened("iec60751_b_wire");
	struct csv f;
	int rows = 0;

	(void)state;
	compared = disagreeing = 0;
	csv_open(&f, "rtd_tolerances.csv");
	for (; csv_next(&f); rows++) {
		double t = atof(f.field[0]);

		compare("class A, degC", f.field[0], f.field[1], tolerance_class_limit(&a, t));
		compare("class A, ohm", f.field[0], f.field[2], tolerance_class_limit_output(&a, 100, t));
		compare("class B, degC", f.field[0], f.field[3], tolerance_class_limit(&b, t));
		compare("class B, ohm", f.field[0], f.field[4], tolerance_class_limit_output(&b, 100, t));
		assert_near(tolerance_class_limit_output(&a, 100, t), atof(f.field[6]), 5.1e-5);
		assert_near(tolerance_class_limit_output(&b, 100, t), atof(f.field[8]), 5.1e-5);
		assert_near(by_rule(&a, t), atof(f.field[5]), 1e-12);
		assert_near(by_rule(&b, t), atof(f.field[7]), 1e-12);
	}
	print_message("rtd_tolerances.csv: %d rows, %d printed values, %d disagree\n", rows, compared, disagreeing);
	assert_int_equal(rows, 13);
	assert_int_equal(compared, 46);
	assert_int_equal(disagreeing, 3);
}

static void one_platinum_class(const cJSON *one, const char *kind)
{
	char code[40], range_name[24];
	const struct tolerance_class *c;
	const cJSON *range;
	double constant, slope;

	snprintf(code, sizeof code, "iec60751_%s_%s", one->string, kind);
	for (char *s = code; *s; s++)
		*s = (char)tolower(*s);
	c = tolerance_class_find(code);
	if (!c)
		fail_msg("%s is missing", code);
	snprintf(range_name, sizeof range_name, "%s_range_C", kind);
	range = cJSON_GetObjectItem(one, range_name);
	assert_int_equal(sscanf(cJSON_GetObjectItem(one, "tol_C")->valuestring, "%lf+%lf|t|", &constant, &slope), 2);
	assert_near(c->low, cJSON_GetArrayItem(range, 0)->valuedouble, 0);
	assert_near(c->high, cJSON_GetArrayItem(range, 1)->valuedouble, 0);
	assert_near(c->constant, constant, 0);
	assert_near(c->slope, slope, 0);
	for (double t = c->low; t <= c->high; t += 12.5)
		assert_near(tolerance_class_limit(c, t), constant + slope * fabs(t), 1e-14);
}

/* Coefficients by what they make: R at 0, 1 and -1 degC; alpha is (R100 - R0) / 100 R0, printed 0.00385055. */
static void platinum_formula_and_classes(void **state)
{
	static const struct characteristic pt100 = {.kind = CHARACTERISTIC_RTD, .r0 = 100};
	cJSON *json = json_of("iec60751.json"), *one;
	double r0 = cJSON_GetObjectItem(json, "R0_ohm")->valuedouble, a = cJSON_GetObjectItem(json, "A")->valuedouble,
	       b = cJSON_GetObjectItem(json, "B")->valuedouble, c = cJSON_GetObjectItem(json, "C")->valuedouble;
	int ranges = 0;

	(void)state;
	for (double t = -200; t <= 850; t += 0.5)
		assert_near(characteristic_forward(&pt100, none, none, t),
			    r0 * (1 + a * t + b * t * t + (t < 0 ? c * (t - 100) * t * t * t : 0)), 1e-12);
	assert_near((characteristic_forward(&pt100, none, none, 100) / 100 - 1) / 100,
		    cJSON_GetObjectItem(json, "alpha")->valuedouble, 5e-9);
	cJSON_ArrayForEach(one, cJSON_GetObjectItem(json, "classes"))
	{
		one_platinum_class(one, "wire");
		one_platinum_class(one, "film");
		ranges += 2;
	}
	print_message("iec60751.json: 5 constants, 4 classes in %d ranges\n", ranges);
	assert_int_equal(ranges, 8);
	cJSON_Delete(json);
}

/* 0.35 degC at 100 degC, 0.35 * 1000 * (3.9083e-3 - 2 * 5.775e-7 * 100) = 1.327480 ohm. */
static void class_in_ohm_goes_with_the_resistance(void **state)
{
	(void)state;
	assert_near(tolerance_class_limit_output(tolerance_class_find("iec60751_a_wire"), 1000, 100), 1.32748, 1e-9);
	assert_true(0 != isnan(tolerance_class_limit(tolerance_class_find("iec60751_a_film"), -31)));
	assert_null(tolerance_class_find("iec60751_d_wire"));
}

/* Type K class 1 at 800 degC: 3.2 degC, and 41 uV/degC there (ITS-90 table: 33.275 mV at 800, 33.316 at 801 degC). */
static void class_in_mv_goes_with_the_thermocouple(void **state)
{
	struct tolerance rule;

	(void)state;
	assert_near(tolerance_class_limit_output(tolerance_class_find("iec60584_k_1"), 0, 800), 3.2 * 0.041,
		    3.2 * 0.0005);
	assert_false(tolerance_class_rule(tolerance_class_find("iec60584_s_1"), &rule));
	assert_int_equal(rule.n_terms, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(thermocouple_classes),
		cmocka_unit_test(platinum_classes),
		cmocka_unit_test(platinum_formula_and_classes),
		cmocka_unit_test(class_in_ohm_goes_with_the_resistance),
		cmocka_unit_test(class_in_mv_goes_with_the_thermocouple),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
