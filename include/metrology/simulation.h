/*
 * Propagation of distributions by a Monte Carlo method (JCGM 101:2008, clauses 5 to 8).
 *
 * Memory is the caller's, and so is time: go_on is asked between blocks. The same plan with the same seed gives the
 * same answer on every machine.
 */
#ifndef METROLOGY_SIMULATION_H
#define METROLOGY_SIMULATION_H

#include "metrology/budget.h"

#define SIMULATION_TRIALS_MIN 1000
#define SIMULATION_TRIALS_MAX 2000000

struct simulation_plan {
	/* finite dof of a normal component: drawn as t (6.4.9); correlated ones must be normal */
	const struct budget *budget;
	const struct model *model; /* NULL: the sum of sensitivity times component */
	double coverage;	   /* probability in (0, 1) */
	uint64_t seed;
	size_t trials;		      /* SIMULATION_TRIALS_MIN.._MAX; adaptive: the most that may be spent */
	bool adaptive;		      /* blocks until everything is stable to the digits (7.9) */
	int digits;		      /* 1 or 2 significant digits of the standard uncertainty that count */
	bool (*go_on)(void *context); /* false stops; NULL: never */
	void *context;
};

struct interval {
	double low, high;
};

enum simulation_end {
	SIMULATION_DONE,
	SIMULATION_UNSTABLE, /* adaptive, and the trials were spent before the result was stable; all else holds */
	SIMULATION_STOPPED,  /* by go_on */
	SIMULATION_NO_VALUE, /* the model has no value for some draw, or the draws no mean and deviation */
	/* a correlated component is not normal, correlations that cannot be, numbers out of range */
	SIMULATION_IMPOSSIBLE,
};

struct simulation {
	size_t trials;		   /* spent */
	int blocks;		   /* 1 when not adaptive */
	double estimate, standard; /* mean and standard deviation of the draws */
	struct interval symmetric; /* probabilistically symmetric coverage interval (7.7.2) */
	struct interval shortest;  /* (7.7.4) */
	double tolerance;	   /* numerical tolerance of the standard uncertainty (7.9.2) */
};

/* Doubles that the work of so many trials takes. */
size_t simulation_work(size_t trials);

/* work: simulation_work(trials) doubles; afterwards its first out->trials are the sorted draws. */
enum simulation_end simulate(const struct simulation_plan *plan, double *work, struct simulation *out);

/* Half a unit of the last of so many significant digits of u (7.9.2): 0.00035 to one digit gives 0.00005. */
double numerical_tolerance(double u, int digits);

/* Law of propagation against the Monte Carlo result (clause 8): the ends of both coverage intervals within the
 * tolerance. */
struct validation {
	double tolerance, low_difference, high_difference;
	bool valid;
};
struct validation validate_budget(double estimate, const struct budget_result *r, const struct simulation *s,
				  int digits);

#endif
