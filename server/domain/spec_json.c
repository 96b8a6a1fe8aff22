#include "domain/spec_json.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "metrology/unit.h"

/* By their enums in metrology/characteristic.h. */
static const char *const characteristic_words[] = {"linear",	   "square_root",	  "rtd",
						   "thermocouple", "callendar_van_dusen", "equal_percentage",
						   "table",	   "polynomial",	  NULL};
static const char *const thermocouple_words[] = {"K", "B", "E", "J", "N", "R", "S", "T", NULL};
static const char *const interpolation_words[] = {"linear", "monotone_cubic", NULL};
static const char *const tolerance_words[] = {"absolute", "percent_of_span", "percent_of_reading", "percent_of_high",
					      NULL};
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

/* Errors are resolved to 1e-12 of the larger end, so a narrower range would be nothing but their rounding. */
static bool range_wide_enough(struct range r)
{
	double span = fabs(range_span(r));

	return span >= SPAN_MIN && span >= 1e-9 * fmax(fabs(r.low), fabs(r.high));
}

void range_members_read(struct json_in *object, struct range *out, const char **unit)
{
	out->low = json_in_number(object, "low", -QUANTITY_MAX, QUANTITY_MAX);
	out->high = json_in_number(object, "high", -QUANTITY_MAX, QUANTITY_MAX);
	*unit = unit_read(object, "unit");
	if (out->low == out->high)
		json_in_reject(object, "high", "the range must not be empty: high is the same as low");
	else if (!range_wide_enough(*out))
		json_in_reject(object, "high",
			       "the range is too narrow: low and high differ by less than a "
			       "billionth of the larger one, or by less than 1e-12");
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

/* ---- characteristics ---- */

static void point_read(struct json_in *in, json_t *points, size_t i, struct characteristic *out)
{
	json_t *pair = json_array_get(points, i);
	double x = json_number_value(json_array_get(pair, 0)), y = json_number_value(json_array_get(pair, 1));

	if (json_array_size(pair) != 2 || !json_is_number(json_array_get(pair, 0)) ||
	    !json_is_number(json_array_get(pair, 1)))
		json_in_reject_element(in, "points", i, "a point is a pair of numbers, [input, output]");
	else if (!(fabs(x) <= QUANTITY_MAX) || !(fabs(y) <= QUANTITY_MAX))
		json_in_reject_element(in, "points", i, "the numbers must be between -1e+12 and 1e+12");
	else if (i > 0 && !(x > out->x[i - 1]))
		json_in_reject_element(in, "points", i, "the points' inputs must ascend from one to the next");
	out->x[i] = x;
	out->y[i] = y;
}

static void table_read(struct json_in *in, struct characteristic *out)
{
	json_t *points = json_in_array(in, "points", 2, TABLE_POINTS_MAX);

	out->n_points = (int)json_array_size(points);
	for (size_t i = 0; i < json_array_size(points); i++)
		point_read(in, points, i, out);
	if (json_in_word_optional(in, "interpolation", interpolation_words, INTERPOLATION_LINEAR) ==
	    INTERPOLATION_MONOTONE_CUBIC)
		out->interpolation = INTERPOLATION_MONOTONE_CUBIC;
}

static void polynomial_read(struct json_in *in, struct characteristic *out)
{
	json_t *list = json_in_array(in, "coefficients", 1, CHARACTERISTIC_TERMS_MAX);
	struct json_in at;

	out->n_coefficients = (int)json_array_size(list);
	for (size_t i = 0; i < json_array_size(list); i++) {
		out->coefficient[i] = json_number_value(json_array_get(list, i));
		if (!json_is_number(json_array_get(list, i)) || !(fabs(out->coefficient[i]) <= QUANTITY_MAX))
			json_in_reject_element(in, "coefficients", i, "a number between -1e+12 and 1e+12 is needed");
	}
	if (!json_in_object(in, "validity", &at))
		return;
	out->validity.low = json_in_number(&at, "low", -QUANTITY_MAX, QUANTITY_MAX);
	out->validity.high = json_in_number(&at, "high", -QUANTITY_MAX, QUANTITY_MAX);
	if (!(out->validity.low < out->validity.high))
		json_in_reject(&at, "high", "high must be above low");
	json_in_end(&at);
	json_in_join(in, &at);
}

static void members_read(struct json_in *in, struct characteristic *out)
{
	int type;

	switch (out->kind) {
	case CHARACTERISTIC_SQUARE_ROOT:
		out->cutoff = json_in_number_optional(in, "cutoff", 0, 50, 0);
		break;
	case CHARACTERISTIC_CALLENDAR_VAN_DUSEN:
		out->a = json_in_number(in, "a", 1e-4, 1e-1);
		out->b = json_in_number(in, "b", -1e-4, 1e-4);
		out->c = json_in_number(in, "c", -1e-8, 1e-8);
		/* fall through */
	case CHARACTERISTIC_RTD:
		out->r0 = json_in_number(in, "r0", 1, 1e5);
		break;
	case CHARACTERISTIC_THERMOCOUPLE:
		type = json_in_word(in, "type", thermocouple_words);
		out->type = type < 0 ? THERMOCOUPLE_K : (enum thermocouple_type)type;
		break;
	case CHARACTERISTIC_EQUAL_PERCENTAGE:
		out->rangeability = json_in_number(in, "rangeability", 1.01, 1000);
		out->linear_below = json_in_number_optional(in, "linear_below", 0, 50, 0);
		break;
	case CHARACTERISTIC_TABLE:
		table_read(in, out);
		break;
	case CHARACTERISTIC_POLYNOMIAL:
		polynomial_read(in, out);
		break;
	default:
		break;
	}
}

/* The member that characteristic_fault complains of when each member by itself is fine. */
static const char *faulty_member(enum characteristic_kind kind)
{
	return kind == CHARACTERISTIC_CALLENDAR_VAN_DUSEN ? "a" : "kind";
}

void characteristic_read(struct json_in *in, const char *name, struct characteristic *out)
{
	struct json_in object;
	const char *fault;
	int kind;

	*out = (struct characteristic){.kind = CHARACTERISTIC_LINEAR};
	if (!json_in_object(in, name, &object))
		return;
	kind = json_in_word(&object, "kind", characteristic_words);
	if (kind >= 0)
		out->kind = (enum characteristic_kind)kind;
	members_read(&object, out);
	fault = object.rc ? NULL : characteristic_fault(out);
	if (fault)
		json_in_reject(&object, faulty_member(out->kind), "%s", fault);
	json_in_end(&object);
	json_in_join(in, &object);
}

static json_t *points_to_json(const struct characteristic *c)
{
	json_t *list = json_array();

	for (int i = 0; i < c->n_points; i++)
		json_array_append_new(list, json_pack("[f, f]", c->x[i], c->y[i]));
	return list;
}

static json_t *polynomial_to_json(const struct characteristic *c)
{
	json_t *list = json_array();

	for (int i = 0; i < c->n_coefficients; i++)
		json_array_append_new(list, json_real(c->coefficient[i]));
	return json_pack("{s:s, s:o, s:{s:f, s:f}}", "kind", characteristic_words[c->kind], "coefficients", list,
			 "validity", "low", c->validity.low, "high", c->validity.high);
}

/* Members that say nothing, a cut-off of 0 and the like, are left out. */
json_t *characteristic_to_json(const struct characteristic *c)
{
	const char *kind = characteristic_words[c->kind];
	json_t *json;

	switch (c->kind) {
	case CHARACTERISTIC_RTD:
		return json_pack("{s:s, s:f}", "kind", kind, "r0", c->r0);
	case CHARACTERISTIC_CALLENDAR_VAN_DUSEN:
		return json_pack("{s:s, s:f, s:f, s:f, s:f}", "kind", kind, "r0", c->r0, "a", c->a, "b", c->b, "c",
				 c->c);
	case CHARACTERISTIC_THERMOCOUPLE:
		return json_pack("{s:s, s:s}", "kind", kind, "type", thermocouple_words[c->type]);
	case CHARACTERISTIC_TABLE:
		return json_pack("{s:s, s:o, s:s}", "kind", kind, "points", points_to_json(c), "interpolation",
				 interpolation_words[c->interpolation]);
	case CHARACTERISTIC_POLYNOMIAL:
		return polynomial_to_json(c);
	default:
		break;
	}
	json = json_pack("{s:s}", "kind", kind);
	if (c->kind == CHARACTERISTIC_SQUARE_ROOT && c->cutoff > 0)
		json_object_set_new(json, "cutoff", json_real(c->cutoff));
	if (c->kind == CHARACTERISTIC_EQUAL_PERCENTAGE)
		json_object_set_new(json, "rangeability", json_real(c->rangeability));
	if (c->kind == CHARACTERISTIC_EQUAL_PERCENTAGE && c->linear_below > 0)
		json_object_set_new(json, "linear_below", json_real(c->linear_below));
	return json;
}

static void reject_within(struct json_in *in, const char *object_name, const char *name, const char *sentence)
{
	struct json_in object;

	if (json_in_object(in, object_name, &object))
		json_in_reject(&object, name, "%s", sentence);
	json_in_join(in, &object);
}

/* Six digits of an end, towards the inside: what the sentence names can be typed. */
static void end_text(double end, bool low, const char *word, const char *unit, char *out, size_t size)
{
	char digits[32];
	double shown;

	if (!isfinite(end))
		return;
	snprintf(digits, sizeof digits, "%.6g", end);
	shown = strtod(digits, NULL);
	if (low ? shown < end : shown > end)
		snprintf(digits, sizeof digits, "%.6g", end + (low ? 1 : -1) * pow(10, floor(log10(fabs(end))) - 5));
	snprintf(out, size, " %s %s %s", word, digits, unit);
}

char *characteristic_reach(const struct characteristic *c, struct range input, bool inverse, struct range output,
			   const char *unit, char *out, size_t size)
{
	struct range r = inverse ? characteristic_image(c, input, output) : characteristic_domain(c, input);
	char text[CHARACTERISTIC_TEXT_SIZE], low[48] = "", high[48] = "";

	characteristic_text(c, text);
	end_text(r.low, true, "from", unit, low, sizeof low);
	end_text(r.high, false, "to", unit, high, sizeof high);
	if (isnan(r.low))
		snprintf(out, size, "%s does not rise or fall throughout, so an output does not tell the input", text);
	else
		snprintf(out, size, "%s reaches%s%s%s", text, low, high,
			 inverse && c->kind == CHARACTERISTIC_SQUARE_ROOT && c->cutoff > 0 ?
				 ", but gives nothing between there and the cut-off" :
				 "");
	return out;
}

void characteristic_check(struct json_in *in, const struct characteristic *c, struct range input,
			  const char *input_unit, const char *output_unit)
{
	static const struct range any = {0, 1};
	bool resistance = c->kind == CHARACTERISTIC_RTD || c->kind == CHARACTERISTIC_CALLENDAR_VAN_DUSEN;
	bool temperature = resistance || c->kind == CHARACTERISTIC_THERMOCOUPLE;
	char sentence[200];

	if (in->rc)
		return;
	characteristic_reach(c, input, false, any, input_unit, sentence, sizeof sentence);
	if (temperature && strcmp(input_unit, "°C") != 0)
		reject_within(in, "input", "unit", "with this characteristic the input is in °C");
	else if (temperature && strcmp(output_unit, resistance ? "ohm" : "mV") != 0)
		reject_within(in, "output", "unit",
			      resistance ? "a resistance thermometer gives ohm" : "a thermocouple gives mV");
	else if (isnan(characteristic_forward(c, input, any, input.low)))
		reject_within(in, "input", "low", sentence);
	else if (isnan(characteristic_forward(c, input, any, input.high)))
		reject_within(in, "input", "high", sentence);
}

/* ---- tolerances and decision rules ---- */

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

/* ---- switches ---- */

const char *const point_pattern_words[] = {"up", "up_down", "down", "down_up", "up_all", NULL};

static const char *const direction_words[] = {"rising", "falling", NULL};

const char *direction_word(enum direction d)
{
	return direction_words[d];
}

static void dead_band_read(struct json_in *object, struct switch_points *out)
{
	struct json_in at;

	out->dead_band = (struct limits){NAN, NAN};
	if (!json_in_has(object, "dead_band") || !json_in_object(object, "dead_band", &at))
		return;
	out->dead_band.low = json_in_number_optional(&at, "low", 0, QUANTITY_MAX, NAN);
	out->dead_band.high = json_in_number_optional(&at, "high", 0, QUANTITY_MAX, NAN);
	if (out->dead_band.low > out->dead_band.high)
		json_in_reject(&at, "high", "high must not be below low");
	json_in_end(&at);
	json_in_join(object, &at);
}

void switch_points_read(struct json_in *object, struct switch_points *out)
{
	out->set = json_in_number(object, "set_point", -QUANTITY_MAX, QUANTITY_MAX);
	out->reset = json_in_number_optional(object, "reset_point", -QUANTITY_MAX, QUANTITY_MAX, NAN);
	out->acts_on = json_in_word(object, "acts_on", direction_words) == FALLING ? FALLING : RISING;
	if (!switch_goes_back(out->acts_on, out->set, out->reset))
		json_in_reject(object, "reset_point", "a switch that acts on %s goes back %s its set point",
			       direction_word(out->acts_on), out->acts_on == FALLING ? "above" : "below");
	dead_band_read(object, out);
}

static json_t *dead_band_to_json(struct limits l)
{
	if (isnan(l.low) && isnan(l.high))
		return json_null();
	return json_pack("{s:o, s:o}", "low", json_number_or_null(l.low), "high", json_number_or_null(l.high));
}

json_t *switch_points_to_json(const struct switch_points *p)
{
	return json_pack("{s:f, s:o, s:s, s:o}", "set_point", p->set, "reset_point", json_number_or_null(p->reset),
			 "acts_on", direction_word(p->acts_on), "dead_band", dead_band_to_json(p->dead_band));
}
