/* The worked example beside a procedure: what its points and limits come to on a real instrument. */
#include <math.h>
#include <string.h>

#include "domain/procedure.h"
#include "domain/procedure_document.h"
#include "domain/spec_json.h"
#include "metrology/format.h"
#include "record_internal.h"
#include "register.h"
#include "store/instrument.h"

#define DECIMALS_MOST 6

static const struct frozen_instrument plain = {.input_unit = "mA",
					       .output_unit = "%",
					       .input = {4, 20},
					       .output = {0, 100}};
static const struct frozen_instrument plain_switch = {
	.input_unit = "bar",
	.output_unit = "bar",
	.input = {0, 10},
	.output = {0, 10},
	.has_switch = true,
	.switch_points = {.set = 6, .reset = NAN, .dead_band = {NAN, NAN}}};

static enum status take_instrument(struct db *db, const char *id, struct arena *a, struct frozen_instrument *out,
				   struct err *err)
{
	struct json_in in;
	struct instrument i;
	json_t *holder;
	enum status rc = store_instrument_get(db, id, a, &i, err);

	if (rc == NOT_FOUND)
		return err_set(err, INVALID, "instrument_id", "there is no such instrument");
	if (rc)
		return rc;
	*out = (struct frozen_instrument){.tag = i.tag,
					  .input_unit = i.input_unit,
					  .output_unit = i.output_unit,
					  .input = i.input,
					  .output = i.output,
					  .has_switch = i.has_switch,
					  .switch_points = i.switch_points};
	holder = json_pack("{s:o}", "characteristic", register_json(i.characteristic_json));
	json_in_begin(&in, holder, err);
	characteristic_read(&in, "characteristic", &out->characteristic);
	rc = json_in_end(&in);
	json_decref(holder);
	return rc;
}

/* The narrowest limits say how finely outputs must be shown. */
static int output_decimals(const struct frozen_instrument *e, const struct procedure_document *d,
			   const struct test_point *points, size_t n)
{
	double narrowest = fabs(range_span(e->output)) / 10;

	for (size_t i = 0; i < n; i++) {
		double expected = characteristic_forward(&e->characteristic, e->input, e->output, points[i].set);
		struct limits limits = tolerance_limits(&d->as_found, e->output, expected);
		double half = (limits.high - limits.low) / 2;

		if (isfinite(half) && half > 0 && half < narrowest)
			narrowest = half;
	}
	return decimals_for(narrowest) < DECIMALS_MOST ? decimals_for(narrowest) : DECIMALS_MOST;
}

static json_t *point_to_json(const struct frozen_instrument *e, const struct procedure_document *d,
			     const struct test_point *p, int in_decimals, int out_decimals)
{
	double expected = characteristic_forward(&e->characteristic, e->input, e->output, p->set);
	struct limits limits = tolerance_limits(&d->as_found, e->output, expected);
	char set[NUMBER_TEXT_SIZE], shown[NUMBER_TEXT_SIZE], low[NUMBER_TEXT_SIZE], high[NUMBER_TEXT_SIZE],
		limit_low[NUMBER_TEXT_SIZE], limit_high[NUMBER_TEXT_SIZE];

	return json_pack("{s:f, s:s, s:f, s:o, s:o, s:s, s:s, s:s, s:s, s:s, s:s}", "percent", p->percent, "direction",
			 p->direction == RISING ? "rising" : "falling", "set", p->set, "limit_low",
			 json_number_or_null(limits.low), "limit_high", json_number_or_null(limits.high), "shown_set",
			 format_number(p->set, in_decimals, false, set), "shown_expected",
			 format_number(expected, out_decimals, false, shown), "shown_low",
			 format_number(expected + limits.low, out_decimals, false, low), "shown_high",
			 format_number(expected + limits.high, out_decimals, false, high), "shown_limit_low",
			 format_number(limits.low, out_decimals, true, limit_low), "shown_limit_high",
			 format_number(limits.high, out_decimals, true, limit_high));
}

static json_t *text_or_null(double v, int decimals)
{
	char text[NUMBER_TEXT_SIZE];

	return isfinite(v) ? json_string(format_number(v, decimals, false, text)) : json_null();
}

/* Where it goes back without a reset point: as the dead band allows when it acts right at its set point. */
static json_t *reset_to_json(const struct frozen_instrument *e, const struct test_point *p, int decimals)
{
	struct limits allowed = step_allowed_reset(&e->switch_points, e->switch_points.set);

	return json_pack("{s:f, s:s, s:f, s:n, s:n, s:n, s:n, s:o, s:o, s:n, s:n}", "percent", p->percent, "direction",
			 direction_word(p->direction), "set", p->set, "limit_low", "limit_high", "shown_set",
			 "shown_expected", "shown_low", text_or_null(allowed.low, decimals), "shown_high",
			 text_or_null(allowed.high, decimals), "shown_limit_low", "shown_limit_high");
}

/* Of a switch one actuation says it all. */
static json_t *points_to_json(const struct frozen_instrument *e, const struct procedure_document *d,
			      const struct step *step)
{
	bool is_switch = step->kind == STEP_SWITCH;
	struct test_point points[READINGS_MAX];
	size_t n = step_points(step, e, points);
	int in_decimals = decimals_for(fabs(range_span(e->input)) / 100);
	int out_decimals = output_decimals(e, d, points, n);
	json_t *list = json_array();

	if (is_switch)
		in_decimals = out_decimals;
	for (size_t i = 0; i < n && !(is_switch && points[i].cycle > 1); i++) {
		bool open = is_switch && isnan(e->switch_points.reset) &&
			    points[i].direction != e->switch_points.acts_on;

		json_array_append_new(list, open ? reset_to_json(e, &points[i], out_decimals) :
						   point_to_json(e, d, &points[i], in_decimals, out_decimals));
	}
	return list;
}

static json_t *example_to_json(const struct frozen_instrument *e, const struct procedure_document *d)
{
	const struct step *step = procedure_judged_step(d);

	return json_pack("{s:o, s:s, s:s, s:s?, s:o}", "points", points_to_json(e, d, step), "input_unit",
			 e->input_unit, "output_unit", e->output_unit, "tag", e->tag, "switch",
			 step->kind == STEP_SWITCH ? switch_points_to_json(&e->switch_points) : json_null());
}

enum status procedure_example(struct db *db, json_t *document, const char *instrument_id, struct arena *a, json_t **out,
			      struct err *err)
{
	struct procedure_document d;
	struct frozen_instrument e;
	enum status rc = procedure_document_read(document, a, &d, err);

	if (rc) {
		err_within(err, "document");
		return rc;
	}
	e = procedure_judged_step(&d)->kind == STEP_SWITCH ? plain_switch : plain;
	if (instrument_id)
		rc = take_instrument(db, instrument_id, a, &e, err);
	if (!rc && procedure_judged_step(&d)->kind == STEP_SWITCH && !e.has_switch)
		rc = err_set(err, INVALID, "instrument_id", "%s has no set point in the register", e.tag);
	if (rc)
		return rc;
	if (procedure_judged_step(&d)->kind == STEP_SWITCH)
		record_switch_at_input(&e);
	*out = example_to_json(&e, &d);
	return *out ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}
