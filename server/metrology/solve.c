#include "solve.h"

#include <stddef.h>
#include "number.h"

double solve(const struct function *f, double low, double high, double y)
{
	return solve_between(f, low, high, f->at(f->of, low, NULL), f->at(f->of, high, NULL), y);
}

double solve_between(const struct function *f, double low, double high, double at_low, double at_high, double y)
{
	double sign = at_high < at_low ? -1 : 1, x, slope;

	if (!(sign * (y - at_low) >= 0 && sign * (at_high - y) >= 0))
		return NOT_A_NUMBER;
	if (at_low == at_high)
		return low;
	x = low + (high - low) * ((y - at_low) / (at_high - at_low));
	for (int i = 0; i < 200; i++) {
		double excess = f->at(f->of, x, &slope) - y, next;

		if (excess == 0)
			return x;
		if (sign * excess > 0)
			high = x;
		else
			low = x;
		next = slope != 0 ? x - excess / slope : low;
		if (!(next > low && next < high))
			next = low + (high - low) / 2;
		if (fabs(next - x) <= 1e-13 * larger(1e-3, fabs(x)))
			return next;
		x = next;
	}
	return x;
}
