#include "store/certificate.h"

#include <stdio.h>

#include "base/text.h"

enum status store_certificate_add(struct db *db, const struct certificate *c, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO certificate (id, number, test_record_id, issued_by, issued_at, state)"
				     " VALUES ($1, $2, $3, $4, $5, $6)");
	char id[UUID_SIZE];

	uuid7(id);
	stmt_text(q, 1, id);
	stmt_text(q, 2, c->number);
	stmt_text(q, 3, c->test_record_id);
	stmt_text(q, 4, c->issued_by);
	stmt_int(q, 5, c->issued_at);
	stmt_text(q, 6, c->state);
	return stmt_run(q, err);
}

#define COLUMNS                                                                                                      \
	"SELECT c.number, c.test_record_id, c.issued_by, p.name, c.issued_at, c.sealed, c.pdf_sha256, c.xml_sha256," \
	" c.state, c.reason, c.replaced_by FROM certificate c JOIN person p ON p.id = c.issued_by"

static enum status read_one(struct stmt *q, struct arena *a, struct certificate *out, struct err *err)
{
	enum status rc = stmt_step(q, err);

	if (rc)
		return rc;
	*out = (struct certificate){
		.number = col_text(q, 0, a),
		.test_record_id = col_text(q, 1, a),
		.issued_by = col_text(q, 2, a),
		.issued_by_name = col_text(q, 3, a),
		.issued_at = col_int(q, 4),
		.sealed = col_bool(q, 5),
		.pdf_sha256 = col_text(q, 6, a),
		.xml_sha256 = col_text(q, 7, a),
		.state = col_text(q, 8, a),
		.reason = col_text(q, 9, a),
		.replaced_by = col_text(q, 10, a),
	};
	stmt_done(q);
	return OK;
}

enum status store_certificate_get(struct db *db, const char *number, struct arena *a, struct certificate *out,
				  struct err *err)
{
	struct stmt *q = db_stmt(db, COLUMNS " WHERE c.number = upper($1) AND c.state <> 'preparing'");
	enum status rc;

	stmt_text(q, 1, number);
	rc = read_one(q, a, out, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "no certificate has this number");
	return rc;
}

enum status store_certificate_of(struct db *db, const char *test_record_id, struct arena *a, struct certificate *out,
				 struct err *err)
{
	struct stmt *q = db_stmt(db, COLUMNS " WHERE c.test_record_id = $1 AND c.state <> 'preparing'"
					     " ORDER BY c.issued_at DESC, c.id DESC LIMIT 1");

	stmt_text(q, 1, test_record_id);
	return read_one(q, a, out, err);
}

enum status store_certificate_of_file(struct db *db, const char *sha256, struct arena *a, struct certificate *out,
				      struct err *err)
{
	struct stmt *q = db_stmt(db,
				 COLUMNS " WHERE (c.pdf_sha256 = $1 OR c.xml_sha256 = $1) AND c.state <> 'preparing'");

	stmt_text(q, 1, sha256);
	return read_one(q, a, out, err);
}

enum status store_certificate_reserved(struct db *db, const char *test_record_id, struct arena *a,
				       struct certificate *out, struct err *err)
{
	struct stmt *q = db_stmt(db, COLUMNS " WHERE c.test_record_id = $1 AND c.state = 'preparing'");

	stmt_text(q, 1, test_record_id);
	return read_one(q, a, out, err);
}

enum status store_certificate_issue(struct db *db, const struct certificate *c, struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "UPDATE certificate SET issued_by = $1, issued_at = $2, sealed = $3, pdf_sha256 = $4,"
				 " xml_sha256 = $5, state = 'current' WHERE number = $6 AND state = 'preparing'");
	enum status rc;

	stmt_text(q, 1, c->issued_by);
	stmt_int(q, 2, c->issued_at);
	stmt_bool(q, 3, c->sealed);
	stmt_text(q, 4, c->pdf_sha256);
	stmt_text(q, 5, c->xml_sha256);
	stmt_text(q, 6, c->number);
	rc = stmt_run(q, err);
	if (!rc && db_changes(db) != 1)
		return err_set(err, CONFLICT, "", "%s was issued already", c->number);
	return rc;
}

enum status store_certificate_set_sealed(struct db *db, const char *number, const char *pdf_sha256,
					 const char *xml_sha256, struct err *err)
{
	struct stmt *q = db_stmt(
		db,
		"UPDATE certificate SET sealed = 1, pdf_sha256 = $1, xml_sha256 = $2 WHERE number = $3 AND sealed = 0");

	stmt_text(q, 1, pdf_sha256);
	stmt_text(q, 2, xml_sha256);
	stmt_text(q, 3, number);
	return stmt_run(q, err);
}

enum status store_certificate_set_state(struct db *db, const char *number, const char *state, const char *reason,
					const char *replaced_by, struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "UPDATE certificate SET state = $1, reason = $2, replaced_by = $3 WHERE number = $4");

	stmt_text(q, 1, state);
	stmt_text(q, 2, reason);
	stmt_text(q, 3, replaced_by);
	stmt_text(q, 4, number);
	return stmt_run(q, err);
}

enum status store_certificate_amendments(struct db *db, const char *number, int64_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT count(*) FROM certificate WHERE number LIKE $1");
	char pattern[80];
	enum status rc;

	snprintf(pattern, sizeof pattern, "%.64s-A%%", number); /* a prefix holds neither % nor _ */
	stmt_text(q, 1, pattern);
	rc = stmt_step(q, err);
	*n = rc ? 0 : col_int(q, 0);
	stmt_done(q);
	return rc;
}

enum status store_certificate_newer(struct db *db, const char *test_record_id, int64_t *n, struct err *err)
{
	/* an amendment is as old as the test it corrects, however late it was signed */
	struct stmt *q = db_stmt(
		db, "WITH RECURSIVE test (id, day) AS (SELECT id, performed_at FROM test_record"
		    " WHERE instrument_id = (SELECT instrument_id FROM test_record WHERE id = $1)"
		    " AND supersedes_id IS NULL UNION ALL SELECT r.id, t.day FROM test_record r"
		    " JOIN test t ON r.supersedes_id = t.id WHERE r.state <> 'void')"
		    " SELECT count(*) FROM test t JOIN certificate c ON c.test_record_id = t.id AND c.state = 'current'"
		    " WHERE t.day > (SELECT day FROM test WHERE id = $1)");
	enum status rc;

	stmt_text(q, 1, test_record_id);
	rc = stmt_step(q, err);
	*n = rc ? 0 : col_int(q, 0);
	stmt_done(q);
	return rc;
}

/* ---- files ---- */

enum status store_certificate_file_add(struct db *db, const struct certificate_file *f, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO certificate_file (number, paper, pdf, xml) VALUES ($1, $2, $3, $4)");

	stmt_text(q, 1, f->number);
	stmt_text(q, 2, f->paper);
	stmt_bytes(q, 3, f->pdf, f->pdf_size);
	stmt_bytes(q, 4, f->xml, f->xml_size);
	return stmt_run(q, err);
}

enum status store_certificate_file_get(struct db *db, const char *number, struct arena *a, struct certificate_file *out,
				       struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT number, paper, pdf, xml FROM certificate_file WHERE number = $1");
	enum status rc;

	stmt_text(q, 1, number);
	rc = stmt_step(q, err);
	if (rc)
		return rc;
	out->number = col_text(q, 0, a);
	out->paper = col_text(q, 1, a);
	out->pdf = col_bytes(q, 2, a, &out->pdf_size);
	out->xml = col_bytes(q, 3, a, &out->xml_size);
	stmt_done(q);
	return out->number && out->paper && out->pdf && out->xml ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

enum status store_certificate_unsealed(struct db *db, struct arena *a, const char ***out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT number FROM certificate WHERE sealed = 0 AND state <> 'preparing'"
				     " ORDER BY issued_at, number");
	size_t room = 0;
	enum status rc;

	*out = NULL;
	*n = 0;
	while ((rc = stmt_step(q, err)) == OK) {
		if (*n == room) {
			const char **grown = arena_alloc(a, (2 * room + 64) * sizeof *grown);

			if (!grown) {
				stmt_done(q);
				return err_set(err, NO_MEMORY, "", "out of memory");
			}
			for (size_t i = 0; i < *n; i++)
				grown[i] = (*out)[i];
			*out = grown;
			room = 2 * room + 64;
		}
		(*out)[(*n)++] = col_text(q, 0, a);
	}
	return rc == NOT_FOUND ? OK : rc;
}
