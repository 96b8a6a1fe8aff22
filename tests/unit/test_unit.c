#include "metrology/unit.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "metrology/unit_list.h"

static double converted(double value, const char *from, const char *to)
{
	double out = NAN;

	assert_true(unit_convert(value, unit_find(from), unit_find(to), &out));
	return out;
}

static void every_symbol_of_the_contract_is_known(void **state)
{
	static const char *const symbols[] = {
		"Pa",  "kPa", "MPa", "mbar", "bar", "psi", "inH2O", "mmH2O", "mmHg", "kgf/cm2", "°C",  "°F",
		"K",   "mA",  "V",   "mV",   "ohm", "Hz",  "%",	    "m3/h",  "L/s",  "L/min",	"gpm", "kg/h",
		"t/h", "m",   "mm",  "in",   "ft",  "s",   "min",   "h",     "NTU",  "mg/L",	"pH",  "µS/cm",
	};

	(void)state;
	for (size_t i = 0; i < sizeof symbols / sizeof symbols[0]; i++)
		if (!unit_find(symbols[i]))
			fail_msg("%s is not known", symbols[i]);
	assert_null(unit_find("PSI"));
	assert_null(unit_find(""));
	assert_null(unit_find("bar "));
}

static void each_symbol_stands_once_in_the_list(void **state)
{
	int n = 0;

	(void)state;
	for (; unit_at(n); n++) {
		assert_true(unit_find(unit_at(n)->symbol) == unit_at(n));
		assert_true(unit_at(n)->factor > 0 && *unit_at(n)->dimension);
		assert_true(!unit_at(n)->si || unit_at(n)->si[0] == '\\');
	}
	assert_true(n > 100);
	assert_null(unit_at(-1));
}

static void typographic_twins_mean_the_same_unit(void **state)
{
	(void)state;
	assert_string_equal(unit_find("\xce\xa9")->symbol, "ohm");
	assert_string_equal(unit_find("m³/h")->symbol, "m3/h");
	assert_true(unit_find("\xce\xbcS/cm") == unit_find("\xc2\xb5S/cm"));
}

/* Definitions: psi = 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)^2; others as in NIST SP 811 (2008), B.8. */
static void factors_are_those_of_the_definitions(void **state)
{
	(void)state;
	assert_near(converted(37.5, "psi", "Pa"), 37.5 * 6894.757293168362, 1e-8);
	assert_near(converted(2.7, "bar", "kPa"), 270, 1e-12);
	assert_near(converted(401, "inH2O", "mbar"), 998.8465291, 1e-9);    /* 401 * 249.08891 / 100 */
	assert_near(converted(73.2, "gpm", "L/min"), 277.0921425888, 1e-8); /* 73.2 * 3.785411784 */
	assert_near(converted(36, "m3/h", "L/s"), 10, 1e-12);
	assert_near(converted(4.32, "t/h", "kg/s"), 1.2, 1e-12);
	assert_near(converted(7.25, "ft", "mm"), 2209.8, 1e-10);
}

static void temperature_has_its_offset_and_a_difference_has_none(void **state)
{
	double out;

	(void)state;
	assert_near(converted(-40, "°F", "°C"), -40, 1e-12);
	assert_near(converted(98.6, "°F", "°C"), 37, 1e-12);
	assert_near(converted(-273.15, "°C", "K"), 0, 1e-12);
	assert_near(converted(25, "°C", "K"), 298.15, 1e-12);
	assert_near(converted(1.8, "Δ°F", "Δ°C"), 1, 1e-12);
	assert_true(unit_convert_difference(0.27, unit_find("°C"), unit_find("°F"), &out));
	assert_near(out, 0.486, 1e-12);
	assert_false(unit_convert(1, unit_find("Δ°C"), unit_find("°C"), &out));
}

/* F = 9/5 C + 32, in whole hundredths and tenths: not an error in the fifteenth digit from absolute zero on. */
static void temperatures_convert_to_the_last_printed_digit(void **state)
{
	char is[32], want[32];

	(void)state;
	for (int c = -27315; c <= 300000; c += 5) {
		int f = c * 9 / 5 + 3200; /* hundredths; c is a multiple of 5 */

		snprintf(is, sizeof is, "%.13g", converted(c / 100.0, "°C", "°F"));
		snprintf(want, sizeof want, "%.13g", f / 100.0);
		assert_string_equal(is, want);
		snprintf(is, sizeof is, "%.13g", converted(f / 100.0, "°F", "°C"));
		snprintf(want, sizeof want, "%.13g", c / 100.0);
		if (abs(c) > 1000)
			assert_string_equal(is, want);
	}
	assert_near(converted(0, "°C", "°F"), 32, 0);
	assert_near(converted(32, "°F", "°C"), 0, 0);
	assert_near(converted(212, "°F", "°C"), 100, 0);
	assert_near(converted(-459.67, "°F", "K"), 0, 0);
	assert_near(converted(-273.15, "°C", "°R"), 0, 1e-13);
	assert_near(converted(0, "K", "°F"), -459.67, 0);
}

static void different_quantities_do_not_convert(void **state)
{
	double out;

	(void)state;
	assert_false(unit_convert(1, unit_find("mA"), unit_find("mV"), &out));
	assert_false(unit_convert(1, unit_find("kg/h"), unit_find("m3/h"), &out));
	assert_false(unit_convert(1, unit_find("NTU"), unit_find("FNU"), &out));
	assert_false(unit_convert_difference(1, unit_find("bar"), unit_find("m"), &out));
}

static void gauge_absolute_and_plain_pressure_do_not_mix(void **state)
{
	double out;

	(void)state;
	assert_near(converted(2.5, "bar(g)", "psi(g)"), 36.2594345, 1e-6);
	assert_near(converted(14.695948775, "psia", "kPa(a)"), 101.325, 1e-7);
	assert_true(unit_find("barg") == unit_find("bar(g)") && unit_find("psi a") == unit_find("psi(a)"));
	assert_false(unit_convert(1, unit_find("bar(g)"), unit_find("bar(a)"), &out));
	assert_false(unit_convert(1, unit_find("bar"), unit_find("bar(g)"), &out));
	assert_true(unit_convert_difference(3, unit_find("mbar(a)"), unit_find("kPa"),
					    &out)); /* an uncertainty is a difference */
	assert_near(out, 0.3, 1e-15);
	assert_false(unit_convert_difference(3, unit_find("mbar(a)"), unit_find("°C"), &out));
	assert_true(unit_convert_difference(0.9, unit_find("Δ°F"), unit_find("°C"), &out));
	assert_near(out, 0.5, 1e-15);
}

/* NIST SP 811 prints 249.082 and 248.84 Pa; 998.2067 * 9.80665 * 0.0254 = 248.6422. */
static void columns_of_water_know_their_temperature(void **state)
{
	(void)state;
	assert_near(converted(1, "inH2O(4°C)", "Pa"), 249.082, 0.0005);
	assert_near(converted(1, "inH2O(60°F)", "Pa"), 248.84, 0.005);
	assert_near(converted(1, "inH2O(68°F)", "Pa"), 248.6422, 0.0001);
	assert_near(converted(1, "inH2O", "Pa"), 249.08891, 1e-10);
	assert_near(converted(1000, "mmH2O(20°C)", "Pa"), 9789.064, 0.001); /* 998.2067 * 9.80665 */
}

static void units_of_the_water_trade(void **state)
{
	(void)state;
	assert_near(converted(1, "MGD", "m3/d"), 3785.411784, 1e-9);
	assert_near(converted(1.5, "ML/d", "L/s"), 1500000.0 / 86400, 1e-10);
	assert_near(converted(0.8, "mg/L", "g/m3"), 0.8, 1e-15);
	assert_near(converted(18.2, "Mohm.cm", "ohm.m"), 182000, 1e-9);
	assert_near(converted(0.65, "µS/cm", "mS/m"), 0.065, 1e-15);
	assert_near(converted(3000, "rpm", "rad/s"), 314.159265358979, 1e-11);
	assert_near(converted(60, "mph", "km/h"), 96.56064, 1e-11);
	assert_near(converted(1, "hp", "W"), 745.69987158227, 1e-10);
	assert_near(converted(0.05, "NTU", "mNTU"), 50, 1e-12);
}

static void every_other_way_of_writing_leads_to_a_unit(void **state)
{
	(void)state;
	for (int i = 0; i < unit_twins_count; i++) {
		if (!unit_find(unit_twins[i].written))
			fail_msg("%s leads to no unit", unit_twins[i].written);
		assert_string_equal(unit_find(unit_twins[i].written)->symbol, unit_twins[i].symbol);
		for (int j = 0; j < i; j++)
			assert_string_not_equal(unit_twins[i].written, unit_twins[j].written);
		for (int j = 0; j < units_count; j++)
			assert_string_not_equal(unit_twins[i].written, units[j].symbol);
	}
}

/* Values from a millionth to a million, both signs; an offset costs digits of the offset's size. */
static void every_conversion_comes_back(void **state)
{
	static const double values[] = {12.345, -7.25e-6, 0, 8.8e5, 1, -40};
	long pairs = 0;

	(void)state;
	for (int i = 0; unit_at(i); i++) {
		for (int j = 0; unit_at(j); j++) {
			for (size_t k = 0; k < sizeof values / sizeof values[0]; k++) {
				double there, back, v = values[k];

				if (!unit_convert(v, unit_at(i), unit_at(j), &there)) {
					assert_string_not_equal(unit_at(i)->dimension, unit_at(j)->dimension);
					continue;
				}
				assert_true(unit_convert(there, unit_at(j), unit_at(i), &back));
				assert_near(back, v,
					    1e-15 * (4 * fabs(v) + 4 * fabs(unit_at(i)->offset + unit_at(j)->offset) /
									   unit_at(i)->factor));
				assert_true(i != j || there == v);
				assert_true(unit_convert_difference(v, unit_at(i), unit_at(j), &there));
				assert_true(unit_convert_difference(there, unit_at(j), unit_at(i), &back));
				assert_near(back, v, 4e-16 * fabs(v));
				pairs++;
			}
		}
	}
	print_message("%ld conversions there and back\n", pairs);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_symbol_of_the_contract_is_known),
		cmocka_unit_test(each_symbol_stands_once_in_the_list),
		cmocka_unit_test(typographic_twins_mean_the_same_unit),
		cmocka_unit_test(factors_are_those_of_the_definitions),
		cmocka_unit_test(temperature_has_its_offset_and_a_difference_has_none),
		cmocka_unit_test(temperatures_convert_to_the_last_printed_digit),
		cmocka_unit_test(different_quantities_do_not_convert),
		cmocka_unit_test(gauge_absolute_and_plain_pressure_do_not_mix),
		cmocka_unit_test(columns_of_water_know_their_temperature),
		cmocka_unit_test(units_of_the_water_trade),
		cmocka_unit_test(every_other_way_of_writing_leads_to_a_unit),
		cmocka_unit_test(every_conversion_comes_back),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
