/* A quantity's range. high < low is a reverse-acting one; equal ends are no range. */
#ifndef METROLOGY_RANGE_H
#define METROLOGY_RANGE_H

struct range {
	double low, high; /* in the unit of the quantity, which the core does not know */
};

double range_span(struct range r);		     /* high - low, signed */
double range_fraction(struct range r, double value); /* 0 at low, 1 at high; NaN for an empty range */
double range_at(struct range r, double fraction);    /* its inverse; exactly low at 0 and high at 1 */

#endif
