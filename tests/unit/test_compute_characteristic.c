/* Characteristics in compute documents: both ways, to their ends, and what is asked of their members. */
#include "unit/compute_check.h"

/* A characteristic document over 0..1 bar and 0..100 %, or what the characteristic asks for. */
static const char *way(const char *characteristic, const char *units, const char *direction, const char *values)
{
	static char text[2000];
	char in[16], out[16];

	assert_int_equal(sscanf(units, "%15s %15s", in, out), 2);
	snprintf(
		text, sizeof text,
		"{\"characteristic\":%s,\"input\":{\"low\":0,\"high\":1,\"unit\":\"%s\"},\"output\":{\"low\":0,\"high\":100,"
		"\"unit\":\"%s\"},\"direction\":\"%s\",\"values\":[%s]}",
		characteristic, in, out, direction, values);
	return text;
}

static double one_way(const char *characteristic, const char *units, const char *direction, const char *value)
{
	cJSON *out = computed("characteristic", way(characteristic, units, direction, value));
	double v = number_at(out, "values/0");

	cJSON_Delete(out);
	return v;
}

#define VALVE  "{\"kind\":\"equal_percentage\",\"rangeability\":50}"
#define CUT    "{\"kind\":\"square_root\",\"cutoff\":5}"
#define TANK   "{\"kind\":\"table\",\"points\":[[0,0],[0.25,10],[1,100]]}"
#define BEND   "{\"kind\":\"polynomial\",\"coefficients\":[0,1,-0.5],\"validity\":{\"low\":0,\"high\":2}}"
#define OWN    "{\"kind\":\"callendar_van_dusen\",\"r0\":99.96,\"a\":3.92e-3,\"b\":-6.2e-7,\"c\":-3.5e-12}"
#define TYPE_B "{\"kind\":\"thermocouple\",\"type\":\"B\"}"

/* By hand, or worked out in test_characteristic_kinds.c. */
static void every_characteristic_goes_both_ways(void **state)
{
	(void)state;
	assert_near(one_way(VALVE, "bar %", "forward", "0.5"), 14.14213562373095, 1e-12);
	assert_near(one_way(VALVE, "bar %", "inverse", "14.14213562373095"), 0.5, 1e-12);
	assert_near(one_way(CUT, "bar %", "forward", "0.0024"), 0, 0);
	assert_near(one_way(CUT, "bar %", "forward", "0.04"), 20, 1e-12);
	assert_near(one_way(TANK, "m m3", "forward", "0.5"), 40, 1e-12); /* 10 + 90 / 3 */
	assert_near(one_way(TANK, "m m3", "inverse", "40"), 0.5, 1e-12);
	assert_near(one_way(BEND, "V %", "forward", "0.4"), 0.32, 1e-12);
	assert_near(one_way(OWN, "°C ohm", "forward", "150"), 157.342038, 1e-9);
	assert_near(one_way(TYPE_B, "°C mV", "inverse", "4.834"), 1000, 0.06); /* ITS-90 table, 1000 degC, 9 uV/degC */
}

static void limits_of_a_characteristic_are_named(void **state)
{
	(void)state;
	refused_saying("characteristic", way(TYPE_B, "°C mV", "forward", "20, 1821"), "/values/1",
		       "thermocouple type B (IEC 60584-1) reaches from 0 °C to 1820 °C");
	refused_saying("characteristic", way(TYPE_B, "°C mV", "inverse", "-0.001"), "/values/0",
		       "thermocouple type B (IEC 60584-1) reaches from 0 mV to 13.8202 mV");
	refused_saying("characteristic", way(TANK, "m m3", "forward", "1.2"), "/values/0",
		       "table of 3 points, straight between them reaches from 0 m to 1 m");
	refused_saying("characteristic", way(BEND, "V %", "inverse", "0.3"), "/values/0",
		       "polynomial of order 2 does not rise or fall throughout, so an output does not tell the input");
	refused_saying(
		"characteristic", way(CUT, "bar %", "inverse", "3"), "/values/0",
		"square root, cut-off 5 % of span reaches from 0 %, but gives nothing between there and the cut-off");
	refused_saying("characteristic",
		       way("{\"kind\":\"table\",\"points\":[[0,0],[0.5,50]]}", "m m3", "forward", "0.2"), "/input/high",
		       "table of 2 points, straight between them reaches from 0 m to 0.5 m");
}

/* Type B ends at 13.820279 mV: 13.8203 would be named and refused. */
static void the_limits_that_are_named_are_taken(void **state)
{
	cJSON *out = computed("characteristic", way(TYPE_B, "°C mV", "inverse", "13.8202, 0"));

	(void)state;
	assert_near(number_at(out, "values/0"), 1820, 0.02);
	cJSON_Delete(out);
	refused("characteristic", way(TYPE_B, "°C mV", "inverse", "13.8203"), "/values/0");
}

static void members_of_a_characteristic_are_held_to_their_rules(void **state)
{
	(void)state;
	refused("characteristic", way("{\"kind\":\"table\",\"points\":[[0,0],[0,50]]}", "m m3", "forward", "0"),
		"/characteristic/points/1");
	refused("characteristic", way("{\"kind\":\"table\",\"points\":[[0,0],[1]]}", "m m3", "forward", "0"),
		"/characteristic/points/1");
	refused("characteristic", way("{\"kind\":\"table\",\"points\":[[0,0]]}", "m m3", "forward", "0"),
		"/characteristic/points");
	refused("characteristic", way("{\"kind\":\"equal_percentage\",\"rangeability\":1}", "mA %", "forward", "0"),
		"/characteristic/rangeability");
	refused("characteristic", way("{\"kind\":\"polynomial\",\"coefficients\":[0,1]}", "mA %", "forward", "0"),
		"/characteristic/validity");
	refused("characteristic",
		way("{\"kind\":\"callendar_van_dusen\",\"r0\":100,\"a\":3.9e-3,\"b\":-3e-6,\"c\":0}", "°C ohm",
		    "forward", "0"),
		"/characteristic/a");
	refused("characteristic", way(TYPE_B, "°C ohm", "forward", "0"), "/output/unit");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_characteristic_goes_both_ways),
		cmocka_unit_test(limits_of_a_characteristic_are_named),
		cmocka_unit_test(the_limits_that_are_named_are_taken),
		cmocka_unit_test(members_of_a_characteristic_are_held_to_their_rules),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
