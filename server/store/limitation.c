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
	struct stmt *q = db_stmt(db, "SELECT l.text, l.person_id, p.name, l.at FROM limitation l"
				     " JOIN person p ON p.id = l.person_id WHERE l.test_record_id = $1"
				     " ORDER BY l.at DESC, l.id DESC LIMIT 1");
	enum status rc;

	stmt_text(q, 1, test_record_id);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*out = (struct limitation){col_text(q, 0, a), col_text(q, 1, a), col_text(q, 2, a), col_int(q, 3)};
	stmt_done(q);
	return OK;
}
