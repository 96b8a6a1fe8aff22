/*
 * The file's schema: its version stands in the header (PRAGMA user_version = number of migrations applied), so that a file
 * tells by itself what it is, and a half-applied migration cannot exist.
 */
#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/log.h"
#include "store_internal.h"

static enum status sync_path(const char *path, struct err *err)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	int failed = fd < 0 || fsync(fd) < 0;

	if (fd >= 0)
		close(fd);
	return failed ? err_set(err, FAILED, "", "cannot bring %s to disk: %s", path, strerror(errno)) : OK;
}

enum status store_copy(struct db *db, const char *path, struct err *err)
{
	char folder[4096];
	struct stmt *q;
	enum status rc;
	int fd;

	fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600); /* password hashes are inside */
	if (fd < 0)
		return errno == EEXIST ? err_set(err, CONFLICT, "", "%s exists already", path) :
					 err_set(err, FAILED, "", "cannot write %s: %s", path, strerror(errno));
	close(fd);
	q = db_stmt(db, "VACUUM INTO $1");
	stmt_text(q, 1, path);
	rc = stmt_run(q, err);
	if (!rc)
		rc = sync_path(path, err); /* VACUUM INTO leaves that to the operating system */
	snprintf(folder, sizeof folder, "%s", path);
	if (!rc)
		rc = sync_path(dirname(folder), err);
	if (rc)
		unlink(path);
	return rc;
}

/* PATH.before-N; PATH.before-N.2 and so on when a copy from an earlier attempt is there. */
static enum status keep_copy(struct db *db, const char *path, int next, struct err *err)
{
	char copy[4096];
	enum status rc = CONFLICT;

	for (int i = 1; i < 100 && rc == CONFLICT; i++) {
		int n = i == 1 ? snprintf(copy, sizeof copy, "%s.before-%d", path, next) :
				 snprintf(copy, sizeof copy, "%s.before-%d.%d", path, next, i);

		if (n < 0 || (size_t)n >= sizeof copy)
			return err_set(err, INVALID, "", "the path of the file is too long");
		rc = store_copy(db, copy, err);
	}
	if (!rc)
		log_info("kept a copy of the file as it was: %s", copy);
	return rc;
}

static enum status check_references(struct db *db, const char *name, struct err *err)
{
	struct stmt *q = db_stmt(db, "PRAGMA foreign_key_check");
	struct arena a = {0};
	struct err ignored;
	enum status rc = stmt_step(q, &ignored);

	if (rc == NOT_FOUND)
		return OK;
	if (rc == OK)
		err_set(err, FAILED, "", "%s leaves rows of %s that refer to nothing", name, col_text(q, 0, &a));
	else
		*err = ignored;
	stmt_done(q);
	arena_clear(&a);
	return err->status;
}

static enum status apply(struct db *db, const struct migration *m, int version, struct err *err)
{
	char header[96];
	enum status rc = db_exec(db, m->sql, err);
	struct err why;

	snprintf(header, sizeof header, "PRAGMA application_id=%d; PRAGMA user_version=%d", STORE_APPLICATION_ID,
		 version);
	if (!rc)
		rc = check_references(db, m->name, err);
	if (!rc)
		rc = db_exec(db, header, err);
	if (rc) {
		why = *err;
		return err_set(err, rc, "", "%s: %s", m->name, why.message);
	}
	return OK;
}

/* Another process may have been first: the version is read again inside the transaction. */
static enum status apply_next(struct db *db, const struct migration *list, int count, int64_t *have, struct err *err)
{
	struct err ignored;
	enum status rc = db_exec(db, "BEGIN IMMEDIATE", err);

	if (rc)
		return rc;
	rc = db_value(db, "PRAGMA user_version", have, err);
	if (!rc && *have < count) {
		rc = apply(db, &list[*have], (int)*have + 1, err);
		(*have)++;
	}
	if (!rc)
		rc = db_exec(db, "COMMIT", err);
	if (rc && db_in_transaction(db))
		db_exec(db, "ROLLBACK", &ignored);
	return rc;
}

static enum status check_is_ours(struct db *db, const char *path, int count, int64_t *have, struct err *err)
{
	int64_t application = 0, tables = 0;
	enum status rc = db_value(db, "PRAGMA application_id", &application, err);

	if (!rc)
		rc = db_value(db, "PRAGMA user_version", have, err);
	if (!rc)
		rc = db_value(db, "SELECT count(*) FROM sqlite_schema", &tables, err);
	if (rc)
		return rc;
	if (application != STORE_APPLICATION_ID && (application != 0 || *have != 0 || tables != 0))
		return err_set(err, CONFLICT, "", "%s is a database of another program", path);
	if (*have > count)
		return err_set(
			err, CONFLICT, "",
			"%s was written by a newer version of this program: its schema is %lld, this program knows up to %d",
			path, (long long)*have, count);
	return OK;
}

enum status store_migrate(struct db *db, const char *path, const struct migration *list, int count, struct err *err)
{
	int64_t have = 0;
	enum status rc = check_is_ours(db, path, count, &have, err), on;

	if (rc || have == count)
		return rc;
	if (have > 0)
		rc = keep_copy(db, path, (int)have + 1, err);
	/* A migration may have to rebuild a table others refer to; it is checked as a whole before its commit. */
	if (!rc)
		rc = db_exec(db, "PRAGMA foreign_keys=OFF", err);
	while (!rc && have < count)
		rc = apply_next(db, list, count, &have, err);
	on = rc ? OK : db_exec(db, "PRAGMA foreign_keys=ON", err);
	return rc ? rc : on;
}
