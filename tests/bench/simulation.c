/*
 * Monte Carlo trials per second of a linear budget of five components, beside drawing the same numbers and adding
 * them, and beside a straightforward program on GSL. Best of five rounds each. The goal: within twice of drawing and
 * adding.
 */
#include "metrology/simulation.h"

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>
#include <math.h>
#include <stdio.h>
#include <time.h>

#define TRIALS 1000000
#define BATCH  125

static const enum distribution shapes[] = {DISTRIBUTION_NORMAL, DISTRIBUTION_RECTANGULAR, DISTRIBUTION_TRIANGULAR,
					   DISTRIBUTION_U_SHAPED, DISTRIBUTION_NORMAL};
static struct budget budget = {.n = 5};
static double work[2 * TRIALS];

static double now(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void draw_and_add(void)
{
	struct random r;
	double draws[BATCH];

	random_seed(&r, 1);
	for (double *y = work; y < work + TRIALS; y += BATCH) {
		for (int j = 0; j < BATCH; j++)
			y[j] = 0;
		for (int i = 0; i < budget.n; i++) {
			double scale = budget.component[i].sensitivity * budget.component[i].standard;

			random_fill(&r, shapes[i], draws, BATCH);
			for (int j = 0; j < BATCH; j++)
				y[j] += scale * draws[j];
		}
	}
}

static void whole_simulation(void)
{
	struct simulation_plan plan = {&budget, NULL, 0.95, 1, TRIALS, false, 2, NULL, NULL};
	struct simulation s;

	if (simulate(&plan, work, &s) != SIMULATION_DONE)
		printf("the simulation failed\n");
}

static double gsl_draw(gsl_rng *g, enum distribution d)
{
	switch (d) {
	case DISTRIBUTION_RECTANGULAR:
		return sqrt(3) * (2 * gsl_rng_uniform(g) - 1);
	case DISTRIBUTION_TRIANGULAR:
		return sqrt(6) * (gsl_rng_uniform(g) + gsl_rng_uniform(g) - 1);
	case DISTRIBUTION_U_SHAPED:
		return sqrt(2) * sin(2 * M_PI * gsl_rng_uniform(g));
	default:
		return gsl_ran_ugaussian(g);
	}
}

static void gsl_program(void)
{
	gsl_rng *g = gsl_rng_alloc(gsl_rng_mt19937);
	volatile double result;

	for (int k = 0; k < TRIALS; k++) {
		work[k] = 0;
		for (int i = 0; i < budget.n; i++)
			work[k] += budget.component[i].sensitivity * budget.component[i].standard *
				   gsl_draw(g, shapes[i]);
	}
	result = gsl_stats_mean(work, 1, TRIALS);
	result = gsl_stats_sd(work, 1, TRIALS);
	gsl_sort(work, 1, TRIALS);
	result = gsl_stats_quantile_from_sorted_data(work, 1, TRIALS, 0.975);
	(void)result;
	gsl_rng_free(g);
}

static double best(void (*program)(void))
{
	double least = INFINITY;

	for (int round = 0; round < 5; round++) {
		double start = now();

		program();
		least = fmin(least, now() - start);
	}
	return least;
}

int main(void)
{
	double add, whole, gsl;

	for (int i = 0; i < budget.n; i++)
		budget.component[i] = (struct component){i, 0.1 * (i + 1), shapes[i], INFINITY, 1.5 - i};
	add = best(draw_and_add);
	whole = best(whole_simulation);
	gsl = best(gsl_program);
	printf("trials per second: draw and add %.3g, simulation %.3g (%.2f times as long), GSL program %.3g\n",
	       TRIALS / add, TRIALS / whole, whole / add, TRIALS / gsl);
	return 0;
}
