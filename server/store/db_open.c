#include <pthread.h>
#include <sqlite3.h>
#include <stdlib.h>

#include "db_internal.h"
#include "db_private.h"

enum status db_failure(int result, const char *message, struct err *err)
{
	switch (result) {
	case SQLITE_CONSTRAINT_UNIQUE:
	case SQLITE_CONSTRAINT_PRIMARYKEY:
	case SQLITE_CONSTRAINT_ROWID:
	case SQLITE_CONSTRAINT_TRIGGER: /* raise(ABORT, '...'): the sentence stands in the schema */
		return err_set(err, CONFLICT, "", "%s", message);
	case SQLITE_CONSTRAINT_FOREIGNKEY:
		return err_set(err, CONFLICT, "",
			       "another record refers to this one, or this one to a record that does not exist");
	default:
		break;
	}
	switch (result & 0xff) {
	case SQLITE_BUSY:
	case SQLITE_LOCKED:
		return err_set(err, BUSY, "", "the plant's file is busy; try again shortly");
	case SQLITE_NOMEM:
		return err_set(err, NO_MEMORY, "", "out of memory");
	case SQLITE_FULL:
		return err_set(err, BUSY, "", "the disk is full: nothing was written; make room, then try again");
	case SQLITE_NOTADB:
		return err_set(err, CONFLICT, "", "the file is no database, or is damaged");
	default:
		return err_set(err, FAILED, "", "database: %s (%d)", message, result);
	}
}

enum status db_exec(struct db *db, const char *sql, struct err *err)
{
	int rc = sqlite3_exec(db->handle, sql, NULL, NULL, NULL);

	return rc == SQLITE_OK ? OK : db_failure(rc, sqlite3_errmsg(db->handle), err);
}

enum status db_run(struct db *db, const char *sql, struct err *err)
{
	return stmt_run(db_stmt(db, sql), err);
}

enum status db_value(struct db *db, const char *sql, int64_t *v, struct err *err)
{
	struct stmt *q = db_stmt(db, sql);
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc;
	*v = col_int(q, 0);
	stmt_done(q);
	return OK;
}

/* Readers refuse to write even if asked to, the schema is not trusted to call more than harmless functions, and "x" is a
 * column, never a misspelt text. */
static enum status configure(struct db *db, enum db_mode mode, struct err *err)
{
	enum status rc;

	sqlite3_extended_result_codes(db->handle, 1);
	sqlite3_busy_timeout(db->handle, 5000);
	sqlite3_db_config(db->handle, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
	sqlite3_db_config(db->handle, SQLITE_DBCONFIG_DQS_DML, 0, NULL);
	/* else a statement over a partial index is planned anew each time a value is bound */
	sqlite3_db_config(db->handle, SQLITE_DBCONFIG_ENABLE_QPSG, 1, NULL);
	sqlite3_db_config(db->handle, SQLITE_DBCONFIG_DQS_DDL, 0, NULL);
	rc = db_exec(db,
		     "PRAGMA trusted_schema=OFF; PRAGMA foreign_keys=ON; PRAGMA cell_size_check=ON;"
		     "PRAGMA temp_store=MEMORY; PRAGMA journal_size_limit=67108864",
		     err);
	if (!rc && mode == DB_READ)
		return db_exec(db, "PRAGMA query_only=ON", err);
	if (!rc)
		rc = db_exec(db, "PRAGMA journal_mode=WAL", err);
	if (!rc)
		rc = db_exec(db, mode == DB_SCRATCH ? "PRAGMA synchronous=OFF" : "PRAGMA synchronous=FULL", err);
	return rc;
}

/* Nobody asks how much memory SQLite has taken, and counting it is a lock that every connection waits for. */
static void configure_library(void)
{
	sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0);
}

enum status db_open(struct db **out, const char *path, enum db_mode mode, struct err *err)
{
	int flags = SQLITE_OPEN_NOMUTEX |
		    (mode == DB_READ ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE);
	static pthread_once_t configured = PTHREAD_ONCE_INIT;
	struct db *db = calloc(1, sizeof *db);
	enum status rc = OK;
	int result;

	pthread_once(&configured, configure_library);
	if (!db)
		return err_set(err, NO_MEMORY, "", "out of memory");
	result = sqlite3_open_v2(path, &db->handle, flags, NULL);
	if (result == SQLITE_CANTOPEN)
		rc = err_set(err, FAILED, "", "cannot open %s", path);
	else if (result != SQLITE_OK)
		rc = db_failure(result, sqlite3_errstr(result), err);
	if (!rc)
		rc = configure(db, mode, err);
	if (rc) {
		db_close(db);
		return rc;
	}
	*out = db;
	return OK;
}

void db_close(struct db *db)
{
	if (!db)
		return;
	for (int i = 0; i < db->stmts_count; i++)
		sqlite3_finalize(db->stmts[i].handle);
	sqlite3_close(db->handle);
	free(db);
}

bool db_in_transaction(struct db *db)
{
	return !sqlite3_get_autocommit(db->handle);
}

const char *db_reset_all(struct db *db)
{
	const char *left_open = NULL;

	for (sqlite3_stmt *s = sqlite3_next_stmt(db->handle, NULL); s; s = sqlite3_next_stmt(db->handle, s)) {
		if (sqlite3_stmt_busy(s)) {
			left_open = sqlite3_sql(s);
			sqlite3_reset(s);
		}
	}
	return left_open;
}
