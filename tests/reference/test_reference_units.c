/* Units against the factors of NIST SP 811 and the definitions behind them. */
#include "csv.h"

#include <stdlib.h>

#include "metrology/unit.h"

/* How the table writes a unit, and its symbol and SI unit here; NULL: the core does not offer it. */
static const struct {
	const char *written, *symbol, *si;
} names[] = {
	{"psi", "psi", "Pa"}, {"bar", "bar", "Pa"}, {"kgf/cm2 (at)", "kgf/cm2", "Pa"}, {"atm", "atm", "Pa"},
	{"mmHg conventional", "mmHg", "Pa"}, {"inHg conventional (0 C)", "inHg", "Pa"}, {"cmH2O conventional", "cmH2O", "Pa"},
	{"inH2O conventional", "inH2O", "Pa"}, {"ft", "ft", "m"}, {"in", "in", "m"}, {"lb", "lb", "kg"}, {"kgf", "kgf", "N"},
	{"gal US", "gal", "m3"}, {"gal UK", "gal(UK)", "m3"}, {"ft3", "ft3", "m3"}, {"gal US/min", "gpm", "m3/s"},
	{"ft3/s", "ft3/s", "m3/s"}, {"lb/h", "lb/h", "kg/s"}, {"lb/ft3", "lb/ft3", "kg/m3"}, {"lbf ft", "lbf.ft", "N.m"},
	{"cP", "cP", "mPa.s"},
	{"lbf/ft2", NULL, NULL}, {"mile", NULL, NULL}, {"slug", NULL, NULL}, {"hp (550 ft lbf/s)", NULL, NULL},
	{"inH2O 39.2 F (4 C)", NULL, NULL}, {"inH2O 60 F", NULL, NULL}, {"ftH2O 39.2 F", NULL, NULL}, {"inH2O 4 C", NULL, NULL},
	{"inH2O 20 C", NULL, NULL}, {"inH2O 68 F", NULL, NULL},
};

/* Printed factors have 7 significant digits. */
static void check_row(const struct csv *c, const char *symbol, const char *si)
{
	double out, si_factor = strcmp(si, "mPa.s") ? 1 : 1e3, exact = atof(c->field[2]), printed = atof(c->field[4]);

	assert_true(unit_convert(1, unit_find(symbol), unit_find(si), &out));
	out /= si_factor;
	assert_near(out, exact, 4e-16 * exact);
	if (printed > 0)
		assert_near(out, printed, 6e-7 * printed);
}

static void factors_of_sp_811(void **state)
{
	struct csv c;
	int rows = 0, compared = 0;

	(void)state;
	csv_open(&c, "unit_factors.csv");
	for (; csv_next(&c); rows++) {
		size_t i = 0;

		while (i < sizeof names / sizeof names[0] && strcmp(names[i].written, c.field[0]))
			i++;
		if (i == sizeof names / sizeof names[0])
			fail_msg("%s stands in the table and not in the test", c.field[0]);
		if (!names[i].symbol)
			continue;
		check_row(&c, names[i].symbol, names[i].si);
		compared++;
	}
	print_message("unit_factors.csv: %d rows, %d compared, %d of units that are not offered\n", rows, compared, rows - compared);
	assert_int_equal(compared, 21);
}

static const char *symbol_of(const char *letter)
{
	static const char *const map[][2] = {{"F", "°F"}, {"C", "°C"}, {"K", "K"}, {"R", "°R"}, {"dF", "Δ°F"}, {"dC", "Δ°C"}};

	for (size_t i = 0; i < sizeof map / sizeof map[0]; i++)
		if (!strcmp(map[i][0], letter))
			return map[i][1];
	return "";
}

static void temperature_cases(void **state)
{
	struct csv c;
	int rows = 0;

	(void)state;
	csv_open(&c, "temperature_cases.csv");
	for (; csv_next(&c); rows++) {
		char from[8], to[8];
		double out;

		assert_int_equal(sscanf(c.field[0], "%7[A-Za-z]->%7[A-Za-z]", from, to), 2);
		assert_true(unit_convert(atof(c.field[1]), unit_find(symbol_of(from)), unit_find(symbol_of(to)), &out));
		assert_near(out, atof(c.field[2]), 1e-12 * 500);
	}
	print_message("temperature_cases.csv: %d rows\n", rows);
	assert_int_equal(rows, 10);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(factors_of_sp_811),
		cmocka_unit_test(temperature_cases),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
