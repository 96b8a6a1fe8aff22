#include "metrology/simulation.h"

#include <limits.h>
#include "correlation.h"
#include "number.h"
#include "sorting.h"

#define BATCH	  128	/* trials whose draws are held at once */
#define BLOCK_MIN 10000 /* 7.9.4 b */
#define STEP_ASK  8192	/* trials between two questions to go_on */

/* What is made once for all trials. */
struct draw {
	const struct simulation_plan *plan;
	struct random random;
	bool correlated[COMPONENTS_MAX]; /* with any other */
	double factor[COMPONENTS_MAX][COMPONENTS_MAX];
	double base;			  /* linear: the value at the estimates */
	double x[COMPONENTS_MAX * BATCH]; /* column after column; standard draws first, then values */
};

static bool any_correlation(const struct budget *b, int i)
{
	for (int j = 0; b->correlated && j < b->n; j++)
		if (j != i && b->correlation[i][j] != 0)
			return true;
	return false;
}

static bool plan_possible(const struct simulation_plan *p)
{
	const struct budget *b = p->budget;

	if (b->n < 1 || b->n > COMPONENTS_MAX || !(p->coverage > 0 && p->coverage < 1) || p->digits < 1 ||
	    p->digits > 2 || p->trials < SIMULATION_TRIALS_MIN || p->trials > SIMULATION_TRIALS_MAX)
		return false;
	for (int i = 0; i < b->n; i++)
		if (!(b->component[i].standard >= 0) || !(b->component[i].dof >= 1) ||
		    !is_finite(b->component[i].estimate))
			return false;
	return true;
}

static bool draw_begin(struct draw *d, const struct simulation_plan *p)
{
	const struct budget *b = p->budget;

	d->plan = p;
	random_seed(&d->random, p->seed);
	d->base = p->model ? 0 : budget_estimate(b, NULL);
	for (int i = 0; i < b->n; i++) {
		d->correlated[i] = any_correlation(b, i);
		if (d->correlated[i] && b->component[i].distribution != DISTRIBUTION_NORMAL)
			return false;
	}
	return !b->correlated || correlation_factor(b, d->factor);
}

/* Standard draws of one component. */
static void draw_column(struct draw *d, int i, double *out, size_t n)
{
	const struct component *c = &d->plan->budget->component[i];

	if (c->distribution == DISTRIBUTION_NORMAL && is_finite(c->dof) && !d->correlated[i])
		for (size_t j = 0; j < n; j++)
			out[j] = random_t(&d->random, c->dof);
	else
		random_fill(&d->random, c->distribution, out, n);
}

/* Independent normal draws become correlated ones; from the last component on, so that none is needed after it was
 * changed. */
static void correlate(struct draw *d, size_t n)
{
	for (int i = d->plan->budget->n - 1; i >= 0; i--) {
		if (!d->correlated[i])
			continue;
		for (size_t j = 0; j < n; j++) {
			double sum = 0;

			for (int k = 0; k <= i; k++)
				sum += d->factor[i][k] * d->x[(size_t)k * n + j];
			d->x[(size_t)i * n + j] = sum;
		}
	}
}

static void linear_batch(struct draw *d, double *y, size_t n)
{
	const struct budget *b = d->plan->budget;

	for (size_t j = 0; j < n; j++)
		y[j] = d->base;
	for (int i = 0; i < b->n; i++) {
		double scale = b->component[i].sensitivity * b->component[i].standard;
		const double *column = d->x + (size_t)i * n;

		for (size_t j = 0; j < n; j++)
			y[j] += scale * column[j];
	}
}

static void model_batch(struct draw *d, double *y, size_t n)
{
	const struct budget *b = d->plan->budget;

	for (int i = 0; i < b->n; i++) {
		double *column = d->x + (size_t)i * n;

		for (size_t j = 0; j < n; j++)
			column[j] = b->component[i].estimate + b->component[i].standard * column[j];
	}
	d->plan->model->values(d->plan->model->context, d->x, n, y);
}

/* n trials into y. */
static enum simulation_end run_trials(struct draw *d, double *y, size_t n)
{
	const struct simulation_plan *p = d->plan;

	for (size_t done = 0; done < n;) {
		size_t batch = n - done < BATCH ? n - done : BATCH;

		if (p->go_on && done % STEP_ASK == 0 && !p->go_on(p->context))
			return SIMULATION_STOPPED;
		for (int i = 0; i < p->budget->n; i++)
			draw_column(d, i, d->x + (size_t)i * batch, batch);
		if (p->budget->correlated)
			correlate(d, batch);
		if (p->model)
			model_batch(d, y + done, batch);
		else
			linear_batch(d, y + done, batch);
		for (size_t j = done; j < done + batch; j++)
			if (!is_finite(y[j]))
				return SIMULATION_NO_VALUE;
		done += batch;
	}
	return SIMULATION_DONE;
}

/* ---- what the draws say ---- */

/* About the first one, so that a large offset costs no digits. */
static void mean_and_deviation(const double *y, size_t n, double *mean, double *deviation)
{
	double sum = 0, squares = 0, shift = 0, count = (double)n;

	for (size_t i = 0; i < n; i++)
		sum += y[i] - y[0];
	shift = y[0] + sum / count;
	for (size_t i = 0; i < n; i++)
		squares += (y[i] - shift) * (y[i] - shift);
	*mean = shift;
	*deviation = sqrt(squares / (count - 1));
}

/* 7.7: q draws of the n lie in the interval; sorted draws. */
static void intervals(const double *y, size_t n, double coverage, struct simulation *out)
{
	size_t q = (size_t)(coverage * (double)n + 0.5), first, best = 0;

	q = q >= n ? n - 1 : q;
	first = (n - q) / 2;
	out->symmetric = (struct interval){y[first > 0 ? first - 1 : 0], y[(first > 0 ? first - 1 : 0) + q]};
	for (size_t i = 0; i + q < n; i++)
		if (y[i + q] - y[i] < y[best + q] - y[best])
			best = i;
	out->shortest = (struct interval){y[best], y[best + q]};
}

static void sum_up(double *y, double *scratch, size_t n, double coverage, struct simulation *out)
{
	mean_and_deviation(y, n, &out->estimate, &out->standard);
	sort_numbers(y, scratch, n);
	intervals(y, n, coverage, out);
	out->trials = n;
}

double numerical_tolerance(double u, int digits)
{
	int exponent = decimal_ceiling(u);

	if (exponent == INT_MIN)
		return 0;
	if (u < power_of_ten(exponent))
		exponent--;
	return power_of_ten(exponent + 1 - digits) / 2;
}

/* ---- adaptive procedure, 7.9.4 ---- */

enum { TERM_ESTIMATE, TERM_STANDARD, TERM_LOW, TERM_HIGH, TERMS };

/* Mean and sum of squared deviations of what each block gave. */
struct block_terms {
	double mean[TERMS], squares[TERMS];
};

static void add_block(struct block_terms *t, int blocks, const struct simulation *s)
{
	const double term[TERMS] = {s->estimate, s->standard, s->symmetric.low, s->symmetric.high};

	for (int i = 0; i < TERMS; i++) {
		double off = term[i] - t->mean[i];

		t->mean[i] += off / blocks;
		t->squares[i] += off * (term[i] - t->mean[i]);
	}
}

/* Twice the standard deviation of each mean is below the tolerance. */
static bool stable(const struct block_terms *t, int blocks, double tolerance)
{
	for (int i = 0; i < TERMS; i++)
		if (!(2 * sqrt(t->squares[i] / blocks / (blocks - 1)) <= tolerance))
			return false;
	return true;
}

static size_t block_size(double coverage)
{
	double least = ceil(100 / (1 - coverage));

	if (least < BLOCK_MIN)
		return BLOCK_MIN;
	return least < SIMULATION_TRIALS_MAX ? (size_t)least : SIMULATION_TRIALS_MAX;
}

static enum simulation_end simulate_adaptively(struct draw *d, double *y, double *scratch, struct simulation *out)
{
	const struct simulation_plan *p = d->plan;
	size_t size = block_size(p->coverage), n = 0;
	struct block_terms terms = {{0}, {0}};
	enum simulation_end end = SIMULATION_UNSTABLE;
	double deviation, mean;

	for (out->blocks = 0; n + size <= p->trials && end == SIMULATION_UNSTABLE;) {
		enum simulation_end block = run_trials(d, y + n, size);

		if (block != SIMULATION_DONE)
			return block;
		sum_up(y + n, scratch, size, p->coverage, out);
		n += size;
		add_block(&terms, ++out->blocks, out);
		mean_and_deviation(y, n, &mean, &deviation);
		if (out->blocks > 1 && stable(&terms, out->blocks, numerical_tolerance(deviation, p->digits)))
			end = SIMULATION_DONE;
	}
	if (n == 0)
		return SIMULATION_IMPOSSIBLE;
	sum_up(y, scratch, n, p->coverage, out);
	return end;
}

size_t simulation_work(size_t trials)
{
	return 2 * trials;
}

enum simulation_end simulate(const struct simulation_plan *plan, double *work, struct simulation *out)
{
	enum simulation_end end;
	struct draw d;

	*out = (struct simulation){.estimate = NOT_A_NUMBER, .standard = NOT_A_NUMBER};
	if (!plan_possible(plan) || !draw_begin(&d, plan))
		return SIMULATION_IMPOSSIBLE;
	if (plan->adaptive) {
		end = simulate_adaptively(&d, work, work + plan->trials, out);
	} else {
		end = run_trials(&d, work, plan->trials);
		out->blocks = 1;
		if (end == SIMULATION_DONE)
			sum_up(work, work + plan->trials, plan->trials, plan->coverage, out);
	}
	if ((end == SIMULATION_DONE || end == SIMULATION_UNSTABLE) && !is_finite(out->estimate + out->standard))
		return SIMULATION_NO_VALUE; /* draws so far apart that their squares are beyond all bounds */
	out->tolerance = numerical_tolerance(out->standard, plan->digits);
	return end;
}

struct validation validate_budget(double estimate, const struct budget_result *r, const struct simulation *s,
				  int digits)
{
	struct validation v = {.tolerance = numerical_tolerance(r->combined, digits)};

	/* where nothing is uncertain only rounding is left between the two */
	double allowed = larger(v.tolerance, 4e-16 * fabs(estimate));

	v.low_difference = fabs(estimate - r->expanded - s->symmetric.low);
	v.high_difference = fabs(estimate + r->expanded - s->symmetric.high);
	v.valid = v.low_difference <= allowed && v.high_difference <= allowed;
	return v;
}
