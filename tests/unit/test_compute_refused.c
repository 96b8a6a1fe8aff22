/* Compute documents that are refused: the member at fault is named. */
#include "unit/compute_check.h"

/* The sound document with one thing in it replaced. */
static void refused_with(const char *was, const char *is, const char *pointer)
{
	static char text[32768];
	const char *sound = file_text("evaluation.json"), *place = strstr(sound, was);

	if (!place)
		fail_msg("%s does not stand in the document", was);
	snprintf(text, sizeof text, "%.*s%s%s", (int)(place - sound), sound, is, place + strlen(was));
	refused("evaluation", text, pointer);
}

static void evaluation_names_the_member_at_fault(void **state)
{
	(void)state;
	refused_with("\"high\": 20", "\"high\": 4", "/input/high");
	refused_with("\"high\": 100", "\"high\": 0", "/output/high");
	refused_with("\"high\": 100", "\"high\": 1e-13", "/output/high");
	refused_with("\"low\": 4, \"high\": 20", "\"low\": 20.00000001, \"high\": 20", "/input/high");
	refused_with("\"low\": 4", "\"low\": \"4\"", "/input/low");
	refused_with("\"unit\": \"mA\"", "\"unit\": \"mAmp\"", "/input/unit");
	refused_with("\"kind\": \"linear\"", "\"kind\": \"cubic\"", "/characteristic/kind");
	refused_with("\"kind\": \"linear\"", "\"kind\": \"linear\", \"r0\": 100", "/characteristic/r0");
	refused_with("\"kind\": \"linear\"", "\"kind\": \"rtd\", \"r0\": 100", "/input/unit");
	refused_with("\"plus\": 3", "\"plus\": -3", "/tolerance/terms/0/plus");
	refused_with("\"plus\": 3", "\"plus\": 3, \"minus\": 1e300", "/tolerance/terms/0/minus");
	refused_with("\"kind\": \"percent_of_span\"", "\"kind\": \"percent\"", "/tolerance/terms/0/kind");
	refused_with("\"join\": \"sum\"", "\"join\": \"product\"", "/tolerance/join");
	refused_with("\"rule\": \"simple\"", "\"rule\": \"strict\"", "/decision/rule");
	refused_with("\"rule\": \"simple\"", "\"rule\": \"guarded\"", "/standard_uncertainty");
	refused_with("\"rule\": \"simple\"", "\"rule\": \"guarded\", \"guard_factor\": 3.5", "/decision/guard_factor");
	refused_with("\"observed\": \"26.1\"", "\"observed\": 1e308", "/readings/1/observed");
	refused_with("\"observed\": \"26.1\"", "\"observed\": \"26.1x\"", "/readings/1/observed");
	refused_with("\"observed\": \"26.1\"", "\"observed\": \"\"", "/readings/1/observed");
	refused_with("\"observed\": \"26.1\", ", "", "/readings/1/observed");
	refused_with("\"direction\": \"falling\"", "\"direction\": \"down\"", "/readings/5/direction");
	refused_with("\"cycle\": 1", "\"cycle\": 0", "/readings/0/cycle");
	refused_with("\"cycle\": 1", "\"cycle\": 1, \"note\": \"x\"", "/readings/0/note");
	refused_with("\"readings\"", "\"remark\": 1, \"readings\"", "/remark");
	refused("evaluation", "[]", "");
	refused("evaluation", "{}", "/input");
}

static void further_members_are_held_to_their_rules(void **state)
{
	(void)state;
	refused("evaluation", evaluation_with("\"error_at\": \"left\""), "/error_at");
	refused("evaluation", evaluation_with("\"resolution\": -1"), "/resolution");
	refused("evaluation", evaluation_with("\"dead_band\": [{\"rising\": 1}]"), "/dead_band/0/falling");
	refused("evaluation", evaluation_with("\"tolerance_adjust\": {\"terms\": [], \"join\": \"sum\"}"),
		"/tolerance_adjust/terms");
	refused("evaluation", switch_document(", \"note\": 1"), "/switch/note");
	refused("evaluation", switch_document("}, \"readings\": {"), "/readings");
	refused("evaluation",
		"{\"input\": {\"low\": 0, \"high\": 10, \"unit\": \"bar\"}, \"tolerance\": " PERCENT_RULE(
			"1") ", \"decision\": {\"rule\": \"simple\"}, \"switch\": {\"set_point\": 6, \"acts_on\": \"up\", \"actuations\": [{\"set\": 6}]}}",
		"/switch/acts_on");
}

#define SWITCH(members)                                                                            \
	"{\"input\": {\"low\": 10, \"high\": 0, \"unit\": \"bar\"}, \"tolerance\": " PERCENT_RULE( \
		"1") ", \"decision\": {\"rule\": \"simple\"}, \"switch\": {" members "}}"

static void a_switch_acts_in_its_range_and_goes_back_on_the_other_side(void **state)
{
	(void)state;
	refused("evaluation", SWITCH("\"set_point\": 60, \"acts_on\": \"rising\", \"actuations\": [{\"set\": 6}]"),
		"/switch/set_point");
	refused("evaluation",
		SWITCH("\"set_point\": 6, \"reset_point\": -1, \"acts_on\": \"rising\", \"actuations\": [{\"set\": 6}]"),
		"/switch/reset_point");
	refused_saying(
		"evaluation",
		SWITCH("\"set_point\": 6, \"acts_on\": \"rising\", \"actuations\": [{\"set\": 6, \"reset\": 5.5}, "
		       "{\"set\": 6, \"reset\": \"6.5\"}]"),
		"/switch/actuations/1/reset", "a switch that acts on rising goes back below where it acted");
	refused_saying(
		"evaluation",
		SWITCH("\"set_point\": 6, \"acts_on\": \"falling\", \"actuations\": [{\"set\": 6, \"reset\": 5.5}]"),
		"/switch/actuations/0/reset", "a switch that acts on falling goes back above where it acted");
	cJSON_Delete(computed("evaluation", SWITCH("\"set_point\": 10, \"acts_on\": \"rising\", \"actuations\": "
						   "[{\"set\": 6, \"reset\": 6}]")));
}

static void more_readings_than_a_run_may_have_are_refused(void **state)
{
	static char text[200000];
	size_t at;

	(void)state;
	at = (size_t)snprintf(text, sizeof text, "%s", file_text("evaluation.json"));
	at = (size_t)(strstr(text, "\"readings\"") - text);
	at += (size_t)sprintf(text + at, "\"readings\": [");
	for (int i = 0; i < READINGS_MAX + 1; i++)
		at += (size_t)sprintf(
			text + at,
			"%s{\"set\": 12, \"applied\": 12, \"observed\": 50, \"direction\": \"rising\", \"cycle\": 1}",
			i ? "," : "");
	sprintf(text + at, "]}");
	refused("evaluation", text, "/readings");
}

static void temperature_beyond_the_reference_function_is_refused(void **state)
{
	static const char *const document =
		"{\"input\":{\"low\":0,\"high\":800,\"unit\":\"°C\"},\"output\":{\"low\":100,\"high\":375.7,\"unit\":\"ohm\"},"
		"\"characteristic\":{\"kind\":\"rtd\",\"r0\":100},\"tolerance\":{\"terms\":[{\"kind\":\"absolute\",\"plus\":1}],\"join\":\"sum\"},"
		"\"decision\":{\"rule\":\"simple\"},\"readings\":[{\"set\":800,\"applied\":851,\"observed\":390,\"direction\":\"rising\",\"cycle\":1}]}";

	(void)state;
	refused("evaluation", document, "/readings/0/applied");
}

static void other_kinds_name_the_member_at_fault(void **state)
{
	(void)state;
	refused("conversion", "{\"value\":1,\"from\":\"mA\",\"to\":\"mV\"}", "/to");
	refused("conversion", "{\"value\":1,\"from\":\"furlong\",\"to\":\"m\"}", "/from");
	refused("conversion", "{\"value\":-0.1,\"from\":\"bar(a)\",\"to\":\"psi(a)\"}", "/value");
	refused_saying("conversion", "{\"value\":1,\"from\":\"barg\",\"to\":\"bar(a)\"}", "/to",
		       "bar(g) measures gauge pressure, but bar(a) measures absolute pressure");
	refused_saying("conversion", "{\"value\":1,\"from\":\"kg/h\",\"to\":\"m3/h\"}", "/to",
		       "kg/h measures mass flow, but m3/h measures volume flow");
	refused("conversion", "{\"value\":-280,\"from\":\"°C\",\"to\":\"K\"}", "/value");
	refused("conversion", "{\"value\":1e300,\"from\":\"m\",\"to\":\"mm\"}", "/value");
	refused("conversion", "{\"value\":1,\"from\":\"m\",\"to\":\"mm\",\"digits\":3}", "/digits");
	refused("fit", "{\"x\":[1,2,3],\"y\":[1,2],\"order\":1}", "/y");
	refused("fit", "{\"x\":[1,\"2\",3],\"y\":[1,2,3],\"order\":1}", "/x/1");
	refused("fit", "{\"x\":[1,2,3],\"y\":[1,2,3],\"order\":1,\"at\":[0,null]}", "/at/1");
	refused("fit", "{\"x\":[2,2,2],\"y\":[1,2,3],\"order\":1}", "/x");
	refused("fit", "{\"x\":[1,2,3],\"y\":[1,2,3],\"order\":6}", "/order");
	refused("fit", "{\"x\":[1,2,3],\"y\":[1,2,3],\"order\":0,\"through_zero\":true}", "/order");
	refused("characteristic",
		"{\"characteristic\":{\"kind\":\"thermocouple\",\"type\":\"Z\"},\"input\":{\"low\":0,\"high\":1,\"unit\":\"°C\"},"
		"\"output\":{\"low\":0,\"high\":1,\"unit\":\"mV\"},\"direction\":\"forward\",\"values\":[1]}",
		"/characteristic/type");
	refused("characteristic",
		"{\"characteristic\":{\"kind\":\"linear\"},\"input\":{\"low\":0,\"high\":1,\"unit\":\"bar\"},"
		"\"output\":{\"low\":0,\"high\":1,\"unit\":\"mV\"},\"direction\":\"forward\",\"values\":[1,null]}",
		"/values/1");
}

static void unknown_kind_is_not_found(void **state)
{
	struct err err;
	cJSON *out;

	(void)state;
	assert_int_equal(run_text("horoscope", "{}", &out, &err), NOT_FOUND);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(further_members_are_held_to_their_rules),
		cmocka_unit_test(evaluation_names_the_member_at_fault),
		cmocka_unit_test(a_switch_acts_in_its_range_and_goes_back_on_the_other_side),
		cmocka_unit_test(more_readings_than_a_run_may_have_are_refused),
		cmocka_unit_test(temperature_beyond_the_reference_function_is_refused),
		cmocka_unit_test(other_kinds_name_the_member_at_fault),
		cmocka_unit_test(unknown_kind_is_not_found),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
