/*
 * The distributions against two outside libraries, GSL and R's mathlib, on 10,000 random arguments each.
 *
 * Where the two agree with each other to 5e-13, ours must agree with both to the tolerance of its row. Where they do
 * not, ours must agree with one of them; how often that happens is printed, and docs/metrology.md says who was right
 * by arithmetic of 40 digits. Probabilities below 1e-290 are left out.
 */
#include "metrology/statistics.h"
#include "metrology/mathfn.h"
#include "support/check.h"

#define MATHLIB_STANDALONE
#include <Rmath.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_sf.h>
#include <math.h>
#include <stdlib.h>

#define CASES		10000
#define LIBRARIES_AGREE 5e-13

static uint64_t state;

static double uniform(void)
{
	uint64_t z = state += 0x9e3779b97f4a7c15u;

	z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
	z = (z ^ z >> 27) * 0x94d049bb133111ebu;
	return (double)((z ^ z >> 31) >> 11) * 0x1p-53 + 0x1p-54;
}

static double spread(double low, double high)
{
	return exp(log(low) + uniform() * log(high / low));
}

/* ---- arguments: each function's useful range ---- */

static void take_z(double *a)
{
	a[0] = uniform() * 40 - 20;
}

static void take_p(double *a)
{
	double p = uniform() < 0.5 ? spread(1e-12, 0.5) : uniform();

	a[0] = p;
}

static void take_t(double *a)
{
	a[0] = (uniform() < 0.5 ? -1 : 1) * spread(1e-3, 50);
	a[1] = uniform() < 0.5 ? floor(spread(1, 1000)) : spread(0.5, 1e4);
}

static void take_t_quantile(double *a)
{
	take_p(a);
	a[1] = uniform() < 0.5 ? floor(spread(1, 1000)) : spread(0.5, 1e4);
}

static void take_chi_squared(double *a)
{
	a[1] = spread(0.5, 1e4);
	a[0] = a[1] * spread(0.05, 5);
}

static void take_chi_squared_quantile(double *a)
{
	take_p(a);
	a[1] = spread(0.5, 1e4);
}

static void take_f(double *a)
{
	a[0] = spread(0.02, 50);
	a[1] = floor(spread(1, 2000));
	a[2] = floor(spread(1, 2000));
}

static void take_f_quantile(double *a)
{
	take_p(a);
	a[1] = floor(spread(1, 2000));
	a[2] = floor(spread(1, 2000));
}

static void take_gamma(double *a)
{
	a[1] = spread(0.1, 5000);
	a[0] = a[1] * spread(0.05, 5);
}

static void take_beta(double *a)
{
	a[1] = spread(0.2, 1000);
	a[2] = spread(0.2, 1000);
	a[0] = a[1] / (a[1] + a[2]) * spread(0.2, 2);
	if (a[0] >= 1)
		a[0] = uniform();
}

static void take_beta_quantile(double *a)
{
	take_p(a);
	a[1] = spread(0.2, 1000);
	a[2] = spread(0.2, 1000);
}

static void take_binomial(double *a)
{
	a[1] = floor(spread(1, 2000));
	a[0] = floor(uniform() * (a[1] + 1));
	a[2] = uniform();
}

/* Succeeded, trials, confidence: none of the ends, where a bound is 0 or 1. */
static void take_proportion(double *a)
{
	a[1] = floor(spread(2, 2000));
	a[0] = 1 + floor(uniform() * (a[1] - 1));
	a[2] = uniform() < 0.5 ? 1 - spread(1e-4, 0.5) : uniform();
}

static void take_gamma_quantile(double *a)
{
	take_p(a);
	a[1] = spread(0.1, 5000);
}

static void take_weibull(double *a)
{
	a[1] = spread(0.3, 6);
	a[2] = spread(0.01, 1e4);
	a[0] = a[2] * spread(0.01, 3);
}

static void take_weibull_quantile(double *a)
{
	take_p(a);
	a[1] = spread(0.3, 6);
	a[2] = spread(0.01, 1e4);
}

static void take_positive(double *a)
{
	a[0] = uniform() < 0.3 ? spread(1e-6, 1) : uniform() < 0.5 ? 3 * uniform() : spread(3, 1e6);
}

/* ---- the three of each ---- */

static double clopper_pearson_at(const double *a, bool upper)
{
	double low, high;

	return clopper_pearson((int)a[0], (int)a[1], a[2], &low, &high) ? (upper ? high : low) : NAN;
}

#define THREE(name, ours, gsl, r)                  \
	static double ours_##name(const double *a) \
	{                                          \
		return (ours);                     \
	}                                          \
	static double gsl_##name(const double *a)  \
	{                                          \
		return (gsl);                      \
	}                                          \
	static double r_##name(const double *a)    \
	{                                          \
		return (r);                        \
	}

THREE(normal_cdf, normal_cdf(a[0]), gsl_cdf_ugaussian_P(a[0]), pnorm(a[0], 0, 1, 1, 0))
THREE(normal_upper, normal_upper(a[0]), gsl_cdf_ugaussian_Q(a[0]), pnorm(a[0], 0, 1, 0, 0))
THREE(normal_quantile, normal_quantile(a[0]), gsl_cdf_ugaussian_Pinv(a[0]), qnorm(a[0], 0, 1, 1, 0))
THREE(t_cdf, t_cdf(a[0], a[1]), gsl_cdf_tdist_P(a[0], a[1]), pt(a[0], a[1], 1, 0))
THREE(t_upper, t_upper(a[0], a[1]), gsl_cdf_tdist_Q(a[0], a[1]), pt(a[0], a[1], 0, 0))
THREE(t_quantile, t_quantile(a[0], a[1]), gsl_cdf_tdist_Pinv(a[0], a[1]), qt(a[0], a[1], 1, 0))
THREE(chi_squared_cdf, chi_squared_cdf(a[0], a[1]), gsl_cdf_chisq_P(a[0], a[1]), pchisq(a[0], a[1], 1, 0))
THREE(chi_squared_upper, chi_squared_upper(a[0], a[1]), gsl_cdf_chisq_Q(a[0], a[1]), pchisq(a[0], a[1], 0, 0))
THREE(chi_squared_quantile, chi_squared_quantile(a[0], a[1]), gsl_cdf_chisq_Pinv(a[0], a[1]), qchisq(a[0], a[1], 1, 0))
THREE(f_cdf, f_cdf(a[0], a[1], a[2]), gsl_cdf_fdist_P(a[0], a[1], a[2]), pf(a[0], a[1], a[2], 1, 0))
THREE(f_upper, f_upper(a[0], a[1], a[2]), gsl_cdf_fdist_Q(a[0], a[1], a[2]), pf(a[0], a[1], a[2], 0, 0))
THREE(f_quantile, f_quantile(a[0], a[1], a[2]), gsl_cdf_fdist_Pinv(a[0], a[1], a[2]), qf(a[0], a[1], a[2], 1, 0))
THREE(gamma_cdf, gamma_cdf(a[0], a[1]), gsl_sf_gamma_inc_P(a[1], a[0]), pgamma(a[0], a[1], 1, 1, 0))
THREE(gamma_upper, gamma_upper(a[0], a[1]), gsl_sf_gamma_inc_Q(a[1], a[0]), pgamma(a[0], a[1], 1, 0, 0))
THREE(gamma_quantile, gamma_quantile(a[0], a[1]), gsl_cdf_gamma_Pinv(a[0], a[1], 1), qgamma(a[0], a[1], 1, 1, 0))
THREE(beta_upper, beta_upper(a[0], a[1], a[2]), gsl_cdf_beta_Q(a[0], a[1], a[2]), pbeta(a[0], a[1], a[2], 0, 0))
THREE(beta_cdf, beta_cdf(a[0], a[1], a[2]), gsl_cdf_beta_P(a[0], a[1], a[2]), pbeta(a[0], a[1], a[2], 1, 0))
THREE(beta_quantile, beta_quantile(a[0], a[1], a[2]), gsl_cdf_beta_Pinv(a[0], a[1], a[2]),
      qbeta(a[0], a[1], a[2], 1, 0))
THREE(binomial_cdf, binomial_cdf((int)a[0], (int)a[1], a[2]), gsl_cdf_binomial_P((unsigned)a[0], a[2], (unsigned)a[1]),
      pbinom(a[0], a[1], a[2], 1, 0))
THREE(binomial_upper, binomial_upper((int)a[0], (int)a[1], a[2]),
      gsl_cdf_binomial_Q((unsigned)a[0], a[2], (unsigned)a[1]), pbinom(a[0], a[1], a[2], 0, 0))
THREE(clopper_pearson_low, clopper_pearson_at(a, false), gsl_cdf_beta_Pinv((1 - a[2]) / 2, a[0], a[1] - a[0] + 1),
      qbeta((1 - a[2]) / 2, a[0], a[1] - a[0] + 1, 1, 0))
THREE(clopper_pearson_high, clopper_pearson_at(a, true), gsl_cdf_beta_Qinv((1 - a[2]) / 2, a[0] + 1, a[1] - a[0]),
      qbeta((1 - a[2]) / 2, a[0] + 1, a[1] - a[0], 0, 0))
THREE(weibull_cdf, weibull_cdf(a[0], a[1], a[2]), gsl_cdf_weibull_P(a[0], a[2], a[1]), pweibull(a[0], a[1], a[2], 1, 0))
THREE(weibull_upper, weibull_upper(a[0], a[1], a[2]), gsl_cdf_weibull_Q(a[0], a[2], a[1]),
      pweibull(a[0], a[1], a[2], 0, 0))
THREE(weibull_quantile, weibull_quantile(a[0], a[1], a[2]), gsl_cdf_weibull_Pinv(a[0], a[2], a[1]),
      qweibull(a[0], a[1], a[2], 1, 0))
THREE(log_gamma, log_gamma(a[0]), gsl_sf_lngamma(a[0]), lgammafn(a[0]))

static const struct row {
	const char *name;
	void (*take)(double *a);
	double (*ours)(const double *a), (*gsl)(const double *a), (*r)(const double *a);
	double tolerance;
} rows[] = {
#define ROW(name, take, tolerance)                                        \
	{                                                                 \
#name, take, ours_##name, gsl_##name, r_##name, tolerance \
	}
	ROW(normal_cdf, take_z, 1e-12),
	ROW(normal_upper, take_z, 1e-12),
	ROW(normal_quantile, take_p, 1e-12),
	ROW(t_cdf, take_t, 1e-12),
	ROW(t_upper, take_t, 1e-12),
	ROW(t_quantile, take_t_quantile, 1e-12),
	ROW(chi_squared_cdf, take_chi_squared, 1e-12),
	ROW(chi_squared_upper, take_chi_squared, 1e-12),
	ROW(chi_squared_quantile, take_chi_squared_quantile, 1e-12),
	ROW(f_cdf, take_f, 1e-12),
	ROW(f_upper, take_f, 1e-12),
	ROW(f_quantile, take_f_quantile, 1e-12),
	ROW(gamma_cdf, take_gamma, 1e-12),
	ROW(gamma_upper, take_gamma, 1e-12),
	ROW(gamma_quantile, take_gamma_quantile, 1e-12),
	ROW(beta_upper, take_beta, 1e-12),
	ROW(beta_cdf, take_beta, 1e-12),
	ROW(beta_quantile, take_beta_quantile, 1e-12),
	ROW(binomial_cdf, take_binomial, 1e-12),
	ROW(binomial_upper, take_binomial, 1e-12),
	ROW(clopper_pearson_low, take_proportion, 1e-12),
	ROW(clopper_pearson_high, take_proportion, 1e-12),
	ROW(weibull_cdf, take_weibull, 1e-12),
	ROW(weibull_upper, take_weibull, 1e-12),
	ROW(weibull_quantile, take_weibull_quantile, 1e-12),
	ROW(log_gamma, take_positive, 1e-12),
};

static double relative(double a, double b)
{
	return a == b ? 0 : fabs(a - b) / fmax(fabs(a), fabs(b));
}

struct worst {
	double difference, a[3];
};

static void keep(struct worst *w, double difference, const double *a)
{
	if (difference <= w->difference)
		return;
	w->difference = difference;
	for (int i = 0; i < 3; i++)
		w->a[i] = a[i];
}

static int compare(const struct row *row)
{
	int wrong = 0, split = 0, compared = 0;
	struct worst with_gsl = {0}, with_r = {0}, nearest = {0};

	for (int i = 0; i < CASES; i++) {
		double a[3] = {0}, ours, gsl, r, to_gsl, to_r;

		row->take(a);
		ours = row->ours(a);
		gsl = row->gsl(a);
		r = row->r(a);
		if (fabs(gsl) < 1e-290 && fabs(r) < 1e-290)
			continue;
		compared++;
		to_gsl = relative(ours, gsl);
		to_r = relative(ours, r);
		if (!(relative(gsl, r) <= LIBRARIES_AGREE)) {
			split++;
			keep(&nearest, fmin(to_gsl, to_r), a);
			wrong += !(fmin(to_gsl, to_r) <= row->tolerance);
			continue;
		}
		keep(&with_gsl, to_gsl, a);
		keep(&with_r, to_r, a);
		wrong += !(to_gsl <= row->tolerance && to_r <= row->tolerance);
	}
	print_message(
		"%-21s %5d: GSL %.1e R %.1e; %4d where they differ, from the nearer %.1e; %d wrong (%.17g %.17g %.17g)\n",
		row->name, compared, with_gsl.difference, with_r.difference, split, nearest.difference, wrong,
		nearest.a[0], nearest.a[1], nearest.a[2]);
	return wrong;
}

static void distributions_agree_with_two_libraries(void **unused)
{
	int wrong = 0;

	(void)unused;
	state = 20260101;
	gsl_set_error_handler_off();
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		wrong += compare(&rows[i]);
	assert_int_equal(wrong, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(distributions_agree_with_two_libraries),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
