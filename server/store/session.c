#include "store/session.h"

enum status store_session_add(struct db *db, const struct session *session, struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "INSERT INTO session (id, person_id, token, created_at, seen_at, expires_at, remote)"
				 " VALUES ($1, $2, $3, $4, $5, $6, $7)");

	stmt_text(q, 1, session->id);
	stmt_text(q, 2, session->person_id);
	stmt_text(q, 3, session->token);
	stmt_int(q, 4, session->created_at);
	stmt_int(q, 5, session->seen_at);
	stmt_int(q, 6, session->expires_at);
	stmt_text(q, 7, session->remote);
	return stmt_run(q, err);
}

enum status store_session_get(struct db *db, const char *id, struct arena *a, struct session *session,
			      struct person *person, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "SELECT s.id, s.person_id, s.token, s.created_at, s.seen_at, s.expires_at, s.remote,"
		    " p.sign_in, p.name, p.roles, p.active FROM session s JOIN person p ON p.id = s.person_id"
		    " WHERE s.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such session");
	if (rc)
		return rc;
	*session = (struct session){
		.id = col_text(q, 0, a),
		.person_id = col_text(q, 1, a),
		.token = col_text(q, 2, a),
		.created_at = col_int(q, 3),
		.seen_at = col_int(q, 4),
		.expires_at = col_int(q, 5),
		.remote = col_text(q, 6, a),
	};
	*person = (struct person){
		.id = session->person_id,
		.sign_in = col_text(q, 7, a),
		.name = col_text(q, 8, a),
		.roles = (int)col_int(q, 9),
		.active = col_bool(q, 10),
	};
	stmt_done(q);
	return OK;
}

enum status store_session_seen(struct db *db, const char *id, int64_t at, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE session SET seen_at = $1 WHERE id = $2 AND seen_at < $1");

	stmt_int(q, 1, at);
	stmt_text(q, 2, id);
	return stmt_run(q, err);
}

enum status store_session_remove(struct db *db, const char *id, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM session WHERE id = $1");

	stmt_text(q, 1, id);
	return stmt_run(q, err);
}

enum status store_session_remove_of(struct db *db, const char *person_id, const char *keep_id, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM session WHERE person_id = $1 AND id <> coalesce($2, '')");

	stmt_text(q, 1, person_id);
	stmt_text(q, 2, keep_id);
	return stmt_run(q, err);
}

enum status store_session_remove_old(struct db *db, int64_t now, int64_t idle_since, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM session WHERE expires_at <= $1 OR seen_at <= $2");

	stmt_int(q, 1, now);
	stmt_int(q, 2, idle_since);
	return stmt_run(q, err);
}

enum status store_failure_add(struct db *db, const char *key, int64_t at, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO sign_in_failure (key, at) VALUES ($1, $2)");

	stmt_text(q, 1, key);
	stmt_int(q, 2, at);
	return stmt_run(q, err);
}

enum status store_failure_count(struct db *db, const char *key, int64_t since, int64_t *count, int64_t *oldest,
				struct err *err)
{
	struct stmt *q = db_stmt(
		db, "SELECT count(*), coalesce(min(at), 0) FROM sign_in_failure WHERE key = $1 AND at > $2");
	enum status rc;

	stmt_text(q, 1, key);
	stmt_int(q, 2, since);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*count = col_int(q, 0);
	*oldest = col_int(q, 1);
	stmt_done(q);
	return OK;
}

enum status store_failure_forget(struct db *db, const char *key, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM sign_in_failure WHERE key = $1");

	stmt_text(q, 1, key);
	return stmt_run(q, err);
}

enum status store_failure_remove_old(struct db *db, int64_t before, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM sign_in_failure WHERE at <= $1");

	stmt_int(q, 1, before);
	return stmt_run(q, err);
}
