/*
 * One SQLite connection and the statements prepared on it. A connection serves one thread at a time; the store
 * (store/store.h) owns the one that writes and hands out those that read.
 */
#ifndef STORE_DB_H
#define STORE_DB_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/arena.h"
#include "base/status.h"

struct db;
struct stmt;

/*
 * The cached statement for this SQL text, reset and unbound. sql must be a string literal: its address is the cache key.
 * Never NULL: a preparation error surfaces at stmt_step. Parameters are $1, $2, ... in order.
 */
struct stmt *db_stmt(struct db *db, const char *sql);

void stmt_int(struct stmt *q, int index, int64_t v);
void stmt_bool(struct stmt *q, int index, bool v);
void stmt_real(struct stmt *q, int index, double v);			/* NaN is stored as NULL */
void stmt_text(struct stmt *q, int index, const char *v);		/* copied; NULL is stored as NULL */
void stmt_bytes(struct stmt *q, int index, const void *v, size_t size); /* the same for a BLOB */

/* OK with a row; NOT_FOUND at the end; otherwise the failure. Resets q unless it returns a row. */
enum status stmt_step(struct stmt *q, struct err *err);
enum status stmt_run(struct stmt *q, struct err *err); /* for statements without rows */
void stmt_done(struct stmt *q);			       /* ends a read that stops before the last row */

int64_t col_int(struct stmt *q, int column);
bool col_bool(struct stmt *q, int column);
double col_real(struct stmt *q, int column); /* NaN for NULL */
bool col_is_null(struct stmt *q, int column);
char *col_text(struct stmt *q, int column, struct arena *a); /* NULL for NULL */
/*
 * The same for text that must be read to its last byte: one with a NUL inside, which only another program can have written,
 * becomes "\xff", which no text of ours is.
 */
char *col_text_whole(struct stmt *q, int column, struct arena *a);
void *col_bytes(struct stmt *q, int column, struct arena *a, size_t *size); /* of a BLOB; NULL for NULL */

int64_t db_changes(struct db *db); /* rows changed by the last statement */

#define DB_KEY_SIZE 32
/* The key given to the store, for what must not be made without it; NULL without. */
const unsigned char *db_key(const struct db *db);

/* Text to search for as a LIKE pattern that finds it anywhere, taken literally: ... LIKE $1 ESCAPE '\'. NULL for no memory. */
char *db_like(const char *q, struct arena *a);

#endif
