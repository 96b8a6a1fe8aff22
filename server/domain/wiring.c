/*
 * The wiring sheet, from the frozen instrument alone: what drives the input, what reads the output, and where each lead
 * goes. Practice of the trade (common practice, no source); local drawings and the site's permit come first.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include "metrology/format.h"
#include "metrology/unit.h"
#include "record_internal.h"

struct sheet {
	const struct record *r;
	const struct frozen_instrument *i;
	struct arena *a;
	struct wiring *out;
	const char *device; /* "positioner FV-301" */
};

static void wire(struct sheet *s, const char *from, const char *to, const char *note)
{
	if (s->out->n_wires < WIRES_MAX && from && to)
		s->out->wires[s->out->n_wires++] = (struct wire){from, to, note ? note : ""};
}

static bool measures(const char *unit_symbol, const char *dimension)
{
	const struct unit *u = unit_find(unit_symbol);

	return u && !strcmp(u->dimension, dimension);
}

static const char *terminal(struct sheet *s, const char *mark)
{
	return arena_printf(s->a, "%s, %s", s->device, mark);
}

static const char *resistor(struct sheet *s)
{
	char ohm[NUMBER_TEXT_SIZE];

	return arena_printf(s->a, "resistor %s Ω", format_number(s->i->loop.series_ohm, 0, false, ohm));
}

/* The return lead, through the resistor where the loop has one. */
static void wire_return(struct sheet *s, const char *from, const char *to)
{
	if (s->i->has_loop && s->i->loop.series_ohm > 0) {
		wire(s, from, resistor(s), s->i->hart ? "gives the HART modem something to talk across" : "");
		wire(s, resistor(s), to, "");
	} else {
		wire(s, from, to, "");
	}
}

static void wire_modem(struct sheet *s)
{
	if (s->i->has_loop && s->i->hart)
		wire(s, "HART modem, both leads", arena_printf(s->a, "across the terminals of %s", s->device),
		     "no polarity; never across the source");
}

/* A current drives the input: valve positioners, indicators, converters. */
static void drive_current(struct sheet *s)
{
	wire(s, "current source, +", terminal(s, "+"), "the control system's wires are off, marked and made safe");
	wire_return(s, terminal(s, "−"), "current source, −");
	wire_modem(s);
}

static void drive_pressure(struct sheet *s)
{
	wire(s, "hand pump", "reference gauge", "a tee joins pump, gauge and instrument");
	wire(s, "reference gauge", terminal(s, "high side"),
	     "low side open to the air; isolated, vented and drained first");
}

static void drive_temperature(struct sheet *s)
{
	wire(s, "sensor", "dry block, well that fits", "to the bottom; wait until it is steady");
	wire(s, "reference probe", "dry block, well beside it", "same depth as the sensor");
}

static void drive_electrical(struct sheet *s)
{
	if (measures(s->i->input_unit, "resistance"))
		wire(s, "resistance decade", terminal(s, "sensor terminals"),
		     "the sensor is off; three or four wires as it is set");
	else
		wire(s, "voltage source", terminal(s, "input"), "mind the polarity");
}

static void drive_other(struct sheet *s)
{
	wire(s, arena_printf(s->a, "reference for %s", s->i->input_quantity), terminal(s, "input"),
	     "a solution, block or flow of known value; rinse and wait until it is steady");
}

static const char *source_for(struct sheet *s)
{
	const char *unit = s->i->input_unit;

	if (measures(unit, "current"))
		return "Current source";
	if (measures(unit, "pressure"))
		return "Hand pump with reference gauge";
	if (measures(unit, "temperature"))
		return "Dry block with reference probe";
	if (measures(unit, "resistance"))
		return "Resistance decade";
	if (measures(unit, "voltage"))
		return "Voltage source";
	return arena_printf(s->a, "Reference for %s", s->i->input_quantity);
}

static void drive(struct sheet *s)
{
	const char *unit = s->i->input_unit;

	if (measures(unit, "current"))
		drive_current(s);
	else if (measures(unit, "pressure"))
		drive_pressure(s);
	else if (measures(unit, "temperature"))
		drive_temperature(s);
	else if (measures(unit, "resistance") || measures(unit, "voltage"))
		drive_electrical(s);
	else
		drive_other(s);
}

/* A two-wire device: supply, device, meter and resistor in one loop. */
static void read_loop(struct sheet *s)
{
	wire(s, "loop supply, +", terminal(s, "+"), "");
	wire(s, terminal(s, "−"), "mA meter, +", "in series: break the loop, never across the supply");
	wire_return(s, "mA meter, −", "loop supply, −");
	wire_modem(s);
}

static const char *reader_for(struct sheet *s)
{
	const char *unit = s->i->output_unit;

	if (!strcmp(s->i->kind, "control_valve"))
		return "the travel on the stem's scale";
	if (!strcmp(s->i->kind, "switch"))
		return "a continuity tester on the contacts";
	if (measures(unit, "current"))
		return "a mA meter in the loop";
	if (measures(unit, "resistance"))
		return "an ohmmeter, four wires";
	if (measures(unit, "voltage"))
		return "a voltmeter";
	return "its own display";
}

static void read_out(struct sheet *s)
{
	const char *unit = s->i->output_unit;

	if (!strcmp(s->i->kind, "control_valve"))
		wire(s, "stem", "travel scale or gauge", "fingers clear of stem and yoke: it moves");
	else if (!strcmp(s->i->kind, "switch"))
		wire(s, terminal(s, "contacts"), "continuity tester", "the contacts are free of voltage");
	else if (measures(unit, "current"))
		read_loop(s);
	else if (measures(unit, "resistance"))
		wire(s, terminal(s, "sensor leads"), "ohmmeter", "four wires, so that the leads do not count");
	else if (measures(unit, "voltage"))
		wire(s, terminal(s, "output"), "voltmeter", "mind the polarity");
}

static const char *hart_clause(const struct loop_budget *b, bool hart)
{
	if (!hart)
		return "";
	return b->hart ? " The resistance suits HART." :
			 " The resistance is outside 230 to 600 Ω: HART may not get through.";
}

static void say_budget(struct sheet *s)
{
	const struct loop *l = &s->i->loop;
	struct loop_budget *b = &s->out->budget;
	char supply[NUMBER_TEXT_SIZE], device[NUMBER_TEXT_SIZE], drop[NUMBER_TEXT_SIZE], left[NUMBER_TEXT_SIZE];
	char ohm[NUMBER_TEXT_SIZE], most[NUMBER_TEXT_SIZE];
	const char *sums;

	*b = loop_budget(l, 20);
	sums = arena_printf(s->a, "Of %s V the instrument takes %s V, and 20 mA through %s Ω drops %s V",
			    format_number(l->supply_v, 1, false, supply), format_number(l->device_v, 1, false, device),
			    format_number(b->resistance_ohm, 0, false, ohm), format_number(b->drop_v, 1, false, drop));
	if (b->drives)
		s->out->sentence = arena_printf(s->a, "%s: %s V are left, so the loop reaches 20 mA.%s", sums,
						format_number(b->left_v, 1, false, left), hart_clause(b, s->i->hart));
	else
		s->out->sentence = arena_printf(s->a, "%s: %s V are missing, so the loop stops at %s mA.%s", sums,
						format_number(-b->left_v, 1, false, left),
						format_number(b->most_ma, 1, false, most), hart_clause(b, s->i->hart));
}

void record_wiring(const struct record *r, struct arena *a, struct wiring *out)
{
	struct sheet s = {r, &r->instrument, a, out, NULL};

	*out = (struct wiring){0};
	s.device = arena_printf(a, "%s%s", strcmp(r->instrument.kind, "control_valve") ? "" : "positioner of ",
				r->instrument.tag);
	out->source = arena_printf(
		a, "%s, %s; the output is read by %s.", source_for(&s),
		record_shown_range(r->instrument.input.low, r->instrument.input.high, r->instrument.input_unit, a),
		reader_for(&s));
	drive(&s);
	read_out(&s);
	if (r->instrument.has_loop)
		say_budget(&s);
}
