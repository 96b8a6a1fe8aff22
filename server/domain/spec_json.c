#include "domain/spec_json.h"

#include <math.h>
#include <string.h>

#include "metrology/unit.h"

static const char *const characteristic_words[] = {"linear", "square_root", "rtd", "thermocouple", NULL};
static const char *const thermocouple_words[] = {"K", NULL};
static const char *const tolerance_words[] = {"absolute", "percent_of_span", "percent_of_reading", "percent_of_high", NULL};
static const char *const join_words[] = {"sum", "greatest", NULL};
static const char *const decision_words[] = {"simple", "guarded", NULL};

const char *unit_read(struct json_in *object, const char *name)
{
	const char *symbol = json_in_text(object, name, UNIT_CHARACTERS_MAX);
	const struct unit *unit = unit_find(symbol);

	if (unit)
		return unit->symbol;
	json_in_reject(object, name, "no unit is written %s here", symbol);
	return "";
}

void range_members_read(struct json_in *object, struct range *out, const char **unit)
{
	out->low = json_in_number(object, "low", -QUANTITY_MAX, QUANTITY_MAX);
	out->high = json_in_number(object, "high", -QUANTITY_MAX, QUANTITY_MAX);
	*unit = unit_read(object, "unit");
	if (out->low == out->high)
		json_in_reject(object, "high", "the range must not be empty: high is the same as low");
}

void range_read(struct json_in *in, const char *name, struct range *out, const char **unit)
{
	struct json_in object;

	*out = (struct range){NAN, NAN};
	*unit = "";
	if (!json_in_object(in, name, &object))
		return;
	range_members_read(&object, out, unit);
	json_in_end(&object);
	json_in_join(in, &object);
}

json_t *range_to_json(struct range r, const char *unit)
{
	return json_pack("{s:f, s:f, s:s}", "low", r.low, "high", r.high, "unit", unit);
}

void characteristic_read(struct json_in *in, const char *name, struct characteristic *out)
{
	struct json_in object;
	int kind;

	*out = (struct characteristic){.kind = CHARACTERISTIC_LINEAR};
	if (!json_in_object(in, name, &object))
		return;
	kind = json_in_word(&object, "kind", characteristic_words);
	if (kind >= 0)
		out->kind = (enum characteristic_kind)kind;
	if (kind == CHARACTERISTIC_RTD)
		out->r0 = json_in_number(&object, "r0", 1, 1e5);
	if (kind == CHARACTERISTIC_THERMOCOUPLE && json_in_word(&object, "type", thermocouple_words) >= 0)
		out->type = THERMOCOUPLE_K;
	json_in_end(&object);
	json_in_join(in, &object);
}

json_t *characteristic_to_json(const struct characteristic *c)
{
	json_t *json = json_pack("{s:s}", "kind", characteristic_words[c->kind]);

	if (c->kind == CHARACTERISTIC_RTD)
		json_object_set_new(json, "r0", json_real(c->r0));
	if (c->kind == CHARACTERISTIC_THERMOCOUPLE)
		json_object_set_new(json, "type", json_string(thermocouple_words[c->type]));
	return json;
}

static void reject_within(struct json_in *in, const char *object_name, const char *name, const char *sentence)
{
	struct json_in object;

	if (json_in_object(in, object_name, &object))
		json_in_reject(&object, name, "%s", sentence);
	json_in_join(in, &object);
}

void characteristic_check(struct json_in *in, const struct characteristic *c, struct range input, const char *input_unit,
			  const char *output_unit)
{
	static const struct range any = {0, 1};
	const char *gives = c->kind == CHARACTERISTIC_RTD ? "ohm" : "mV";

	if (in->rc || (c->kind != CHARACTERISTIC_RTD && c->kind != CHARACTERISTIC_THERMOCOUPLE))
		return;
	if (strcmp(input_unit, "°C"))
		reject_within(in, "input", "unit", "with this characteristic the input is in °C");
	else if (strcmp(output_unit, gives))
		reject_within(in, "output", "unit", c->kind == CHARACTERISTIC_RTD ? "a resistance thermometer gives ohm" :
										   "a thermocouple gives mV");
	else if (isnan(characteristic_forward(c, any, any, input.low)))
		reject_within(in, "input", "low", "the characteristic does not reach this temperature");
	else if (isnan(characteristic_forward(c, any, any, input.high)))
		reject_within(in, "input", "high", "the characteristic does not reach this temperature");
}

static void term_read(struct json_in *in, size_t index, struct tolerance_term *out)
{
	struct json_in term;
	int kind;

	if (!json_in_element(in, "terms", index, &term))
		return;
	kind = json_in_word(&term, "kind", tolerance_words);
	if (kind >= 0)
		out->kind = (enum tolerance_kind)kind;
	out->plus = json_in_number(&term, "plus", 0, QUANTITY_MAX);
	out->minus = json_in_number_optional(&term, "minus", 0, QUANTITY_MAX, out->plus);
	json_in_end(&term);
	json_in_join(in, &term);
}

void tolerance_read(struct json_in *in, const char *name, struct tolerance *out)
{
	struct json_in object;
	int join;

	*out = (struct tolerance){0};
	if (!json_in_object(in, name, &object))
		return;
	out->n_terms = (int)json_array_size(json_in_array(&object, "terms", 1, TOLERANCE_TERMS_MAX));
	for (int i = 0; i < out->n_terms; i++)
		term_read(&object, (size_t)i, &out->terms[i]);
	join = json_in_word(&object, "join", join_words);
	if (join >= 0)
		out->join = (enum tolerance_join)join;
	json_in_end(&object);
	json_in_join(in, &object);
}

json_t *tolerance_to_json(const struct tolerance *t)
{
	json_t *terms;

	if (t->n_terms == 0)
		return json_null();
	terms = json_array();
	for (int i = 0; i < t->n_terms; i++)
		json_array_append_new(terms, json_pack("{s:s, s:f, s:f}", "kind", tolerance_words[t->terms[i].kind],
						       "plus", t->terms[i].plus, "minus", t->terms[i].minus));
	return json_pack("{s:o, s:s}", "terms", terms, "join", join_words[t->join]);
}

void decision_read(struct json_in *in, const char *name, struct decision_rule *out)
{
	struct json_in object;

	*out = (struct decision_rule){DECISION_SIMPLE, 1};
	if (!json_in_object(in, name, &object))
		return;
	if (json_in_word(&object, "rule", decision_words) == DECISION_GUARDED)
		out->kind = DECISION_GUARDED;
	out->guard_factor = json_in_number_optional(&object, "guard_factor", 0, 3, 1);
	json_in_end(&object);
	json_in_join(in, &object);
}

json_t *decision_to_json(const struct decision_rule *d)
{
	if (d->kind == DECISION_SIMPLE)
		return json_pack("{s:s}", "rule", decision_words[d->kind]);
	return json_pack("{s:s, s:f}", "rule", decision_words[d->kind], "guard_factor", d->guard_factor);
}
