#include "metrology/fit.h"
#include "metrology/random.h"
#include "support/check.h"

static double work[FIT_POINTS_MAX * (FIT_ORDER_MAX + 2)];

static void exact_polynomial_is_found(void **state)
{
	static const double c[] = {3.25, -0.75, 0.0625, 0.0021};
	double x[17], y[17];
	struct fit f;

	(void)state;
	for (int i = 0; i < 17; i++) {
		x[i] = i * 2.375 - 8;
		y[i] = c[0] + x[i] * (c[1] + x[i] * (c[2] + x[i] * c[3]));
	}
	assert_true(fit_polynomial(x, y, 17, 3, false, work, &f));
	assert_int_equal(f.n_coefficients, 4);
	for (int k = 0; k < 4; k++)
		assert_near(f.coefficient[k], c[k], 1e-11);
	assert_near(f.r_squared, 1, 1e-12);
	assert_near(f.residual_sd, 0, 1e-11);
}

/* Normal equations by hand: x 1 2 3 4, y 2.1 3.9 6.2 7.8. Slope 1.94, intercept 0.15; residuals 0.01 -0.13 0.23
 * -0.11, their squares add to 0.082; s = sqrt(0.041), s(b) = s / sqrt(5), s(a) = s sqrt(30 / 20). SST = 18.90. */
static void line_of_four_points(void **state)
{
	static const double x[] = {1, 2, 3, 4}, y[] = {2.1, 3.9, 6.2, 7.8};
	struct fit f;

	(void)state;
	assert_true(fit_polynomial(x, y, 4, 1, false, work, &f));
	assert_near(f.coefficient[0], 0.15, 1e-13);
	assert_near(f.coefficient[1], 1.94, 1e-13);
	assert_near(f.residual_sd, sqrt(0.041), 1e-13);
	assert_near(f.standard_deviation[1], sqrt(0.041 / 5), 1e-13);
	assert_near(f.standard_deviation[0], sqrt(0.041 * 1.5), 1e-13);
	assert_near(f.r_squared, 1 - 0.082 / 18.90, 1e-13);
}

/* Through zero: b = sum xy / sum xx = 59.7 / 30 = 1.99; squares of residuals: sum yy - b sum xy = 118.9 - 118.803 =
 * 0.097. */
static void line_through_zero(void **state)
{
	static const double x[] = {1, 2, 3, 4}, y[] = {2.1, 3.9, 6.2, 7.8};
	struct fit f;

	(void)state;
	assert_true(fit_polynomial(x, y, 4, 1, true, work, &f));
	assert_int_equal(f.n_coefficients, 2);
	assert_near(f.coefficient[0], 0, 0);
	assert_near(f.coefficient[1], 1.99, 1e-13);
	assert_near(f.residual_sd, sqrt(0.097 / 3), 1e-12);
	assert_near(f.standard_deviation[1], sqrt(0.097 / 3 / 30), 1e-12);
	assert_near(f.r_squared, 1 - 0.097 / 118.9, 1e-12);
}

static void without_freedom_there_is_no_residual_deviation(void **state)
{
	static const double x[] = {1.5, 4}, y[] = {2, 7};
	struct fit f;

	(void)state;
	assert_true(fit_polynomial(x, y, 2, 1, false, work, &f));
	assert_near(f.coefficient[1], 2, 1e-14);
	assert_near(f.coefficient[0], -1, 1e-14);
	assert_true(0 != isnan(f.residual_sd) && isnan(f.standard_deviation[0]));
}

static void points_that_do_not_determine_it_are_refused(void **state)
{
	static const double same[] = {3, 3, 3}, x[] = {1, 2, 2}, y[] = {1, 2, 3}, gap[] = {1, NAN, 3};
	struct fit f;

	(void)state;
	assert_false(fit_polynomial(same, y, 3, 1, false, work, &f));
	assert_false(fit_polynomial(x, y, 3, 2, false, work, &f));
	assert_false(fit_polynomial(x, y, 1, 1, false, work, &f));
	assert_false(fit_polynomial(x, gap, 3, 1, false, work, &f));
	assert_false(fit_polynomial(x, y, 3, -1, false, work, &f));
	assert_false(fit_polynomial(x, y, 3, 0, true, work, &f));
	assert_false(fit_polynomial(x, y, 3, FIT_ORDER_MAX + 1, false, work, &f));
	assert_true(fit_polynomial(x, y, 3, 1, false, work, &f));
}

static void constant_has_no_determination(void **state)
{
	static const double x[] = {1, 2, 3}, y[] = {5, 5, 5};
	struct fit f;

	(void)state;
	assert_true(fit_polynomial(x, y, 3, 1, false, work, &f));
	assert_near(f.coefficient[0], 5, 1e-14);
	assert_true(0 != isnan(f.r_squared));
}

/* By hand: weights 4 1 1, x 0 1 2, y 1 2 5: sums W 6, Wx 3, Wxx 5, Wy 11, Wxy 12: slope (6*12 - 3*11)/(6*5 - 9) =
 * 39/21, intercept (11 - 3*39/21)/6 = 19/21; residuals 2/21, -16/21, 8/21: weighted squares (16 + 256 + 64)/441 =
 * 16/21. About the weighted mean 11/6: 4*25/36 + 1/36 + 361/36 = 462/36. */
static void weighted_line_of_three_points(void **state)
{
	static const double x[] = {0, 1, 2}, y[] = {1, 2, 5}, w[] = {4, 1, 1}, ten[] = {40, 10, 10}, bad[] = {1, 0, 1};
	struct fit f, g;

	(void)state;
	assert_true(fit_weighted(x, y, w, 3, 1, false, work, &f));
	assert_near(f.coefficient[1], 39.0 / 21, 1e-14);
	assert_near(f.coefficient[0], 19.0 / 21, 1e-14);
	assert_near(f.residual_sd, sqrt(16.0 / 21), 1e-14);
	assert_near(f.standard_deviation[1], sqrt(16.0 / 21 * 6 / 21), 1e-14);
	assert_near(f.r_squared, 1 - 16.0 / 21 / (462.0 / 36), 1e-14);
	assert_true(fit_weighted(x, y, ten, 3, 1, false, work, &g)); /* only ratios count */
	assert_near(g.standard_deviation[1], f.standard_deviation[1], 1e-14);
	assert_near(g.r_squared, f.r_squared, 1e-14);
	assert_false(fit_weighted(x, y, bad, 3, 1, false, work, &f));
}

/* A weight of 3 says as much as three equal points: the same curve, through zero too. */
static void weight_counts_as_repetition(void **state)
{
	static const double x[] = {1, 2, 3, 5}, y[] = {2.2, 3.7, 6.3, 9.4}, w[] = {1, 3, 2, 1};
	static const double xx[] = {1, 2, 2, 2, 3, 3, 5}, yy[] = {2.2, 3.7, 3.7, 3.7, 6.3, 6.3, 9.4};
	struct fit f, g;

	(void)state;
	for (int order = 1; order <= 2; order++)
		for (int zero = 0; zero <= 1; zero++) {
			assert_true(fit_weighted(x, y, w, 4, order, zero, work, &f));
			assert_true(fit_polynomial(xx, yy, 7, order, zero, work, &g));
			for (int k = 0; k <= order; k++)
				assert_near(f.coefficient[k], g.coefficient[k], 1e-12);
			assert_near(f.r_squared, g.r_squared, 1e-12);
		}
}

/* Years against a drift in hundredths of per cent, order 3. In fractions of whole numbers: c3 = -31/396000, c2 =
 * 439031/924000, c1 = -666176759/693000, c0 = 299507417861/462000; deviations from the same, with 40 digits. */
static void years_do_not_eat_the_digits(void **state)
{
	static const double x[] = {2019, 2020, 2021, 2022, 2023, 2024, 2025, 2026},
			    y[] = {0.010, 0.013, 0.020, 0.018, 0.026, 0.030, 0.041, 0.039},
			    c[] = {299507417861 / 462000.0, -666176759 / 693000.0, 439031 / 924000.0, -31 / 396000.0},
			    deviation[] = {1173940.815412862, 1741.323564890269, 0.8609763295938774,
					   0.0001418996766789088};
	double at;
	struct fit f;

	(void)state;
	assert_true(fit_polynomial(x, y, 8, 3, false, work, &f));
	assert_near(f.residual_sd, 0.003458395268834642, 1e-15);
	for (int k = 0; k < 4; k++) {
		assert_near(f.coefficient[k] / c[k], 1, 1e-12);
		assert_near(f.standard_deviation[k] / deviation[k], 1, 1e-12);
	}
	assert_near(fit_value(&f, 2027, &at), 0.04357142857142857, 1e-15);
	assert_near(at, 0.0085215789785081, 1e-15);
	assert_near(fit_value(&f, 2022.5, &at), 0.02378125, 1e-16);
	assert_near(at, 0.001859390062782307, 1e-15);
	assert_true(fit_polynomial(x, y, 8, 5, false, work, &f)); /* eight years are enough for it */
}

/* A line's deviation at x: s sqrt(1/n + (x - mean)^2 / Sxx); four points at 1..4, at x = 6: s sqrt(0.25 + 12.25 /
 * 5). */
static void value_has_its_deviation(void **state)
{
	static const double x[] = {1, 2, 3, 4}, y[] = {2.1, 3.9, 6.2, 7.8};
	struct fit f;
	double deviation;

	(void)state;
	assert_true(fit_polynomial(x, y, 4, 1, false, work, &f));
	assert_near(fit_value(&f, 6, &deviation), 0.15 + 6 * 1.94, 1e-12);
	assert_near(deviation, sqrt(0.041) * sqrt(0.25 + 12.25 / 5), 1e-12);
	assert_near(f.covariance[0][1], -0.041 * 2.5 / 5, 1e-13);
	assert_near(fit_value(&f, 2.5, NULL), 5, 1e-12);
	fit_value(&f, 2.5, &deviation);
	assert_near(deviation, sqrt(0.041 / 4), 1e-12);
}

static double pairs[THEIL_SEN_POINTS_MAX * THEIL_SEN_POINTS_MAX];

/* y 1 2 3 4 5 16 7 at x 1..7: slopes -9, fifteen 1, 3, 3.5, 13/3, 6, 11; S has variance 7*6*19/18, so ranks 3 and 19
 * at 95 %. (Helsel and Hirsch, Statistical Methods in Water Resources, chapter 10: slope 1; from memory. Slopes by
 * hand.) */
static void one_wild_point_does_not_turn_the_line_of_theil_and_sen(void **state)
{
	static const double x[] = {1, 2, 3, 4, 5, 6, 7}, y[] = {1, 2, 3, 4, 5, 16, 7};
	struct theil_sen t;
	struct fit f;

	(void)state;
	assert_true(theil_sen(x, y, 7, 0.95, pairs, &t));
	assert_int_equal(t.pairs, 21);
	assert_near(t.slope, 1, 0);
	assert_near(t.intercept, 0, 0);
	assert_near(t.slope_low, 1, 0);
	assert_near(t.slope_high, 13.0 / 3, 1e-15);
	assert_true(fit_polynomial(x, y, 7, 1, false, work, &f));
	assert_true(f.coefficient[1] > 1.5); /* least squares is turned */
}

/* Equal x give no slope; ties lower the variance: x 1 1 2 2, y 1 3 2 6: slopes 1 5 -1 3, median 2, medians of y -
 * 2x: -1 1 -2 2. */
static void repeated_x_gives_no_slope(void **state)
{
	static const double x[] = {1, 1, 2, 2}, y[] = {1, 3, 2, 6}, same[] = {4, 4, 4, 4};
	struct theil_sen t;

	(void)state;
	assert_true(theil_sen(x, y, 4, 0.95, pairs, &t));
	assert_int_equal(t.pairs, 4);
	assert_near(t.slope, 2, 0);
	assert_near(t.intercept, 0, 0);
	assert_true(isnan(t.slope_low) && isnan(t.slope_high)); /* four pairs cannot say that */
	assert_false(theil_sen(same, y, 4, 0.95, pairs, &t));
	assert_false(theil_sen(x, y, 1, 0.95, pairs, &t));
	assert_false(theil_sen(x, y, 4, 1, pairs, &t));
	assert_true(theil_sen(x, same, 4, 0.5, pairs, &t));
	assert_near(t.slope, 0, 0);
}

/* A drift with noise: the bounds hold the true slope about as often as they say (95 %: between 92 and 98 of 100 in
 * 1000 series). */
static void bounds_of_theil_and_sen_hold_the_slope(void **state)
{
	struct random r;
	int held = 0;

	(void)state;
	random_seed(&r, 1968);
	for (int series = 0; series < 1000; series++) {
		double x[15], y[15];
		struct theil_sen t;

		for (int i = 0; i < 15; i++) {
			x[i] = i * 3 + random_uniform(&r);
			y[i] = 0.02 * x[i] + 0.1 * random_t(&r, 3);
		}
		assert_true(theil_sen(x, y, 15, 0.95, pairs, &t));
		held += t.slope_low <= 0.02 && t.slope_high >= 0.02;
	}
	print_message("Theil-Sen bounds at 95 %%: %d of 1000 series hold the slope\n", held);
	assert_true(held >= 920 && held <= 985);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(exact_polynomial_is_found),
		cmocka_unit_test(line_of_four_points),
		cmocka_unit_test(line_through_zero),
		cmocka_unit_test(without_freedom_there_is_no_residual_deviation),
		cmocka_unit_test(points_that_do_not_determine_it_are_refused),
		cmocka_unit_test(constant_has_no_determination),
		cmocka_unit_test(weighted_line_of_three_points),
		cmocka_unit_test(weight_counts_as_repetition),
		cmocka_unit_test(years_do_not_eat_the_digits),
		cmocka_unit_test(value_has_its_deviation),
		cmocka_unit_test(one_wild_point_does_not_turn_the_line_of_theil_and_sen),
		cmocka_unit_test(repeated_x_gives_no_slope),
		cmocka_unit_test(bounds_of_theil_and_sen_hold_the_slope),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
