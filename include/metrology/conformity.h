/*
 * Is it within its tolerance, and how sure is that? (JCGM 106:2012; ILAC-G8:09/2019)
 *
 * Limits, readings and uncertainties are in one unit. A limit that does not exist is -infinite or infinite. u is the
 * standard uncertainty of the reading, > 0; distributions are normal. NaN, a u or a deviation that is not above
 * 0, or limits the wrong way round give NaN.
 */
#ifndef METROLOGY_CONFORMITY_H
#define METROLOGY_CONFORMITY_H

#include "metrology/evaluation.h"

/* What is known of such items before measuring: their mean and standard deviation (> 0). */
struct prior {
	double mean, standard_deviation;
};

/* That the true value lies within limits, given the reading (JCGM 106, 7.3); and that it does not, with its own
 * digits. */
double probability_of_conformity(double measured, double u, struct limits limits);
double probability_of_nonconformity(double measured, double u, struct limits limits);

/* What the reading and the prior say together: the mean, and its standard deviation in *u (JCGM 106, 6.4.2). */
double posterior_mean(struct prior prior, double measured, double *u);

/* The limits drawn in by a guard band w >= 0; low > high when nothing is accepted. */
struct limits acceptance_limits(struct limits limits, double w);

/*
 * Of all such items, the share that is accepted though it does not conform (consumer), and rejected though it
 * conforms (producer); JCGM 106, 9.5.2 and 9.5.3, by Gauss-Legendre integration, to 1e-10 relative.
 */
struct global_risk {
	double consumer, producer;
};
struct global_risk global_risk(struct prior prior, double u, struct limits limits, struct limits acceptance);

/*
 * The least guard band w >= 0 with which a reading on the acceptance limit has no more than the wanted probability
 * of not conforming (0 < wanted < 1), or with which the global consumer's risk is no more than that. NaN when even
 * the middle of the tolerance is not safe enough. Guard factor: w / (2 u).
 */
double guard_for_specific_risk(double u, struct limits limits, double wanted);
double guard_for_global_risk(struct prior prior, double u, struct limits limits, double wanted);

/* Width of the tolerance to that of +-accuracy: the TAR when accuracy is the standard's, the TUR when it is U. NaN
 * for one limit. */
double tolerance_ratio(struct limits limits, double accuracy);

#endif
