/*
 * Tolerance classes of industrial platinum thermometers (IEC 60751:2008) and thermocouples (IEC 60584-1:2013, table
 * 12): how far the temperature that an element tells may lie from the true one, as a function of that temperature.
 */
#ifndef METROLOGY_TOLERANCE_CLASS_H
#define METROLOGY_TOLERANCE_CLASS_H

#include "metrology/evaluation.h"

struct tolerance_class {
	const char *code;	/* "iec60751_a_wire", "iec60584_k_1" */
	const char *title;	/* "Pt, class A, wire wound" */
	const char *source;	/* the standard, and how we know its values */
	double low, high;	/* degC: where it holds */
	double constant, slope; /* degC and degC/degC: constant + slope |t| or the greater of the two; see join */
	enum tolerance_join join;
	double from; /* degC: the slope counts t - from, only above it, and is added (types R and S, class 1); else 0 */
	struct characteristic element; /* what the class is of; r0 = 100 for Pt */
};

const struct tolerance_class *tolerance_class_at(int index);	      /* the list, NULL past its end */
const struct tolerance_class *tolerance_class_find(const char *code); /* NULL when unknown */

/* The tolerance at a temperature, degC; NaN outside low..high. */
double tolerance_class_limit(const struct tolerance_class *c, double t);
/*
 * The same in the element's own output: ohm for a resistance at 0 degC of r0 ohm, mV for a thermocouple (r0 is not
 * looked at): times the slope of its characteristic at t. NaN outside low..high.
 */
double tolerance_class_limit_output(const struct tolerance_class *c, double r0, double t);
/*
 * The class as a tolerance rule for an instrument whose output is in degC: terms absolute and % of reading. False,
 * and a rule without terms, where a rule cannot say it (types R and S, class 1).
 */
bool tolerance_class_rule(const struct tolerance_class *c, struct tolerance *out);

#endif
