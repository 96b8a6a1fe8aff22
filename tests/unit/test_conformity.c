#include "metrology/conformity.h"
#include "metrology/random.h"
#include "metrology/statistics.h"
#include "support/check.h"

static const struct limits both = {-1, 1}, upper_only = {-INFINITY, 10};

/* One-sided: the normal integral of the distance in u (printed table: 0.8413 at 1, 0.9772 at 2). */
static void probability_under_one_limit(void **state)
{
	(void)state;
	assert_near(probability_of_conformity(9.8, 0.2, upper_only), 0.8413, 0.00005);
	assert_near(probability_of_conformity(9.6, 0.2, upper_only), 0.9772, 0.00005);
	assert_near(probability_of_conformity(10, 0.2, upper_only), 0.5, 1e-15);
	assert_near(probability_of_nonconformity(8, 0.2, upper_only) / normal_upper(10), 1, 1e-12);
	assert_near(probability_of_conformity(3, 0.5, (struct limits){4, INFINITY}), normal_cdf(-2), 1e-15);
}

static void probability_between_two_limits(void **state)
{
	(void)state;
	assert_near(probability_of_conformity(0, 0.5, both), 0.9545, 0.00005); /* 2 u each way */
	assert_near(probability_of_conformity(0, 1e8, both) / (2e-8 / sqrt(2 * acos(-1))), 1, 1e-12);
	assert_near(probability_of_conformity(5, 0.25, both) / (normal_upper(16) - normal_upper(24)), 1, 1e-12);
	for (double y = -2; y <= 2; y += 0.113)
		assert_near(probability_of_conformity(y, 0.3, both) + probability_of_nonconformity(y, 0.3, both), 1,
			    1e-14);
}

static void probability_falls_with_the_distance_from_the_middle(void **state)
{
	(void)state;
	for (double u = 0.01; u < 20; u *= 1.9)
		for (double y = 0; y < 2; y += 0.05)
			assert_true(probability_of_conformity(y + 0.05, u, both) <=
				    probability_of_conformity(y, u, both));
}

/* Of the whole plane, the part between the ray and the limit: acos(r) / (2 pi) with r the correlation of item and
 * reading. */
static void global_risks_at_a_limit_in_the_middle_of_the_items(void **state)
{
	static const double u[] = {0.03, 0.2, 1, 4};

	(void)state;
	for (size_t i = 0; i < sizeof u / sizeof u[0]; i++) {
		double exact = acos(0.7 / sqrt(0.49 + u[i] * u[i])) / (2 * acos(-1));
		struct limits above = {-INFINITY, 10}, below = {10, INFINITY};
		struct prior prior = {10, 0.7};
		struct global_risk r = global_risk(prior, u[i], above, above),
				   s = global_risk(prior, u[i], below, below);

		assert_near(r.consumer / exact, 1, 1e-11);
		assert_near(r.producer / exact, 1, 1e-11);
		assert_near(s.consumer / exact, 1, 1e-11);
		assert_near(s.producer / exact, 1, 1e-11);
	}
}

/* Accepted share less accepted and bad share is what conforms less what conforms and is rejected. */
static void global_risks_keep_the_books(void **state)
{
	(void)state;
	for (double w = 0; w < 0.9; w += 0.17)
		for (double mean = -1.4; mean < 1.5; mean += 0.7) {
			struct prior prior = {mean, 0.55};
			struct limits accepted = acceptance_limits(both, w);
			struct global_risk r = global_risk(prior, 0.2, both, accepted);
			double reading = sqrt(0.55 * 0.55 + 0.04);

			assert_near(probability_of_conformity(mean, reading, accepted) - r.consumer,
				    probability_of_conformity(mean, 0.55, both) - r.producer, 1e-12);
		}
}

/* By drawing items and readings. */
static void global_risks_agree_with_drawing(void **state)
{
	struct prior prior = {0.2, 0.6};
	struct limits accepted = acceptance_limits(both, 0.15);
	struct global_risk r = global_risk(prior, 0.25, both, accepted);
	int consumer = 0, producer = 0, n = 2000000;
	struct random random;

	(void)state;
	random_seed(&random, 106);
	for (int i = 0; i < n; i++) {
		double item = prior.mean + prior.standard_deviation * random_normal(&random);
		double reading = item + 0.25 * random_normal(&random);
		bool good = item >= both.low && item <= both.high,
		     taken = reading >= accepted.low && reading <= accepted.high;

		consumer += taken && !good;
		producer += good && !taken;
	}
	assert_near(r.consumer, (double)consumer / n, 5 * sqrt(r.consumer / n));
	assert_near(r.producer, (double)producer / n, 5 * sqrt(r.producer / n));
}

/* Far from the limits with a sharp reading and the other way round, no number is lost. */
static void global_risks_of_extreme_ratios(void **state)
{
	struct global_risk r = global_risk((struct prior){0, 0.5}, 1e-6, both, both);

	(void)state;
	/* a narrow strip at each limit: density there times u / sqrt(2 pi), twice */
	assert_near(r.consumer / (2 * exp(-2) / (0.5 * sqrt(2 * acos(-1))) * 1e-6 / sqrt(2 * acos(-1))), 1, 1e-5);
	r = global_risk((struct prior){0, 1e-6}, 0.5, both, both);
	assert_near(r.consumer, 0, 1e-200);
	assert_near(r.producer, 2 * normal_upper(2), 1e-6);
	r = global_risk((struct prior){0, 0.5}, 0.3, both, (struct limits){0.1, -0.1}); /* nothing is accepted */
	assert_near(r.consumer, 0, 0);
	assert_near(r.producer, 1 - 2 * normal_upper(2), 1e-14);
}

/* ILAC-G8: w = U is 2.5 % at most, 2.275 % exactly: one-sided w = 2 u. */
static void guard_band_for_a_specific_risk(void **state)
{
	double risk = normal_upper(2), w;

	(void)state;
	assert_near(guard_for_specific_risk(0.04, upper_only, risk), 0.08, 1e-12);
	assert_near(guard_for_specific_risk(0.04, (struct limits){10, INFINITY}, risk), 0.08, 1e-12);
	assert_near(guard_for_specific_risk(0.04, upper_only, 0.6), 0, 0);
	w = guard_for_specific_risk(0.3, both, 0.05);
	assert_near(probability_of_nonconformity(1 - w, 0.3, both), 0.05, 1e-12);
	assert_true(0 != isnan(guard_for_specific_risk(0.6, both, 0.05))); /* 9.6 % even in the middle */
	assert_true(0 != isnan(guard_for_specific_risk(0.6, (struct limits){-INFINITY, INFINITY}, 0.05)));
}

static void guard_band_for_a_global_risk(void **state)
{
	struct prior prior = {0, 0.51};
	double w = guard_for_global_risk(prior, 0.25, both, 0.001);

	(void)state;
	assert_true(w > 0.01 && w < 0.5);
	assert_near(global_risk(prior, 0.25, both, acceptance_limits(both, w)).consumer, 0.001, 1e-12);
	assert_near(guard_for_global_risk(prior, 0.25, both, 0.02), 0, 0); /* simple acceptance has 1.3 % */
}

/* Product of two normal densities: precisions add; equal ones meet in the middle with u / sqrt(2). */
static void prior_and_reading_are_weighed_by_their_precision(void **state)
{
	double u = 0.3;

	(void)state;
	assert_near(posterior_mean((struct prior){10, 0.3}, 11, &u), 10.5, 1e-14);
	assert_near(u, 0.3 / sqrt(2), 1e-15);
	u = 0.1;
	assert_near(posterior_mean((struct prior){10, 0.2}, 11, &u), 10.8, 1e-14); /* (10 * 25 + 11 * 100) / 125 */
	assert_near(u, sqrt(1.0 / 125), 1e-15);
	u = 1e-200; /* the square of which is no double */
	assert_near(posterior_mean((struct prior){10, 1e-200}, 11, &u), 10.5, 1e-14);
	assert_near(u / 1e-200, sqrt(0.5), 1e-15);
	u = 1e200;
	assert_near(posterior_mean((struct prior){10, 3e200}, 11, &u), 10.9, 1e-14); /* (10 * 1 + 11 * 9) / 10 */
	assert_near(u / 1e200, sqrt(0.9), 1e-15);
}

/* Limits that lie up to 2000 last bits, 2.8e-11, apart: 2.8e-13 standard deviations hold at most 0.4 times that. */
static void no_probability_is_below_nothing(void **state)
{
	struct limits narrow = {100.5, 100.5};

	(void)state;
	for (int i = 0; i < 2000; i++) {
		double p;

		narrow.high = nextafter(narrow.high, INFINITY);
		p = probability_of_conformity(292.274, 100.5, narrow);
		assert_true(p >= 0 && p < 1e-13);
		p = probability_of_conformity(-292.274, 100.5, narrow);
		assert_true(p >= 0 && p < 1e-13);
	}
}

static void ratios_need_two_limits(void **state)
{
	(void)state;
	assert_near(tolerance_ratio(both, 0.25), 4, 1e-15);
	assert_true(0 != isnan(tolerance_ratio(upper_only, 0.25)));
	assert_true(0 != isnan(tolerance_ratio(both, 0)));
}

static void what_cannot_be_said_is_no_number(void **state)
{
	struct global_risk r = global_risk((struct prior){0, 0}, 0.1, both, both);

	(void)state;
	assert_true(0 != isnan(probability_of_conformity(0, 0, both)));
	assert_true(0 != isnan(probability_of_conformity(NAN, 1, both)));
	assert_true(0 != isnan(probability_of_conformity(0, 1, (struct limits){1, -1})));
	assert_true(isnan(r.consumer) && isnan(r.producer));
	assert_true(0 != isnan(guard_for_global_risk((struct prior){0, 1}, 0.1, both, 1)));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(probability_under_one_limit),
		cmocka_unit_test(probability_between_two_limits),
		cmocka_unit_test(probability_falls_with_the_distance_from_the_middle),
		cmocka_unit_test(global_risks_at_a_limit_in_the_middle_of_the_items),
		cmocka_unit_test(global_risks_keep_the_books),
		cmocka_unit_test(global_risks_agree_with_drawing),
		cmocka_unit_test(global_risks_of_extreme_ratios),
		cmocka_unit_test(guard_band_for_a_specific_risk),
		cmocka_unit_test(guard_band_for_a_global_risk),
		cmocka_unit_test(prior_and_reading_are_weighed_by_their_precision),
		cmocka_unit_test(no_probability_is_below_nothing),
		cmocka_unit_test(ratios_need_two_limits),
		cmocka_unit_test(what_cannot_be_said_is_no_number),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
