/* The points of a run from a document; figures by hand. */
#include "compute_check.h"

#define FLOW                                                                                                                     \
	"\"input\": {\"low\": 0, \"high\": 250, \"unit\": \"mbar\"}, \"output\": {\"low\": 4, \"high\": 20, \"unit\": \"mA\"}, " \
	"\"characteristic\": {\"kind\": \"square_root\"}, "
#define VALVE                                                                                                                 \
	"\"input\": {\"low\": 4, \"high\": 20, \"unit\": \"mA\"}, \"output\": {\"low\": 100, \"high\": 0, \"unit\": \"%\"}, " \
	"\"characteristic\": {\"kind\": \"linear\"}, "
#define ELEMENT                                                                                                                     \
	"\"input\": {\"low\": 0, \"high\": 850, \"unit\": \"°C\"}, \"output\": {\"low\": 100, \"high\": 390, \"unit\": \"ohm\"}, " \
	"\"characteristic\": {\"kind\": \"rtd\", \"r0\": 100}, "

static void check_point(const cJSON *out, int i, double set, double expected, const char *direction, int cycle)
{
	const cJSON *p = cJSON_GetArrayItem(member(out, "points"), i);

	assert_near(number_at(p, "set"), set, 1e-12);
	assert_near(number_at(p, "expected"), expected, 1e-12);
	assert_string_equal(text_at(p, "direction"), direction);
	assert_near(number_at(p, "cycle"), cycle, 0);
}

static void even_points_go_up_and_down_in_cycles(void **state)
{
	cJSON *out = computed("points", "{" FLOW "\"even\": 3, \"pattern\": \"up_down\", \"cycles\": 2}");

	(void)state;
	assert_int_equal(cJSON_GetArraySize(member(out, "points")), 10);
	check_point(out, 1, 125, 4 + 16 * sqrt(0.5), "rising", 1);
	check_point(out, 2, 250, 20, "rising", 1);
	check_point(out, 4, 0, 4, "falling", 1);
	check_point(out, 8, 125, 4 + 16 * sqrt(0.5), "falling", 2);
	cJSON_Delete(out);
}

/* 3.2 mA and 20.8 mA are beyond the signal's 3.8 to 20.5 mA (NAMUR NE 43): -1.25 % and 103.125 %. */
static void points_are_drawn_into_the_signal(void **state)
{
	cJSON *out = computed("points",
			      "{" VALVE "\"percent\": [-5, 50, 105], \"pattern\": \"down\", \"within_signal\": true}");

	(void)state;
	assert_near(number_at(out, "reach/low"), 3.8, 0);
	assert_near(number_at(out, "reach/high"), 20.5, 0);
	check_point(out, 0, 20.5, -3.125, "falling", 1);
	check_point(out, 1, 12, 50, "falling", 1);
	check_point(out, 2, 3.8, 101.25, "falling", 1);
	assert_near(number_at(out, "points/0/percent"), 103.125, 1e-12);
	cJSON_Delete(out);
	out = computed("points", "{" VALVE "\"percent\": [-5], \"pattern\": \"up\"}");
	check_point(out, 0, 3.2, 105, "rising", 1);
	cJSON_Delete(out);
}

static void what_cannot_be_laid_out_is_refused(void **state)
{
	(void)state;
	refused("points", "{" FLOW "\"even\": 3, \"percent\": [0], \"pattern\": \"up\"}", "/even");
	refused("points", "{" FLOW "\"pattern\": \"up\"}", "/percent");
	refused("points", "{" FLOW "\"even\": 42, \"pattern\": \"up\"}", "/even");
	refused("points", "{" FLOW "\"percent\": [0, 50, 50], \"pattern\": \"up\"}", "/percent/2");
	refused("points", "{" FLOW "\"percent\": [0, 106], \"pattern\": \"up\"}", "/percent/1");
	refused("points", "{" FLOW "\"even\": 3, \"pattern\": \"around\"}", "/pattern");
	refused("points", "{" FLOW "\"even\": 11, \"pattern\": \"up_down\", \"cycles\": 20}", "/cycles");
	refused("points", "{" FLOW "\"even\": 11, \"pattern\": \"up\", \"order\": 1}", "/order");
	/* as input it measures up to 20.5 mA, where the output would say -4 mA */
	refused("points",
		"{\"input\": {\"low\": 21, \"high\": 22, \"unit\": \"mA\"}, \"output\": {\"low\": 4, \"high\": 20, "
		"\"unit\": \"mA\"}, \"characteristic\": {\"kind\": \"linear\"}, \"even\": 3, \"pattern\": \"up\", "
		"\"within_signal\": true}",
		"/within_signal");
	refused_saying("points", "{" ELEMENT "\"percent\": [0, 105], \"pattern\": \"up\"}", "/percent",
		       "Pt100 (IEC 60751) reaches from -200 °C to 850 °C");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(even_points_go_up_and_down_in_cycles),
		cmocka_unit_test(points_are_drawn_into_the_signal),
		cmocka_unit_test(what_cannot_be_laid_out_is_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
