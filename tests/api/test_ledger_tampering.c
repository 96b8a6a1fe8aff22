/*
 * Tampering: whatever another program does to the ledger in the plant's file is found, and the first bad entry named. The
 * triggers are dropped first, as such a program would.
 */
#include "support/api_fixture.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/time.h"
#include "domain/ledger_internal.h"

#define SETTINGS(name) "{\"plant_name\": \"" name "\", \"certificate_prefix\": \"BWW\", \"paper\": \"a4\"}"
#define DROP	       "DROP TRIGGER IF EXISTS ledger_entry_stays; DROP TRIGGER IF EXISTS ledger_entry_remains;"

/* Entries 1 to 14 are the crew's; 15 is a change of the settings, with a before and an after; 16 a sign-out. */
static void prepare(struct fixture *f)
{
	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Brackenholm"));
	call_as(f, TECHNICIAN, "DELETE", "/api/v1/session", NULL);
	assert_int_equal(fixture_sql_int(f, "SELECT max(number) FROM ledger_entry"), 16);
	fixture_sql(
		f, DROP
		"CREATE TABLE kept AS SELECT * FROM ledger_entry; CREATE TABLE kept_head AS SELECT * FROM ledger_head;");
}

static struct ledger_result check(struct fixture *f)
{
	struct ledger_result r;
	struct err err = {0};
	struct db *db = store_read_begin(f->app.store);
	enum status rc = ledger_check(db, NULL, &r, &err);

	store_read_end(f->app.store, db);
	if (rc)
		print_error("%s\n", err.message);
	assert_int_equal(rc, OK);
	return r;
}

static void restore(struct fixture *f)
{
	fixture_sql(f, "DELETE FROM ledger_entry; INSERT INTO ledger_entry SELECT * FROM kept;"
		       "DELETE FROM ledger_head; INSERT INTO ledger_head SELECT * FROM kept_head;");
	assert_int_equal(check(f).first_bad, 0);
}

static void expect_broken_at(struct fixture *f, int number)
{
	struct ledger_result r = check(f);

	if (r.first_bad != number)
		print_error("%s\n", r.why);
	assert_int_equal(r.first_bad, number);
	assert_true(*r.why);
}

static enum status change_row(struct db *db, void *context, struct err *err)
{
	(void)context;
	return stmt_run(db_stmt(db, "UPDATE ledger_entry SET label = 'x' WHERE number = 1"), err);
}

static enum status remove_row(struct db *db, void *context, struct err *err)
{
	(void)context;
	return stmt_run(db_stmt(db, "DELETE FROM ledger_entry WHERE number = 14"), err);
}

static void rows_can_be_neither_changed_nor_removed(void **state)
{
	struct fixture *f = *state;
	struct err err = {0};

	assert_int_not_equal(store_write(f->app.store, change_row, NULL, &err), OK);
	assert_int_not_equal(store_write(f->app.store, remove_row, NULL, &err), OK);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM ledger_entry WHERE label <> 'x'"), 14);
}

static struct ledger_result check_sealed(struct fixture *f);

/* ---- one byte ---- */

struct flipper {
	struct fixture *f;
	sqlite3 *db;
	const char *table;
	int row, column;
	const char *name;
	bool sealed; /* the checkpoints are compared too */
	int tried;
};

__attribute__((format(printf, 2, 3))) static sqlite3_stmt *prepared(sqlite3 *db, const char *fmt, ...)
{
	char sql[300];
	sqlite3_stmt *q = NULL;
	va_list ap;

	va_start(ap, fmt);
	vsnprintf(sql, sizeof sql, fmt, ap);
	va_end(ap);
	assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &q, NULL), SQLITE_OK);
	return q;
}

/* Writes one value over the column, sees that it is found, and puts the old one back. q has the value bound. */
static void try(struct flipper *t, sqlite3_stmt *write, sqlite3_stmt *back, int byte)
{
	int rc = sqlite3_step(write);
	struct ledger_result r;

	if (rc == SQLITE_DONE) { /* otherwise the number is taken: nothing was changed */
		r = t->sealed ? check_sealed(t->f) : check(t->f);
		if (!r.first_bad)
			print_error("%s, row %d, %s, byte %d: not found\n", t->table, t->row, t->name, byte);
		assert_int_not_equal(r.first_bad, 0);
		t->tried++;
		assert_int_equal(sqlite3_step(back), SQLITE_DONE);
		sqlite3_reset(back);
	}
	sqlite3_reset(write);
}

static void flip_number(struct flipper *t, sqlite3_stmt *write, sqlite3_stmt *back, sqlite3_int64 value)
{
	for (int bit = 0; bit < 64; bit++) {
		sqlite3_bind_int64(write, 1, (sqlite3_int64)((sqlite3_uint64)value ^ (1ull << bit)));
		sqlite3_bind_int64(back, 1, value);
		try(t, write, back, bit / 8);
	}
}

static void flip_text(struct flipper *t, sqlite3_stmt *write, sqlite3_stmt *back, const char *value, int size)
{
	char bytes[4000];

	assert_true(size < (int)sizeof bytes);
	for (int i = 0; i < size; i++) {
		memcpy(bytes, value, (size_t)size);
		bytes[i] = (char)(bytes[i] ^ (1 << (i % 8)));
		sqlite3_bind_text(write, 1, bytes, size, SQLITE_TRANSIENT);
		sqlite3_bind_text(back, 1, value, size, SQLITE_TRANSIENT);
		try(t, write, back, i);
	}
	memcpy(bytes, value, (size_t)size);
	memcpy(bytes + size, "\0hidden", 7);
	sqlite3_bind_text(write, 1, bytes, size + 7, SQLITE_TRANSIENT);
	sqlite3_bind_text(back, 1, value, size, SQLITE_TRANSIENT);
	try(t, write, back, size);
}

static void flip_null(struct flipper *t, sqlite3_stmt *write, sqlite3_stmt *back)
{
	static const char *const values[] = {"", "null", "x"};

	for (int i = 0; i < 3; i++) {
		sqlite3_bind_text(write, 1, values[i], -1, SQLITE_STATIC);
		sqlite3_bind_null(back, 1);
		try(t, write, back, 0);
	}
}

/* The row is found by its rowid, which is its number: a flipped number moves it. */
static void flip_column(struct flipper *t, sqlite3_stmt *q)
{
	bool is_key = !strcmp(t->name, "number") && !strcmp(t->table, "ledger_entry");
	sqlite3_stmt *write = prepared(t->db, "UPDATE %s SET %s = ?1 WHERE rowid = %d", t->table, t->name, t->row);
	sqlite3_stmt *back = is_key ? prepared(t->db, "UPDATE %s SET number = %d WHERE number = ?2 AND ?1 IS NOT NULL",
					       t->table, t->row) :
				      prepared(t->db, "UPDATE %s SET %s = ?1 WHERE rowid = %d", t->table, t->name,
					       t->row);

	switch (sqlite3_column_type(q, t->column)) {
	case SQLITE_INTEGER:
		if (is_key) {
			for (int bit = 0; bit < 63; bit++) {
				sqlite3_bind_int64(write, 1, t->row ^ (1ll << bit));
				sqlite3_bind_int64(back, 1, 1);
				sqlite3_bind_int64(back, 2, t->row ^ (1ll << bit));
				try(t, write, back, bit / 8);
			}
		} else {
			flip_number(t, write, back, sqlite3_column_int64(q, t->column));
		}
		break;
	case SQLITE_NULL:
		flip_null(t, write, back);
		break;
	default:
		flip_text(t, write, back, (const char *)sqlite3_column_text(q, t->column),
			  sqlite3_column_bytes(q, t->column));
	}
	sqlite3_finalize(write);
	sqlite3_finalize(back);
}

static int flip_table(struct fixture *f, sqlite3 *db, const char *table, const char *kept)
{
	struct flipper t = {.f = f, .db = db, .table = table};
	sqlite3_stmt *q = prepared(db, "SELECT * FROM %s", kept);

	while (sqlite3_step(q) == SQLITE_ROW) {
		t.row = sqlite3_column_int(q, 0);
		for (t.column = 0; t.column < sqlite3_column_count(q); t.column++) {
			t.name = sqlite3_column_name(q, t.column);
			if (strcmp(t.name, "one") != 0)
				flip_column(&t, q);
		}
	}
	sqlite3_finalize(q);
	return t.tried;
}

static void any_one_byte_of_any_row_shows(void **state)
{
	struct fixture *f = *state;
	sqlite3 *db;
	int entries, head;

	prepare(f);
	assert_int_equal(sqlite3_open(f->path, &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db, "PRAGMA synchronous=OFF", NULL, NULL, NULL), SQLITE_OK);
	entries = flip_table(f, db, "ledger_entry", "kept");
	head = flip_table(f, db, "ledger_head", "kept_head");
	sqlite3_close(db);
	print_message("%d changes in entries, %d in the head: all found\n", entries, head);
	assert_true(entries > 5000 && head > 150);
	assert_int_equal(check(f).first_bad, 0); /* everything is as it was */
}

/* ---- rows ---- */

static void any_removed_entry_shows(void **state)
{
	struct fixture *f = *state;
	char sql[100];

	prepare(f);
	for (int number = 1; number <= 16; number++) {
		snprintf(sql, sizeof sql, "DELETE FROM ledger_entry WHERE number = %d", number);
		fixture_sql(f, sql);
		expect_broken_at(f, number < 16 ? number + 1 : 16);
		restore(f);
	}
	fixture_sql(f, "DELETE FROM ledger_entry WHERE number > 9");
	expect_broken_at(f, 10);
	restore(f);
	fixture_sql(f, "DELETE FROM ledger_entry");
	expect_broken_at(f, 1);
}

static void any_two_exchanged_entries_show(void **state)
{
	struct fixture *f = *state;
	char sql[300];

	prepare(f);
	for (int a = 1; a < 16; a++) {
		for (int b = a + 1; b <= 16; b++) {
			snprintf(
				sql, sizeof sql,
				"UPDATE ledger_entry SET number = 99 WHERE number = %d; UPDATE ledger_entry SET number = %d"
				" WHERE number = %d; UPDATE ledger_entry SET number = %d WHERE number = 99",
				a, a, b, b);
			fixture_sql(f, sql);
			expect_broken_at(f, a);
			fixture_sql(f, "DELETE FROM ledger_entry; INSERT INTO ledger_entry SELECT * FROM kept");
		}
	}
}

static enum status write_entry(struct db *db, void *context, struct err *err)
{
	struct ledger_note note = {.action = "add", .thing = "person", .thing_id = context, .label = "Nobody"};

	return ledger_add(db, NULL, &note, err);
}

/* Somebody who has the program, but not the key, writes on. store_open without ledger_open is what he has. */
static void without_the_key(struct fixture *f, enum status expected)
{
	static char id[] = "019a0000-0000-7000-8000-000000000000";
	struct store *other = NULL;
	struct err err = {0};

	assert_int_equal(store_open(&other, f->path, 1, &err), OK);
	assert_int_equal(store_write(other, write_entry, id, &err), expected);
	store_close(other);
}

static void a_rightly_chained_entry_from_another_program_shows(void **state)
{
	struct fixture *f = *state;

	prepare(f);
	without_the_key(f, FAILED); /* our own program does not do it */
	fixture_sql(f, "UPDATE ledger_head SET mac = ''");
	without_the_key(f, OK);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM ledger_entry"), 17);
	expect_broken_at(f, 17);
	fixture_sql(f, "UPDATE ledger_head SET number = 16, hash = (SELECT hash FROM kept WHERE number = 16),"
		       " mac = (SELECT mac FROM kept_head)");
	expect_broken_at(f, 17); /* with the old head put back it is one too many */
}

/* The whole chain from entry 15 on made anew, each entry rightly hashed: only the key can tell. */
static void a_chain_made_anew_shows(void **state)
{
	struct fixture *f = *state;

	prepare(f);
	fixture_sql(f, "DELETE FROM ledger_entry WHERE number >= 15; UPDATE ledger_head SET number = 14, mac = '',"
		       " hash = (SELECT hash FROM kept WHERE number = 14)");
	without_the_key(f, OK);
	without_the_key(f, OK);
	assert_int_equal(fixture_sql_int(f, "SELECT max(number) FROM ledger_entry"), 16);
	expect_broken_at(f, 16);
}

static void a_ledger_without_its_head_shows(void **state)
{
	struct fixture *f = *state;

	prepare(f);
	fixture_sql(f, "DELETE FROM ledger_head");
	expect_broken_at(f, 16);
}

static enum status accept(struct db *db, void *context, struct err *err)
{
	return ledger_accept(db, NULL, context, err);
}

/* What was changed from outside is not sealed up by the next change; and what was broken stays broken. */
static void nothing_is_written_after_a_change_from_outside_until_it_is_accepted(void **state)
{
	static char reason[] = "Put back from the copy of Tuesday";
	struct fixture *f = *state;
	struct err err = {0};

	prepare(f);
	fixture_sql(f, "UPDATE ledger_entry SET label = 'Nobody' WHERE number = 15; UPDATE ledger_head SET mac = hash");
	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Elsewhere"));
	expect_status(f, 500);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM setting WHERE value LIKE '%Elsewhere%'"), 0);
	assert_int_equal(store_write(f->app.store, accept, reason, &err), OK);
	call(f, "PUT", "/api/v1/settings", SETTINGS("Elsewhere"));
	expect_status(f, 200);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM ledger_entry WHERE action = 'accept' AND number = 17"
					    " AND reason LIKE 'Put back%'"),
			 1);
	expect_broken_at(f, 15);
}

/* ---- checkpoints ---- */

static const struct ledger_seal *seal(struct fixture *f)
{
	return issuer_ledger_seal(f->app.issuer, f->app.store);
}

static struct ledger_result check_sealed(struct fixture *f)
{
	struct ledger_result r;
	struct err err = {0};
	struct db *db = store_read_begin(f->app.store);

	assert_int_equal(ledger_check(db, seal(f), &r, &err), OK);
	store_read_end(f->app.store, db);
	return r;
}

/* A checkpoint at 16, and 17 after it. */
static void prepare_sealed(struct fixture *f)
{
	struct err err = {0};
	bool made;

	prepare(f);
	assert_int_equal(ledger_checkpoint(f->app.store, seal(f), "day", &made, &err), OK);
	assert_true(made);
	assert_int_equal(ledger_checkpoint(f->app.store, seal(f), "day", &made, &err), OK);
	assert_false(made); /* nothing was written since */
	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Elsewhere"));
	assert_int_equal(check_sealed(f).first_bad, 0);
	assert_int_equal(check_sealed(f).checkpoints, 1);
	assert_int_equal(check_sealed(f).sealed_number, 16);
	fixture_sql(f, "CREATE TABLE kept_checkpoint AS SELECT * FROM ledger_checkpoint");
}

/* The hash of an entry as it was first written. */
static const char *kept_hash(struct fixture *f, int number)
{
	static char hash[65];
	sqlite3 *db;
	sqlite3_stmt *q;

	assert_int_equal(sqlite3_open(f->path, &db), SQLITE_OK);
	q = prepared(db, "SELECT hash FROM kept WHERE number = %d", number);
	assert_int_equal(sqlite3_step(q), SQLITE_ROW);
	snprintf(hash, sizeof hash, "%s", (const char *)sqlite3_column_text(q, 0));
	sqlite3_finalize(q);
	sqlite3_close(db);
	return hash;
}

/* Whoever has the key file too can write a chain and a head that fit; not what was sealed. */
static void a_chain_made_anew_with_the_key_is_betrayed_by_its_checkpoint(void **state)
{
	static char id[] = "019a0000-0000-7000-8000-000000000000";
	struct fixture *f = *state;
	struct err err = {0};
	char sql[400], mac[65];
	struct ledger_head head = {.number = 14};
	struct db *db;

	prepare_sealed(f);
	fixture_sql(f, "DELETE FROM ledger_entry WHERE number >= 15");
	snprintf(head.hash, sizeof head.hash, "%s", kept_hash(f, 14));
	db = store_read_begin(f->app.store);
	ledger_mac(db, &head, mac);
	store_read_end(f->app.store, db);
	snprintf(sql, sizeof sql, "UPDATE ledger_head SET number = 14, hash = '%s', mac = '%s'", head.hash, mac);
	fixture_sql(f, sql);
	for (int i = 0; i < 3; i++)
		assert_int_equal(store_write(f->app.store, write_entry, id, &err), OK);
	assert_int_equal(check(f).first_bad, 0); /* chain and head are sound */
	assert_int_equal(check_sealed(f).first_bad, 16);
	fixture_sql(
		f, "DELETE FROM ledger_checkpoint; INSERT INTO ledger_checkpoint SELECT 17, hash, at, cause, signature,"
		   " seal_certificate FROM kept_checkpoint");
	assert_int_equal(check_sealed(f).first_bad, 17);
}

static void any_one_byte_of_a_checkpoint_shows(void **state)
{
	struct fixture *f = *state;
	struct flipper t = {.f = f, .table = "ledger_checkpoint", .row = 16, .sealed = true};
	sqlite3_stmt *q;

	prepare_sealed(f);
	assert_int_equal(sqlite3_open(f->path, &t.db), SQLITE_OK);
	q = prepared(t.db, "SELECT number, at, hash, signature FROM kept_checkpoint");
	assert_int_equal(sqlite3_step(q), SQLITE_ROW);
	for (t.column = 1; t.column < 4; t.column++) {
		t.name = sqlite3_column_name(q, t.column);
		flip_column(&t, q);
	}
	sqlite3_finalize(q);
	sqlite3_close(t.db);
	print_message("%d changes in a checkpoint: all found\n", t.tried);
	assert_true(t.tried > 200);
	assert_int_equal(check_sealed(f).first_bad, 0);
}

static void a_seal_of_somebody_else_is_not_the_plants(void **state)
{
	struct fixture *f = *state;
	char folder[100];
	struct issuer *other;
	struct err err = {0};

	prepare_sealed(f);
	fixture_sql(f, "DELETE FROM ledger_checkpoint");
	snprintf(folder, sizeof folder, "%s/other", f->folder);
	other = issuer_new(&(struct issuer_config){.folder = folder, .program = "test"});
	assert_int_equal(ledger_checkpoint(f->app.store, issuer_ledger_seal(other, f->app.store), "day", NULL, &err),
			 OK);
	assert_int_equal(check_sealed(f).first_bad, 17);
	issuer_free(other);
}

static void a_checkpoint_is_due_a_day_after_the_last(void **state)
{
	struct fixture *f = *state;
	struct err err = {0};
	struct db *db;
	bool due;

	prepare_sealed(f);
	db = store_read_begin(f->app.store);
	assert_int_equal(ledger_checkpoint_due(db, &due, &err), OK);
	assert_false(due);
	time_set_offset_ms(24 * 3600000LL + 1000);
	assert_int_equal(ledger_checkpoint_due(db, &due, &err), OK);
	assert_true(due);
	store_read_end(f->app.store, db);
}

/* ---- the key ---- */

static enum status open_with(struct fixture *f, const char *key, struct store **store, struct err *err)
{
	assert_int_equal(store_open(store, f->path, 1, err), OK);
	return ledger_open(*store, key, err);
}

static void a_ledger_does_not_open_without_its_key(void **state)
{
	struct fixture *f = *state;
	struct store *store = NULL;
	struct err err = {0};
	char key[100], command[300];

	snprintf(key, sizeof key, "%s/other.key", f->folder);
	assert_int_equal(open_with(f, key, &store, &err), NOT_FOUND);
	assert_non_null(strstr(err.message, "other.key is missing"));
	store_close(store);
	snprintf(command, sizeof command, "echo no key at all >%s && chmod 600 %s", key, key);
	assert_int_equal(system(command), 0);
	assert_int_equal(open_with(f, key, &store, &err), INVALID);
	store_close(store);
	snprintf(command, sizeof command, "cp %s/ledger.key %s && chmod 644 %s", f->folder, key, key);
	assert_int_equal(system(command), 0);
	assert_int_equal(open_with(f, key, &store, &err), FORBIDDEN);
	store_close(store);
	unlink(key);
}

static void another_key_is_no_key(void **state)
{
	struct fixture *f = *state;
	struct store *store = NULL;
	struct err err = {0};
	struct ledger_result r;
	char key[100], command[300];
	struct db *db;

	snprintf(key, sizeof key, "%s/other.key", f->folder);
	snprintf(command, sizeof command, "umask 077; printf '%%064d\\n' 0 >%s", key);
	assert_int_equal(system(command), 0);
	assert_int_equal(open_with(f, key, &store, &err), OK);
	db = store_read_begin(store);
	assert_int_equal(ledger_check(db, NULL, &r, &err), OK);
	assert_int_equal(r.first_bad, 14);
	store_read_end(store, db);
	store_close(store);
	unlink(key);
}

#define T(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(rows_can_be_neither_changed_nor_removed),
		T(any_one_byte_of_any_row_shows),
		T(any_removed_entry_shows),
		T(any_two_exchanged_entries_show),
		T(a_rightly_chained_entry_from_another_program_shows),
		T(a_chain_made_anew_shows),
		T(a_ledger_without_its_head_shows),
		T(nothing_is_written_after_a_change_from_outside_until_it_is_accepted),
		T(a_chain_made_anew_with_the_key_is_betrayed_by_its_checkpoint),
		T(any_one_byte_of_a_checkpoint_shows),
		T(a_seal_of_somebody_else_is_not_the_plants),
		T(a_checkpoint_is_due_a_day_after_the_last),
		T(a_ledger_does_not_open_without_its_key),
		T(another_key_is_no_key),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
