#include <math.h>
#include <stdio.h>
#include <string.h>
#include "api/compute.h"
#include "base/json.h"
#include "metrology/format.h"
#include "record_json.h"

#define BAND_POINTS 25 /* enough for a smooth edge where the limits are curved */

json_t *shown_quantity(double v, int decimals, const char *unit)
{
	char number[NUMBER_TEXT_SIZE];

	if (!isfinite(v))
		return json_null();
	return json_sprintf("%s %s", format_number(v, decimals, false, number), unit);
}

json_t *shown_typed(const char *typed, const char *unit)
{
	if (*typed == '-')
		return json_sprintf("−%s %s", typed + 1, unit);
	return json_sprintf("%s %s", typed, unit);
}

/* The sentences that the record wrote of a switch, in place of those made for a curve. */
static void say_of_switch(const struct record_run *run, json_t *summary)
{
	json_object_set_new(summary, "sentence", json_string(run->sentence));
	json_object_set_new(summary, "diagnosis", json_array());
	json_object_set_new(json_object_get(summary, "adjustment"), "sentence", json_string(run->advice));
}

static json_t *summary_json(const struct run_manner *m, const struct record_run *run)
{
	json_t *o;

	if (run->n_read == 0)
		return json_null();
	o = evaluation_to_json(m, &run->sum, &run->diagnosis);
	if (run->switched)
		say_of_switch(run, o);
	else if (run->dead_band) /* the record's sentence says what the curve cannot */
		json_object_set_new(o, "sentence", json_string(run->sentence));
	return o;
}

static json_t *captured_json(const char *text)
{
	json_t *json = text ? json_loads(text, 0, NULL) : NULL;

	return json ? json : json_null();
}

static json_t *reading_json(const struct record *r, const struct run_manner *m, const struct record_run *run,
			    const struct record_point *p)
{
	char sentence[SENTENCE_SIZE];
	json_t *o;

	if (!p->read)
		return json_null();
	o = judged_reading_to_json(m, &p->reading, &p->judged);
	if (run->switched) {
		record_switch_reading_sentence(r, run, p, sentence);
		json_object_set_new(o, "sentence", json_string(sentence));
	}
	json_object_set_new(o, "id", json_string(p->reading_id));
	json_object_set_new(o, "applied", json_number_or_null(p->reading.applied));
	json_object_set_new(o, "observed", json_number_or_null(p->reading.observed));
	json_object_set_new(o, "shown_applied", shown_typed(p->applied_text, r->instrument.input_unit));
	json_object_set_new(o, "shown_observed", shown_typed(p->observed_text, r->instrument.output_unit));
	json_object_set_new(o, "taken_at", json_time_or_null(p->taken_at));
	json_object_set_new(o, "by", json_text_or_null(p->by));
	json_object_set_new(o, "client_verdict", json_text_or_null(p->client_verdict));
	json_object_set_new(o, "captured", captured_json(p->captured_json));
	return o;
}

static json_t *point_json(const struct record *r, const struct run_manner *m, const struct record_run *run,
			  size_t index)
{
	const struct record_point *p = &run->points[index];
	const char *in = r->instrument.input_unit, *out = r->instrument.output_unit;

	return json_pack("{s:I, s:f, s:f, s:o, s:o, s:o, s:o, s:s, s:i, s:o}", "index", (json_int_t)index, "percent",
			 p->at.percent, "set", p->at.set, "shown_set", shown_quantity(p->at.set, r->input_decimals, in),
			 "shown_expected", shown_quantity(p->expected, r->output_decimals, out), "shown_low",
			 shown_quantity(p->allowed.low, r->output_decimals, out), "shown_high",
			 shown_quantity(p->allowed.high, r->output_decimals, out), "direction",
			 p->at.direction == RISING ? "rising" : "falling", "cycle", p->at.cycle, "reading",
			 reading_json(r, m, run, p));
}

/* The lowest and highest input of the run. */
static struct range reach(const struct record_run *run, struct range input)
{
	struct range out = {fmin(input.low, input.high), fmax(input.low, input.high)};

	for (size_t i = 0; i < run->n_points; i++) {
		out.low = fmin(out.low, run->points[i].at.set);
		out.high = fmax(out.high, run->points[i].at.set);
	}
	return out;
}

/* Limits that are the same everywhere are drawn from end to end. */
static bool is_straight(const struct record *r, const struct record_run *run)
{
	for (int i = 0; i < run->tolerance->n_terms; i++) {
		if (run->tolerance->terms[i].kind == TOLERANCE_PERCENT_OF_READING)
			return false;
	}
	/* The guard band follows the uncertainty, and that the slope of the characteristic. */
	return r->procedure.decision.kind == DECISION_SIMPLE ||
	       r->instrument.characteristic.kind == CHARACTERISTIC_LINEAR;
}

static json_t *band_json(const struct record *r, const struct record_run *run)
{
	struct range over = reach(run, r->instrument.input);
	int n = is_straight(r, run) ? 2 : BAND_POINTS;
	json_t *band = json_array();

	for (int i = 0; i < n; i++) {
		double x = range_at(over, (double)i / (n - 1));
		struct limits limits, accept;

		record_band_at(r, run, x, &limits, &accept);
		json_array_append_new(band, json_pack("{s:f, s:o, s:o, s:o, s:o}", "x", x, "low",
						      json_number_or_null(limits.low), "high",
						      json_number_or_null(limits.high), "accept_low",
						      json_number_or_null(accept.low), "accept_high",
						      json_number_or_null(accept.high)));
	}
	return band;
}

static json_t *shown_percent(const struct run_manner *m, double v, bool has_sign)
{
	char text[NUMBER_TEXT_SIZE];

	return isfinite(v) ? json_sprintf("%s %%", format_number(v, m->percent_decimals, has_sign, text)) : json_null();
}

/* Of a run with several cycles, point by point in % of span. */
static json_t *averages_json(const struct record *r, const struct record_run *run, const struct run_manner *m)
{
	json_t *list = json_array();

	for (size_t i = 0; i < run->n_averages; i++) {
		const struct point_summary *p = &run->averages[i];

		json_array_append_new(
			list,
			json_pack("{s:f, s:o, s:i, s:o, s:o, s:o, s:o, s:o}", "set", p->set, "shown_set",
				  shown_quantity(p->set, r->input_decimals, r->instrument.input_unit), "readings",
				  p->readings, "shown_rising", shown_percent(m, p->rising, true), "shown_falling",
				  shown_percent(m, p->falling, true), "shown_mean", shown_percent(m, p->mean, true),
				  "shown_hysteresis", shown_percent(m, p->hysteresis, false), "shown_repeatability",
				  shown_percent(m, p->repeatability, false)));
	}
	return list;
}

json_t *run_to_json(const struct record *r, const struct record_run *run)
{
	const struct frozen_instrument *i = &r->instrument;
	struct test_setup setup = {.input = i->input,
				   .output = i->output,
				   .characteristic = i->characteristic,
				   .tolerance = *run->tolerance,
				   .decision = r->procedure.decision,
				   .error_at = procedure_judged_step(&r->procedure)->error_at};
	struct run_manner m = {&setup,
			       i->input_unit,
			       i->output_unit,
			       r->input_decimals,
			       r->output_decimals,
			       record_error_decimals(r, run),
			       record_percent_decimals(r, run)};
	bool begun = run->n_read > 0;
	json_t *points = json_array();
	char captured[CAPTURED_SIZE];

	record_captured_sentence(run, captured);
	for (size_t k = 0; k < run->n_points; k++)
		json_array_append_new(points, point_json(r, &m, run, k));
	return json_pack(
		"{s:s?, s:s, s:i, s:b, s:o, s:s?, s:s, s:s, s:s, s:f, s:f, s:i, s:i, s:o, s:o, s:o, s:o, s:o, s:o}",
		"id", begun ? run->id : NULL, "kind", run_kind_word(run->kind), "attempt", run->attempt, "complete",
		run->complete, "started_at", json_time_or_null(begun ? run->started_at : 0), "started_by",
		begun ? run->started_by : NULL, "captured", captured, "input_unit", i->input_unit, "output_unit",
		i->output_unit, "input_low", i->input.low, "input_high", i->input.high, "input_decimals",
		r->input_decimals, "output_decimals", r->output_decimals, "points", points, "band", band_json(r, run),
		"summary", summary_json(&m, run), "averages", averages_json(r, run, &m), "switch",
		run_switch_to_json(r, run), "dead_band", run_dead_band_to_json(r, run));
}
