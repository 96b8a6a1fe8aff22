/* Characteristics given by points. */
#ifndef METROLOGY_TABLE_H
#define METROLOGY_TABLE_H

#include "metrology/characteristic.h"

double table_value(const struct characteristic *c, double x);	/* NaN outside the points */
double table_slope(const struct characteristic *c, double x);	/* NaN outside the points */
double table_inverse(const struct characteristic *c, double y); /* NaN outside, and for a table that turns */
int table_trend(const struct characteristic *c); /* 1: outputs rise from point to point, -1: they fall, 0: neither */

#endif
