#include "metrology/points.h"

static void put(struct test_point *p, double percent, struct range input, enum direction direction, int cycle)
{
	p->percent = percent;
	p->set = percent == 100 ? input.high : input.low + percent * range_span(input) / 100;
	p->direction = direction;
	p->cycle = cycle;
}

size_t points_generate(const double *percent, size_t n, enum point_pattern pattern, int cycles, struct range input,
		       struct test_point *out, size_t max)
{
	size_t per_cycle = pattern == PATTERN_UP_DOWN ? 2 * n - 1 : n, count = 0;

	if (n == 0 || n > max || cycles < 1 || (size_t)cycles > max / per_cycle)
		return 0;
	for (size_t i = 1; i < n; i++)
		if (!(percent[i] > percent[i - 1]))
			return 0;
	for (int cycle = 1; cycle <= cycles; cycle++) {
		for (size_t i = 0; i < n; i++)
			put(&out[count++], percent[i], input, RISING, cycle);
		for (size_t i = n - 1; pattern == PATTERN_UP_DOWN && i > 0; i--)
			put(&out[count++], percent[i - 1], input, FALLING, cycle);
	}
	return count;
}
