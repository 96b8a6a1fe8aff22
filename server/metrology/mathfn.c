#include "mathfn.h"

#include <stdint.h>
#include "number.h"

#define LN2_HIGH    0x1.62e42fefa3800p-1 /* ln 2 in two parts: a multiple of the first by a binary exponent is exact */
#define LN2_LOW	    0x1.ef35793c76730p-45
#define HALF_LN_2PI 0.91893853320467274178

/* ln(1 + f), |f| below 0.42: 2 artanh(s) with s = f / (2 + f), written as f less a small correction. */
static double log_near_one(double f)
{
	static const double c[] = {
		2.0 / 3,  2.0 / 5,  2.0 / 7,  2.0 / 9,	2.0 / 11, 2.0 / 13,
		2.0 / 15, 2.0 / 17, 2.0 / 19, 2.0 / 21, 2.0 / 23, 2.0 / 25,
	};
	double s = f / (2 + f), z = s * s, sum = 0;

	for (int k = 11; k >= 0; k--)
		sum = sum * z + c[k];
	return f - s * (f - sum * z);
}

double natural_log(double x)
{
	union {
		double v;
		uint64_t bits;
	} u = {x};
	int k = 0;

	if (!(x > 0))
		return x == 0 ? -INFINITE : NOT_A_NUMBER;
	if (!is_finite(x))
		return x;
	if (x < 0x1p-1022) {
		u.v = x * 0x1p54;
		k = -54;
	}
	k += (int)(u.bits >> 52) - 1023;
	u.bits = (u.bits & 0xfffffffffffffu) | (uint64_t)1023 << 52;
	if (u.v > 1.4142135623730951) {
		u.v /= 2;
		k++;
	}
	return k * LN2_HIGH + (log_near_one(u.v - 1) + k * LN2_LOW);
}

double log_one_plus(double x)
{
	double whole = 1 + x;

	if (x > -0.29 && x < 0.41)
		return log_near_one(x);
	if (!(whole > 0) || !is_finite(whole))
		return natural_log(whole);
	/* what rounding 1 + x has lost, to first order */
	return natural_log(whole) + (x >= 1 ? 1 - (whole - x) : x - (whole - 1)) / whole;
}

double exp_minus_one(double x)
{
	double sum = 1;

	if (!(fabs(x) < 1))
		return exponential(x) - 1;
	for (int n = 20; n >= 2; n--)
		sum = 1 + sum * x / n;
	return x * sum;
}

double power(double base, double exponent)
{
	if (base == 0 && exponent > 0)
		return 0;
	return exponential(exponent * natural_log(base));
}

double log_excess(double t)
{
	double r, z, sum = 0;

	if (!(fabs(t) < 0.5))
		return t - log_one_plus(t);
	/* ln(1 + t) = 2 (r + r^3/3 + ...) with r = t / (2 + t), and t - 2r = t r */
	r = t / (2 + t);
	z = r * r;
	for (int k = 35; k >= 3; k -= 2)
		sum = sum * z + 1.0 / k;
	return r * (t - 2 * z * sum);
}

/* Asymptotic series with the Bernoulli numbers B2k / (2k (2k - 1)), from z = 16 on; below, by rest(z) - rest(z + 1). */
double stirling_rest(double z)
{
	static const double c[] = {
		1.0 / 12, -1.0 / 360, 1.0 / 1260, -1.0 / 1680, 1.0 / 1188, -691.0 / 360360, 1.0 / 156, -3617.0 / 122400,
	};
	double below = 0, sum = 0, w;

	while (z < 16) {
		below += (z + 0.5) * log_one_plus(1 / z) - 1;
		z += 1;
	}
	w = 1 / (z * z);
	for (int k = 7; k >= 0; k--)
		sum = sum * w + c[k];
	return below + sum / z;
}

double half_deviance(double a, double m)
{
	double t = (m - a) / a;

	if (t < -0.5 || t > 1e8)
		return a * natural_log(a / m) + (m - a);
	return a * log_excess(t);
}

/* zeta(k) - 1 for k = 2, 3, ...: the series of ln Gamma about 2 (DLMF 5.7.3). */
static double log_gamma_about_two(double z)
{
	static const double zeta[] = {
		0.6449340668482264,	0.2020569031595943,	0.08232323371113819,   0.03692775514336993,
		0.01734306198444914,	0.008349277381922827,	0.00407735619794434,   0.0020083928260822143,
		0.0009945751278180853,	0.0004941886041194645,	0.0002460865533080483, 0.00012271334757848915,
		6.124813505870483e-05,	3.058823630702049e-05,	1.528225940865187e-05, 7.637197637899763e-06,
		3.81729326499984e-06,	1.908212716553939e-06,	9.539620338727962e-07, 4.769329867878064e-07,
		2.38450502727733e-07,	1.1921992596531106e-07, 5.960818905125948e-08, 2.980350351465228e-08,
		1.4901554828365043e-08,
	};
	double sum = 0;

	for (int k = 26; k >= 2; k--)
		sum = (k % 2 ? -1 : 1) * zeta[k - 2] / k + z * sum;
	return z * (0.42278433509846713 + z * sum); /* 1 - Euler's constant */
}

double log_gamma(double x)
{
	if (!(x > 0) || !is_finite(x))
		return x > 0 ? x : NOT_A_NUMBER;
	if (x < 0.5)
		return log_gamma(1 + x) - natural_log(x);
	if (x < 1.5)
		return log_gamma_about_two(x - 1) - natural_log(x);
	if (x < 2.5)
		return log_gamma_about_two(x - 2);
	return (x - 0.5) * (natural_log(x) - 1) - 0.5 + HALF_LN_2PI + stirling_rest(x);
}
