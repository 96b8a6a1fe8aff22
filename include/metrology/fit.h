/* Polynomial least squares by Householder QR with parameter standard deviations. */
#ifndef METROLOGY_FIT_H
#define METROLOGY_FIT_H

#include <stdbool.h>
#include <stddef.h>

#define FIT_ORDER_MAX 5
#define FIT_POINTS_MAX 2000

struct fit {
	int n_coefficients;
	double coefficient[FIT_ORDER_MAX + 1];		/* of 1, x, x^2, ... (0 for the constant when through zero) */
	double standard_deviation[FIT_ORDER_MAX + 1];
	double residual_sd;				/* NaN without degrees of freedom */
	double r_squared;
};

/* work: FIT_POINTS_MAX * (FIT_ORDER_MAX + 2) doubles brought by the caller. False when the points do not determine it. */
bool fit_polynomial(const double *x, const double *y, size_t n, int order, bool through_zero, double *work, struct fit *out);

#endif
