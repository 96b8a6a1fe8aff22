#include "store/finding.h"

enum status store_finding_add(struct db *db, const struct finding *f, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO finding (id, test_record_id, run_kind, sentence, opened_at)"
				     " VALUES ($1, $2, $3, $4, $5)");

	stmt_text(q, 1, f->id);
	stmt_text(q, 2, f->test_record_id);
	stmt_text(q, 3, f->run_kind);
	stmt_text(q, 4, f->sentence);
	stmt_int(q, 5, f->opened_at);
	return stmt_run(q, err);
}

#define COLUMNS                                                                                                                      \
	"SELECT f.id, f.test_record_id, f.run_kind, f.sentence, f.state, f.disposition, f.opened_at, f.closed_at, p.name, f.version" \
	" FROM finding f LEFT JOIN person p ON p.id = f.closed_by"

static void read_row(struct stmt *q, struct arena *a, struct finding *out)
{
	out->id = col_text(q, 0, a);
	out->test_record_id = col_text(q, 1, a);
	out->run_kind = col_text(q, 2, a);
	out->sentence = col_text(q, 3, a);
	out->state = col_text(q, 4, a);
	out->disposition = col_text(q, 5, a);
	out->opened_at = col_int(q, 6);
	out->closed_at = col_int(q, 7);
	out->closed_by_name = col_text(q, 8, a);
	out->version = (int)col_int(q, 9);
}

static enum status read_one(struct stmt *q, struct arena *a, struct finding *out, struct err *err)
{
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc;
	read_row(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_finding_get(struct db *db, const char *id, struct arena *a, struct finding *out, struct err *err)
{
	struct stmt *q = db_stmt(db, COLUMNS " WHERE f.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = read_one(q, a, out, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such finding");
	return rc;
}

enum status store_finding_of(struct db *db, const char *test_record_id, struct arena *a, struct finding *out,
			     struct err *err)
{
	struct stmt *q = db_stmt(db,
				 COLUMNS " WHERE f.test_record_id = $1 ORDER BY f.opened_at DESC, f.id DESC LIMIT 1");

	stmt_text(q, 1, test_record_id);
	return read_one(q, a, out, err);
}

enum status store_finding_set_sentence(struct db *db, const char *id, const char *sentence, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE finding SET sentence = $1, version = version + 1 WHERE id = $2");

	stmt_text(q, 1, sentence);
	stmt_text(q, 2, id);
	return stmt_run(q, err);
}

enum status store_finding_close(struct db *db, const char *id, const char *disposition, const char *person_id,
				int64_t at, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "UPDATE finding SET state = 'closed', disposition = $1, closed_by = $2, closed_at = $3,"
		    " version = version + 1 WHERE id = $4");

	stmt_text(q, 1, disposition);
	stmt_text(q, 2, person_id);
	stmt_int(q, 3, at);
	stmt_text(q, 4, id);
	return stmt_run(q, err);
}

enum status store_finding_list(struct db *db, const char *state, const char *after, int limit, struct arena *a,
			       struct finding **items, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(
		db, COLUMNS
		" WHERE ($1 IS NULL OR f.state = $1) AND ($2 IS NULL OR (f.opened_at, f.id) <"
		" (SELECT g.opened_at, g.id FROM finding g WHERE g.id = $2)) ORDER BY f.opened_at DESC, f.id DESC LIMIT $3");
	size_t room = (size_t)limit + 1, i = 0;
	struct finding *list = arena_alloc(a, room * sizeof *list);
	enum status rc = OK;

	if (!list)
		return err_set(err, NO_MEMORY, "", "out of memory");
	stmt_text(q, 1, state);
	stmt_text(q, 2, after);
	stmt_int(q, 3, limit + 1);
	while (i < room && (rc = stmt_step(q, err)) == OK)
		read_row(q, a, &list[i++]);
	stmt_done(q);
	if (rc && rc != NOT_FOUND)
		return rc;
	*items = list;
	*n = i;
	return OK;
}
