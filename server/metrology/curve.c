#include "curve.h"

#include "number.h"

static struct curve_point *point_at(struct curve_point *points, size_t *count, double set)
{
	struct curve_point *p;

	for (size_t i = 0; i < *count; i++)
		if (points[i].set == set)
			return &points[i];
	p = &points[(*count)++];
	p->set = set;
	p->count = p->count_of[RISING] = p->count_of[FALLING] = 0;
	p->mean = p->mean_of[RISING] = p->mean_of[FALLING] = 0;
	p->low[RISING] = p->low[FALLING] = INFINITE;
	p->high[RISING] = p->high[FALLING] = -INFINITE;
	return p;
}

static void sort_by_x(struct curve_point *points, size_t n)
{
	for (size_t i = 1; i < n; i++) {
		struct curve_point moving = points[i];
		size_t j = i;

		for (; j > 0 && points[j - 1].x > moving.x; j--)
			points[j] = points[j - 1];
		points[j] = moving;
	}
}

size_t curve_from_readings(const struct test_setup *setup, const struct reading *readings,
			   const struct judged_reading *judged, size_t n, struct curve_point *points)
{
	size_t count = 0;

	for (size_t i = 0; i < n; i++) {
		enum direction d = readings[i].direction == FALLING ? FALLING : RISING;
		double e = judged[i].error_percent;
		struct curve_point *p;

		if (is_nan(e))
			continue;
		p = point_at(points, &count, readings[i].set);
		p->count++;
		p->count_of[d]++;
		p->mean += e;
		p->mean_of[d] += e;
		p->low[d] = smaller(p->low[d], e);
		p->high[d] = larger(p->high[d], e);
	}
	for (size_t i = 0; i < count; i++) {
		struct curve_point *p = &points[i];

		p->x = range_fraction(setup->input, p->set);
		p->mean /= p->count;
		for (int d = 0; d < 2; d++)
			p->mean_of[d] = p->count_of[d] > 0 ? p->mean_of[d] / p->count_of[d] : NOT_A_NUMBER;
	}
	sort_by_x(points, count);
	return count;
}

/* > 0 when the way from a over b to c turns to the left. */
static double turn(const double *x, const double *y, size_t a, size_t b, size_t c)
{
	return (x[b] - x[a]) * (y[c] - y[a]) - (y[b] - y[a]) * (x[c] - x[a]);
}

/* Corners of the upper (side 1) or lower (side -1) hull; of several points with the same x only the outermost is one. */
static size_t hull(const double *x, const double *y, size_t n, double side, size_t *corner)
{
	size_t count = 0;

	for (size_t i = 0; i < n; i++) {
		if (count > 0 && x[corner[count - 1]] == x[i]) {
			if (side * (y[i] - y[corner[count - 1]]) <= 0)
				continue;
			count--;
		}
		while (count >= 2 && side * turn(x, y, corner[count - 2], corner[count - 1], i) >= 0)
			count--;
		corner[count++] = i;
	}
	return count;
}

/* Keeps the narrowest strip with one side along an edge of this hull and the other through the farthest corner opposite. */
static void try_edges(const double *x, const double *y, const size_t *edge, size_t edges, const size_t *corner,
		      size_t corners, struct line *best, double *width)
{
	for (size_t i = 0; i + 1 < edges; i++) {
		size_t p = edge[i], q = edge[i + 1];
		double b = (y[q] - y[p]) / (x[q] - x[p]), farthest = 0;

		for (size_t j = 0; j < corners; j++) {
			double d = y[corner[j]] - y[p] - b * (x[corner[j]] - x[p]);

			if (fabs(d) > fabs(farthest))
				farthest = d;
		}
		if (fabs(farthest) < *width) {
			*width = fabs(farthest);
			best->b = b;
			best->a = y[p] - b * x[p] + farthest / 2;
		}
	}
}

struct line minimax_line(const double *x, const double *y, size_t n, double *deviation)
{
	size_t upper[READINGS_MAX] = {0}, lower[READINGS_MAX] = {0};
	size_t n_upper = hull(x, y, n, 1, upper), n_lower = hull(x, y, n, -1, lower);
	struct line best = {(y[upper[0]] + y[lower[0]]) / 2, 0};
	double width = INFINITE;

	if (n_upper == 1)
		width = y[upper[0]] - y[lower[0]];
	try_edges(x, y, upper, n_upper, lower, n_lower, &best, &width);
	try_edges(x, y, lower, n_lower, upper, n_upper, &best, &width);
	*deviation = width / 2;
	return best;
}

/* Any two points bound the deviation from below, and the largest of these bounds is reached (Helly's theorem on a line). */
double minimax_through_first(const double *x, const double *y, size_t n)
{
	double largest = 0;

	for (size_t i = 1; i < n; i++) {
		double di = y[i] - y[0], ti = x[i] - x[0];

		for (size_t j = i + 1; j < n; j++) {
			double dj = y[j] - y[0], tj = x[j] - x[0];

			if (ti + tj > 0)
				largest = larger(largest, fabs(di * tj - dj * ti) / (ti + tj));
		}
	}
	return largest;
}

struct line least_squares_line(const double *x, const double *y, size_t n)
{
	double mean_x = 0, mean_y = 0, sum_xx = 0, sum_xy = 0;
	struct line l;

	for (size_t i = 0; i < n; i++) {
		mean_x += x[i] / (double)n;
		mean_y += y[i] / (double)n;
	}
	for (size_t i = 0; i < n; i++) {
		sum_xx += (x[i] - mean_x) * (x[i] - mean_x);
		sum_xy += (x[i] - mean_x) * (y[i] - mean_y);
	}
	l.b = sum_xx > 1e-20 ? sum_xy / sum_xx : 0;
	l.a = mean_y - l.b * mean_x;
	return l;
}

double largest_deviation(const double *x, const double *y, size_t n, struct line l)
{
	double largest = 0;

	for (size_t i = 0; i < n; i++)
		largest = larger(largest, fabs(y[i] - l.a - l.b * x[i]));
	return largest;
}
