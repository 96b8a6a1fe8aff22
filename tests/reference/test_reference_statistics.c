/* Fits against certified values, terms of a run against the synthetic cycles, guard bands against their table. */
#include "csv.h"

#include <cjson/cJSON.h>
#include <stdlib.h>

#include "metrology/evaluation.h"
#include "metrology/fit.h"

static double work[FIT_POINTS_MAX * (FIT_ORDER_MAX + 2)];

static cJSON *json_of(const char *name)
{
	static char text[65536];
	char path[512];
	FILE *f;
	size_t n;
	cJSON *json;

	snprintf(path, sizeof path, "%s/tests/reference/data/%s", SOURCE_DIR, name);
	f = fopen(path, "r");
	if (!f)
		fail_msg("%s cannot be read", path);
	n = fread(text, 1, sizeof text - 1, f);
	fclose(f);
	text[n] = '\0';
	json = cJSON_Parse(text);
	assert_non_null(json);
	return json;
}

static double at(const cJSON *json, const char *name)
{
	const cJSON *v = cJSON_GetObjectItemCaseSensitive(json, name);

	if (!cJSON_IsNumber(v))
		fail_msg("%s is missing", name);
	return v->valuedouble;
}

static const char *text_of(const cJSON *json, const char *name)
{
	const cJSON *v = cJSON_GetObjectItemCaseSensitive(json, name);

	if (!cJSON_IsString(v))
		fail_msg("%s is missing", name);
	return v->valuestring;
}

static size_t column(const char *file, int field, double *out)
{
	struct csv c;
	size_t n = 0;

	csv_open(&c, file);
	while (csv_next(&c))
		out[n++] = atof(c.field[field]);
	return n;
}

static void agrees_to_digits(double ours, double certified, int digits)
{
	assert_near(ours, certified, fabs(certified) * pow(10, -digits));
}

static void nist_norris_line(void **state)
{
	static double x[FIT_POINTS_MAX], y[FIT_POINTS_MAX];
	cJSON *certified = json_of("norris_certified.json");
	size_t n = column("norris.csv", 0, x);
	struct fit f;

	(void)state;
	assert_int_equal(n, 36);
	assert_int_equal(column("norris.csv", 1, y), n);
	assert_true(fit_polynomial(x, y, n, 1, false, work, &f));
	agrees_to_digits(f.coefficient[0], at(certified, "b0"), 12);
	agrees_to_digits(f.coefficient[1], at(certified, "b1"), 13);
	agrees_to_digits(f.standard_deviation[0], at(certified, "s_b0"), 12);
	agrees_to_digits(f.standard_deviation[1], at(certified, "s_b1"), 12);
	agrees_to_digits(f.residual_sd, at(certified, "residual_sd_certified_from_memory"), 12);
	agrees_to_digits(f.r_squared, at(certified, "r2_certified_from_memory"), 13);
	agrees_to_digits(f.residual_sd * f.residual_sd * 34, at(certified, "ssr"), 12);
	assert_near(f.covariance[0][1] / (f.standard_deviation[0] * f.standard_deviation[1]),
		    atof(text_of(cJSON_GetObjectItem(certified, "recomputed"), "corr")), 1e-13);
	print_message("norris.csv: %zu points, 7 certified values, 1 recomputed\n", n);
	cJSON_Delete(certified);
}

/* Mean and standard deviation are a polynomial of order 0. */
static void univariate(const char *data, const char *certified_name, int digits_sd)
{
	static double x[FIT_POINTS_MAX], y[FIT_POINTS_MAX];
	cJSON *certified = json_of(certified_name);
	size_t n = column(data, 0, y);
	struct fit f;

	assert_int_equal(n, (int)at(certified, "n"));
	assert_true(fit_polynomial(x, y, n, 0, false, work, &f));
	agrees_to_digits(f.coefficient[0], at(certified, "mean"), 14);
	agrees_to_digits(f.residual_sd, at(certified, "sd_n_minus_1"), digits_sd);
	print_message("%s: %zu values, 2 certified values\n", data, n);
	cJSON_Delete(certified);
}

/* The data of NumAcc4 are not exact in binary: 10000000.1 is off by up to 1e-9, which leaves 8 digits of 0.1. */
static void nist_means_and_deviations(void **state)
{
	(void)state;
	univariate("NumAcc1.csv", "NumAcc1_certified.json", 14);
	univariate("NumAcc4.csv", "NumAcc4_certified.json", 8);
	univariate("Michelso.csv", "Michelso_certified.json", 12);
}

/* JCGM 100:2008, H.3: published to the digits given there. */
static void gum_h3_thermometer(void **state)
{
	cJSON *json = json_of("gum_h3.json");
	const cJSON *t = cJSON_GetObjectItem(json, "t_reading_C"), *b = cJSON_GetObjectItem(json, "correction_b_C");
	const cJSON *published = cJSON_GetObjectItem(json, "published");
	double x[16], y[16];
	int n = cJSON_GetArraySize(t);
	struct fit f;

	(void)state;
	assert_int_equal(n, 11);
	for (int i = 0; i < n; i++) {
		x[i] = cJSON_GetArrayItem(t, i)->valuedouble - at(json, "t0_C");
		y[i] = cJSON_GetArrayItem(b, i)->valuedouble;
	}
	assert_true(fit_polynomial(x, y, (size_t)n, 1, false, work, &f));
	assert_near(f.coefficient[0], at(published, "y1"), 0.00005);
	assert_near(f.standard_deviation[0], at(published, "s_y1"), 0.00005);
	assert_near(f.coefficient[1], at(published, "y2"), 0.000005);
	assert_near(f.standard_deviation[1], at(published, "s_y2"), 0.000005);
	assert_near(f.residual_sd, at(published, "s"), 0.00005);
	print_message("gum_h3.json: %d points, 5 published values\n", n);
	cJSON_Delete(json);
}

static double number_of(const cJSON *json, const char *list, int i)
{
	const cJSON *v = cJSON_GetArrayItem(cJSON_GetObjectItemCaseSensitive(json, list), i);

	if (!cJSON_IsNumber(v))
		fail_msg("%s/%d is missing", list, i);
	return v->valuedouble;
}

/* SYNTHETIC readings, expected terms COMPUTED for this project from the definitions; no standard's worked table. */
static void terms_of_three_synthetic_cycles(void **state)
{
	static const struct test_setup setup = {
		.input = {0, 100},
		.output = {0, 100},
		.characteristic = {.kind = CHARACTERISTIC_LINEAR},
		.tolerance = {.n_terms = 0},
		.decision = {DECISION_SIMPLE, 0},
	};
	cJSON *json = json_of("cycles_synthetic.json");
	const cJSON *results = cJSON_GetObjectItem(json, "results"),
		    *line = cJSON_GetObjectItem(results, "minimax_line");
	const cJSON *inputs = cJSON_GetObjectItem(json, "input_percent");
	struct reading r[64];
	struct judged_reading j[64];
	struct point_summary points[64];
	struct evaluation e;
	size_t n = 0;

	(void)state;
	for (int direction = 0; direction < 2; direction++) {
		const cJSON *cycles = cJSON_GetObjectItem(json, direction == RISING ? "up_cycles" : "down_cycles");

		for (int c = 0; c < cJSON_GetArraySize(cycles); c++)
			for (int i = 0; i < cJSON_GetArraySize(inputs); i++) {
				double set = cJSON_GetArrayItem(inputs, i)->valuedouble;
				double error = cJSON_GetArrayItem(cJSON_GetArrayItem(cycles, c), i)->valuedouble;

				r[n++] = (struct reading){set, NAN, set + error, (enum direction)direction, c + 1, 0};
			}
	}
	assert_int_equal(n, 30);
	assert_true(evaluate(&setup, r, n, j, &e));
	assert_near(e.max_error_plus, at(results, "measured_error_max_pos"), 1e-12);
	assert_near(e.max_error_minus, at(results, "measured_error_max_neg"), 1e-12);
	assert_near(e.repeatability, at(results, "repeatability_max_range_same_direction"), 1e-12);
	assert_near(e.hysteresis, at(results, "hysteresis_from_averages"), 1e-12);
	assert_near(e.hysteresis_cycle, at(results, "hysteresis_max_single_cycle"), 1e-12);
	assert_near(e.linearity[LINE_TERMINAL], at(results, "linearity_terminal"), 1e-12);
	assert_near(e.linearity[LINE_ZERO], at(results, "linearity_zero_based"), 1e-12);
	assert_near(e.linearity[LINE_INDEPENDENT], at(results, "linearity_independent_minimax"), 1e-12);
	assert_near(e.linearity[LINE_LEAST_SQUARES], at(results, "linearity_vs_least_squares_line"), 1e-12);
	assert_near(e.line_a, at(line, "a"), 1e-12);
	assert_near(e.line_b, at(line, "b_per_span"), 1e-12);
	assert_int_equal(evaluation_points(&setup, r, j, n, points), cJSON_GetArraySize(inputs));
	for (int i = 0; i < cJSON_GetArraySize(inputs); i++) {
		assert_near(points[i].rising, number_of(results, "up_avg", i), 1e-12);
		assert_near(points[i].falling, number_of(results, "down_avg", i), 1e-12);
		assert_near(points[i].mean, number_of(results, "avg", i), 1e-12);
	}
	print_message("cycles_synthetic.json (SYNTHETIC): %zu readings, 11 terms, 15 averages\n", n);
	cJSON_Delete(json);
}

/*
 * A reading on the acceptance limit TL - r U passes, one count beyond does so only conditionally. The printed probability of
 * a false accept there is that of the normal distribution, P(z > 2 r), held against the C library's complementary error
 * function, to know that the r are those of the rule; test_reference_uncertainty.c holds the core's own against it.
 */
static void guard_bands_of_ilac_g8(void **state)
{
	struct csv c;
	int rows = 0, skipped = 0;

	(void)state;
	csv_open(&c, "guard_bands.csv");
	for (; csv_next(&c); rows++) {
		double r = atof(c.field[1]), u = 0.04, limit = 0.5, on;
		struct decision_rule rule = {DECISION_GUARDED, r};
		struct limits limits = {-limit, limit};

		assert_near(0.5 * erfc(2 * r / sqrt(2)), atof(c.field[2]), 1e-9 + 1e-9 * atof(c.field[2]));
		if (r < 0) {
			print_message(
				"guard_bands.csv: \"%s\" has no guard band inside the limits: not a rule of the core\n",
				c.field[0]);
			skipped++;
			continue;
		}
		on = limit - r * 2 * u;
		assert_int_equal(judge(on, limits, 16, &rule, u), VERDICT_PASS);
		assert_int_equal(judge(-on, limits, 16, &rule, u), VERDICT_PASS);
		assert_int_equal(judge(on + 1e-6, limits, 16, &rule, u),
				 r > 0 ? VERDICT_CONDITIONAL_PASS : VERDICT_FAIL);
		assert_int_equal(judge(limit + r * 2 * u + 1e-6, limits, 16, &rule, u), VERDICT_FAIL);
	}
	print_message("guard_bands.csv: %d rows, %d not applicable\n", rows, skipped);
	assert_int_equal(rows, 7);
	assert_int_equal(skipped, 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nist_norris_line),	  cmocka_unit_test(nist_means_and_deviations),
		cmocka_unit_test(gum_h3_thermometer),	  cmocka_unit_test(terms_of_three_synthetic_cycles),
		cmocka_unit_test(guard_bands_of_ilac_g8),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
