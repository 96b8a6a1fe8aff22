/* The errors of a run as the diagnosis sees them. */
#ifndef METROLOGY_SAMPLE_H
#define METROLOGY_SAMPLE_H

#include "metrology/diagnosis.h"

/*
 * t is the nominal output as a fraction of the output range, for a linear instrument the same as the input's: a trim of the
 * output's zero and span acts along it, whatever the characteristic.
 */
struct sample {
	size_t n;
	double t[READINGS_MAX];		  /* 0 at the output's low end, 1 at its high end */
	double e[READINGS_MAX];		  /* error in % of output span */
	double u[READINGS_MAX];		  /* standard uncertainty, % of output span; 0 when unknown */
	struct limits left[READINGS_MAX]; /* as-left limits in % of output span; NaN without */
};

struct trim {
	double zero, span; /* added to the error: zero + span * t, in % of output span */
	double remaining;  /* the largest |error| after it */
	bool inside;	   /* every error then inside the as-left limits */
};

/* The fewest trims that leave the smallest largest error; see trim.c. n >= 1. */
struct trim best_trim(const struct sample *s);

#endif
