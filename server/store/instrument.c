#include "store/instrument.h"

#include <math.h>
#include <string.h>

#include "store/list.h"

static enum status tagged(enum status rc, const struct instrument *in, struct err *err)
{
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "tag", "the tag %s is already in use", in->tag);
	return rc;
}

/* Parameters 1 to 30, the same in INSERT and UPDATE. */
static void bind_instrument(struct stmt *q, const struct instrument *in)
{
	stmt_text(q, 1, in->tag);
	stmt_text(q, 2, in->service);
	stmt_text(q, 3, in->kind);
	stmt_text(q, 4, in->area_id);
	stmt_text(q, 5, in->location);
	stmt_text(q, 6, in->maker);
	stmt_text(q, 7, in->model);
	stmt_text(q, 8, in->serial);
	stmt_text(q, 9, in->input_quantity);
	stmt_real(q, 10, in->input.low);
	stmt_real(q, 11, in->input.high);
	stmt_text(q, 12, in->input_unit);
	stmt_text(q, 13, in->output_quantity);
	stmt_real(q, 14, in->output.low);
	stmt_real(q, 15, in->output.high);
	stmt_text(q, 16, in->output_unit);
	stmt_text(q, 17, in->characteristic_json);
	stmt_real(q, 18, in->has_loop ? in->loop.supply_v : NAN);
	stmt_real(q, 19, in->has_loop ? in->loop.device_v : NAN);
	stmt_real(q, 20, in->has_loop ? in->loop.series_ohm : NAN);
	stmt_real(q, 21, in->has_loop ? in->loop.cable_ohm : NAN);
	stmt_bool(q, 22, in->has_loop && in->hart);
	stmt_text(q, 23, in->hazards_json);
	stmt_text(q, 24, in->status);
	stmt_int(q, 25, in->updated_at);
	stmt_real(q, 26, in->has_switch ? in->switch_points.set : NAN);
	stmt_real(q, 27, in->has_switch ? in->switch_points.reset : NAN);
	stmt_text(q, 28, in->has_switch ? (in->switch_points.acts_on == FALLING ? "falling" : "rising") : NULL);
	stmt_real(q, 29, in->has_switch ? in->switch_points.dead_band.low : NAN);
	stmt_real(q, 30, in->has_switch ? in->switch_points.dead_band.high : NAN);
}

enum status store_instrument_add(struct db *db, const struct instrument *in, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO instrument (tag, service, kind, area_id, location, maker, model, serial,"
		" input_quantity, input_low, input_high, input_unit, output_quantity, output_low, output_high, output_unit,"
		" characteristic_json, supply_v, device_v, series_ohm, cable_ohm, hart, hazards_json, status, updated_at,"
		" set_point, reset_point, acts_on, dead_band_low, dead_band_high, id, created_at, version)"
		" VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20,"
		" $21, $22, $23, $24, $25, $26, $27, $28, $29, $30, $31, $32, 1)");

	bind_instrument(q, in);
	stmt_text(q, 31, in->id);
	stmt_int(q, 32, in->created_at);
	return tagged(stmt_run(q, err), in, err);
}

enum status store_instrument_update(struct db *db, const struct instrument *in, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"UPDATE instrument SET tag = $1, service = $2, kind = $3, area_id = $4, location = $5, maker = $6, model = $7,"
		" serial = $8, input_quantity = $9, input_low = $10, input_high = $11, input_unit = $12, output_quantity = $13,"
		" output_low = $14, output_high = $15, output_unit = $16, characteristic_json = $17, supply_v = $18,"
		" device_v = $19, series_ohm = $20, cable_ohm = $21, hart = $22, hazards_json = $23, status = $24,"
		" updated_at = $25, set_point = $26, reset_point = $27, acts_on = $28, dead_band_low = $29, dead_band_high = $30,"
		" version = version + 1 WHERE id = $31 AND version = $32");

	bind_instrument(q, in);
	stmt_text(q, 31, in->id);
	stmt_int(q, 32, in->version);
	return store_changed_one(db, tagged(stmt_run(q, err), in, err), err);
}

static double or_zero(double v)
{
	return isnan(v) ? 0 : v;
}

static enum direction acts_on(const char *word)
{
	return word && !strcmp(word, "falling") ? FALLING : RISING;
}

static void read_instrument(struct stmt *q, struct arena *a, struct instrument *out)
{
	*out = (struct instrument){
		.id = col_text(q, 0, a),
		.tag = col_text(q, 1, a),
		.service = col_text(q, 2, a),
		.kind = col_text(q, 3, a),
		.area_id = col_text(q, 4, a),
		.area = col_text(q, 5, a),
		.location = col_text(q, 6, a),
		.maker = col_text(q, 7, a),
		.model = col_text(q, 8, a),
		.serial = col_text(q, 9, a),
		.input_quantity = col_text(q, 10, a),
		.input = {col_real(q, 11), col_real(q, 12)},
		.input_unit = col_text(q, 13, a),
		.output_quantity = col_text(q, 14, a),
		.output = {col_real(q, 15), col_real(q, 16)},
		.output_unit = col_text(q, 17, a),
		.characteristic_json = col_text(q, 18, a),
		.has_loop = !col_is_null(q, 19),
		.loop = {or_zero(col_real(q, 19)), or_zero(col_real(q, 20)), or_zero(col_real(q, 21)),
			 or_zero(col_real(q, 22))},
		.hart = col_bool(q, 23),
		.hazards_json = col_text(q, 24, a),
		.status = col_text(q, 25, a),
		.version = (int)col_int(q, 26),
		.created_at = col_int(q, 27),
		.updated_at = col_int(q, 28),
		.has_switch = !col_is_null(q, 29),
		.switch_points = {.set = col_real(q, 29),
				  .reset = col_real(q, 30),
				  .acts_on = acts_on(col_text(q, 31, a)),
				  .dead_band = {col_real(q, 32), col_real(q, 33)}},
	};
}

enum status store_instrument_get(struct db *db, const char *id, struct arena *a, struct instrument *out,
				 struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"SELECT i.id, i.tag, i.service, i.kind, i.area_id, a.name, i.location, i.maker, i.model, i.serial,"
		" i.input_quantity, i.input_low, i.input_high, i.input_unit, i.output_quantity, i.output_low, i.output_high,"
		" i.output_unit, i.characteristic_json, i.supply_v, i.device_v, i.series_ohm, i.cable_ohm, i.hart, i.hazards_json,"
		" i.status, i.version, i.created_at, i.updated_at, i.set_point, i.reset_point, i.acts_on, i.dead_band_low,"
		" i.dead_band_high"
		" FROM instrument i JOIN area a ON a.id = i.area_id WHERE i.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such instrument");
	if (rc)
		return rc;
	read_instrument(q, a, out);
	stmt_done(q);
	return OK;
}

static void read_summary(struct stmt *q, struct arena *a, struct instrument_summary *out)
{
	*out = (struct instrument_summary){
		.id = col_text(q, 0, a),
		.tag = col_text(q, 1, a),
		.service = col_text(q, 2, a),
		.kind = col_text(q, 3, a),
		.area_id = col_text(q, 4, a),
		.area = col_text(q, 5, a),
		.status = col_text(q, 6, a),
		.input_quantity = col_text(q, 7, a),
		.input = {col_real(q, 8), col_real(q, 9)},
		.input_unit = col_text(q, 10, a),
		.output_quantity = col_text(q, 11, a),
		.output = {col_real(q, 12), col_real(q, 13)},
		.output_unit = col_text(q, 14, a),
		.due_on = col_text(q, 15, a),
		.last_verdict = col_text(q, 16, a),
	};
}

/*
 * Walks the index of tags from the cursor on, so a page costs the same wherever it lies; the area is looked up by key for
 * each row (CROSS JOIN keeps the planner from turning that around and sorting).
 */
enum status store_instrument_list(struct db *db, const struct instrument_filter *filter, struct arena *a,
				  struct instrument_summary **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"SELECT i.id, i.tag, i.service, i.kind, i.area_id, a.name, i.status,"
		" i.input_quantity, i.input_low, i.input_high, i.input_unit,"
		" i.output_quantity, i.output_low, i.output_high, i.output_unit,"
		" CASE WHEN i.status <> 'retired' THEN"
		"  (SELECT min(s.due_on) FROM schedule s WHERE s.instrument_id = i.id AND +s.active = 1) END,"
		" (SELECT r.verdict_as_found FROM test_record r INDEXED BY test_record_by_instrument WHERE r.instrument_id = i.id"
		"  AND r.state IN ('performed', 'reviewed', 'certified') ORDER BY r.opened_at DESC LIMIT 1)"
		" FROM instrument i INDEXED BY instrument_by_tag CROSS JOIN area a ON a.id = i.area_id"
		" WHERE lower(i.tag) > lower($1)"
		" AND ($2 IS NULL OR i.area_id IN (WITH RECURSIVE sub (id) AS (SELECT $2"
		"  UNION SELECT c.id FROM area c JOIN sub ON c.parent_id = sub.id) SELECT id FROM sub))"
		" AND ($3 IS NULL OR i.kind = $3) AND ($4 IS NULL OR i.status = $4)"
		" AND ($5 IS NULL OR lower(i.tag) LIKE $5 ESCAPE '\\' OR lower(i.service) LIKE $5 ESCAPE '\\')"
		" ORDER BY lower(i.tag) LIMIT $6");
	size_t most = (size_t)filter->limit + 1, count = 0;
	struct instrument_summary *list = arena_alloc(a, most * sizeof *list);
	enum status rc = OK;

	if (!list)
		return store_no_memory(err);
	stmt_text(q, 1, filter->after ? filter->after : "");
	stmt_text(q, 2, filter->area_id);
	stmt_text(q, 3, filter->kind);
	stmt_text(q, 4, filter->status);
	stmt_text(q, 5, search_pattern(filter->q, a));
	stmt_int(q, 6, (int64_t)most);
	while (count < most && (rc = stmt_step(q, err)) == OK)
		read_summary(q, a, &list[count++]);
	stmt_done(q);
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}
