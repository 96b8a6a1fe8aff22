#include "number.h"

#include <limits.h>
#include <stdint.h>

#define POWER_MAX 30

static const double powers[2 * POWER_MAX + 1] = {
	1e-30, 1e-29, 1e-28, 1e-27, 1e-26, 1e-25, 1e-24, 1e-23, 1e-22, 1e-21, 1e-20, 1e-19, 1e-18, 1e-17, 1e-16, 1e-15,
	1e-14, 1e-13, 1e-12, 1e-11, 1e-10, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 1e0, 1e1, 1e2, 1e3, 1e4,
	1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22, 1e23, 1e24,
	1e25, 1e26, 1e27, 1e28, 1e29, 1e30,
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
 * x = k ln 2 + r with |r| <= ln 2 / 2, exp(x) = 2^k exp(r). ln 2 is taken in two parts so that k times the first is exact;
 * the series ends where its next term is below 1e-17.
 */
double exponential(double x)
{
	static const double ln2_high = 0x1.62e42fefa3800p-1, ln2_low = 0x1.ef35793c76730p-45;
	union { double v; uint64_t bits; } scale;
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
		sum = 1 + sum * r / n;
	scale.bits = (uint64_t)(1023 + (int)k) << 52;
	return sum * scale.v;
}
