#include "store/dead_band.h"
#include "base/text.h"
#include "store/list.h"

enum status store_dead_band_put(struct db *db, const char *run_id, const struct stored_dead_band *d, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO dead_band (id, run_id, place, rising, rising_text, falling, falling_text, person_id, at)"
		" VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT (run_id, place) DO UPDATE SET"
		" rising = excluded.rising, rising_text = excluded.rising_text, falling = excluded.falling,"
		" falling_text = excluded.falling_text, person_id = excluded.person_id, at = excluded.at");
	char id[UUID_SIZE];

	uuid7(id);
	stmt_text(q, 1, id);
	stmt_text(q, 2, run_id);
	stmt_int(q, 3, d->place);
	stmt_real(q, 4, d->rising);
	stmt_text(q, 5, d->rising_text);
	stmt_real(q, 6, d->falling);
	stmt_text(q, 7, d->falling_text);
	stmt_text(q, 8, d->person_id);
	stmt_int(q, 9, d->at);
	return stmt_run(q, err);
}

enum status store_dead_band_list(struct db *db, const char *run_id, struct arena *a, struct stored_dead_band **items,
				 size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "SELECT d.place, d.rising, d.rising_text, d.falling, d.falling_text, d.person_id, p.name, d.at"
		    " FROM dead_band d JOIN person p ON p.id = d.person_id WHERE d.run_id = $1 ORDER BY d.place");
	struct stored_dead_band *list = NULL;
	size_t i = 0, room = 0;
	enum status rc;

	stmt_text(q, 1, run_id);
	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, i, &room, sizeof *list, a);
		if (!list) {
			rc = store_no_memory(err);
			break;
		}
		list[i].place = (int)col_int(q, 0);
		list[i].rising = col_real(q, 1);
		list[i].rising_text = col_text(q, 2, a);
		list[i].falling = col_real(q, 3);
		list[i].falling_text = col_text(q, 4, a);
		list[i].person_id = col_text(q, 5, a);
		list[i].name = col_text(q, 6, a);
		list[i].at = col_int(q, 7);
		i++;
	}
	stmt_done(q);
	if (rc && rc != NOT_FOUND)
		return rc;
	*items = list;
	*n = i;
	return OK;
}
