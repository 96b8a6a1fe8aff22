#include "store/idempotency.h"

enum status store_answer_add(struct db *db, const struct remembered_answer *answer, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "INSERT INTO idempotency (key, person_id, request_hash, http_status, answer_json, created_at)"
		    " VALUES ($1, $2, $3, $4, $5, $6)");

	stmt_text(q, 1, answer->key);
	stmt_text(q, 2, answer->person_id);
	stmt_text(q, 3, answer->request_hash);
	stmt_int(q, 4, answer->http_status);
	stmt_text(q, 5, answer->answer_json);
	stmt_int(q, 6, answer->created_at);
	return stmt_run(q, err);
}

enum status store_answer_get(struct db *db, const char *person_id, const char *key, struct arena *a,
			     struct remembered_answer *out, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT request_hash, http_status, answer_json, created_at FROM idempotency"
				     " WHERE person_id = $1 AND key = $2");
	enum status rc;

	stmt_text(q, 1, person_id);
	stmt_text(q, 2, key);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*out = (struct remembered_answer){
		.person_id = person_id,
		.key = key,
		.request_hash = col_text(q, 0, a),
		.http_status = (int)col_int(q, 1),
		.answer_json = col_text(q, 2, a),
		.created_at = col_int(q, 3),
	};
	stmt_done(q);
	return OK;
}

enum status store_answer_remove_old(struct db *db, int64_t before, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM idempotency WHERE created_at < $1");

	stmt_int(q, 1, before);
	return stmt_run(q, err);
}
