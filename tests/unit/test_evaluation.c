#include "metrology/evaluation.h"
#include "metrology/points.h"
#include "support/check.h"

/* Positioner: 4..20 mA in, 0..100 % travel out, 3 % of span. In this range an error in % of travel is one in % of span. */
static const struct test_setup positioner = {
	.input = {4, 20},
	.output = {0, 100},
	.characteristic = {.kind = CHARACTERISTIC_LINEAR},
	.tolerance = {{{TOLERANCE_PERCENT_OF_SPAN, 3, 3}}, 1, JOIN_SUM},
	.decision = {DECISION_SIMPLE, 0},
};

#define UP_DOWN 9
static const double nine_sets[UP_DOWN] = {4, 8, 12, 16, 20, 16, 12, 8, 4};

static void nine_readings(const double errors[UP_DOWN], int cycle, struct reading out[UP_DOWN])
{
	for (int i = 0; i < UP_DOWN; i++)
		out[i] = (struct reading){
			nine_sets[i], NAN, (nine_sets[i] - 4) * 100 / 16 + errors[i], i < 5 ? RISING : FALLING,
			cycle,	      0};
}

/* Rising 0.4 1.1 1.7 2.2 2.6, falling 3.1 2.9 2.4 1.2 (second half from the top down): worked by hand. */
static const double worked[UP_DOWN] = {0.4, 1.1, 1.7, 2.2, 2.6, 3.1, 2.9, 2.4, 1.2};

static void errors_are_taken_at_the_applied_input(void **state)
{
	struct reading r = {12, 12.08, 51.2, RISING, 1, 0};
	struct judged_reading j;
	struct evaluation e;

	(void)state;
	assert_true(evaluate(&positioner, &r, 1, &j, &e));
	assert_near(j.expected, 50.5, 1e-12); /* (12.08 - 4) / 16 */
	assert_near(j.error, 0.7, 1e-12);
	assert_near(j.error_percent, 0.7, 1e-12);
	assert_near(j.limits.high, 3, 1e-12);
	r.applied = NAN;
	assert_true(evaluate(&positioner, &r, 1, &j, &e));
	assert_near(j.error, 1.2, 1e-12);
}

static void worst_reading_gives_the_verdict_of_the_run(void **state)
{
	struct reading r[UP_DOWN];
	struct judged_reading j[UP_DOWN];
	struct evaluation e;

	(void)state;
	nine_readings(worked, 1, r);
	assert_true(evaluate(&positioner, r, UP_DOWN, j, &e));
	assert_int_equal(e.verdict, VERDICT_FAIL);
	assert_int_equal(e.judged, 9);
	assert_int_equal(e.failed, 1);
	assert_int_equal(e.worst, 5);
	assert_near(e.worst_ratio, 3.1 / 3, 1e-12);
	assert_int_equal(j[5].verdict, VERDICT_FAIL);
	assert_int_equal(j[6].verdict, VERDICT_PASS);
}

static void terms_of_a_worked_run(void **state)
{
	struct reading r[UP_DOWN];
	struct judged_reading j[UP_DOWN];
	struct evaluation e;

	(void)state;
	nine_readings(worked, 1, r);
	assert_true(evaluate(&positioner, r, UP_DOWN, j, &e));
	assert_near(e.max_error, 3.1, 1e-12);
	assert_near(e.max_error_plus, 3.1, 1e-12);
	assert_near(e.max_error_minus, 0, 1e-12);
	assert_near(e.zero_error, 0.8, 1e-12); /* (0.4 + 1.2) / 2 */
	assert_near(e.span_error, 1.8, 1e-12); /* 2.6 - 0.8 */
	assert_near(e.hysteresis, 1.3, 1e-12); /* at 8 mA, 2.4 - 1.1 */
	assert_near(e.hysteresis_cycle, 1.3, 1e-12);
	assert_true(0 != isnan(e.repeatability));
	/* averaged curve 0.8 1.75 2.3 2.65 2.6; chord 0.8 1.25 1.7 2.15 2.6; largest distance at the middle, 0.6 */
	assert_near(e.linearity[LINE_TERMINAL], 0.6, 1e-12);
	/* line from 0.8 with slope b: points at 0.5 (rise 1.5) and 1 (rise 1.8) bind, b = 2.2: 0.4 */
	assert_near(e.linearity[LINE_ZERO], 0.4, 1e-12);
	/* the strip lies along the chord from the first to the last point: 0.6 wide */
	assert_near(e.linearity[LINE_INDEPENDENT], 0.3, 1e-12);
	assert_near(e.line_a, 1.1, 1e-12);
	assert_near(e.line_b, 1.8, 1e-12);
	/* least squares: mean 2.02, slope 1.8, line 1.12 + 1.8 x; residuals -0.32 0.18 0.28 0.18 -0.32 */
	assert_near(e.linearity[LINE_LEAST_SQUARES], 0.32, 1e-12);
}

static void averages_and_single_cycles_give_their_own_hysteresis(void **state)
{
	static const double second[UP_DOWN] = {0.5, 1.3, 2.1, 2.0, 2.4, 2.5, 2.7, 2.1, 0.9};
	struct reading r[2 * UP_DOWN];
	struct judged_reading j[2 * UP_DOWN];
	struct evaluation e;

	(void)state;
	nine_readings(worked, 1, r);
	nine_readings(second, 2, r + UP_DOWN);
	assert_true(evaluate(&positioner, r, 2 * UP_DOWN, j, &e));
	assert_near(e.hysteresis_cycle, 1.3, 1e-12); /* 8 mA in the first cycle */
	assert_near(e.hysteresis, 1.05, 1e-12);	     /* 8 mA: (2.4 + 2.1) / 2 - (1.1 + 1.3) / 2 */
	assert_near(e.repeatability, 0.6, 1e-12);    /* falling at 16 mA, 3.1 and 2.5 */
}

static void reverse_acting_instrument_is_judged_alike(void **state)
{
	struct test_setup s = positioner;
	struct reading r[2] = {{4, NAN, 101.3, RISING, 1, 0}, {20, NAN, -3.4, RISING, 1, 0}};
	struct judged_reading j[2];
	struct evaluation e;

	(void)state;
	s.output = (struct range){100, 0};
	assert_true(evaluate(&s, r, 2, j, &e));
	assert_near(j[0].error_percent, 1.3, 1e-12);
	assert_near(j[1].error_percent, -3.4, 1e-12);
	assert_int_equal(j[1].verdict, VERDICT_FAIL);
	assert_near(e.zero_error, 1.3, 1e-12);
	assert_near(e.span_error, -4.7, 1e-12);
}

static void falling_input_range_has_its_zero_at_the_low_end(void **state)
{
	struct test_setup s = positioner;
	struct reading r[2] = {{4, NAN, 100.7, RISING, 1, 0}, {20, NAN, 0.2, RISING, 1, 0}};
	struct judged_reading j[2];
	struct evaluation e;

	(void)state;
	s.input = (struct range){20, 4};
	assert_true(evaluate(&s, r, 2, j, &e));
	assert_near(e.zero_error, 0.2, 1e-12);
	assert_near(e.span_error, 0.5, 1e-12);
}

static void one_point_says_nothing_about_span_and_lines(void **state)
{
	struct reading r = {12, NAN, 50.4, RISING, 1, 0};
	struct judged_reading j;
	struct evaluation e;

	(void)state;
	assert_true(evaluate(&positioner, &r, 1, &j, &e));
	assert_near(e.zero_error, 0.4, 1e-12);
	assert_true(0 != isnan(e.span_error) && isnan(e.hysteresis) && isnan(e.hysteresis_cycle) &&
		    isnan(e.repeatability));
	for (int i = 0; i < LINE_KINDS; i++)
		assert_true(0 != isnan(e.linearity[i]));
}

static void reading_not_taken_is_left_out(void **state)
{
	struct reading r[2] = {{4, NAN, 0.9, RISING, 1, 0}, {20, NAN, NAN, RISING, 1, 0}};
	struct judged_reading j[2];
	struct evaluation e;

	(void)state;
	assert_true(evaluate(&positioner, r, 2, j, &e));
	assert_int_equal(e.judged, 1);
	assert_int_equal(e.verdict, VERDICT_PASS);
	assert_int_equal(j[1].verdict, VERDICT_NOT_JUDGED);
	assert_near(j[1].expected, 100, 1e-12);
	assert_near(e.max_error, 0.9, 1e-12);
}

static void without_limits_the_errors_stand_unjudged(void **state)
{
	struct test_setup s = positioner;
	struct reading r[UP_DOWN];
	struct judged_reading j[UP_DOWN];
	struct evaluation e;

	(void)state;
	s.tolerance.n_terms = 0;
	nine_readings(worked, 1, r);
	assert_true(evaluate(&s, r, UP_DOWN, j, &e));
	assert_int_equal(e.verdict, VERDICT_NOT_JUDGED);
	assert_int_equal(e.judged, 0);
	assert_int_equal(e.worst, -1);
	assert_near(e.max_error, 3.1, 1e-12);
}

static void acceptance_limits_are_drawn_in_by_the_guard_band(void **state)
{
	struct test_setup s = positioner;
	struct reading r = {12, NAN, 52.7, RISING, 1, 0.2};
	struct judged_reading j;
	struct evaluation e;

	(void)state;
	s.decision = (struct decision_rule){DECISION_GUARDED, 1};
	assert_true(evaluate(&s, &r, 1, &j, &e));
	assert_near(j.acceptance.low, -2.6, 1e-12);
	assert_near(j.acceptance.high, 2.6, 1e-12);
	assert_int_equal(j.verdict, VERDICT_CONDITIONAL_PASS);
	assert_int_equal(e.failed, 0);
}

static void without_any_tolerance_every_error_is_beyond_it(void **state)
{
	struct test_setup s = positioner;
	struct reading r[2] = {{4, NAN, 0, RISING, 1, 0}, {12, NAN, 50.1, RISING, 1, 0}};
	struct judged_reading j[2];
	struct evaluation e;

	(void)state;
	s.tolerance = (struct tolerance){{{TOLERANCE_ABSOLUTE, 0, 0}}, 1, JOIN_SUM};
	assert_true(evaluate(&s, r, 2, j, &e));
	assert_int_equal(j[0].verdict, VERDICT_PASS);
	assert_int_equal(j[1].verdict, VERDICT_FAIL);
	assert_int_equal(e.worst, 1);
	assert_true(isinf(e.worst_ratio) && e.worst_ratio > 0);
}

static void impossible_setup_judges_nothing(void **state)
{
	struct reading r = {12, NAN, 50, RISING, 1, 0};
	struct test_setup s = positioner;
	struct judged_reading j = {0};
	struct evaluation e;

	(void)state;
	s.output.high = s.output.low;
	assert_false(evaluate(&s, &r, 1, &j, &e));
	assert_true(0 != isnan(j.error) && isnan(e.max_error));
	assert_int_equal(j.verdict, VERDICT_NOT_JUDGED);
	s = positioner;
	s.input = (struct range){7, 7};
	assert_false(evaluate(&s, &r, 1, &j, &e));
	s = positioner;
	s.characteristic = (struct characteristic){.kind = CHARACTERISTIC_RTD, .r0 = 100};
	s.input = (struct range){-50, 900}; /* Pt100 ends at 850 degC */
	assert_false(evaluate(&s, &r, 1, &j, &e));
	s.input = (struct range){-50, 150};
	r.applied = 850.01;
	assert_false(evaluate(&s, &r, 1, &j, &e));
}

static void errors_can_be_taken_at_the_set_point(void **state)
{
	struct test_setup s = positioner;
	struct reading r = {12, 12.08, 51.2, RISING, 1, 0};
	struct judged_reading j;
	struct evaluation e;

	(void)state;
	s.error_at = ERROR_AT_SET;
	assert_true(evaluate(&s, &r, 1, &j, &e));
	assert_near(j.expected, 50, 1e-12);
	assert_near(j.error, 1.2, 1e-12);
	s.characteristic = (struct characteristic){
		.kind = CHARACTERISTIC_TABLE, .n_points = 2, .x = {4, 20}, .y = {0, 100}};
	r.applied = 20.1; /* beyond the table, but what was set is not */
	assert_true(evaluate(&s, &r, 1, &j, &e));
	s.error_at = ERROR_AT_APPLIED;
	assert_false(evaluate(&s, &r, 1, &j, &e));
}

/* The two cycles of averages_and_single_cycles_...; rising at 8 mA (1.1 + 1.3) / 2, falling (2.4 + 2.1) / 2. */
static void points_are_summed_up_over_the_cycles(void **state)
{
	static const double second[UP_DOWN] = {0.5, 1.3, 2.1, 2.0, 2.4, 2.5, 2.7, 2.1, 0.9};
	struct reading r[2 * UP_DOWN];
	struct judged_reading j[2 * UP_DOWN];
	struct point_summary p[2 * UP_DOWN];
	struct evaluation e;

	(void)state;
	nine_readings(worked, 1, r);
	nine_readings(second, 2, r + UP_DOWN);
	assert_true(evaluate(&positioner, r, 2 * UP_DOWN, j, &e));
	assert_int_equal(evaluation_points(&positioner, r, j, 2 * UP_DOWN, p), 5);
	assert_near(p[1].set, 8, 0);
	assert_int_equal(p[1].readings, 4);
	assert_near(p[1].rising, 1.2, 1e-12);
	assert_near(p[1].falling, 2.25, 1e-12);
	assert_near(p[1].mean, 1.725, 1e-12);
	assert_near(p[1].hysteresis, 1.05, 1e-12);
	assert_near(p[1].repeatability, 0.3, 1e-12); /* falling 2.4, 2.1 */
	assert_near(p[4].rising, 2.5, 1e-12);
	assert_true(0 != isnan(p[4].falling) && 0 != isnan(p[4].hysteresis));
	/* falling at 16 mA 3.1 and 2.5, at 12 mA 2.9 and 2.7: both 2.8, larger than any other mean */
	assert_near(e.max_mean_error, 2.8, 1e-12);
	assert_near(e.max_error, 3.1, 1e-12);
}

static void as_found_adjust_and_as_left_are_asked_at_once(void **state)
{
	static const struct tolerance adjust = {{{TOLERANCE_PERCENT_OF_SPAN, 2, 2}}, 1, JOIN_SUM};
	static const struct tolerance left = {{{TOLERANCE_ABSOLUTE, 1.2, 0.5}}, 1, JOIN_SUM}, none = {.n_terms = 0};
	struct reading r[UP_DOWN];
	struct judged_reading j[UP_DOWN];
	struct evaluation e;

	(void)state;
	nine_readings(worked, 1, r);
	assert_true(evaluate(&positioner, r, UP_DOWN, j, &e));
	assert_true(inside_tolerance(&positioner, &adjust, &j[2]) && !inside_tolerance(&positioner, &adjust, &j[3]));
	assert_true(inside_tolerance(&positioner, &left, &j[8])); /* 1.2 exactly */
	assert_false(inside_tolerance(&positioner, &left, &j[2]));
	assert_false(inside_tolerance(&positioner, &none, &j[0]));
}

/* 0.11 of 16 mA is 0.6875 %. */
static void dead_band_is_the_largest_way_back(void **state)
{
	static const struct dead_band_reading at[] = {{5.64, 5.58}, {12.07, 11.96}, {18.40, 18.37}};

	(void)state;
	assert_near(dead_band(at, 3, (struct range){4, 20}), 0.6875, 1e-12);
	assert_near(dead_band(at, 3, (struct range){20, 4}), 0.6875, 1e-12);
	assert_true(0 != isnan(dead_band(at, 0, (struct range){4, 20})));
}

/* ---- lines against brute force ---- */

static unsigned long long seed = 0x9e3779b97f4a7c15u;

static double random_unit(void)
{
	seed ^= seed << 13;
	seed ^= seed >> 7;
	seed ^= seed << 17;
	return (double)(seed >> 11) * 0x1p-53;
}

/* Of every three points the middle one stands off the chord of the others by twice the least deviation of the three, and
 * the least of all is the largest of these (Helly). */
static double brute_minimax(const double *x, const double *y, int n)
{
	double largest = 0;

	for (int i = 0; i < n; i++)
		for (int j = i + 1; j < n; j++)
			for (int k = j + 1; k < n; k++) {
				double chord = y[i] + (y[k] - y[i]) * (x[j] - x[i]) / (x[k] - x[i]);

				largest = fmax(largest, fabs(y[j] - chord) / 2);
			}
	return largest;
}

/* Tries slopes on a grid, then finer around the best. */
static double brute_zero_based(const double *x, const double *y, int n)
{
	double best = INFINITY, centre = 0, reach = 64;

	for (int round = 0; round < 40; round++, reach /= 2) {
		double from = centre;

		for (int step = -20; step <= 20; step++) {
			double b = from + reach * step / 20, worst = 0;

			for (int i = 0; i < n; i++)
				worst = fmax(worst, fabs(y[i] - y[0] - b * (x[i] - x[0])));
			if (worst < best) {
				best = worst;
				centre = b;
			}
		}
	}
	return best;
}

static void lines_are_the_best_there_are(void **state)
{
	(void)state;
	for (int run = 0; run < 400; run++) {
		int n = 3 + (int)(random_unit() * 19);
		struct reading r[24];
		struct judged_reading j[24];
		struct evaluation e;
		double x[24], y[24], reached = 0;

		for (int i = 0; i < n; i++) {
			x[i] = (i + 0.9 * random_unit()) / n;
			y[i] = 4 * random_unit() - 2 + (run % 3) * x[i];
			r[i] = (struct reading){4 + 16 * x[i], NAN, 100 * x[i] + y[i], RISING, 1, 0};
		}
		assert_true(evaluate(&positioner, r, (size_t)n, j, &e));
		assert_near(e.linearity[LINE_INDEPENDENT], brute_minimax(x, y, n), 1e-9);
		assert_near(e.linearity[LINE_ZERO], brute_zero_based(x, y, n), 1e-6);
		for (int i = 0; i < n; i++)
			reached = fmax(reached, fabs(y[i] - e.line_a - e.line_b * x[i]));
		assert_near(reached, e.linearity[LINE_INDEPENDENT], 1e-9);
		assert_true(e.linearity[LINE_INDEPENDENT] <= e.linearity[LINE_ZERO] + 1e-12);
		assert_true(e.linearity[LINE_ZERO] <= e.linearity[LINE_TERMINAL] + 1e-12);
		assert_true(e.linearity[LINE_INDEPENDENT] <= e.linearity[LINE_LEAST_SQUARES] + 1e-12);
	}
}

/*
 * Farther from the middle of its limits an error never gets a better verdict, whatever the rule, the limits and the side. (From
 * zero it can: with uneven limits and a wide guard band what passes outright may lie beside zero.)
 */
static void verdict_never_improves_as_the_error_grows(void **state)
{
	(void)state;
	for (int run = 0; run < 3000; run++) {
		struct test_setup s = positioner;
		double sign = run % 2 ? 1 : -1, u = 2 * random_unit(), error;
		struct limits l;
		enum verdict before = VERDICT_PASS;

		s.decision = (struct decision_rule){run % 3 ? DECISION_GUARDED : DECISION_SIMPLE, 3 * random_unit()};
		s.tolerance.n_terms = 2;
		s.tolerance.join = run % 5 ? JOIN_SUM : JOIN_GREATEST;
		s.tolerance.terms[0] = (struct tolerance_term){(enum tolerance_kind)(run % 4), 3 * random_unit(),
							       3 * random_unit()};
		s.tolerance.terms[1] = (struct tolerance_term){(enum tolerance_kind)(run / 4 % 4), 3 * random_unit(),
							       3 * random_unit()};
		l = tolerance_limits(&s.tolerance, s.output, 50);
		error = (l.low + l.high) / 2;
		for (int i = 0; i < 40; i++, error += sign * 0.5 * random_unit()) {
			struct reading r = {12, NAN, 50 + error, RISING, 1, u};
			struct judged_reading j;
			struct evaluation e;

			assert_true(evaluate(&s, &r, 1, &j, &e));
			assert_true(j.verdict >= before);
			before = j.verdict;
		}
	}
}

static void four_hundred_readings_are_judged(void **state)
{
	static struct reading r[READINGS_MAX + 1];
	static struct judged_reading j[READINGS_MAX + 1];
	struct evaluation e;

	(void)state;
	for (int i = 0; i <= READINGS_MAX; i++)
		r[i] = (struct reading){4 + i * 0.04, NAN, i * 0.25 + (i % 2 ? 0.3 : -0.3), RISING, 1, 0};
	assert_true(evaluate(&positioner, r, READINGS_MAX, j, &e));
	assert_int_equal(e.judged, READINGS_MAX);
	assert_near(e.linearity[LINE_INDEPENDENT], 0.3, 0.002);
	assert_false(evaluate(&positioner, r, READINGS_MAX + 1, j, &e));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(errors_are_taken_at_the_applied_input),
		cmocka_unit_test(worst_reading_gives_the_verdict_of_the_run),
		cmocka_unit_test(terms_of_a_worked_run),
		cmocka_unit_test(averages_and_single_cycles_give_their_own_hysteresis),
		cmocka_unit_test(reverse_acting_instrument_is_judged_alike),
		cmocka_unit_test(falling_input_range_has_its_zero_at_the_low_end),
		cmocka_unit_test(one_point_says_nothing_about_span_and_lines),
		cmocka_unit_test(reading_not_taken_is_left_out),
		cmocka_unit_test(without_limits_the_errors_stand_unjudged),
		cmocka_unit_test(acceptance_limits_are_drawn_in_by_the_guard_band),
		cmocka_unit_test(without_any_tolerance_every_error_is_beyond_it),
		cmocka_unit_test(impossible_setup_judges_nothing),
		cmocka_unit_test(errors_can_be_taken_at_the_set_point),
		cmocka_unit_test(points_are_summed_up_over_the_cycles),
		cmocka_unit_test(as_found_adjust_and_as_left_are_asked_at_once),
		cmocka_unit_test(dead_band_is_the_largest_way_back),
		cmocka_unit_test(verdict_never_improves_as_the_error_grows),
		cmocka_unit_test(lines_are_the_best_there_are),
		cmocka_unit_test(four_hundred_readings_are_judged),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
