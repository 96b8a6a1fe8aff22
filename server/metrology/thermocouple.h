/* The reference functions of the thermocouple types, piece by piece. */
#ifndef METROLOGY_THERMOCOUPLE_H
#define METROLOGY_THERMOCOUPLE_H

#include <stddef.h>
#include "metrology/characteristic.h"

struct thermocouple_piece {
	double low, high; /* degC */
	size_t n;
	const double *c; /* mV over powers of degC */
};

struct thermocouple {
	const char *letter;
	int n_pieces;
	struct thermocouple_piece piece[3]; /* ascending, each beginning where the one before ends */
};

extern const struct thermocouple thermocouples[THERMOCOUPLES];

struct range thermocouple_domain(enum thermocouple_type type); /* degC */
/* What the inverse accepts, in mV; type B only from 0 mV on, see thermocouple.c. */
struct range thermocouple_image(enum thermocouple_type type);
double thermocouple_emf(enum thermocouple_type type, double t);		  /* mV; NaN outside the domain */
double thermocouple_slope(enum thermocouple_type type, double t);	  /* mV/degC; NaN outside the domain */
double thermocouple_temperature(enum thermocouple_type type, double emf); /* degC; NaN outside the image */

#endif
