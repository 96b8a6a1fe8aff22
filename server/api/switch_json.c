/* A run of actuations as JSON: what the data sheet says, each actuation, and what they say together. */
#include <math.h>
#include "base/json.h"
#include "domain/spec_json.h"
#include "metrology/format.h"
#include "record_json.h"

struct writer {
	const struct record_switch *s;
	const char *unit;
	int decimals, error_decimals;
};

static json_t *number(double v)
{
	return json_number_or_null(isfinite(v) ? v : NAN);
}

static json_t *shown_error(const struct writer *w, double v)
{
	char text[NUMBER_TEXT_SIZE];

	return isfinite(v) ? json_sprintf("%s %s", format_number(v, w->error_decimals, true, text), w->unit) :
			     json_null();
}

/* "±0.40 bar", "−0.20 to +0.40 bar" */
static json_t *shown_limits(const struct writer *w, struct limits l)
{
	char low[NUMBER_TEXT_SIZE], high[NUMBER_TEXT_SIZE];

	if (!isfinite(l.low) || !isfinite(l.high))
		return json_null();
	if (round_decimals(l.high, w->error_decimals) == round_decimals(-l.low, w->error_decimals))
		return json_sprintf("±%s %s", format_number(l.high, w->error_decimals, false, high), w->unit);
	return json_sprintf("%s to %s %s", format_number(l.low, w->error_decimals, true, low),
			    format_number(l.high, w->error_decimals, true, high), w->unit);
}

/* "0.50 to 1.50 bar", "at most 1.50 bar"; null without limits */
static json_t *shown_dead_band_limits(const struct writer *w)
{
	struct limits l = w->s->spec.dead_band;
	char low[NUMBER_TEXT_SIZE], high[NUMBER_TEXT_SIZE];

	format_number(l.low, w->error_decimals, false, low);
	format_number(l.high, w->error_decimals, false, high);
	if (isnan(l.low) && isnan(l.high))
		return json_null();
	if (isnan(l.low))
		return json_sprintf("at most %s %s", high, w->unit);
	if (isnan(l.high))
		return json_sprintf("at least %s %s", low, w->unit);
	return json_sprintf("%s to %s %s", low, high, w->unit);
}

static json_t *actuation_json(const struct writer *w, size_t i)
{
	const struct actuation *a = &w->s->actuations[i];
	const struct judged_actuation *j = &w->s->judged[i];

	return json_pack("{s:i, s:o, s:o, s:o, s:o, s:s, s:o, s:o, s:o, s:o, s:s, s:o, s:o, s:s}", "cycle", (int)i + 1,
			 "set", number(a->set), "shown_set", shown_quantity(a->set, w->decimals, w->unit), "set_error",
			 number(j->set_error), "shown_set_error", shown_error(w, j->set_error), "set_verdict",
			 verdict_word(j->set_verdict), "reset", number(a->reset), "shown_reset",
			 shown_quantity(a->reset, w->decimals, w->unit), "reset_error", number(j->reset_error),
			 "shown_reset_error", shown_error(w, j->reset_error), "reset_verdict",
			 verdict_word(j->reset_verdict), "dead_band", number(j->dead_band), "shown_dead_band",
			 shown_quantity(j->dead_band, w->error_decimals, w->unit), "dead_band_verdict",
			 verdict_word(j->dead_band_verdict));
}

/* {"value", "percent_of_span", "shown"}, null for none. */
static json_t *amount_json(const struct writer *w, double v, json_t *shown)
{
	double percent = v / fabs(range_span(w->s->spec.input)) * 100;

	if (!isfinite(v)) {
		json_decref(shown);
		return json_null();
	}
	return json_pack("{s:f, s:f, s:o}", "value", v, "percent_of_span", percent, "shown", shown);
}

static json_t *point_amount(const struct writer *w, double v)
{
	return amount_json(w, v, shown_quantity(v, w->error_decimals, w->unit));
}

static json_t *error_amount(const struct writer *w, double v)
{
	return amount_json(w, v, shown_error(w, v));
}

static json_t *summary_json(const struct writer *w)
{
	const struct switch_summary *s = &w->s->sum;

	if (w->s->n == 0)
		return json_null();
	return json_pack("{s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "verdict", verdict_word(s->verdict),
			 "set_verdict", verdict_word(s->set_verdict), "reset_verdict", verdict_word(s->reset_verdict),
			 "dead_band_verdict", verdict_word(s->dead_band_verdict), "set", point_amount(w, s->set),
			 "reset", point_amount(w, s->reset), "set_error", error_amount(w, s->set_error),
			 "max_set_error", error_amount(w, s->max_set_error), "dead_band", point_amount(w, s->dead_band),
			 "set_repeatability", point_amount(w, s->set_repeatability), "reset_repeatability",
			 point_amount(w, s->reset_repeatability));
}

json_t *run_switch_to_json(const struct record *r, const struct record_run *run)
{
	const struct record_switch *s = run->switched;
	struct switch_manner m;
	struct writer w;
	struct limits set, reset;
	json_t *list, *o;

	if (!s)
		return json_null();
	m = record_switch_manner(r, run);
	w = (struct writer){s, m.unit, m.decimals, m.error_decimals};
	set = tolerance_limits(&s->spec.tolerance, s->spec.input, s->spec.set_point);
	reset = tolerance_limits(&s->spec.tolerance, s->spec.input, s->spec.reset_point);
	list = json_array();
	for (size_t i = 0; i < s->n; i++)
		json_array_append_new(list, actuation_json(&w, i));
	o = switch_points_to_json(&r->instrument.switch_points);
	json_object_update_new(
		o,
		json_pack("{s:s, s:i, s:b, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "unit", w.unit,
			  "wanted", (int)s->wanted, "reads_reset", s->reads_reset, "shown_set_point",
			  shown_quantity(s->spec.set_point, m.decimals, w.unit), "shown_reset_point",
			  shown_quantity(s->spec.reset_point, m.decimals, w.unit), "shown_limits",
			  shown_limits(&w, set), "shown_reset_limits",
			  isnan(s->spec.reset_point) ? json_null() : shown_limits(&w, reset), "shown_dead_band_limits",
			  shown_dead_band_limits(&w), "limit_low", number(set.low), "limit_high", number(set.high),
			  "reset_limit_low", isnan(s->spec.reset_point) ? json_null() : number(reset.low),
			  "reset_limit_high", isnan(s->spec.reset_point) ? json_null() : number(reset.high),
			  "actuations", list, "summary", summary_json(&w)));
	return o;
}
