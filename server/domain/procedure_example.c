/* The worked example beside a procedure: what its points and limits come to on a real instrument. */
#include <math.h>
#include <string.h>

#include "domain/procedure.h"
#include "domain/procedure_document.h"
#include "domain/spec_json.h"
#include "metrology/format.h"
#include "register.h"
#include "store/instrument.h"

#define DECIMALS_MOST 6

struct example {
	const char *tag, *input_unit, *output_unit;
	struct range input, output;
	struct characteristic characteristic;
};

static const struct example plain = {.input_unit = "mA", .output_unit = "%", .input = {4, 20}, .output = {0, 100}};

static enum status take_instrument(struct db *db, const char *id, struct arena *a, struct example *out, struct err *err)
{
	struct json_in in;
	struct instrument i;
	json_t *holder;
	enum status rc = store_instrument_get(db, id, a, &i, err);

	if (rc == NOT_FOUND)
		return err_set(err, INVALID, "instrument_id", "there is no such instrument");
	if (rc)
		return rc;
	*out = (struct example){.tag = i.tag,
				.input_unit = i.input_unit,
				.output_unit = i.output_unit,
				.input = i.input,
				.output = i.output};
	holder = json_pack("{s:o}", "characteristic", register_json(i.characteristic_json));
	json_in_begin(&in, holder, err);
	characteristic_read(&in, "characteristic", &out->characteristic);
	rc = json_in_end(&in);
	json_decref(holder);
	return rc;
}

/* The narrowest limits say how finely outputs must be shown. */
static int output_decimals(const struct example *e, const struct procedure_document *d, const struct test_point *points,
			   size_t n)
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

static json_t *point_to_json(const struct example *e, const struct procedure_document *d, const struct test_point *p,
			     int in_decimals, int out_decimals)
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

static json_t *example_to_json(const struct example *e, const struct procedure_document *d)
{
	const struct step *step = procedure_points_step(d);
	struct test_point points[READINGS_MAX];
	size_t n = points_generate(step->percent, step->n_percent, step->pattern, step->cycles, e->input, points,
				   READINGS_MAX);
	int in_decimals = decimals_for(fabs(range_span(e->input)) / 100);
	int out_decimals = output_decimals(e, d, points, n);
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(list, point_to_json(e, d, &points[i], in_decimals, out_decimals));
	return json_pack("{s:o, s:s, s:s, s:s?}", "points", list, "input_unit", e->input_unit, "output_unit",
			 e->output_unit, "tag", e->tag);
}

enum status procedure_example(struct db *db, json_t *document, const char *instrument_id, struct arena *a, json_t **out,
			      struct err *err)
{
	struct procedure_document d;
	struct example e = plain;
	enum status rc = procedure_document_read(document, a, &d, err);

	if (rc) {
		err_within(err, "document");
		return rc;
	}
	if (instrument_id)
		rc = take_instrument(db, instrument_id, a, &e, err);
	if (rc)
		return rc;
	*out = example_to_json(&e, &d);
	return *out ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}
