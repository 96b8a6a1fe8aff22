#include "metrology/switch.h"
#include "support/check.h"

#include <stdbool.h>

/* High pressure switch, 0..10 bar, acts rising at 6.00 bar, back at 5.50, 1 % of span, dead band 0.3 to 0.7 bar. */
static const struct switch_spec high = {
	.input = {0, 10},
	.set_point = 6,
	.reset_point = 5.5,
	.acts_on = RISING,
	.tolerance = {{{TOLERANCE_PERCENT_OF_SPAN, 1, 1}}, 1, JOIN_SUM},
	.dead_band = {0.3, 0.7},
	.decision = {DECISION_SIMPLE, 0},
};

static void switch_is_judged_where_it_acts_and_where_it_goes_back(void **state)
{
	static const struct actuation a[] = {{6.05, 5.52}, {6.08, 5.55}, {6.02, 5.48}};
	struct judged_actuation j[3];
	struct switch_summary s;

	(void)state;
	assert_true(switch_evaluate(&high, a, 3, j, &s));
	assert_near(j[0].set_error, 0.05, 1e-12);
	assert_near(j[2].reset_error, -0.02, 1e-12);
	assert_near(j[1].dead_band, 0.53, 1e-12);
	assert_near(s.set, 6.05, 1e-12);
	assert_near(s.reset, 5.51666666666667, 1e-12);
	assert_near(s.set_error, 0.05, 1e-12);
	assert_near(s.max_set_error, 0.08, 1e-12);
	assert_near(s.dead_band, 0.53333333333333, 1e-12); /* 0.53, 0.53, 0.54 */
	assert_near(s.set_repeatability, 0.06, 1e-12);
	assert_near(s.reset_repeatability, 0.07, 1e-12);
	assert_near(s.limits.high, 0.1, 1e-15);
	assert_int_equal(s.verdict, VERDICT_PASS);
}

static void one_bad_actuation_fails_the_switch(void **state)
{
	static const struct actuation a[] = {{6.10, 5.52}, {6.11, 5.55}};
	struct judged_actuation j[2];
	struct switch_summary s;

	(void)state;
	assert_true(switch_evaluate(&high, a, 2, j, &s));
	assert_int_equal(j[0].set_verdict, VERDICT_PASS); /* 0.10 is on the limit */
	assert_int_equal(j[1].set_verdict, VERDICT_FAIL);
	assert_int_equal(s.set_verdict, VERDICT_FAIL);
	assert_int_equal(s.reset_verdict, VERDICT_PASS);
	assert_int_equal(s.verdict, VERDICT_FAIL);
}

static void dead_band_has_limits_of_its_own(void **state)
{
	struct switch_spec spec = high;
	struct actuation a = {6, 5.2};
	struct judged_actuation j;
	struct switch_summary s;

	(void)state;
	spec.reset_point = NAN;
	assert_true(switch_evaluate(&spec, &a, 1, &j, &s));
	assert_int_equal(s.dead_band_verdict, VERDICT_FAIL); /* 0.8 bar */
	assert_int_equal(s.reset_verdict, VERDICT_NOT_JUDGED);
	assert_true(0 != isnan(s.set_repeatability));
	a.reset = 5.3; /* 0.7 bar, on the limit */
	assert_true(switch_evaluate(&spec, &a, 1, &j, &s));
	assert_int_equal(s.verdict, VERDICT_PASS);
	spec.dead_band.high = NAN;
	a.reset = 1;
	assert_true(switch_evaluate(&spec, &a, 1, &j, &s));
	assert_int_equal(s.dead_band_verdict, VERDICT_PASS);
	spec.dead_band.low = NAN;
	assert_true(switch_evaluate(&spec, &a, 1, &j, &s));
	assert_int_equal(s.dead_band_verdict, VERDICT_NOT_JUDGED);
	a.reset = NAN;
	assert_true(switch_evaluate(&high, &a, 1, &j, &s));
	assert_true(0 != isnan(s.dead_band) && 0 != isnan(s.reset));
	assert_int_equal(s.dead_band_verdict, VERDICT_NOT_JUDGED);
}

static void low_switch_goes_back_upwards(void **state)
{
	struct switch_spec low = high;
	struct actuation a = {1.98, 2.45};
	struct judged_actuation j;
	struct switch_summary s;

	(void)state;
	low.set_point = 2;
	low.reset_point = 2.5;
	low.acts_on = FALLING;
	assert_true(switch_evaluate(&low, &a, 1, &j, &s));
	assert_near(j.dead_band, 0.47, 1e-12);
	assert_int_equal(s.verdict, VERDICT_PASS);
	a.reset = 1.9; /* on the wrong side */
	assert_true(switch_evaluate(&low, &a, 1, &j, &s));
	assert_near(j.dead_band, -0.08, 1e-12);
	assert_int_equal(s.dead_band_verdict, VERDICT_FAIL);
}

/* w = 1 * 2 * 0.01 = 0.02: 0.09 is within the guard band of 0.10, 0.11 just outside the limit. */
static void guard_band_applies_to_set_points(void **state)
{
	static const struct actuation a[] = {{6.07, 5.5}, {6.09, 5.5}, {6.11, 5.5}, {6.13, 5.5}};
	struct switch_spec spec = high;
	struct judged_actuation j[4];
	struct switch_summary s;

	(void)state;
	spec.decision = (struct decision_rule){DECISION_GUARDED, 1};
	spec.u = 0.01;
	assert_true(switch_evaluate(&spec, a, 4, j, &s));
	assert_int_equal(j[0].set_verdict, VERDICT_PASS);
	assert_int_equal(j[1].set_verdict, VERDICT_CONDITIONAL_PASS);
	assert_int_equal(j[2].set_verdict, VERDICT_CONDITIONAL_FAIL);
	assert_int_equal(j[3].set_verdict, VERDICT_FAIL);
}

static void switch_that_cannot_be_judged_is_refused(void **state)
{
	struct switch_spec spec = high;
	struct actuation a[ACTUATIONS_MAX + 1] = {{6, 5.5}};
	struct judged_actuation j[ACTUATIONS_MAX + 1];
	struct switch_summary s;

	(void)state;
	assert_false(switch_evaluate(&high, a, 0, j, &s));
	assert_false(switch_evaluate(&high, a, ACTUATIONS_MAX + 1, j, &s));
	spec.input.high = 0;
	assert_false(switch_evaluate(&spec, a, 1, j, &s));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(switch_is_judged_where_it_acts_and_where_it_goes_back),
		cmocka_unit_test(one_bad_actuation_fails_the_switch),
		cmocka_unit_test(dead_band_has_limits_of_its_own),
		cmocka_unit_test(low_switch_goes_back_upwards),
		cmocka_unit_test(guard_band_applies_to_set_points),
		cmocka_unit_test(switch_that_cannot_be_judged_is_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
