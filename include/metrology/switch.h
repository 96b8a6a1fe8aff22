/*
 * Judging a switch: where it acts, where it goes back, and how well it repeats. Everything in the input's unit; an
 * error is where it acted less where it should. Set point, reset point, dead band and repeatability as the trade
 * uses them (common practice, no source for the words).
 */
#ifndef METROLOGY_SWITCH_H
#define METROLOGY_SWITCH_H

#include "metrology/evaluation.h"

#define ACTUATIONS_MAX 50

struct switch_spec {
	struct range input; /* of the switch or of its sensing element: what % of span and % of high are of */
	double set_point, reset_point; /* reset_point NaN: it is wherever the dead band puts it */
	enum direction acts_on;	       /* RISING: it acts when the input rises through the set point */
	struct tolerance tolerance;    /* of set point and reset point; % of reading is of the point */
	struct limits dead_band;       /* allowed, both >= 0; NaN for a side without limit */
	struct decision_rule decision;
	double u; /* standard uncertainty of one observed point, 0 when unknown */
};

struct actuation {
	double set, reset; /* input when it acted and when it went back; reset NaN: not observed */
};

struct judged_actuation {
	double set_error, reset_error; /* reset_error NaN without a reset point */
	double dead_band;	       /* way back from set to reset; negative when it went back too early */
	enum verdict set_verdict, reset_verdict, dead_band_verdict;
};

struct switch_summary {
	enum verdict verdict; /* the worst of all; not_judged when nothing was */
	enum verdict set_verdict, reset_verdict, dead_band_verdict;
	double set, reset, dead_band;		       /* means; NaN for none */
	double set_error;			       /* mean set less set point */
	double max_set_error;			       /* signed, the largest of a single actuation */
	double set_repeatability, reset_repeatability; /* range; NaN with one */
	struct limits limits, reset_limits;	       /* of the errors */
};

/* Judges n actuations, 1..ACTUATIONS_MAX; false when there are none, too many, or the input range is empty. */
bool switch_evaluate(const struct switch_spec *s, const struct actuation *actuations, size_t n,
		     struct judged_actuation *out, struct switch_summary *sum);

#endif
