#include "metrology/range.h"

#include "number.h"

double range_span(struct range r)
{
	return r.high - r.low;
}

double range_fraction(struct range r, double value)
{
	double span = range_span(r);

	return span != 0 ? (value - r.low) / span : NOT_A_NUMBER;
}

double range_at(struct range r, double fraction)
{
	if (fraction == 1)
		return r.high; /* low + (high - low) may miss it by a bit */
	return r.low + fraction * range_span(r);
}
