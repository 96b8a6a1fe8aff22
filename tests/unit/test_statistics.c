/* Distributions: printed table values, closed forms, inverses, edges. The mass comparison is in tests/reference. */
#include "metrology/statistics.h"
#include "support/check.h"

#define assert_nan(v) assert_true(0 != isnan(v))

/* Closed forms: t with 1 degree of freedom is Cauchy's, F_t = 1/2 + atan(t)/pi; with 2, 1/2 + t / (2 sqrt(2 + t^2)). */
static void t_with_one_and_two_degrees_has_closed_forms(void **state)
{
	static const double at[] = {-1e6, -6.3138, -1, -0.001, 0, 0.75, 2.92, 1e4};

	(void)state;
	for (size_t i = 0; i < sizeof at / sizeof at[0]; i++) {
		double t = at[i];

		assert_near(t_upper(t, 1), t > 0 ? atan(1 / t) / acos(-1) : 0.5 - atan(t) / acos(-1), 1e-15);
		assert_near(t_cdf(t, 2), 0.5 + t / (2 * sqrt(2 + t * t)), 1e-15);
	}
	assert_near(t_upper(1e9, 1) * 1e9, 1 / acos(-1), 1e-12); /* the tail keeps its digits */
}

/* t factors as every table prints them (JCGM 100:2008, table G.2, from memory). */
static void t_factors_of_printed_tables(void **state)
{
	(void)state;
	assert_near(t_coverage_factor(0.95, 16), 2.12, 0.005);
	assert_near(t_coverage_factor(0.99, 16), 2.92, 0.005);
	assert_near(t_coverage_factor(0.9545, 4), 2.87, 0.005);
	assert_near(t_coverage_factor(0.95, INFINITY), 1.959963984540054, 1e-14);
	assert_near(t_coverage_factor(0.9545, INFINITY), 2.0000024438996, 1e-12);
	assert_near(t_quantile(0.975, 1), 12.7062047361747, 1e-11);
	assert_near(t_quantile(0.5, 7), 0, 0);
}

/* With growing dof t goes over into the normal distribution, without a step where the formula changes (at 1e8). */
static void t_joins_the_normal_distribution(void **state)
{
	(void)state;
	for (double p = 0.6; p < 0.9999; p += 0.0321) {
		double z = normal_quantile(p);

		assert_near(t_quantile(p, 0.99e8), z + z * (z * z + 1) / 4 / 0.99e8, 1e-13); /* A and S 26.7.5 */
		assert_near(t_quantile(p, 1.01e8), z + z * (z * z + 1) / 4 / 1.01e8, 1e-13);
		assert_near(t_quantile(p, INFINITY), z, 0);
		assert_near(t_cdf(z, 0.99e8), t_cdf(z, 1.01e8), 1e-10);
	}
}

/* Chi-squared with 2 degrees is exponential; F(2, 2) is f / (1 + f); chi-squared with 1 is the square of a normal. */
static void other_closed_forms(void **state)
{
	(void)state;
	for (double x = 0.013; x < 60; x *= 1.7) {
		assert_near(chi_squared_upper(x, 2) / exp(-x / 2), 1, 1e-14);
		assert_near(chi_squared_upper(x, 1) / erfc(sqrt(x / 2)), 1, 2e-14);
		assert_near(f_cdf(x, 2, 2), x / (1 + x), 1e-15);
		assert_near(beta_cdf(x / 61, 1, 3), 1 - pow(1 - x / 61, 3), 1e-15);
		assert_near(weibull_cdf(x, 1, 20), 1 - exp(-x / 20), 1e-15);
	}
	/* printed F table: 3.33; 3.325835 from memory */
	assert_near(f_quantile(0.95, 5, 10), 3.325835, 5e-7);
	assert_near(chi_squared_quantile(0.95, 10), 18.307038, 5e-7);	/* printed table: 18.307 */
	assert_near(weibull_quantile(1 - exp(-1), 2.5, 40), 40, 1e-12); /* the scale is the 63.2 % point */
}

/* Exact counts: 5 coins, P(X <= 2) = 16/32; 3 of 6 at 1/3: (64 + 192 + 240 + 160) / 729. */
static void binomial_counts(void **state)
{
	(void)state;
	assert_near(binomial_cdf(2, 5, 0.5), 0.5, 1e-15);
	assert_near(binomial_cdf(3, 6, 1.0 / 3), 656.0 / 729, 1e-15);
	assert_near(binomial_upper(3, 6, 1.0 / 3), 73.0 / 729, 1e-15);
	assert_near(binomial_cdf(-1, 5, 0.2), 0, 0);
	assert_near(binomial_cdf(5, 5, 0.2), 1, 0);
	assert_near(binomial_cdf(2, 5, 0), 1, 0);
	assert_near(binomial_cdf(2, 5, 1), 0, 0);
}

/* Zero of n: the upper bound is 1 - (alpha/2)^(1/n). */
static void clopper_pearson_at_its_ends(void **state)
{
	double low, high;

	(void)state;
	assert_true(clopper_pearson(0, 30, 0.95, &low, &high));
	assert_near(low, 0, 0);
	assert_near(high, 1 - pow(0.025, 1.0 / 30), 1e-14);
	assert_true(clopper_pearson(12, 12, 0.9, &low, &high));
	assert_near(low, pow(0.05, 1.0 / 12), 1e-14);
	assert_near(high, 1, 0);
	assert_true(clopper_pearson(7, 19, 0.95, &low, &high));
	assert_near(binomial_upper(6, 19, low), 0.025, 1e-14); /* the definition */
	assert_near(binomial_cdf(7, 19, high), 0.025, 1e-14);
	assert_false(clopper_pearson(3, 2, 0.95, &low, &high));
	assert_false(clopper_pearson(-1, 2, 0.95, &low, &high));
	assert_false(clopper_pearson(0, 0, 0.95, &low, &high));
	assert_false(clopper_pearson(1, 2, 1, &low, &high));
}

static void quantiles_undo_the_distributions(void **state)
{
	(void)state;
	for (double p = 1e-9; p < 1; p = p < 0.01 ? p * 7.3 : p + 0.0371) {
		assert_near(normal_cdf(normal_quantile(p)) / p, 1, 1e-13);
		for (double dof = 0.7; dof < 3000; dof *= 2.9) {
			assert_near(t_cdf(t_quantile(p, dof), dof) / p, 1, 1e-12);
			assert_near(chi_squared_cdf(chi_squared_quantile(p, dof), dof) / p, 1, 1e-12);
			assert_near(f_cdf(f_quantile(p, dof, 11), dof, 11) / p, 1, 1e-12);
			assert_near(beta_cdf(beta_quantile(p, dof, 1.5), dof, 1.5) / p, 1, 1e-10);
			assert_near(weibull_cdf(weibull_quantile(p, dof, 30), dof, 30) / p, 1, 1e-12);
		}
	}
}

/* Closed forms: t of one degree is -1 / tan(pi p), chi-squared of two -2 ln(1 - p); both with the digits of p itself. */
static void quantiles_far_out_are_right_or_no_number(void **state)
{
	(void)state;
	assert_near(t_quantile(1e-140, 1) * M_PI * 1e-140, -1, 1e-12);
	assert_near(chi_squared_quantile(1e-290, 2) / 2e-290, 1, 1e-12);
	assert_nan(t_quantile(1e-200, 1));
	assert_nan(chi_squared_quantile(1e-300, 2));
	assert_nan(f_quantile(1e-250, 1, 1));
	assert_true(t_quantile(1e-200, 30) < -1e6);
}

static void ends_are_the_ends(void **state)
{
	(void)state;
	assert_true(isinf(normal_quantile(0)) && normal_quantile(0) < 0);
	assert_true(isinf(normal_quantile(1)) && normal_quantile(1) > 0);
	assert_true(isinf(t_quantile(1, 5)) && t_quantile(0, 5) < 0);
	assert_near(chi_squared_quantile(0, 5), 0, 0);
	assert_true(0 != isinf(f_quantile(1, 5, 5)));
	assert_near(f_cdf(-1, 5, 5), 0, 0);
	assert_near(f_upper(INFINITY, 5, 5), 0, 0);
	assert_near(t_cdf(1e300, 5), 1, 0);
	assert_near(t_upper(-INFINITY, 5), 1, 0);
	assert_near(normal_cdf(-400), 0, 0);
	assert_near(chi_squared_upper(INFINITY, 3), 0, 0);
	assert_near(beta_cdf(2, 1, 1), 1, 0);
	assert_near(beta_quantile(0, 2, 3), 0, 0);
	assert_near(beta_quantile(1, 2, 3), 1, 0);
}

static void what_does_not_exist_is_no_number(void **state)
{
	(void)state;
	assert_nan(normal_cdf(NAN));
	assert_nan(normal_quantile(-0.1));
	assert_nan(normal_quantile(NAN));
	assert_nan(t_cdf(1, 0));
	assert_nan(t_cdf(1, -3));
	assert_nan(t_quantile(1.1, 3));
	assert_nan(t_coverage_factor(0.95, 0));
	assert_nan(chi_squared_cdf(1, -1));
	assert_nan(chi_squared_quantile(0.5, NAN));
	assert_nan(f_cdf(1, 0, 3));
	assert_nan(f_quantile(0.5, 3, INFINITY));
	assert_nan(beta_cdf(0.5, -1, 2));
	assert_nan(weibull_cdf(1, 0, 1));
	assert_nan(weibull_quantile(0.5, 1, -1));
	assert_nan(binomial_cdf(1, 5, 1.5));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(t_with_one_and_two_degrees_has_closed_forms),
		cmocka_unit_test(t_factors_of_printed_tables),
		cmocka_unit_test(t_joins_the_normal_distribution),
		cmocka_unit_test(other_closed_forms),
		cmocka_unit_test(binomial_counts),
		cmocka_unit_test(clopper_pearson_at_its_ends),
		cmocka_unit_test(quantiles_undo_the_distributions),
		cmocka_unit_test(quantiles_far_out_are_right_or_no_number),
		cmocka_unit_test(ends_are_the_ends),
		cmocka_unit_test(what_does_not_exist_is_no_number),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
