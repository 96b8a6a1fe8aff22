/*
 * The specified relation of an instrument's output to its input.
 *
 * linear and square_root map range to range; rtd and thermocouple give a sensing element's own output (ohm, mV) for a
 * temperature in degrees Celsius and use the ranges only as what the element is used over.
 */
#ifndef METROLOGY_CHARACTERISTIC_H
#define METROLOGY_CHARACTERISTIC_H

#include "metrology/range.h"

enum characteristic_kind { CHARACTERISTIC_LINEAR, CHARACTERISTIC_SQUARE_ROOT, CHARACTERISTIC_RTD, CHARACTERISTIC_THERMOCOUPLE };
enum thermocouple_type { THERMOCOUPLE_K };

struct characteristic {
	enum characteristic_kind kind;
	double r0;			/* rtd: resistance at 0 degC in ohm, 100 for Pt100 */
	enum thermocouple_type type;	/* thermocouple */
};

/* Expected output for an input. NaN outside the validity of the reference function (Pt: -200..850 degC, K: -270..1372 degC).
 * square_root: 0 input fraction and below gives the output's low end. */
double characteristic_forward(const struct characteristic *c, struct range input, struct range output, double value);
/* Input that gives this output; NaN where there is none. */
double characteristic_inverse(const struct characteristic *c, struct range input, struct range output, double value);
/* Slope d(output)/d(input) at an input, by the formula's derivative; infinite at the foot of a square root. */
double characteristic_slope(const struct characteristic *c, struct range input, struct range output, double value);

#endif
