#include "store/record_parts.h"
#include "base/text.h"
#include "store/list.h"

enum status store_acknowledgement_put(struct db *db, const char *test_record_id, const struct acknowledgement *k,
				      struct err *err)
{
	struct stmt *q = db_stmt(
		db, "INSERT INTO acknowledgement (id, test_record_id, kind, key, answer, observed, note, person_id, at)"
		    " VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT (test_record_id, kind, key) DO UPDATE SET"
		    " answer = excluded.answer, observed = excluded.observed, note = excluded.note,"
		    " person_id = excluded.person_id, at = excluded.at");
	char id[UUID_SIZE];

	uuid7(id);
	stmt_text(q, 1, id);
	stmt_text(q, 2, test_record_id);
	stmt_text(q, 3, k->kind);
	stmt_text(q, 4, k->key);
	stmt_text(q, 5, k->answer);
	stmt_text(q, 6, k->observed);
	stmt_text(q, 7, k->note);
	stmt_text(q, 8, k->person_id);
	stmt_int(q, 9, k->at);
	return stmt_run(q, err);
}

enum status store_acknowledgement_list(struct db *db, const char *test_record_id, struct arena *a,
				       struct acknowledgement **items, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"SELECT k.kind, k.key, k.answer, k.observed, k.note, k.person_id, p.name, k.at FROM acknowledgement k"
		" JOIN person p ON p.id = k.person_id WHERE k.test_record_id = $1 ORDER BY k.kind, k.key");
	struct acknowledgement *list = NULL;
	size_t i = 0, room = 0;
	enum status rc;

	stmt_text(q, 1, test_record_id);
	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, i, &room, sizeof *list, a);
		if (!list) {
			rc = store_no_memory(err);
			break;
		}
		list[i].kind = col_text(q, 0, a);
		list[i].key = col_text(q, 1, a);
		list[i].answer = col_text(q, 2, a);
		list[i].observed = col_text(q, 3, a);
		list[i].note = col_text(q, 4, a);
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

static enum status standard_use_put(struct db *db, const char *test_record_id, const struct standard_use *u,
				    struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO standard_use (id, test_record_id, role, standard_id, calibration_id, standard_json, at)"
		" VALUES ($1, $2, $3, $4, $5, $6, $7)");
	char id[UUID_SIZE];

	uuid7(id);
	stmt_text(q, 1, id);
	stmt_text(q, 2, test_record_id);
	stmt_text(q, 3, u->role);
	stmt_text(q, 4, u->standard_id);
	stmt_text(q, 5, u->calibration_id);
	stmt_text(q, 6, u->standard_json);
	stmt_int(q, 7, u->at);
	return stmt_run(q, err);
}

enum status store_standard_use_replace(struct db *db, const char *test_record_id, const struct standard_use *uses,
				       size_t n, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM standard_use WHERE test_record_id = $1");
	enum status rc;

	stmt_text(q, 1, test_record_id);
	rc = stmt_run(q, err);
	for (size_t i = 0; !rc && i < n; i++)
		rc = standard_use_put(db, test_record_id, &uses[i], err);
	return rc;
}

enum status store_standard_use_list(struct db *db, const char *test_record_id, struct arena *a,
				    struct standard_use **items, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT role, standard_id, calibration_id, standard_json, at FROM standard_use"
				     " WHERE test_record_id = $1 ORDER BY role");
	struct standard_use *list = arena_alloc(a, 2 * sizeof *list); /* the roles: input, output */
	enum status rc = OK;
	size_t i = 0;

	if (!list)
		return store_no_memory(err);
	stmt_text(q, 1, test_record_id);
	while (i < 2 && (rc = stmt_step(q, err)) == OK) {
		list[i].role = col_text(q, 0, a);
		list[i].standard_id = col_text(q, 1, a);
		list[i].calibration_id = col_text(q, 2, a);
		list[i].standard_json = col_text(q, 3, a);
		list[i].at = col_int(q, 4);
		i++;
	}
	stmt_done(q);
	if (rc && rc != NOT_FOUND)
		return rc;
	*items = list;
	*n = i;
	return OK;
}

enum status store_environment_put(struct db *db, const char *test_record_id, const struct environment *e,
				  struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO environment (test_record_id, temperature_c, humidity_percent, pressure_hpa, at)"
		" VALUES ($1, $2, $3, $4, $5) ON CONFLICT (test_record_id) DO UPDATE SET temperature_c = excluded.temperature_c,"
		" humidity_percent = excluded.humidity_percent, pressure_hpa = excluded.pressure_hpa, at = excluded.at");

	stmt_text(q, 1, test_record_id);
	stmt_real(q, 2, e->temperature_c);
	stmt_real(q, 3, e->humidity_percent);
	stmt_real(q, 4, e->pressure_hpa);
	stmt_int(q, 5, e->at);
	return stmt_run(q, err);
}

enum status store_environment_get(struct db *db, const char *test_record_id, struct environment *out, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT temperature_c, humidity_percent, pressure_hpa, at FROM environment"
				     " WHERE test_record_id = $1");
	enum status rc;

	stmt_text(q, 1, test_record_id);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	out->temperature_c = col_real(q, 0);
	out->humidity_percent = col_real(q, 1);
	out->pressure_hpa = col_real(q, 2);
	out->at = col_int(q, 3);
	stmt_done(q);
	return OK;
}
