/* Documents frozen into a record when it was opened: written once, read leniently, for what was valid then stays readable. */
#include <math.h>
#include <string.h>
#include "base/json.h"
#include "domain/spec_json.h"
#include "record_internal.h"

static const char *text(const json_t *o, const char *name, struct arena *a)
{
	return arena_strdup(a, json_string_value(json_object_get(o, name)));
}

static const char *text_or(const json_t *o, const char *name, const char *absent, struct arena *a)
{
	const char *s = text(o, name, a);

	return s ? s : absent;
}

static double number(const json_t *o, const char *name)
{
	const json_t *v = json_object_get(o, name);

	return json_is_number(v) ? json_number_value(v) : NAN;
}

static void read_quantity(const json_t *o, struct arena *a, const char **quantity, const char **unit,
			  struct range *range)
{
	*quantity = text_or(o, "quantity", "", a);
	*unit = text_or(o, "unit", "", a);
	range->low = number(o, "low");
	range->high = number(o, "high");
}

static void read_loop(const json_t *o, struct frozen_instrument *out)
{
	out->has_loop = json_is_object(o);
	if (!out->has_loop)
		return;
	out->loop.supply_v = number(o, "supply_v");
	out->loop.device_v = number(o, "device_v");
	out->loop.series_ohm = number(o, "series_ohm");
	out->loop.cable_ohm = number(o, "cable_ohm");
	out->hart = json_is_true(json_object_get(o, "hart"));
}

static enum status read_switch(json_t *o, struct frozen_instrument *out, struct err *err)
{
	struct json_in in;

	out->has_switch = json_is_object(o);
	if (!out->has_switch)
		return OK;
	json_in_begin(&in, o, err);
	switch_points_read(&in, &out->switch_points);
	return in.rc;
}

static enum status read_hazards(const json_t *list, struct arena *a, struct frozen_instrument *out, struct err *err)
{
	size_t n = json_array_size(list);

	out->hazards = arena_alloc(a, (n ? n : 1) * sizeof *out->hazards);
	if (!out->hazards)
		return err_set(err, NO_MEMORY, "", "out of memory");
	for (size_t i = 0; i < n; i++) {
		const char *s = arena_strdup(a, json_string_value(json_array_get(list, i)));

		if (s)
			out->hazards[out->n_hazards++] = s;
	}
	return OK;
}

enum status frozen_instrument_read(json_t *json, struct arena *a, struct frozen_instrument *out, struct err *err)
{
	struct json_in in;
	enum status rc;

	*out = (struct frozen_instrument){0};
	out->id = text_or(json, "id", "", a);
	out->tag = text_or(json, "tag", "", a);
	out->service = text_or(json, "service", "", a);
	out->kind = text_or(json, "kind", "", a);
	out->area = text_or(json, "area", "", a);
	out->location = text(json, "location", a);
	out->maker = text(json, "maker", a);
	out->model = text(json, "model", a);
	out->serial = text(json, "serial", a);
	read_quantity(json_object_get(json, "input"), a, &out->input_quantity, &out->input_unit, &out->input);
	read_quantity(json_object_get(json, "output"), a, &out->output_quantity, &out->output_unit, &out->output);
	read_loop(json_object_get(json, "loop"), out);
	rc = read_switch(json_object_get(json, "switch"), out, err);
	if (rc)
		return rc;
	rc = read_hazards(json_object_get(json, "hazards"), a, out, err);
	if (rc)
		return rc;
	json_in_begin(&in, json, err);
	characteristic_read(&in, "characteristic", &out->characteristic);
	return in.rc;
}

json_t *frozen_standard(const struct standard *s)
{
	const struct standard_calibration *c = &s->calibration;

	return json_pack("{s:s, s:s, s:s, s:o, s:o, s:o, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o}", "id",
			 s->id, "code", s->code, "name", s->name, "maker", json_text_or_null(s->maker), "model",
			 json_text_or_null(s->model), "serial", json_text_or_null(s->serial), "calibration_id", c->id,
			 "certificate_number", c->certificate_number, "issued_by", c->issued_by, "calibrated_on",
			 c->calibrated_on, "valid_until", c->valid_until, "traceability", c->traceability, "unit",
			 c->unit, "low", json_real(c->low), "high", json_real(c->high), "expanded_uncertainty",
			 json_real(c->expanded_uncertainty), "coverage_factor", json_real(c->coverage_factor));
}

void frozen_standard_read(const json_t *json, struct arena *a, struct record_standard *out)
{
	out->chosen = true;
	out->id = text_or(json, "id", "", a);
	out->code = text_or(json, "code", "", a);
	out->name = text_or(json, "name", "", a);
	out->maker = text(json, "maker", a);
	out->model = text(json, "model", a);
	out->serial = text(json, "serial", a);
	out->certificate_number = text_or(json, "certificate_number", "", a);
	out->issued_by = text_or(json, "issued_by", "", a);
	out->calibrated_on = text_or(json, "calibrated_on", "", a);
	out->valid_until = text_or(json, "valid_until", "", a);
	out->traceability = text_or(json, "traceability", "", a);
	out->unit = text_or(json, "unit", "", a);
	out->low = number(json, "low");
	out->high = number(json, "high");
	out->expanded_uncertainty = number(json, "expanded_uncertainty");
	out->coverage_factor = number(json, "coverage_factor");
}
