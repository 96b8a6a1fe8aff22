#include "solve.h"

#include "number.h"

double solve(const struct function *f, double low, double high, double y)
{
	double at_low = f->value(f->of, low), at_high = f->value(f->of, high), sign = at_high < at_low ? -1 : 1, x;

	if (!(sign * (y - at_low) >= 0 && sign * (at_high - y) >= 0))
		return NOT_A_NUMBER;
	if (at_low == at_high)
		return low;
	x = low + (high - low) * ((y - at_low) / (at_high - at_low));
	for (int i = 0; i < 200; i++) {
		double excess = f->value(f->of, x) - y, next;

		if (excess == 0)
			return x;
		if (sign * excess > 0)
			high = x;
		else
			low = x;
		next = x - excess / f->slope(f->of, x);
		if (!(next > low && next < high))
			next = low + (high - low) / 2;
		if (fabs(next - x) <= 1e-13 * larger(1e-3, fabs(x)))
			return next;
		x = next;
	}
	return x;
}
