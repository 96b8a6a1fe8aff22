/*
 * The plant's file: one writer thread, a pool of readers.
 *
 * Transactions that wait for the writer are taken together into one commit, each in a savepoint of its own, and each
 * is answered only after the commit is on disk (WAL, synchronous=FULL). A job that fails is undone alone.
 */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include <stdint.h>
#include "store/db.h"

struct store;

/*
 * Opens or creates the file, brings its schema up to date (each migration in one transaction, an older file copied
 * first to PATH.before-N) and starts the writer. A file made by a newer program is refused with CONFLICT and a
 * sentence that names both versions. readers 1..16.
 */
enum status store_open(struct store **out, const char *path, int readers, struct err *err);
/* A secret that stays out of the file, for db_key(); copied. Once, before anybody reads or writes. */
void store_set_key(struct store *store, const unsigned char key[DB_KEY_SIZE]);
void store_close(struct store *store); /* waits for the writer; NULL is allowed */

/* A job runs on the writer thread; what it returns other than OK undoes what it wrote. */
typedef enum status (*store_job)(struct db *db, void *context, struct err *err);
enum status store_write(struct store *store, store_job job, void *context, struct err *err);

/* Borrows a read-only connection in a read transaction (one snapshot); waits until one is free. Give it back. */
struct db *store_read_begin(struct store *store);
void store_read_end(struct store *store, struct db *db);

/*
 * A complete copy of the plant's file as it is now, in one new file readable by the owner alone; work goes on meanwhile.
 * CONFLICT when the file exists.
 */
enum status store_backup(struct store *store, const char *path, struct err *err);

int store_schema_version(const struct store *store);
/* Commits made and jobs answered since start, for the benchmark. */
void store_counters(const struct store *store, int64_t *commits, int64_t *jobs);

#endif
