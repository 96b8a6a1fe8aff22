/* Rows of table dead_band. */
#ifndef STORE_DEAD_BAND_H
#define STORE_DEAD_BAND_H

#include "store/db.h"

struct stored_dead_band {
	int place;				/* in the procedure's list of places, from 0 */
	double rising, falling;			/* inputs that moved the output, in the input's unit */
	const char *rising_text, *falling_text; /* as typed */
	const char *person_id, *name;		/* name is read only */
	int64_t at;
};

/* Replaces what stands at the place. */
enum status store_dead_band_put(struct db *db, const char *run_id, const struct stored_dead_band *d, struct err *err);
/* Of a run, by place; *items from a. */
enum status store_dead_band_list(struct db *db, const char *run_id, struct arena *a, struct stored_dead_band **items,
				 size_t *n, struct err *err);

#endif
