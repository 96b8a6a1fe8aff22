/* Opening a test: what it is judged by is frozen here, once. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include "base/text.h"
#include "base/time.h"
#include "domain/instrument.h"
#include "domain/procedure.h"
#include "domain/record_edit.h"
#include "metrology/format.h"
#include "record_internal.h"
#include "store/counter.h"
#include "store/schedule.h"

struct opening {
	struct db *db;
	const struct actor *actor;
	struct arena *a;
	struct err *err;
	const char *schedule_id, *instrument_id, *procedure_id;
	const char *open_record_id; /* the schedule has one already */
	json_t *instrument, *procedure;
	const char *version_id;
};

/* What is named in the body but not there is the body's fault. */
static enum status named(enum status rc, const char *pointer, const char *thing, struct err *err)
{
	return rc == NOT_FOUND ? err_set(err, INVALID, pointer, "there is no such %s", thing) : rc;
}

static enum status take_schedule(struct opening *o, const char *id)
{
	struct schedule s;
	enum status rc = named(store_schedule_get(o->db, id, o->a, &s, o->err), "/schedule_id", "schedule", o->err);

	if (rc)
		return rc;
	if (!s.active)
		return err_set(o->err, CONFLICT, "/schedule_id", "the schedule of %s is not active", s.tag);
	o->schedule_id = s.id;
	o->instrument_id = s.instrument_id;
	o->procedure_id = s.procedure_id;
	o->open_record_id = s.open_record_id;
	return OK;
}

/* A test asked for by tag counts for the schedule of the same pair, if there is one. */
static enum status find_schedule(struct opening *o)
{
	struct schedule *list;
	size_t n;
	enum status rc = store_schedule_of_instrument(o->db, o->instrument_id, o->a, &list, &n, o->err);

	for (size_t i = 0; !rc && i < n; i++) {
		if (!list[i].active || strcmp(list[i].procedure_id, o->procedure_id) != 0)
			continue;
		o->schedule_id = list[i].id;
		o->open_record_id = list[i].open_record_id;
	}
	return rc;
}

static bool is_for_kind(const json_t *procedure, const char *kind)
{
	const json_t *kinds = json_object_get(json_object_get(procedure, "document"), "kinds");
	size_t i;
	json_t *k;

	json_array_foreach((json_t *)kinds, i, k)
		if (!strcmp(json_string_value(k), kind))
			return true;
	return false;
}

static bool asks_for_set_point(const json_t *procedure)
{
	const json_t *steps = json_object_get(json_object_get(procedure, "document"), "steps");
	size_t i;
	json_t *step;

	json_array_foreach((json_t *)steps, i, step)
		if (!strcmp(json_string_value(json_object_get(step, "kind")), "switch"))
			return true;
	return false;
}

static enum status freeze(struct opening *o)
{
	const char *tag, *kind;
	enum status rc = named(instrument_freeze(o->db, o->instrument_id, o->a, &o->instrument, o->err),
			       "/instrument_id", "instrument", o->err);

	if (!rc)
		rc = named(procedure_freeze(o->db, o->procedure_id, o->a, &o->procedure, &o->version_id, o->err),
			   "/procedure_id", "procedure", o->err);
	if (rc)
		return rc;
	tag = json_string_value(json_object_get(o->instrument, "tag"));
	kind = json_string_value(json_object_get(o->instrument, "kind"));
	if (!strcmp(json_string_value(json_object_get(o->instrument, "status")), "retired"))
		return err_set(o->err, CONFLICT, "", "%s is retired: nothing is tested on it any more", tag);
	if (!is_for_kind(o->procedure, kind))
		return err_set(o->err, CONFLICT, "", "procedure %s is not for an instrument of kind %s",
			       json_string_value(json_object_get(o->procedure, "code")), kind);
	if (asks_for_set_point(o->procedure) && !json_is_object(json_object_get(o->instrument, "switch")))
		return err_set(o->err, CONFLICT, "",
			       "%s has no set point in the register: enter it there, then open the test", tag);
	return OK;
}

static enum status next_number(struct opening *o, char number[24])
{
	char series[24], year[DATE_TEXT_SIZE];
	int64_t n;
	enum status rc;

	date_to_text(date_today(), year);
	year[4] = '\0';
	snprintf(series, sizeof series, "record-%s", year);
	rc = store_counter_next(o->db, series, &n, o->err);
	if (!rc)
		snprintf(number, 24, "R-%s-%05lld", year, (long long)n);
	return rc;
}

static enum status note_opening(struct opening *o, const struct test_record *row)
{
	struct record r = {.id = row->id, .number = row->number};

	r.instrument.tag = json_string_value(json_object_get(o->instrument, "tag"));
	return record_note(o->db, o->actor, &r, "add", "", NULL,
			   json_pack("{s:s, s:s, s:O, s:O, s:o}", "number", row->number, "instrument_id",
				     row->instrument_id, "procedure_code", json_object_get(o->procedure, "code"),
				     "procedure_version", json_object_get(o->procedure, "number"), "schedule_id",
				     json_text_or_null(row->schedule_id)),
			   o->err);
}

static enum status add(struct opening *o, const char **id)
{
	char number[24] = "", fresh[UUID_SIZE];
	struct test_record row = {.instrument_id = o->instrument_id,
				  .procedure_version_id = o->version_id,
				  .schedule_id = o->schedule_id,
				  .number = number,
				  .opened_by = o->actor->person_id,
				  .opened_at = time_now_ms()};
	enum status rc = next_number(o, number);

	if (rc)
		return rc;
	uuid7(fresh);
	row.id = arena_strdup(o->a, fresh);
	row.instrument_json = json_canonical(o->instrument, o->a);
	row.procedure_json = json_canonical(o->procedure, o->a);
	if (!row.id || !row.instrument_json || !row.procedure_json)
		return err_set(o->err, NO_MEMORY, "", "out of memory");
	rc = store_record_add(o->db, &row, o->err);
	if (!rc)
		rc = note_opening(o, &row);
	*id = row.id;
	return rc;
}

/* A point where the instrument has no expected output could never be read: said now rather than at the valve. */
static enum status must_have_outputs(struct opening *o, const char *id)
{
	char set[NUMBER_TEXT_SIZE];
	struct record r;
	enum status rc = record_load(o->db, id, o->a, &r, o->err);

	if (rc)
		return rc;
	for (size_t i = 0; !rc && i < r.runs[0].n_points; i++) {
		const struct record_point *p = &r.runs[0].points[i];

		if (!isfinite(p->expected) && !r.runs[0].switched)
			rc = err_set(o->err, CONFLICT, "",
				     "the characteristic of %s has no output at %s %s, a point of procedure %s",
				     r.instrument.tag, format_number(p->at.set, r.input_decimals, false, set),
				     r.instrument.input_unit, r.procedure_code);
	}
	return rc;
}

enum status record_open(struct db *db, const struct actor *actor, const struct record_opening *opening, struct arena *a,
			const char **id, bool *was_open, struct err *err)
{
	struct opening o = {.db = db,
			    .actor = actor,
			    .a = a,
			    .err = err,
			    .instrument_id = opening->instrument_id,
			    .procedure_id = opening->procedure_id};
	enum status rc = opening->schedule_id ? take_schedule(&o, opening->schedule_id) : find_schedule(&o);

	*was_open = !rc && o.open_record_id;
	if (*was_open) {
		*id = o.open_record_id;
		return OK;
	}
	if (!rc)
		rc = freeze(&o);
	if (!rc)
		rc = add(&o, id);
	if (!rc)
		rc = must_have_outputs(&o, *id);
	json_decref(o.instrument);
	json_decref(o.procedure);
	return rc;
}
