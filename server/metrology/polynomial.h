/* Polynomials by their coefficients of 1, x, x^2, ... */
#ifndef METROLOGY_POLYNOMIAL_H
#define METROLOGY_POLYNOMIAL_H

#include <stdbool.h>
#include <stddef.h>
#include "metrology/characteristic.h"

#define POLYNOMIAL_TERMS_MAX CHARACTERISTIC_TERMS_MAX

static inline double polynomial(const double *c, size_t n, double x)
{
	double sum = 0;

	for (; n > 0; n--)
		sum = sum * x + c[n - 1];
	return sum;
}

static inline double polynomial_slope(const double *c, size_t n, double x)
{
	double sum = 0;

	for (; n > 1; n--)
		sum = sum * x + (double)(n - 1) * c[n - 1];
	return sum;
}

/*
 * 1 when it rises from low to high all the way, -1 when it falls, 0 when it does neither (a turn, a constant, or so
 * close to a turn that it cannot be told). n up to POLYNOMIAL_TERMS_MAX. A slope of 0 at single places does not
 * count as a turn.
 */
int polynomial_trend(const double *c, size_t n, double low, double high);

#endif
