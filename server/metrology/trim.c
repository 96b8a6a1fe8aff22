/*
 * How far to turn zero and span so that the largest remaining error is smallest (minimax). One screw is better than two: a
 * trim of zero alone, or of span alone, is taken when it comes within a tenth of the as-left limit of what both could do.
 * When the limits are not the same everywhere or on both sides, the middle of the errors is not the middle of the limits;
 * then, if the first answer does not fit, the largest |error| / limit is made smallest instead.
 */
#include "sample.h"

#include "curve.h"
#include "judge.h"
#include "number.h"

static double after(const struct sample *s, size_t i, double zero, double span)
{
	return s->e[i] + zero + span * s->t[i];
}

static struct trim applied(const struct sample *s, double zero, double span)
{
	struct trim t = {zero, span, 0, true};

	for (size_t i = 0; i < s->n; i++) {
		t.remaining = larger(t.remaining, fabs(after(s, i, zero, span)));
		if (!inside(after(s, i, zero, span), s->left[i], 100))
			t.inside = false;
	}
	return t;
}

static struct trim zero_alone(const struct sample *s)
{
	double low = s->e[0], high = s->e[0];

	for (size_t i = 1; i < s->n; i++) {
		low = smaller(low, s->e[i]);
		high = larger(high, s->e[i]);
	}
	return applied(s, -(low + high) / 2, 0);
}

/* The least deviation is known from pairs of points; the slopes that keep to it are an interval, whose middle is taken. */
static struct trim span_alone(const struct sample *s)
{
	double x[READINGS_MAX + 1], y[READINGS_MAX + 1], deviation, low = -INFINITE, high = INFINITE;

	x[0] = y[0] = 0;
	for (size_t i = 0; i < s->n; i++) {
		double side = s->t[i] < 0 ? -1 : 1; /* |e - b t| is the same for (-t, -e) */

		x[i + 1] = side * s->t[i];
		y[i + 1] = side * s->e[i];
	}
	deviation = minimax_through_first(x, y, s->n + 1);
	for (size_t i = 1; i <= s->n; i++) {
		if (x[i] < 1e-9)
			continue;
		low = larger(low, (y[i] - deviation) / x[i]);
		high = smaller(high, (y[i] + deviation) / x[i]);
	}
	if (!is_finite(low) || !is_finite(high))
		return applied(s, 0, 0);
	return applied(s, 0, -(low + high) / 2);
}

static struct trim both(const struct sample *s)
{
	double x[READINGS_MAX], y[READINGS_MAX], deviation;
	struct line l;

	for (size_t i = 0; i < s->n; i++) {
		size_t j = i;

		for (; j > 0 && x[j - 1] > s->t[i]; j--) {
			x[j] = x[j - 1];
			y[j] = y[j - 1];
		}
		x[j] = s->t[i];
		y[j] = s->e[i];
	}
	l = minimax_line(x, y, s->n, &deviation);
	return applied(s, -l.a, -l.b);
}

static double largest_ratio(const struct sample *s, double zero, double span)
{
	double largest = 0;

	for (size_t i = 0; i < s->n; i++) {
		double e = after(s, i, zero, span), limit = e > 0 ? s->left[i].high : -s->left[i].low;

		largest = larger(largest, fabs(e) / larger(limit, 1e-9));
	}
	return largest;
}

/* The best zero for a span trim: the ratio is convex in it, so thirds that cannot hold the least are cut away. */
static double best_zero(const struct sample *s, double span, double reach)
{
	double low = -reach, high = reach;

	for (int i = 0; i < 60; i++) {
		double a = low + (high - low) / 3, b = high - (high - low) / 3;

		if (largest_ratio(s, a, span) <= largest_ratio(s, b, span))
			high = b;
		else
			low = a;
	}
	return (low + high) / 2;
}

static struct trim fitted_to_limits(const struct sample *s, struct trim start)
{
	double reach = 2 * (fabs(start.zero) + fabs(start.span) + start.remaining), low = -reach, high = reach, span;

	for (int i = 0; i < 60; i++) {
		double a = low + (high - low) / 3, b = high - (high - low) / 3;

		if (largest_ratio(s, best_zero(s, a, 2 * reach), a) <= largest_ratio(s, best_zero(s, b, 2 * reach), b))
			high = b;
		else
			low = a;
	}
	span = (low + high) / 2;
	return applied(s, best_zero(s, span, 2 * reach), span);
}

static double smallest_limit(const struct sample *s)
{
	double smallest = INFINITE;

	for (size_t i = 0; i < s->n; i++)
		smallest = smaller(smallest, smaller(s->left[i].high, -s->left[i].low));
	return smallest;
}

/* Readings differ in their limits, so what is inside is asked of each candidate and not told from its remaining error. */
struct trim best_trim(const struct sample *s)
{
	struct trim zero = zero_alone(s), span = span_alone(s), two = both(s), one = zero, fitted;
	bool limited = !is_nan(s->left[0].low);
	double slack = limited ? smallest_limit(s) / 10 : two.remaining / 10;
	bool near;

	if (span.remaining < zero.remaining)
		one = span;
	near = one.remaining <= two.remaining + slack;
	if ((near && one.inside) || (one.inside && !two.inside))
		return one;
	if (two.inside)
		return two;
	if (limited && is_finite(two.remaining)) {
		fitted = fitted_to_limits(s, two);
		if (fitted.inside)
			return fitted;
	}
	return near ? one : two;
}
