#include "domain/instrument.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "base/time.h"
#include "domain/spec_json.h"
#include "register.h"
#include "store/area.h"

#define RANGE_LIMIT 1e9 /* no end of a range is larger in magnitude */
#define HAZARDS_MAX 12

static const char *const kind_words[] = {"transmitter", "sensing_element", "indicator", "switch",
					 "analyser",	"control_valve",   NULL};
static const char *const status_words[] = {"in_service", "out_of_service", "retired", NULL};

static const char *word_of(struct json_in *in, const char *name, const char *const words[])
{
	int i = json_in_word(in, name, words);

	return words[i < 0 ? 0 : i];
}

static void read_quantity(struct json_in *in, const char *name, struct range *range, const char **quantity,
			  const char **unit)
{
	struct json_in at;

	*range = (struct range){NAN, NAN};
	*quantity = *unit = "";
	if (!json_in_object(in, name, &at))
		return;
	*quantity = json_in_text(&at, "quantity", 60);
	range_members_read(&at, range, unit);
	if (fabs(range->low) > RANGE_LIMIT)
		json_in_reject(&at, "low", "low must be between -1e9 and 1e9");
	if (fabs(range->high) > RANGE_LIMIT)
		json_in_reject(&at, "high", "high must be between -1e9 and 1e9");
	json_in_end(&at);
	json_in_join(in, &at);
}

static void read_loop(struct json_in *in, struct instrument *out)
{
	struct json_in at;

	if (!json_in_has(in, "loop") || !json_in_object(in, "loop", &at))
		return;
	out->has_loop = true;
	out->loop.supply_v = json_in_number(&at, "supply_v", 1, 100);
	out->loop.device_v = json_in_number(&at, "device_v", 0, 100);
	out->loop.series_ohm = json_in_number(&at, "series_ohm", 0, 10000);
	out->loop.cable_ohm = json_in_number(&at, "cable_ohm", 0, 10000);
	out->hart = json_in_bool(&at, "hart");
	json_in_end(&at);
	json_in_join(in, &at);
}

static void must_lie_in(struct json_in *at, const char *name, double v, const struct instrument *in)
{
	double low = fmin(in->input.low, in->input.high), high = fmax(in->input.low, in->input.high);

	if (v < low || v > high)
		json_in_reject(at, name, "%s must lie in the input's range", name);
}

/* The data sheet of a switch; what is none has none. */
static void read_switch(struct json_in *in, struct instrument *out)
{
	double span = fabs(range_span(out->input));
	struct json_in at;

	if (!json_in_has(in, "switch") || !json_in_object(in, "switch", &at))
		return;
	out->has_switch = true;
	switch_points_read(&at, &out->switch_points);
	must_lie_in(&at, "set_point", out->switch_points.set, out);
	must_lie_in(&at, "reset_point", out->switch_points.reset, out);
	if (out->switch_points.dead_band.low > span || out->switch_points.dead_band.high > span)
		json_in_reject(&at, "dead_band", "the dead band must not be wider than the input's range");
	json_in_end(&at);
	json_in_join(in, &at);
	if (strcmp(out->kind, "switch") != 0)
		json_in_reject(in, "switch", "only an instrument of kind switch has a set point");
}

/* Each text by the rules of one line, under its own pointer; kept as JSON text. */
static const char *read_hazards(struct json_in *in, struct arena *a)
{
	json_t *list = json_in_array(in, "hazards", 0, HAZARDS_MAX);
	const char *text;

	if (in->rc || !list)
		return "[]";
	for (size_t i = 0; i < json_array_size(list) && !in->rc; i++)
		register_text_element(in, "hazards", i, 300);
	text = json_canonical(list, a);
	if (!text && !in->rc)
		in->rc = err_set(in->err, NO_MEMORY, "", "out of memory");
	return text ? text : "[]";
}

static const char *kept_characteristic(struct json_in *in, const struct characteristic *c, struct arena *a)
{
	json_t *json = characteristic_to_json(c);
	const char *text = json ? json_canonical(json, a) : NULL;

	json_decref(json);
	if (!text && !in->rc)
		in->rc = err_set(in->err, NO_MEMORY, "", "out of memory");
	return text;
}

enum status instrument_from_json(json_t *body, struct arena *a, struct instrument *out, struct err *err)
{
	struct characteristic c;
	struct json_in in;

	json_in_begin(&in, body, err);
	*out = (struct instrument){
		.tag = json_in_text(&in, "tag", 40),
		.service = json_in_text(&in, "service", 120),
		.kind = word_of(&in, "kind", kind_words),
		.area_id = json_in_id(&in, "area_id"),
		.location = json_in_text_optional(&in, "location", 120),
		.maker = json_in_text_optional(&in, "maker", 80),
		.model = json_in_text_optional(&in, "model", 80),
		.serial = json_in_text_optional(&in, "serial", 80),
	};
	read_quantity(&in, "input", &out->input, &out->input_quantity, &out->input_unit);
	read_quantity(&in, "output", &out->output, &out->output_quantity, &out->output_unit);
	characteristic_read(&in, "characteristic", &c);
	characteristic_check(&in, &c, out->input, out->input_unit, out->output_unit);
	out->characteristic_json = kept_characteristic(&in, &c, a);
	read_loop(&in, out);
	read_switch(&in, out);
	out->hazards_json = read_hazards(&in, a);
	out->status = word_of(&in, "status", status_words);
	return json_in_end(&in);
}

static json_t *quantity_to_json(const char *quantity, struct range r, const char *unit)
{
	return json_pack("{s:s, s:f, s:f, s:s}", "quantity", quantity, "low", r.low, "high", r.high, "unit", unit);
}

static json_t *loop_to_json(const struct instrument *in)
{
	if (!in->has_loop)
		return json_null();
	return json_pack("{s:f, s:f, s:f, s:f, s:b}", "supply_v", in->loop.supply_v, "device_v", in->loop.device_v,
			 "series_ohm", in->loop.series_ohm, "cable_ohm", in->loop.cable_ohm, "hart", in->hart);
}

json_t *instrument_to_json(const struct instrument *in)
{
	return json_pack(
		"{s:s, s:s, s:s, s:s, s:s, s:s, s:s?, s:s?, s:s?, s:s?, s:o, s:o, s:o, s:o, s:o, s:o, s:s, s:i, s:o, s:o}",
		"id", in->id, "tag", in->tag, "service", in->service, "kind", in->kind, "area_id", in->area_id, "area",
		in->area, "location", in->location, "maker", in->maker, "model", in->model, "serial", in->serial,
		"input", quantity_to_json(in->input_quantity, in->input, in->input_unit), "output",
		quantity_to_json(in->output_quantity, in->output, in->output_unit), "characteristic",
		register_json(in->characteristic_json), "loop", loop_to_json(in), "switch",
		in->has_switch ? switch_points_to_json(&in->switch_points) : json_null(), "hazards",
		register_json(in->hazards_json), "status", in->status, "version", in->version, "created_at",
		json_time_or_null(in->created_at), "updated_at", json_time_or_null(in->updated_at));
}

json_t *instrument_summary_to_json(const struct instrument_summary *in)
{
	return json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:s, s:s?, s:s?}", "id", in->id, "tag", in->tag,
			 "service", in->service, "kind", in->kind, "area_id", in->area_id, "area", in->area, "input",
			 quantity_to_json(in->input_quantity, in->input, in->input_unit), "output",
			 quantity_to_json(in->output_quantity, in->output, in->output_unit), "status", in->status,
			 "due_on", in->due_on, "last_verdict", in->last_verdict);
}

enum status instrument_freeze(struct db *db, const char *id, struct arena *a, json_t **out, struct err *err)
{
	struct instrument in;
	enum status rc = store_instrument_get(db, id, a, &in, err);

	if (rc)
		return rc;
	*out = instrument_to_json(&in);
	return *out ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

static enum status check_area(struct db *db, const char *area_id, struct arena *a, struct err *err)
{
	struct area area;
	enum status rc = store_area_get(db, area_id, a, &area, err);

	return rc == NOT_FOUND ? err_set(err, INVALID, "area_id", "there is no such area") : rc;
}

enum status instrument_add(struct db *db, const struct actor *actor, struct instrument *in, struct arena *a,
			   struct err *err)
{
	char id[UUID_SIZE];
	enum status rc = check_area(db, in->area_id, a, err);

	if (rc)
		return rc;
	uuid7(id);
	in->id = arena_strdup(a, id);
	in->created_at = in->updated_at = time_now_ms();
	rc = store_instrument_add(db, in, err);
	if (!rc)
		rc = store_instrument_get(db, id, a, in, err);
	if (rc)
		return rc;
	return register_note(db, actor, "add", "instrument", in->id, in->tag, NULL, instrument_to_json(in), err);
}

enum status instrument_change(struct db *db, const struct actor *actor, struct instrument *in, struct arena *a,
			      struct err *err)
{
	struct instrument before;
	enum status rc = store_instrument_get(db, in->id, a, &before, err);

	if (!rc)
		rc = check_area(db, in->area_id, a, err);
	if (rc)
		return rc;
	in->updated_at = time_now_ms();
	rc = store_instrument_update(db, in, err);
	if (!rc)
		rc = store_instrument_get(db, before.id, a, in, err);
	if (rc)
		return rc;
	return register_note(db, actor, "change", "instrument", in->id, in->tag, instrument_to_json(&before),
			     instrument_to_json(in), err);
}
