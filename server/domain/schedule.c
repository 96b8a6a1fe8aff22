#include "domain/schedule.h"

#include <string.h>

#include "base/text.h"
#include "base/time.h"
#include "domain/permission.h"
#include "domain/ledger.h"
#include "register.h"
#include "store/instrument.h"
#include "store/person.h"
#include "store/procedure.h"

static json_t *named(const char *id, const char *name)
{
	return id ? json_pack("{s:s, s:s?}", "id", id, "name", name) : json_null();
}

static json_t *open_record(const struct schedule *s)
{
	if (!s->open_record_id)
		return json_null();
	return json_pack("{s:s, s:s, s:s}", "id", s->open_record_id, "number", s->open_record_number, "state",
			 s->open_record_state);
}

json_t *schedule_to_json(const struct schedule *s, int32_t today)
{
	int32_t due = today;

	date_from_text(s->due_on, &due);
	return json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:b, s:i, s:s, s:i, s:o, s:s, s:b, s:o, s:i}",
			 "id", s->id, "instrument_id", s->instrument_id, "tag", s->tag, "service", s->service,
			 "area_id", s->area_id, "area", s->area, "procedure_id", s->procedure_id, "procedure_code",
			 s->procedure_code, "procedure_title", s->procedure_title, "runnable", s->runnable,
			 "interval_months", s->interval_months, "due_on", s->due_on, "days", (int)(due - today),
			 "assigned_to", named(s->assigned_to, s->assigned_name), "evidence", s->evidence, "active",
			 s->active, "open_record", open_record(s), "version", s->version);
}

enum status schedule_from_json(json_t *body, bool change, struct schedule *out, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, body, err);
	*out = (struct schedule){.active = true};
	if (!change) {
		out->instrument_id = json_in_id(&in, "instrument_id");
		out->procedure_id = json_in_id(&in, "procedure_id");
	}
	out->interval_months = json_in_integer(&in, "interval_months", 1, 120);
	out->due_on = json_in_date(&in, "due_on");
	out->assigned_to = json_in_id_optional(&in, "assigned_to");
	out->evidence = json_in_lines_optional(&in, "evidence", 1000);
	if (!out->evidence)
		out->evidence = "";
	if (change)
		out->active = json_in_bool(&in, "active");
	return json_in_end(&in);
}

/* The person may run a test, and still works here. */
static enum status check_person(struct db *db, const char *person_id, struct arena *a, struct err *err)
{
	struct person person;
	enum status rc = person_id ? store_person_get(db, person_id, a, &person, err) : OK;

	if (rc == NOT_FOUND)
		return err_set(err, INVALID, "assigned_to", "there is no such person");
	if (!rc && person_id && (!person.active || !permission_granted(person.roles, PERM_TEST)))
		return err_set(err, INVALID, "assigned_to", "%s does not run tests", person.name);
	return rc;
}

static enum status check_pair(struct db *db, const struct schedule *s, struct arena *a, struct err *err)
{
	struct instrument instrument;
	struct procedure procedure;
	enum status rc = store_instrument_get(db, s->instrument_id, a, &instrument, err);

	if (rc == NOT_FOUND)
		return err_set(err, INVALID, "instrument_id", "there is no such instrument");
	if (rc)
		return rc;
	rc = store_procedure_get(db, s->procedure_id, a, &procedure, err);
	return rc == NOT_FOUND ? err_set(err, INVALID, "procedure_id", "there is no such procedure") : rc;
}

enum status schedule_add(struct db *db, const struct actor *actor, struct schedule *s, struct arena *a, struct err *err)
{
	char id[UUID_SIZE];
	enum status rc = check_pair(db, s, a, err);

	if (!rc)
		rc = check_person(db, s->assigned_to, a, err);
	if (rc)
		return rc;
	uuid7(id);
	s->id = arena_strdup(a, id);
	s->created_at = s->updated_at = time_now_ms();
	rc = store_schedule_add(db, s, err);
	if (!rc)
		rc = store_schedule_get(db, id, a, s, err);
	if (rc)
		return rc;
	return register_note(db, actor, "add", "schedule", s->id, s->tag, NULL, schedule_to_json(s, date_today()), err);
}

enum status schedule_change(struct db *db, const struct actor *actor, struct schedule *s, struct arena *a,
			    struct err *err)
{
	struct schedule before;
	enum status rc = store_schedule_get(db, s->id, a, &before, err);

	if (!rc)
		rc = check_person(db, s->assigned_to, a, err);
	if (rc)
		return rc;
	s->updated_at = time_now_ms();
	rc = store_schedule_update(db, s, err);
	if (!rc)
		rc = store_schedule_get(db, before.id, a, s, err);
	if (rc)
		return rc;
	return register_note(db, actor, "change", "schedule", s->id, s->tag, schedule_to_json(&before, date_today()),
			     schedule_to_json(s, date_today()), err);
}

static enum status move_due_date(struct db *db, const struct actor *actor, const struct schedule *s, const char *due_on,
				 const char *label, const char *reason, struct err *err)
{
	struct ledger_note note = {
		.action = "change", .thing = "schedule", .thing_id = s->id, .label = label, .reason = reason};
	enum status rc = store_schedule_set_due(db, s->id, due_on, time_now_ms(), err);

	if (rc)
		return rc;
	note.before = json_pack("{s:s}", "due_on", s->due_on);
	note.after = json_pack("{s:s}", "due_on", due_on);
	rc = ledger_add(db, actor, &note, err);
	json_decref(note.before);
	json_decref(note.after);
	return rc;
}

enum status schedule_tested(struct db *db, const struct actor *actor, const char *id, int32_t day,
			    const char *record_number, struct arena *a, struct err *err)
{
	struct schedule s;
	char due_on[DATE_TEXT_SIZE];
	enum status rc = store_schedule_get(db, id, a, &s, err);

	if (rc)
		return rc;
	date_to_text(date_add_months(day, s.interval_months), due_on);
	return move_due_date(db, actor, &s, due_on, s.tag, record_number, err);
}

enum status schedule_tested_after_all(struct db *db, const struct actor *actor, const char *id, int32_t day,
				      const char *record_number, struct arena *a, struct err *err)
{
	struct schedule s;
	char due_on[DATE_TEXT_SIZE];
	enum status rc = store_schedule_get(db, id, a, &s, err);

	if (rc)
		return rc;
	date_to_text(date_add_months(day, s.interval_months), due_on);
	return strcmp(due_on, s.due_on) <= 0 ? OK : move_due_date(db, actor, &s, due_on, s.tag, record_number, err);
}

enum status schedule_taken_back(struct db *db, const struct actor *actor, const char *id, int32_t day,
				const char *reason, struct arena *a, struct err *err)
{
	char moved[DATE_TEXT_SIZE], back[DATE_TEXT_SIZE];
	struct schedule s;
	const char *label;
	enum status rc = store_schedule_get(db, id, a, &s, err);

	if (rc)
		return rc;
	date_to_text(date_add_months(day, s.interval_months), moved);
	if (strcmp(moved, s.due_on) != 0)
		return OK;
	date_to_text(day, back);
	label = arena_printf(a, "%s %s", s.tag, s.procedure_code);
	if (!label)
		return err_set(err, NO_MEMORY, "", "out of memory");
	return move_due_date(db, actor, &s, back, label, reason, err);
}
