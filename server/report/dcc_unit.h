/*
 * The program's units in the Digital SI format, and numbers as XML wants them.
 *
 * The rule of D-SI: a machine must find every quantity in a unit of the SI Brochure (9th edition, 2019). A unit that stands
 * there, or is a prefix, power or product of such (mA, m3/h, °C), is given as it is. Any other (psi, bar, °F, rpm) goes into
 * a hybrid: the value in the coherent SI unit first, the value as it was read beside it. Where the SI knows no equal (pH,
 * NTU), the value is a number of dimension one and the unit is told in words.
 */
#ifndef REPORT_DCC_UNIT_H
#define REPORT_DCC_UNIT_H

#include <stdbool.h>
#include "words.h"

struct dcc_unit {
	const char *si;	       /* the expression every machine reads: "\\milli\\ampere", "\\pascal" */
	const char *beside;    /* the unit as read, when it is not si itself: "psi", "\\bar"; NULL otherwise */
	double factor, offset; /* value in si = value * factor + offset; 1 and 0 without beside */
	bool defined;	       /* beside needs its definition told: D-SI has no name for it */
	const char *no_si;     /* what the number is, where the SI has no equal: "pH"; NULL otherwise */
	const char *symbol;    /* as the program writes it */
};

/*
 * difference: for errors, limits and uncertainties, which have no offset and are kelvins for degrees Celsius. False for a
 * symbol that is not in the program's list.
 */
bool dcc_unit_find(const char *symbol, bool difference, struct dcc_unit *out);

/* The figures of format_number in plain ASCII; "NaN" when there is no value. */
const char *dcc_number(struct words *w, double value, int decimals);
/* value, given with this many decimals, in the SI unit: digits enough that nothing of it is lost. */
const char *dcc_number_si(struct words *w, const struct dcc_unit *u, double value, int decimals);
/* "1 psi = 6894.75729316836 \pascal" */
const char *dcc_unit_definition(struct words *w, const struct dcc_unit *u);

#endif
