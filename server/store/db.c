#include "store/db.h"

#include <assert.h>
#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "db_internal.h"
#include "db_private.h"

static void note(struct stmt *q, int result)
{
	if (q->fault != SQLITE_OK || result == SQLITE_OK)
		return;
	q->fault = result;
	snprintf(q->message, sizeof q->message, "%s", sqlite3_errmsg(q->db->handle));
}

static void prepare(struct stmt *q)
{
	q->fault = SQLITE_OK;
	note(q, sqlite3_prepare_v3(q->db->handle, q->sql, -1, SQLITE_PREPARE_PERSISTENT, &q->handle, NULL));
}

/* The place of this text in the table, or the free one where it belongs. */
static short *place_of(struct db *db, const char *sql)
{
	size_t at = ((uintptr_t)sql * UINT64_C(0x9e3779b97f4a7c15) >> 40) % STMT_PLACES;

	while (db->places[at] && db->stmts[db->places[at] - 1].sql != sql)
		at = (at + 1) % STMT_PLACES;
	return &db->places[at];
}

struct stmt *db_stmt(struct db *db, const char *sql)
{
	short *place = place_of(db, sql);
	struct stmt *q;

	if (*place) {
		q = &db->stmts[*place - 1];
		if (!q->handle) {
			prepare(q); /* it failed before, perhaps for want of memory */
			return q;
		}
		assert(!sqlite3_stmt_busy(q->handle)); /* a nested use of one statement is a bug */
		sqlite3_reset(q->handle);
		sqlite3_clear_bindings(q->handle);
		q->fault = SQLITE_OK;
		return q;
	}
	if (db->stmts_count == STMT_MAX) {
		log_error("more than %d statements: is the text of one not a literal? %s", STMT_MAX, sql);
		abort();
	}
	q = &db->stmts[db->stmts_count++];
	*place = (short)db->stmts_count;
	q->db = db;
	q->sql = sql;
	prepare(q);
	return q;
}

void stmt_int(struct stmt *q, int index, int64_t v)
{
	if (!q->fault)
		note(q, sqlite3_bind_int64(q->handle, index, v));
}

void stmt_bool(struct stmt *q, int index, bool v)
{
	stmt_int(q, index, v);
}

void stmt_real(struct stmt *q, int index, double v)
{
	if (!q->fault)
		note(q, isnan(v) ? sqlite3_bind_null(q->handle, index) : sqlite3_bind_double(q->handle, index, v));
}

void stmt_text(struct stmt *q, int index, const char *v)
{
	if (!q->fault)
		note(q, sqlite3_bind_text(q->handle, index, v, -1, SQLITE_TRANSIENT));
}

void stmt_bytes(struct stmt *q, int index, const void *v, size_t size)
{
	if (!q->fault)
		note(q, sqlite3_bind_blob64(q->handle, index, v, size, SQLITE_TRANSIENT));
}

enum status stmt_step(struct stmt *q, struct err *err)
{
	enum status rc;
	int result;

	if (q->fault)
		return db_failure(q->fault, q->message, err);
	result = sqlite3_step(q->handle);
	if (result == SQLITE_ROW)
		return OK;
	if (result == SQLITE_DONE)
		rc = err_set(err, NOT_FOUND, "", "there is no such record");
	else
		rc = db_failure(result, sqlite3_errmsg(q->db->handle), err);
	sqlite3_reset(q->handle);
	return rc;
}

enum status stmt_run(struct stmt *q, struct err *err)
{
	enum status rc = stmt_step(q, err);

	assert(rc != OK); /* a statement that returns rows belongs in a stmt_step loop */
	return rc == NOT_FOUND ? OK : rc;
}

void stmt_done(struct stmt *q)
{
	sqlite3_reset(q->handle);
}

int64_t col_int(struct stmt *q, int column)
{
	return sqlite3_column_int64(q->handle, column);
}

bool col_bool(struct stmt *q, int column)
{
	return col_int(q, column) != 0;
}

double col_real(struct stmt *q, int column)
{
	return col_is_null(q, column) ? NAN : sqlite3_column_double(q->handle, column);
}

bool col_is_null(struct stmt *q, int column)
{
	return sqlite3_column_type(q->handle, column) == SQLITE_NULL;
}

char *col_text(struct stmt *q, int column, struct arena *a)
{
	return arena_strdup(a, (const char *)sqlite3_column_text(q->handle, column));
}

char *col_text_whole(struct stmt *q, int column, struct arena *a)
{
	const char *text = (const char *)sqlite3_column_text(q->handle, column);

	if (text && strlen(text) != (size_t)sqlite3_column_bytes(q->handle, column))
		text = "\xff";
	return arena_strdup(a, text);
}

void *col_bytes(struct stmt *q, int column, struct arena *a, size_t *size)
{
	const void *bytes = sqlite3_column_blob(q->handle, column);

	*size = (size_t)sqlite3_column_bytes(q->handle, column);
	return col_is_null(q, column) ? NULL : arena_copy(a, bytes, *size);
}

void db_set_key(struct db *db, const unsigned char *key)
{
	db->key = key;
}

const unsigned char *db_key(const struct db *db)
{
	return db->key;
}

int64_t db_changes(struct db *db)
{
	return sqlite3_changes64(db->handle);
}

char *db_like(const char *q, struct arena *a)
{
	char *pattern = arena_alloc(a, 2 * strlen(q) + 3), *to = pattern;

	if (!pattern)
		return NULL;
	*to++ = '%';
	for (; *q; q++) {
		if (*q == '%' || *q == '_' || *q == '\\')
			*to++ = '\\';
		*to++ = *q;
	}
	*to = '%';
	return pattern;
}
