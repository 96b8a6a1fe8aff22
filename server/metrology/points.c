#include "metrology/points.h"

#include "number.h"

static void put(struct test_point *p, double percent, struct range input, enum direction direction, int cycle)
{
	p->percent = percent;
	p->set = percent == 100 ? input.high : input.low + percent * range_span(input) / 100;
	p->direction = direction;
	p->cycle = cycle;
}

/* One way through the points, without the first `skip` of it. */
static size_t one_way(const double *percent, size_t n, size_t skip, enum direction d, int cycle, struct range input,
		      struct test_point *out)
{
	for (size_t i = skip; i < n; i++)
		put(out++, percent[d == RISING ? i : n - 1 - i], input, d, cycle);
	return n - skip;
}

size_t points_generate(const double *percent, size_t n, enum point_pattern pattern, int cycles, struct range input,
		       struct test_point *out, size_t max)
{
	bool both = pattern != PATTERN_UP && pattern != PATTERN_DOWN;
	enum direction first = pattern == PATTERN_DOWN || pattern == PATTERN_DOWN_UP ? FALLING : RISING;
	size_t shared = pattern == PATTERN_UP_ALL ? 0 : 1, per_cycle, count = 0;

	if (n == 0 || n > max || cycles < 1)
		return 0;
	per_cycle = both ? 2 * n - shared : n;
	if ((size_t)cycles > max / per_cycle)
		return 0;
	for (size_t i = 1; i < n; i++)
		if (!(percent[i] > percent[i - 1]))
			return 0;
	for (int cycle = 1; cycle <= cycles; cycle++) {
		count += one_way(percent, n, 0, first, cycle, input, out + count);
		if (both)
			count += one_way(percent, n, shared, first == RISING ? FALLING : RISING, cycle, input,
					 out + count);
	}
	return count;
}

size_t points_even(size_t n, double *percent, size_t max)
{
	if (n > max)
		return 0;
	for (size_t i = 0; i < n; i++)
		percent[i] = n == 1 ? 50 : 100 * (double)i / (double)(n - 1);
	return n;
}

size_t points_chosen(enum point_choice choice, double *percent, size_t max)
{
	static const double near_ends[] = {0, 10, 50, 90, 100};

	switch (choice) {
	case POINTS_3:
		return points_even(3, percent, max);
	case POINTS_5:
		return points_even(5, percent, max);
	case POINTS_11:
		return points_even(11, percent, max);
	case POINTS_0_10_50_90_100:
		for (size_t i = 0; i < 5 && max >= 5; i++)
			percent[i] = near_ends[i];
		return max >= 5 ? 5 : 0;
	case POINTS_10_50_90:
		for (size_t i = 0; i < 3 && max >= 3; i++)
			percent[i] = near_ends[i + 1];
		return max >= 3 ? 3 : 0;
	default:
		return 0;
	}
}

enum signal_state signal_state(double ma)
{
	if (ma >= NE43_MEASURES_LOW && ma <= NE43_MEASURES_HIGH)
		return SIGNAL_MEASURES;
	if (ma <= NE43_FAILS_LOW)
		return SIGNAL_FAILS_LOW;
	return ma >= NE43_FAILS_HIGH ? SIGNAL_FAILS_HIGH : SIGNAL_BETWEEN;
}

/* An output that no input gives, such as 3.8 mA of a square root, sets no bound of its own. */
static void bound_by_output(const struct characteristic *c, struct range input, struct range output, double ma,
			    struct range *reach)
{
	double at = characteristic_inverse(c, input, output, ma);
	bool upper = (ma == NE43_MEASURES_HIGH) == (range_span(output) * range_span(input) > 0);

	if (is_nan(at))
		return;
	if (upper)
		reach->high = smaller(reach->high, at);
	else
		reach->low = larger(reach->low, at);
}

struct range points_reach(const struct characteristic *c, struct range input, struct range output, bool input_ma,
			  bool output_ma)
{
	struct range reach = characteristic_domain(c, input);

	if (input_ma) {
		reach.low = larger(reach.low, NE43_MEASURES_LOW);
		reach.high = smaller(reach.high, NE43_MEASURES_HIGH);
	}
	if (output_ma) {
		bound_by_output(c, input, output, NE43_MEASURES_LOW, &reach);
		bound_by_output(c, input, output, NE43_MEASURES_HIGH, &reach);
	}
	return reach.low <= reach.high ? reach : (struct range){NOT_A_NUMBER, NOT_A_NUMBER};
}

size_t points_clip(struct test_point *points, size_t n, struct range input, struct range reach)
{
	size_t kept = 0;

	for (size_t i = 0; i < n; i++) {
		struct test_point p = points[i];
		double set = smaller(reach.high, larger(reach.low, p.set));

		if (set != p.set) {
			p.set = set;
			p.percent = 100 * range_fraction(input, set);
		}
		if (kept > 0 && points[kept - 1].set == p.set && points[kept - 1].direction == p.direction &&
		    points[kept - 1].cycle == p.cycle)
			continue;
		points[kept++] = p;
	}
	return kept;
}
