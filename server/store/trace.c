#include "store/trace.h"

#include "store/list.h"

enum status store_trace_add(struct db *db, const struct trace *t, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO trace (id, run_id, channel, unit, started_at, samples)"
				     " VALUES ($1, $2, $3, $4, $5, $6)");

	stmt_text(q, 1, t->id);
	stmt_text(q, 2, t->run_id);
	stmt_text(q, 3, t->channel);
	stmt_text(q, 4, t->unit);
	stmt_int(q, 5, t->started_at);
	stmt_bytes(q, 6, t->samples, 2 * t->n * sizeof *t->samples);
	return stmt_run(q, err);
}

static void read_trace(struct stmt *q, struct arena *a, struct trace *out)
{
	size_t size = 0;
	const double *samples = col_bytes(q, 5, a, &size);

	*out = (struct trace){
		.id = col_text(q, 0, a),
		.run_id = col_text(q, 1, a),
		.channel = col_text(q, 2, a),
		.unit = col_text(q, 3, a),
		.started_at = col_int(q, 4),
		.samples = samples,
		.n = size / (2 * sizeof *samples),
		.run_kind = col_text(q, 6, a),
		.attempt = (int)col_int(q, 7),
	};
}

enum status store_trace_list(struct db *db, const char *test_record_id, struct arena *a, struct trace **out, size_t *n,
			     struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "SELECT t.id, t.run_id, t.channel, t.unit, t.started_at, t.samples, r.kind, r.attempt"
				 " FROM trace t JOIN run r ON r.id = t.run_id WHERE r.test_record_id = $1"
				 " ORDER BY t.started_at, t.channel");
	struct trace *list = NULL;
	size_t count = 0, room = 0;
	enum status rc;

	stmt_text(q, 1, test_record_id);
	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, count, &room, sizeof *list, a);
		if (!list) {
			stmt_done(q);
			return store_no_memory(err);
		}
		read_trace(q, a, &list[count++]);
	}
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}

enum status store_driven_add(struct db *db, const struct driven *d, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "INSERT INTO driven (channel_id, test_record_id, person_id, since) VALUES ($1, $2, $3, $4)");
	enum status rc;

	stmt_text(q, 1, d->channel_id);
	stmt_text(q, 2, d->test_record_id);
	stmt_text(q, 3, d->person_id);
	stmt_int(q, 4, d->since);
	rc = stmt_run(q, err);
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "", "this source is being driven already");
	return rc;
}

enum status store_driven_remove(struct db *db, const char *channel_id, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM driven WHERE channel_id = $1");

	stmt_text(q, 1, channel_id);
	return stmt_run(q, err);
}

enum status store_driven_list(struct db *db, struct arena *a, struct driven **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT channel_id, test_record_id, person_id, since FROM driven ORDER BY since");
	struct driven *list = NULL;
	size_t count = 0, room = 0;
	enum status rc;

	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, count, &room, sizeof *list, a);
		if (!list) {
			stmt_done(q);
			return store_no_memory(err);
		}
		list[count++] = (struct driven){.channel_id = col_text(q, 0, a),
						.test_record_id = col_text(q, 1, a),
						.person_id = col_text(q, 2, a),
						.since = col_int(q, 3)};
	}
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}
