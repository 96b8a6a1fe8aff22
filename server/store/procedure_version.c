#include "store/procedure.h"

#include "store/list.h"

#define SELECT_VERSION                                                                                             \
	"SELECT v.id, v.procedure_id, p.code, v.number, v.state, v.title, v.document_json, v.version,"             \
	" v.created_by, c.name, v.created_at, v.updated_at, v.approved_by, o.name, v.approved_at"                  \
	" FROM procedure_version v JOIN procedure p ON p.id = v.procedure_id JOIN person c ON c.id = v.created_by" \
	" LEFT JOIN person o ON o.id = v.approved_by"

enum status store_procedure_version_add(struct db *db, const struct procedure_version *v, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO procedure_version (id, procedure_id, number, state, title, document_json, version, created_by,"
		" created_at, updated_at) VALUES ($1, $2, $3, 'draft', $4, $5, 1, $6, $7, $8)");
	enum status rc;

	stmt_text(q, 1, v->id);
	stmt_text(q, 2, v->procedure_id);
	stmt_int(q, 3, v->number);
	stmt_text(q, 4, v->title);
	stmt_text(q, 5, v->document_json);
	stmt_text(q, 6, v->created_by);
	stmt_int(q, 7, v->created_at);
	stmt_int(q, 8, v->updated_at);
	rc = stmt_run(q, err);
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "", "this procedure has a draft already");
	return rc;
}

static void read_version(struct stmt *q, struct arena *a, struct procedure_version *out)
{
	*out = (struct procedure_version){
		.id = col_text(q, 0, a),
		.procedure_id = col_text(q, 1, a),
		.code = col_text(q, 2, a),
		.number = (int)col_int(q, 3),
		.state = col_text(q, 4, a),
		.title = col_text(q, 5, a),
		.document_json = col_text(q, 6, a),
		.version = (int)col_int(q, 7),
		.created_by = col_text(q, 8, a),
		.created_by_name = col_text(q, 9, a),
		.created_at = col_int(q, 10),
		.updated_at = col_int(q, 11),
		.approved_by = col_text(q, 12, a),
		.approved_by_name = col_text(q, 13, a),
		.approved_at = col_int(q, 14),
	};
}

enum status store_procedure_version_get(struct db *db, const char *id, struct arena *a, struct procedure_version *out,
					struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_VERSION " WHERE v.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such version of a procedure");
	if (rc)
		return rc;
	read_version(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_procedure_version_in_state(struct db *db, const char *procedure_id, const char *state,
					     struct arena *a, struct procedure_version *out, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_VERSION " WHERE v.procedure_id = $1 AND v.state = $2");
	enum status rc;

	stmt_text(q, 1, procedure_id);
	stmt_text(q, 2, state);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "this procedure has no version in state %s", state);
	if (rc)
		return rc;
	read_version(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_procedure_version_list(struct db *db, const char *procedure_id, struct arena *a,
					 struct procedure_version **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_VERSION " WHERE v.procedure_id = $1 ORDER BY v.number DESC");
	struct procedure_version *list = NULL;
	size_t count = 0, room = 0;
	enum status rc;

	stmt_text(q, 1, procedure_id);
	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, count, &room, sizeof *list, a);
		if (!list) {
			stmt_done(q);
			return store_no_memory(err);
		}
		read_version(q, a, &list[count++]);
	}
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}

enum status store_procedure_version_update(struct db *db, const struct procedure_version *v, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE procedure_version SET title = $1, document_json = $2, updated_at = $3,"
				     " version = version + 1 WHERE id = $4 AND version = $5 AND state = 'draft'");

	stmt_text(q, 1, v->title);
	stmt_text(q, 2, v->document_json);
	stmt_int(q, 3, v->updated_at);
	stmt_text(q, 4, v->id);
	stmt_int(q, 5, v->version);
	return store_changed_one(db, stmt_run(q, err), err);
}

enum status store_procedure_version_remove(struct db *db, const char *id, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM procedure_version WHERE id = $1 AND state = 'draft'");

	stmt_text(q, 1, id);
	return store_changed_one(db, stmt_run(q, err), err);
}

enum status store_procedure_version_supersede(struct db *db, const char *procedure_id, int64_t at, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE procedure_version SET state = 'superseded', updated_at = $1"
				     " WHERE procedure_id = $2 AND state = 'approved'");

	stmt_int(q, 1, at);
	stmt_text(q, 2, procedure_id);
	return stmt_run(q, err);
}

enum status store_procedure_version_approve(struct db *db, const char *id, const char *person_id, int64_t at,
					    struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "UPDATE procedure_version SET state = 'approved', approved_by = $1, approved_at = $2,"
				 " updated_at = $2 WHERE id = $3 AND state = 'draft'");

	stmt_text(q, 1, person_id);
	stmt_int(q, 2, at);
	stmt_text(q, 3, id);
	return store_changed_one(db, stmt_run(q, err), err);
}
