/*
 * Judging a switch: where it acts, where it goes back, and how well it repeats. Everything in the input's unit; an
 * error is where it acted less where it should. Set point, reset point, dead band and repeatability as the trade
 * uses them (common practice, no source for the words).
 */
#ifndef METROLOGY_SWITCH_H
#define METROLOGY_SWITCH_H

#include "metrology/diagnosis.h"

#define ACTUATIONS_MAX 50

/* What a switch's data sheet says, in the input's unit. */
struct switch_points {
	double set, reset;	 /* reset NaN: it is wherever the dead band puts it */
	enum direction acts_on;	 /* RISING: it acts when the input rises through the set point */
	struct limits dead_band; /* allowed, both >= 0; NaN for a side without limit */
};

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

/* The verdict on where it went back: the worse of those on reset point and dead band. */
enum verdict switch_back_verdict(const struct judged_actuation *j);

/* Decimals of errors and dead bands: those of the tolerance, at least `decimals`, and enough for each amount to be seen on the side of
 * its limits that its verdict says. */
int switch_error_decimals(const struct switch_spec *s, const struct judged_actuation *judged, size_t n,
			  const struct switch_summary *sum, int decimals);

/* False: it would have gone back before it acted. A NaN, where nothing was read, is no contradiction. */
bool switch_goes_back(enum direction acts_on, double acted, double back);

/* Takes over into *s what the data sheet says; the rest of it stays. */
void switch_points_take(const struct switch_points *p, struct switch_spec *s);

/*
 * Whether its set point must be moved, and how far: the amount that brings the mean of where it acted to the set point.
 * adjust: limits that call for it; left: limits that it must meet afterwards. Where one of the two has no terms the
 * other serves for both. Moving the set point takes the reset point along and leaves the dead band as it is.
 */
struct switch_diagnosis {
	bool limits_set;
	enum call call;	    /* whose limits they are, for the sentences; a caller may know better */
	bool adjust;	    /* an error is outside the adjust limits, or a dead band outside its own */
	bool shift_helps;   /* after the shift everything would be inside the as-left limits */
	double shift;	    /* to add to the set point, input's unit; NaN without an actuation */
	double remaining;   /* largest |set error| after it; NaN without an actuation */
	double worst_error; /* signed, of set and reset points, the largest against its limit; NaN without an actuation */
	size_t worst;	    /* the actuation it is of */
	bool worst_is_reset;
};

void switch_diagnose(const struct switch_spec *s, const struct tolerance *adjust, const struct tolerance *left,
		     const struct judged_actuation *judged, size_t n, struct switch_diagnosis *out);

/* How switch_sentences.c writes figures: the input's unit, and decimals for points and for errors. */
struct switch_manner {
	const struct switch_spec *spec;
	const char *unit;
	int decimals, error_decimals;
};

/* Each writes one sentence of at most SENTENCE_SIZE (metrology/diagnosis.h) into out. */
/* "Acts 0.12 bar early, repeats within 0.03 bar, and goes back after 0.86 bar." n: how many actuations. */
void switch_sentence(const struct switch_manner *m, const struct switch_summary *sum, size_t n, char *out);
/* "Set it 0.12 bar higher (0.6 % of span), then run as left: the error should be at most 0.02 bar." */
void switch_advice(const struct switch_manner *m, const struct switch_diagnosis *d, const struct switch_summary *sum,
		   char *out);
/* "Acted at 9.88 bar: 0.12 bar early, limit ±0.40 bar: inside" */
void switch_set_sentence(const struct switch_manner *m, const struct actuation *a, const struct judged_actuation *j,
			 const struct switch_summary *sum, char *out);
/* "Went back at 9.02 bar: dead band 0.86 bar, allowed 0.50 to 1.50 bar: inside" */
void switch_reset_sentence(const struct switch_manner *m, const struct actuation *a, const struct judged_actuation *j,
			   const struct switch_summary *sum, char *out);

#endif
