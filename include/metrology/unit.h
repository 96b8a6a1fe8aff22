/*
 * Units of measurement: symbols as the trade writes them, exact factors, dimensions kept apart.
 *
 * Factors are those of the definitions (SI Brochure, 9th edition; NIST SP 811, 2008, B.8), each with its source in
 * unit_list.c.
 *
 * Kept apart, so that they do not convert: temperature and temperature difference; pressure, gauge pressure (bar(g))
 * and absolute pressure (bar(a)); turbidity by its three methods; mass concentration (mg/L) and mass fraction
 * (ppm(m)).
 */
#ifndef METROLOGY_UNIT_H
#define METROLOGY_UNIT_H

#include <stdbool.h>

struct unit {
	const char *symbol;    /* "mbar", "°C", "%" */
	const char *dimension; /* "pressure", "temperature", "current", ... as people say it */
	double factor, offset; /* SI = value * factor + offset */
	const char *si;	       /* the D-SI form of the unit itself, "\\milli\\ampere"; NULL when there is none */
};

const struct unit *unit_find(
	const char *
		symbol); /* exact symbol, or its typographic twin (Ω for ohm, m³ for m3, the other µ); NULL when unknown */
const struct unit *unit_at(int index); /* the list, NULL past its end */
/* False when the dimensions differ; *out is then left alone. Any value: what lies below absolute zero is the caller's. */
bool unit_convert(double value, const struct unit *from, const struct unit *to, double *out);
/*
 * Size of a difference (an uncertainty, a tolerance) in another unit: no offset. The difference of two temperatures
 * is a temperature difference, that of two gauge or two absolute pressures a pressure, so those dimensions mix here.
 */
bool unit_convert_difference(double value, const struct unit *from, const struct unit *to, double *out);

#endif
