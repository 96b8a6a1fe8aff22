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

static void the_history_is_filtered_by_time(void **state)
{
	struct fixture *f = *state;

	call_as(f, AUDITOR, "GET", "/api/v1/ledger?from=2020-01-01", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 14);
	call(f, "GET", "/api/v1/ledger?until=2020-01-01", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 0);
	call(f, "GET", "/api/v1/ledger?from=2020-02-30", NULL);
	expect_refusal(f, 422, "/from");
	call(f, "GET", "/api/v1/ledger?until=yesterday", NULL);
	expect_refusal(f, 422, "/until");
	call(f, "GET", "/api/v1/ledger?from=2026-05-02&until=2026-05-01", NULL);
	expect_refusal(f, 422, "/until");
}

/* A member that stayed as it was does not make an entry one of its changes. */
static void the_history_is_filtered_by_the_member_that_changed(void **state)
{
	struct fixture *f = *state;

	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Brackenholm"));
	call(f, "PUT", "/api/v1/settings", SETTINGS("Brackenholm Water Works"));
	call_as(f, AUDITOR, "GET", "/api/v1/ledger?thing=setting&field=plant_name", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 2);
	call(f, "GET", "/api/v1/ledger?thing=setting&field=paper", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 0); /* a4 before, a4 after */
	call(f, "GET", "/api/v1/ledger?thing=setting&field=plant", NULL);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 0); /* the whole name of the member */
}

/* ---- taking it along ---- */

/* SHA-256 by hand over what the lines say, without anything of the program's own. */
static void json_lines_are_enough_to_compute_the_whole_chain(void **state)
{
	struct fixture *f = *state;
	unsigned char sum[crypto_hash_sha256_BYTES];
	char previous[65], text[4000], hex[65], *line, *rest;
	int lines = 0;

	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Br\u00e4ckenholm \\\\"));
	call_as(f, AUDITOR, "GET", "/api/v1/ledger/export?format=jsonl", NULL);
	expect_status(f, 200);
	assert_string_equal(f->content_type, "application/jsonl");
	memset(previous, '0', 64);
	previous[64] = '\0';
	for (line = strtok_r(f->text, "\n", &rest); line; line = strtok_r(NULL, "\n", &rest), lines++) {
		char *hash = strstr(line, ",\"hash\":\"");

		assert_non_null(hash);
		snprintf(text, sizeof text, "%s%.*s}", previous, (int)(hash - line), line);
		crypto_hash_sha256(sum, (const unsigned char *)text, strlen(text));
		sodium_bin2hex(hex, sizeof hex, sum, sizeof sum);
		assert_memory_equal(hash + 9, hex, 64);
		assert_string_equal(hash + 9 + 64, "\"}");
		memcpy(previous, hex, 64);
	}
	assert_int_equal(lines, 15);
}

/* RFC 4180: CRLF, quotes doubled. */
static void a_spreadsheet_gets_rows_and_no_formulas(void **state)
{
	struct fixture *f = *state;

	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS("Say \\\"hello\\\""));
	call_as(f, LEAD, "POST", "/api/v1/areas", "{\"name\": \"=2+3, or so\"}");
	expect_status(f, 201);
	call_as(f, AUDITOR, "GET", "/api/v1/ledger/export?format=csv&from=2020-01-01", NULL);
	expect_status(f, 200);
	assert_true(!strncmp(f->text, "number,at,person,person_id,action,", 34));
	assert_non_null(strstr(f->text, "\r\n14,2"));
	assert_non_null(strstr(f->text, "\"\"plant_name\"\":\"\"Say \\\"\"hello\\\"\"\"\""));
	assert_non_null(strstr(f->text, ",\"'=2+3, or so\","));
	call(f, "GET", "/api/v1/ledger/export?format=csv&thing=area", NULL);
	assert_null(strstr(f->text, "plant_name"));
	call(f, "GET", "/api/v1/ledger/export", NULL);
	expect_refusal(f, 422, "/format");
	call(f, "GET", "/api/v1/ledger/export?format=xls", NULL);
	expect_refusal(f, 422, "/format");
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
			"SELECT after_json = '{\"approval\":false,\"certificate_prefix\":\"BWW\",\"country\":\"\",\"paper\":\"a4\","
			"\"plant_address\":\"\",\"plant_name\":\"Brackenholm\",\"public_address\":\"\",\"seal_each\":false,"
			"\"time_stamp\":\"\",\"verify_public\":false}'"
			" FROM ledger_entry ORDER BY number DESC LIMIT 1"),
		1);
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
		T(the_history_is_filtered_by_time),
		T(the_history_is_filtered_by_the_member_that_changed),
		T(json_lines_are_enough_to_compute_the_whole_chain),
		T(a_spreadsheet_gets_rows_and_no_formulas),
		T(a_page_that_makes_no_sense_is_refused),
		T(an_untouched_chain_is_sound),
		T(the_hash_is_sha256_over_the_previous_hash_and_the_canonical_entry),
		T(before_and_after_are_stored_in_canonical_form),
		T(a_failed_change_leaves_no_entry),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
