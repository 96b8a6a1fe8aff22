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

enum status store_ledger_head(struct db *db, struct ledger_head *out, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT number, hash, mac FROM ledger_head");
	struct arena a = {0};
	const char *hash, *mac;
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc == NOT_FOUND ? err_set(err, FAILED, "", "the ledger has lost its head") : rc;
	hash = col_text_whole(q, 1, &a);
	mac = col_text_whole(q, 2, &a);
	out->number = col_int(q, 0);
	snprintf(out->hash, sizeof out->hash, "%s", hash ? hash : "");
	snprintf(out->mac, sizeof out->mac, "%s", mac ? mac : "");
	stmt_done(q);
	arena_clear(&a);
	return OK;
}

enum status store_ledger_set_head(struct db *db, const struct ledger_head *head, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE ledger_head SET number = $1, hash = $2, mac = $3");

	stmt_int(q, 1, head->number);
	stmt_text(q, 2, head->hash);
	stmt_text(q, 3, head->mac);
	return stmt_run(q, err);
}

#define ENTRY                                                                                                         \
	"SELECT number, at, person_id, person_name, action, thing, thing_id, label, reason, before_json, after_json," \
	" previous_hash, hash FROM ledger_entry"

static void read_entry(struct stmt *q, struct arena *a, struct ledger_entry *out)
{
	*out = (struct ledger_entry){
		.number = col_int(q, 0),
		.at = col_int(q, 1),
		.person_id = col_text_whole(q, 2, a),
		.person_name = col_text_whole(q, 3, a),
		.action = col_text_whole(q, 4, a),
		.thing = col_text_whole(q, 5, a),
		.thing_id = col_text_whole(q, 6, a),
		.label = col_text_whole(q, 7, a),
		.reason = col_text_whole(q, 8, a),
		.before_json = col_text_whole(q, 9, a),
		.after_json = col_text_whole(q, 10, a),
		.previous_hash = col_text_whole(q, 11, a),
		.hash = col_text_whole(q, 12, a),
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

#define FITS                                                                                                     \
	" WHERE ($1 IS NULL OR thing = $1) AND ($2 IS NULL OR thing_id = $2) AND ($3 IS NULL OR person_id = $3)" \
	" AND ($4 IS NULL OR lower(label) LIKE $4 ESCAPE '\\' OR lower(person_name) LIKE $4 ESCAPE '\\'"         \
	" OR action LIKE $4 ESCAPE '\\' OR lower(reason) LIKE $4 ESCAPE '\\')"                                   \
	" AND ($5 IS NULL OR before_json LIKE $5 ESCAPE '\\' OR after_json LIKE $5 ESCAPE '\\')"                 \
	" AND at >= $6 AND at < $7"

static void bind_filter(struct stmt *q, const struct ledger_filter *f, struct arena *a)
{
	stmt_text(q, 1, or_null(f->thing));
	stmt_text(q, 2, or_null(f->thing_id));
	stmt_text(q, 3, or_null(f->person_id));
	stmt_text(q, 4, search_pattern(f->q, a));
	stmt_text(q, 5, or_null(f->field) ? search_pattern(arena_printf(a, "\"%s\":", f->field), a) : NULL);
	stmt_int(q, 6, f->from);
	stmt_int(q, 7, f->until ? f->until : INT64_MAX);
}

enum status store_ledger_list(struct db *db, const struct ledger_filter *f, struct arena *a, struct ledger_entry *out,
			      size_t max, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, ENTRY FITS " AND number < $8 ORDER BY number DESC LIMIT $9");

	bind_filter(q, f, a);
	stmt_int(q, 8, f->before ? f->before : INT64_MAX);
	stmt_int(q, 9, (int64_t)max);
	return read_entries(q, a, out, n, err);
}

enum status store_ledger_pick(struct db *db, const struct ledger_filter *f, int64_t after, struct arena *a,
			      struct ledger_entry *out, size_t max, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, ENTRY FITS " AND number > $8 ORDER BY number LIMIT $9");

	bind_filter(q, f, a);
	stmt_int(q, 8, after);
	stmt_int(q, 9, (int64_t)max);
	return read_entries(q, a, out, n, err);
}

/* ---- checkpoints ---- */

#define CHECKPOINT "SELECT number, at, hash, cause, signature, seal_certificate FROM ledger_checkpoint"

enum status store_checkpoint_add(struct db *db, const struct ledger_checkpoint *c, struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "INSERT INTO ledger_checkpoint (number, at, hash, cause, signature, seal_certificate)"
				 " VALUES ($1, $2, $3, $4, $5, $6)");

	stmt_int(q, 1, c->number);
	stmt_int(q, 2, c->at);
	stmt_text(q, 3, c->hash);
	stmt_text(q, 4, c->cause);
	stmt_text(q, 5, c->signature);
	stmt_text(q, 6, c->seal_certificate);
	return stmt_run(q, err);
}

static enum status read_checkpoint(struct stmt *q, struct arena *a, struct ledger_checkpoint *out, struct err *err)
{
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc;
	*out = (struct ledger_checkpoint){.number = col_int(q, 0),
					  .at = col_int(q, 1),
					  .hash = col_text_whole(q, 2, a),
					  .cause = col_text_whole(q, 3, a),
					  .signature = col_text_whole(q, 4, a),
					  .seal_certificate = col_text_whole(q, 5, a)};
	stmt_done(q);
	return OK;
}

enum status store_checkpoint_after(struct db *db, int64_t number, struct arena *a, struct ledger_checkpoint *out,
				   struct err *err)
{
	struct stmt *q = db_stmt(db, CHECKPOINT " WHERE number > $1 ORDER BY number LIMIT 1");

	stmt_int(q, 1, number);
	return read_checkpoint(q, a, out, err);
}

enum status store_checkpoint_last(struct db *db, struct arena *a, struct ledger_checkpoint *out, struct err *err)
{
	return read_checkpoint(db_stmt(db, CHECKPOINT " ORDER BY number DESC LIMIT 1"), a, out, err);
}
