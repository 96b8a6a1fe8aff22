/* Cautions, checks, surroundings, notes and the adjustment of a test. */
#include "domain/record_edit.h"
#include <math.h>
#include <string.h>
#include "base/json.h"
#include "base/text.h"
#include "base/time.h"
#include "record_internal.h"

/* One edit: the record as it stands, known to be open. */
struct edit {
	struct db *db;
	const struct actor *actor;
	struct arena *a;
	struct err *err;
	struct record r;
};

static enum status edit_begin(struct edit *e, const char *id)
{
	enum status rc = record_load_for_edit(e->db, id, e->a, &e->r, e->err);

	if (rc)
		return rc;
	return record_must_be_open(&e->r, e->err);
}

/* Takes before and after; a change that went well raises the version and is noted. */
static enum status edit_end(struct edit *e, enum status rc, const char *action, json_t *before, json_t *after,
			    bool touch)
{
	if (!rc && touch)
		rc = store_record_touch(e->db, e->r.id, e->err);
	if (!rc) {
		rc = record_note(e->db, e->actor, &e->r, action, "", before, after, e->err);
	} else {
		json_decref(before);
		json_decref(after);
	}
	return rc;
}

enum status record_acknowledge(struct db *db, const struct actor *actor, const char *id, const char *key,
			       struct arena *a, struct err *err)
{
	struct edit e = {.db = db, .actor = actor, .a = a, .err = err};
	struct acknowledgement k = {.kind = "caution",
				    .key = key,
				    .answer = "acknowledged",
				    .person_id = actor->person_id,
				    .at = time_now_ms()};
	const struct record_caution *caution = NULL;
	enum status rc = edit_begin(&e, id);

	if (rc)
		return rc;
	for (size_t i = 0; i < e.r.n_cautions; i++)
		if (!strcmp(e.r.cautions[i].key, key))
			caution = &e.r.cautions[i];
	if (!caution)
		return err_set(err, NOT_FOUND, "", "this test has no such caution");
	if (caution->by)
		return OK; /* who read it first stays on file */
	rc = store_acknowledgement_put(db, id, &k, err);
	return edit_end(&e, rc, "acknowledge", NULL, json_pack("{s:s, s:s}", "caution", key, "text", caution->text),
			true);
}

static json_t *ambient_json(double temperature_c, double humidity_percent, double pressure_hpa)
{
	return json_pack("{s:o, s:o, s:o}", "temperature_c", json_number_or_null(temperature_c), "humidity_percent",
			 json_number_or_null(humidity_percent), "pressure_hpa", json_number_or_null(pressure_hpa));
}

enum status record_set_environment(struct db *db, const struct actor *actor, const char *id,
				   const struct ambient *ambient, struct arena *a, struct err *err)
{
	struct edit e = {.db = db, .actor = actor, .a = a, .err = err};
	struct environment row = {.temperature_c = ambient->temperature_c,
				  .humidity_percent = ambient->humidity_percent,
				  .pressure_hpa = ambient->pressure_hpa,
				  .at = time_now_ms()};
	enum status rc = edit_begin(&e, id);
	json_t *before;

	if (rc)
		return rc;
	before = e.r.has_environment ? ambient_json(e.r.temperature_c, e.r.humidity_percent, e.r.pressure_hpa) : NULL;
	rc = store_environment_put(db, id, &row, err);
	return edit_end(&e, rc, "change", before,
			ambient_json(row.temperature_c, row.humidity_percent, row.pressure_hpa), true);
}

enum status record_set_notes(struct db *db, const struct actor *actor, const char *id, const char *condition,
			     const char *remarks, struct arena *a, struct err *err)
{
	struct edit e = {.db = db, .actor = actor, .a = a, .err = err};
	enum status rc = edit_begin(&e, id);

	if (rc)
		return rc;
	condition = condition ? condition : e.r.condition;
	remarks = remarks ? remarks : e.r.remarks;
	rc = store_record_set_notes(db, id, condition, remarks, err);
	return edit_end(&e, rc, "change", json_pack("{s:s, s:s}", "condition", e.r.condition, "remarks", e.r.remarks),
			json_pack("{s:s, s:s}", "condition", condition, "remarks", remarks), false);
}

static json_t *check_json(const char *key, const char *text, const struct check_answer *k)
{
	return json_pack("{s:s, s:s, s:s, s:o, s:o}", "check", key, "text", text, "answer", k->answer, "observed",
			 json_text_or_null(k->observed), "note", json_text_or_null(k->note));
}

enum status record_answer_check(struct db *db, const struct actor *actor, const char *id, const char *key,
				const struct check_answer *answer, struct arena *a, struct err *err)
{
	struct edit e = {.db = db, .actor = actor, .a = a, .err = err};
	struct acknowledgement k = {.kind = "check",
				    .key = key,
				    .answer = answer->answer,
				    .observed = answer->observed,
				    .note = answer->note,
				    .person_id = actor->person_id,
				    .at = time_now_ms()};
	const struct record_check *check = NULL;
	enum status rc = edit_begin(&e, id);
	json_t *before = NULL;

	if (rc)
		return rc;
	for (size_t i = 0; i < e.r.n_checks; i++)
		if (!strcmp(e.r.checks[i].key, key))
			check = &e.r.checks[i];
	if (!check)
		return err_set(err, NOT_FOUND, "", "this test has no such check");
	rc = record_must_have_done(&e.r, PHASE_PROVE, err);
	if (rc)
		return rc;
	if (check->answer) {
		struct check_answer was = {check->answer, check->observed, check->note};

		before = check_json(key, check->text, &was);
	}
	rc = store_acknowledgement_put(db, id, &k, err);
	return edit_end(&e, rc, "answer", before, check_json(key, check->text, answer), true);
}

static json_t *adjustment_json(int made, const char *text)
{
	return made < 0 ? NULL : json_pack("{s:b, s:s}", "made", made, "text", text);
}

enum status record_set_adjustment(struct db *db, const struct actor *actor, const char *id, bool made, const char *text,
				  struct arena *a, struct err *err)
{
	struct edit e = {.db = db, .actor = actor, .a = a, .err = err};
	enum status rc = edit_begin(&e, id);

	if (!rc)
		rc = record_must_have_done(&e.r, PHASE_ADJUST, err);
	if (rc)
		return rc;
	if (made && (!text || !*text))
		return err_set(err, INVALID, "/text", "say what was adjusted");
	if (!made && e.r.adjusted == 1)
		return err_set(err, CONFLICT, "/made", "an adjustment was made: that stays in the record");
	text = text ? text : "";
	rc = store_record_set_adjustment(db, id, made, text, actor->person_id, time_now_ms(), err);
	return edit_end(&e, rc, "adjust", adjustment_json(e.r.adjusted, e.r.adjustment), adjustment_json(made, text),
			false);
}

enum status record_start_as_left(struct db *db, const struct actor *actor, const char *id, struct arena *a,
				 struct err *err)
{
	struct edit e = {.db = db, .actor = actor, .a = a, .err = err};
	struct run row = {.kind = "as_left", .attempt = 1, .started_by = actor->person_id, .started_at = time_now_ms()};
	enum status rc = edit_begin(&e, id);
	char run_id[UUID_SIZE];

	if (!rc)
		rc = record_must_have_done(&e.r, PHASE_AS_LEFT, err);
	if (!rc && e.r.adjusted != 1)
		rc = err_set(err, CONFLICT, "",
			     "an as-left run follows an adjustment; without one the as-found run stands for both");
	if (rc || e.r.runs[1].n_read == 0)
		return rc; /* the run in hand is still empty: nothing to start */
	row.attempt = e.r.runs[1].attempt + 1;
	uuid7(run_id);
	row.id = run_id;
	rc = store_run_add(db, id, &row, err);
	return edit_end(&e, rc, "start", NULL, json_pack("{s:s, s:i}", "run", "as_left", "attempt", row.attempt), true);
}
