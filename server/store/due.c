#include "store/due.h"

#include <stdio.h>

#include "base/time.h"
#include "store/list.h"

#define DAY_MS INT64_C(86400000)

enum status store_records_in_hand(struct db *db, int64_t *in_progress, int64_t *waiting, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "SELECT count(*) FILTER (WHERE state <> 'performed'), count(*) FILTER (WHERE state = 'performed')"
		    " FROM test_record WHERE state IN ('open', 'returned', 'performed')");
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc;
	*in_progress = col_int(q, 0);
	*waiting = col_int(q, 1);
	stmt_done(q);
	return OK;
}

/* By the index of states: an old plant has few records in hand among very many. */
enum status store_record_ids_in_hand(struct db *db, bool waiting, int limit, struct arena *a, const char ***ids,
				     size_t *n, struct err *err)
{
	struct stmt *q =
		waiting ?
			db_stmt(db,
				"SELECT id FROM test_record WHERE state = 'performed' ORDER BY opened_at DESC, id DESC LIMIT $1") :
			db_stmt(db, "SELECT id FROM test_record WHERE state IN ('open', 'returned')"
				    " ORDER BY opened_at DESC, id DESC LIMIT $1");
	enum status rc;

	*ids = arena_alloc(a, (size_t)limit * sizeof **ids);
	*n = 0;
	if (!*ids)
		return store_no_memory(err);
	stmt_int(q, 1, limit);
	while ((rc = stmt_step(q, err)) == OK)
		(*ids)[(*n)++] = col_text(q, 0, a);
	return rc == NOT_FOUND ? OK : rc;
}

/*
 * Signatures are counted, not records: their rows are short. A key begins with the time it was made (UUIDv7) and no
 * signature is dated after that, so the key's index leads past all older ones. A day more on both sides takes in every
 * time zone; the day itself is then judged in the plant's.
 */
enum status store_records_performed(struct db *db, int32_t first_day, int32_t last_day, int64_t *count, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT max(at) FROM signature WHERE id >= $1 AND meaning = 'performed'"
				     " AND at BETWEEN $2 AND $3 GROUP BY +test_record_id");
	int64_t from = (first_day - 1) * DAY_MS, to = (last_day + 2) * DAY_MS;
	char key[37];
	enum status rc;

	snprintf(key, sizeof key, "%08llx-%04llx", (unsigned long long)from >> 16, (unsigned long long)from & 0xffff);
	stmt_text(q, 1, key);
	stmt_int(q, 2, from);
	stmt_int(q, 3, to);
	*count = 0;
	while ((rc = stmt_step(q, err)) == OK) {
		int32_t day = date_of_time(col_int(q, 0));

		*count += day >= first_day && day <= last_day;
	}
	return rc == NOT_FOUND ? OK : rc;
}
