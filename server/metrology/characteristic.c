/*
 * Range-to-range relations, the Pt resistance function of IEC 60751 and the type K reference function of NIST Monograph 175
 * (ITS-90, the same function as IEC 60584-1). The inverses are solved on the forward functions themselves, so that forward
 * and inverse agree far beyond any table; the approximate inverse polynomials of the tables are not used.
 */
#include "metrology/characteristic.h"

#include <stddef.h>
#include "number.h"

/* IEC 60751:2008, 4.2: R = R0 (1 + A t + B t^2 + C (t - 100) t^3), C only below 0 degC. */
static const double rtd_a = 3.9083e-3, rtd_b = -5.775e-7, rtd_c = -4.183e-12;
static const double rtd_low = -200, rtd_high = 850;

static double rtd_ratio(double t)
{
	double cubic = t < 0 ? rtd_c * (t - 100) * t * t * t : 0;

	return 1 + rtd_a * t + rtd_b * t * t + cubic;
}

static double rtd_ratio_slope(double t)
{
	double cubic = t < 0 ? rtd_c * (4 * t - 300) * t * t : 0;

	return rtd_a + 2 * rtd_b * t + cubic;
}

/* NIST Monograph 175 (1993), type K, mV over degC, reference junction at 0 degC. */
static const double k_below[] = {
	0.0, 0.394501280250e-1, 0.236223735980e-4, -0.328589067840e-6, -0.499048287770e-8, -0.675090591730e-10,
	-0.574103274280e-12, -0.310888728940e-14, -0.104516093650e-16, -0.198892668780e-19, -0.163226974860e-22,
};
static const double k_above[] = {
	-0.176004136860e-1, 0.389212049750e-1, 0.185587700320e-4, -0.994575928740e-7, 0.318409457190e-9,
	-0.560728448890e-12, 0.560750590590e-15, -0.320207200030e-18, 0.971511471520e-22, -0.121047212750e-25,
};
static const double k_a0 = 0.118597600000, k_a1 = -0.118343200000e-3, k_a2 = 0.126968600000e3;
static const double k_low = -270, k_high = 1372;

#define COUNT(a) (sizeof(a) / sizeof((a)[0]))

static double polynomial(const double *c, size_t n, double x)
{
	double sum = 0;

	while (n-- > 0)
		sum = sum * x + c[n];
	return sum;
}

static double polynomial_slope(const double *c, size_t n, double x)
{
	double sum = 0;

	while (n-- > 1)
		sum = sum * x + (double)n * c[n];
	return sum;
}

static double k_emf(double t)
{
	if (t <= 0)
		return polynomial(k_below, COUNT(k_below), t);
	return polynomial(k_above, COUNT(k_above), t) + k_a0 * exponential(k_a1 * (t - k_a2) * (t - k_a2));
}

static double k_emf_slope(double t)
{
	double d = t - k_a2;

	if (t <= 0)
		return polynomial_slope(k_below, COUNT(k_below), t);
	return polynomial_slope(k_above, COUNT(k_above), t) + k_a0 * exponential(k_a1 * d * d) * 2 * k_a1 * d;
}

/*
 * Solves f(t) = y for a rising f on [low, high]: Newton, but a step that leaves the bracket is replaced by halving it, so it
 * always ends. NaN when y lies outside f(low)..f(high).
 */
static double solve_rising(double (*f)(double), double (*slope)(double), double low, double high, double y)
{
	double t;

	if (!(y >= f(low) && y <= f(high)))
		return NOT_A_NUMBER;
	t = low + (high - low) * (y - f(low)) / (f(high) - f(low));
	for (int i = 0; i < 200; i++) {
		double excess = f(t) - y, next;

		if (excess == 0)
			return t;
		if (excess > 0)
			high = t;
		else
			low = t;
		next = t - excess / slope(t);
		if (!(next > low && next < high))
			next = low + (high - low) / 2;
		if (fabs(next - t) <= 1e-13 * larger(1, fabs(t)))
			return next;
		t = next;
	}
	return t;
}

static double rtd_inverse(double ratio)
{
	if (ratio < 1)
		return solve_rising(rtd_ratio, rtd_ratio_slope, rtd_low, 0, ratio);
	if (!(ratio <= rtd_ratio(rtd_high)))
		return NOT_A_NUMBER;
	/* The smaller root of B t^2 + A t + 1 - ratio = 0, written so that nothing cancels near 0 degC. */
	return smaller(rtd_high, 2 * (ratio - 1) / (rtd_a + sqrt(rtd_a * rtd_a - 4 * rtd_b * (1 - ratio))));
}

double characteristic_forward(const struct characteristic *c, struct range input, struct range output, double value)
{
	double fraction;

	switch (c->kind) {
	case CHARACTERISTIC_LINEAR:
		return range_at(output, range_fraction(input, value));
	case CHARACTERISTIC_SQUARE_ROOT:
		fraction = range_fraction(input, value);
		return fraction <= 0 ? output.low : range_at(output, sqrt(fraction));
	case CHARACTERISTIC_RTD:
		return c->r0 > 0 && value >= rtd_low && value <= rtd_high ? c->r0 * rtd_ratio(value) : NOT_A_NUMBER;
	case CHARACTERISTIC_THERMOCOUPLE:
		return value >= k_low && value <= k_high ? k_emf(value) : NOT_A_NUMBER;
	}
	return NOT_A_NUMBER;
}

double characteristic_inverse(const struct characteristic *c, struct range input, struct range output, double value)
{
	double fraction;

	switch (c->kind) {
	case CHARACTERISTIC_LINEAR:
		return range_at(input, range_fraction(output, value));
	case CHARACTERISTIC_SQUARE_ROOT:
		fraction = range_fraction(output, value);
		return fraction >= 0 ? range_at(input, fraction * fraction) : NOT_A_NUMBER;
	case CHARACTERISTIC_RTD:
		return c->r0 > 0 ? rtd_inverse(value / c->r0) : NOT_A_NUMBER;
	case CHARACTERISTIC_THERMOCOUPLE:
		return solve_rising(k_emf, k_emf_slope, k_low, k_high, value);
	}
	return NOT_A_NUMBER;
}

double characteristic_slope(const struct characteristic *c, struct range input, struct range output, double value)
{
	double fraction = range_fraction(input, value), ratio = range_span(output) / range_span(input);

	switch (c->kind) {
	case CHARACTERISTIC_LINEAR:
		return ratio;
	case CHARACTERISTIC_SQUARE_ROOT:
		if (fraction < 0)
			return 0;
		return fraction > 0 ? ratio / (2 * sqrt(fraction)) : ratio * INFINITE;
	case CHARACTERISTIC_RTD:
		return c->r0 > 0 && value >= rtd_low && value <= rtd_high ? c->r0 * rtd_ratio_slope(value) : NOT_A_NUMBER;
	case CHARACTERISTIC_THERMOCOUPLE:
		return value >= k_low && value <= k_high ? k_emf_slope(value) : NOT_A_NUMBER;
	}
	return NOT_A_NUMBER;
}
