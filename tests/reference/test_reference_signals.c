/* Levels of the 4-20 mA signal, of HART and of pneumatic ranges, and the coefficient between Cv and Kv. */
#include "json_data.h"

#include <stdlib.h>

#include "metrology/loop.h"
#include "metrology/points.h"
#include "metrology/unit.h"

static double element(const cJSON *json, const char *name, int i)
{
	const cJSON *v = cJSON_GetArrayItem(cJSON_GetObjectItemCaseSensitive(json, name), i);

	if (!cJSON_IsNumber(v))
		fail_msg("%s/%d is missing", name, i);
	return v->valuedouble;
}

static double member(const cJSON *json, const char *name)
{
	const cJSON *v = cJSON_GetObjectItemCaseSensitive(json, name);

	if (!cJSON_IsNumber(v))
		fail_msg("%s is missing", name);
	return v->valuedouble;
}

/* A count of a milliampere meter to either side of each limit. */
static void levels_of_ne_43(void **state)
{
	cJSON *json = json_of("signal_levels.json"), *ne43 = cJSON_GetObjectItem(json, "NE43");
	double low = element(ne43, "measurement_mA", 0), high = element(ne43, "measurement_mA", 1),
	       fails_low = member(ne43, "failure_low_max_mA"), fails_high = member(ne43, "failure_high_min_mA");

	(void)state;
	assert_int_equal(signal_state(low), SIGNAL_MEASURES);
	assert_int_equal(signal_state(low - 0.001), SIGNAL_BETWEEN);
	assert_int_equal(signal_state(high), SIGNAL_MEASURES);
	assert_int_equal(signal_state(high + 0.001), SIGNAL_BETWEEN);
	assert_int_equal(signal_state(fails_low), SIGNAL_FAILS_LOW);
	assert_int_equal(signal_state(fails_low + 0.001), SIGNAL_BETWEEN);
	assert_int_equal(signal_state(fails_high), SIGNAL_FAILS_HIGH);
	assert_int_equal(signal_state(fails_high - 0.001), SIGNAL_BETWEEN);
	print_message("signal_levels.json, NE 43: 4 levels\n");
	cJSON_Delete(json);
}

static void signals_beyond_the_range_in_percent(void **state)
{
	static const struct range ma = {4, 20}, percent = {0, 100};
	static const struct characteristic linear = {.kind = CHARACTERISTIC_LINEAR};
	cJSON *json = json_of("signal_levels.json"), *one;
	int rows = 0;

	(void)state;
	cJSON_ArrayForEach(one, cJSON_GetObjectItem(json, "percent_at"))
	{
		assert_near(characteristic_forward(&linear, ma, percent, atof(one->string)), one->valuedouble, 1e-12);
		rows++;
	}
	print_message("signal_levels.json, percent: %d rows\n", rows);
	assert_int_equal(rows, 4);
	cJSON_Delete(json);
}

/*
 * The file's 1100 ohm is the older upper end; the core follows the newer receive impedance of 230 to 600 ohm that the file
 * names beside it. Both are from memory.
 */
static void loop_resistance_of_hart(void **state)
{
	cJSON *json = json_of("signal_levels.json"), *hart = cJSON_GetObjectItem(json, "HART");
	struct loop l = {.supply_v = 24, .device_v = 10};

	(void)state;
	l.series_ohm = member(hart, "typical_ohm");
	assert_true(loop_budget(&l, 20).hart);
	l.series_ohm = element(hart, "loop_resistance_ohm", 0);
	assert_true(loop_budget(&l, 20).hart);
	l.series_ohm -= 0.1;
	assert_false(loop_budget(&l, 20).hart);
	l.series_ohm = 600;
	assert_true(loop_budget(&l, 20).hart);
	l.series_ohm = element(hart, "loop_resistance_ohm", 1);
	print_message("signal_levels.json, HART: %g ohm is in the file's range and %s the core's (230 to 600)\n",
		      l.series_ohm, loop_budget(&l, 20).hart ? "in" : "not in");
	assert_false(loop_budget(&l, 20).hart);
	cJSON_Delete(json);
}

/* 3 to 15 psi is 20.684 to 103.421 kPa and not the 20 to 100 kPa of the other standard. */
static void pneumatic_ranges_are_two(void **state)
{
	cJSON *json = json_of("signal_levels.json"), *pneumatic = cJSON_GetObjectItem(json, "pneumatic");
	double kpa;

	(void)state;
	for (int i = 0; i < 2; i++) {
		assert_true(unit_convert(element(pneumatic, "psi", i), unit_find("psi"), unit_find("kPa"), &kpa));
		assert_near(kpa, element(pneumatic, "kPa", i), 0.0005);
	}
	print_message("signal_levels.json, pneumatic: 2 rows\n");
	cJSON_Delete(json);
}

static double factor(const char *from, const char *to)
{
	double out;

	assert_true(unit_convert(1, unit_find(from), unit_find(to), &out));
	return out;
}

/*
 * Cv is the flow in US gallons a minute at 1 psi, Kv that in m3/h at 1 bar (IEC 60534-1; the flow goes with the root of the
 * pressure): Cv / Kv = 1.15609922835366 by the definitions of the units, and 0.865 Cv as the standard rounds Kv.
 */
static void valve_coefficients_by_their_units(void **state)
{
	double cv_per_kv = factor("m3/h", "gpm") / sqrt(factor("bar", "psi"));

	(void)state;
	assert_near(cv_per_kv, 1.1560992283536566, 1e-15 * 2);
	assert_near(1 / cv_per_kv, 0.865, 0.0005);
	print_message("Cv and Kv: 2 values\n");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(levels_of_ne_43),
		cmocka_unit_test(signals_beyond_the_range_in_percent),
		cmocka_unit_test(loop_resistance_of_hart),
		cmocka_unit_test(pneumatic_ranges_are_two),
		cmocka_unit_test(valve_coefficients_by_their_units),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
