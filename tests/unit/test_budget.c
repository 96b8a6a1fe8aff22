#include "metrology/budget.h"
#include "support/check.h"

static struct budget of(int n, const double (*estimate_u)[2])
{
	struct budget b = {.n = n};

	for (int i = 0; i < n; i++)
		b.component[i] = (struct component){estimate_u[i][0], estimate_u[i][1], DISTRIBUTION_NORMAL, INFINITY,
						    1};
	return b;
}

/* Models as plain functions of one set. */
static void each(const double *x, size_t n, double *y, int components, double (*f)(const double *))
{
	double one[COMPONENTS_MAX];

	for (size_t j = 0; j < n; j++) {
		for (int i = 0; i < components; i++)
			one[i] = x[(size_t)i * n + j];
		y[j] = f(one);
	}
}

static double distance(const double *v)
{
	return fabs(v[0]);
}

static void magnitude(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	each(x, n, y, 1, distance);
}

static double smaller_one(const double *v)
{
	return fmin(v[0], v[1]);
}

static void smaller(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	each(x, n, y, 2, smaller_one);
}

static double shunt_current(const double *v) /* mA from V and ohm */
{
	return 1000 * v[0] / v[1];
}

static void shunt(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	each(x, n, y, 2, shunt_current);
}

static double curved_value(const double *v)
{
	return exp(v[0] / 3) * sin(v[1]) + v[2] * v[2] * v[2] / v[0] + sqrt(v[1]);
}

static void curved(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	each(x, n, y, 3, curved_value);
}

static void root(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	for (size_t j = 0; j < n; j++)
		y[j] = sqrt(x[j]);
}

/* I = V / R: dI/dV = 1/R = 4 mA/V, dI/dR = -V/R^2 = -1000 * 3 / 250^2 = -0.048 mA/ohm. */
static void sensitivities_of_a_shunt(void **state)
{
	static const double in[][2] = {{3, 0.0005}, {250, 0.0125}};
	static const struct model m = {shunt, NULL};
	struct budget b = of(2, in);
	struct budget_result r;
	double error[COMPONENTS_MAX];
	int at;

	(void)state;
	assert_true(budget_sensitivities(&b, &m, error, &at));
	assert_near(b.component[0].sensitivity, 4, 1e-12);
	assert_near(b.component[1].sensitivity, -0.048, 1e-13);
	assert_true(error[0] < 1e-11 && error[1] < 1e-12);
	assert_near(budget_estimate(&b, &m), 12, 1e-14);
	budget_combine(&b, 0.9545, &r); /* 0.002 and -0.0006 */
	assert_near(r.combined, sqrt(0.002 * 0.002 + 0.0006 * 0.0006), 1e-15);
	assert_near(r.contribution[1], -0.0006, 1e-15);
	assert_near(r.share[0], 4 / 4.36, 1e-12);
	assert_near(r.share[0] + r.share[1], 1, 1e-15);
	assert_near(r.coverage_factor, 2.0000024439, 1e-9);
}

/* Against the derivatives done by hand: f1 = e^(a/3) sin(b) / 3 - c^3/a^2, f2 = e^(a/3) cos(b) + 1/(2 sqrt b), f3 =
 * 3 c^2/a. */
static void differentiation_errs_less_than_it_says_and_than_a_billionth(void **state)
{
	static const struct model m = {curved, NULL};
	double worst = 0;

	(void)state;
	for (double scale = 1e-6; scale < 0.2; scale *= 3.3) {
		double a = 1.7 + scale, bb = 0.9, c = -2.3, error[COMPONENTS_MAX];
		double exact[] = {exp(a / 3) * sin(bb) / 3 - c * c * c / (a * a), exp(a / 3) * cos(bb) + 0.5 / sqrt(bb),
				  3 * c * c / a};
		const double in[][2] = {{a, scale}, {bb, scale}, {c, scale}};
		struct budget b = of(3, in);
		int at;

		assert_true(budget_sensitivities(&b, &m, error, &at));
		for (int i = 0; i < 3; i++) {
			double off = fabs(b.component[i].sensitivity - exact[i]);

			worst = fmax(worst, off / fabs(exact[i]));
			assert_true(off <= 3 * error[i] + 1e-13);
		}
	}
	print_message("sensitivities: at worst %.1e relative\n", worst);
	assert_true(worst < 1e-9);
}

/* Beside the edge of where the model has values, smaller steps are taken; on the edge there is no slope. */
static void differentiation_keeps_to_where_the_model_has_values(void **state)
{
	static const double near[][2] = {{0.01, 0.02}}, on[][2] = {{0, 0.02}}, beyond[][2] = {{-1, 0.02}};
	static const struct model m = {root, NULL};
	struct budget b = of(1, near);
	int at;

	(void)state;
	assert_true(budget_sensitivities(&b, &m, NULL, &at));
	assert_near(b.component[0].sensitivity, 5, 1e-8); /* 1 / (2 sqrt(0.01)) */
	b.component[0] = (struct component){1e-6, 0.1, DISTRIBUTION_NORMAL, INFINITY, 1};
	assert_true(budget_sensitivities(&b, &m, NULL, &at));
	assert_near(b.component[0].sensitivity, 500, 1e-6);
	b = of(1, on);
	assert_false(budget_sensitivities(&b, &m, NULL, &at));
	assert_int_equal(at, 0);
	b = of(1, beyond);
	assert_false(budget_sensitivities(&b, &m, NULL, &at));
	assert_int_equal(at, -1);
}

/* abs(x) at 0, min(x, y) where both are 5: a central difference would give 0 and 1/2, and U nothing. */
static void where_the_model_has_a_corner_it_has_no_slope(void **state)
{
	static const double zero[][2] = {{0, 0.1}}, beside[][2] = {{-0.001, 0.1}}, both[][2] = {{5, 0.1}, {5, 0.2}};
	static const struct model m = {magnitude, NULL}, least = {smaller, NULL};
	struct budget b = of(1, zero);
	int at;

	(void)state;
	assert_false(budget_sensitivities(&b, &m, NULL, &at));
	assert_int_equal(at, 0);
	b = of(1, beside);
	assert_true(budget_sensitivities(&b, &m, NULL, &at));
	assert_near(b.component[0].sensitivity, -1, 1e-12);
	b = of(2, both);
	assert_false(budget_sensitivities(&b, &least, NULL, &at));
	b.component[1].estimate = 5.001;
	assert_true(budget_sensitivities(&b, &least, NULL, &at));
	assert_near(b.component[0].sensitivity, 1, 1e-12);
	assert_near(b.component[1].sensitivity, 0, 1e-12);
}

/* Ten 1000-ohm resistors in series, all compared with one standard: u = 10 * 0.1, not 0.1 sqrt(10) (JCGM 100, 5.2.2,
 * example). */
static void fully_correlated_components_add_linearly(void **state)
{
	struct budget b = {.n = 10, .correlated = true};
	struct budget_result r;

	(void)state;
	for (int i = 0; i < 10; i++) {
		b.component[i] = (struct component){1000, 0.1, DISTRIBUTION_NORMAL, INFINITY, 1};
		for (int j = 0; j < 10; j++)
			b.correlation[i][j] = 1;
	}
	assert_true(budget_correlations_possible(&b));
	budget_combine(&b, 0.95, &r);
	assert_near(r.combined, 1, 1e-14);
	assert_near(r.share[3], 0.1, 1e-14);
	b.correlated = false;
	budget_combine(&b, 0.95, &r);
	assert_near(r.combined, 0.1 * sqrt(10), 1e-14);
}

/* u(x - y) with r: sqrt(u1^2 + u2^2 - 2 r u1 u2); 3, 4, r 0.5: sqrt(13); r 1 with equal u: 0. */
static void a_difference_of_correlated_readings_is_better_known(void **state)
{
	static const double in[][2] = {{0, 3}, {0, 4}};
	struct budget b = of(2, in);
	struct budget_result r;

	(void)state;
	b.correlated = true;
	b.component[1].sensitivity = -1;
	b.correlation[0][0] = b.correlation[1][1] = 1;
	b.correlation[0][1] = b.correlation[1][0] = 0.5;
	budget_combine(&b, 0.95, &r);
	assert_near(r.combined, sqrt(13), 1e-14);
	assert_near(r.share[0], 3.0 / 13, 1e-14);  /* (9 - 6) / 13 */
	assert_near(r.share[1], 10.0 / 13, 1e-14); /* (16 - 6) / 13 */
	b.component[1].standard = 3;
	b.correlation[0][1] = b.correlation[1][0] = 1;
	budget_combine(&b, 0.95, &r);
	assert_near(r.combined, 0, 0);
	assert_near(r.share[0], 0, 0);
}

/* r12 = r23 = 0.9 and r13 = -0.9: determinant 1 - 3 * 0.81 - 2 * 0.729 < 0. */
static void correlations_that_cannot_be_are_noticed(void **state)
{
	static const double in[][2] = {{0, 1}, {0, 1}, {0, 1}};
	struct budget b = of(3, in);

	(void)state;
	b.correlated = true;
	for (int i = 0; i < 3; i++)
		b.correlation[i][i] = 1;
	b.correlation[0][1] = b.correlation[1][0] = b.correlation[1][2] = b.correlation[2][1] = 0.9;
	b.correlation[0][2] = b.correlation[2][0] = 0.62; /* 2 * 0.81 - 1: just possible */
	assert_true(budget_correlations_possible(&b));
	b.correlation[0][2] = b.correlation[2][0] = 0.61;
	assert_false(budget_correlations_possible(&b));
	b.correlation[0][2] = b.correlation[2][0] = -0.9;
	assert_false(budget_correlations_possible(&b));
}

/* By hand: u 2 with 9 dof and u 1 without end: 25 / (16/9) = 14.0625, used 14. A single component gives its own. */
static void effective_degrees_of_freedom(void **state)
{
	static const double in[][2] = {{0, 2}, {0, 1}};
	struct budget b = of(2, in);
	struct budget_result r;

	(void)state;
	b.component[0].dof = 9;
	budget_combine(&b, 0.95, &r);
	assert_near(r.effective_dof, 14.0625, 1e-13);
	assert_near(r.dof_used, 14, 0);
	assert_near(r.coverage_factor, 2.145, 0.0005); /* printed t table */
	b.n = 1;
	budget_combine(&b, 0.95, &r);
	assert_near(r.effective_dof, 9, 1e-13);
	assert_near(r.dof_used, 9, 0);
	b.component[0].dof = INFINITY;
	budget_combine(&b, 0.95, &r);
	assert_true(0 != isinf(r.effective_dof));
	assert_near(r.coverage_factor, 1.959964, 5e-7);
}

static double resistance(const double *v) /* ohm from V, mA and rad */
{
	return 1000 * v[0] / v[1] * cos(v[2]);
}

static void in_phase(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	each(x, n, y, 3, resistance);
}

static void correlate(struct budget *b, int i, int j, double r)
{
	b->correlated = true;
	b->correlation[i][i] = b->correlation[j][j] = 1;
	b->correlation[i][j] = b->correlation[j][i] = r;
}

/* JCGM 100:2008, H.2: V, I and phase read five times together; R = 127.732 ohm, u = 0.071 ohm (figures from memory; u
 * from the rounded inputs). Approach 2 (H.2.4) takes R of each reading: 4 degrees of freedom, t 2.78 at 95 %. */
static void quantities_read_together_have_the_freedom_of_one(void **state)
{
	static const double in[][2] = {{4.9990, 0.0032}, {19.6610, 0.0095}, {1.04446, 0.00075}};
	static const struct model m = {in_phase, NULL};
	struct budget b = of(3, in);
	struct budget_result r;
	int at;

	(void)state;
	for (int i = 0; i < 3; i++)
		b.component[i].dof = 4;
	correlate(&b, 0, 1, -0.36);
	correlate(&b, 0, 2, 0.86);
	correlate(&b, 1, 2, -0.65);
	assert_true(budget_sensitivities(&b, &m, NULL, &at));
	assert_near(budget_estimate(&b, &m), 127.732, 0.01);
	budget_combine(&b, 0.95, &r);
	assert_near(r.combined, 0.071, 0.0015);
	assert_near(r.effective_dof, 4, 1e-12);
	assert_near(r.coverage_factor, 2.78, 0.005);
}

/* u 3 and 4 with r = 0.5 and the least dof 6 make a variance of 37; beside it u 2 with 10 dof, by itself: (37 + 4)^2 /
 * (37^2 / 6 + 16 / 10), by hand. */
static void what_is_not_correlated_keeps_its_own_freedom(void **state)
{
	static const double in[][2] = {{0, 3}, {0, 2}, {0, 4}};
	struct budget b = of(3, in);
	struct budget_result r;

	(void)state;
	b.component[0].dof = 6;
	b.component[1].dof = 10;
	b.component[1].sensitivity = -1;
	correlate(&b, 0, 2, 0.5);
	b.correlation[1][1] = 1;
	budget_combine(&b, 0.95, &r);
	assert_near(r.effective_dof, 1681 / (1369.0 / 6 + 1.6), 1e-12);
}

static void nothing_uncertain_gives_nothing(void **state)
{
	static const double in[][2] = {{7, 0}, {1, 0}};
	struct budget b = of(2, in);
	struct budget_result r;

	(void)state;
	budget_combine(&b, 0.95, &r);
	assert_near(r.combined, 0, 0);
	assert_near(r.expanded, 0, 0);
	assert_near(r.share[0], 0, 0);
	assert_near(budget_estimate(&b, NULL), 8, 0);
}

static void half_widths_become_standard_uncertainties(void **state)
{
	(void)state;
	assert_near(standard_of_half_width(DISTRIBUTION_RECTANGULAR, 0.3), 0.3 / sqrt(3), 1e-16);
	assert_near(standard_of_half_width(DISTRIBUTION_TRIANGULAR, 0.3), 0.3 / sqrt(6), 1e-16);
	assert_near(standard_of_half_width(DISTRIBUTION_U_SHAPED, 0.3), 0.3 / sqrt(2), 1e-16);
	assert_true(0 != isnan(standard_of_half_width(DISTRIBUTION_NORMAL, 0.3)));
}

static void cubed(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	for (size_t j = 0; j < n; j++)
		y[j] = x[j] * x[j] * x[j] + x[j] * x[n + j];
}

/*
 * x^3 + x z at x = 2, z = 0 with u 0.1 and 0.3: f_xx = 12, f_xxx = 6, f_x = 12, f_xz = 1:
 * 12^2/2 0.1^4 + 12 6 0.1^4 + 0.1^2 0.3^2 = 0.0072 + 0.0072 + 0.0009.
 */
static void terms_of_second_order(void **state)
{
	static const double in[][2] = {{2, 0.1}, {0, 0.3}};
	static const struct model m = {cubed, NULL};
	struct budget b = of(2, in);
	int at;

	(void)state;
	assert_true(budget_sensitivities(&b, &m, NULL, &at));
	assert_near(budget_second_order(&b, &m), 0.0153, 1e-12);
}

/* Half-widths 0.5 and 0.11 with a small normal one: rest / dominant = 0.23; 0.5 and 0.4: two of them. */
static void dominance_of_rectangular_components(void **state)
{
	static const double in[][2] = {{0, 0.5}, {0, 0.11}, {0, 0.03}};
	struct budget b = of(3, in);
	struct budget_result r;
	int first, second;

	(void)state;
	b.component[0].distribution = b.component[1].distribution = DISTRIBUTION_RECTANGULAR;
	budget_combine(&b, 0.95, &r);
	assert_int_equal(budget_dominance(&b, &r, &first, &second), DOMINANCE_RECTANGULAR);
	assert_int_equal(first, 0);
	b.component[1].standard = 0.4;
	budget_combine(&b, 0.95, &r);
	assert_int_equal(budget_dominance(&b, &r, &first, &second), DOMINANCE_TRAPEZOIDAL);
	assert_int_equal(second, 1);
	b.component[2].standard = 0.2; /* 0.2 / sqrt(0.25 + 0.16) = 0.312 */
	budget_combine(&b, 0.95, &r);
	assert_int_equal(budget_dominance(&b, &r, &first, &second), DOMINANCE_NONE);
	assert_near(coverage_factor_rectangular(0.95), 1.65, 0.005);
}

static void reported(double value, double expanded, int digits, double as_value, double as_expanded, int decimals)
{
	struct reported r = report_result(value, expanded, digits);

	assert_true(r.rounded);
	assert_near(r.value, as_value, 1e-9 * fabs(as_value));
	assert_near(r.expanded, as_expanded, 1e-9 * as_expanded);
	assert_int_equal(r.decimals, decimals);
}

/* EA-4/02, 6.3: two digits at most; up where rounding down takes off more than 5 %. */
static void results_are_rounded_for_reporting(void **state)
{
	(void)state;
	reported(10000.02500, 0.0585235, 2, 10000.025, 0.059, 3);
	reported(36228.769, 49.92, 2, 36229, 50, 0);
	reported(0.1, 0.0488, 1, 0.1, 0.05, 2);
	reported(1.234, 0.0141, 1, 1.23, 0.02, 2); /* 0.0141 to 0.01 would take off 29 % */
	reported(1.234, 0.0104, 1, 1.23, 0.01, 2); /* 3.8 % may be taken off */
	reported(1.234, 0.0106, 1, 1.23, 0.02, 2); /* 5.7 % may not */
	reported(5.4321, 0.0996, 2, 5.43, 0.1, 2); /* 0.0996 is 0.10 */
	reported(-73261, 1234, 2, -73300, 1200, -2);
	reported(-73251, 1260, 2, -73300, 1300, -2);
	reported(4.00000000123456, 3.21e-12, 2, 4.0000000012346, 3.2e-12, 13);
	reported(2.5, 0.5, 1, 2.5, 0.5, 1);
	reported(7.25, 0.1, 1, 7.3, 0.1, 1); /* a half goes away from zero */
	assert_false(report_result(1, 0, 2).rounded);
	assert_false(report_result(1, NAN, 2).rounded);
	assert_near(report_result(1.23456, 0, 2).value, 1.23456, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(sensitivities_of_a_shunt),
		cmocka_unit_test(differentiation_errs_less_than_it_says_and_than_a_billionth),
		cmocka_unit_test(differentiation_keeps_to_where_the_model_has_values),
		cmocka_unit_test(where_the_model_has_a_corner_it_has_no_slope),
		cmocka_unit_test(fully_correlated_components_add_linearly),
		cmocka_unit_test(a_difference_of_correlated_readings_is_better_known),
		cmocka_unit_test(correlations_that_cannot_be_are_noticed),
		cmocka_unit_test(effective_degrees_of_freedom),
		cmocka_unit_test(quantities_read_together_have_the_freedom_of_one),
		cmocka_unit_test(what_is_not_correlated_keeps_its_own_freedom),
		cmocka_unit_test(nothing_uncertain_gives_nothing),
		cmocka_unit_test(half_widths_become_standard_uncertainties),
		cmocka_unit_test(terms_of_second_order),
		cmocka_unit_test(dominance_of_rectangular_components),
		cmocka_unit_test(results_are_rounded_for_reporting),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
