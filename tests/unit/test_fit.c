#include "metrology/fit.h"
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

/* Normal equations by hand: x 1 2 3 4, y 2.1 3.9 6.2 7.8. Slope 1.94, intercept 0.15; residuals 0.01 -0.13 0.23 -0.11,
 * their squares add to 0.082; s = sqrt(0.041), s(b) = s / sqrt(5), s(a) = s sqrt(30 / 20). SST = 18.90. */
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

/* Through zero: b = sum xy / sum xx = 59.7 / 30 = 1.99; squares of residuals: sum yy - b sum xy = 118.9 - 118.803 = 0.097. */
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

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(exact_polynomial_is_found),
		cmocka_unit_test(line_of_four_points),
		cmocka_unit_test(line_through_zero),
		cmocka_unit_test(without_freedom_there_is_no_residual_deviation),
		cmocka_unit_test(points_that_do_not_determine_it_are_refused),
		cmocka_unit_test(constant_has_no_determination),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
