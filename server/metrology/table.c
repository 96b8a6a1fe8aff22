/*
 * Straight pieces, or the monotone cubic of F. N. Fritsch and R. E. Carlson, "Monotone piecewise cubic
 * interpolation", SIAM J. Numer. Anal. 17 (1980) 238: slopes at the points are the means of the chords on both sides
 * (of the one chord at the ends), 0 where the chords differ in sign, then drawn in so that (alpha, beta), the slopes
 * over the chord, lie in the circle of radius 3, left to right. It goes through the points and turns nowhere between
 * them.
 */
#include "table.h"

#include "number.h"
#include "solve.h"

/* One piece between two points; slopes only for the cubic. */
struct piece {
	double x, width, y, chord, slope_low, slope_high;
	bool cubic;
};

static double chord(const struct characteristic *c, int k)
{
	double width = c->x[k + 1] - c->x[k];

	return width == 0 ? NOT_A_NUMBER : (c->y[k + 1] - c->y[k]) / width;
}

static double first_slope(const struct characteristic *c, int k)
{
	double before, after;

	if (k == 0)
		return chord(c, 0);
	if (k == c->n_points - 1)
		return chord(c, k - 1);
	before = chord(c, k - 1);
	after = chord(c, k);
	return before * after > 0 ? (before + after) / 2 : 0;
}

static void draw_in(double d, double *low, double *high)
{
	double alpha, beta, square;

	if (d == 0) {
		*low = *high = 0;
		return;
	}
	alpha = *low / d;
	beta = *high / d;
	square = alpha * alpha + beta * beta;
	if (square > 9) {
		*low = 3 * alpha / sqrt(square) * d;
		*high = 3 * beta / sqrt(square) * d;
	}
}

/* Drawing in piece k changes the slope that piece k - 1 ends with, so the pieces from the first to the one after k matter. */
static void piece_slopes(const struct characteristic *c, int k, double *low, double *high)
{
	double at = first_slope(c, 0), next;

	*low = *high = 0;
	for (int i = 0; i <= k + 1 && i + 1 < c->n_points; i++) {
		next = first_slope(c, i + 1);
		draw_in(chord(c, i), &at, &next);
		if (i == k) {
			*low = at;
			*high = next;
		}
		if (i == k + 1)
			*high = at;
		at = next;
	}
}

static struct piece piece_from(const struct characteristic *c, int k)
{
	struct piece p = {c->x[k], c->x[k + 1] - c->x[k], c->y[k], chord(c, k), 0, 0, false};

	p.cubic = c->interpolation == INTERPOLATION_MONOTONE_CUBIC;
	if (p.cubic)
		piece_slopes(c, k, &p.slope_low, &p.slope_high);
	return p;
}

/* How far along the piece, 0..1; NaN on one without width, which no well-formed table has. */
static double along(const struct piece *p, double x)
{
	return p->width == 0 ? NOT_A_NUMBER : (x - p->x) / p->width;
}

/* Hermite's cubic as y + h (d u + u (1 - u) ((m0 - d)(1 - u) - (m1 - d) u)), which is the chord and what bends away from it. */
static double piece_value(const void *of, double x)
{
	const struct piece *p = of;
	double u = along(p, x), bend;

	if (!p->cubic)
		return p->y + p->chord * (x - p->x);
	bend = (p->slope_low - p->chord) * (1 - u) - (p->slope_high - p->chord) * u;
	return p->y + p->width * (p->chord * u + u * (1 - u) * bend);
}

static double piece_slope(const void *of, double x)
{
	const struct piece *p = of;
	double u = along(p, x), low, high;

	if (!p->cubic)
		return p->chord;
	low = p->slope_low - p->chord;
	high = p->slope_high - p->chord;
	return p->chord + low * (1 - u) * (1 - 3 * u) + high * u * (3 * u - 2);
}

static double piece_value_and_slope(const void *of, double x, double *slope)
{
	if (slope)
		*slope = piece_slope(of, x);
	return piece_value(of, x);
}

/* The piece that x lies in, the upper one at a point; -1 outside. */
static int piece_at(const struct characteristic *c, double x)
{
	int low = 0, high = c->n_points - 1;

	if (c->n_points < 2 || !(x >= c->x[0] && x <= c->x[high]))
		return -1;
	while (high - low > 1) {
		int middle = (low + high) / 2;

		if (x >= c->x[middle])
			low = middle;
		else
			high = middle;
	}
	return low;
}

double table_value(const struct characteristic *c, double x)
{
	int k = piece_at(c, x);
	struct piece p;

	if (k < 0)
		return NOT_A_NUMBER;
	if (x == c->x[k + 1])
		return c->y[k + 1]; /* only at the last point; the points themselves to the last bit */
	p = piece_from(c, k);
	return piece_value(&p, x);
}

double table_slope(const struct characteristic *c, double x)
{
	int k = piece_at(c, x);
	struct piece p;

	if (k < 0)
		return NOT_A_NUMBER;
	p = piece_from(c, k);
	return piece_slope(&p, x);
}

int table_trend(const struct characteristic *c)
{
	int trend = 0;

	for (int k = 0; k + 1 < c->n_points; k++) {
		int step = c->y[k + 1] > c->y[k] ? 1 : c->y[k + 1] < c->y[k] ? -1 : 0;

		if (step == 0 || (trend != 0 && step != trend))
			return 0;
		trend = step;
	}
	return trend;
}

double table_inverse(const struct characteristic *c, double y)
{
	int trend = table_trend(c);
	struct piece p;
	struct function f = {piece_value_and_slope, &p};

	for (int k = 0; trend != 0 && k + 1 < c->n_points; k++) {
		if (!(trend * (y - c->y[k]) >= 0 && trend * (c->y[k + 1] - y) >= 0))
			continue;
		if (y == c->y[k])
			return c->x[k];
		if (y == c->y[k + 1])
			return c->x[k + 1];
		p = piece_from(c, k);
		if (!p.cubic)
			return larger(p.x, smaller(c->x[k + 1], p.x + (y - p.y) / p.chord));
		return solve(&f, p.x, c->x[k + 1], y);
	}
	return NOT_A_NUMBER;
}
