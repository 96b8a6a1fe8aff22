/*
 * Derivatives of a model that is only known by its values. A difference over a step h is wrong by powers of h^2, and
 * by rounding / h; the steps are halved, the powers taken out one after the other, and the answer is the entry of
 * the table that changes least from its neighbours.
 */
#include "metrology/budget.h"

#include "number.h"

#define STEPS  13
#define ROUNDS 4 /* 4 times 13 halvings lead from any step to its last bit */

/* All steps of one component in one call: columns of 2 STEPS sets. */
static void values_beside(const struct budget *b, const struct model *m, int i, double step, double *y, double *width)
{
	double x[COMPONENTS_MAX * 2 * STEPS];
	size_t n = 2 * STEPS;

	for (int k = 0; k < b->n; k++)
		for (size_t j = 0; j < n; j++)
			x[(size_t)k * n + j] = b->component[k].estimate;
	for (size_t s = 0; s < STEPS; s++) {
		double *up = &x[(size_t)i * n + 2 * s], *down = up + 1;

		*up += step;
		*down -= step;
		width[s] = *up - *down; /* what the step is after rounding */
		step /= 2;
	}
	m->values(m->context, x, n, y);
}

/* NaN when the model has no values at any of the steps. */
static double extrapolated(const double y[2 * STEPS], const double width[STEPS], double *error)
{
	double row[STEPS], best = NOT_A_NUMBER;
	int rows = 0;

	*error = INFINITE;
	for (int s = 0; s < STEPS; s++) {
		double last = width[s] > 0 ? (y[2 * s] - y[2 * s + 1]) / width[s] : NOT_A_NUMBER, factor = 4, noise;

		if (!is_finite(last))
			continue; /* outside of where the model has values */
		noise = 4e-16 * larger(fabs(y[2 * s]), fabs(y[2 * s + 1])) / width[s];
		for (int k = 0; k < rows; k++) {
			double finer = last + (last - row[k]) / (factor - 1),
			       change = noise + larger(fabs(finer - last), fabs(finer - row[k]));

			row[k] = last;
			last = finer;
			factor *= 4;
			if (change < *error) {
				*error = change;
				best = finer;
			}
		}
		row[rows++] = last;
	}
	return best;
}

/*
 * Another slope to the left than to the right, as abs(x) has at 0 and min(x, y) where both are the same: the
 * difference of the two does not shrink with the step, which half a parabola's does.
 */
static bool has_corner(double middle, const double y[2 * STEPS], const double width[STEPS])
{
	double before = 0;

	for (int s = STEPS / 2; s < STEPS; s++) {
		double bend, noise;

		if (!(width[s] > 0))
			return false;
		bend = fabs(y[2 * s] + y[2 * s + 1] - 2 * middle) / width[s];
		noise = 4e-16 * larger(fabs(middle), fabs(y[2 * s])) / width[s];
		if (!(bend > 1000 * noise) || (s > STEPS / 2 && bend < 0.75 * before))
			return false;
		before = bend;
	}
	return true;
}

static double derivative(const struct budget *b, const struct model *m, int i, double middle, double *error)
{
	const struct component *c = &b->component[i];
	double step = larger(4 * c->standard, fabs(c->estimate) / 64), y[2 * STEPS], width[STEPS], slope;
	int rounds = 0;

	do {
		values_beside(b, m, i, step > 0 ? step : 1.0 / 64, y, width);
		slope = extrapolated(y, width, error);
		step /= 1 << STEPS;
	} while (++rounds < ROUNDS && is_nan(slope));
	return has_corner(middle, y, width) ? NOT_A_NUMBER : slope;
}

bool budget_sensitivities(struct budget *b, const struct model *m, double *error, int *at_fault)
{
	double one, middle = budget_estimate(b, m);

	*at_fault = -1;
	if (!is_finite(middle))
		return false;
	for (int i = 0; i < b->n; i++) {
		b->component[i].sensitivity = derivative(b, m, i, middle, &one);
		if (error)
			error[i] = one;
		if (!is_finite(b->component[i].sensitivity)) {
			*at_fault = i;
			return false;
		}
	}
	return true;
}

/* ---- second order ---- */

/* The model at a grid of steps of u: component i by at[s][0] of its u, component j by at[s][1] of its. */
static void values_on_grid(const struct budget *b, const struct model *m, int i, int j, const int (*at)[2], size_t n,
			   double *y)
{
	double x[COMPONENTS_MAX * 9];

	for (int k = 0; k < b->n; k++)
		for (size_t s = 0; s < n; s++)
			x[(size_t)k * n + s] = b->component[k].estimate +
					       (k == i ? at[s][0] * b->component[i].standard : 0) +
					       (k == j ? at[s][1] * b->component[j].standard : 0);
	m->values(m->context, x, n, y);
}

/* f_ii u^2 and f_iii u^3 */
static double own_terms(const struct budget *b, const struct model *m, int i, double slope)
{
	static const int at[5][2] = {{-2, 0}, {-1, 0}, {0, 0}, {1, 0}, {2, 0}};
	double y[5], second, third;

	values_on_grid(b, m, i, -1, at, 5, y);
	second = y[3] - 2 * y[2] + y[1];
	third = (y[4] - 2 * y[3] + 2 * y[1] - y[0]) / 2;
	return second * second / 2 + slope * third;
}

/* f_ij u_i u_j, f_ijj u_i u_j^2 and f_jii u_j u_i^2 */
static double mixed_terms(const struct budget *b, const struct model *m, int i, int j, double slope_i, double slope_j)
{
	static const int at[8][2] = {{-1, -1}, {-1, 0}, {-1, 1}, {0, -1}, {0, 1}, {1, -1}, {1, 0}, {1, 1}};
	double y[8], mixed, ijj, jii;

	values_on_grid(b, m, i, j, at, 8, y);
	mixed = (y[7] - y[5] - y[2] + y[0]) / 4;
	ijj = ((y[7] - 2 * y[6] + y[5]) - (y[2] - 2 * y[1] + y[0])) / 2;
	jii = ((y[7] - 2 * y[4] + y[2]) - (y[5] - 2 * y[3] + y[0])) / 2;
	return mixed * mixed + slope_i * ijj + slope_j * jii; /* both orders of the pair, each with half its square */
}

double budget_second_order(const struct budget *b, const struct model *m)
{
	double sum = 0;

	for (int i = 0; i < b->n; i++) {
		double slope_i = b->component[i].sensitivity * b->component[i].standard;

		sum += own_terms(b, m, i, slope_i);
		for (int j = i + 1; j < b->n; j++)
			sum += mixed_terms(b, m, i, j, slope_i, b->component[j].sensitivity * b->component[j].standard);
	}
	return sum;
}
