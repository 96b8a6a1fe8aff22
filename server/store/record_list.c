/*
 * Lists of records, newest first, paged by the last row's (opened_at, id). Each way of narrowing that has an index of its
 * own is its own statement; the rest are conditions that fall away when their parameter is NULL.
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "base/text.h"
#include "store/list.h"
#include "store/test_record.h"

#define COLUMNS                                                                                                  \
	"SELECT r.id, r.number, r.instrument_id, i.tag, i.service, a.name, p.code, r.state, r.verdict_as_found," \
	" r.verdict_as_left, r.worst_as_found, r.adjusted, r.opened_at, r.performed_at, o.name,"                 \
	" (SELECT s.name FROM signature s WHERE s.test_record_id = r.id AND s.meaning = 'performed'"             \
	"  AND r.performed_at IS NOT NULL ORDER BY s.at DESC, s.id DESC LIMIT 1),"                               \
	" (SELECT s.name FROM signature s WHERE s.test_record_id = r.id AND s.meaning = 'reviewed'"              \
	"  AND s.at >= r.performed_at ORDER BY s.at DESC, s.id DESC LIMIT 1),"                                   \
	" (SELECT c.number FROM certificate c WHERE c.test_record_id = r.id AND c.state <> 'preparing'"          \
	"  ORDER BY c.issued_at DESC LIMIT 1),"                                                                  \
	" (SELECT c.state FROM certificate c WHERE c.test_record_id = r.id AND c.state <> 'preparing'"           \
	"  ORDER BY c.issued_at DESC LIMIT 1),"                                                                  \
	" CASE WHEN r.supersedes_id IS NULL THEN r.performed_at ELSE (WITH RECURSIVE before (id, amends) AS ("   \
	"  SELECT f.id, f.supersedes_id FROM test_record f WHERE f.id = r.supersedes_id UNION ALL"               \
	"  SELECT f.id, f.supersedes_id FROM test_record f JOIN before b ON f.id = b.amends)"                    \
	"  SELECT f.performed_at FROM test_record f JOIN before b ON b.id = f.id WHERE b.amends IS NULL) END"    \
	" FROM test_record r JOIN instrument i ON i.id = r.instrument_id JOIN area a ON a.id = i.area_id"        \
	" JOIN procedure_version v ON v.id = r.procedure_version_id JOIN procedure p ON p.id = v.procedure_id"   \
	" JOIN person o ON o.id = r.opened_by"

/* Parameters come in the order of their first use: SQLite numbers them so. $1 is the key of the first condition. */
#define CONDITIONS                                                                                      \
	" AND ($2 IS NULL OR r.state = $2 OR ($2 = 'in_progress' AND r.state IN ('open', 'returned')))" \
	" AND ($3 IS NULL OR r.verdict_as_found = $3)"                                                  \
	" AND ($4 IS NULL OR lower(r.number) LIKE $4 ESCAPE '\\' OR lower(i.tag) LIKE $4 ESCAPE '\\'"   \
	"  OR lower(i.service) LIKE $4 ESCAPE '\\' OR EXISTS (SELECT 1 FROM certificate c"              \
	"  WHERE c.test_record_id = r.id AND lower(c.number) LIKE $4 ESCAPE '\\'))"                     \
	" AND (r.opened_at, r.id) < ($5, $6)"

#define ORDER " ORDER BY r.opened_at DESC, r.id DESC LIMIT $7"

static void read_summary(struct stmt *q, struct arena *a, struct record_summary *out)
{
	out->id = col_text(q, 0, a);
	out->number = col_text(q, 1, a);
	out->instrument_id = col_text(q, 2, a);
	out->tag = col_text(q, 3, a);
	out->service = col_text(q, 4, a);
	out->area = col_text(q, 5, a);
	out->procedure_code = col_text(q, 6, a);
	out->state = col_text(q, 7, a);
	out->verdict_as_found = col_text(q, 8, a);
	out->verdict_as_left = col_text(q, 9, a);
	out->worst_as_found = col_real(q, 10);
	out->adjusted = col_is_null(q, 11) ? -1 : (int)col_int(q, 11);
	out->opened_at = col_int(q, 12);
	out->performed_at = col_int(q, 13);
	out->opened_by = col_text(q, 14, a);
	out->performed_by = col_text(q, 15, a);
	out->reviewed_by = col_text(q, 16, a);
	out->certificate_number = col_text(q, 17, a);
	out->certificate_state = col_text(q, 18, a);
	out->tested_at = col_int(q, 19);
}

enum status store_record_summary(struct db *db, const char *id, struct arena *a, struct record_summary *out,
				 struct err *err)
{
	struct stmt *q = db_stmt(db, COLUMNS " WHERE r.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such test record");
	if (rc)
		return rc;
	read_summary(q, a, out);
	stmt_done(q);
	return OK;
}

static bool cursor_read(const char *cursor, int64_t *opened_at, const char **id)
{
	char *end;

	errno = 0;
	*opened_at = strtoll(cursor, &end, 10);
	if (errno || end == cursor || *end != '.')
		return false;
	*id = end + 1;
	return uuid_is_valid(*id);
}

static bool given(const char *s)
{
	return s && *s;
}

static struct stmt *list_statement(struct db *db, const struct record_filter *f)
{
	struct stmt *q;

	if (given(f->instrument_id)) {
		q = db_stmt(db, COLUMNS " WHERE r.instrument_id = $1" CONDITIONS ORDER);
		stmt_text(q, 1, f->instrument_id);
	} else if (given(f->standard_id)) {
		q = db_stmt(
			db, COLUMNS
			" WHERE r.id IN (SELECT u.test_record_id FROM standard_use u WHERE u.standard_id = $1)" CONDITIONS
				ORDER);
		stmt_text(q, 1, f->standard_id);
	} else if (given(f->schedule_id)) {
		q = db_stmt(db, COLUMNS " WHERE r.schedule_id = $1" CONDITIONS ORDER);
		stmt_text(q, 1, f->schedule_id);
	} else if (given(f->state) && strcmp(f->state, "in_progress") != 0) {
		q = db_stmt(db, COLUMNS " WHERE r.state = $1" CONDITIONS ORDER);
		stmt_text(q, 1, f->state);
	} else if (given(f->state)) { /* few: they may be sorted */
		q = db_stmt(db, COLUMNS " WHERE $1 IS NULL AND r.state IN ('open', 'returned')" CONDITIONS ORDER);
	} else {
		q = db_stmt(db, COLUMNS " WHERE $1 IS NULL" CONDITIONS ORDER);
	}
	return q;
}

enum status store_record_list(struct db *db, const struct record_filter *f, struct arena *a,
			      struct record_summary **items, size_t *n, char next[RECORD_CURSOR_SIZE], struct err *err)
{
	int limit = f->limit < 1 ? 1 : f->limit > 200 ? 200 : f->limit;
	struct record_summary *list = arena_alloc(a, (size_t)(limit + 1) * sizeof *list);
	const char *after_id = NULL;
	int64_t after_at = 0;
	enum status rc = OK;
	struct stmt *q;
	size_t count = 0;

	if (!list)
		return err_set(err, NO_MEMORY, "", "out of memory");
	if (given(f->after) && !cursor_read(f->after, &after_at, &after_id))
		return err_set(err, INVALID, "", "after is no cursor of this list");
	q = list_statement(db, f);
	stmt_text(q, 2, given(f->state) ? f->state : NULL);
	stmt_text(q, 3, given(f->verdict) ? f->verdict : NULL);
	stmt_text(q, 4, search_pattern(f->q, a));
	stmt_int(q, 5, after_id ? after_at : INT64_MAX); /* always a bound, so that the index begins there */
	stmt_text(q, 6, after_id ? after_id : "");
	stmt_int(q, 7, limit + 1);
	while (count <= (size_t)limit && (rc = stmt_step(q, err)) == OK)
		read_summary(q, a, &list[count++]);
	stmt_done(q);
	if (rc && rc != NOT_FOUND)
		return rc;
	next[0] = '\0';
	if (count > (size_t)limit) {
		count = (size_t)limit;
		snprintf(next, RECORD_CURSOR_SIZE, "%lld.%s", (long long)list[count - 1].opened_at, list[count - 1].id);
	}
	*items = list;
	*n = count;
	return OK;
}
