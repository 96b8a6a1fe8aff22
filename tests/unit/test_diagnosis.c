#include "metrology/diagnosis.h"
#include "support/check.h"

static const struct test_setup positioner = {
	.input = {4, 20},
	.output = {0, 100},
	.characteristic = {.kind = CHARACTERISTIC_LINEAR},
	.tolerance = {{{TOLERANCE_PERCENT_OF_SPAN, 3, 3}}, 1, JOIN_SUM},
	.decision = {DECISION_SIMPLE, 0},
};
static const struct tolerance tight = {{{TOLERANCE_PERCENT_OF_SPAN, 1, 1}}, 1, JOIN_SUM};

#define UP_DOWN 9
static const double fraction[UP_DOWN] = {0, 0.25, 0.5, 0.75, 1, 0.75, 0.5, 0.25, 0};

struct run {
	struct test_setup setup;
	struct reading readings[UP_DOWN];
	struct judged_reading judged[UP_DOWN];
	struct evaluation sum;
	struct diagnosis d;
};

/* errors in % of span */
static void run_with(struct run *r, const struct test_setup *setup, const double errors[UP_DOWN])
{
	r->setup = *setup;
	for (int i = 0; i < UP_DOWN; i++) {
		double set = range_at(setup->input, fraction[i]);
		double expected = characteristic_forward(&setup->characteristic, setup->input, setup->output, set);

		r->readings[i] = (struct reading){set,
						  NAN,
						  expected + errors[i] * fabs(range_span(setup->output)) / 100,
						  i < 5 ? RISING : FALLING,
						  1,
						  0};
	}
	assert_true(evaluate(setup, r->readings, UP_DOWN, r->judged, &r->sum));
	diagnose(setup, &setup->tolerance, &setup->tolerance, r->readings, r->judged, UP_DOWN, &r->d);
}

static double sum_of_shares(const struct diagnosis *d)
{
	double sum = 0;

	for (int i = 0; i < CAUSES; i++)
		sum += d->share[i];
	return sum;
}

static void pure_zero_shift_is_all_zero(void **state)
{
	static const double errors[UP_DOWN] = {1.7, 1.7, 1.7, 1.7, 1.7, 1.7, 1.7, 1.7, 1.7};
	struct run r;

	(void)state;
	run_with(&r, &positioner, errors);
	assert_near(r.d.share[CAUSE_ZERO], 1, 1e-12);
	assert_near(r.d.size[CAUSE_ZERO], 1.7, 1e-12);
	assert_near(r.d.share[CAUSE_SPAN], 0, 1e-12);
	assert_int_equal(r.d.order[0], CAUSE_ZERO);
	assert_near(r.d.zero_trim, -1.7, 1e-12);
	assert_near(r.d.span_trim, 0, 1e-12);
	assert_near(r.d.predicted_max_error, 0, 1e-12);
}

static void pure_span_error_is_all_span(void **state)
{
	struct run r;
	double errors[UP_DOWN];

	(void)state;
	for (int i = 0; i < UP_DOWN; i++)
		errors[i] = -3.9 * fraction[i];
	run_with(&r, &positioner, errors);
	assert_near(r.d.share[CAUSE_SPAN], 1, 1e-12);
	assert_near(r.d.size[CAUSE_SPAN], -3.9, 1e-12);
	assert_near(r.d.share[CAUSE_ZERO], 0, 1e-12);
	assert_near(r.d.zero_trim, 0, 1e-12);
	assert_near(r.d.span_trim, 3.9, 1e-9);
	assert_true(r.d.adjust && r.d.trim_helps);
}

static void pure_bend_is_all_curvature(void **state)
{
	struct run r;
	double errors[UP_DOWN];

	(void)state; /* 4 h x (1 - x) less its own least-squares line over the nine readings: at right angles to the line */
	for (int i = 0; i < UP_DOWN; i++)
		errors[i] = 4 * 2.3 * fraction[i] * (1 - fraction[i]);
	{
		double mean_x = 0, mean_e = 0, xx = 0, xe = 0;

		for (int i = 0; i < UP_DOWN; i++)
			mean_x += fraction[i] / UP_DOWN, mean_e += errors[i] / UP_DOWN;
		for (int i = 0; i < UP_DOWN; i++)
			xx += pow(fraction[i] - mean_x, 2), xe += (fraction[i] - mean_x) * (errors[i] - mean_e);
		for (int i = 0; i < UP_DOWN; i++)
			errors[i] -= mean_e + xe / xx * (fraction[i] - mean_x);
	}
	run_with(&r, &positioner, errors);
	assert_near(r.d.share[CAUSE_CURVATURE], 1, 1e-12);
	assert_near(r.d.size[CAUSE_CURVATURE], 2.3, 1e-12);
}

static void pure_sticking_is_all_hysteresis(void **state)
{
	static const double errors[UP_DOWN] = {-1.6, -1.6, -1.6, -1.6, 0, 1.6, 1.6, 1.6, 1.6};
	struct run r;

	(void)state;
	run_with(&r, &positioner, errors);
	assert_near(r.d.share[CAUSE_HYSTERESIS], 1, 1e-12);
	assert_near(r.d.size[CAUSE_HYSTERESIS], 3.2, 1e-12);
	diagnose(&positioner, &tight, &tight, r.readings, r.judged, UP_DOWN, &r.d);
	assert_true(r.d.adjust);
	assert_false(r.d.trim_helps);
	assert_near(r.d.predicted_max_error, 1.6, 1e-9);
}

/* Zero 2, span 1 on nine readings: sum x = 4, sum x^2 = 2.75; 4 * 9 = 36 against 2.75. */
static void zero_and_span_share_the_line_by_what_each_alone_leaves(void **state)
{
	struct run r;
	double errors[UP_DOWN];

	(void)state;
	for (int i = 0; i < UP_DOWN; i++)
		errors[i] = 2 + fraction[i];
	run_with(&r, &positioner, errors);
	assert_near(r.d.share[CAUSE_ZERO], 36 / 38.75, 1e-12);
	assert_near(r.d.share[CAUSE_SPAN], 2.75 / 38.75, 1e-12);
}

static void no_error_has_no_cause(void **state)
{
	static const double errors[UP_DOWN] = {0};
	struct run r;

	(void)state;
	run_with(&r, &positioner, errors);
	assert_near(sum_of_shares(&r.d), 0, 0);
	assert_false(r.d.adjust);
	assert_near(r.d.predicted_max_error, 0, 0);
}

static unsigned long long seed = 88172645463325252u;

static double random_sign(void)
{
	seed ^= seed << 13;
	seed ^= seed >> 7;
	seed ^= seed << 17;
	return (double)(seed >> 11) * 0x1p-52 - 1;
}

static void shares_are_never_negative_and_add_to_one(void **state)
{
	(void)state;
	for (int i = 0; i < 5000; i++) {
		double errors[UP_DOWN], scale = pow(10, 4 * random_sign());
		struct run r;

		for (int k = 0; k < UP_DOWN; k++)
			errors[k] = scale * (i % 2 ? random_sign() : 3 + random_sign() / 1000);
		run_with(&r, &positioner, errors);
		assert_near(sum_of_shares(&r.d), 1, 1e-12);
		for (int k = 0; k < CAUSES; k++) {
			assert_true(r.d.share[k] >= 0 && r.d.share[k] <= 1);
			assert_true(k == 0 || r.d.share[r.d.order[k]] <= r.d.share[r.d.order[k - 1]]);
		}
	}
}

/* Carries the trim out on the readings themselves and judges again. */
static double error_after_trim(const struct run *r)
{
	struct reading trimmed[UP_DOWN];
	struct judged_reading judged[UP_DOWN];
	struct evaluation e;

	for (int i = 0; i < UP_DOWN; i++) {
		trimmed[i] = r->readings[i];
		trimmed[i].observed += r->d.zero_trim +
				       r->d.span_trim * range_fraction(r->setup.output, r->judged[i].expected);
	}
	assert_true(evaluate(&r->setup, trimmed, UP_DOWN, judged, &e));
	return fabs(e.max_error);
}

static void prediction_is_what_the_trim_leaves(void **state)
{
	static const struct {
		struct range input, output;
		enum characteristic_kind kind;
	} instruments[] = {
		{{4, 20}, {0, 100}, CHARACTERISTIC_LINEAR},	 {{0, 1.6}, {4, 20}, CHARACTERISTIC_LINEAR},
		{{0, 250}, {20, 4}, CHARACTERISTIC_LINEAR},	 {{100, -20}, {4, 20}, CHARACTERISTIC_LINEAR},
		{{0, 250}, {4, 20}, CHARACTERISTIC_SQUARE_ROOT},
	};

	(void)state;
	for (int i = 0; i < 2000; i++) {
		struct test_setup s = positioner;
		double errors[UP_DOWN], zero = 3 * random_sign(), span = 3 * random_sign();
		struct run r;

		s.input = instruments[i % 5].input;
		s.output = instruments[i % 5].output;
		s.characteristic.kind = instruments[i % 5].kind;
		for (int k = 0; k < UP_DOWN; k++)
			errors[k] = zero + span * fraction[k] + random_sign() / 2;
		run_with(&r, &s, errors);
		assert_near(error_after_trim(&r), r.d.predicted_max_error, 1e-9);
		assert_true(r.d.predicted_max_error <= fabs(r.sum.max_error) + 1e-9);
	}
}

/* Output span error of a square-root transmitter: 2 % of the output's rise at each point, so nothing at zero. */
static void span_error_of_a_square_root_output_is_span(void **state)
{
	struct test_setup s = positioner;
	double errors[UP_DOWN];
	struct run r;

	(void)state;
	s.input = (struct range){0, 250};
	s.output = (struct range){4, 20};
	s.characteristic.kind = CHARACTERISTIC_SQUARE_ROOT;
	for (int i = 0; i < UP_DOWN; i++)
		errors[i] = 2 * sqrt(fraction[i]);
	run_with(&r, &s, errors);
	assert_near(r.d.share[CAUSE_SPAN], 1, 1e-9);
	diagnose(&s, &tight, &tight, r.readings, r.judged, UP_DOWN, &r.d);
	assert_near(r.d.span_trim, -0.32, 1e-9); /* 2 % of 16 mA */
	assert_near(r.d.zero_trim, 0, 1e-9);
	assert_true(r.d.trim_helps);
}

static void one_screw_is_turned_where_one_is_enough(void **state)
{
	static const double errors[UP_DOWN] = {-2.31, -2.24, -2.27, -2.20, -2.26, -2.22, -2.25, -2.21, -2.28};
	struct run r;

	(void)state;
	run_with(&r, &positioner, errors);
	diagnose(&positioner, &tight, &tight, r.readings, r.judged, UP_DOWN, &r.d);
	assert_near(r.d.span_trim, 0, 0);
	assert_near(r.d.zero_trim, 2.255, 1e-9); /* the middle of -2.31 and -2.20 */
	assert_near(r.d.predicted_max_error, 0.055, 1e-9);
	assert_true(r.d.trim_helps);
}

static void adjustment_is_called_for_beyond_the_adjust_limits_only(void **state)
{
	static const struct tolerance none = {.n_terms = 0};
	static const double on[UP_DOWN] = {1, 0.4, -0.3, 0.2, -1, 0.1, 0.3, 0.2, 0.5};
	static const double beyond[UP_DOWN] = {1.001, 0.4, -0.3, 0.2, -1, 0.1, 0.3, 0.2, 0.5};
	struct run r;

	(void)state;
	run_with(&r, &positioner, on);
	diagnose(&positioner, &tight, &positioner.tolerance, r.readings, r.judged, UP_DOWN, &r.d);
	assert_false(r.d.adjust);
	run_with(&r, &positioner, beyond);
	diagnose(&positioner, &tight, &positioner.tolerance, r.readings, r.judged, UP_DOWN, &r.d);
	assert_true(r.d.adjust);
	diagnose(&positioner, &none, &tight, r.readings, r.judged, UP_DOWN, &r.d);
	assert_true(r.d.adjust); /* the as-left limits serve */
	diagnose(&positioner, &none, &none, r.readings, r.judged, UP_DOWN, &r.d);
	assert_false(r.d.adjust || r.d.limits_set);
}

/* Limits from -0.2 to +1.8 %: errors from -0.9 to +0.9 fit after raising by 0.7 to 0.9, though they lie about zero already. */
static void trim_aims_at_the_middle_of_uneven_limits(void **state)
{
	static const struct tolerance uneven = {{{TOLERANCE_PERCENT_OF_SPAN, 1.8, 0.2}}, 1, JOIN_SUM};
	static const double errors[UP_DOWN] = {-0.9, 0.9, -0.9, 0.9, -0.9, 0.9, -0.9, 0.9, -0.9};
	struct run r;

	(void)state;
	run_with(&r, &positioner, errors);
	diagnose(&positioner, &uneven, &uneven, r.readings, r.judged, UP_DOWN, &r.d);
	assert_true(r.d.adjust);
	assert_true(r.d.trim_helps);
	assert_near(error_after_trim(&r), r.d.predicted_max_error, 1e-9);
}

/*
 * Two cycles up and down over 0, 50 and 100 %, in fractions by independent arithmetic: line 39/70 + 5/14 x, its squares
 * 5.0785714, bend 1/700, hysteresis 0.02 in two pairs, scatter 0.06 with 10 - 3 - 2 degrees of freedom. F ratios 845/7, 625/42, 5/42
 * and 5/6; p by the t distribution's closed form (Abramowitz and Stegun 26.7.3) for one degree of freedom over five, and
 * (1 + 2/5 F)^(-5/2) for two.
 */
static double p_of_t5(double f)
{
	double angle = atan(sqrt(f / 5)), c = cos(angle);

	return 1 - 2 / M_PI * (angle + sin(angle) * (c + 2.0 / 3 * c * c * c));
}

static void two_cycles(struct reading r[10], double u)
{
	static const double sets[5] = {4, 12, 20, 12, 4},
			    errors[10] = {0.5, 0.7, 0.9, 0.8, 0.5, 0.7, 0.9, 0.9, 0.6, 0.5};

	for (int i = 0; i < 10; i++)
		r[i] = (struct reading){
			sets[i % 5], NAN, (sets[i % 5] - 4) * 6.25 + errors[i], i % 5 < 3 ? RISING : FALLING,
			1 + i / 5,   u};
}

static void parts_are_tested_against_the_scatter(void **state)
{
	struct reading r[10];
	struct judged_reading j[10];
	struct evaluation e;
	struct diagnosis d;

	(void)state;
	two_cycles(r, 0);
	assert_true(evaluate(&positioner, r, 10, j, &e));
	diagnose(&positioner, &tight, &tight, r, j, 10, &d);
	assert_int_equal(d.noise_dof, 5);
	assert_near(d.p_value[CAUSE_ZERO], p_of_t5(845.0 / 7), 1e-9);
	assert_near(d.p_value[CAUSE_SPAN], p_of_t5(625.0 / 42), 1e-9);
	assert_near(d.p_value[CAUSE_CURVATURE], p_of_t5(5.0 / 42), 1e-9);
	assert_near(d.p_value[CAUSE_HYSTERESIS], pow(4.0 / 3, -2.5), 1e-9);
	assert_true(0 != isnan(d.p_value[CAUSE_SCATTER]));
	assert_true(d.significant[CAUSE_ZERO] && d.significant[CAUSE_SPAN]);
	assert_true(!d.significant[CAUSE_CURVATURE] && !d.significant[CAUSE_HYSTERESIS] &&
		    !d.significant[CAUSE_SCATTER]);
}

/* 0.06 / u^2 over five degrees of freedom, chi-squared by its closed form (Abramowitz and Stegun 26.4.4). */
static void scatter_is_tested_against_the_uncertainty(void **state)
{
	static const double us[] = {0.1, 0.05};
	struct reading r[10];
	struct judged_reading j[10];
	struct evaluation e;
	struct diagnosis d;

	(void)state;
	for (int i = 0; i < 2; i++) {
		double x = 0.06 / us[i] / us[i];

		two_cycles(r, us[i]);
		assert_true(evaluate(&positioner, r, 10, j, &e));
		diagnose(&positioner, &tight, &tight, r, j, 10, &d);
		assert_near(d.p_value[CAUSE_SCATTER],
			    erfc(sqrt(x / 2)) + sqrt(2 * x / M_PI) * exp(-x / 2) * (1 + x / 3), 1e-9);
		assert_int_equal(d.significant[CAUSE_SCATTER], i == 1);
	}
}

static void exact_pattern_is_more_than_noise_and_nothing_else_is(void **state)
{
	static const double errors[UP_DOWN] = {1.7, 1.7, 1.7, 1.7, 1.7, 1.7, 1.7, 1.7, 1.7};
	struct reading two[2];
	struct judged_reading j[2];
	struct evaluation e;
	struct diagnosis d;
	struct run r;

	(void)state;
	run_with(&r, &positioner, errors);
	assert_near(r.d.p_value[CAUSE_ZERO], 0, 0);
	assert_true(r.d.significant[CAUSE_ZERO]);
	for (int i = CAUSE_SPAN; i <= CAUSE_HYSTERESIS; i++)
		assert_near(r.d.p_value[i], 1, 0);
	two[0] = r.readings[0];
	two[1] = r.readings[4];
	assert_true(evaluate(&positioner, two, 2, j, &e));
	diagnose(&positioner, &tight, &tight, two, j, 2,
		 &d); /* a line through two points leaves nothing to test it by */
	assert_true(0 != isnan(d.p_value[CAUSE_ZERO]) && !d.significant[CAUSE_ZERO]);
	assert_int_equal(d.noise_dof, 0);
}

static unsigned long long noise_seed = 0x853c49e6748fea9bu;

static double gaussian(void)
{
	double u[2];

	for (int i = 0; i < 2; i++) {
		noise_seed ^= noise_seed << 13;
		noise_seed ^= noise_seed >> 7;
		noise_seed ^= noise_seed << 17;
		u[i] = ((double)(noise_seed >> 11) + 0.5) * 0x1p-53;
	}
	return sqrt(-2 * log(u[0])) * cos(2 * M_PI * u[1]);
}

/* At a level of 5 % one test in twenty of pure noise says something is there: 200 of 4000, standard deviation 13.8. */
static void noise_alone_is_found_significant_as_often_as_the_level_says(void **state)
{
	int found[CAUSES] = {0}, runs = 4000;

	(void)state;
	for (int k = 0; k < runs; k++) {
		struct reading r[2 * UP_DOWN];
		struct judged_reading j[2 * UP_DOWN];
		struct evaluation e;
		struct diagnosis d;

		for (int i = 0; i < 2 * UP_DOWN; i++) {
			double set = 4 + 16 * fraction[i % UP_DOWN];

			r[i] = (struct reading){set,
						NAN,
						(set - 4) * 6.25 + 0.2 * gaussian(),
						i % UP_DOWN < 5 ? RISING : FALLING,
						1 + i / UP_DOWN,
						0.2};
		}
		assert_true(evaluate(&positioner, r, 2 * UP_DOWN, j, &e));
		diagnose(&positioner, &tight, &tight, r, j, 2 * UP_DOWN, &d);
		for (int c = 0; c < CAUSES; c++)
			found[c] += d.significant[c];
	}
	for (int c = 0; c < CAUSES; c++) {
		print_message("%s: %.2f %% of runs of noise\n", cause_word((enum cause)c), 100.0 * found[c] / runs);
		assert_near(found[c], 200, 4 * 13.8);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(pure_zero_shift_is_all_zero),
		cmocka_unit_test(pure_span_error_is_all_span),
		cmocka_unit_test(pure_bend_is_all_curvature),
		cmocka_unit_test(pure_sticking_is_all_hysteresis),
		cmocka_unit_test(zero_and_span_share_the_line_by_what_each_alone_leaves),
		cmocka_unit_test(no_error_has_no_cause),
		cmocka_unit_test(shares_are_never_negative_and_add_to_one),
		cmocka_unit_test(prediction_is_what_the_trim_leaves),
		cmocka_unit_test(span_error_of_a_square_root_output_is_span),
		cmocka_unit_test(one_screw_is_turned_where_one_is_enough),
		cmocka_unit_test(adjustment_is_called_for_beyond_the_adjust_limits_only),
		cmocka_unit_test(trim_aims_at_the_middle_of_uneven_limits),
		cmocka_unit_test(parts_are_tested_against_the_scatter),
		cmocka_unit_test(scatter_is_tested_against_the_uncertainty),
		cmocka_unit_test(exact_pattern_is_more_than_noise_and_nothing_else_is),
		cmocka_unit_test(noise_alone_is_found_significant_as_often_as_the_level_says),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
