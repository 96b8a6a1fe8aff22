#include "metrology/statistics.h"

#include "mathfn.h"
#include "number.h"

static const struct tails no_tails = {NOT_A_NUMBER, NOT_A_NUMBER};

double normal_cdf(double z)
{
	return normal_tails(z).lower;
}

double normal_upper(double z)
{
	return normal_tails(z).upper;
}

double normal_quantile(double p)
{
	return normal_at(p, false);
}

/* ---- Student's t ---- */

#define DOF_NORMAL 1e8

/* The z as far out as t is; the error of this form is of the order of 1/dof^2 (Abramowitz and Stegun 26.7.8). */
static double normal_of_t(double t, double dof)
{
	return is_finite(dof) ? t * (1 - 1 / (4 * dof)) / sqrt(1 + t * t / (2 * dof)) : t;
}

/* Tails of |t|: above it lies I_x(dof/2, 1/2) with x = dof / (dof + t^2). */
static struct tails t_tails(double t, double dof)
{
	struct tails both;
	double square = t * t, tail;

	if (is_nan(t) || !(dof > 0))
		return no_tails;
	if (dof > DOF_NORMAL)
		return normal_tails(normal_of_t(t, dof));
	if (!is_finite(square))
		return t > 0 ? (struct tails){1, 0} : (struct tails){0, 1};
	both = beta_tails(dof / 2, 0.5, dof / (dof + square), square / (dof + square));
	tail = both.lower / 2;
	return t < 0 ? (struct tails){tail, 0.5 + both.upper / 2} : (struct tails){0.5 + both.upper / 2, tail};
}

double t_cdf(double t, double dof)
{
	return t_tails(t, dof).lower;
}

double t_upper(double t, double dof)
{
	return t_tails(t, dof).upper;
}

/* The t with P(|t| < t) = central; the other tail of it is both outside parts together. */
static double t_of_central(double central, double outside, double dof)
{
	double v;

	if (dof > DOF_NORMAL) {
		double z = normal_at(outside / 2, true), t = z;

		for (int i = 0; i < 3 && is_finite(dof) && is_finite(z); i++)
			t += z - normal_of_t(t, dof);
		return t;
	}
	v = central < outside ? beta_logit_at(dof / 2, 0.5, central, true) :
				beta_logit_at(dof / 2, 0.5, outside, false);
	if (is_nan(v))
		return v;
	return is_finite(v) ? sqrt(dof) * exponential(-v / 2) : v > 0 ? 0 : INFINITE;
}

double t_quantile(double p, double dof)
{
	double t;

	if (!(p >= 0 && p <= 1) || !(dof > 0))
		return NOT_A_NUMBER;
	t = p < 0.5 ? -t_of_central(1 - 2 * p, 2 * p, dof) : t_of_central(2 * p - 1, 2 * (1 - p), dof);
	return t == 0 ? 0 : t;
}

double t_coverage_factor(double coverage, double dof)
{
	if (!(coverage >= 0 && coverage <= 1) || !(dof > 0))
		return NOT_A_NUMBER;
	return t_of_central(coverage, 1 - coverage, dof);
}

/* ---- chi-squared and gamma ---- */

double gamma_cdf(double x, double a)
{
	return x < 0 ? 0 : gamma_tails(a, x).lower;
}

double gamma_upper(double x, double a)
{
	return x < 0 ? 1 : gamma_tails(a, x).upper;
}

double gamma_quantile(double p, double a)
{
	return a > 0 && is_finite(a) ? gamma_at(a, p, false) : NOT_A_NUMBER;
}

double chi_squared_cdf(double x, double dof)
{
	return gamma_cdf(x / 2, dof / 2);
}

double chi_squared_upper(double x, double dof)
{
	return gamma_upper(x / 2, dof / 2);
}

double chi_squared_quantile(double p, double dof)
{
	return 2 * gamma_quantile(p, dof / 2);
}

/* ---- F and beta ---- */

static struct tails f_tails(double f, double dof1, double dof2)
{
	double ratio = dof1 * f / dof2;

	if (is_nan(ratio) || !(dof1 > 0 && dof2 > 0) || !is_finite(dof1) || !is_finite(dof2))
		return no_tails;
	if (!(ratio > 0))
		return (struct tails){0, 1};
	if (!is_finite(ratio))
		return (struct tails){1, 0};
	return beta_tails(dof1 / 2, dof2 / 2, ratio / (1 + ratio), 1 / (1 + ratio));
}

double f_cdf(double f, double dof1, double dof2)
{
	return f_tails(f, dof1, dof2).lower;
}

double f_upper(double f, double dof1, double dof2)
{
	return f_tails(f, dof1, dof2).upper;
}

double f_quantile(double p, double dof1, double dof2)
{
	if (!(dof1 > 0 && dof2 > 0) || !is_finite(dof1) || !is_finite(dof2))
		return NOT_A_NUMBER;
	return dof2 / dof1 * exponential(beta_logit_at(dof1 / 2, dof2 / 2, p, false));
}

double beta_cdf(double x, double a, double b)
{
	return x <= 0 ? 0 : x >= 1 ? 1 : beta_tails(a, b, x, 1 - x).lower;
}

double beta_upper(double x, double a, double b)
{
	return x <= 0 ? 1 : x >= 1 ? 0 : beta_tails(a, b, x, 1 - x).upper;
}

static double beta_at(double a, double b, double p, int upper)
{
	double v;

	if (!(a > 0 && b > 0) || !is_finite(a) || !is_finite(b))
		return NOT_A_NUMBER;
	v = beta_logit_at(a, b, p, upper);
	return v < 0 ? exponential(v) / (1 + exponential(v)) : 1 / (1 + exponential(-v));
}

double beta_quantile(double p, double a, double b)
{
	return beta_at(a, b, p, false);
}

/* ---- Weibull ---- */

double weibull_cdf(double x, double shape, double scale)
{
	if (!(shape > 0 && scale > 0) || is_nan(x))
		return NOT_A_NUMBER;
	return x <= 0 ? 0 : -exp_minus_one(-power(x / scale, shape));
}

double weibull_upper(double x, double shape, double scale)
{
	if (!(shape > 0 && scale > 0) || is_nan(x))
		return NOT_A_NUMBER;
	return x <= 0 ? 1 : exponential(-power(x / scale, shape));
}

double weibull_quantile(double p, double shape, double scale)
{
	if (!(shape > 0 && scale > 0) || !(p >= 0 && p <= 1))
		return NOT_A_NUMBER;
	return p == 1 ? INFINITE : scale * power(-log_one_plus(-p), 1 / shape);
}

/* ---- binomial ---- */

/* P(X <= k) = I_(1-p)(n - k, k + 1) */
static struct tails binomial_tails(int k, int n, double p)
{
	struct tails t;

	if (n < 0 || !(p >= 0 && p <= 1))
		return no_tails;
	if (k < 0)
		return (struct tails){0, 1};
	if (k >= n)
		return (struct tails){1, 0};
	t = beta_tails(k + 1, n - k, p, 1 - p);
	return (struct tails){t.upper, t.lower};
}

double binomial_cdf(int k, int n, double p)
{
	return binomial_tails(k, n, p).lower;
}

double binomial_upper(int k, int n, double p)
{
	return binomial_tails(k, n, p).upper;
}

bool clopper_pearson(int k, int n, double confidence, double *low, double *high)
{
	double outside = (1 - confidence) / 2;

	if (n < 1 || k < 0 || k > n || !(confidence > 0 && confidence < 1))
		return false;
	*low = k == 0 ? 0 : beta_at(k, n - k + 1.0, outside, false);
	*high = k == n ? 1 : beta_at(k + 1.0, n - k, outside, true);
	return true;
}
