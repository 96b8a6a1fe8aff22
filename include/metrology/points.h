/* Test points: which inputs a run goes through, and in which order. */
#ifndef METROLOGY_POINTS_H
#define METROLOGY_POINTS_H

#include "metrology/evaluation.h"

enum point_pattern { PATTERN_UP, PATTERN_UP_DOWN };

struct test_point {
	double percent;			/* of the input span */
	double set;			/* input */
	enum direction direction;
	int cycle;			/* 1, 2, ... */
};

/*
 * Lays out the points: each cycle rises through percent[0..n) (ascending) and, for up_down, falls back through all but the
 * topmost, which is read once. Returns how many; 0 when n is 0, they do not ascend, or max is too small.
 */
size_t points_generate(const double *percent, size_t n, enum point_pattern pattern, int cycles, struct range input,
		       struct test_point *out, size_t max);

#endif
