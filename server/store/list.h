/* What the lists of the register share: search patterns and arrays that grow in an arena. */
#ifndef STORE_LIST_H
#define STORE_LIST_H

#include <stddef.h>
#include "base/arena.h"
#include "base/status.h"
#include "store/db.h"

/* The search text as a lower-case LIKE pattern with ESCAPE '\'; NULL for NULL and "" (everything). Only ASCII is lowered,
 * as SQLite's own lower() does. */
const char *search_pattern(const char *q, struct arena *a);

/* The list with room for one row more, moved if need be. *room starts at 0. NULL for no memory. */
void *list_room(void *list, size_t n, size_t *room, size_t row_size, struct arena *a);

enum status store_no_memory(struct err *err);
/* What an update of one row at a version says when it changed none. */
enum status store_changed_one(struct db *db, enum status rc, struct err *err);

#endif
