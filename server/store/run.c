#include "store/run.h"

#include <math.h>

#include "store/list.h"

enum status store_run_add(struct db *db, const char *test_record_id, const struct run *r, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO run (id, test_record_id, kind, attempt, started_at, started_by)"
				     " VALUES ($1, $2, $3, $4, $5, $6)");

	stmt_text(q, 1, r->id);
	stmt_text(q, 2, test_record_id);
	stmt_text(q, 3, r->kind);
	stmt_int(q, 4, r->attempt);
	stmt_int(q, 5, r->started_at);
	stmt_text(q, 6, r->started_by);
	return stmt_run(q, err);
}

enum status store_run_list(struct db *db, const char *test_record_id, struct arena *a, struct run runs[2], size_t *n,
			   struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"SELECT r.id, r.kind, r.attempt, r.started_by, p.name, r.started_at FROM run r JOIN person p ON p.id = r.started_by"
		" WHERE r.test_record_id = $1 AND r.attempt = (SELECT max(m.attempt) FROM run m"
		" WHERE m.test_record_id = r.test_record_id AND m.kind = r.kind) ORDER BY r.kind");
	enum status rc = OK;
	size_t i = 0;

	stmt_text(q, 1, test_record_id);
	while (i < 2 && (rc = stmt_step(q, err)) == OK) {
		runs[i].id = col_text(q, 0, a);
		runs[i].kind = col_text(q, 1, a);
		runs[i].attempt = (int)col_int(q, 2);
		runs[i].started_by = col_text(q, 3, a);
		runs[i].started_by_name = col_text(q, 4, a);
		runs[i].started_at = col_int(q, 5);
		i++;
	}
	stmt_done(q);
	if (rc && rc != NOT_FOUND)
		return rc;
	*n = i;
	return OK;
}

enum status store_reading_add(struct db *db, const struct stored_reading *r, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO reading (id, run_id, point, set_point, direction, cycle, applied, applied_text, observed,"
		" observed_text, taken_at, received_at, person_id, client_verdict, input_u, output_u, captured_json)"
		" VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17)");
	enum status rc;

	stmt_text(q, 1, r->id);
	stmt_text(q, 2, r->run_id);
	stmt_int(q, 3, r->point);
	stmt_real(q, 4, r->set);
	stmt_text(q, 5, r->direction);
	stmt_int(q, 6, r->cycle);
	stmt_real(q, 7, r->applied);
	stmt_text(q, 8, r->applied_text);
	stmt_real(q, 9, r->observed);
	stmt_text(q, 10, r->observed_text);
	stmt_int(q, 11, r->taken_at);
	stmt_int(q, 12, r->received_at);
	stmt_text(q, 13, r->person_id);
	stmt_text(q, 14, r->client_verdict);
	stmt_real(q, 15, r->captured_json ? r->input_u : NAN);
	stmt_real(q, 16, r->captured_json ? r->output_u : NAN);
	stmt_text(q, 17, r->captured_json);
	rc = stmt_run(q, err);
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "/point", "this point has a reading already");
	return rc;
}

enum status store_reading_undo(struct db *db, const char *id, int64_t at, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE reading SET undone_at = $1 WHERE id = $2 AND undone_at IS NULL");

	stmt_int(q, 1, at);
	stmt_text(q, 2, id);
	return stmt_run(q, err);
}

enum status store_reading_list(struct db *db, const char *run_id, struct arena *a, struct stored_reading **items,
			       size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"SELECT d.id, d.point, d.set_point, d.direction, d.cycle, d.applied, d.applied_text, d.observed, d.observed_text,"
		" d.taken_at, d.received_at, d.person_id, p.name, d.client_verdict, d.input_u, d.output_u,"
		" d.captured_json FROM reading d JOIN person p ON p.id = d.person_id"
		" WHERE d.run_id = $1 AND d.undone_at IS NULL ORDER BY d.point");
	struct stored_reading *list = NULL, *r;
	size_t i = 0, room = 0;
	enum status rc;

	stmt_text(q, 1, run_id);
	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, i, &room, sizeof *list, a);
		if (!list) {
			rc = store_no_memory(err);
			break;
		}
		r = &list[i++];
		r->id = col_text(q, 0, a);
		r->run_id = run_id;
		r->point = (int)col_int(q, 1);
		r->set = col_real(q, 2);
		r->direction = col_text(q, 3, a);
		r->cycle = (int)col_int(q, 4);
		r->applied = col_real(q, 5);
		r->applied_text = col_text(q, 6, a);
		r->observed = col_real(q, 7);
		r->observed_text = col_text(q, 8, a);
		r->taken_at = col_int(q, 9);
		r->received_at = col_int(q, 10);
		r->person_id = col_text(q, 11, a);
		r->name = col_text(q, 12, a);
		r->client_verdict = col_text(q, 13, a);
		r->captured_json = col_text(q, 16, a);
		r->input_u = r->captured_json ? col_real(q, 14) : 0;
		r->output_u = r->captured_json ? col_real(q, 15) : 0;
	}
	stmt_done(q);
	if (rc && rc != NOT_FOUND)
		return rc;
	*items = list;
	*n = i;
	return OK;
}
