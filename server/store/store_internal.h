#ifndef SERVER_STORE_STORE_INTERNAL_H
#define SERVER_STORE_STORE_INTERNAL_H

#include "db_internal.h"
#include "store/migrations.h"
#include "store/store.h"

/* Marks the file as ours in its header: "LpLg". */
#define STORE_APPLICATION_ID 0x4c704c67

/* store_open with other migrations than those built in; tests bring their own. */
enum status store_open_with(const struct migration *list, int count, struct store **out, const char *path, int readers,
			    struct err *err);

/* Brings the file's schema from whatever it is to count, or refuses. path is where the copy of an older file goes beside. */
enum status store_migrate(struct db *db, const char *path, const struct migration *list, int count, struct err *err);

/* A complete copy in one new file, readable by the owner alone, on disk when this returns. CONFLICT when path exists. */
enum status store_copy(struct db *db, const char *path, struct err *err);

/* Jobs that stand in the queue now, for tests. */
int store_waiting(struct store *store);

#endif
