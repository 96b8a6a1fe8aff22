/* Platinum resistance: R = R0 (1 + A t + B t^2 + C (t - 100) t^3), C only below 0 degC; t in degC. */
#ifndef METROLOGY_RTD_H
#define METROLOGY_RTD_H

#include "metrology/characteristic.h"

struct callendar {
	double a, b, c; /* 1/degC, 1/degC^2, 1/degC^4 */
};

extern const struct callendar iec_60751; /* IEC 60751:2008, 4.2 */
extern const struct range rtd_domain;	 /* -200..850 degC */

/* R / R0 and its slope; NaN outside the domain. */
double rtd_ratio(const struct callendar *k, double t);
double rtd_ratio_slope(const struct callendar *k, double t);
double rtd_temperature(const struct callendar *k, double ratio); /* NaN outside what the domain gives */
bool rtd_rises(const struct callendar *k); /* over the whole domain, so that there is an inverse */

#endif
