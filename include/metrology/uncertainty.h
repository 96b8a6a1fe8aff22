/* Uncertainty of one reading's error, from the reference standards and the resolution (JCGM 100:2008, 5.1.2, 4.3.7). */
#ifndef METROLOGY_UNCERTAINTY_H
#define METROLOGY_UNCERTAINTY_H

#include "metrology/characteristic.h"

struct reference {
	double expanded; /* U of the standard in the unit of the quantity it measures; 0 or NaN when none is used */
	double coverage_factor; /* its k */
};

/*
 * Combined standard uncertainty of (observed - expected) in the output's unit: input reference carried over by the slope of
 * the characteristic, output reference, and the resolution of both as typed (half a count, rectangular).
 * decimals < 0: resolution unknown, left out; else up to 30. A NULL reference is none. applied is in the input's unit; NaN
 * where the characteristic has no slope there, beyond its ends. At the foot of a square root, where the slope is
 * infinite, half the change of the output over applied -+ u (JCGM 100:2008, 5.1.3 note 2).
 */
double reading_uncertainty(const struct characteristic *c, struct range input, struct range output, double applied,
			   const struct reference *input_reference, const struct reference *output_reference,
			   int input_decimals, int output_decimals);

#endif
