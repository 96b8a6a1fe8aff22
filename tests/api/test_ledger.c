/* The history: what stands in it, and that nobody can change it unseen. */
#include "support/api_fixture.h"

#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "domain/ledger.h"

#define SETTINGS(name) "{\"plant_name\": \"" name "\", \"certificate_prefix\": \"BWW\", \"paper\": \"a4\"}"

static void a_change_stands_with_who_when_before_and_after(void **state)
{
	struct fixture *f = *state;

	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Brackenholm"));
	call(f, "PUT", "/api/v1/settings", SETTINGS("Brackenholm Water Works"));
	call_as(f, AUDITOR, "GET", "/api/v1/ledger?thing=setting", NULL);
	expect_status(f, 200);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 2);
	assert_string_equal(text_at(f->answer, "/items/0/person"), "Anna Holt");
	assert_string_equal(text_at(f->answer, "/items/0/person_id"), f->people[ADMINISTRATOR].id);
	assert_string_equal(text_at(f->answer, "/items/0/action"), "change");
	assert_string_equal(text_at(f->answer, "/items/0/before/plant_name"), "Brackenholm");
	assert_string_equal(text_at(f->answer, "/items/0/after/plant_name"), "Brackenholm Water Works");
	assert_string_equal(text_at(f->answer, "/items/0/previous_hash"), text_at(f->answer, "/items/1/hash"));
}

/* 7 persons and 7 sign-ins make the fixture's ledger. */
static void the_history_is_paged_newest_first(void **state)
{
	struct fixture *f = *state;
	char path[100];

	call_as(f, AUDITOR, "GET", "/api/v1/ledger?limit=10", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 10);
	assert_near(number_at(f->answer, "/items/0/number"), 14, 0);
	assert_near(number_at(f->answer, "/items/9/number"), 5, 0);
	snprintf(path, sizeof path, "/api/v1/ledger?limit=10&after=%s", text_at(f->answer, "/next"));
	call(f, "GET", path, NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 4);
	assert_near(number_at(f->answer, "/items/3/number"), 1, 0);
	assert_true(is_null_at(f->answer, "/next"));
}

static void the_history_is_filtered(void **state)
{
	struct fixture *f = *state;
	char path[120];

	snprintf(path, sizeof path, "/api/v1/ledger?person=%s", f->people[LEAD].id);
	call_as(f, AUDITOR, "GET", path, NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 1); /* her sign-in */
	snprintf(path, sizeof path, "/api/v1/ledger?thing_id=%s", f->people[LEAD].id);
	call(f, "GET", path, NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 2); /* and her account */
	call(f, "GET", "/api/v1/ledger?q=BRANDT", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 2);
	call(f, "GET", "/api/v1/ledger?q=%25", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 0); /* a percent sign is taken literally */
	call(f, "GET", "/api/v1/ledger?thing=nothing", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 0);
}

static void a_page_that_makes_no_sense_is_refused(void **state)
{
	struct fixture *f = *state;

	call_as(f, AUDITOR, "GET", "/api/v1/ledger?limit=0", NULL);
	expect_refusal(f, 422, "/limit");
	call(f, "GET", "/api/v1/ledger?limit=201", NULL);
	expect_refusal(f, 422, "/limit");
	call(f, "GET", "/api/v1/ledger?limit=ten", NULL);
	expect_refusal(f, 422, "/limit");
	call(f, "GET", "/api/v1/ledger?after=-5", NULL);
	expect_refusal(f, 422, "/after");
	call(f, "GET", "/api/v1/ledger?after=x", NULL);
	expect_refusal(f, 422, "/after");
}

static void an_untouched_chain_is_sound(void **state)
{
	struct fixture *f = *state;

	call_as(f, AUDITOR, "GET", "/api/v1/ledger/check", NULL);
	expect_status(f, 200);
	assert_true(cJSON_IsTrue(at(f->answer, "/sound")));
	assert_true(is_null_at(f->answer, "/first_bad"));
	assert_near(number_at(f->answer, "/entries"), 14, 0);
}

/* ---- the hash, computed by hand from what the API shows ---- */

/* Appends the text as JSON; RFC 8785 escapes as JSON.stringify does, and these entries need no escapes. */
static size_t add_member(char *out, size_t n, size_t size, const char *name, const char *value)
{
	return n + (size_t)snprintf(out + n, size - n, "\"%s\":\"%s\",", name, value);
}

static void the_hash_is_sha256_over_the_previous_hash_and_the_canonical_entry(void **state)
{
	struct fixture *f = *state;
	unsigned char sum[crypto_hash_sha256_BYTES];
	char text[2000], hex[2 * sizeof sum + 1], sql[100];
	const cJSON *e;
	size_t n;
	long long at_ms;

	call_as(f, AUDITOR, "GET", "/api/v1/ledger?limit=1", NULL); /* a sign-in: nothing before, nothing after */
	e = at(f->answer, "/items/0");
	snprintf(sql, sizeof sql, "SELECT at FROM ledger_entry WHERE number = %d", (int)number_at(e, "/number"));
	at_ms = fixture_sql_int(f, sql);
	n = (size_t)snprintf(text, sizeof text, "%s{\"action\":\"%s\",\"after\":null,\"at\":%lld,\"before\":null,",
			     text_at(e, "/previous_hash"), text_at(e, "/action"), at_ms);
	n = add_member(text, n, sizeof text, "label", text_at(e, "/label"));
	n += (size_t)snprintf(text + n, sizeof text - n, "\"number\":%d,", (int)number_at(e, "/number"));
	n = add_member(text, n, sizeof text, "person_id", text_at(e, "/person_id"));
	n = add_member(text, n, sizeof text, "person_name", text_at(e, "/person"));
	n = add_member(text, n, sizeof text, "previous_hash", text_at(e, "/previous_hash"));
	n = add_member(text, n, sizeof text, "reason", text_at(e, "/reason"));
	n = add_member(text, n, sizeof text, "thing", text_at(e, "/thing"));
	n = add_member(text, n, sizeof text, "thing_id", text_at(e, "/thing_id"));
	text[n - 1] = '}';
	crypto_hash_sha256(sum, (const unsigned char *)text, n);
	sodium_bin2hex(hex, sizeof hex, sum, sizeof sum);
	assert_string_equal(text_at(e, "/hash"), hex);
}

/* The stored text is canonical JSON (RFC 8785): members sorted, no space. */
static void before_and_after_are_stored_in_canonical_form(void **state)
{
	struct fixture *f = *state;

	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Brackenholm"));
	assert_int_equal(
		fixture_sql_int(
			f,
			"SELECT after_json = '{\"certificate_prefix\":\"BWW\",\"paper\":\"a4\",\"plant_address\":\"\","
			"\"plant_name\":\"Brackenholm\",\"public_address\":\"\"}'"
			" FROM ledger_entry ORDER BY number DESC LIMIT 1"),
		1);
}

/* ---- tampering ---- */

/* Entry 15 is a change of the settings, with a before and an after; 16 a sign-out. */
static void prepare(struct fixture *f)
{
	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Brackenholm"));
	call_as(f, TECHNICIAN, "DELETE", "/api/v1/session", NULL);
	assert_int_equal(fixture_sql_int(f, "SELECT max(number) FROM ledger_entry"), 16);
}

static void expect_broken_at(struct fixture *f, int number)
{
	call_as(f, AUDITOR, "GET", "/api/v1/ledger/check", NULL);
	assert_true(cJSON_IsFalse(at(f->answer, "/sound")));
	assert_near(number_at(f->answer, "/first_bad"), number, 0);
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

static void a_change_of_any_column_shows(void **state)
{
	static const char *const changes[] = {
		"at = at + 1",
		"person_id = 'somebody else'",
		"person_id = NULL",
		"person_name = person_name || ' '",
		"action = 'add'",
		"thing = 'person'",
		"thing_id = 'another'",
		"label = label || 'x'",
		"reason = 'because'",
		"before_json = NULL",
		"before_json = before_json || ' '",
		"after_json = replace(after_json, 'a4', 'letter')",
		"previous_hash = hash",
		"hash = substr(hash, 2) || substr(hash, 1, 1)",
	};
	struct fixture *f = *state;
	char sql[400];

	prepare(f);
	fixture_sql(f, "DROP TRIGGER ledger_entry_stays; DROP TRIGGER ledger_entry_remains;"
		       "CREATE TABLE kept AS SELECT * FROM ledger_entry;");
	for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
		snprintf(sql, sizeof sql, "UPDATE ledger_entry SET %s WHERE number = 15", changes[i]);
		fixture_sql(f, sql);
		expect_broken_at(f, 15);
		fixture_sql(f, "DELETE FROM ledger_entry; INSERT INTO ledger_entry SELECT * FROM kept;");
		call_as(f, AUDITOR, "GET", "/api/v1/ledger/check", NULL);
		assert_true(cJSON_IsTrue(at(f->answer, "/sound")));
	}
}

static void a_removed_entry_shows(void **state)
{
	struct fixture *f = *state;

	prepare(f);
	fixture_sql(f, "DROP TRIGGER ledger_entry_remains; DELETE FROM ledger_entry WHERE number = 15;");
	expect_broken_at(f, 16);
}

static void a_removed_first_entry_shows(void **state)
{
	struct fixture *f = *state;

	fixture_sql(f, "DROP TRIGGER ledger_entry_remains; DELETE FROM ledger_entry WHERE number = 1;");
	expect_broken_at(f, 2);
}

static void exchanged_entries_show(void **state)
{
	struct fixture *f = *state;

	prepare(f);
	fixture_sql(
		f,
		"DROP TRIGGER ledger_entry_stays; UPDATE ledger_entry SET number = 99 WHERE number = 14;"
		"UPDATE ledger_entry SET number = 14 WHERE number = 15; UPDATE ledger_entry SET number = 15 WHERE number = 99;");
	expect_broken_at(f, 14);
}

/* Somebody takes entries 15 and 16 away and writes another 15 in its place, rightly hashed; an old copy of 16 betrays it. */
static void an_entry_rewritten_with_its_hash_breaks_the_one_after(void **state)
{
	struct fixture *f = *state;

	prepare(f);
	fixture_sql(
		f,
		"DROP TRIGGER ledger_entry_remains; CREATE TABLE kept AS SELECT * FROM ledger_entry WHERE number = 16;"
		"DELETE FROM ledger_entry WHERE number >= 15;");
	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Elsewhere"));
	call(f, "GET", "/api/v1/ledger/check", NULL);
	assert_true(cJSON_IsTrue(at(f->answer, "/sound")));
	fixture_sql(f, "INSERT INTO ledger_entry SELECT * FROM kept;");
	expect_broken_at(f, 16);
}

static void a_failed_change_leaves_no_entry(void **state)
{
	struct fixture *f = *state;

	call_as(f, ADMINISTRATOR, "POST", "/api/v1/people",
		"{\"sign_in\": \"tessa\", \"name\": \"Another\", \"roles\": [\"auditor\"], \"password\": \"quiet brass 7\"}");
	expect_status(f, 409);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM ledger_entry"), 14);
}

#define T(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(a_change_stands_with_who_when_before_and_after),
		T(the_history_is_paged_newest_first),
		T(the_history_is_filtered),
		T(a_page_that_makes_no_sense_is_refused),
		T(an_untouched_chain_is_sound),
		T(the_hash_is_sha256_over_the_previous_hash_and_the_canonical_entry),
		T(before_and_after_are_stored_in_canonical_form),
		T(rows_can_be_neither_changed_nor_removed),
		T(a_change_of_any_column_shows),
		T(a_removed_entry_shows),
		T(a_removed_first_entry_shows),
		T(exchanged_entries_show),
		T(an_entry_rewritten_with_its_hash_breaks_the_one_after),
		T(a_failed_change_leaves_no_entry),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
