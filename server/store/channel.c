#include "store/channel.h"

#include "store/list.h"

enum status store_channel_add(struct db *db, const struct channel *c, struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "INSERT INTO channel (id, instrument_id, standard_id, side, source_json, period_ms,"
				 " version, created_at, updated_at) VALUES ($1, $2, $3, $4, $5, $6, 1, $7, $7)");
	enum status rc;

	stmt_text(q, 1, c->id);
	stmt_text(q, 2, c->instrument_id);
	stmt_text(q, 3, c->standard_id);
	stmt_text(q, 4, c->side);
	stmt_text(q, 5, c->source_json);
	stmt_int(q, 6, c->period_ms);
	stmt_int(q, 7, c->created_at);
	rc = stmt_run(q, err);
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "side", "its %s is read from somewhere already", c->side);
	return rc;
}

enum status store_channel_update(struct db *db, const struct channel *c, struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "UPDATE channel SET source_json = $1, period_ms = $2, device_id = $3, device_tag = $4,"
				 " updated_at = $5, version = version + 1 WHERE id = $6 AND version = $7");

	stmt_text(q, 1, c->source_json);
	stmt_int(q, 2, c->period_ms);
	stmt_text(q, 3, c->device_id);
	stmt_text(q, 4, c->device_tag);
	stmt_int(q, 5, c->updated_at);
	stmt_text(q, 6, c->id);
	stmt_int(q, 7, c->version);
	return store_changed_one(db, stmt_run(q, err), err);
}

enum status store_channel_remove(struct db *db, const char *id, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM channel WHERE id = $1");

	stmt_text(q, 1, id);
	return stmt_run(q, err);
}

#define SELECT_CHANNELS                                                                                                  \
	"SELECT c.id, c.instrument_id, c.standard_id, c.side, c.source_json, c.period_ms, c.device_id, c.device_tag,"    \
	" c.version, c.created_at, c.updated_at, coalesce(i.tag, s.code) AS label, coalesce(i.service, s.name), r.name," \
	" trim(coalesce(i.maker, s.maker, '') || ' ' || coalesce(i.model, s.model, ''))"                                 \
	" FROM channel c LEFT JOIN instrument i ON i.id = c.instrument_id LEFT JOIN area r ON r.id = i.area_id"          \
	" LEFT JOIN standard s ON s.id = c.standard_id"

static void read_channel(struct stmt *q, struct arena *a, struct channel *out)
{
	*out = (struct channel){
		.id = col_text(q, 0, a),
		.instrument_id = col_text(q, 1, a),
		.standard_id = col_text(q, 2, a),
		.side = col_text(q, 3, a),
		.source_json = col_text(q, 4, a),
		.period_ms = (int)col_int(q, 5),
		.device_id = col_text(q, 6, a),
		.device_tag = col_text(q, 7, a),
		.version = (int)col_int(q, 8),
		.created_at = col_int(q, 9),
		.updated_at = col_int(q, 10),
		.label = col_text(q, 11, a),
		.about = col_text(q, 12, a),
		.area = col_text(q, 13, a),
		.model = col_text(q, 14, a),
	};
}

static enum status read_one(struct stmt *q, struct arena *a, struct channel *out, struct err *err)
{
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc;
	read_channel(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_channel_get(struct db *db, const char *id, struct arena *a, struct channel *out, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_CHANNELS " WHERE c.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = read_one(q, a, out, err);
	return rc == NOT_FOUND ? err_set(err, NOT_FOUND, "", "there is no such channel") : rc;
}

enum status store_channel_of(struct db *db, const char *instrument_id, const char *standard_id, const char *side,
			     struct arena *a, struct channel *out, struct err *err)
{
	struct stmt *q = db_stmt(db, instrument_id ? SELECT_CHANNELS " WHERE c.instrument_id = $1 AND c.side = $2" :
						     SELECT_CHANNELS " WHERE c.standard_id = $1 AND c.side = $2");

	stmt_text(q, 1, instrument_id ? instrument_id : standard_id);
	stmt_text(q, 2, side);
	return read_one(q, a, out, err);
}

enum status store_channel_list(struct db *db, const char *instrument_id, const char *standard_id, struct arena *a,
			       struct channel **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_CHANNELS
				 " WHERE ($1 IS NULL OR c.instrument_id = $1) AND ($2 IS NULL OR c.standard_id = $2)"
				 " ORDER BY label, c.side");
	struct channel *list = NULL;
	size_t count = 0, room = 0;
	enum status rc;

	stmt_text(q, 1, instrument_id);
	stmt_text(q, 2, standard_id);
	while ((rc = stmt_step(q, err)) == OK) {
		struct channel *grown = list_room(list, count, &room, sizeof *list, a);

		if (!grown) {
			stmt_done(q);
			return store_no_memory(err);
		}
		list = grown;
		read_channel(q, a, &list[count++]);
	}
	if (rc != NOT_FOUND)
		return rc;
	*out = list;
	*n = count;
	return OK;
}
