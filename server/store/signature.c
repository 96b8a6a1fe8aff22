#include "store/signature.h"
#include "base/text.h"

enum status store_signature_add(struct db *db, const struct signature *s, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO signature (id, test_record_id, procedure_version_id, finding_id, meaning, person_id, name, role,"
		" reason, content_sha256, at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)");
	char id[UUID_SIZE];

	uuid7(id);
	stmt_text(q, 1, id);
	stmt_text(q, 2, s->test_record_id);
	stmt_text(q, 3, s->procedure_version_id);
	stmt_text(q, 4, s->finding_id);
	stmt_text(q, 5, s->meaning);
	stmt_text(q, 6, s->person_id);
	stmt_text(q, 7, s->name);
	stmt_text(q, 8, s->role);
	stmt_text(q, 9, s->reason ? s->reason : "");
	stmt_text(q, 10, s->content_sha256);
	stmt_int(q, 11, s->at);
	return stmt_run(q, err);
}

static enum status count_signatures(struct db *db, const char *test_record_id, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT count(*) FROM signature WHERE test_record_id = $1");
	enum status rc;

	stmt_text(q, 1, test_record_id);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*n = (size_t)col_int(q, 0);
	stmt_done(q);
	return OK;
}

enum status store_signature_list(struct db *db, const char *test_record_id, struct arena *a, struct signature **items,
				 size_t *n, struct err *err)
{
	size_t count, i = 0;
	enum status rc = count_signatures(db, test_record_id, &count, err);
	struct signature *list;
	struct stmt *q;

	if (rc)
		return rc;
	list = arena_alloc(a, (count ? count : 1) * sizeof *list);
	if (!list)
		return err_set(err, NO_MEMORY, "", "out of memory");
	q = db_stmt(db, "SELECT meaning, person_id, name, role, reason, content_sha256, at FROM signature"
			" WHERE test_record_id = $1 ORDER BY at, id");
	stmt_text(q, 1, test_record_id);
	while (i < count && (rc = stmt_step(q, err)) == OK) {
		list[i].test_record_id = test_record_id;
		list[i].meaning = col_text(q, 0, a);
		list[i].person_id = col_text(q, 1, a);
		list[i].name = col_text(q, 2, a);
		list[i].role = col_text(q, 3, a);
		list[i].reason = col_text(q, 4, a);
		list[i].content_sha256 = col_text(q, 5, a);
		list[i].at = col_int(q, 6);
		i++;
	}
	stmt_done(q);
	if (rc && rc != NOT_FOUND)
		return rc;
	*items = list;
	*n = i;
	return OK;
}
