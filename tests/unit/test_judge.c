#include "metrology/evaluation.h"
#include "support/check.h"

static const struct decision_rule simple = {DECISION_SIMPLE, 0}, guarded = {DECISION_GUARDED, 1};
static const struct limits half = {-0.5, 0.5};

static double decimal(long counts, long per_unit)
{
	return (double)counts / (double)per_unit; /* the double nearest to the decimal, as a typed number is read */
}

/* ---- limits ---- */

static struct limits limits_of(enum tolerance_kind kind, double plus, double minus, struct range output,
			       double expected)
{
	struct tolerance t = {{{kind, plus, minus}}, 1, JOIN_SUM};

	return tolerance_limits(&t, output, expected);
}

static void each_kind_of_term_takes_its_own_base(void **state)
{
	struct range output = {-40, 160};
	struct limits l;

	(void)state;
	l = limits_of(TOLERANCE_ABSOLUTE, 0.3, 0.2, output, 77.7);
	assert_near(l.high, 0.3, 1e-15);
	assert_near(l.low, -0.2, 1e-15);
	l = limits_of(TOLERANCE_PERCENT_OF_SPAN, 0.25, 0.25, output, 77.7);
	assert_near(l.high, 0.5, 1e-12); /* 0.25 % of 200 */
	l = limits_of(TOLERANCE_PERCENT_OF_READING, 0.5, 0.5, output, -31.4);
	assert_near(l.high, 0.157, 1e-12); /* 0.5 % of 31.4, whatever the sign */
	assert_near(l.low, -0.157, 1e-12);
	l = limits_of(TOLERANCE_PERCENT_OF_HIGH, 0.5, 0.5, output, 0);
	assert_near(l.high, 0.8, 1e-12); /* 0.5 % of 160 */
	l = limits_of(TOLERANCE_PERCENT_OF_HIGH, 0.5, 0.5, (struct range){100, -300}, 0);
	assert_near(l.high, 1.5, 1e-12);
}

static void reverse_acting_range_has_the_same_limits(void **state)
{
	struct limits l = limits_of(TOLERANCE_PERCENT_OF_SPAN, 0.5, 0.5, (struct range){20, 4}, 12);

	(void)state;
	assert_near(l.low, -0.08, 1e-15);
	assert_near(l.high, 0.08, 1e-15);
}

static void terms_add_or_the_greatest_counts(void **state)
{
	struct tolerance t = {{{TOLERANCE_PERCENT_OF_READING, 0.2, 0.2}, {TOLERANCE_ABSOLUTE, 0.3, 0.1}}, 2, JOIN_SUM};
	struct range output = {0, 1000};
	struct limits l;

	(void)state;
	l = tolerance_limits(&t, output, 235);
	assert_near(l.high, 0.77, 1e-12);
	assert_near(l.low, -0.57, 1e-12);
	t.join = JOIN_GREATEST;
	l = tolerance_limits(&t, output, 235);
	assert_near(l.high, 0.47, 1e-12);
	l = tolerance_limits(&t, output, 81);
	assert_near(l.high, 0.3, 1e-12);
	assert_near(l.low, -0.162, 1e-12);
}

static void without_terms_nothing_is_judged(void **state)
{
	struct tolerance t = {.n_terms = 0};
	struct limits l = tolerance_limits(&t, (struct range){4, 20}, 12);

	(void)state;
	assert_true(0 != isnan(l.low) && isnan(l.high));
	assert_int_equal(judge(0, l, 16, &simple, 0), VERDICT_NOT_JUDGED);
}

/* ---- on the limit ---- */

/*
 * A reading exactly on its limit as typed is inside, one count beyond is outside: expected values of 4..20 in thousandths,
 * limits of 0.001..0.160, above and below. On raw doubles about a third of these come out wrong.
 */
static void reading_on_the_limit_as_typed_is_inside(void **state)
{
	static const long limits[] = {1, 8, 16, 40, 80, 160, 23, 47, 117};
	long on = 0, beyond = 0, naive = 0, cases = 0;

	(void)state;
	for (long expected = 4000; expected <= 19820; expected += 2) {
		for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
			struct limits l = {-decimal(limits[i], 1000), decimal(limits[i], 1000)};
			double at = decimal(expected, 1000);
			double up = decimal(expected + limits[i], 1000) - at,
			       down = decimal(expected - limits[i], 1000) - at;

			on += judge(up, l, 16, &simple, 0) != VERDICT_PASS;
			on += judge(down, l, 16, &simple, 0) != VERDICT_PASS;
			up = decimal(expected + limits[i] + 1, 1000) - at;
			down = decimal(expected - limits[i] - 1, 1000) - at;
			beyond += judge(up, l, 16, &simple, 0) != VERDICT_FAIL;
			beyond += judge(down, l, 16, &simple, 0) != VERDICT_FAIL;
			naive += fabs(decimal(expected + limits[i], 1000) - at) > l.high;
			cases += 2;
		}
	}
	assert_true(cases >= 140000);
	assert_true(naive > 10000); /* the trap is there */
	assert_int_equal(on, 0);
	assert_int_equal(beyond, 0);
}

/* A range far from zero has more binary noise than its span tells: 100 000 to 100 100 Pa, read to 0.01. */
static void range_far_from_zero_is_judged_by_its_reach(void **state)
{
	struct test_setup setup = {.input = {0, 100},
				   .output = {100000, 100100},
				   .characteristic = {.kind = CHARACTERISTIC_LINEAR},
				   .tolerance = {{{TOLERANCE_ABSOLUTE, 0.07, 0.07}}, 1, JOIN_SUM},
				   .decision = {DECISION_SIMPLE, 0}};
	int wrong = 0;

	(void)state;
	for (long i = 0; i <= 10000; i++) {
		struct reading r[2] = {{decimal(i, 100), NAN, decimal(10000000 + i + 7, 100), RISING, 1, 0},
				       {decimal(i, 100), NAN, decimal(10000000 + i - 8, 100), RISING, 1, 0}};
		struct judged_reading j[2];
		struct evaluation sum;

		assert_true(evaluate(&setup, r, 2, j, &sum));
		wrong += j[0].verdict != VERDICT_PASS;
		wrong += j[1].verdict != VERDICT_FAIL;
	}
	assert_int_equal(wrong, 0);
}

static void error_beyond_all_measure_is_outside(void **state)
{
	(void)state;
	assert_int_equal(judge(1e300, half, 16, &simple, 0), VERDICT_FAIL);
	assert_int_equal(judge(-1e308, half, 16, &guarded, 0.1), VERDICT_FAIL);
	assert_int_equal(judge(INFINITY, half, 16, &simple, 0), VERDICT_FAIL);
}

static void without_numbers_nothing_is_judged(void **state)
{
	(void)state;
	assert_int_equal(judge(NAN, half, 16, &simple, 0), VERDICT_NOT_JUDGED);
	assert_int_equal(judge(0, (struct limits){NAN, 1}, 16, &simple, 0), VERDICT_NOT_JUDGED);
	assert_int_equal(judge(0, half, 0, &simple, 0), VERDICT_NOT_JUDGED);
	assert_int_equal(judge(0, half, 16, &guarded, NAN), VERDICT_NOT_JUDGED);
}

static void limit_of_zero_lets_only_no_error_pass(void **state)
{
	struct limits none = {0, 0};

	(void)state;
	assert_int_equal(judge(0, none, 16, &simple, 0), VERDICT_PASS);
	assert_int_equal(judge(0.001, none, 16, &simple, 0), VERDICT_FAIL);
}

/* ---- guarded: w = factor * U, U = 2 u (ILAC-G8:09/2019); limits 0.5, u = 0.06, so w = 0.12 ---- */

static void guarded_statement_has_four_answers(void **state)
{
	static const struct {
		double error;
		enum verdict verdict;
	} cases[] = {
		{0, VERDICT_PASS},
		{0.37, VERDICT_PASS},
		{0.38, VERDICT_PASS},
		{0.381, VERDICT_CONDITIONAL_PASS},
		{0.5, VERDICT_CONDITIONAL_PASS},
		{0.501, VERDICT_CONDITIONAL_FAIL},
		{0.62, VERDICT_CONDITIONAL_FAIL},
		{0.621, VERDICT_FAIL},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		assert_int_equal(judge(cases[i].error, half, 16, &guarded, 0.06), cases[i].verdict);
		assert_int_equal(judge(-cases[i].error, half, 16, &guarded, 0.06), cases[i].verdict);
	}
}

static void guard_factor_scales_the_guard_band(void **state)
{
	struct decision_rule narrow = {DECISION_GUARDED, 0.83};

	(void)state; /* w = 0.83 * 2 * 0.05 = 0.083 */
	assert_int_equal(judge(0.417, half, 16, &narrow, 0.05), VERDICT_PASS);
	assert_int_equal(judge(0.418, half, 16, &narrow, 0.05), VERDICT_CONDITIONAL_PASS);
	assert_int_equal(judge(0.583, half, 16, &narrow, 0.05), VERDICT_CONDITIONAL_FAIL);
	assert_int_equal(judge(0.584, half, 16, &narrow, 0.05), VERDICT_FAIL);
}

static void without_uncertainty_guarded_is_simple(void **state)
{
	(void)state;
	assert_int_equal(judge(0.5, half, 16, &guarded, 0), VERDICT_PASS);
	assert_int_equal(judge(0.501, half, 16, &guarded, 0), VERDICT_FAIL);
}

static void each_side_is_judged_by_its_own_limit(void **state)
{
	struct limits l = {-0.1, 0.7};

	(void)state;
	assert_int_equal(judge(0.7, l, 16, &simple, 0), VERDICT_PASS);
	assert_int_equal(judge(-0.1, l, 16, &simple, 0), VERDICT_PASS);
	assert_int_equal(judge(-0.101, l, 16, &simple, 0), VERDICT_FAIL);
	/* w = 0.2: acceptance from 0.1 to 0.5, so that no error at all is too near the lower limit */
	assert_int_equal(judge(0, l, 16, &guarded, 0.1), VERDICT_CONDITIONAL_PASS);
	assert_int_equal(judge(0.3, l, 16, &guarded, 0.1), VERDICT_PASS);
	assert_int_equal(judge(-0.3, l, 16, &guarded, 0.1), VERDICT_CONDITIONAL_FAIL);
	assert_int_equal(judge(-0.301, l, 16, &guarded, 0.1), VERDICT_FAIL);
}

static void guard_band_wider_than_the_limits_passes_nothing_outright(void **state)
{
	(void)state;
	for (int i = -500; i <= 500; i++)
		assert_int_equal(judge(i / 1000.0, half, 16, &guarded, 0.26), VERDICT_CONDITIONAL_PASS);
	assert_int_equal(judge(1.02, half, 16, &guarded, 0.26), VERDICT_CONDITIONAL_FAIL);
	assert_int_equal(judge(1.021, half, 16, &guarded, 0.26), VERDICT_FAIL);
}

static void larger_error_never_gets_a_better_verdict(void **state)
{
	(void)state;
	for (int k = 0; k <= 40; k++) {
		enum verdict last = VERDICT_PASS;

		for (int i = 0; i <= 2000; i++) {
			enum verdict v = judge(i / 1000.0, half, 16, &guarded, k * 0.01);

			assert_true(i == 0 || v >= last);
			last = v;
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_kind_of_term_takes_its_own_base),
		cmocka_unit_test(reverse_acting_range_has_the_same_limits),
		cmocka_unit_test(terms_add_or_the_greatest_counts),
		cmocka_unit_test(without_terms_nothing_is_judged),
		cmocka_unit_test(reading_on_the_limit_as_typed_is_inside),
		cmocka_unit_test(range_far_from_zero_is_judged_by_its_reach),
		cmocka_unit_test(error_beyond_all_measure_is_outside),
		cmocka_unit_test(without_numbers_nothing_is_judged),
		cmocka_unit_test(limit_of_zero_lets_only_no_error_pass),
		cmocka_unit_test(guarded_statement_has_four_answers),
		cmocka_unit_test(guard_factor_scales_the_guard_band),
		cmocka_unit_test(without_uncertainty_guarded_is_simple),
		cmocka_unit_test(each_side_is_judged_by_its_own_limit),
		cmocka_unit_test(guard_band_wider_than_the_limits_passes_nothing_outright),
		cmocka_unit_test(larger_error_never_gets_a_better_verdict),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
