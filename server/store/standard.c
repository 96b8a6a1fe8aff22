#include "store/standard.h"

#include "store/list.h"

static enum status coded(enum status rc, const struct standard *s, struct err *err)
{
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "code", "the code %s is already in use", s->code);
	return rc;
}

static void bind_standard(struct stmt *q, const struct standard *s)
{
	stmt_text(q, 1, s->code);
	stmt_text(q, 2, s->name);
	stmt_text(q, 3, s->quantity);
	stmt_text(q, 4, s->maker);
	stmt_text(q, 5, s->model);
	stmt_text(q, 6, s->serial);
	stmt_text(q, 7, s->status);
	stmt_text(q, 8, s->status_reason);
	stmt_int(q, 9, s->updated_at);
	stmt_text(q, 10, s->id);
}

enum status store_standard_add(struct db *db, const struct standard *s, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO standard (code, name, quantity, maker, model, serial, status, status_reason, updated_at, id,"
		" created_at, version) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, 1)");

	bind_standard(q, s);
	stmt_int(q, 11, s->created_at);
	return coded(stmt_run(q, err), s, err);
}

enum status store_standard_update(struct db *db, const struct standard *s, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"UPDATE standard SET code = $1, name = $2, quantity = $3, maker = $4, model = $5, serial = $6, status = $7,"
		" status_reason = $8, updated_at = $9, version = version + 1 WHERE id = $10 AND version = $11");

	bind_standard(q, s);
	stmt_int(q, 11, s->version);
	return store_changed_one(db, coded(stmt_run(q, err), s, err), err);
}

#define CALIBRATION_COLUMNS                                                                                               \
	" c.id, c.standard_id, c.certificate_number, c.issued_by, c.calibrated_on, c.valid_until, c.low, c.high, c.unit," \
	" c.expanded_uncertainty, c.coverage_factor, c.traceability, c.created_at"

/* $1 is today: a calibration that lies in the future is not the current one yet. */
#define SELECT_STANDARD                                                                                              \
	"SELECT s.id, s.code, s.name, s.quantity, s.maker, s.model, s.serial, s.status, s.status_reason, s.version," \
	" s.created_at, s.updated_at," CALIBRATION_COLUMNS                                                           \
	" FROM standard s LEFT JOIN standard_calibration c ON c.id = (SELECT k.id FROM standard_calibration k"       \
	"  WHERE k.standard_id = s.id AND k.calibrated_on <= $1 ORDER BY k.calibrated_on DESC, k.id DESC LIMIT 1)"

static void read_calibration(struct stmt *q, int from, struct arena *a, struct standard_calibration *out)
{
	*out = (struct standard_calibration){
		.id = col_text(q, from, a),
		.standard_id = col_text(q, from + 1, a),
		.certificate_number = col_text(q, from + 2, a),
		.issued_by = col_text(q, from + 3, a),
		.calibrated_on = col_text(q, from + 4, a),
		.valid_until = col_text(q, from + 5, a),
		.low = col_real(q, from + 6),
		.high = col_real(q, from + 7),
		.unit = col_text(q, from + 8, a),
		.expanded_uncertainty = col_real(q, from + 9),
		.coverage_factor = col_real(q, from + 10),
		.traceability = col_text(q, from + 11, a),
		.created_at = col_int(q, from + 12),
	};
}

static void read_standard(struct stmt *q, struct arena *a, struct standard *out)
{
	*out = (struct standard){
		.id = col_text(q, 0, a),
		.code = col_text(q, 1, a),
		.name = col_text(q, 2, a),
		.quantity = col_text(q, 3, a),
		.maker = col_text(q, 4, a),
		.model = col_text(q, 5, a),
		.serial = col_text(q, 6, a),
		.status = col_text(q, 7, a),
		.status_reason = col_text(q, 8, a),
		.version = (int)col_int(q, 9),
		.created_at = col_int(q, 10),
		.updated_at = col_int(q, 11),
	};
	read_calibration(q, 12, a, &out->calibration);
}

enum status store_standard_get(struct db *db, const char *id, const char *today, struct arena *a, struct standard *out,
			       struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_STANDARD " WHERE s.id = $2");
	enum status rc;

	stmt_text(q, 1, today);
	stmt_text(q, 2, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such reference standard");
	if (rc)
		return rc;
	read_standard(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_standard_list(struct db *db, const char *search, const char *after, int limit, const char *today,
				struct arena *a, struct standard **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_STANDARD
				 " WHERE lower(s.code) > lower($2) AND ($3 IS NULL OR lower(s.code) LIKE $3 ESCAPE '\\'"
				 "  OR lower(s.name) LIKE $3 ESCAPE '\\' OR lower(s.quantity) LIKE $3 ESCAPE '\\')"
				 " ORDER BY lower(s.code) LIMIT $4");
	size_t most = (size_t)limit + 1, count = 0;
	struct standard *list = arena_alloc(a, most * sizeof *list);
	enum status rc = OK;

	if (!list)
		return store_no_memory(err);
	stmt_text(q, 1, today);
	stmt_text(q, 2, after ? after : "");
	stmt_text(q, 3, search_pattern(search, a));
	stmt_int(q, 4, (int64_t)most);
	while (count < most && (rc = stmt_step(q, err)) == OK)
		read_standard(q, a, &list[count++]);
	stmt_done(q);
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}

enum status store_standard_list_by_unit(struct db *db, const char *unit, const char *today, struct arena *a,
					struct standard **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, SELECT_STANDARD " WHERE c.unit = $2 ORDER BY lower(s.code)");
	struct standard *list = NULL;
	size_t count = 0, room = 0;
	enum status rc;

	stmt_text(q, 1, today);
	stmt_text(q, 2, unit);
	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, count, &room, sizeof *list, a);
		if (!list) {
			stmt_done(q);
			return store_no_memory(err);
		}
		read_standard(q, a, &list[count++]);
	}
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}

enum status store_standard_calibration_add(struct db *db, const struct standard_calibration *c, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"INSERT INTO standard_calibration (id, standard_id, certificate_number, issued_by, calibrated_on, valid_until, low,"
		" high, unit, expanded_uncertainty, coverage_factor, traceability, created_at)"
		" VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)");
	enum status rc;

	stmt_text(q, 1, c->id);
	stmt_text(q, 2, c->standard_id);
	stmt_text(q, 3, c->certificate_number);
	stmt_text(q, 4, c->issued_by);
	stmt_text(q, 5, c->calibrated_on);
	stmt_text(q, 6, c->valid_until);
	stmt_real(q, 7, c->low);
	stmt_real(q, 8, c->high);
	stmt_text(q, 9, c->unit);
	stmt_real(q, 10, c->expanded_uncertainty);
	stmt_real(q, 11, c->coverage_factor);
	stmt_text(q, 12, c->traceability);
	stmt_int(q, 13, c->created_at);
	rc = stmt_run(q, err);
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "certificate_number", "the certificate %s is entered already",
			       c->certificate_number);
	return rc;
}

enum status store_standard_calibration_list(struct db *db, const char *standard_id, struct arena *a,
					    struct standard_calibration **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "SELECT" CALIBRATION_COLUMNS " FROM standard_calibration c WHERE c.standard_id = $1"
				 " ORDER BY c.calibrated_on DESC, c.id DESC");
	struct standard_calibration *list = NULL;
	size_t count = 0, room = 0;
	enum status rc;

	stmt_text(q, 1, standard_id);
	while ((rc = stmt_step(q, err)) == OK) {
		list = list_room(list, count, &room, sizeof *list, a);
		if (!list) {
			stmt_done(q);
			return store_no_memory(err);
		}
		read_calibration(q, 0, a, &list[count++]);
	}
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}
