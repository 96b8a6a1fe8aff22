#include "store/ledger.h"

#include <stdio.h>

#include "store/list.h"

enum status store_ledger_add(struct db *db, const struct ledger_entry *entry, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "INSERT INTO ledger_entry (number, at, person_id, person_name, action, thing, thing_id, label,"
		    " reason, before_json, after_json, previous_hash, hash)"
		    " VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)");

	stmt_int(q, 1, entry->number);
	stmt_int(q, 2, entry->at);
	stmt_text(q, 3, entry->person_id);
	stmt_text(q, 4, entry->person_name);
	stmt_text(q, 5, entry->action);
	stmt_text(q, 6, entry->thing);
	stmt_text(q, 7, entry->thing_id);
	stmt_text(q, 8, entry->label);
	stmt_text(q, 9, entry->reason);
	stmt_text(q, 10, entry->before_json);
	stmt_text(q, 11, entry->after_json);
	stmt_text(q, 12, entry->previous_hash);
	stmt_text(q, 13, entry->hash);
	return stmt_run(q, err);
}

enum status store_ledger_head(struct db *db, int64_t *number, char hash[65], struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT number, hash FROM ledger_entry ORDER BY number DESC LIMIT 1");
	struct arena a = {0};
	const char *text;
	enum status rc = stmt_step(q, err);

	*number = 0;
	snprintf(hash, 65, "%064d", 0);
	if (rc)
		return rc == NOT_FOUND ? OK : rc;
	text = col_text(q, 1, &a);
	*number = col_int(q, 0);
	snprintf(hash, 65, "%s", text ? text : "");
	stmt_done(q);
	arena_clear(&a);
	return OK;
}

#define ENTRY                                                                                                         \
	"SELECT number, at, person_id, person_name, action, thing, thing_id, label, reason, before_json, after_json," \
	" previous_hash, hash FROM ledger_entry"

static void read_entry(struct stmt *q, struct arena *a, struct ledger_entry *out)
{
	*out = (struct ledger_entry){
		.number = col_int(q, 0),
		.at = col_int(q, 1),
		.person_id = col_text(q, 2, a),
		.person_name = col_text(q, 3, a),
		.action = col_text(q, 4, a),
		.thing = col_text(q, 5, a),
		.thing_id = col_text(q, 6, a),
		.label = col_text(q, 7, a),
		.reason = col_text(q, 8, a),
		.before_json = col_text(q, 9, a),
		.after_json = col_text(q, 10, a),
		.previous_hash = col_text(q, 11, a),
		.hash = col_text(q, 12, a),
	};
}

static enum status read_entries(struct stmt *q, struct arena *a, struct ledger_entry *out, size_t *n, struct err *err)
{
	enum status rc;

	*n = 0;
	while ((rc = stmt_step(q, err)) == OK)
		read_entry(q, a, &out[(*n)++]);
	return rc == NOT_FOUND ? OK : rc;
}

enum status store_ledger_walk(struct db *db, int64_t after, struct arena *a, struct ledger_entry *out, size_t max,
			      size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, ENTRY " WHERE number > $1 ORDER BY number LIMIT $2");

	stmt_int(q, 1, after);
	stmt_int(q, 2, (int64_t)max);
	return read_entries(q, a, out, n, err);
}

static const char *or_null(const char *s)
{
	return s && *s ? s : NULL;
}

enum status store_ledger_list(struct db *db, const struct ledger_filter *f, struct arena *a, struct ledger_entry *out,
			      size_t max, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(
		db, ENTRY
		" WHERE ($1 IS NULL OR thing = $1) AND ($2 IS NULL OR thing_id = $2) AND ($3 IS NULL OR person_id = $3)"
		" AND ($4 IS NULL OR lower(label) LIKE $4 ESCAPE '\\' OR lower(person_name) LIKE $4 ESCAPE '\\'"
		" OR action LIKE $4 ESCAPE '\\' OR lower(reason) LIKE $4 ESCAPE '\\')"
		" AND ($5 = 0 OR number < $5) ORDER BY number DESC LIMIT $6");

	stmt_text(q, 1, or_null(f->thing));
	stmt_text(q, 2, or_null(f->thing_id));
	stmt_text(q, 3, or_null(f->person_id));
	stmt_text(q, 4, search_pattern(f->q, a));
	stmt_int(q, 5, f->before);
	stmt_int(q, 6, (int64_t)max);
	return read_entries(q, a, out, n, err);
}
