/*
 * Uncertainty budgets: the law of propagation of uncertainty (JCGM 100:2008, clause 5, annexes G and H).
 *
 * A budget holds what is known about each input quantity; all are in the units of their own quantity, results in
 * that of the measurand. Nothing is allocated. docs/metrology.md says how the numbers are made.
 */
#ifndef METROLOGY_BUDGET_H
#define METROLOGY_BUDGET_H

#include "metrology/random.h"

#define COMPONENTS_MAX 40

struct component {
	double estimate;
	double standard; /* standard uncertainty u, >= 0 */
	enum distribution distribution;
	double dof;	    /* degrees of freedom of u, >= 1; infinite when u is well known */
	double sensitivity; /* of the measurand to it; budget_sensitivities() finds them from a model */
};

struct budget {
	int n; /* 1..COMPONENTS_MAX */
	struct component component[COMPONENTS_MAX];
	bool correlated;				    /* false: correlation is not looked at */
	double correlation[COMPONENTS_MAX][COMPONENTS_MAX]; /* symmetric, 1 on the diagonal, -1..1 */
};

/*
 * The measurand as a function of the components, for n sets of them at once: component i of set j is x[i * n + j],
 * the answers go to y[n]; NaN where the model has no value. Must not keep what x points at.
 */
struct model {
	void (*values)(void *context, const double *x, size_t n, double *y);
	void *context;
};

/* u of a quantity inside +-half_width (JCGM 100, 4.3.7, 4.3.9; U-shaped a / sqrt(2)). NaN for the normal one, which
 * has no width. */
double standard_of_half_width(enum distribution d, double half_width);

/*
 * Sensitivities by differentiation at the estimates: central differences extrapolated to step 0 (Ridders, Adv. Eng.
 * Software 4, 1982, 75), steps halved twelve times from the larger of 4 u and |estimate| / 64, or from where the model
 * has values. error[n], if not NULL, receives how far each may be wrong. False when the model has no value at the
 * estimates, or no slope there: none beside them, or another to each side; *at_fault is then that component, or -1.
 */
bool budget_sensitivities(struct budget *b, const struct model *m, double *error, int *at_fault);

/* The model at the estimates; the sum of sensitivity times estimate when m is NULL. */
double budget_estimate(const struct budget *b, const struct model *m);

/* False when no quantities can be correlated so: the matrix has a negative eigenvalue. */
bool budget_correlations_possible(const struct budget *b);

struct budget_result {
	double combined; /* standard uncertainty u_c */
	/* Welch-Satterthwaite (G.4.1), correlated components together with their smallest; infinite when all are */
	double effective_dof;
	double dof_used;		     /* rounded to one decimal, then down to a whole number */
	double coverage_factor, expanded;    /* k = t(dof_used), U = k u_c */
	double contribution[COMPONENTS_MAX]; /* sensitivity * u, signed */
	/* of u_c^2, covariances divided evenly; they add to 1, negative ones possible; 0 when u_c is 0 */
	double share[COMPONENTS_MAX];
};

/* coverage: probability in (0, 1). Uses the sensitivities in b. */
void budget_combine(const struct budget *b, double coverage, struct budget_result *out);

/* What the terms of next order add to u_c^2 (5.1.2, note): for independent components, by differences over u. NaN
 * without a value. */
double budget_second_order(const struct budget *b, const struct model *m);

/*
 * One or two rectangular components that outweigh the rest (EA-4/02 M:2022, S9.14 and S10: the rest at most 0.3 of
 * them) make the result rectangular or trapezoidal, and the coverage factor smaller than t's.
 */
enum dominance { DOMINANCE_NONE, DOMINANCE_RECTANGULAR, DOMINANCE_TRAPEZOIDAL };
enum dominance budget_dominance(const struct budget *b, const struct budget_result *r, int *first, int *second);
/* coverage * sqrt(3), coverage in (0, 1) (EA-4/02 M:2022, S9.14). */
double coverage_factor_rectangular(double coverage);
/* ratio = |a1 - a2| / (a1 + a2) of the two half-widths, 0 triangular to 1 rectangular (EA-4/02, S10); else NaN. */
double coverage_factor_trapezoidal(double coverage, double ratio);

/* A result as EA-4/02 (6.3) has it reported: U to 1 or 2 digits, up where rounding would take off more than 5 %, the
 * value to the same place. */
struct reported {
	double value, expanded;
	/* place of the last digit, negative for tens; 0 when U is 0 or not finite: nothing is rounded then */
	int decimals;
	bool rounded;
};
struct reported report_result(double value, double expanded, int digits);

#endif
