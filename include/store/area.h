/* Rows of table area: where instruments stand; areas nest. */
#ifndef STORE_AREA_H
#define STORE_AREA_H

#include "store/db.h"

struct area {
	const char *id;	       /* UUIDv7 */
	const char *name;      /* unique under the same parent, regardless of case */
	const char *parent_id; /* NULL at the top */
	int position;	       /* order on a round among those under the same parent */
	int version;
	int64_t created_at;
	const char *path;    /* read only: the names from the top, joined by " / " */
	int64_t instruments; /* read only: in this very area, retired ones too */
};

enum status store_area_add(struct db *db, const struct area *area, struct err *err); /* CONFLICT /name */
/* Name, parent and position, and raises the version; STALE when it is no longer area->version. */
enum status store_area_update(struct db *db, const struct area *area, struct err *err);
enum status store_area_get(struct db *db, const char *id, struct arena *a, struct area *out, struct err *err);
/* All of them, by position and name; there are few. *out is allocated from a. */
enum status store_area_list(struct db *db, struct arena *a, struct area **out, size_t *n, struct err *err);
/* Position after the last one under this parent (NULL: at the top). */
enum status store_area_next_position(struct db *db, const char *parent_id, int *position, struct err *err);

#endif
