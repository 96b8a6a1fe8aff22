/* Reading the JSON document of a procedure: what docs/api.md allows, and where each fault is pointed at. */
#include "support/check.h"

#include <string.h>

#include "domain/procedure_document.h"

#define STRING(...) #__VA_ARGS__

/* A control valve, five points up and down, +-3 % of span (numbers of our own demo plant). */
static const char valve[] = STRING({
	"title" : "Control valve with positioner, five points up and down",
	"purpose" : "Travel against input.",
	"kinds" : ["control_valve"],
	"preparation" : ["Agree the bypass with the control room."],
	"cautions" : [
		{"id" : "stored", "text" : "The actuator stores energy."},
		{"id" : "pinch", "text" : "Keep hands off the stem."}
	],
	"needs" : [
		{"role" : "input", "text" : "Current source, 4 to 20 mA", "optional" : false},
		{"role" : "output", "text" : "Travel scale", "optional" : true}
	],
	"steps" : [
		{
			"kind" : "checklist",
			"title" : "Prove the connection",
			"items" : [
				{"id" : "closed", "text" : "At 4 mA the valve is closed.", "apply" : 0},
				{"id" : "look", "text" : "Nobody stands at the valve.", "apply" : null}
			]
		},
		{
			"kind" : "points",
			"title" : "Travel",
			"percent" : [ 0, 25, 50, 75, 100 ],
			"pattern" : "up_down",
			"cycles" : 1,
			"settle_s" : 10
		}
	],
	"tolerance" : {
		"as_found" : {"terms" : [ {"kind" : "percent_of_span", "plus" : 3} ], "join" : "sum"},
		"adjust" : null,
		"as_left" : {"terms" : [ {"kind" : "percent_of_span", "plus" : 1, "minus" : 0.5} ], "join" : "greatest"}
	},
	"decision" : {"rule" : "guarded"},
	"environment" : true,
	"adjustment" : ""
});

struct fixture {
	struct arena arena;
	json_t *json;
	struct procedure_document document;
	struct err err;
};

static int begin(void **state)
{
	static struct fixture f;

	f = (struct fixture){.json = json_parse(valve, sizeof valve - 1, &f.err)};
	*state = &f;
	return f.json ? 0 : -1;
}

static int end(void **state)
{
	struct fixture *f = *state;

	json_decref(f->json);
	arena_clear(&f->arena);
	return 0;
}

/* Follows a pointer such as "steps/1/percent" into the document and sets a member there. */
static void put(struct fixture *f, const char *object, const char *member, const char *value)
{
	char path[80], *part, *rest = path;
	json_t *at = f->json, *v = json_loads(value, JSON_DECODE_ANY, NULL);

	snprintf(path, sizeof path, "%s", object);
	while ((part = strtok_r(rest, "/", &rest)) != NULL)
		at = json_is_array(at) ? json_array_get(at, (size_t)atoi(part)) : json_object_get(at, part);
	assert_non_null(at);
	if (json_is_array(at) && (size_t)atoi(member) < json_array_size(at))
		json_array_set_new(at, (size_t)atoi(member), v);
	else if (json_is_array(at))
		json_array_append_new(at, v);
	else if (v)
		json_object_set_new(at, member, v);
	else
		json_object_del(at, member);
}

static void assert_refused_at(struct fixture *f, const char *pointer)
{
	assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), INVALID);
	assert_string_equal(f->err.field, pointer);
	assert_true(strlen(f->err.message) > 0);
}

static void everything_in_the_document_is_read(void **state)
{
	struct fixture *f = *state;
	const struct procedure_document *d = &f->document;

	assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), OK);
	assert_string_equal(d->title, "Control valve with positioner, five points up and down");
	assert_int_equal(d->n_kinds, 1);
	assert_string_equal(d->kinds[0], "control_valve");
	assert_string_equal(d->preparation[0], "Agree the bypass with the control room.");
	assert_string_equal(d->cautions[1].key, "pinch");
	assert_int_equal(d->needs[1].role, STANDARD_OUTPUT);
	assert_true(d->needs[1].optional);
	assert_near(d->steps[0].items[0].apply, 0, 0);
	assert_true(isnan(d->steps[0].items[1].apply));
	assert_int_equal(d->as_found.n_terms, 1);
	assert_near(d->as_found.terms[0].minus, 3, 0); /* as plus, when absent */
	assert_int_equal(d->adjust.n_terms, 0);
	assert_near(d->as_left.terms[0].minus, 0.5, 0);
	assert_int_equal(d->as_left.join, JOIN_GREATEST);
	assert_int_equal(d->decision.kind, DECISION_GUARDED);
	assert_near(d->decision.guard_factor, 1, 0); /* 1 when absent, docs/api.md */
	assert_true(d->environment);
	assert_string_equal(d->adjustment, "");
}

static void the_points_step_is_found(void **state)
{
	struct fixture *f = *state;
	const struct step *step;

	assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), OK);
	step = procedure_judged_step(&f->document);
	assert_non_null(step);
	assert_int_equal(step->n_percent, 5);
	assert_near(step->percent[3], 75, 0);
	assert_int_equal(step->pattern, PATTERN_UP_DOWN);
	assert_int_equal(step->settle_s, 10);
}

/* {object, member, value (empty: removed), pointer}: one fault each. */
static const struct fault {
	const char *object, *member, *value, *pointer;
} faults[] = {
	{"", "title", "", "/title"},
	{"", "title", "\"\"", "/title"},
	{"", "title", "7", "/title"},
	{"", "title", "\"two\\nlines\"", "/title"},
	{"", "purpose", "", "/purpose"},
	{"", "surprise", "1", "/surprise"},
	{"", "kinds", "[]", "/kinds"},
	{"kinds", "0", "\"pump\"", "/kinds/0"},
	{"kinds", "1", "\"control_valve\"", "/kinds/1"},
	{"preparation", "0", "3", "/preparation/0"},
	{"preparation", "1", "\"bell \\u0007\"", "/preparation/1"},
	{"cautions/1", "id", "\"stored\"", "/cautions/1/id"},
	{"cautions/0", "id", "\"Stored\"", "/cautions/0/id"},
	{"cautions/0", "id", "\"a23456789012345678901\"", "/cautions/0/id"},
	{"cautions/0", "text", "\"\"", "/cautions/0/text"},
	{"needs/1", "role", "\"input\"", "/needs/1/role"},
	{"needs/1", "role", "\"both\"", "/needs/1/role"},
	{"needs/0", "optional", "", "/needs/0/optional"},
	{"steps/0", "kind", "\"dance\"", "/steps/0/kind"},
	{"steps/0", "percent", "[0, 100]", "/steps/0/percent"},
	{"steps/0/items/0", "id", "\"pinch\"", "/steps/0/items/0/id"},
	{"steps/0/items/0", "apply", "106", "/steps/0/items/0/apply"},
	{"steps/0/items/0", "apply", "\"0\"", "/steps/0/items/0/apply"},
	{"steps/1/percent", "2", "25", "/steps/1/percent/2"},
	{"steps/1/percent", "4", "105.5", "/steps/1/percent/4"},
	{"steps/1/percent", "0", "-5.5", "/steps/1/percent/0"},
	{"steps/1/percent", "1", "null", "/steps/1/percent/1"},
	{"steps/1", "percent", "[]", "/steps/1/percent"},
	{"steps/1", "pattern", "\"round\"", "/steps/1/pattern"},
	{"steps/1", "within_signal", "\"yes\"", "/steps/1/within_signal"},
	{"steps/1", "error_at", "\"observed\"", "/steps/1/error_at"},
	{"steps/1", "actuations", "3", "/steps/1/actuations"},
	{"steps/1", "cycles", "6", "/steps/1/cycles"},
	{"steps/1", "cycles", "1.5", "/steps/1/cycles"},
	{"steps/1", "settle_s", "601", "/steps/1/settle_s"},
	{"steps/1", "settle_s", "1e308", "/steps/1/settle_s"},
	{"tolerance", "as_found", "null", "/tolerance/as_found"},
	{"tolerance", "as_right", "null", "/tolerance/as_right"},
	{"tolerance/as_found/terms/0", "plus", "-1", "/tolerance/as_found/terms/0/plus"},
	{"tolerance/as_left", "join", "\"product\"", "/tolerance/as_left/join"},
	{"decision", "guard_factor", "3.5", "/decision/guard_factor"},
	{"", "environment", "1", "/environment"},
	{"", "adjustment", "", "/adjustment"},
};

static void every_fault_is_pointed_at(void **state)
{
	struct fixture *f = *state;
	json_t *sound = f->json;

	for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
		f->json = json_deep_copy(sound);
		put(f, faults[i].object, faults[i].member, faults[i].value);
		if (procedure_document_read(f->json, &f->arena, &f->document, &f->err) != INVALID)
			print_error("taken: %s/%s = %s\n", faults[i].object, faults[i].member, faults[i].value);
		assert_string_equal(f->err.field, faults[i].pointer);
		json_decref(f->json);
		f->err = (struct err){0};
	}
	f->json = sound;
}

static void every_pattern_of_the_core_is_known(void **state)
{
	static const struct {
		const char *word;
		enum point_pattern pattern;
	} patterns[] = {{"\"up\"", PATTERN_UP},
			{"\"up_down\"", PATTERN_UP_DOWN},
			{"\"down\"", PATTERN_DOWN},
			{"\"down_up\"", PATTERN_DOWN_UP},
			{"\"up_all\"", PATTERN_UP_ALL}};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof patterns / sizeof *patterns; i++) {
		put(f, "steps/1", "pattern", patterns[i].word);
		assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), OK);
		assert_int_equal(procedure_judged_step(&f->document)->pattern, patterns[i].pattern);
	}
}

static void points_are_applied_and_unclipped_unless_the_document_says_otherwise(void **state)
{
	struct fixture *f = *state;
	const struct step *step;

	assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), OK);
	step = procedure_judged_step(&f->document);
	assert_int_equal(step->error_at, ERROR_AT_APPLIED);
	assert_false(step->within_signal);
	put(f, "steps/1", "error_at", "\"set\"");
	put(f, "steps/1", "within_signal", "true");
	assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), OK);
	step = procedure_judged_step(&f->document);
	assert_int_equal(step->error_at, ERROR_AT_SET);
	assert_true(step->within_signal);
}

#define SWITCH_STEP \
	"{\"kind\": \"switch\", \"title\": \"Switch point\", \"actuations\": 3, \"reads_reset\": true, \"settle_s\": 5}"

static void for_switches(struct fixture *f)
{
	put(f, "", "kinds", "[\"switch\"]");
	put(f, "steps", "1", SWITCH_STEP);
}

static void a_switch_step_is_judged_in_place_of_points(void **state)
{
	struct fixture *f = *state;
	const struct step *step;

	for_switches(f);
	assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), OK);
	step = procedure_judged_step(&f->document);
	assert_int_equal(step->kind, STEP_SWITCH);
	assert_int_equal(step->actuations, 3);
	assert_true(step->reads_reset);
	assert_int_equal(step->settle_s, 5);
}

static void every_fault_of_a_switch_step_is_pointed_at(void **state)
{
	static const struct fault wrong[] = {
		{"steps/1", "actuations", "0", "/steps/1/actuations"},
		{"steps/1", "actuations", "11", "/steps/1/actuations"},
		{"steps/1", "actuations", "2.5", "/steps/1/actuations"},
		{"steps/1", "actuations", "", "/steps/1/actuations"},
		{"steps/1", "reads_reset", "1", "/steps/1/reads_reset"},
		{"steps/1", "reads_reset", "", "/steps/1/reads_reset"},
		{"steps/1", "settle_s", "-1", "/steps/1/settle_s"},
		{"steps/1", "title", "\"\"", "/steps/1/title"},
		{"steps/1", "percent", "[50]", "/steps/1/percent"},
		{"", "kinds", "[\"switch\", \"transmitter\"]", "/kinds/1"},
		{"steps", "2", SWITCH_STEP, "/steps/2/kind"},
	};
	struct fixture *f = *state;
	json_t *sound;

	for_switches(f);
	sound = f->json;
	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		f->json = json_deep_copy(sound);
		put(f, wrong[i].object, wrong[i].member, wrong[i].value);
		if (procedure_document_read(f->json, &f->arena, &f->document, &f->err) != INVALID)
			print_error("taken: %s/%s = %s\n", wrong[i].object, wrong[i].member, wrong[i].value);
		assert_string_equal(f->err.field, wrong[i].pointer);
		json_decref(f->json);
		f->err = (struct err){0};
	}
	f->json = sound;
}

static void there_is_exactly_one_points_step(void **state)
{
	struct fixture *f = *state;

	put(f, "steps", "2",
	    "{\"kind\": \"points\", \"title\": \"Again\", \"percent\": [0, 100], \"pattern\": \"up\", \"cycles\": 1, \"settle_s\": 0}");
	assert_refused_at(f, "/steps/2/kind");
}

static void a_procedure_without_points_is_refused(void **state)
{
	struct fixture *f = *state;

	json_array_remove(json_object_get(f->json, "steps"), 1);
	assert_refused_at(f, "/steps");
}

/* 41 points up and down are 81 readings a cycle; five cycles would be 405, and a run holds 400 (evaluation.h). */
static void a_run_longer_than_can_be_judged_is_refused(void **state)
{
	struct fixture *f = *state;
	json_t *percent = json_array();

	for (int i = 0; i <= 40; i++)
		json_array_append_new(percent, json_real(2.5 * i));
	json_object_set_new(json_array_get(json_object_get(f->json, "steps"), 1), "percent", percent);
	put(f, "steps/1", "cycles", "5");
	assert_refused_at(f, "/steps/1/cycles");
	f->err = (struct err){0};
	put(f, "steps/1", "cycles", "4");
	assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), OK);
}

static void markup_is_just_text(void **state)
{
	struct fixture *f = *state;

	put(f, "", "title", "\"<script>alert(1)</script>\"");
	assert_int_equal(procedure_document_read(f->json, &f->arena, &f->document, &f->err), OK);
	assert_string_equal(f->document.title, "<script>alert(1)</script>");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(everything_in_the_document_is_read, begin, end),
		cmocka_unit_test_setup_teardown(the_points_step_is_found, begin, end),
		cmocka_unit_test_setup_teardown(every_fault_is_pointed_at, begin, end),
		cmocka_unit_test_setup_teardown(every_pattern_of_the_core_is_known, begin, end),
		cmocka_unit_test_setup_teardown(points_are_applied_and_unclipped_unless_the_document_says_otherwise,
						begin, end),
		cmocka_unit_test_setup_teardown(a_switch_step_is_judged_in_place_of_points, begin, end),
		cmocka_unit_test_setup_teardown(every_fault_of_a_switch_step_is_pointed_at, begin, end),
		cmocka_unit_test_setup_teardown(there_is_exactly_one_points_step, begin, end),
		cmocka_unit_test_setup_teardown(a_procedure_without_points_is_refused, begin, end),
		cmocka_unit_test_setup_teardown(a_run_longer_than_can_be_judged_is_refused, begin, end),
		cmocka_unit_test_setup_teardown(markup_is_just_text, begin, end),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
