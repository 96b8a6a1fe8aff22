/* Test points: which inputs a run goes through, and in which order. */
#ifndef METROLOGY_POINTS_H
#define METROLOGY_POINTS_H

#include "metrology/evaluation.h"

/*
 * up_down: up and back down; the topmost is read once. down and down_up are the same from the top. up_all: up_down
 * with the topmost read in both directions, as IEC 61298-2 runs whole cycles for hysteresis (from memory).
 */
enum point_pattern { PATTERN_UP, PATTERN_UP_DOWN, PATTERN_DOWN, PATTERN_DOWN_UP, PATTERN_UP_ALL };

struct test_point {
	double percent; /* of the input span */
	double set;	/* input */
	enum direction direction;
	int cycle; /* 1, 2, ... */
};

/*
 * Lays out the points: each cycle goes through percent[0..n) (ascending) in the pattern's order. Returns how many; 0
 * when n is 0, they do not ascend, or max is too small.
 */
size_t points_generate(const double *percent, size_t n, enum point_pattern pattern, int cycles, struct range input,
		       struct test_point *out, size_t max);

/* n percentages evenly from 0 to 100, both included; one alone is 50. Returns n, 0 when n is 0 or above max. */
size_t points_even(size_t n, double *percent, size_t max);

/* Named choices of percentages. 10 and 90 in place of 0 and 100 keep off the stops of a valve (common practice, no source). */
enum point_choice { POINTS_3, POINTS_5, POINTS_11, POINTS_0_10_50_90_100, POINTS_10_50_90, POINT_CHOICES };
size_t points_chosen(enum point_choice choice, double *percent, size_t max); /* 0 when max is too small */

/* NAMUR NE 43 (2003): what a 4-20 mA signal says, in mA. */
#define NE43_MEASURES_LOW  3.8
#define NE43_MEASURES_HIGH 20.5
#define NE43_FAILS_LOW	   3.6
#define NE43_FAILS_HIGH	   21.0
enum signal_state {
	SIGNAL_MEASURES,  /* 3.8..20.5 */
	SIGNAL_BETWEEN,	  /* 3.6..3.8 and 20.5..21: neither a measurement nor a failure */
	SIGNAL_FAILS_LOW, /* at or below 3.6 */
	SIGNAL_FAILS_HIGH /* at or above 21 */
};
enum signal_state signal_state(double ma); /* SIGNAL_BETWEEN for NaN too */

/*
 * The inputs, in the input's unit, whose 4-20 mA signal still measures (3.8..20.5 mA), by the live zero and the
 * saturation of NE 43:
 * input_ma says that the input is the signal, output_ma that the output is. low <= high; infinite where there is no
 * bound, NaN where no input's signal measures.
 */
struct range points_reach(const struct characteristic *c, struct range input, struct range output, bool input_ma,
			  bool output_ma);
/*
 * Draws the set points, in place, into a range of inputs and drops those that come to lie on the one before them in
 * the same direction and cycle. Returns how many are left. A reach of NaN draws nothing.
 */
size_t points_clip(struct test_point *points, size_t n, struct range input, struct range reach);

#endif
