/* The averaged error curve of a run, and lines through it. */
#ifndef METROLOGY_CURVE_H
#define METROLOGY_CURVE_H

#include "metrology/evaluation.h"

/* All readings of one set point. Errors in % of output span. */
struct curve_point {
	double set;
	double x;		/* fraction of the input span */
	double mean;		/* over all readings */
	double mean_of[2];	/* rising, falling; NaN without any */
	double low[2], high[2]; /* smallest and largest error of that direction */
	int count, count_of[2];
};

struct line {
	double a, b;
}; /* a + b x */

/* Groups the readings whose error is a number by set, ascending in x; returns how many points. points holds n. */
size_t curve_from_readings(const struct test_setup *setup, const struct reading *readings,
			   const struct judged_reading *judged, size_t n, struct curve_point *points);

/*
 * The line with the smallest largest |y - (a + b x)| over points ascending in x (equal x allowed), exact: the narrowest
 * vertical strip around them touches an edge of one hull and a corner of the other. *deviation receives half its width.
 * One x only: b = 0 and the middle. n >= 1.
 */
struct line minimax_line(const double *x, const double *y, size_t n, double *deviation);
/* The smallest that the largest |y - y0 - b (x - x0)| can be made by the slope b; no x lies below x0. */
double minimax_through_first(const double *x, const double *y, size_t n);
struct line least_squares_line(const double *x, const double *y, size_t n);
double largest_deviation(const double *x, const double *y, size_t n, struct line l);

#endif
