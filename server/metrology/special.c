/*
 * Incomplete gamma and beta functions, the normal integral, and their inverses.
 *
 * The power in front, x^a e^-x / Gamma(a) and x^a y^b / B(a, b), is where digits go when a and b are large. It is
 * written by Stirling's formula with what that leaves, and by the deviance of a from its expectation, so that
 * nothing large is ever subtracted. Then a series of positive terms or a continued fraction (DLMF 8.7.1, 8.9.2,
 * 8.17.22), on the side where it converges; the other tail is 1 less that one, which is then no small number's
 * difference.
 */
#include "mathfn.h"

#include "number.h"

#define ONE_BY_SQRT_2PI 0.39894228040143267794
#define TERMS_MAX	200000
#define LAST_PLACE	4e-16

static struct tails from_lower(double lower)
{
	return (struct tails){lower, 1 - lower};
}

static struct tails from_upper(double upper)
{
	return (struct tails){1 - upper, upper};
}

/* ---- normal ---- */

/* The square of the upper 26 bits is exact, and the rest enters as a small factor. */
double normal_density(double x)
{
	double high = (x * 134217729.0) - (x * 134217729.0 - x), low = x - high;

	if (!(fabs(x) < 40))
		return is_nan(x) ? x : 0;
	return ONE_BY_SQRT_2PI * exponential(-0.5 * high * high) * exponential(-low * (high + 0.5 * low));
}

/* P(0 < Z < z) = density * (z + z^3/3 + z^5/15 + ...), DLMF 7.6.2 */
static double half_central(double z)
{
	double term = z, sum = z;

	for (int k = 3; term > sum * 1e-17 && k < 400; k += 2) {
		term *= z * z / k;
		sum += term;
	}
	return normal_density(z) * sum;
}

/* density / (z + 1/(z + 2/(z + 3/...))), DLMF 7.9.3; from behind, with terms enough for z >= 2 */
static double far_tail(double z)
{
	double f = z;

	for (int k = (int)(30 + 800 / (z * z)); k >= 1; k--)
		f = z + k / f;
	return normal_density(z) / f;
}

struct tails normal_tails(double z)
{
	double u = fabs(z), tail;

	if (is_nan(z))
		return (struct tails){z, z};
	tail = u < 2 ? 0.5 - half_central(u) : u > 40 ? 0 : far_tail(u);
	return z < 0 ? from_lower(tail) : from_upper(tail);
}

double normal_central(double z)
{
	return z < 2.4 ? 2 * half_central(z) : 1 - 2 * normal_tails(z).upper;
}

/* Newton's method on the central part, or on the logarithm of the tail, whose slope is nearly straight. */
double normal_at(double p, int upper)
{
	double tail = p <= 0.5 ? p : 1 - p, central = 1 - 2 * tail, t, z;
	int below = (p <= 0.5) != (upper != 0);

	if (!(p >= 0 && p <= 1))
		return NOT_A_NUMBER;
	if (tail == 0)
		return below ? -INFINITE : INFINITE;
	/* first guess: Abramowitz and Stegun 26.2.22, good to 3e-3 */
	t = sqrt(-2 * natural_log(tail));
	z = larger(0, t - (2.30753 + 0.27061 * t) / (1 + t * (0.99229 + 0.04481 * t)));
	for (int i = 0; i < 8; i++) {
		double step, density = normal_density(z);

		if (central < 0.6) {
			step = (2 * half_central(z) - central) / (2 * density);
			step /= 1 + 0.5 * z * step;
		} else {
			double now = normal_tails(z).upper;

			step = -natural_log(now / tail) * now / density;
		}
		z -= step;
		if (fabs(step) <= 1e-16 * fabs(z))
			break;
	}
	return below ? -z : z;
}

/* ---- gamma ---- */

/* x^a e^-x / Gamma(a + 1) */
static double poisson_term(double a, double x)
{
	return exponential(-stirling_rest(a) - half_deviance(a, x)) * ONE_BY_SQRT_2PI / sqrt(a);
}

static double gamma_series(double a, double x)
{
	double term = 1, sum = 1;

	for (int n = 1; n < TERMS_MAX && term > sum * 1e-17; n++) {
		term *= x / (a + n);
		sum += term;
	}
	return sum;
}

static double away_from_zero(double v)
{
	return fabs(v) < 1e-300 ? 1e-300 : v;
}

/* 1/(x + 1 - a - 1(1 - a)/(x + 3 - a - ...)) by the modified Lentz method */
static double gamma_fraction(double a, double x)
{
	double b = x + 1 - a, c = 1e300, d = 1 / b, f = d;

	for (int n = 1; n < TERMS_MAX; n++) {
		double e = n * (a - n), change;

		b += 2;
		d = 1 / away_from_zero(b + e * d);
		c = away_from_zero(b + e / c);
		change = c * d;
		f *= change;
		if (fabs(change - 1) < LAST_PLACE)
			break;
	}
	return f;
}

struct tails gamma_tails(double a, double x)
{
	if (is_nan(a) || is_nan(x) || !(a > 0) || x < 0)
		return (struct tails){NOT_A_NUMBER, NOT_A_NUMBER};
	if (x == 0)
		return from_lower(0);
	if (!is_finite(x))
		return from_upper(0);
	if (x < a + 1)
		return from_lower(poisson_term(a, x) * gamma_series(a, x));
	return from_upper(poisson_term(a, x) * a * gamma_fraction(a, x));
}

/* ---- beta ---- */

/* x^a y^b / B(a, b) = (a b / n) Gamma(n+1)/(Gamma(a+1) Gamma(b+1)) x^a y^b, n = a + b */
static double beta_term(double a, double b, double x, double y)
{
	double n = a + b;
	double log = stirling_rest(n) - stirling_rest(a) - stirling_rest(b) - half_deviance(a, n * x) -
		     half_deviance(b, n * y);

	return exponential(log) * ONE_BY_SQRT_2PI * sqrt(a * b / n);
}

/*
 * I_x(a, b) = x^a y^b / B(a, b) / (beta_0 + alpha_1/(beta_1 + alpha_2/(beta_2 + ...))), the even part of DLMF 8.17.22
 * (DiDonato and Morris, ACM TOMS 18, 1992, 360, equation 9). What vanishes near the mean, a - (a + b) x, is taken
 * from the smaller of x and y: so a hundred million degrees of freedom of t cost no digits. Modified Lentz method.
 */
static double beta_fraction(double a, double b, double x, double y)
{
	double lambda = a > b ? (a + b) * y - b : a - (a + b) * x;
	double f = away_from_zero(a / (a + 1) * (lambda + 1)), c = f, d = 0;

	for (int n = 1; n < TERMS_MAX; n++) {
		double odd = a + 2.0 * n - 1, change;
		double alpha = (a + n - 1) / odd * ((a + b + n - 1) / odd) * n * (b - n) * x * x;
		double beta = n + n * (b - n) * x / odd + (a + n) / (odd + 2) * (lambda + 1 + n * (1 + y));

		d = 1 / away_from_zero(beta + alpha * d);
		c = away_from_zero(beta + alpha / c);
		change = c * d;
		f *= change;
		if (fabs(change - 1) < LAST_PLACE)
			break;
	}
	return 1 / f;
}

struct tails beta_tails(double a, double b, double x, double y)
{
	if (!(a > 0 && b > 0 && x >= 0 && y >= 0) || !is_finite(a) || !is_finite(b))
		return (struct tails){NOT_A_NUMBER, NOT_A_NUMBER};
	if (x == 0)
		return from_lower(0);
	if (y == 0)
		return from_upper(0);
	if (x < (a + 1) / (a + b + 2))
		return from_lower(beta_term(a, b, x, y) * beta_fraction(a, b, x, y));
	return from_upper(beta_term(a, b, x, y) * beta_fraction(b, a, y, x));
}

/* ---- inverses ---- */

/*
 * A tail as a function of v, ln x or ln(x/y), rises (or falls) everywhere, and its logarithm bends one way only:
 * Newton's method on the logarithm, kept inside a bracket. The slope with respect to v is the power in front.
 */
struct inversion {
	double a, b; /* b = 0: gamma */
	double p;
	int upper;
};

static double logistic(double v)
{
	return v < 0 ? exponential(v) / (1 + exponential(v)) : 1 / (1 + exponential(-v));
}

static double tail_and_slope(const struct inversion *i, double v, double *slope)
{
	struct tails t;

	if (i->b > 0) {
		double x = logistic(v), y = logistic(-v);

		t = beta_tails(i->a, i->b, x, y);
		*slope = beta_term(i->a, i->b, x, y);
	} else {
		double x = exponential(v);

		t = gamma_tails(i->a, x);
		*slope = poisson_term(i->a, x) * i->a;
	}
	return i->upper ? t.upper : t.lower;
}

/* NaN where the answer is not reached within e^-690 to e^690. */
static double invert(const struct inversion *i, double v)
{
	static const double reach = 690;
	double low = -reach, high = reach;

	for (int n = 0; n < 200 && high > low; n++) {
		double slope, now = tail_and_slope(i, v, &slope), excess = now > 0 ? natural_log(now / i->p) : -1e4,
			      next;

		if ((excess > 0) != (i->upper != 0))
			high = v;
		else
			low = v;
		next = now > 0 && slope > 0 ? v - (i->upper ? -1 : 1) * excess * (now / slope) : NOT_A_NUMBER;
		if (fabs(next - v) <= 2e-16 * larger(1, fabs(v)))
			return next;
		v = next > low && next < high ? next : (low + high) / 2;
	}
	return fabs(v) < reach - 1 ? v : NOT_A_NUMBER;
}

/* The smaller tail is the one with the digits. */
static double invert_smaller(struct inversion i, double start, double at_zero, double at_one)
{
	if (!(i.p >= 0 && i.p <= 1))
		return NOT_A_NUMBER;
	if (i.p > 0.5) {
		i.p = 1 - i.p;
		i.upper = !i.upper;
	}
	if (i.p == 0)
		return i.upper ? at_one : at_zero;
	return invert(&i, start);
}

double gamma_at(double a, double p, int upper)
{
	double v = invert_smaller((struct inversion){a, 0, p, upper}, natural_log(a), -INFINITE, INFINITE);

	return is_nan(v) ? v : exponential(v);
}

double beta_logit_at(double a, double b, double p, int upper)
{
	return invert_smaller((struct inversion){a, b, p, upper}, natural_log(a / b), -INFINITE, INFINITE);
}
