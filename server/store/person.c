#include "store/person.h"

#include "store/list.h"

enum status store_person_add(struct db *db, const struct person *person, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO person (id, sign_in, name, roles, password_hash, active, version, created_at, updated_at)"
		" VALUES ($1, $2, $3, $4, $5, $6, 1, $7, $7)");
	enum status rc;

	stmt_text(q, 1, person->id);
	stmt_text(q, 2, person->sign_in);
	stmt_text(q, 3, person->name);
	stmt_int(q, 4, person->roles);
	stmt_text(q, 5, person->password_hash);
	stmt_bool(q, 6, person->active);
	stmt_int(q, 7, person->created_at);
	rc = stmt_run(q, err);
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "sign_in", "somebody signs in as %s already", person->sign_in);
	return rc;
}

enum status store_person_update(struct db *db, const struct person *person, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "UPDATE person SET name = $1, roles = $2, active = $3, updated_at = $4, version = version + 1"
		    " WHERE id = $5 AND version = $6");

	stmt_text(q, 1, person->name);
	stmt_int(q, 2, person->roles);
	stmt_bool(q, 3, person->active);
	stmt_int(q, 4, person->updated_at);
	stmt_text(q, 5, person->id);
	stmt_int(q, 6, person->version);
	return store_changed_one(db, stmt_run(q, err), err);
}

enum status store_person_set_password(struct db *db, const char *id, const char *password_hash, int64_t at,
				      struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE person SET password_hash = $1, updated_at = $2 WHERE id = $3");

	stmt_text(q, 1, password_hash);
	stmt_int(q, 2, at);
	stmt_text(q, 3, id);
	return stmt_run(q, err);
}

#define PERSON "SELECT id, sign_in, name, roles, password_hash, active, version, created_at, updated_at FROM person"

static void read_person(struct stmt *q, struct arena *a, struct person *out)
{
	*out = (struct person){
		.id = col_text(q, 0, a),
		.sign_in = col_text(q, 1, a),
		.name = col_text(q, 2, a),
		.roles = (int)col_int(q, 3),
		.password_hash = col_text(q, 4, a),
		.active = col_bool(q, 5),
		.version = (int)col_int(q, 6),
		.created_at = col_int(q, 7),
		.updated_at = col_int(q, 8),
	};
}

static enum status read_one(struct stmt *q, struct arena *a, struct person *out, struct err *err)
{
	enum status rc = stmt_step(q, err);

	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such person");
	if (rc)
		return rc;
	read_person(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_person_get(struct db *db, const char *id, struct arena *a, struct person *out, struct err *err)
{
	struct stmt *q = db_stmt(db, PERSON " WHERE id = $1");

	stmt_text(q, 1, id);
	return read_one(q, a, out, err);
}

enum status store_person_by_sign_in(struct db *db, const char *sign_in, struct arena *a, struct person *out,
				    struct err *err)
{
	struct stmt *q = db_stmt(db, PERSON " WHERE sign_in = $1");

	stmt_text(q, 1, sign_in);
	return read_one(q, a, out, err);
}

enum status store_person_list(struct db *db, struct arena *a, struct person **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, PERSON " ORDER BY name, id");
	struct person *list = NULL;
	size_t count = 0, room = 0;
	enum status rc;

	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, count, &room, sizeof *list, a);
		if (!list) {
			stmt_done(q);
			return store_no_memory(err);
		}
		read_person(q, a, &list[count++]);
	}
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}

static enum status read_count(struct stmt *q, int64_t *count, struct err *err)
{
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc;
	*count = col_int(q, 0);
	stmt_done(q);
	return OK;
}

enum status store_person_count(struct db *db, int64_t *all, struct err *err)
{
	return read_count(db_stmt(db, "SELECT count(*) FROM person"), all, err);
}

enum status store_person_others_with(struct db *db, const char *id, int role, int64_t *others, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT count(*) FROM person WHERE active = 1 AND id <> $1 AND (roles & $2) <> 0");

	stmt_text(q, 1, id);
	stmt_int(q, 2, role);
	return read_count(q, others, err);
}
