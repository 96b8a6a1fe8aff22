/*
 * Units in the Digital SI format: none of the program's list is missing, and each expression is worth what the list says.
 * The expressions are read by tests/support/dsi.h, whose definitions are those of the SI Brochure.
 */
#include "support/check.h"

#include <stdio.h>
#include <string.h>
#include "metrology/unit.h"
#include "report/dcc_unit.h"
#include "support/dsi.h"

/* Percent as a scale of its own: the list counts in the unit, the SI in parts of one. */
static bool counts_in_percent(const struct unit *u)
{
	return strcmp(u->dimension, "relative humidity") == 0;
}

static void every_unit_of_the_program_has_an_expression_that_every_machine_reads(void **state)
{
	struct dcc_unit u;
	int n = 0;

	(void)state;
	for (const struct unit *unit; (unit = unit_at(n)); n++)
		for (int difference = 0; difference < 2; difference++) {
			if (!dcc_unit_find(unit->symbol, difference, &u))
				fail_msg("%s is missing", unit->symbol);
			if (!dsi_is_si(u.si))
				fail_msg("%s: %s cannot be read", unit->symbol, u.si);
			assert_string_equal(u.symbol, unit->symbol);
		}
	assert_true(n > 200);
}

static void each_expression_is_worth_what_the_unit_is(void **state)
{
	(void)state;
	for (int i = 0; unit_at(i); i++) {
		const struct unit *unit = unit_at(i);
		struct dcc_unit u;
		double factor;

		assert_true(dcc_unit_find(unit->symbol, false, &u));
		assert_true(dsi_read(u.si, &factor));
		if (u.no_si || counts_in_percent(unit))
			continue;
		if (fabs(factor * u.factor / unit->factor - 1) > 1e-12)
			fail_msg("%s is %.15g, but %.15g of %s", unit->symbol, unit->factor, u.factor, u.si);
		/* degrees Celsius count from 273.15 K; their expression says so itself */
		if (strcmp(u.si, "\\degreecelsius"))
			assert_near(u.offset, unit->offset, 0);
		/* mmHg: 133.322 Pa as printed in the SI Brochure's 8th edition, six digits */
		if (u.beside && !u.defined) {
			assert_true(dsi_read(u.beside, &factor));
			assert_near(factor / unit->factor, 1, 4e-6);
		}
	}
}

static void a_unit_outside_the_si_stands_beside_its_si_value(void **state)
{
	struct dcc_unit u;

	(void)state;
	assert_true(dcc_unit_find("bar", false, &u));
	assert_string_equal(u.si, "\\pascal");
	assert_string_equal(u.beside, "\\bar");
	assert_false(u.defined);
	assert_true(dcc_unit_find("psi(g)", false, &u));
	assert_string_equal(u.si, "\\pascal");
	assert_string_equal(u.beside, "psi(g)");
	assert_true(u.defined);
	assert_true(dcc_unit_find("mA", false, &u));
	assert_string_equal(u.si, "\\milli\\ampere");
	assert_null(u.beside);
}

static void a_scale_without_si_unit_is_a_number_with_its_name(void **state)
{
	static const char *const symbols[] = {"pH", "NTU", "mNTU", "FNU", "FAU", "mg/L(Pt)"};

	(void)state;
	for (size_t i = 0; i < sizeof symbols / sizeof symbols[0]; i++) {
		struct dcc_unit u;

		assert_true(dcc_unit_find(symbols[i], true, &u));
		assert_string_equal(u.si, "\\one");
		assert_non_null(u.no_si);
		assert_null(u.beside);
		assert_near(u.factor, 1, 0);
	}
}

/* SI Brochure, 9th edition, 2.3.1: a difference of temperatures is the same number in kelvins and in degrees Celsius. */
static void errors_of_temperature_are_in_kelvins(void **state)
{
	struct words w = {0};
	struct dcc_unit u;

	(void)state;
	assert_true(dcc_unit_find("°C", true, &u));
	assert_string_equal(u.si, "\\kelvin");
	assert_null(u.beside);
	assert_string_equal(dcc_number_si(&w, &u, -0.35, 2), "-0.35");
	/* 1.8 degF of a difference are 1 K; 68 degF are 293.15 K */
	assert_true(dcc_unit_find("°F", true, &u));
	assert_string_equal(dcc_number_si(&w, &u, 1.8, 1), "1.000");
	assert_true(dcc_unit_find("°F", false, &u));
	assert_string_equal(dcc_number_si(&w, &u, 68, 1), "293.150");
	arena_clear(&w.arena);
}

static void an_unknown_unit_is_refused(void **state)
{
	struct dcc_unit u;

	(void)state;
	assert_false(dcc_unit_find("furlong", false, &u));
	assert_false(dcc_unit_find("", false, &u));
}

static void numbers_are_plain_ascii_with_the_figures_of_the_screen(void **state)
{
	struct words w = {0};

	(void)state;
	assert_string_equal(dcc_number(&w, -1.005, 2), "-1.01"); /* half away from zero, ISO 80000-1 rule B */
	assert_string_equal(dcc_number(&w, 12, 2), "12.00");
	assert_string_equal(dcc_number(&w, -0.0001, 2), "0.00");
	assert_string_equal(dcc_number(&w, NAN, 2), "NaN");
	arena_clear(&w.arena);
}

static void nothing_is_lost_on_the_way_to_the_si_unit(void **state)
{
	struct words w = {0};
	struct dcc_unit u;

	(void)state;
	/* 1 bar = 100 000 Pa; a step of 0.001 bar is 100 Pa */
	assert_true(dcc_unit_find("bar", false, &u));
	assert_string_equal(dcc_number_si(&w, &u, 2.513, 3), "251300");
	assert_string_equal(dcc_number_si(&w, &u, -0.004, 3), "-400");
	/* 1 US gallon = 3.785411784 L exactly, a day has 86 400 s: 1 gpd = 4.381263638888889e-8 m3/s */
	assert_true(dcc_unit_find("gpd", false, &u));
	assert_near(strtod(dcc_number_si(&w, &u, 1, 2), NULL), 4.381263638888889e-8, 0.01e-8 / 20);
	for (int i = 0; unit_at(i); i++)
		for (int decimals = 0; decimals <= 4; decimals++) {
			double back;

			assert_true(dcc_unit_find(unit_at(i)->symbol, false, &u));
			back = (strtod(dcc_number_si(&w, &u, 12.3456, decimals), NULL) - u.offset) / u.factor;
			if (u.beside && fabs(back - 12.3456) > 0.06 * pow(10, -decimals))
				fail_msg("%s: 12.3456 came back as %.9g from %s", u.symbol, back,
					 dcc_number_si(&w, &u, 12.3456, decimals));
		}
	arena_clear(&w.arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_unit_of_the_program_has_an_expression_that_every_machine_reads),
		cmocka_unit_test(each_expression_is_worth_what_the_unit_is),
		cmocka_unit_test(a_unit_outside_the_si_stands_beside_its_si_value),
		cmocka_unit_test(a_scale_without_si_unit_is_a_number_with_its_name),
		cmocka_unit_test(errors_of_temperature_are_in_kelvins),
		cmocka_unit_test(an_unknown_unit_is_refused),
		cmocka_unit_test(numbers_are_plain_ascii_with_the_figures_of_the_screen),
		cmocka_unit_test(nothing_is_lost_on_the_way_to_the_si_unit),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
