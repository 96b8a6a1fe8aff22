#include "store/procedure.h"

#include "store/list.h"

enum status store_procedure_add(struct db *db, const struct procedure *p, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO procedure (id, code, created_at) VALUES ($1, $2, $3)");
	enum status rc;

	stmt_text(q, 1, p->id);
	stmt_text(q, 2, p->code);
	stmt_int(q, 3, p->created_at);
	rc = stmt_run(q, err);
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "code", "the code %s is already in use", p->code);
	return rc;
}

enum status store_procedure_get(struct db *db, const char *id, struct arena *a, struct procedure *out, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT id, code, created_at FROM procedure WHERE id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such procedure");
	if (rc)
		return rc;
	*out = (struct procedure){.id = col_text(q, 0, a), .code = col_text(q, 1, a), .created_at = col_int(q, 2)};
	stmt_done(q);
	return OK;
}

enum status store_procedure_remove(struct db *db, const char *id, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM procedure WHERE id = $1");

	stmt_text(q, 1, id);
	return stmt_run(q, err);
}

static void read_summary(struct stmt *q, struct arena *a, struct procedure_summary *out)
{
	*out = (struct procedure_summary){
		.id = col_text(q, 0, a),
		.code = col_text(q, 1, a),
		.title = col_text(q, 2, a),
		.approved_id = col_text(q, 3, a),
		.approved_number = (int)col_int(q, 4),
		.approved_at = col_int(q, 5),
		.approved_by = col_text(q, 6, a),
		.draft_id = col_text(q, 7, a),
		.draft_number = (int)col_int(q, 8),
		.schedules = col_int(q, 9),
	};
}

enum status store_procedure_list(struct db *db, const char *search, const char *after, int limit, struct arena *a,
				 struct procedure_summary **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"SELECT p.id, p.code, coalesce(v.title, d.title, ''), v.id, v.number, v.approved_at, o.name, d.id, d.number,"
		" (SELECT count(*) FROM schedule s WHERE s.procedure_id = p.id AND s.active = 1)"
		" FROM procedure p"
		" LEFT JOIN procedure_version v ON v.procedure_id = p.id AND v.state = 'approved'"
		" LEFT JOIN procedure_version d ON d.procedure_id = p.id AND d.state = 'draft'"
		" LEFT JOIN person o ON o.id = v.approved_by"
		" WHERE lower(p.code) > lower($1)"
		" AND ($2 IS NULL OR lower(p.code) LIKE $2 ESCAPE '\\' OR lower(coalesce(v.title, d.title, '')) LIKE $2 ESCAPE '\\')"
		" ORDER BY lower(p.code) LIMIT $3");
	size_t most = (size_t)limit + 1, count = 0;
	struct procedure_summary *list = arena_alloc(a, most * sizeof *list);
	enum status rc = OK;

	if (!list)
		return store_no_memory(err);
	stmt_text(q, 1, after ? after : "");
	stmt_text(q, 2, search_pattern(search, a));
	stmt_int(q, 3, (int64_t)most);
	while (count < most && (rc = stmt_step(q, err)) == OK)
		read_summary(q, a, &list[count++]);
	stmt_done(q);
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}

enum status store_procedure_schedules(struct db *db, const char *id, int64_t *count, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT count(*) FROM schedule WHERE procedure_id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*count = col_int(q, 0);
	stmt_done(q);
	return OK;
}
