/* How fast the browser's core is as a native program; speed.js asks the module the same. Nothing is asserted. */
#include <math.h>
#include <stdio.h>
#include <time.h>
#include "metrology/wasm/exchange.h"

#define RUNS	40000
#define NUMBERS 1000000

/* Processor time, so that what else the machine does counts less. */
static double seconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static void valve(struct exchange *x)
{
	x->setup.input = (struct range){4, 20};
	x->setup.output = (struct range){0, 100};
	x->setup.tolerance.n_terms = 1;
	x->setup.tolerance.terms[0] = (struct tolerance_term){TOLERANCE_PERCENT_OF_SPAN, 1, 1};
	x->adjust = x->left = x->setup.tolerance;
	for (int i = 0; i < 9; i++) {
		int step = i < 5 ? i : 8 - i;

		x->readings[i] = (struct reading){4 + 4 * step, NAN, 25 * step + 0.1 * i, i < 5 ? RISING : FALLING, 1,
						  0.01};
	}
}

int main(void)
{
	valve(core_exchange());
	for (int round = 0; round < 7; round++) {
		double begun = seconds(), judged;

		for (int i = 0; i < RUNS; i++)
			core_evaluate(9);
		judged = seconds();
		for (int i = 0; i < NUMBERS; i++)
			core_format(12.345678 + i * 1e-3, 3, false);
		printf("native: %.0f runs of 9 points a second, %.0f numbers written a second\n",
		       RUNS / (judged - begun), NUMBERS / (seconds() - judged));
	}
	return 0;
}
