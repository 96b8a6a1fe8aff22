/*
 * Lines and polynomials through points: least squares by Householder QR with parameter standard deviations, and the
 * line of Theil and Sen, which a few wild points do not turn.
 */
#ifndef METROLOGY_FIT_H
#define METROLOGY_FIT_H

#include <stdbool.h>
#include <stddef.h>

#define FIT_ORDER_MAX  5
#define FIT_POINTS_MAX 2000

struct fit {
	int n_coefficients;
	double coefficient[FIT_ORDER_MAX + 1]; /* of 1, x, x^2, ... (0 for the constant when through zero) */
	double standard_deviation[FIT_ORDER_MAX + 1];
	/* NaN without degrees of freedom; weighted: of a point of weight 1 */
	double residual_sd;
	double r_squared;
	/* of the coefficients; NaN without degrees of freedom */
	double covariance[FIT_ORDER_MAX + 1][FIT_ORDER_MAX + 1];
	/* the same curve as a polynomial of (x - centre) / unit, which fit_value() keeps more digits with */
	double centre, unit, local[FIT_ORDER_MAX + 1], local_covariance[FIT_ORDER_MAX + 1][FIT_ORDER_MAX + 1];
};

/*
 * y = c0 + c1 x + ... by least squares; order 0..FIT_ORDER_MAX (1.. through zero), n 1..FIT_POINTS_MAX.
 * Coefficients are in y's unit over powers of x's. Householder reflections (Golub, Numer. Math. 7, 1965, 206);
 * standard deviations from the residuals with n - p degrees of freedom (JCGM 100:2008, H.3 for the line). work:
 * FIT_POINTS_MAX * (FIT_ORDER_MAX + 2) doubles brought by the caller. False, out then undefined, when the
 * points do not determine it: too few different x.
 */
bool fit_polynomial(const double *x, const double *y, size_t n, int order, bool through_zero, double *work,
		    struct fit *out);

/*
 * The same with weights > 0 proportional to 1/u^2 of each y, NULL for equal ones. Only their ratios count: how well
 * the points are known is taken from their scatter about the curve.
 */
bool fit_weighted(const double *x, const double *y, const double *weight, size_t n, int order, bool through_zero,
		  double *work, struct fit *out);

/* A line that was found otherwise, such as that of Theil and Sen, for fit_value(): it has no deviations. */
struct fit fit_line(double intercept, double slope);

/* The polynomial at x and, if not NULL, its standard deviation, covariances included (JCGM 100:2008, H.3.3). */
double fit_value(const struct fit *f, double x, double *standard_deviation);

#define THEIL_SEN_POINTS_MAX 500

struct theil_sen {
	double slope, intercept; /* median of the slopes of all pairs; median of y - slope x */
	/* confidence bounds; NaN when there are too few pairs for that confidence */
	double slope_low, slope_high;
	size_t pairs; /* with different x */
};

/* Doubles that the work of n points takes. */
size_t theil_sen_work(size_t n);
/*
 * Sen, J. Am. Stat. Assoc. 63, 1968, 1379: bounds by the normal approximation to Kendall's S, with ties, ranks
 * rounded outwards. 2..THEIL_SEN_POINTS_MAX points, confidence in (0, 1). False when no two x differ or a value is
 * no number.
 */
bool theil_sen(const double *x, const double *y, size_t n, double confidence, double *work, struct theil_sen *out);

#endif
