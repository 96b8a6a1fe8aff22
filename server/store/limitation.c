#include "store/limitation.h"

#include "base/text.h"

enum status store_limitation_add(struct db *db, const char *test_record_id, const struct limitation *l, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO limitation (id, test_record_id, text, person_id, at)"
				     " VALUES ($1, $2, $3, $4, $5)");
	char id[UUID_SIZE];

	uuid7(id);
	stmt_text(q, 1, id);
	stmt_text(q, 2, test_record_id);
	stmt_text(q, 3, l->text);
	stmt_text(q, 4, l->person_id);
	stmt_int(q, 5, l->at);
	return stmt_run(q, err);
}

enum status store_limitation_of(struct db *db, const char *test_record_id, struct arena *a, struct limitation *out,
				struct err *err)
{
	/* An amendment corrects the words about a test, so what was said of the instrument holds on; depth 0 is the record's own. */
	struct stmt *q = db_stmt(db, "WITH RECURSIVE chain (id, supersedes_id, depth) AS ("
				     "SELECT id, supersedes_id, 0 FROM test_record WHERE id = $1"
				     " UNION ALL SELECT r.id, r.supersedes_id, chain.depth + 1 FROM test_record r"
				     " JOIN chain ON r.id = chain.supersedes_id)"
				     " SELECT l.text, l.person_id, p.name, l.at FROM chain"
				     " JOIN limitation l ON l.test_record_id = chain.id"
				     " JOIN person p ON p.id = l.person_id"
				     " ORDER BY chain.depth, l.at DESC, l.id DESC LIMIT 1");
	enum status rc;

	stmt_text(q, 1, test_record_id);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*out = (struct limitation){col_text(q, 0, a), col_text(q, 1, a), col_text(q, 2, a), col_int(q, 3)};
	stmt_done(q);
	return OK;
}

enum status store_limitation_lift(struct db *db, const char *test_record_id, struct err *err)
{
	struct stmt *q = db_stmt(db, "WITH RECURSIVE chain (id, supersedes_id) AS ("
				     "SELECT id, supersedes_id FROM test_record WHERE id = $1"
				     " UNION ALL SELECT r.id, r.supersedes_id FROM test_record r"
				     " JOIN chain ON r.id = chain.supersedes_id)"
				     " DELETE FROM limitation WHERE test_record_id IN (SELECT id FROM chain)");

	stmt_text(q, 1, test_record_id);
	return stmt_run(q, err);
}
