#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "store/store_internal.h"

static const struct migration schema[] = {
	{"0001_first.sql", "CREATE TABLE area (id INTEGER PRIMARY KEY) STRICT; INSERT INTO area VALUES (1);"
			   "CREATE TABLE tag (id INTEGER PRIMARY KEY, area_id INTEGER REFERENCES area (id)) STRICT;"
			   "INSERT INTO tag VALUES (1, 1);"},
	{"0002_name.sql", "ALTER TABLE area ADD COLUMN name TEXT; UPDATE area SET name = 'intake';"},
	{"0003_more.sql", "CREATE TABLE more (id INTEGER PRIMARY KEY) STRICT;"},
};

static const struct migration broken[] = {
	{"0001_first.sql", "CREATE TABLE area (id INTEGER PRIMARY KEY) STRICT; INSERT INTO area VALUES (1);"
			   "CREATE TABLE tag (id INTEGER PRIMARY KEY, area_id INTEGER REFERENCES area (id)) STRICT;"
			   "INSERT INTO tag VALUES (1, 1);"},
	{"0002_half.sql", "CREATE TABLE half (id INTEGER); INSERT INTO nowhere VALUES (1);"},
};

static const struct migration orphaning[] = {
	{"0001_first.sql", ""},
	{"0002_orphan.sql", "DELETE FROM area;"},
};

struct fixture {
	char folder[32], path[64];
	struct err err;
};

static int setup(void **state)
{
	struct fixture *f = *state = test_calloc(1, sizeof *f);

	strcpy(f->folder, "/tmp/test-store-XXXXXX");
	if (!mkdtemp(f->folder))
		return -1;
	snprintf(f->path, sizeof f->path, "%s/plant", f->folder);
	return 0;
}

static int teardown(void **state)
{
	struct fixture *f = *state;
	char command[64];

	snprintf(command, sizeof command, "rm -r %s", f->folder);
	assert_int_equal(system(command), 0);
	test_free(f);
	return 0;
}

static enum status open_and_close(struct fixture *f, const struct migration *list, int count)
{
	struct store *store = NULL;
	enum status rc;

	f->err = (struct err){0};
	rc = store_open_with(list, count, &store, f->path, 1, &f->err);
	if (!rc)
		assert_int_equal(store_schema_version(store), count);
	store_close(store);
	return rc;
}

static int64_t ask(struct fixture *f, const char *path, const char *sql)
{
	struct db *db;
	int64_t v = -1;

	assert_int_equal(db_open(&db, path, DB_READ, &f->err), OK);
	if (db_value(db, sql, &v, &f->err))
		v = -1;
	db_close(db);
	return v;
}

static void a_new_file_gets_the_whole_schema_and_our_mark(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(open_and_close(f, schema, 3), OK);
	assert_int_equal(ask(f, f->path, "PRAGMA user_version"), 3);
	assert_int_equal(ask(f, f->path, "PRAGMA application_id"), 0x4c704c67);
	assert_int_equal(ask(f, f->path, "SELECT name = 'intake' FROM area"), 1);
}

static void an_older_file_is_copied_and_brought_up_to_date(void **state)
{
	struct fixture *f = *state;
	char copy[96];

	assert_int_equal(open_and_close(f, schema, 1), OK);
	assert_int_equal(open_and_close(f, schema, 3), OK);
	assert_int_equal(ask(f, f->path, "PRAGMA user_version"), 3);
	snprintf(copy, sizeof copy, "%s.before-2", f->path);
	assert_int_equal(ask(f, copy, "PRAGMA user_version"), 1);
	assert_int_equal(ask(f, copy, "SELECT count(*) FROM tag"), 1);
}

static void a_file_that_is_up_to_date_is_not_copied(void **state)
{
	struct fixture *f = *state;
	char copy[96];

	assert_int_equal(open_and_close(f, schema, 3), OK);
	assert_int_equal(open_and_close(f, schema, 3), OK);
	for (int i = 1; i <= 4; i++) {
		snprintf(copy, sizeof copy, "%s.before-%d", f->path, i);
		assert_int_not_equal(access(copy, F_OK), 0);
	}
}

static void a_file_of_a_newer_program_is_refused_and_left_alone(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(open_and_close(f, schema, 3), OK);
	assert_int_equal(open_and_close(f, schema, 2), CONFLICT);
	assert_non_null(strstr(f->err.message, "newer version"));
	assert_non_null(strstr(f->err.message, "schema is 3"));
	assert_non_null(strstr(f->err.message, "up to 2"));
	assert_int_equal(ask(f, f->path, "PRAGMA user_version"), 3);
}

static void a_migration_that_fails_leaves_the_file_as_it_was(void **state)
{
	struct fixture *f = *state;
	char copy[96];

	assert_int_equal(open_and_close(f, broken, 1), OK);
	for (int i = 0; i < 2; i++) {
		assert_int_equal(open_and_close(f, broken, 2), FAILED);
		assert_non_null(strstr(f->err.message, "0002_half.sql"));
		assert_int_equal(ask(f, f->path, "PRAGMA user_version"), 1);
		assert_int_equal(ask(f, f->path, "SELECT count(*) FROM sqlite_schema WHERE name = 'half'"), 0);
	}
	snprintf(copy, sizeof copy, "%s.before-2.2", f->path); /* the second attempt keeps a copy of its own */
	assert_int_equal(ask(f, copy, "PRAGMA user_version"), 1);
}

static void a_migration_that_leaves_orphans_is_undone(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(open_and_close(f, schema, 1), OK);
	assert_int_equal(open_and_close(f, orphaning, 2), FAILED);
	assert_non_null(strstr(f->err.message, "rows of tag that refer to nothing"));
	assert_int_equal(ask(f, f->path, "SELECT count(*) FROM area"), 1);
}

static void a_file_of_another_program_is_refused(void **state)
{
	struct fixture *f = *state;
	struct db *db;
	FILE *file;

	assert_int_equal(db_open(&db, f->path, DB_WRITE, &f->err), OK);
	assert_int_equal(db_exec(db, "CREATE TABLE theirs (id INTEGER)", &f->err), OK);
	db_close(db);
	assert_int_equal(open_and_close(f, schema, 3), CONFLICT);
	assert_non_null(strstr(f->err.message, "another program"));

	file = fopen(f->path, "w");
	for (int i = 0; i < 400; i++)
		fputs("this is a letter, not a database\n", file);
	fclose(file);
	assert_int_equal(open_and_close(f, schema, 3), CONFLICT);
	assert_non_null(strstr(f->err.message, "no database"));
}

static void a_path_that_leads_nowhere_is_named(void **state)
{
	struct fixture *f = *state;

	snprintf(f->path, sizeof f->path, "%s/no/plant", f->folder);
	assert_int_equal(open_and_close(f, schema, 3), FAILED);
	assert_non_null(strstr(f->err.message, f->path));
}

/* Every file in migrations/, one after the other, as a plant that updates at each release has them applied. */
static void the_built_in_schema_can_be_reached_from_each_of_its_versions(void **state)
{
	struct fixture *f = *state;

	for (int from = 1; from <= migrations_count; from++) {
		snprintf(f->path, sizeof f->path, "%s/from-%d", f->folder, from);
		assert_int_equal(open_and_close(f, migrations, from), OK);
		assert_int_equal(open_and_close(f, migrations, migrations_count), OK);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(a_new_file_gets_the_whole_schema_and_our_mark, setup, teardown),
		cmocka_unit_test_setup_teardown(an_older_file_is_copied_and_brought_up_to_date, setup, teardown),
		cmocka_unit_test_setup_teardown(a_file_that_is_up_to_date_is_not_copied, setup, teardown),
		cmocka_unit_test_setup_teardown(a_file_of_a_newer_program_is_refused_and_left_alone, setup, teardown),
		cmocka_unit_test_setup_teardown(a_migration_that_fails_leaves_the_file_as_it_was, setup, teardown),
		cmocka_unit_test_setup_teardown(a_migration_that_leaves_orphans_is_undone, setup, teardown),
		cmocka_unit_test_setup_teardown(a_file_of_another_program_is_refused, setup, teardown),
		cmocka_unit_test_setup_teardown(a_path_that_leads_nowhere_is_named, setup, teardown),
		cmocka_unit_test_setup_teardown(the_built_in_schema_can_be_reached_from_each_of_its_versions, setup,
						teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
