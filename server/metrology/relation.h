/* Relations of range to range, as fractions of both: 0 at the low end, 1 at the high end. */
#ifndef METROLOGY_RELATION_H
#define METROLOGY_RELATION_H

#include "metrology/characteristic.h"

double square_root_flow(double cutoff, double dp);  /* cutoff as a fraction of flow; 0 at and below 0 */
double square_root_dp(double cutoff, double flow);  /* NaN below 0, and between 0 and the cut-off */
double square_root_slope(double cutoff, double dp); /* infinite at 0 without a cut-off */

/* Travel h from -0.05 to 1.05: R^(h - 1), and below the travel `straight` the line from 0 to there. NaN outside. */
double equal_percentage_flow(double rangeability, double straight, double h);
double equal_percentage_travel(double rangeability, double straight, double flow);
double equal_percentage_slope(double rangeability, double straight, double h);

#define TRAVEL_LOW  (-0.05)
#define TRAVEL_HIGH 1.05

#endif
