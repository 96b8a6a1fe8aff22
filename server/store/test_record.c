#include "store/test_record.h"

enum status store_record_add(struct db *db, const struct test_record *r, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO test_record (id, number, instrument_id, procedure_version_id, schedule_id, state, instrument_json,"
		" procedure_json, opened_by, opened_at, supersedes_id, amendment_reason)"
		" VALUES ($1, $2, $3, $4, $5, 'open', $6, $7, $8, $9, $10, coalesce($11, ''))");
	enum status rc;

	stmt_text(q, 1, r->id);
	stmt_text(q, 2, r->number);
	stmt_text(q, 3, r->instrument_id);
	stmt_text(q, 4, r->procedure_version_id);
	stmt_text(q, 5, r->schedule_id);
	stmt_text(q, 6, r->instrument_json);
	stmt_text(q, 7, r->procedure_json);
	stmt_text(q, 8, r->opened_by);
	stmt_int(q, 9, r->opened_at);
	stmt_text(q, 10, r->supersedes_id);
	stmt_text(q, 11, r->amendment_reason);
	rc = stmt_run(q, err);
	if (rc == CONFLICT && r->supersedes_id)
		return err_set(err, CONFLICT, "", "an amendment of this test is in hand already");
	return rc;
}

enum status store_record_amendment(struct db *db, const char *id, struct arena *a, struct amendment *out,
				   struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT id, number, state FROM test_record WHERE supersedes_id = $1"
				     " AND state <> 'void'");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*out = (struct amendment){col_text(q, 0, a), col_text(q, 1, a), col_text(q, 2, a)};
	stmt_done(q);
	return OK;
}

enum status store_record_first_test(struct db *db, const char *id, struct arena *a, struct first_test *out,
				    struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "WITH RECURSIVE before (id, amends) AS (SELECT id, supersedes_id FROM test_record"
				 " WHERE id = $1 UNION ALL SELECT r.id, r.supersedes_id FROM test_record r"
				 " JOIN before b ON r.id = b.amends)"
				 " SELECT r.id, r.schedule_id, r.performed_at, (SELECT s.name FROM signature s WHERE"
				 " s.test_record_id = r.id AND s.meaning = 'performed' ORDER BY s.at DESC LIMIT 1)"
				 " FROM test_record r"
				 " JOIN before b ON b.id = r.id WHERE b.amends IS NULL");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc)
		return rc == NOT_FOUND ? err_set(err, NOT_FOUND, "", "there is no such test record") : rc;
	*out = (struct first_test){col_text(q, 0, a), col_text(q, 1, a), col_int(q, 2), col_text(q, 3, a)};
	stmt_done(q);
	return OK;
}

enum status store_record_amendments(struct db *db, const char *number, int64_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT count(*) FROM test_record WHERE number LIKE $1 || '-A%'");
	enum status rc;

	stmt_text(q, 1, number);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*n = col_int(q, 0);
	stmt_done(q);
	return OK;
}

enum status store_record_get(struct db *db, const char *id, struct arena *a, struct test_record *out, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"SELECT r.id, r.number, r.instrument_id, r.procedure_version_id, r.schedule_id, r.state, r.instrument_json,"
		" r.procedure_json, r.condition, r.remarks, r.adjusted, r.adjustment, r.adjusted_by, j.name, r.adjusted_at,"
		" r.version, r.opened_by, o.name, r.opened_at, r.performed_at, r.content_sha256,"
		" r.supersedes_id, r.amendment_reason"
		" FROM test_record r JOIN person o ON o.id = r.opened_by LEFT JOIN person j ON j.id = r.adjusted_by"
		" WHERE r.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such test record");
	if (rc)
		return rc;
	out->id = col_text(q, 0, a);
	out->number = col_text(q, 1, a);
	out->instrument_id = col_text(q, 2, a);
	out->procedure_version_id = col_text(q, 3, a);
	out->schedule_id = col_text(q, 4, a);
	out->state = col_text(q, 5, a);
	out->instrument_json = col_text(q, 6, a);
	out->procedure_json = col_text(q, 7, a);
	out->condition = col_text(q, 8, a);
	out->remarks = col_text(q, 9, a);
	out->adjusted = col_is_null(q, 10) ? -1 : (int)col_int(q, 10);
	out->adjustment = col_text(q, 11, a);
	out->adjusted_by = col_text(q, 12, a);
	out->adjusted_by_name = col_text(q, 13, a);
	out->adjusted_at = col_int(q, 14);
	out->version = (int)col_int(q, 15);
	out->opened_by = col_text(q, 16, a);
	out->opened_by_name = col_text(q, 17, a);
	out->opened_at = col_int(q, 18);
	out->performed_at = col_int(q, 19);
	out->content_sha256 = col_text(q, 20, a);
	out->supersedes_id = col_text(q, 21, a);
	out->amendment_reason = col_text(q, 22, a);
	stmt_done(q);
	return OK;
}

enum status store_record_touch(struct db *db, const char *id, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE test_record SET version = version + 1 WHERE id = $1");

	stmt_text(q, 1, id);
	return stmt_run(q, err);
}

enum status store_record_touch_at(struct db *db, const char *id, int version, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE test_record SET version = version + 1 WHERE id = $1 AND version = $2");
	enum status rc;

	stmt_text(q, 1, id);
	stmt_int(q, 2, version);
	rc = stmt_run(q, err);
	if (!rc && db_changes(db) != 1)
		return err_set(err, STALE, "", "the test was changed meanwhile");
	return rc;
}

enum status store_record_set_notes(struct db *db, const char *id, const char *condition, const char *remarks,
				   struct err *err)
{
	struct stmt *q = db_stmt(
		db, "UPDATE test_record SET condition = $1, remarks = $2, version = version + 1 WHERE id = $3");

	stmt_text(q, 1, condition);
	stmt_text(q, 2, remarks);
	stmt_text(q, 3, id);
	return stmt_run(q, err);
}

enum status store_record_set_adjustment(struct db *db, const char *id, int made, const char *text,
					const char *person_id, int64_t at, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "UPDATE test_record SET adjusted = $1, adjustment = $2, adjusted_by = $3, adjusted_at = $4,"
		    " version = version + 1 WHERE id = $5");

	if (made >= 0) {
		stmt_int(q, 1, made);
		stmt_int(q, 4, at);
	}
	stmt_text(q, 2, text);
	stmt_text(q, 3, person_id);
	stmt_text(q, 5, id);
	return stmt_run(q, err);
}

enum status store_record_set_state(struct db *db, const char *id, const char *state, int64_t closed_at, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "UPDATE test_record SET state = $1, closed_at = $2, version = version + 1 WHERE id = $3");

	stmt_text(q, 1, state);
	if (closed_at)
		stmt_int(q, 2, closed_at);
	stmt_text(q, 3, id);
	return stmt_run(q, err);
}

enum status store_record_set_performed(struct db *db, const char *id, const struct record_outcome *o, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"UPDATE test_record SET state = 'performed', verdict_as_found = $1, verdict_as_left = $2, worst_as_found = $3,"
		" worst_as_left = $4, content_sha256 = $5, performed_at = $6, version = version + 1 WHERE id = $7");

	stmt_text(q, 1, o->verdict_as_found);
	stmt_text(q, 2, o->verdict_as_left);
	stmt_real(q, 3, o->worst_as_found);
	stmt_real(q, 4, o->worst_as_left);
	stmt_text(q, 5, o->content_sha256);
	stmt_int(q, 6, o->performed_at);
	stmt_text(q, 7, id);
	return stmt_run(q, err);
}

enum status store_record_set_returned(struct db *db, const char *id, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"UPDATE test_record SET state = 'returned', verdict_as_found = NULL, verdict_as_left = NULL, worst_as_found = NULL,"
		" worst_as_left = NULL, content_sha256 = NULL, performed_at = NULL, version = version + 1 WHERE id = $1");

	stmt_text(q, 1, id);
	return stmt_run(q, err);
}
