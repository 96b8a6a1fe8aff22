#include "store/certificate.h"
#include "base/text.h"

enum status store_certificate_add(struct db *db, const struct certificate *c, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO certificate (id, number, test_record_id, issued_by, issued_at)"
				     " VALUES ($1, $2, $3, $4, $5)");
	char id[UUID_SIZE];

	uuid7(id);
	stmt_text(q, 1, id);
	stmt_text(q, 2, c->number);
	stmt_text(q, 3, c->test_record_id);
	stmt_text(q, 4, c->issued_by);
	stmt_int(q, 5, c->issued_at);
	return stmt_run(q, err);
}

#define COLUMNS                                                                        \
	"SELECT c.number, c.test_record_id, c.issued_by, p.name, c.issued_at, c.state" \
	" FROM certificate c JOIN person p ON p.id = c.issued_by"

static enum status read_one(struct stmt *q, struct arena *a, struct certificate *out, struct err *err)
{
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc;
	out->number = col_text(q, 0, a);
	out->test_record_id = col_text(q, 1, a);
	out->issued_by = col_text(q, 2, a);
	out->issued_by_name = col_text(q, 3, a);
	out->issued_at = col_int(q, 4);
	out->state = col_text(q, 5, a);
	stmt_done(q);
	return OK;
}

enum status store_certificate_get(struct db *db, const char *number, struct arena *a, struct certificate *out,
				  struct err *err)
{
	struct stmt *q = db_stmt(db, COLUMNS " WHERE c.number = upper($1)");
	enum status rc;

	stmt_text(q, 1, number);
	rc = read_one(q, a, out, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "no certificate has this number");
	return rc;
}

enum status store_certificate_of(struct db *db, const char *test_record_id, struct arena *a, struct certificate *out,
				 struct err *err)
{
	struct stmt *q = db_stmt(db,
				 COLUMNS " WHERE c.test_record_id = $1 ORDER BY c.issued_at DESC, c.id DESC LIMIT 1");

	stmt_text(q, 1, test_record_id);
	return read_one(q, a, out, err);
}

enum status store_certificate_set_state(struct db *db, const char *number, const char *state, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE certificate SET state = $1 WHERE number = $2");

	stmt_text(q, 1, state);
	stmt_text(q, 2, number);
	return stmt_run(q, err);
}
