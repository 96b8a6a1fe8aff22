/* An amendment: the same test once more, with what it rests on, to be corrected and signed anew. */
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/time.h"
#include "domain/permission.h"
#include "domain/record_sign.h"
#include "record_internal.h"

struct amending {
	struct db *db;
	const struct actor *actor;
	struct arena *a;
	struct err *err;
	struct record_rows rows; /* of the record that is amended */
	const char *id;		 /* of the amendment */
};

static enum status must_be_amendable(const struct record *r, struct err *err)
{
	if (r->state != RECORD_CERTIFIED || !r->certificate_number)
		return err_set(err, CONFLICT, "", "only a certified test is amended: %s is %s", r->number,
			       record_state_word(r->state));
	if (r->certificate_replaced_by)
		return err_set(err, CONFLICT, "", "%s was amended already: amend %s", r->certificate_number,
			       r->certificate_replaced_by);
	if (strcmp(r->certificate_state, "current") != 0)
		return err_set(err, CONFLICT, "", "%s no longer stands: it is %s", r->certificate_number,
			       r->certificate_state);
	if (r->amended_by)
		return err_set(err, CONFLICT, "", "%s amends it already: finish that, or make it void",
			       r->amended_by_number);
	return OK;
}

/* "R-2026-00017-A1", of an amendment of an amendment "-A2". */
static enum status next_number(struct amending *m, const char *number, char out[40])
{
	const char *suffix = strstr(number, "-A");
	int length = suffix ? (int)(suffix - number) : (int)strlen(number);
	char first[40];
	int64_t n;
	enum status rc;

	snprintf(first, sizeof first, "%.*s", length, number);
	rc = store_record_amendments(m->db, first, &n, m->err);
	if (!rc)
		snprintf(out, 40, "%.30s-A%d", first, (int)(n + 1));
	return rc;
}

static enum status add_row(struct amending *m, const char *reason)
{
	const struct test_record *was = &m->rows.row;
	char number[40] = "", id[UUID_SIZE];
	struct test_record row = {.number = number,
				  .instrument_id = was->instrument_id,
				  .procedure_version_id = was->procedure_version_id,
				  .instrument_json = was->instrument_json,
				  .procedure_json = was->procedure_json,
				  .opened_by = m->actor->person_id,
				  .opened_at = was->opened_at, /* when the instrument was received does not change */
				  .supersedes_id = was->id,
				  .amendment_reason = reason};
	enum status rc = next_number(m, was->number, number);

	uuid7(id);
	m->id = row.id = arena_strdup(m->a, id);
	if (!rc)
		rc = store_record_add(m->db, &row, m->err);
	if (!rc)
		rc = store_record_set_notes(m->db, row.id, was->condition, was->remarks, m->err);
	if (!rc && was->adjusted >= 0)
		rc = store_record_set_adjustment(m->db, row.id, was->adjusted, was->adjustment, was->adjusted_by,
						 was->adjusted_at, m->err);
	return rc;
}

static enum status copy_answers(struct amending *m)
{
	enum status rc = OK;

	for (size_t i = 0; i < m->rows.n_answers && !rc; i++)
		rc = store_acknowledgement_put(m->db, m->id, &m->rows.answers[i], m->err);
	if (!rc)
		rc = store_standard_use_replace(m->db, m->id, m->rows.uses, m->rows.n_uses, m->err);
	if (!rc && m->rows.has_environment)
		rc = store_environment_put(m->db, m->id, &m->rows.environment, m->err);
	return rc;
}

static enum status copy_run(struct amending *m, size_t which)
{
	struct run run = m->rows.runs[which];
	char run_id[UUID_SIZE], id[UUID_SIZE];
	enum status rc;

	uuid7(run_id);
	run.id = run_id;
	rc = store_run_add(m->db, m->id, &run, m->err);
	for (size_t i = 0; i < m->rows.n_readings[which] && !rc; i++) {
		struct stored_reading d = m->rows.readings[which][i];

		uuid7(id);
		d.id = id;
		d.run_id = run_id;
		rc = store_reading_add(m->db, &d, m->err);
	}
	for (size_t i = 0; i < m->rows.n_dead_bands[which] && !rc; i++)
		rc = store_dead_band_put(m->db, run_id, &m->rows.dead_bands[which][i], m->err);
	return rc;
}

static enum status note(struct amending *m, const struct record *was, const char *reason)
{
	struct record now;
	enum status rc = record_load_for_edit(m->db, m->id, m->a, &now, m->err);

	return rc ? rc :
		    record_note(m->db, m->actor, &now, "amend", reason, NULL,
				json_pack("{s:s, s:s, s:s}", "number", now.number, "amends_record", was->number,
					  "amends_certificate", was->certificate_number),
				m->err);
}

enum status record_amend(struct db *db, const struct actor *actor, const char *id, const char *reason, struct arena *a,
			 const char **amendment, struct err *err)
{
	struct amending m = {.db = db, .actor = actor, .a = a, .err = err};
	struct record r;
	enum status rc;

	if (!permission_granted(actor->roles, PERM_REVIEW))
		return err_set(err, FORBIDDEN, "", "you may not amend a certificate");
	rc = record_load_for_edit(db, id, a, &r, err);
	if (!rc)
		rc = must_be_amendable(&r, err);
	if (!rc)
		rc = record_rows_read(db, id, a, &m.rows, err);
	if (!rc)
		rc = record_dead_band_rows(db, &r, &m.rows, a, err);
	if (!rc)
		rc = add_row(&m, reason);
	if (!rc)
		rc = copy_answers(&m);
	for (size_t i = 0; i < m.rows.n_runs && !rc; i++)
		rc = copy_run(&m, i);
	if (!rc)
		rc = note(&m, &r, reason);
	*amendment = m.id;
	return rc;
}
