/*
 * Least squares by Householder reflections: the columns 1, t, t^2, ... are turned into a triangle, whose solution is
 * the polynomial, and the rest of y is what the polynomial leaves. t = (x - centre) / unit and y from its first value
 * on keep large offsets, years or pascals of air pressure, from eating the digits; both are chosen such that they cost
 * none. The coefficients of x itself are found at the end.
 */
#include "metrology/fit.h"

#include "number.h"

#define COLUMNS_MAX (FIT_ORDER_MAX + 1)

struct points {
	const double *x, *y, *weight; /* weight NULL: all the same */
	size_t n;
};

static inline double weight_of(const struct points *p, size_t i)
{
	return p->weight ? p->weight[i] : 1;
}

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
	double diagonal[COLUMNS_MAX]; /* of R */
};

static bool make_triangle(struct system *s)
{
	for (size_t k = 0; k < s->p; k++) {
		double *column = s->columns + k * s->n, half = 0;
		double whole = column_norm(column, 0, s->n), norm = column_norm(column, k, s->n);

		if (!(norm > 1e-12 * whole) || !is_finite(norm))
			return false; /* the column is a mixture of those before it */
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
	for (size_t left = s->p; left > 0; left--) {
		size_t k = left - 1;
		double sum = y[k];

		for (size_t j = k + 1; j < s->p; j++)
			sum -= s->columns[j * s->n + k] * c[j];
		c[k] = sum / s->diagonal[k];
	}
}

/* 1 less the residual's share of the weighted sum of squares about the mean, or about zero for a curve through zero. */
static double determination(const struct points *p, bool about_zero, double residual)
{
	double mean = 0, weights = 0, sum = 0;

	for (size_t i = 0; i < p->n && !about_zero; i++) {
		weights += weight_of(p, i);
		mean += (p->y[i] - p->y[0] - mean) * (weight_of(p, i) / weights);
	}
	for (size_t i = 0; i < p->n; i++) {
		double d = about_zero ? p->y[i] : p->y[i] - p->y[0] - mean;

		sum += weight_of(p, i) * d * d;
	}
	return sum > 0 ? 1 - residual / sum : NOT_A_NUMBER;
}

static bool all_usable(const struct points *p)
{
	for (size_t i = 0; i < p->n; i++)
		if (!is_finite(p->x[i]) || !is_finite(p->y[i]) || !(weight_of(p, i) > 0) || !is_finite(weight_of(p, i)))
			return false;
	return true;
}

/*
 * The middle of the points where 0 lies outside of them, on a grid so coarse that x - centre is not rounded; 0 where it
 * lies between, or where the curve goes through it.
 */
static double centre_of(const struct points *p, bool through_zero)
{
	double low = p->x[0], high = p->x[0], grid;

	for (size_t i = 1; i < p->n; i++) {
		low = p->x[i] < low ? p->x[i] : low;
		high = larger(high, p->x[i]);
	}
	if (through_zero || low == high || (low <= 0 && high >= 0))
		return 0;
	grid = power_of_two_above(high - low) / 8;
	return floor((low + (high - low) / 2) / grid + 0.5) * grid;
}

/* The power of two that x - centre is divided by. */
static double scale_of(const struct points *p, double centre)
{
	double reach = 0;

	for (size_t i = 0; i < p->n; i++)
		reach = larger(reach, fabs(p->x[i] - centre));
	return power_of_two_above(reach > 0 ? reach : 1);
}

static void fill(struct system *s, const struct points *p, const struct fit *f, double offset, bool through_zero)
{
	for (size_t i = 0; i < s->n; i++) {
		double t = (p->x[i] - f->centre) / f->unit, root = p->weight ? sqrt(p->weight[i]) : 1,
		       value = through_zero ? root * t : root;

		for (size_t k = 0; k < s->p; k++) {
			s->columns[k * s->n + i] = value;
			value *= t;
		}
		s->y[i] = root * (p->y[i] - offset);
	}
}

/* A polynomial of t, its coefficients from the power first on, becomes one of x = centre + unit t. */
static void expand(const struct fit *f, size_t first, double *c, size_t p)
{
	double power = 1;

	for (size_t k = 0; k < first + p; k++) {
		if (k >= first)
			c[k - first] /= power;
		power *= f->unit;
	}
	for (size_t i = 0; i + 1 < p && f->centre != 0; i++)
		for (size_t k = p - 1; k > i; k--)
			c[k - 1] -= f->centre * c[k];
}

static void spread(const double inverse[COLUMNS_MAX][COLUMNS_MAX], size_t p, size_t first, double sd,
		   double out[COLUMNS_MAX][COLUMNS_MAX])
{
	for (size_t a = 0; a < p; a++)
		for (size_t b = 0; b < p; b++) {
			double sum = 0;

			for (size_t j = 0; j < p; j++)
				sum += sd * inverse[j][a] * (sd * inverse[j][b]);
			out[a + first][b + first] = sum;
		}
}

/* (R'R)^-1 = R^-1 (R^-1)', whose columns are expanded like coefficients, is that of the coefficients of x. */
static void carry_out(const struct system *s, size_t first, double offset, struct fit *out)
{
	double c[COLUMNS_MAX] = {0}, inverse[COLUMNS_MAX][COLUMNS_MAX]; /* its columns are kept as rows */

	solve(s, s->y, c);
	for (size_t k = 0; k < s->p; k++)
		out->local[k + first] = c[k];
	expand(out, first, c, s->p);
	for (size_t k = 0; k < s->p; k++)
		out->coefficient[k + first] = c[k];
	out->local[0] += offset;
	out->coefficient[0] += offset;
	for (size_t j = 0; j < s->p; j++) {
		double unit[COLUMNS_MAX] = {0};

		unit[j] = 1;
		solve(s, unit, inverse[j]);
	}
	spread(inverse, s->p, first, out->residual_sd, out->local_covariance);
	for (size_t j = 0; j < s->p; j++)
		expand(out, first, inverse[j], s->p);
	spread(inverse, s->p, first, out->residual_sd, out->covariance);
	for (size_t k = first; k < s->p + first; k++)
		out->standard_deviation[k] = sqrt(out->covariance[k][k]);
}

bool fit_weighted(const double *x, const double *y, const double *weight, size_t n, int order, bool through_zero,
		  double *work, struct fit *out)
{
	const struct points p = {x, y, weight, n};
	double residual = 0, offset;
	size_t first = through_zero ? 1 : 0;
	struct system s = {.columns = work, .n = n};

	if (order < (int)first || order > FIT_ORDER_MAX || n > FIT_POINTS_MAX || n < (size_t)order + 1 - first)
		return false;
	s.p = (size_t)order + 1 - first;
	s.y = work + s.p * n;
	if (!all_usable(&p))
		return false;
	*out = (struct fit){.n_coefficients = order + 1, .centre = centre_of(&p, through_zero)};
	out->unit = scale_of(&p, out->centre);
	offset = through_zero ? 0 : y[0];
	fill(&s, &p, out, offset, through_zero);
	if (!make_triangle(&s))
		return false;
	for (size_t i = s.p; i < n; i++)
		residual += s.y[i] * s.y[i];
	out->residual_sd = n > s.p ? sqrt(residual / (double)(n - s.p)) : NOT_A_NUMBER;
	out->r_squared = determination(&p, through_zero, residual);
	carry_out(&s, first, offset, out);
	return true;
}

bool fit_polynomial(const double *x, const double *y, size_t n, int order, bool through_zero, double *work,
		    struct fit *out)
{
	return fit_weighted(x, y, NULL, n, order, through_zero, work, out);
}

struct fit fit_line(double intercept, double slope)
{
	struct fit f = {.n_coefficients = 2, .unit = 1, .residual_sd = NOT_A_NUMBER, .r_squared = NOT_A_NUMBER};

	f.coefficient[0] = f.local[0] = intercept;
	f.coefficient[1] = f.local[1] = slope;
	for (int a = 0; a < 2; a++) {
		f.standard_deviation[a] = NOT_A_NUMBER;
		for (int b = 0; b < 2; b++)
			f.covariance[a][b] = f.local_covariance[a][b] = NOT_A_NUMBER;
	}
	return f;
}

double fit_value(const struct fit *f, double x, double *standard_deviation)
{
	double t = (x - f->centre) / f->unit, power[COLUMNS_MAX] = {1}, value = 0, variance = 0;
	int n = f->n_coefficients;

	for (int k = 1; k < n; k++)
		power[k] = power[k - 1] * t;
	for (int k = n - 1; k >= 0; k--)
		value = value * t + f->local[k];
	for (int a = 0; a < n; a++)
		for (int b = 0; b < n; b++)
			variance += power[a] * power[b] * f->local_covariance[a][b];
	if (standard_deviation)
		*standard_deviation = is_nan(variance) ? variance : sqrt(larger(variance, 0));
	return value;
}
