/*
 * Names of units after the published list of D-SI (read: base units, minute, hour, day, degree, derived units, prefixes,
 * powers; no prefix before \kilogram and \one). From memory, unverified: \litre, \tonne, \percent, \ppm, and that \bar and
 * \mmHg, which only the 8th edition of the SI Brochure lists, have names of their own.
 */
#include "dcc_unit.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include "metrology/format.h"
#include "metrology/unit.h"

/* The coherent SI unit of each dimension: the one that the factors of the program's list lead to. */
static const struct {
	const char *dimension, *si;
} coherent[] = {
	{"pressure", "\\pascal"},
	{"gauge pressure", "\\pascal"},
	{"absolute pressure", "\\pascal"},
	{"temperature", "\\kelvin"},
	{"temperature difference", "\\kelvin"},
	{"current", "\\ampere"},
	{"voltage", "\\volt"},
	{"resistance", "\\ohm"},
	{"conductance", "\\siemens"},
	{"capacitance", "\\farad"},
	{"voltage ratio", "\\one"},
	{"power", "\\watt"},
	{"energy", "\\joule"},
	{"frequency", "\\hertz"},
	{"pulses per volume", "\\metre\\tothe{-3}"},
	{"number concentration", "\\metre\\tothe{-3}"},
	{"ratio", "\\one"},
	{"volume flow", "\\metre\\tothe{3}\\second\\tothe{-1}"},
	{"volume flow at 0 °C and 1013.25 hPa", "\\metre\\tothe{3}\\second\\tothe{-1}"},
	{"volume flow at 60 °F and 14.696 psi", "\\metre\\tothe{3}\\second\\tothe{-1}"},
	{"mass flow", "\\kilogram\\second\\tothe{-1}"},
	{"length", "\\metre"},
	{"area", "\\metre\\tothe{2}"},
	{"volume", "\\metre\\tothe{3}"},
	{"speed", "\\metre\\second\\tothe{-1}"},
	{"acceleration", "\\metre\\second\\tothe{-2}"},
	{"rotational speed", "\\radian\\second\\tothe{-1}"},
	{"angle", "\\radian"},
	{"time", "\\second"},
	{"mass", "\\kilogram"},
	{"force", "\\newton"},
	{"torque", "\\newton\\metre"},
	{"density", "\\kilogram\\metre\\tothe{-3}"},
	{"mass concentration", "\\kilogram\\metre\\tothe{-3}"},
	{"amount concentration", "\\mole\\metre\\tothe{-3}"},
	{"mass fraction", "\\one"},
	{"volume fraction", "\\one"},
	{"saturation of dissolved oxygen", "\\one"},
	{"viscosity", "\\pascal\\second"},
	{"kinematic viscosity", "\\metre\\tothe{2}\\second\\tothe{-1}"},
	{"conductivity", "\\siemens\\metre\\tothe{-1}"},
	{"resistivity", "\\ohm\\metre"},
	{"illuminance", "\\lux"},
	{"irradiance", "\\watt\\metre\\tothe{-2}"},
	{"absorption coefficient", "\\metre\\tothe{-1}"},
};

/* Scales that are agreed, not derived: the SI has no unit for them. */
static const char *const conventional[] = {"pH", "turbidity", "turbidity (infrared)", "turbidity (attenuated)",
					   "colour (Pt/Co scale)"};

/* Expressions that the program's list leaves open, although the D-SI can say them. */
static const struct {
	const char *symbol, *si;
} expressions[] = {
	{"mV/V", "\\milli\\volt\\volt\\tothe{-1}"},
	{"1/L", "\\litre\\tothe{-1}"},
	{"1/m3", "\\metre\\tothe{-3}"},
	{"1/mL", "\\milli\\litre\\tothe{-1}"},
	{"g/kg", "\\gram\\kilogram\\tothe{-1}"},
	{"mg/kg", "\\milli\\gram\\kilogram\\tothe{-1}"},
	{"µg/kg", "\\micro\\gram\\kilogram\\tothe{-1}"},
	{"%(m)", "\\percent"},
	{"%(v)", "\\percent"},
	{"mL/L", "\\milli\\litre\\litre\\tothe{-1}"},
	{"%sat", "\\percent"},
	{"%RH", "\\percent"},
};

static const char *coherent_of(const char *dimension)
{
	for (size_t i = 0; i < sizeof coherent / sizeof coherent[0]; i++)
		if (strcmp(coherent[i].dimension, dimension) == 0)
			return coherent[i].si;
	return NULL;
}

static const char *expression_of(const struct unit *u)
{
	for (size_t i = 0; i < sizeof expressions / sizeof expressions[0]; i++)
		if (strcmp(expressions[i].symbol, u->symbol) == 0)
			return expressions[i].si;
	return u->si;
}

static bool is_conventional(const char *dimension)
{
	for (size_t i = 0; i < sizeof conventional / sizeof conventional[0]; i++)
		if (strcmp(conventional[i], dimension) == 0)
			return true;
	return false;
}

/* Named in D-SI, but not in the 9th edition of the SI Brochure: never alone. */
static bool never_alone(const char *expression)
{
	return strstr(expression, "\\bar") || strstr(expression, "\\mmHg") || strstr(expression, "\\ppm");
}

bool dcc_unit_find(const char *symbol, bool difference, struct dcc_unit *out)
{
	const struct unit *u = unit_find(symbol);
	const char *expression;

	if (!u)
		return false;
	*out = (struct dcc_unit){.factor = 1, .symbol = u->symbol};
	if (is_conventional(u->dimension)) {
		out->si = "\\one";
		out->no_si = u->dimension;
		return true;
	}
	expression = expression_of(u);
	if (difference && strcmp(u->dimension, "temperature") == 0 && u->factor == 1)
		expression = "\\kelvin";
	if (expression && !never_alone(expression)) {
		out->si = expression;
		return true;
	}
	out->si = coherent_of(u->dimension);
	out->beside = expression ? expression : u->symbol;
	out->defined = !expression;
	out->factor = u->factor;
	out->offset = difference ? 0 : u->offset;
	return out->si != NULL;
}

const char *dcc_number(struct words *w, double value, int decimals)
{
	static const char minus[] = "\u2212";
	char text[NUMBER_TEXT_SIZE];

	if (!isfinite(value))
		return "NaN";
	format_number(value, decimals, false, text);
	if (strncmp(text, minus, sizeof minus - 1) == 0)
		return words_say(w, "-%s", text + sizeof minus - 1);
	/* what format_number draws for a number beyond its bounds is no number */
	return text[0] >= '0' && text[0] <= '9' ? words_say(w, "%s", text) : "NaN";
}

const char *dcc_number_si(struct words *w, const struct dcc_unit *u, double value, int decimals)
{
	double step = u->factor * pow(10, -decimals), converted = value * u->factor + u->offset, scale;
	int exponent;

	if (!isfinite(value))
		return "NaN";
	if (!u->beside)
		return dcc_number(w, value, decimals);
	if (step >= 1e-7)
		return dcc_number(w, converted, decimals_for(step));
	/* more decimals than a number may have: a power of a thousand beside it, as in 1.25E-6 */
	exponent = 3 * (int)floor(log10(u->factor) / 3);
	scale = pow(10, exponent);
	return words_say(w, "%sE%d", dcc_number(w, converted / scale, decimals_for(step / scale)), exponent);
}

const char *dcc_unit_definition(struct words *w, const struct dcc_unit *u)
{
	if (u->no_si)
		return words_say(w, "%s: a number on an agreed scale, not a unit of the SI", u->no_si);
	if (u->offset != 0)
		return words_say(w, "x %s = (x * %.15g + %.15g) %s", u->symbol, u->factor, u->offset, u->si);
	return words_say(w, "1 %s = %.15g %s", u->symbol, u->factor, u->si);
}
