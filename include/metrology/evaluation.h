/*
 * Judging a run of readings: error, limits and verdict at each, then what they say together.
 *
 * Pure arithmetic on arrays that the caller brings. Errors and limits are in the output's unit; the terms of the
 * summary are in % of the output's span. "Inside" is judged on scaled integers: a reading exactly on the limit as
 * typed is inside. Terms: ANSI/ISA-51.1 and IEC 61298-2 (own wording in docs/metrology.md).
 */
#ifndef METROLOGY_EVALUATION_H
#define METROLOGY_EVALUATION_H

#include <stdbool.h>
#include <stddef.h>
#include "metrology/characteristic.h"

#define TOLERANCE_TERMS_MAX 8
#define READINGS_MAX	    400

enum direction { RISING, FALLING };

enum tolerance_kind {
	TOLERANCE_ABSOLUTE,
	TOLERANCE_PERCENT_OF_SPAN,
	TOLERANCE_PERCENT_OF_READING,
	TOLERANCE_PERCENT_OF_HIGH
};
enum tolerance_join { JOIN_SUM, JOIN_GREATEST };

struct tolerance_term {
	enum tolerance_kind kind;
	double plus, minus; /* how far above and below, both >= 0; absolute in the output's unit, else in % */
};

struct tolerance {
	struct tolerance_term terms[TOLERANCE_TERMS_MAX];
	int n_terms; /* 0: no limit is set, everything is not_judged */
	enum tolerance_join join;
};

enum decision_kind { DECISION_SIMPLE, DECISION_GUARDED };

struct decision_rule {
	enum decision_kind kind;
	double guard_factor; /* guarded: guard band w = guard_factor * U, U = 2 u (ILAC-G8:09/2019) */
};

/* Worst last but one; a run's verdict is that of its worst reading. */
enum verdict { VERDICT_PASS, VERDICT_CONDITIONAL_PASS, VERDICT_CONDITIONAL_FAIL, VERDICT_FAIL, VERDICT_NOT_JUDGED };

/* Limits of the error at an expected output, in the output's unit: low <= 0 <= high; NaN without terms. */
struct limits {
	double low, high;
};
struct limits tolerance_limits(const struct tolerance *t, struct range output, double expected);

/* Decimals that errors of an output are shown with, so that the tightest limit keeps two digits: in the output's unit, at
 * least output_decimals; in % of span, at least 1. Beside a verdict more may be needed, see verdict_decimals. t may be NULL or
 * without terms. */
int tolerance_error_decimals(const struct tolerance *t, struct range output, int output_decimals);
int tolerance_percent_decimals(const struct tolerance *t, struct range output);

/* The verdict on one error. u: standard uncertainty of the error in the output's unit, 0 when unknown. span scales the
 * integers, > 0 (docs/metrology.md: on the limit is inside). Simple: pass or fail. Guarded: the four-way statement
 * (ILAC-G8:09/2019, 4.2.3, clause from memory). Not judged: an error, a limit or u that is no number, a span of 0. */
enum verdict judge(double error, struct limits limits, double span, const struct decision_rule *rule, double u);

/* What the observed output is held against: the output for the input as applied, or as the procedure sets it. */
enum error_at { ERROR_AT_APPLIED, ERROR_AT_SET };

struct test_setup {
	struct range input, output;
	struct characteristic characteristic;
	struct tolerance tolerance;
	struct decision_rule decision;
	enum error_at error_at;
};

struct reading {
	double set;	 /* nominal input */
	double applied;	 /* what the reference says the input was; NaN: take set */
	double observed; /* output */
	enum direction direction;
	int cycle; /* 1, 2, ... */
	double u;  /* standard uncertainty of the error, output's unit; 0 when unknown */
};

struct judged_reading {
	double expected;      /* output for applied, or for set: see error_at */
	double error;	      /* observed - expected, to 10^-12 of the scale: what is shown and judged is the same */
	double error_percent; /* of the output's span (its magnitude) */
	struct limits limits; /* of the error */
	struct limits acceptance; /* the limits drawn in by the guard band; equal to limits under simple;
						 * low > high: the guard band leaves nothing that passes outright */
	enum verdict verdict;
};

/*
 * Decimals for an amount beside its verdict: least, or as many more (up to 9) as it takes for the rounded amount to lie on
 * that side of its rounded limits that the verdict says. Those of a list take the largest of all. NaN: no limit on that
 * side. Without a verdict: least.
 */
int verdict_decimals(double amount, struct limits limits, enum verdict verdict, int least);
/* The same for a reading's error in % of span. */
int judged_percent_decimals(const struct judged_reading *j, struct range output, int least);

enum { LINE_INDEPENDENT, LINE_TERMINAL, LINE_ZERO, LINE_LEAST_SQUARES, LINE_KINDS };

/* All but verdict, counts and worst in % of output span; NaN when the readings cannot say. */
struct evaluation {
	enum verdict verdict;
	int judged, failed; /* failed: outside the limits as read, so conditional_fail counts too */
	int worst;	    /* index of the reading with the largest |error| / limit; -1 for none */
	double worst_ratio; /* its |error| / limit; NaN for none, infinite for an error where none is allowed */
	double max_error;   /* signed, the largest in magnitude */
	double max_error_plus, max_error_minus; /* largest positive and largest negative error, 0 when there is none */
	double zero_error;			/* averaged error at the lowest set point */
	double span_error; /* NaN with one point; averaged error at the highest set point less that at the lowest */
	double hysteresis; /* largest up/down difference of one point, from averages over cycles (IEC 61298-2) */
	double hysteresis_cycle;      /* the same within one cycle (ISA-51.1) */
	double repeatability;	      /* largest range of same-direction readings of one point; NaN with one cycle */
	double linearity[LINE_KINDS]; /* largest |deviation| of the averaged curve from the line */
	double line_a, line_b;	      /* independent line of the error: a + b x, x = 0..1 over the input span */
	double max_mean_error;	      /* signed, the largest of the errors averaged over the cycles, rising and falling
					 * each for itself: the measured error of IEC 61298-2; max_error is its inaccuracy */
};

/* Judges one reading as evaluate() does. False when the setup is impossible, or the reading outside the characteristic: out is
 * not touched then. */
bool evaluate_reading(const struct test_setup *setup, const struct reading *reading, struct judged_reading *out);

/*
 * Judges n readings (0..READINGS_MAX) into out[n] and sums them up. False when the setup is impossible (empty range,
 * input outside the characteristic): out and sum then hold NaN and not_judged. A reading whose observed is NaN has
 * not been taken: it is not judged and says nothing in the summary. Linearity needs three points, repeatability two
 * readings of a point in one direction.
 */
bool evaluate(const struct test_setup *setup, const struct reading *readings, size_t n, struct judged_reading *out,
	      struct evaluation *sum);

/* Whether the error keeps other limits than the setup's too (adjust, as left), without a guard band; false when the
 * reading has no error or the tolerance no terms. */
bool inside_tolerance(const struct test_setup *setup, const struct tolerance *t, const struct judged_reading *j);

/* One set point over all cycles, errors in % of output span; NaN where the readings cannot say. */
struct point_summary {
	double set;
	double rising, falling, mean; /* averages over the cycles, and over all readings of the point */
	double hysteresis;	      /* |rising - falling| */
	double repeatability;	      /* range of same-direction readings, the larger of both directions */
	int readings;
};

/* Sums up by set point, ascending over the input range (IEC 61298-2, averages over the cycles). n up to READINGS_MAX,
 * out of the same size; returns how many. */
size_t evaluation_points(const struct test_setup *setup, const struct reading *readings,
			 const struct judged_reading *judged, size_t n, struct point_summary *out);

/*
 * Dead band (ANSI/ISA-51.1, from memory): how far the input goes after a reversal before the output moves. At each
 * place the input that moved the output while rising and the one that moved it back while falling, in the input's
 * unit.
 */
struct dead_band_reading {
	double rising, falling;
};
/* The largest, in % of input span; NaN for none. */
double dead_band(const struct dead_band_reading *readings, size_t n, struct range input);

#endif
