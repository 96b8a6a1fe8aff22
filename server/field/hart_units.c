/*
 * Unit codes of HART and our symbols for them: those codes where two independent public decoders agree. Three different
 * inches of water are among them. Without a symbol of ours, so left out: 9 gf/cm2, 77 t/min, 93 lb/gal, 117 degrees a second,
 * 118 revolutions a second.
 */
#include "hart_data.h"

static const struct {
	uint8_t code;
	const char *symbol;
} units[] = {
	{1, "inH2O(20°C)"},  {2, "inHg"},
	{4, "mmH2O(20°C)"},  {5, "mmHg"},
	{6, "psi"},	     {7, "bar"},
	{8, "mbar"},	     {10, "kgf/cm2"},
	{11, "Pa"},	     {12, "kPa"},
	{13, "Torr"},	     {14, "atm"},
	{16, "gpm"},	     {17, "L/min"},
	{18, "gpm(UK)"},     {19, "m3/h"},
	{24, "L/s"},	     {28, "m3/s"},
	{32, "°C"},	     {33, "°F"},
	{34, "°R"},	     {35, "K"},
	{36, "mV"},	     {37, "ohm"},
	{38, "Hz"},	     {39, "mA"},
	{40, "gal"},	     {41, "L"},
	{43, "m3"},	     {44, "ft"},
	{45, "m"},	     {47, "in"},
	{48, "cm"},	     {49, "mm"},
	{50, "min"},	     {51, "s"},
	{52, "h"},	     {57, "%"},
	{58, "V"},	     {59, "pH"},
	{61, "kg"},	     {63, "lb"},
	{70, "g/s"},	     {71, "g/min"},
	{72, "g/h"},	     {73, "kg/s"},
	{74, "kg/min"},	     {75, "kg/h"},
	{76, "kg/d"},	     {79, "t/d"},
	{80, "lb/s"},	     {81, "lb/min"},
	{82, "lb/h"},	     {91, "g/cm3"},
	{92, "kg/m3"},	     {94, "lb/ft3"},
	{96, "kg/L"},	     {97, "g/L"},
	{130, "ft3/h"},	     {131, "m3/min"},
	{138, "L/h"},	     {145, "inH2O(60°F)"},
	{237, "MPa"},	     {238, "inH2O(4°C)"},
	{239, "mmH2O(4°C)"}, {250, ""},
	{251, ""},
};

const char *hart_unit_symbol(uint8_t code)
{
	for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
		if (units[i].code == code)
			return units[i].symbol;
	}
	return NULL;
}

static bool same(const char *a, const char *b)
{
	while (*a && *a == *b) {
		a++;
		b++;
	}
	return *a == *b;
}

uint8_t hart_unit_code(const char *symbol)
{
	for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
		if (*units[i].symbol && same(units[i].symbol, symbol))
			return units[i].code;
	}
	return HART_NONE;
}
