#include "store/area.h"

#include "store/list.h"

static enum status named(enum status rc, const struct area *area, struct err *err)
{
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "name", "there is an area %s here already", area->name);
	return rc;
}

enum status store_area_add(struct db *db, const struct area *area, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO area (id, name, parent_id, position, version, created_at)"
				     " VALUES ($1, $2, $3, $4, 1, $5)");

	stmt_text(q, 1, area->id);
	stmt_text(q, 2, area->name);
	stmt_text(q, 3, area->parent_id);
	stmt_int(q, 4, area->position);
	stmt_int(q, 5, area->created_at);
	return named(stmt_run(q, err), area, err);
}

enum status store_area_update(struct db *db, const struct area *area, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE area SET name = $1, parent_id = $2, position = $3, version = version + 1"
				     " WHERE id = $4 AND version = $5");

	stmt_text(q, 1, area->name);
	stmt_text(q, 2, area->parent_id);
	stmt_int(q, 3, area->position);
	stmt_text(q, 4, area->id);
	stmt_int(q, 5, area->version);
	return store_changed_one(db, named(stmt_run(q, err), area, err), err);
}

/* Path and count come with every row: there are few areas, and the count is read off an index alone. */
#define SELECT_AREAS                                                                                  \
	"WITH RECURSIVE p (id, path) AS (SELECT id, name FROM area WHERE parent_id IS NULL"           \
	" UNION ALL SELECT c.id, p.path || ' / ' || c.name FROM area c JOIN p ON c.parent_id = p.id)" \
	" SELECT a.id, a.name, a.parent_id, a.position, a.version, a.created_at, p.path,"             \
	" (SELECT count(*) FROM instrument i WHERE i.area_id = a.id)"                                 \
	" FROM area a JOIN p ON p.id = a.id"

static void read_area(struct stmt *q, struct arena *a, struct area *out)
{
	*out = (struct area){
		.id = col_text(q, 0, a),
		.name = col_text(q, 1, a),
		.parent_id = col_text(q, 2, a),
		.position = (int)col_int(q, 3),
		.version = (int)col_int(q, 4),
		.created_at = col_int(q, 5),
		.path = col_text(q, 6, a),
		.instruments = col_int(q, 7),
	};
}

enum status store_area_get(struct db *db, const char *id, struct arena *a, struct area *out, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_AREAS " WHERE a.id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such area");
	if (rc)
		return rc;
	read_area(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_area_list(struct db *db, struct arena *a, struct area **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_AREAS " ORDER BY a.position, a.name");
	struct area *list = NULL;
	size_t count = 0, room = 0;
	enum status rc;

	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, count, &room, sizeof *list, a);
		if (!list) {
			stmt_done(q);
			return store_no_memory(err);
		}
		read_area(q, a, &list[count++]);
	}
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}

enum status store_area_next_position(struct db *db, const char *parent_id, int *position, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "SELECT coalesce(max(position), 0) + 1 FROM area WHERE coalesce(parent_id, '') = coalesce($1, '')");
	enum status rc;

	stmt_text(q, 1, parent_id);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	*position = (int)col_int(q, 0);
	stmt_done(q);
	return OK;
}
