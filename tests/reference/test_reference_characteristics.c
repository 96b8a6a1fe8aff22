/* Characteristics against published tables: every row is compared, and how many were is printed. */
#include "csv.h"

#include <stdlib.h>

#include "metrology/characteristic.h"
#include "metrology/format.h"

static const struct range none = {0, 1};

/* Half of the last digit that a table with this many decimals prints. */
static double half_digit(int decimals)
{
	return 0.5 * pow(10, -decimals) + 1e-9;
}

static void pt100_table_of_iec_60751(void **state)
{
	static const struct characteristic pt100 = {CHARACTERISTIC_RTD, 100, THERMOCOUPLE_K};
	struct csv c;
	int rows = 0, wrong = 0;

	(void)state;
	csv_open(&c, "pt100_points.csv");
	while (csv_next(&c)) {
		double t = atof(c.field[0]), printed = atof(c.field[1]), ours = characteristic_forward(&pt100, none, none, t);
		int decimals = decimals_of_text(c.field[1]) > 2 ? decimals_of_text(c.field[1]) : 2;

		rows++;
		if (!(fabs(ours - printed) <= half_digit(decimals))) {
			print_error("%g degC: %s printed, %.6f computed (%s)\n", t, c.field[1], ours, c.field[3]);
			wrong++;
		}
		assert_near(ours, atof(c.field[2]), 5e-7);
		assert_near(characteristic_inverse(&pt100, none, none, ours), t, 1e-9);
	}
	print_message("pt100_points.csv: %d rows, %d disagree\n", rows, wrong);
	assert_int_equal(rows, 59);
	assert_int_equal(wrong, 0);
}

static void misprint_of_a_public_table_is_not_followed(void **state)
{
	static const struct characteristic pt100 = {CHARACTERISTIC_RTD, 100, THERMOCOUPLE_K};
	struct csv c;
	int rows = 0;

	(void)state;
	csv_open(&c, "pt100_known_bad.csv");
	for (; csv_next(&c); rows++) {
		double ours = characteristic_forward(&pt100, none, none, atof(c.field[0]));

		assert_true(fabs(ours - atof(c.field[1])) > half_digit(2));
		assert_near(ours, atof(c.field[2]), 5e-5);
	}
	print_message("pt100_known_bad.csv: %d rows\n", rows);
	assert_int_equal(rows, 1);
}

/* Types other than K are in the table for later; they are counted, not compared. */
static void type_k_table(void **state)
{
	static const struct characteristic k = {CHARACTERISTIC_THERMOCOUPLE, 0, THERMOCOUPLE_K};
	struct csv c;
	int rows = 0, others = 0, wrong = 0;

	(void)state;
	csv_open(&c, "emf_points.csv");
	while (csv_next(&c)) {
		double t = atof(c.field[1]), printed = atof(c.field[2]), ours;

		if (strcmp(c.field[0], "K")) {
			others++;
			continue;
		}
		rows++;
		ours = characteristic_forward(&k, none, none, t);
		if (!(fabs(ours - printed) <= half_digit(3))) {
			print_error("%g degC: %s printed, %.6f computed (%s)\n", t, c.field[2], ours, c.field[4]);
			wrong++;
		}
		assert_near(ours, atof(c.field[3]), 6e-7);
		assert_near(characteristic_inverse(&k, none, none, ours), t, 1e-9);
	}
	print_message("emf_points.csv: %d rows of type K, %d disagree; %d rows of other types not compared\n", rows, wrong, others);
	assert_int_equal(rows, 45);
	assert_int_equal(wrong, 0);
}

static const struct relation {
	const char *name;
	enum characteristic_kind kind;
	struct range output;
} relations[] = {
	{"4-20 mA linear", CHARACTERISTIC_LINEAR, {4, 20}},
	{"3-15 psi", CHARACTERISTIC_LINEAR, {3, 15}},
	{"0.2-1.0 bar", CHARACTERISTIC_LINEAR, {0.2, 1.0}},
	{"1-5 V (250 ohm)", CHARACTERISTIC_LINEAR, {1, 5}},
	{"20-100 kPa", CHARACTERISTIC_LINEAR, {20, 100}},
	{"0-10 V", CHARACTERISTIC_LINEAR, {0, 10}},
	{"4-20 mA output of DP transmitter with square root, DP%", CHARACTERISTIC_SQUARE_ROOT, {4, 20}},
	{"DP% -> flow% square root", CHARACTERISTIC_SQUARE_ROOT, {0, 100}},
};

static void standard_signals(void **state)
{
	static const struct range percent = {0, 100};
	struct csv c;
	int rows = 0;

	(void)state;
	csv_open(&c, "scaling.csv");
	for (; csv_next(&c); rows++) {
		const struct relation *r = NULL;
		struct characteristic ch = {0};

		for (size_t i = 0; i < sizeof relations / sizeof relations[0]; i++)
			if (!strcmp(relations[i].name, c.field[0]))
				r = &relations[i];
		if (!r)
			fail_msg("no relation is called %s", c.field[0]);
		ch.kind = r->kind;
		assert_near(characteristic_forward(&ch, percent, r->output, atof(c.field[1])), atof(c.field[2]), 1e-12);
		assert_near(characteristic_inverse(&ch, percent, r->output, atof(c.field[2])), atof(c.field[1]), 1e-11);
	}
	print_message("scaling.csv: %d rows\n", rows);
	assert_int_equal(rows, 34);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(pt100_table_of_iec_60751),
		cmocka_unit_test(misprint_of_a_public_table_is_not_followed),
		cmocka_unit_test(type_k_table),
		cmocka_unit_test(standard_signals),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
