/*
 * What is wrong, and how far to trim: the error curve split into zero, span, curvature, hysteresis and scatter.
 */
#ifndef METROLOGY_DIAGNOSIS_H
#define METROLOGY_DIAGNOSIS_H

#include "metrology/evaluation.h"

enum cause { CAUSE_ZERO, CAUSE_SPAN, CAUSE_CURVATURE, CAUSE_HYSTERESIS, CAUSE_SCATTER, CAUSES };

/* Whose limits an error must keep for no adjustment to be called for. */
enum call { CALL_ADJUST_LIMITS, CALL_AS_LEFT_LIMITS, CALL_LIMITS };

struct diagnosis {
	double share[CAUSES];	  /* of the sum of squared errors; they add to 1 (all 0 when every error is 0) */
	double size[CAUSES];	  /* in % of output span, signed for zero, span and curvature */
	enum cause order[CAUSES]; /* largest share first */
	bool adjust;		  /* an adjustment is called for: some error is outside the adjust limits */
	bool trim_helps;	  /* zero and span trim would bring every reading inside the as-left limits */
	/*
	 * What to add to the output at its low end, and to its span (high - low), in the output's unit: the fewest
	 * of the two that leave the smallest largest error. Computed whether or not an adjustment is called for.
	 */
	double zero_trim, span_trim;
	double predicted_max_error; /* % of span, after that trim: the trim applied to the readings */
	bool limits_set;	    /* there were limits to say adjust by */
	/*
	 * How probable a part at least as large is when there is nothing but scatter: F tests against the scatter,
	 * of zero and span each as a parameter of the line; scatter itself against the readings' u by chi-squared.
	 * NaN where the readings cannot say (no degrees of freedom, no u). significant: below DIAGNOSIS_LEVEL.
	 */
	double p_value[CAUSES];
	bool significant[CAUSES];
	int noise_dof; /* degrees of freedom of the scatter */
	/* As read, in % of output span, signed: for sentences that must be true of each reading. */
	double lowest, highest; /* the smallest and the largest error; NaN without any */
	double mean;		/* of all errors */
	double bend; /* of the averaged curve, furthest above (or below, negative) the line between its end points */
	enum call
		call; /* for the sentences; diagnose() sets it by which limits it is given, a caller may know better */
};

#define DIAGNOSIS_LEVEL 0.05

/*
 * adjust_limits: when any error is outside, adjust is true (usually the procedure's adjust limits); left: limits
 * that the instrument must meet afterwards. Where one of the two has no terms the other serves for both.
 * readings/judged as from evaluate(); without any judged reading shares and sizes are 0 and the prediction is NaN.
 * docs/metrology.md says how the errors are split.
 */
void diagnose(const struct test_setup *setup, const struct tolerance *adjust_limits, const struct tolerance *left,
	      const struct reading *readings, const struct judged_reading *judged, size_t n, struct diagnosis *out);

#define SENTENCE_SIZE 384

/*
 * "Mostly a zero shift: the output is 1.2 % of span high at every point." One sentence, English, numbers by format.h.
 * Each figure is read off the readings, so that it can be checked against their table. A run that passes and calls for no
 * adjustment is spoken of quietly: "The largest error is 0.31 % of span; rising and falling differ by up to 0.40 % of span."
 */
void diagnosis_sentence(const struct diagnosis *d, const struct evaluation *e, char out[SENTENCE_SIZE]);
/*
 * "Lower the zero by 0.19 mA (1.2 % of span), then run as left: ..." or "No adjustment: every error is inside the
 * adjust limits." (or the limits that d->call names) output_unit: the unit's symbol; decimals: as the output is read.
 */
void advice_sentence(const struct diagnosis *d, const struct test_setup *setup, const char *output_unit, int decimals,
		     char out[SENTENCE_SIZE]);
/*
 * The same, and for a linear instrument also what the trim is worth at the input: for a valve whose output is
 * travel, the signal that moves it as far.
 */
void advice_sentence_with_input(const struct diagnosis *d, const struct test_setup *setup, const char *output_unit,
				int output_decimals, const char *input_unit, int input_decimals,
				char out[SENTENCE_SIZE]);
/*
 * "12.00 mA → 51.2 %: 1.2 % of span high, limit ±3.0 %: inside"; "limit −1.0 to +3.0 %" when the sides differ. Error
 * and limit in % of span, with as many decimals as it takes to see on which side the error lies. Says the verdict in
 * words.
 */
void reading_sentence(const struct test_setup *setup, const struct reading *r, const struct judged_reading *j,
		      const char *input_unit, const char *output_unit, int input_decimals, int output_decimals,
		      char out[SENTENCE_SIZE]);
const char *verdict_word(enum verdict v); /* "pass", "conditional_pass", ... as in the contracts */
const char *verdict_text(
	enum verdict
		v); /* "inside", "inside, within the guard band", "outside, within the guard band", "outside", "not judged" */
const char *cause_word(enum cause c);	/* "zero", "span", "curvature", "hysteresis", "scatter" */
const char *cause_advice(enum cause c); /* "Trim the zero." What to do about this cause alone */

#endif
