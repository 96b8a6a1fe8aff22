/*
 * Factors are exact by definition and written as the product of the definitions they come from: the SI Brochure (9th
 * edition, 2019) for the SI and the units accepted with it; NIST SP 811 (2008), B.8 and footnotes, for foot, inch, pound,
 * gallon, standard gravity and the conventional columns of water and mercury (1000 kg/m3 and 13 595.1 kg/m3 under standard
 * gravity). Columns of water at a named temperature are others and are not in the list. D-SI names: the unit's form in the
 * Digital SI format, where its published list of names has one (from memory, unverified for the non-SI ones).
 */
#include "metrology/unit.h"

#include <stddef.h>

#define G_N 9.80665			/* m/s2 */
#define INCH 0.0254			/* m */
#define FOOT 0.3048			/* m */
#define POUND 0.45359237		/* kg */
#define GALLON_US 0.003785411784	/* m3, 231 cubic inches */
#define GALLON_UK 0.00454609		/* m3 */
#define MERCURY 13595.1			/* kg/m3 */
#define DEGREE_F (5.0 / 9.0)		/* K */

static const struct unit units[] = {
	{"Pa", "pressure", 1, 0, "\\pascal"},
	{"hPa", "pressure", 100, 0, "\\hecto\\pascal"},
	{"kPa", "pressure", 1e3, 0, "\\kilo\\pascal"},
	{"MPa", "pressure", 1e6, 0, "\\mega\\pascal"},
	{"mbar", "pressure", 100, 0, "\\milli\\bar"},
	{"bar", "pressure", 1e5, 0, "\\bar"},
	{"psi", "pressure", POUND * G_N / (INCH * INCH), 0, NULL},
	{"kgf/cm2", "pressure", G_N * 1e4, 0, NULL},
	{"atm", "pressure", 101325, 0, NULL},
	{"Torr", "pressure", 101325.0 / 760, 0, NULL},
	{"mmHg", "pressure", MERCURY * G_N * 1e-3, 0, "\\mmHg"},
	{"inHg", "pressure", MERCURY * G_N * INCH, 0, NULL},
	{"mmH2O", "pressure", G_N, 0, NULL},
	{"cmH2O", "pressure", 10 * G_N, 0, NULL},
	{"mH2O", "pressure", 1000 * G_N, 0, NULL},
	{"inH2O", "pressure", 1000 * G_N * INCH, 0, NULL},
	{"ftH2O", "pressure", 1000 * G_N * FOOT, 0, NULL},

	{"K", "temperature", 1, 0, "\\kelvin"},
	{"°C", "temperature", 1, 273.15, "\\degreecelsius"},
	{"°F", "temperature", DEGREE_F, 459.67 * DEGREE_F, NULL},
	{"°R", "temperature", DEGREE_F, 0, NULL},
	{"ΔK", "temperature difference", 1, 0, "\\kelvin"},
	{"Δ°C", "temperature difference", 1, 0, "\\kelvin"},
	{"Δ°F", "temperature difference", DEGREE_F, 0, NULL},

	{"A", "current", 1, 0, "\\ampere"},
	{"mA", "current", 1e-3, 0, "\\milli\\ampere"},
	{"µA", "current", 1e-6, 0, "\\micro\\ampere"},
	{"V", "voltage", 1, 0, "\\volt"},
	{"mV", "voltage", 1e-3, 0, "\\milli\\volt"},
	{"µV", "voltage", 1e-6, 0, "\\micro\\volt"},
	{"kV", "voltage", 1e3, 0, "\\kilo\\volt"},
	{"ohm", "resistance", 1, 0, "\\ohm"},
	{"mohm", "resistance", 1e-3, 0, "\\milli\\ohm"},
	{"kohm", "resistance", 1e3, 0, "\\kilo\\ohm"},
	{"Mohm", "resistance", 1e6, 0, "\\mega\\ohm"},
	{"W", "power", 1, 0, "\\watt"},
	{"kW", "power", 1e3, 0, "\\kilo\\watt"},

	{"Hz", "frequency", 1, 0, "\\hertz"},
	{"kHz", "frequency", 1e3, 0, "\\kilo\\hertz"},
	{"MHz", "frequency", 1e6, 0, "\\mega\\hertz"},
	{"1/min", "frequency", 1.0 / 60, 0, "\\minute\\tothe{-1}"},

	{"1", "ratio", 1, 0, "\\one"},
	{"%", "ratio", 0.01, 0, "\\percent"},
	{"‰", "ratio", 1e-3, 0, NULL},
	{"ppm", "ratio", 1e-6, 0, "\\ppm"},

	{"m3/s", "volume flow", 1, 0, "\\metre\\tothe{3}\\second\\tothe{-1}"},
	{"m3/min", "volume flow", 1.0 / 60, 0, "\\metre\\tothe{3}\\minute\\tothe{-1}"},
	{"m3/h", "volume flow", 1.0 / 3600, 0, "\\metre\\tothe{3}\\hour\\tothe{-1}"},
	{"m3/d", "volume flow", 1.0 / 86400, 0, "\\metre\\tothe{3}\\day\\tothe{-1}"},
	{"L/s", "volume flow", 1e-3, 0, "\\litre\\second\\tothe{-1}"},
	{"L/min", "volume flow", 1e-3 / 60, 0, "\\litre\\minute\\tothe{-1}"},
	{"L/h", "volume flow", 1e-3 / 3600, 0, "\\litre\\hour\\tothe{-1}"},
	{"mL/min", "volume flow", 1e-6 / 60, 0, "\\milli\\litre\\minute\\tothe{-1}"},
	{"ML/d", "volume flow", 1e3 / 86400, 0, "\\mega\\litre\\day\\tothe{-1}"},
	{"gpm", "volume flow", GALLON_US / 60, 0, NULL},
	{"gpm(UK)", "volume flow", GALLON_UK / 60, 0, NULL},
	{"ft3/s", "volume flow", FOOT * FOOT * FOOT, 0, NULL},
	{"ft3/min", "volume flow", FOOT * FOOT * FOOT / 60, 0, NULL},
	{"ft3/h", "volume flow", FOOT * FOOT * FOOT / 3600, 0, NULL},

	{"kg/s", "mass flow", 1, 0, "\\kilogram\\second\\tothe{-1}"},
	{"kg/min", "mass flow", 1.0 / 60, 0, "\\kilogram\\minute\\tothe{-1}"},
	{"kg/h", "mass flow", 1.0 / 3600, 0, "\\kilogram\\hour\\tothe{-1}"},
	{"kg/d", "mass flow", 1.0 / 86400, 0, "\\kilogram\\day\\tothe{-1}"},
	{"t/h", "mass flow", 1000.0 / 3600, 0, "\\tonne\\hour\\tothe{-1}"},
	{"t/d", "mass flow", 1000.0 / 86400, 0, "\\tonne\\day\\tothe{-1}"},
	{"g/s", "mass flow", 1e-3, 0, "\\gram\\second\\tothe{-1}"},
	{"g/h", "mass flow", 1e-3 / 3600, 0, "\\gram\\hour\\tothe{-1}"},
	{"lb/h", "mass flow", POUND / 3600, 0, NULL},
	{"lb/min", "mass flow", POUND / 60, 0, NULL},

	{"m", "length", 1, 0, "\\metre"},
	{"cm", "length", 1e-2, 0, "\\centi\\metre"},
	{"mm", "length", 1e-3, 0, "\\milli\\metre"},
	{"µm", "length", 1e-6, 0, "\\micro\\metre"},
	{"km", "length", 1e3, 0, "\\kilo\\metre"},
	{"in", "length", INCH, 0, NULL},
	{"ft", "length", FOOT, 0, NULL},
	{"m2", "area", 1, 0, "\\metre\\tothe{2}"},
	{"m3", "volume", 1, 0, "\\metre\\tothe{3}"},
	{"L", "volume", 1e-3, 0, "\\litre"},
	{"mL", "volume", 1e-6, 0, "\\milli\\litre"},
	{"gal", "volume", GALLON_US, 0, NULL},
	{"gal(UK)", "volume", GALLON_UK, 0, NULL},
	{"ft3", "volume", FOOT * FOOT * FOOT, 0, NULL},
	{"m/s", "speed", 1, 0, "\\metre\\second\\tothe{-1}"},
	{"mm/s", "speed", 1e-3, 0, "\\milli\\metre\\second\\tothe{-1}"},
	{"ft/s", "speed", FOOT, 0, NULL},
	{"°", "angle", 3.14159265358979323846 / 180, 0, "\\degree"},
	{"rad", "angle", 1, 0, "\\radian"},

	{"s", "time", 1, 0, "\\second"},
	{"ms", "time", 1e-3, 0, "\\milli\\second"},
	{"min", "time", 60, 0, "\\minute"},
	{"h", "time", 3600, 0, "\\hour"},
	{"d", "time", 86400, 0, "\\day"},

	{"kg", "mass", 1, 0, "\\kilogram"},
	{"g", "mass", 1e-3, 0, "\\gram"},
	{"mg", "mass", 1e-6, 0, "\\milli\\gram"},
	{"t", "mass", 1e3, 0, "\\tonne"},
	{"lb", "mass", POUND, 0, NULL},
	{"N", "force", 1, 0, "\\newton"},
	{"kN", "force", 1e3, 0, "\\kilo\\newton"},
	{"kgf", "force", G_N, 0, NULL},
	{"lbf", "force", POUND * G_N, 0, NULL},
	{"N.m", "torque", 1, 0, "\\newton\\metre"},
	{"lbf.ft", "torque", POUND * G_N * FOOT, 0, NULL},

	{"kg/m3", "density", 1, 0, "\\kilogram\\metre\\tothe{-3}"},
	{"lb/ft3", "density", POUND / (FOOT * FOOT * FOOT), 0, NULL},
	{"g/L", "mass concentration", 1, 0, "\\gram\\litre\\tothe{-1}"},
	{"mg/L", "mass concentration", 1e-3, 0, "\\milli\\gram\\litre\\tothe{-1}"},
	{"µg/L", "mass concentration", 1e-6, 0, "\\micro\\gram\\litre\\tothe{-1}"},
	{"mPa.s", "viscosity", 1e-3, 0, "\\milli\\pascal\\second"},
	{"cP", "viscosity", 1e-3, 0, NULL},

	{"S/m", "conductivity", 1, 0, "\\siemens\\metre\\tothe{-1}"},
	{"mS/cm", "conductivity", 0.1, 0, "\\milli\\siemens\\centi\\metre\\tothe{-1}"},
	{"µS/cm", "conductivity", 1e-4, 0, "\\micro\\siemens\\centi\\metre\\tothe{-1}"},
	{"pH", "pH", 1, 0, "\\pH"},
	{"NTU", "turbidity", 1, 0, NULL},		/* by the white-light method; no conversion to FNU is defined */
	{"FNU", "turbidity (infrared)", 1, 0, NULL},	/* by ISO 7027 */
	{"%RH", "relative humidity", 1, 0, NULL},
	{"lx", "illuminance", 1, 0, "\\lux"},
};

#define UNITS ((int)(sizeof units / sizeof units[0]))

/* Other ways of writing the same symbol: what a keyboard or a typesetter makes of it. */
static const struct {
	const char *written, *symbol;
} twins[] = {
	{"Ω", "ohm"}, {"Ω", "ohm"}, {"kΩ", "kohm"}, {"μA", "µA"}, {"μV", "µV"}, {"μm", "µm"}, {"μS/cm", "µS/cm"}, {"μg/L", "µg/L"},
	{"uS/cm", "µS/cm"}, {"degC", "°C"}, {"degF", "°F"}, {"m³/h", "m3/h"}, {"m³/s", "m3/s"}, {"m³", "m3"}, {"l/s", "L/s"},
	{"l/min", "L/min"}, {"l/h", "L/h"}, {"l", "L"}, {"mg/l", "mg/L"}, {"µg/l", "µg/L"}, {"kgf/cm²", "kgf/cm2"},
};

static bool same(const char *a, const char *b)
{
	while (*a && *a == *b) {
		a++;
		b++;
	}
	return *a == *b;
}

const struct unit *unit_find(const char *symbol)
{
	for (size_t i = 0; i < sizeof twins / sizeof twins[0]; i++)
		if (same(twins[i].written, symbol))
			symbol = twins[i].symbol;
	for (int i = 0; i < UNITS; i++)
		if (same(units[i].symbol, symbol))
			return &units[i];
	return NULL;
}

const struct unit *unit_at(int index)
{
	return index >= 0 && index < UNITS ? &units[index] : NULL;
}

bool unit_convert(double value, const struct unit *from, const struct unit *to, double *out)
{
	if (!same(from->dimension, to->dimension))
		return false;
	if (from == to)
		*out = value;	/* not even the last bit changes */
	else
		*out = (value * from->factor + (from->offset - to->offset)) / to->factor;
	return true;
}

bool unit_convert_difference(double value, const struct unit *from, const struct unit *to, double *out)
{
	if (!same(from->dimension, to->dimension))
		return false;
	*out = from == to ? value : value * from->factor / to->factor;
	return true;
}
