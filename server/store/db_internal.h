/* A connection from the inside of the store: opening, plain SQL, and putting it back in order. */
#ifndef SERVER_STORE_DB_INTERNAL_H
#define SERVER_STORE_DB_INTERNAL_H

#include "store/db.h"

enum db_mode {
	DB_WRITE,   /* creates the file when there is none; WAL, every commit on disk before it returns */
	DB_SCRATCH, /* the same without waiting for the disk: for files that do not outlive the process */
	DB_READ
};

enum status db_open(struct db **out, const char *path, enum db_mode mode, struct err *err);
void db_close(struct db *db); /* NULL is allowed */

void db_set_key(struct db *db, const unsigned char *key); /* borrowed */

enum status db_exec(struct db *db, const char *sql, struct err *err); /* SQL text without parameters or rows */
/* The same for one statement, prepared once: sql is a literal, as for db_stmt. */
enum status db_run(struct db *db, const char *sql, struct err *err);
enum status db_value(struct db *db, const char *sql, int64_t *v,
		     struct err *err); /* first column of the first row; a literal */

bool db_in_transaction(struct db *db);
/* Resets what was left open, and returns its SQL; NULL when everything was in order. */
const char *db_reset_all(struct db *db);

/* What an SQLite result means to us. message is SQLite's own text. */
enum status db_failure(int result, const char *message, struct err *err);

#endif
