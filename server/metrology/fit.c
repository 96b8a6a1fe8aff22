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

/* n values in each of p columns, and after them y; the reflections leave R above the diagonal and Q'y in place of y. */
struct system {
	double *columns, *y;
	size_t n, p;
	double diagonal[COLUMNS_MAX];	/* of R */
};

static bool make_triangle(struct system *s)
{
	for (size_t k = 0; k < s->p; k++) {
		double *column = s->columns + k * s->n, half = 0;
		double whole = column_norm(column, 0, s->n), norm = column_norm(column, k, s->n);

		if (!(norm > 1e-12 * whole) || !is_finite(norm))
			return false;	/* the column is a mixture of those before it */
		s->diagonal[k] = column[k] > 0 ? -norm : norm;
		column[k] -= s->diagonal[k];
		for (size_t i = k; i < s->n; i++)
			half += column[i] * column[i];
		half /= 2;
		for (size_t j = k + 1; j <= s->p; j++)
			reflect(column, half, s->columns + j * s->n, k, s->n);
	}
	return true;
}

/* R c = y */
static void solve(const struct system *s, const double *y, double *c)
{
	for (size_t k = s->p; k-- > 0;) {
		double sum = y[k];

		for (size_t j = k + 1; j < s->p; j++)
			sum -= s->columns[j * s->n + k] * c[j];
		c[k] = sum / s->diagonal[k];
	}
}

/* Square roots of the diagonal of (R'R)^-1: the lengths of the rows of R^-1. */
static void inverse_row_lengths(const struct system *s, double *length)
{
	double unit[COLUMNS_MAX], column[COLUMNS_MAX];

	for (size_t k = 0; k < s->p; k++)
		length[k] = 0;
	for (size_t j = 0; j < s->p; j++) {
		for (size_t k = 0; k < s->p; k++)
			unit[k] = k == j ? 1 : 0;
		solve(s, unit, column);
		for (size_t k = 0; k < s->p; k++)
			length[k] += column[k] * column[k];
	}
	for (size_t k = 0; k < s->p; k++)
		length[k] = sqrt(length[k]);
}

/* 1 less the residual's share of the sum of squares about the mean, or about zero for a curve through zero. */
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

/* The power of two that x is divided by; NaN when a value is no number. */
static double scale_of(const double *x, const double *y, size_t n)
{
	double reach = 0;

	for (size_t i = 0; i < n; i++) {
		if (!is_finite(x[i]) || !is_finite(y[i]))
			return NOT_A_NUMBER;
		reach = larger(reach, fabs(x[i]));
	}
	return power_of_two_above(reach > 0 ? reach : 1);
}

static void fill(struct system *s, const double *x, const double *y, double unit, double offset, bool through_zero)
{
	for (size_t i = 0; i < s->n; i++) {
		double value = through_zero ? x[i] / unit : 1;

		for (size_t k = 0; k < s->p; k++, value *= x[i] / unit)
			s->columns[k * s->n + i] = value;
		s->y[i] = y[i] - offset;
	}
}

bool fit_polynomial(const double *x, const double *y, size_t n, int order, bool through_zero, double *work, struct fit *out)
{
	double c[COLUMNS_MAX] = {0}, length[COLUMNS_MAX] = {0}, residual = 0, power = 1, unit, offset;
	size_t first = through_zero ? 1 : 0;
	struct system s = {.columns = work, .n = n};

	if (order < (int)first || order > FIT_ORDER_MAX || n > FIT_POINTS_MAX || n < (size_t)order + 1 - first)
		return false;
	s.p = (size_t)order + 1 - first;
	s.y = work + s.p * n;
	unit = scale_of(x, y, n);
	offset = through_zero ? 0 : y[0];
	fill(&s, x, y, unit, offset, through_zero);
	if (is_nan(unit) || !make_triangle(&s))
		return false;
	solve(&s, s.y, c);
	inverse_row_lengths(&s, length);
	for (size_t i = s.p; i < n; i++)
		residual += s.y[i] * s.y[i];
	out->residual_sd = n > s.p ? sqrt(residual / (double)(n - s.p)) : NOT_A_NUMBER;
	out->n_coefficients = order + 1;
	out->coefficient[0] = out->standard_deviation[0] = 0;
	for (size_t k = first; k < s.p + first; k++) {
		if (k > 0)
			power *= unit;
		out->coefficient[k] = c[k - first] / power;
		out->standard_deviation[k] = length[k - first] * out->residual_sd / power;
	}
	out->coefficient[0] += offset;
	out->r_squared = determination(y, n, through_zero, residual);
	return true;
}
