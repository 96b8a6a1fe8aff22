#include "number.h"

#include <limits.h>
#include <stdint.h>

#define POWER_MAX 30

static const double powers[2 * POWER_MAX + 1] = {
	1e-30, 1e-29, 1e-28, 1e-27, 1e-26, 1e-25, 1e-24, 1e-23, 1e-22, 1e-21, 1e-20, 1e-19, 1e-18, 1e-17, 1e-16, 1e-15,
	1e-14, 1e-13, 1e-12, 1e-11, 1e-10, 1e-9,  1e-8,	 1e-7,	1e-6,  1e-5,  1e-4,  1e-3,  1e-2,  1e-1,  1e0,	 1e1,
	1e2,   1e3,   1e4,   1e5,   1e6,   1e7,	  1e8,	 1e9,	1e10,  1e11,  1e12,  1e13,  1e14,  1e15,  1e16,	 1e17,
	1e18,  1e19,  1e20,  1e21,  1e22,  1e23,  1e24,	 1e25,	1e26,  1e27,  1e28,  1e29,  1e30,
};

double power_of_ten(int n)
{
	if (n < -POWER_MAX)
		return 0;
	return n > POWER_MAX ? INFINITE : powers[n + POWER_MAX];
}

int decimal_ceiling(double v)
{
	int low = -POWER_MAX, high = POWER_MAX;

	if (!(v >= powers[0] && v <= powers[2 * POWER_MAX]))
		return INT_MIN;
	while (low < high) {
		int middle = (low + high + 2 * POWER_MAX) / 2 - POWER_MAX;

		if (v <= power_of_ten(middle))
			high = middle;
		else
			low = middle + 1;
	}
	return low;
}

/*
 * x = k ln 2 + r with |r| <= ln 2 / 2, exp(x) = 2^k exp(r). ln 2 is taken in two parts so that k times the first is
 * exact; the series ends where its next term is below 1e-17.
 */
double exponential(double x)
{
	static const double ln2_high = 0x1.62e42fefa3800p-1, ln2_low = 0x1.ef35793c76730p-45;
	/* 1 / n; what their rounding adds is lost in the small terms, and a division takes four times as long */
	static const double part[15] = {0,	 1,	  1.0 / 2,  1.0 / 3,  1.0 / 4,	1.0 / 5,  1.0 / 6, 1.0 / 7,
					1.0 / 8, 1.0 / 9, 1.0 / 10, 1.0 / 11, 1.0 / 12, 1.0 / 13, 1.0 / 14};
	union {
		double v;
		uint64_t bits;
	} scale;
	double k, r, sum = 1;

	if (is_nan(x))
		return x;
	if (x < -700)
		return 0;
	if (x > 700)
		return INFINITE;
	k = floor(x / 0.69314718055994530942 + 0.5);
	r = (x - k * ln2_high) - k * ln2_low;
	for (int n = 14; n >= 1; n--)
		sum = 1 + sum * r * part[n];
	scale.bits = (uint64_t)(1023 + (int)k) << 52;
	return sum * scale.v;
}

/*
 * x = 2^k m with m between sqrt(1/2) and sqrt(2), log(x) = k ln 2 + 2 artanh((m - 1) / (m + 1)). Near 1 k is 0 and m
 * - 1 is exact, so that nothing cancels; the series ends where its next term is below 1e-17 of the first.
 */
double logarithm(double x)
{
	static const double ln2_high = 0x1.62e42fefa3800p-1, ln2_low = 0x1.ef35793c76730p-45;
	union {
		double v;
		uint64_t bits;
	} m = {x};
	double s, f, square, sum = 0;
	int k = 0;

	if (is_nan(x) || x < 0)
		return NOT_A_NUMBER;
	if (x == 0)
		return -INFINITE;
	if (!is_finite(x))
		return x;
	if (x < 0x1p-1022) {
		m.v = x * 0x1p54;
		k = -54;
	}
	k += (int)(m.bits >> 52) - 1023;
	m.bits = (m.bits & 0xfffffffffffffu) | (uint64_t)1023 << 52;
	if (m.v > 1.41421356237309504880) {
		m.v /= 2;
		k++;
	}
	s = (m.v - 1) / (m.v + 1);
	square = s * s;
	for (int n = 12; n >= 1; n--)
		sum = (sum + 1.0 / (2 * n + 1)) * square;
	f = m.v - 1; /* 2 s is f - s f, which keeps the exact f whole */
	return k * ln2_high - ((s * (f - 2 * sum) - k * ln2_low) - f);
}
