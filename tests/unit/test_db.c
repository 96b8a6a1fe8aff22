#include "support/check.h"

#include <string.h>

#include "store/store_internal.h"

/* A small plant of our own: tags that are unique, and readings that belong to one. */
static const struct migration schema[] = {
	{"0001_test.sql", "CREATE TABLE tag (id TEXT PRIMARY KEY, name TEXT NOT NULL UNIQUE, low REAL, used INTEGER,"
			  " picture BLOB, CHECK (used IN (0, 1))) STRICT;"
			  "CREATE TABLE reading (tag_id TEXT NOT NULL REFERENCES tag (id), v REAL) STRICT;"
			  "CREATE TRIGGER reading_stays BEFORE UPDATE ON reading BEGIN"
			  " SELECT raise(ABORT, 'readings never change'); END;"},
};

struct fixture {
	struct store *store;
	struct arena arena;
	struct err err;
};

static int setup(void **state)
{
	struct fixture *f = *state = test_calloc(1, sizeof *f);

	return store_open_with(schema, 1, &f->store, ":memory:", 1, &f->err) == OK ? 0 : -1;
}

static int teardown(void **state)
{
	struct fixture *f = *state;

	store_close(f->store);
	arena_clear(&f->arena);
	test_free(f);
	return 0;
}

struct tag {
	const char *id, *name;
	double low;
	bool used;
};

static enum status add_tag(struct db *db, void *context, struct err *err)
{
	const struct tag *t = context;
	struct stmt *q = db_stmt(db, "INSERT INTO tag (id, name, low, used, picture) VALUES ($1, $2, $3, $4, $5)");

	stmt_text(q, 1, t->id);
	stmt_text(q, 2, t->name);
	stmt_real(q, 3, t->low);
	stmt_bool(q, 4, t->used);
	stmt_bytes(q, 5, "\x01\0\x02", 3);
	return stmt_run(q, err);
}

static enum status add(struct fixture *f, const char *id, const char *name, double low)
{
	struct tag t = {id, name, low, true};

	f->err = (struct err){0};
	return store_write(f->store, add_tag, &t, &f->err);
}

static void what_was_written_is_read_back(void **state)
{
	struct fixture *f = *state;
	struct db *db;
	struct stmt *q;
	size_t size;

	assert_int_equal(add(f, "a", "20-FT-101", -2.5), OK);
	assert_int_equal(add(f, "b", "20-FT-102", NAN), OK);
	db = store_read_begin(f->store);
	q = db_stmt(db, "SELECT id, name, low, used, picture FROM tag WHERE id >= $1 ORDER BY id");
	stmt_text(q, 1, "a");
	assert_int_equal(stmt_step(q, &f->err), OK);
	assert_string_equal(col_text(q, 1, &f->arena), "20-FT-101");
	assert_near(col_real(q, 2), -2.5, 0);
	assert_true(col_bool(q, 3));
	assert_memory_equal(col_bytes(q, 4, &f->arena, &size), "\x01\0\x02", 3);
	assert_int_equal(size, 3);
	assert_int_equal(stmt_step(q, &f->err), OK);
	assert_true(isnan(col_real(q, 2))); /* no value was given */
	assert_true(col_is_null(q, 2));
	assert_null(col_text(q, 2, &f->arena));
	assert_int_equal(stmt_step(q, &f->err), NOT_FOUND);
	store_read_end(f->store, db);
}

static void a_second_row_with_a_unique_value_is_a_conflict(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(add(f, "a", "20-FT-101", 0), OK);
	assert_int_equal(add(f, "b", "20-FT-101", 0), CONFLICT);
	assert_int_equal(add(f, "a", "20-FT-102", 0), CONFLICT);
	assert_int_equal(f->err.status, CONFLICT);
}

static enum status add_reading(struct db *db, void *context, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO reading (tag_id, v) VALUES ($1, 1)");

	stmt_text(q, 1, context);
	return stmt_run(q, err);
}

static enum status change_readings(struct db *db, void *context, struct err *err)
{
	(void)context;
	return stmt_run(db_stmt(db, "UPDATE reading SET v = 2"), err);
}

static void a_reference_to_nothing_is_refused(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(store_write(f->store, add_reading, "nowhere", &f->err), CONFLICT);
}

static void a_rule_of_the_schema_speaks_for_itself(void **state)
{
	struct fixture *f = *state;

	add(f, "a", "20-FT-101", 0);
	assert_int_equal(store_write(f->store, add_reading, "a", &f->err), OK);
	assert_int_equal(store_write(f->store, change_readings, NULL, &f->err), CONFLICT);
	assert_string_equal(f->err.message, "readings never change");
}

static enum status misspell(struct db *db, void *context, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO gat (id) VALUES ($1)");

	(void)context;
	stmt_text(q, 1, "a");
	return stmt_run(q, err);
}

static enum status quote_wrongly(struct db *db, void *context, struct err *err)
{
	(void)context;
	return stmt_run(db_stmt(db, "UPDATE tag SET name = \"x\""), err);
}

static enum status bind_too_much(struct db *db, void *context, struct err *err)
{
	struct stmt *q = db_stmt(db, "DELETE FROM tag WHERE id = $1");

	(void)context;
	stmt_text(q, 1, "a");
	stmt_text(q, 2, "b");
	return stmt_run(q, err);
}

static void a_wrong_statement_fails_when_it_is_run_and_says_why(void **state)
{
	struct fixture *f = *state;

	for (int i = 0; i < 2; i++) { /* the second time from the cache */
		assert_int_equal(store_write(f->store, misspell, NULL, &f->err), FAILED);
		assert_non_null(strstr(f->err.message, "no such table: gat"));
		assert_int_equal(store_write(f->store, bind_too_much, NULL, &f->err), FAILED);
	}
	assert_int_equal(store_write(f->store, quote_wrongly, NULL, &f->err), FAILED);
	assert_non_null(strstr(f->err.message, "no such column"));
}

static enum status add_with_low_or_without(struct db *db, void *context, struct err *err)
{
	enum status rc = OK;

	(void)context;
	for (int i = 0; i < 2 && !rc; i++) {
		struct stmt *q = db_stmt(db, "INSERT INTO tag (id, name, low) VALUES ($1, $1, $2)");

		stmt_text(q, 1, i ? "b" : "a");
		if (i == 0)
			stmt_real(q, 2, 4);
		rc = stmt_run(q, err);
	}
	return rc;
}

static void a_value_bound_once_is_not_left_for_the_next_time(void **state)
{
	struct fixture *f = *state;
	struct db *db;
	int64_t without = -1;

	assert_int_equal(store_write(f->store, add_with_low_or_without, NULL, &f->err), OK);
	db = store_read_begin(f->store);
	assert_int_equal(db_value(db, "SELECT count(*) FROM tag WHERE id = 'b' AND low IS NULL", &without, &f->err),
			 OK);
	store_read_end(f->store, db);
	assert_int_equal(without, 1);
}

static enum status count_changes(struct db *db, void *context, struct err *err)
{
	enum status rc = stmt_run(db_stmt(db, "UPDATE tag SET low = 1"), err);

	*(int64_t *)context = db_changes(db);
	return rc;
}

static void changed_rows_are_counted(void **state)
{
	struct fixture *f = *state;
	int64_t changes = -1;

	add(f, "a", "20-FT-101", 0);
	add(f, "b", "20-FT-102", 0);
	assert_int_equal(store_write(f->store, count_changes, &changes, &f->err), OK);
	assert_int_equal(changes, 2);
}

static void a_reader_cannot_write(void **state)
{
	struct fixture *f = *state;
	struct db *db = store_read_begin(f->store);

	assert_int_equal(stmt_run(db_stmt(db, "DELETE FROM tag"), &f->err), FAILED);
	store_read_end(f->store, db);
}

static int found(struct fixture *f, const char *text)
{
	struct db *db = store_read_begin(f->store);
	struct stmt *q = db_stmt(db, "SELECT count(*) FROM tag WHERE name LIKE $1 ESCAPE '\\'");
	int n;

	stmt_text(q, 1, db_like(text, &f->arena));
	assert_int_equal(stmt_step(q, &f->err), OK);
	n = (int)col_int(q, 0);
	stmt_done(q);
	store_read_end(f->store, db);
	return n;
}

static void searched_text_is_taken_literally(void **state)
{
	struct fixture *f = *state;

	add(f, "a", "20-FT-101 100%", 0);
	add(f, "b", "20_FT\\1", 0);
	assert_int_equal(found(f, "ft"), 2);
	assert_int_equal(found(f, "%"), 1);
	assert_int_equal(found(f, "_"), 1);
	assert_int_equal(found(f, "\\"), 1);
	assert_int_equal(found(f, ""), 2);
	assert_int_equal(found(f, "101%"), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(what_was_written_is_read_back, setup, teardown),
		cmocka_unit_test_setup_teardown(a_second_row_with_a_unique_value_is_a_conflict, setup, teardown),
		cmocka_unit_test_setup_teardown(a_reference_to_nothing_is_refused, setup, teardown),
		cmocka_unit_test_setup_teardown(a_rule_of_the_schema_speaks_for_itself, setup, teardown),
		cmocka_unit_test_setup_teardown(a_wrong_statement_fails_when_it_is_run_and_says_why, setup, teardown),
		cmocka_unit_test_setup_teardown(a_value_bound_once_is_not_left_for_the_next_time, setup, teardown),
		cmocka_unit_test_setup_teardown(changed_rows_are_counted, setup, teardown),
		cmocka_unit_test_setup_teardown(a_reader_cannot_write, setup, teardown),
		cmocka_unit_test_setup_teardown(searched_text_is_taken_literally, setup, teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
