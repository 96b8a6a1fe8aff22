/*
 * Least squares by Householder reflections: the columns 1, x, x^2, ... are turned into a triangle, whose solution is the
 * polynomial, and the rest of y is what the polynomial leaves. x is scaled by a power of two and y is taken from its first
 * value on, which costs no digits and keeps large offsets from eating them.
 */
#include "metrology/fit.h"

#include "number.h"

#define COLUMNS_MAX (FIT_ORDER_MAX + 1)

static double power_of_two_above(double v)
{
	double p = 1;

	while (p < v && p < 1e300)
		p *= 2;
	while (p / 2 >= v && p > 1e-300)
		p /= 2;
	return p;
}

static double column_norm(const double *column, size_t from, size_t n)
{
	double largest = 0, sum = 0;

	for (size_t i = from; i < n; i++)
		largest = larger(largest, fabs(column[i]));
	if (largest == 0)
		return 0;
	for (size_t i = from; i < n; i++)
		sum += column[i] / largest * (column[i] / largest);
	return largest * sqrt(sum);
}

/* Applies the reflection whose vector is v[from..n) to a column; half is v'v / 2. */
static void reflect(const double *v, double half, double *column, size_t from, size_t n)
{
	double product = 0;

	for (size_t i = from; i < n; i++)
		product += v[i] * column[i];
	product /= half;
	for (size_t i = from; i < n; i++)
		column[i] -= product * v[i];
}

/* work holds p columns and then y, n values each; leaves the triangle above the diagonal and its diagonal apart. */
static bool triangle(double *work, size_t n, size_t p, double diagonal[COLUMNS_MAX])
{
	for (size_t k = 0; k < p; k++) {
		double *column = work + k * n, whole = column_norm(column, 0, n), norm = column_norm(column, k, n), half = 0;

		if (!(norm > 1e-12 * whole) || !is_finite(norm))
			return false;	/* the column is a mixture of those before it */
		diagonal[k] = column[k] > 0 ? -norm : norm;
		column[k] -= diagonal[k];
		for (size_t i = k; i < n; i++)
			half += column[i] * column[i];
		half /= 2;
		for (size_t j = k + 1; j <= p; j++)
			reflect(column, half, work + j * n, k, n);
	}
	return true;
}

static void solve(const double *work, const double *y, size_t n, size_t p, const double diagonal[COLUMNS_MAX],
		  double c[COLUMNS_MAX])
{
	for (size_t k = p; k-- > 0;) {
		double sum = y[k];

		for (size_t j = k + 1; j < p; j++)
			sum -= work[j * n + k] * c[j];
		c[k] = sum / diagonal[k];
	}
}

/* Square root of the diagonal of (R'R)^-1: the lengths of the rows of R^-1. */
static void inverse_row_lengths(const double *work, size_t n, size_t p, const double diagonal[COLUMNS_MAX],
				double length[COLUMNS_MAX])
{
	double unit[COLUMNS_MAX], column[COLUMNS_MAX];

	for (size_t k = 0; k < p; k++)
		length[k] = 0;
	for (size_t j = 0; j < p; j++) {
		for (size_t k = 0; k < p; k++)
			unit[k] = k == j ? 1 : 0;
		solve(work, unit, n, p, diagonal, column);
		for (size_t k = 0; k < p; k++)
			length[k] += column[k] * column[k];
	}
	for (size_t k = 0; k < p; k++)
		length[k] = sqrt(length[k]);
}

static double determination(const double *y, size_t n, bool about_zero, double residual)
{
	double mean = 0, sum = 0;

	for (size_t i = 0; i < n && !about_zero; i++)
		mean += (y[i] - y[0]) / (double)n;
	for (size_t i = 0; i < n; i++) {
		double d = about_zero ? y[i] : y[i] - y[0] - mean;

		sum += d * d;
	}
	return sum > 0 ? 1 - residual / sum : NOT_A_NUMBER;
}

bool fit_polynomial(const double *x, const double *y, size_t n, int order, bool through_zero, double *work, struct fit *out)
{
	double diagonal[COLUMNS_MAX], c[COLUMNS_MAX], length[COLUMNS_MAX], reach = 0, unit, residual = 0, sd, power = 1;
	size_t first = through_zero ? 1 : 0, p;
	double offset, *rest;

	if (order < (through_zero ? 1 : 0) || order > FIT_ORDER_MAX || n > FIT_POINTS_MAX)
		return false;
	p = (size_t)order + 1 - first;
	if (n < p)
		return false;
	for (size_t i = 0; i < n; i++) {
		if (!is_finite(x[i]) || !is_finite(y[i]))
			return false;
		reach = larger(reach, fabs(x[i]));
	}
	unit = power_of_two_above(reach > 0 ? reach : 1);
	offset = through_zero ? 0 : y[0];
	rest = work + p * n;
	for (size_t i = 0; i < n; i++) {
		double value = through_zero ? x[i] / unit : 1;

		for (size_t k = 0; k < p; k++, value *= x[i] / unit)
			work[k * n + i] = value;
		rest[i] = y[i] - offset;
	}
	if (!triangle(work, n, p, diagonal))
		return false;
	solve(work, rest, n, p, diagonal, c);
	inverse_row_lengths(work, n, p, diagonal, length);
	for (size_t i = p; i < n; i++)
		residual += rest[i] * rest[i];
	sd = n > p ? sqrt(residual / (double)(n - p)) : NOT_A_NUMBER;
	out->n_coefficients = order + 1;
	out->coefficient[0] = out->standard_deviation[0] = 0;
	for (size_t k = 0; k < p; k++) {
		if (k + first > 0)
			power *= unit;
		out->coefficient[k + first] = c[k] / power;
		out->standard_deviation[k + first] = length[k] * sd / power;
	}
	out->coefficient[0] += offset;
	out->residual_sd = sd;
	out->r_squared = determination(y, n, through_zero, residual);
	return true;
}
