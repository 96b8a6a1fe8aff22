#include "store/counter.h"

enum status store_counter_next(struct db *db, const char *series, int64_t *number, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO counter (series, last) VALUES ($1, 1)"
				     " ON CONFLICT (series) DO UPDATE SET last = counter.last + 1 RETURNING last");
	enum status rc;

	stmt_text(q, 1, series);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*number = col_int(q, 0);
	/* Stepped to its end: SQLite counts the row as written only then. */
	rc = stmt_step(q, err);
	return rc == NOT_FOUND ? OK : rc;
}
