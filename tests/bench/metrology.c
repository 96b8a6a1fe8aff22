/*
 * How fast the core computes, beside a straightforward program on the GNU Scientific Library for the same job. In each
 * round every program runs once, one after the other, so that what else the machine does meets them all; printed are the
 * median over the rounds and the slowest and the fastest.
 *
 *   bench_metrology [ROUNDS]     7 unless said, 3 to 99
 *
 * The programs on GSL do what has an equivalent there and no more: of the run of 11 points errors, limits, verdict, largest
 * error, hysteresis and the line of least squares, but neither minimax lines nor repeatability. Goals: a million runs a
 * second; simulation within twice of drawing the same numbers and adding them.
 */
#include "metrology/evaluation.h"
#include "metrology/simulation.h"
#include "metrology/thermocouple.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_fit.h>
#include <gsl/gsl_poly.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_roots.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define ROUNDS_MAX 99

static volatile double kept; /* what was computed, so that it is */

static double busy(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t); /* of one core; others may use the machine too */
	return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* ---- a run of 11 points: 0 20 40 60 80 100 and back, linear, 0.5 % of span ---- */

#define POINTS 11
#define RUNS   200000

static const struct test_setup transmitter = {
	.input = {0, 250},
	.output = {4, 20},
	.characteristic = {.kind = CHARACTERISTIC_LINEAR},
	.tolerance = {{{TOLERANCE_PERCENT_OF_SPAN, 0.5, 0.5}}, 1, JOIN_SUM},
	.decision = {DECISION_SIMPLE, 0},
};
static struct reading readings[POINTS];

static void readings_make(void)
{
	static const double errors[POINTS] = {0.004, 0.011, 0.017, 0.022, 0.026, 0.031,
					      0.034, 0.029, 0.024, 0.016, 0.008};

	for (int i = 0; i < POINTS; i++) {
		double fraction = (i < 6 ? i : 10 - i) / 5.0;

		readings[i] = (struct reading){250 * fraction,		 NAN, 4 + 16 * fraction + errors[i],
					       i < 6 ? RISING : FALLING, 1,   0};
	}
}

static double runs_ours(void)
{
	struct judged_reading judged[POINTS];
	struct evaluation sum;

	for (int k = 0; k < RUNS; k++) {
		readings[3].observed = 13.6 + 1e-7 * k; /* no two alike */
		evaluate(&transmitter, readings, POINTS, judged, &sum);
		kept = sum.max_error + sum.linearity[LINE_INDEPENDENT];
	}
	return RUNS;
}

static double runs_gsl(void)
{
	for (int k = 0; k < RUNS; k++) {
		double x[POINTS], error[POINTS], intercept, slope, v[3], sum, hysteresis = 0, limit = 0.5;
		int failed = 0;
		size_t worst;

		readings[3].observed = 13.6 + 1e-7 * k;
		for (int i = 0; i < POINTS; i++) {
			x[i] = readings[i].set / 250;
			error[i] = (readings[i].observed - (4 + 16 * x[i])) / 16 * 100;
			failed += fabs(error[i]) > limit;
		}
		for (int i = 0; i < 5; i++)
			hysteresis = fmax(hysteresis, fabs(error[i] - error[10 - i]));
		worst = gsl_stats_max_index(error, 1, POINTS);
		gsl_fit_linear(x, 1, error, 1, POINTS, &intercept, &slope, v, v + 1, v + 2, &sum);
		kept = error[worst] + intercept + slope + hysteresis + failed;
	}
	return RUNS;
}

/* ---- type K, mV to degC, 0 to 54 mV ---- */

#define EMFS 200000

static double emf_of(int k)
{
	return 54.0 * k / EMFS;
}

static double temperatures_ours(void)
{
	for (int k = 0; k < EMFS; k++)
		kept = thermocouple_temperature(THERMOCOUPLE_K, emf_of(k));
	return EMFS;
}

/* The approximate inverse polynomials (NIST SRD 60, from 0 and from 20.644 mV), which err by up to 0.06 degC. */
static double approximate(double emf)
{
	static const double low[] = {0,		  25.08355,    0.07860106,   -0.2503131,  0.0831527,
				     -0.01228034, 9.804036e-4, -4.413030e-5, 1.057734e-6, -1.052755e-8};
	static const double high[] = {-131.8058,    48.30222,	 -1.646031,   0.05464731,
				      -9.650715e-4, 8.802193e-6, -3.110810e-8};

	return emf < 20.644 ? gsl_poly_eval(low, 10, emf) : gsl_poly_eval(high, 7, emf);
}

static void emf_and_slope(double t, void *emf, double *value, double *slope)
{
	const struct thermocouple_piece *p = &thermocouples[THERMOCOUPLE_K].piece[1];
	double both[2], d = t - 126.9686, bell = 0.1185976 * exp(-1.183432e-4 * d * d);

	gsl_poly_eval_derivs(p->c, (size_t)p->n, t, both, 2);
	*value = both[0] + bell - *(const double *)emf;
	*slope = both[1] + bell * 2 * -1.183432e-4 * d;
}

static double emf_left(double t, void *emf)
{
	double value, slope;

	emf_and_slope(t, emf, &value, &slope);
	return value;
}

static double emf_slope(double t, void *emf)
{
	double value, slope;

	emf_and_slope(t, emf, &value, &slope);
	return slope;
}

/* Newton's method from the approximate inverse on, until two steps agree to 1e-10. */
static double temperatures_gsl(void)
{
	gsl_root_fdfsolver *solver = gsl_root_fdfsolver_alloc(gsl_root_fdfsolver_newton);

	for (int k = 0; k < EMFS; k++) {
		double emf = emf_of(k), t = approximate(emf), before;
		gsl_function_fdf f = {emf_left, emf_slope, emf_and_slope, &emf};

		gsl_root_fdfsolver_set(solver, &f, t);
		do {
			before = t;
			gsl_root_fdfsolver_iterate(solver);
			t = gsl_root_fdfsolver_root(solver);
		} while (gsl_root_test_delta(t, before, 1e-10, 1e-12) == GSL_CONTINUE);
		kept = t;
	}
	gsl_root_fdfsolver_free(solver);
	return EMFS;
}

/* ---- Monte Carlo: a linear model of five components ---- */

#define TRIALS 500000
#define BATCH  125

static const enum distribution shapes[] = {DISTRIBUTION_NORMAL, DISTRIBUTION_RECTANGULAR, DISTRIBUTION_TRIANGULAR,
					   DISTRIBUTION_U_SHAPED, DISTRIBUTION_NORMAL};
static struct budget budget = {.n = 5};
static double work[2 * TRIALS];

static void budget_make(void)
{
	for (int i = 0; i < budget.n; i++)
		budget.component[i] = (struct component){i, 0.1 * (i + 1), shapes[i], INFINITY, 1.5 - i};
}

static double draw_and_add(void)
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
	kept = work[TRIALS - 1];
	return TRIALS;
}

static double simulation_ours(void)
{
	struct simulation_plan plan = {&budget, NULL, 0.95, 1, TRIALS, false, 2, NULL, NULL};
	struct simulation s;

	if (simulate(&plan, work, &s) != SIMULATION_DONE)
		printf("the simulation failed\n");
	kept = s.shortest.low;
	return TRIALS;
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

static double simulation_gsl(void)
{
	gsl_rng *g = gsl_rng_alloc(gsl_rng_mt19937);

	for (int k = 0; k < TRIALS; k++) {
		work[k] = 0;
		for (int i = 0; i < budget.n; i++)
			work[k] += budget.component[i].sensitivity * budget.component[i].standard *
				   gsl_draw(g, shapes[i]);
	}
	kept = gsl_stats_mean(work, 1, TRIALS) + gsl_stats_sd(work, 1, TRIALS);
	gsl_sort(work, 1, TRIALS);
	kept = gsl_stats_quantile_from_sorted_data(work, 1, TRIALS, 0.025) +
	       gsl_stats_quantile_from_sorted_data(work, 1, TRIALS, 0.975);
	gsl_rng_free(g);
	return TRIALS;
}

/* ---- rounds ---- */

static struct program {
	const char *name;
	double (*run)(void); /* returns how often it did its job */
	double per_second[ROUNDS_MAX];
} programs[] = {
	{"runs of 11 points judged and summed up", runs_ours, {0}},
	{"  GSL: errors, limits, hysteresis, gsl_fit_linear", runs_gsl, {0}},
	{"type K, mV to degC", temperatures_ours, {0}},
	{"  GSL: gsl_poly_eval, then Newton's method", temperatures_gsl, {0}},
	{"trials of a linear model of 5 components", simulation_ours, {0}},
	{"  the same numbers drawn and added, nothing else", draw_and_add, {0}},
	{"  GSL: mt19937, gsl_ran_ugaussian, gsl_sort", simulation_gsl, {0}},
};

#define PROGRAMS (sizeof programs / sizeof *programs)

static double median(double *sorted, int n)
{
	return n % 2 ? sorted[n / 2] : (sorted[n / 2 - 1] + sorted[n / 2]) / 2;
}

int main(int n, char **words)
{
	int rounds = n > 1 ? atoi(words[1]) : 7;

	rounds = rounds < 3 ? 3 : rounds > ROUNDS_MAX ? ROUNDS_MAX : rounds;
	readings_make();
	budget_make();
	for (int round = 0; round < rounds; round++)
		for (size_t i = 0; i < PROGRAMS; i++) {
			double start = busy(), times = programs[i].run();

			programs[i].per_second[round] = times / (busy() - start);
		}
	for (size_t i = 0; i < PROGRAMS; i++) {
		double *p = programs[i].per_second;

		gsl_sort(p, 1, (size_t)rounds);
		printf("%-52s %11.0f/s, %.0f to %.0f\n", programs[i].name, median(p, rounds), p[0], p[rounds - 1]);
	}
	printf("simulation takes %.2f times as long as drawing and adding (medians of %d rounds)\n",
	       median(programs[5].per_second, rounds) / median(programs[4].per_second, rounds), rounds);
	return 0;
}
