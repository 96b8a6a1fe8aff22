#include "store/schedule.h"

#include <stdlib.h>
#include <string.h>

#include "store/list.h"

enum status store_schedule_add(struct db *db, const struct schedule *s, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO schedule (id, instrument_id, procedure_id, interval_months, due_on, assigned_to, evidence, active,"
		" version, created_at, updated_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, 1, $9, $10)");
	enum status rc;

	stmt_text(q, 1, s->id);
	stmt_text(q, 2, s->instrument_id);
	stmt_text(q, 3, s->procedure_id);
	stmt_int(q, 4, s->interval_months);
	stmt_text(q, 5, s->due_on);
	stmt_text(q, 6, s->assigned_to);
	stmt_text(q, 7, s->evidence);
	stmt_bool(q, 8, s->active);
	stmt_int(q, 9, s->created_at);
	stmt_int(q, 10, s->updated_at);
	rc = stmt_run(q, err);
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "procedure_id",
			       "this instrument is scheduled for this procedure already");
	return rc;
}

enum status store_schedule_update(struct db *db, const struct schedule *s, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "UPDATE schedule SET interval_months = $1, due_on = $2, assigned_to = $3, evidence = $4,"
		    " active = $5, updated_at = $6, version = version + 1 WHERE id = $7 AND version = $8");

	stmt_int(q, 1, s->interval_months);
	stmt_text(q, 2, s->due_on);
	stmt_text(q, 3, s->assigned_to);
	stmt_text(q, 4, s->evidence);
	stmt_bool(q, 5, s->active);
	stmt_int(q, 6, s->updated_at);
	stmt_text(q, 7, s->id);
	stmt_int(q, 8, s->version);
	return store_changed_one(db, stmt_run(q, err), err);
}

enum status store_schedule_set_due(struct db *db, const char *id, const char *due_on, int64_t at, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "UPDATE schedule SET due_on = $1, updated_at = $2, version = version + 1 WHERE id = $3");

	stmt_text(q, 1, due_on);
	stmt_int(q, 2, at);
	stmt_text(q, 3, id);
	return store_changed_one(db, stmt_run(q, err), err);
}

#define SELECT_SCHEDULE                                                                                                        \
	"SELECT s.id, s.instrument_id, s.procedure_id, s.interval_months, s.due_on, s.assigned_to, s.evidence, s.active,"      \
	" s.version, s.created_at, s.updated_at, i.tag, i.service, i.area_id, a.name, p.code,"                                 \
	" coalesce(v.title, (SELECT d.title FROM procedure_version d WHERE d.procedure_id = p.id AND d.state = 'draft'), '')," \
	" v.id IS NOT NULL AND i.status <> 'retired', o.name, r.id, r.number, r.state"                                         \
	" FROM schedule s JOIN instrument i ON i.id = s.instrument_id JOIN area a ON a.id = i.area_id"                         \
	" JOIN procedure p ON p.id = s.procedure_id"                                                                           \
	" LEFT JOIN procedure_version v ON v.procedure_id = p.id AND v.state = 'approved'"                                     \
	" LEFT JOIN person o ON o.id = s.assigned_to"                                                                          \
	" LEFT JOIN test_record r ON r.schedule_id = s.id AND r.state IN ('open', 'returned')"

static void read_schedule(struct stmt *q, struct arena *a, struct schedule *out)
{
	*out = (struct schedule){
		.id = col_text(q, 0, a),
		.instrument_id = col_text(q, 1, a),
		.procedure_id = col_text(q, 2, a),
		.interval_months = (int)col_int(q, 3),
		.due_on = col_text(q, 4, a),
		.assigned_to = col_text(q, 5, a),
		.evidence = col_text(q, 6, a),
		.active = col_bool(q, 7),
		.version = (int)col_int(q, 8),
		.created_at = col_int(q, 9),
		.updated_at = col_int(q, 10),
		.tag = col_text(q, 11, a),
		.service = col_text(q, 12, a),
		.area_id = col_text(q, 13, a),
		.area = col_text(q, 14, a),
		.procedure_code = col_text(q, 15, a),
		.procedure_title = col_text(q, 16, a),
		.runnable = col_bool(q, 17),
		.assigned_name = col_text(q, 18, a),
		.open_record_id = col_text(q, 19, a),
		.open_record_number = col_text(q, 20, a),
		.open_record_state = col_text(q, 21, a),
	};
}

/* Reads q to its end, or to the limit (0: none). */
static enum status read_list(struct stmt *q, size_t limit, struct arena *a, struct schedule **out, size_t *n,
			     struct err *err)
{
	struct schedule *list = NULL;
	size_t count = 0, room = 0;
	enum status rc = OK;

	while ((limit == 0 || count < limit) && (rc = stmt_step(q, err)) == OK) {
		list = list_room(list, count, &room, sizeof *list, a);
		if (!list) {
			stmt_done(q);
			return store_no_memory(err);
		}
		read_schedule(q, a, &list[count++]);
	}
	stmt_done(q);
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}

enum status store_schedule_get(struct db *db, const char *id, struct arena *a, struct schedule *out, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_SCHEDULE " WHERE s.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such schedule");
	if (rc)
		return rc;
	read_schedule(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_schedule_of_instrument(struct db *db, const char *instrument_id, struct arena *a,
					 struct schedule **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_SCHEDULE " WHERE s.instrument_id = $1 ORDER BY s.due_on, s.id");

	stmt_text(q, 1, instrument_id);
	return read_list(q, 0, a, out, n, err);
}

enum status store_schedule_list(struct db *db, const char *after_due, const char *after_id, int limit, struct arena *a,
				struct schedule **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(
		db, SELECT_SCHEDULE
		" WHERE s.id IN (SELECT x.id FROM schedule x"
		" WHERE (x.due_on, x.id) > ($1, $2) ORDER BY x.due_on, x.id LIMIT $3) ORDER BY s.due_on, s.id");

	stmt_text(q, 1, after_due ? after_due : "");
	stmt_text(q, 2, after_id ? after_id : "");
	stmt_int(q, 3, limit + 1);
	return read_list(q, (size_t)limit + 1, a, out, n, err);
}

/* Parameters 1 and 2. */
#define DUE_CONDITIONS                                                                           \
	" AND ($1 IS NULL OR i.area_id IN (WITH RECURSIVE sub (id) AS (SELECT $1"                \
	"  UNION SELECT c.id FROM area c JOIN sub ON c.parent_id = sub.id) SELECT id FROM sub))" \
	" AND ($2 IS NULL OR s.assigned_to = $2)"

enum status store_schedule_due(struct db *db, const struct due_filter *filter, const char *last_day, int limit,
			       struct arena *a, struct schedule **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db,
				 SELECT_SCHEDULE " WHERE s.active = 1 AND i.status <> 'retired'" DUE_CONDITIONS
						 " AND s.due_on <= $3 ORDER BY s.due_on, lower(i.tag), s.id LIMIT $4");

	stmt_text(q, 1, filter->area_id);
	stmt_text(q, 2, filter->person_id);
	stmt_text(q, 3, last_day);
	stmt_int(q, 4, limit);
	return read_list(q, (size_t)limit, a, out, n, err);
}

/* "2026-11" as a number that grows by one a month. */
static int64_t month_number(const char *month)
{
	return (int64_t)strtol(month, NULL, 10) * 12 + strtol(month + 5, NULL, 10);
}

/* One walk over all that is active, since each row costs a look at its instrument. */
enum status store_schedule_due_counts(struct db *db, const struct due_filter *filter, const struct due_days *days,
				      struct due_counts *out, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "SELECT s.due_on, count(*) FROM schedule s CROSS JOIN instrument i ON i.id = s.instrument_id"
		    " WHERE s.active = 1 AND i.status <> 'retired'" DUE_CONDITIONS " GROUP BY s.due_on");
	int64_t first = month_number(days->first_month);
	struct arena scratch = {0};
	enum status rc;

	*out = (struct due_counts){0};
	stmt_text(q, 1, filter->area_id);
	stmt_text(q, 2, filter->person_id);
	while ((rc = stmt_step(q, err)) == OK) {
		const char *due = col_text(q, 0, &scratch);
		int64_t n = col_int(q, 1), month = due ? month_number(due) - first : -1;
		bool comes = due && strcmp(due, days->today) >= 0;

		out->overdue += comes ? 0 : n;
		out->this_week += comes && strcmp(due, days->week_last) <= 0 ? n : 0;
		out->within += comes && strcmp(due, days->within_last) <= 0 ? n : 0;
		if (month >= 0 && month < DUE_MONTHS)
			out->months[month] += n;
	}
	arena_clear(&scratch);
	return rc == NOT_FOUND ? OK : rc;
}
