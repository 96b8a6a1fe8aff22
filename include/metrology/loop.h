/*
 * Can this supply drive the loop? The 4-20 mA loop as a series circuit: Ohm's law. No ranges are checked:
 * voltages, resistances and currents are >= 0, and a number that is none makes numbers that are none.
 */
#ifndef METROLOGY_LOOP_H
#define METROLOGY_LOOP_H

#include <stdbool.h>

struct loop {
	double supply_v;   /* loop supply, or compliance voltage of the current source */
	double device_v;   /* what the instrument needs at its terminals at this current */
	double series_ohm; /* for the HART modem, 250 as a rule; 0 without */
	double cable_ohm;  /* both conductors */
};

struct loop_budget {
	double drop_v;	/* over resistor and cable at this current */
	double left_v;	/* supply - device - drop; negative: the loop cannot reach this current */
	double most_ma; /* the current that the supply can just drive; infinite without resistance, 0 without voltage */
	double resistance_ohm; /* series + cable */
	bool drives;	       /* left_v >= 0 */
	bool hart; /* resistance inside 230..600 ohm, receive impedance for HART (from memory, unverified) */
};

/* current_ma: the largest that the loop must carry, 20 or, with the alarm of NAMUR NE 43, 21 and more. */
struct loop_budget loop_budget(const struct loop *l, double current_ma);

#endif
