#include "domain/procedure_document.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "domain/spec_json.h"
#include "register.h"

#define TEXTS_MAX	40
#define ITEMS_MAX	40
#define STEPS_MAX	20
#define PERCENT_LOW	(-5.0)
#define PERCENT_HIGH	105.0
#define CYCLES_MAX	5
#define ACTUATIONS_MOST 10

static const char *const kind_words[] = {"transmitter", "sensing_element", "indicator", "switch",
					 "analyser",	"control_valve",   NULL};

/* Ids of cautions and items seen so far: the same id twice would let one answer stand for two questions. */
struct keys {
	const char *key[TEXTS_MAX + STEPS_MAX * ITEMS_MAX];
	size_t n;
};

static void no_memory(struct json_in *in)
{
	if (!in->rc)
		in->rc = err_set(in->err, NO_MEMORY, "", "out of memory");
}

static const char *keep(struct json_in *in, const char *s, struct arena *a)
{
	const char *copy = arena_strdup(a, s ? s : "");

	if (!copy)
		no_memory(in);
	return copy ? copy : "";
}

static void *keep_array(struct json_in *in, size_t n, size_t size, struct arena *a)
{
	void *p = arena_alloc(a, (n ? n : 1) * size);

	if (!p)
		no_memory(in);
	return p;
}

/* A text that must be there but may be empty. */
static const char *text_or_empty(struct json_in *in, const char *name, size_t max, struct arena *a)
{
	if (!json_in_has(in, name))
		json_in_reject(in, name, "%s is missing", name);
	return keep(in, json_in_lines_optional(in, name, max), a);
}

static void read_kinds(struct json_in *in, struct procedure_document *out, struct arena *a)
{
	json_t *list = json_in_array(in, "kinds", 1, 6);

	out->n_kinds = json_array_size(list);
	out->kinds = keep_array(in, out->n_kinds, sizeof *out->kinds, a);
	for (size_t i = 0; i < out->n_kinds && !in->rc; i++) {
		const char *s = json_string_value(json_array_get(list, i)), *word = NULL;

		for (size_t k = 0; s && kind_words[k]; k++) {
			if (!strcmp(s, kind_words[k]))
				word = kind_words[k];
		}
		if (!word)
			json_in_reject_element(
				in, "kinds", i,
				"must be one of transmitter, sensing_element, indicator, switch, analyser, control_valve");
		for (size_t k = 0; k < i && word; k++) {
			if (!strcmp(out->kinds[k], word))
				json_in_reject_element(in, "kinds", i, "each kind is named once");
		}
		out->kinds[i] = word;
	}
}

static void read_preparation(struct json_in *in, struct procedure_document *out, struct arena *a)
{
	json_t *list = json_in_array(in, "preparation", 0, TEXTS_MAX);

	out->n_preparation = json_array_size(list);
	out->preparation = keep_array(in, out->n_preparation, sizeof *out->preparation, a);
	for (size_t i = 0; i < out->n_preparation && !in->rc; i++)
		out->preparation[i] = keep(in, register_text_element(in, "preparation", i, 300), a);
}

static const char *read_key(struct json_in *in, struct keys *keys, struct arena *a)
{
	const char *key = keep(in, json_in_text(in, "id", 20), a);

	if (in->rc)
		return key;
	if (key[strspn(key, "abcdefghijklmnopqrstuvwxyz0123456789_-")])
		json_in_reject(in, "id", "id is made of a to z, 0 to 9, _ and -");
	for (size_t i = 0; i < keys->n; i++) {
		if (!strcmp(keys->key[i], key))
			json_in_reject(in, "id", "id %s is used twice in this document", key);
	}
	keys->key[keys->n++] = key;
	return key;
}

static void read_cautions(struct json_in *in, struct procedure_document *out, struct keys *keys, struct arena *a)
{
	json_t *list = json_in_array(in, "cautions", 0, TEXTS_MAX);
	struct json_in at;

	out->n_cautions = json_array_size(list);
	out->cautions = keep_array(in, out->n_cautions, sizeof *out->cautions, a);
	for (size_t i = 0; i < out->n_cautions && !in->rc; i++) {
		if (!json_in_element(in, "cautions", i, &at))
			break;
		out->cautions[i].key = read_key(&at, keys, a);
		out->cautions[i].text = keep(&at, json_in_text(&at, "text", 300), a);
		json_in_end(&at);
		json_in_join(in, &at);
	}
}

static void read_needs(struct json_in *in, struct procedure_document *out, struct arena *a)
{
	static const char *const roles[] = {"input", "output", NULL};
	json_t *list = json_in_array(in, "needs", 0, STANDARD_ROLES);
	struct json_in at;
	int role;

	out->n_needs = json_array_size(list);
	for (size_t i = 0; i < out->n_needs && !in->rc; i++) {
		if (!json_in_element(in, "needs", i, &at))
			break;
		role = json_in_word(&at, "role", roles);
		out->needs[i].role = role == 1 ? STANDARD_OUTPUT : STANDARD_INPUT;
		out->needs[i].text = keep(&at, json_in_text(&at, "text", 200), a);
		out->needs[i].optional = json_in_bool(&at, "optional");
		if (i == 1 && out->needs[0].role == out->needs[1].role)
			json_in_reject(&at, "role", "each role is named once");
		json_in_end(&at);
		json_in_join(in, &at);
	}
}

static void read_checklist(struct json_in *in, struct step *out, struct keys *keys, struct arena *a)
{
	json_t *list = json_in_array(in, "items", 1, ITEMS_MAX);
	struct json_in at;

	out->n_items = json_array_size(list);
	out->items = keep_array(in, out->n_items, sizeof *out->items, a);
	for (size_t i = 0; i < out->n_items && !in->rc; i++) {
		if (!json_in_element(in, "items", i, &at))
			break;
		out->items[i].key = read_key(&at, keys, a);
		out->items[i].text = keep(&at, json_in_text(&at, "text", 300), a);
		out->items[i].apply = json_in_number_optional(&at, "apply", PERCENT_LOW, PERCENT_HIGH, NAN);
		json_in_end(&at);
		json_in_join(in, &at);
	}
}

static double *read_percent(struct json_in *in, size_t most, double low, double high, size_t *n, struct arena *a)
{
	json_t *list = json_in_array(in, "percent", 1, most);
	double *percent = keep_array(in, json_array_size(list), sizeof *percent, a);

	*n = json_array_size(list);
	for (size_t i = 0; i < *n && !in->rc; i++) {
		json_t *v = json_array_get(list, i);
		double x = json_number_value(v);

		if (!json_is_number(v))
			json_in_reject_element(in, "percent", i, "must be a number, in %% of the input span");
		else if (!(x >= low && x <= high))
			json_in_reject_element(in, "percent", i, "must be between %g and %g %% of the input span", low,
					       high);
		else if (i && x <= percent[i - 1])
			json_in_reject_element(in, "percent", i,
					       "the points must ascend; the way down is made from them");
		percent[i] = x;
	}
	return percent;
}

/* At the ends of the range there is no room to come back from. */
static void read_dead_band(struct json_in *in, struct step *out, struct arena *a)
{
	struct json_in at;

	out->dead_band_limit = NAN;
	if (!json_in_has(in, "dead_band") || !json_in_object(in, "dead_band", &at))
		return;
	out->dead_band_percent = read_percent(&at, DEAD_BAND_PLACES_MAX, 1, 99, &out->n_dead_band, a);
	out->dead_band_limit = json_in_number_optional(&at, "limit", 0, 100, NAN);
	json_in_end(&at);
	json_in_join(in, &at);
}

static void read_points(struct json_in *in, struct step *out, struct arena *a)
{
	static const char *const error_at[] = {"applied", "set", NULL};
	struct test_point points[READINGS_MAX];
	int pattern;

	out->percent = read_percent(in, 41, PERCENT_LOW, PERCENT_HIGH, &out->n_percent, a);
	pattern = json_in_word(in, "pattern", point_pattern_words);
	out->pattern = pattern < 0 ? PATTERN_UP : (enum point_pattern)pattern;
	out->cycles = json_in_integer(in, "cycles", 1, CYCLES_MAX);
	out->settle_s = json_in_integer(in, "settle_s", 0, 600);
	out->within_signal = json_in_bool_optional(in, "within_signal", false);
	if (json_in_word_optional(in, "error_at", error_at, ERROR_AT_APPLIED) == ERROR_AT_SET)
		out->error_at = ERROR_AT_SET;
	read_dead_band(in, out, a);
	if (!in->rc && points_generate(out->percent, out->n_percent, out->pattern, out->cycles, (struct range){0, 1},
				       points, READINGS_MAX) == 0)
		json_in_reject(in, "cycles", "a run has at most %d readings", READINGS_MAX);
}

static void read_switch(struct json_in *in, struct step *out)
{
	out->actuations = json_in_integer(in, "actuations", 1, ACTUATIONS_MOST);
	out->reads_reset = json_in_bool(in, "reads_reset");
	out->settle_s = json_in_integer(in, "settle_s", 0, 600);
}

static enum step_kind read_step_kind(struct json_in *in)
{
	static const char *const kinds[] = {"checklist", "points", "switch", NULL};
	int kind = json_in_word(in, "kind", kinds);

	return kind < 0 ? STEP_CHECKLIST : (enum step_kind)kind;
}

static void read_steps(struct json_in *in, struct procedure_document *out, struct keys *keys, struct arena *a)
{
	json_t *list = json_in_array(in, "steps", 1, STEPS_MAX);
	struct json_in at;
	int judged = 0;

	out->n_steps = json_array_size(list);
	out->steps = keep_array(in, out->n_steps, sizeof *out->steps, a);
	for (size_t i = 0; i < out->n_steps && !in->rc; i++) {
		struct step *step = &out->steps[i];

		if (!json_in_element(in, "steps", i, &at))
			break;
		step->kind = read_step_kind(&at);
		step->title = keep(&at, json_in_text(&at, "title", 120), a);
		if (!at.rc && step->kind != STEP_CHECKLIST && ++judged > 1)
			json_in_reject(&at, "kind", "there is exactly one step that is judged, points or switch");
		if (!at.rc && step->kind == STEP_POINTS)
			read_points(&at, step, a);
		else if (!at.rc && step->kind == STEP_SWITCH)
			read_switch(&at, step);
		else if (!at.rc)
			read_checklist(&at, step, keys, a);
		json_in_end(&at);
		json_in_join(in, &at);
	}
	if (judged == 0)
		json_in_reject(in, "steps", "one step that is judged is needed, points or switch");
}

/* A switch step asks for a set point, and only a switch has one. */
static void must_be_for_switches(struct json_in *in, const struct procedure_document *d)
{
	if (in->rc || procedure_judged_step(d)->kind != STEP_SWITCH)
		return;
	for (size_t i = 0; i < d->n_kinds; i++) {
		if (strcmp(d->kinds[i], "switch") != 0)
			json_in_reject_element(in, "kinds", i, "a switch step is for instruments of kind switch alone");
	}
}

static void read_limits(struct json_in *in, struct procedure_document *out)
{
	struct json_in at;

	if (!json_in_object(in, "tolerance", &at))
		return;
	tolerance_read(&at, "as_found", &out->as_found);
	if (json_in_has(&at, "adjust"))
		tolerance_read(&at, "adjust", &out->adjust);
	if (json_in_has(&at, "as_left"))
		tolerance_read(&at, "as_left", &out->as_left);
	json_in_end(&at);
	json_in_join(in, &at);
}

enum status procedure_document_read(json_t *json, struct arena *a, struct procedure_document *out, struct err *err)
{
	struct keys keys;
	struct json_in in;

	keys.n = 0;
	*out = (struct procedure_document){0};
	json_in_begin(&in, json, err);
	out->title = keep(&in, json_in_text(&in, "title", 120), a);
	out->purpose = text_or_empty(&in, "purpose", 2000, a);
	read_kinds(&in, out, a);
	read_preparation(&in, out, a);
	read_cautions(&in, out, &keys, a);
	read_needs(&in, out, a);
	read_steps(&in, out, &keys, a);
	must_be_for_switches(&in, out);
	read_limits(&in, out);
	decision_read(&in, "decision", &out->decision);
	out->environment = json_in_bool(&in, "environment");
	out->adjustment = text_or_empty(&in, "adjustment", 2000, a);
	return json_in_end(&in);
}

const struct step *procedure_judged_step(const struct procedure_document *d)
{
	for (size_t i = 0; i < d->n_steps; i++) {
		if (d->steps[i].kind != STEP_CHECKLIST)
			return &d->steps[i];
	}
	return NULL;
}
