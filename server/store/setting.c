#include "store/setting.h"

enum status store_setting_get(struct db *db, const char *key, struct arena *a, const char **value, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT value FROM setting WHERE key = $1");
	enum status rc;

	*value = NULL;
	stmt_text(q, 1, key);
	rc = stmt_step(q, err);
	if (rc)
		return rc == NOT_FOUND ? OK : rc;
	*value = col_text(q, 0, a);
	stmt_done(q);
	return OK;
}

enum status store_setting_put(struct db *db, const char *key, const char *value, int64_t at, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "INSERT INTO setting (key, value, updated_at) VALUES ($1, $2, $3)"
		    " ON CONFLICT (key) DO UPDATE SET value = excluded.value, updated_at = excluded.updated_at");

	stmt_text(q, 1, key);
	stmt_text(q, 2, value);
	stmt_int(q, 3, at);
	return stmt_run(q, err);
}
