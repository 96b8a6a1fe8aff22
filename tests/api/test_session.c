#include "support/api_fixture.h"

#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "domain/password.h"
#include "domain/session.h"

#define MINUTE 60000LL
#define HOUR   (60 * MINUTE)

#define SIGN_IN(name, password) "{\"sign_in\": \"" name "\", \"password\": \"" password "\"}"
#define TESSA			SIGN_IN("tessa", FIXTURE_PASSWORD)

/* Takes over the cookie that the last answer has set. */
static void take_cookie(struct fixture *f, char *cookie, size_t size)
{
	const char *start = strstr(f->set_cookie, "loopledger_session=");
	size_t length;

	assert_non_null(start);
	start += strlen("loopledger_session=");
	length = strcspn(start, ";");
	assert_true(length < size);
	memcpy(cookie, start, length);
	cookie[length] = '\0';
}

static void the_right_password_opens_a_session(void **state)
{
	struct fixture *f = *state;
	cJSON *a = call(f, "POST", "/api/v1/session", TESSA);
	char cookie[64];

	expect_status(f, 201);
	assert_string_equal(text_at(a, "/person/name"), "Tessa Quill");
	assert_string_equal(text_at(a, "/person/roles/0"), "technician");
	assert_null(at(a, "/person/roles/1"));
	assert_string_equal(text_at(a, "/permissions/0"), "view");
	assert_string_equal(text_at(a, "/permissions/1"), "test");
	assert_null(at(a, "/permissions/2"));
	take_cookie(f, cookie, sizeof cookie);
	f->cookie = cookie;
	f->token = text_at(a, "/token");
	call(f, "GET", "/api/v1/session", NULL);
	expect_status(f, 200);
	assert_string_equal(text_at(f->answer, "/person/sign_in"), "tessa");
	f->cookie = f->token = NULL;
}

/* Attributes of RFC 6265bis: not for scripts, not for other sites' pages, the whole plant, over TLS only when it came so. */
static void the_cookie_is_kept_from_scripts_and_other_sites(void **state)
{
	struct fixture *f = *state;

	call(f, "POST", "/api/v1/session", TESSA);
	assert_non_null(strstr(f->set_cookie, "; HttpOnly"));
	assert_non_null(strstr(f->set_cookie, "; SameSite=Strict"));
	assert_non_null(strstr(f->set_cookie, "; Path=/;"));
	assert_null(strstr(f->set_cookie, "Secure"));
	f->secure = true;
	call(f, "POST", "/api/v1/session", TESSA);
	assert_non_null(strstr(f->set_cookie, "; Secure"));
}

static void the_file_alone_lets_nobody_in(void **state)
{
	struct fixture *f = *state;
	char sql[200];

	snprintf(sql, sizeof sql, "SELECT count(*) FROM session WHERE id = '%s'", f->people[LEAD].cookie);
	assert_int_equal(fixture_sql_int(f, sql), 0);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM person WHERE password_hash NOT LIKE '$argon2id$%'"),
			 0);
	assert_int_equal(
		fixture_sql_int(f,
				"SELECT count(*) FROM ledger_entry WHERE coalesce(after_json, '') LIKE '%argon2id%'"),
		0);
}

static void a_name_is_the_same_in_capitals(void **state)
{
	struct fixture *f = *state;

	call(f, "POST", "/api/v1/session", SIGN_IN("Tessa", FIXTURE_PASSWORD));
	expect_status(f, 201);
}

static void a_wrong_password_and_an_unknown_name_look_the_same(void **state)
{
	struct fixture *f = *state;
	char wrong[400];

	call(f, "POST", "/api/v1/session", SIGN_IN("tessa", "not the password"));
	expect_refusal(f, 401, "/password");
	snprintf(wrong, sizeof wrong, "%s", f->text);
	call(f, "POST", "/api/v1/session", SIGN_IN("nobody-here", "not the password"));
	expect_refusal(f, 401, "/password");
	assert_string_equal(f->text, wrong);
	assert_string_equal(f->set_cookie, "");
}

static void signing_out_ends_the_session(void **state)
{
	struct fixture *f = *state;

	call_as(f, TECHNICIAN, "DELETE", "/api/v1/session", NULL);
	expect_status(f, 204);
	assert_non_null(strstr(f->set_cookie, "Max-Age=0"));
	call(f, "GET", "/api/v1/session", NULL);
	expect_refusal(f, 401, NULL);
}

static void signing_in_over_somebody_else_ends_his_session(void **state)
{
	struct fixture *f = *state;

	call_as(f, LEAD, "POST", "/api/v1/session", TESSA);
	expect_status(f, 201);
	call_as(f, LEAD, "GET", "/api/v1/session", NULL);
	expect_status(f, 401);
}

/* The fixture's limits: idle 2 h, in any case 12 h. */
static void a_session_ends_when_it_is_not_used(void **state)
{
	struct fixture *f = *state;

	time_set_offset_ms(2 * HOUR - MINUTE);
	call_as(f, LEAD, "GET", "/api/v1/session", NULL);
	expect_status(f, 200);
	time_set_offset_ms(4 * HOUR - 3 * MINUTE); /* the call has moved the idle limit on */
	call(f, "GET", "/api/v1/session", NULL);
	expect_status(f, 200);
	time_set_offset_ms(6 * HOUR);
	call(f, "GET", "/api/v1/session", NULL);
	expect_status(f, 401);
}

static void a_session_ends_at_its_limit_however_much_it_is_used(void **state)
{
	struct fixture *f = *state;

	f->as = LEAD;
	for (int h = 1; h < 12; h++) {
		time_set_offset_ms(h * HOUR);
		call(f, "GET", "/api/v1/session", NULL);
		expect_status(f, 200);
	}
	time_set_offset_ms(12 * HOUR + MINUTE);
	call(f, "GET", "/api/v1/session", NULL);
	expect_status(f, 401);
}

static void use_is_written_down_once_a_minute_at_most(void **state)
{
	struct fixture *f = *state;
	int64_t commits, before, jobs;

	f->as = LEAD;
	call(f, "GET", "/api/v1/session", NULL);
	store_counters(f->app.store, &before, &jobs);
	for (int s = 1; s < 55; s += 9) {
		time_set_offset_ms(s * 1000);
		call(f, "GET", "/api/v1/session", NULL);
	}
	store_counters(f->app.store, &commits, &jobs);
	assert_int_equal(commits, before);
	time_set_offset_ms(MINUTE + 5000);
	call(f, "GET", "/api/v1/session", NULL);
	store_counters(f->app.store, &commits, &jobs);
	assert_int_equal(commits, before + 1);
}

static void a_deactivated_person_is_out_at_once(void **state)
{
	struct fixture *f = *state;
	char path[100];

	snprintf(path, sizeof path, "/api/v1/people/%s", f->people[TECHNICIAN].id);
	f->as = ADMINISTRATOR;
	call_version(f, 1, "PUT", path, "{\"name\": \"Tessa Quill\", \"roles\": [\"technician\"], \"active\": false}");
	expect_status(f, 200);
	call_as(f, TECHNICIAN, "GET", "/api/v1/session", NULL);
	expect_status(f, 401);
	call_as(f, NOBODY, "POST", "/api/v1/session", TESSA);
	expect_refusal(f, 401, "/password");
	assert_int_equal(
		fixture_sql_int(
			f, "SELECT count(*) FROM session s JOIN person p ON p.id = s.person_id WHERE p.active = 0"),
		0);
}

/* Also when the row was changed past the API, and the session is still there. */
static void the_session_of_a_deactivated_person_is_worth_nothing(void **state)
{
	struct fixture *f = *state;

	fixture_sql(f, "UPDATE person SET active = 0 WHERE sign_in = 'tessa'");
	call_as(f, TECHNICIAN, "GET", "/api/v1/session", NULL);
	expect_status(f, 401);
}

static void a_role_taken_away_is_gone_in_the_running_session(void **state)
{
	struct fixture *f = *state;
	char path[100];

	snprintf(path, sizeof path, "/api/v1/people/%s", f->people[LEAD_ADMINISTRATOR].id);
	f->as = ADMINISTRATOR;
	call_version(f, 1, "PUT", path, "{\"name\": \"Bo Thornley\", \"roles\": [\"lead\"], \"active\": true}");
	expect_status(f, 200);
	call_as(f, LEAD_ADMINISTRATOR, "PUT", "/api/v1/settings", "{}");
	expect_refusal(f, 403, NULL);
}

/* ---- pages of others ---- */

#define SETTINGS_BODY \
	"{\"plant_name\": \"Brackenholm Water Works\", \"certificate_prefix\": \"BWW\", \"paper\": \"a4\"}"

static void a_write_needs_our_origin_or_the_token(void **state)
{
	struct fixture *f = *state;

	f->without_token = true;
	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS_BODY);
	expect_refusal(f, 403, NULL);
	f->origin = "http://plant.example:8470";
	call(f, "PUT", "/api/v1/settings", SETTINGS_BODY);
	expect_status(f, 200);
	f->origin = NULL;
	f->without_token = false;
	call(f, "PUT", "/api/v1/settings", SETTINGS_BODY);
	expect_status(f, 200);
}

static void a_foreign_origin_is_refused_even_with_the_token(void **state)
{
	struct fixture *f = *state;

	f->origin = "http://elsewhere.example";
	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS_BODY);
	expect_refusal(f, 403, NULL);
}

static void the_token_of_another_session_does_not_fit(void **state)
{
	struct fixture *f = *state;

	f->token = f->people[LEAD].token;
	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings", SETTINGS_BODY);
	expect_refusal(f, 403, NULL);
	f->token = NULL;
}

static void a_made_up_cookie_is_nobodys(void **state)
{
	struct fixture *f = *state;

	f->cookie = "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";
	call(f, "GET", "/api/v1/session", NULL);
	expect_status(f, 401);
	f->cookie = NULL;
}

/* ---- guessing ---- */

static void five_wrong_passwords_stop_a_name_until_the_window_has_passed(void **state)
{
	struct fixture *f = *state;

	for (int i = 0; i < 5; i++) {
		call(f, "POST", "/api/v1/session", SIGN_IN("tessa", "not the password"));
		expect_status(f, 401);
	}
	call(f, "POST", "/api/v1/session", TESSA);
	expect_refusal(f, 429, NULL);
	assert_non_null(strstr(text_at(f->answer, "/detail"), "5 minutes"));
	assert_in_range(f->retry_after_s, 4 * 60, 5 * 60);
	call(f, "POST", "/api/v1/session", SIGN_IN("milo", FIXTURE_PASSWORD)); /* the others go on working */
	expect_status(f, 201);
	time_set_offset_ms(5 * MINUTE + 1000);
	call(f, "POST", "/api/v1/session", TESSA);
	expect_status(f, 201);
}

static void an_unknown_name_is_stopped_like_a_known_one(void **state)
{
	struct fixture *f = *state;

	for (int i = 0; i < 5; i++)
		call(f, "POST", "/api/v1/session", SIGN_IN("nobody-here", "not the password"));
	call(f, "POST", "/api/v1/session", SIGN_IN("nobody-here", "not the password"));
	expect_status(f, 429);
}

static void four_wrong_passwords_are_forgotten_by_a_right_one(void **state)
{
	struct fixture *f = *state;

	for (int round = 0; round < 2; round++) {
		for (int i = 0; i < 4; i++) {
			call(f, "POST", "/api/v1/session", SIGN_IN("tessa", "not the password"));
			expect_status(f, 401);
		}
		call(f, "POST", "/api/v1/session", TESSA);
		expect_status(f, 201);
	}
}

static void twenty_wrong_passwords_stop_an_address(void **state)
{
	struct fixture *f = *state;

	for (int i = 0; i < 20; i++) {
		callf(f, "POST", "/api/v1/session", "{\"sign_in\": \"guess-%d\", \"password\": \"not the password\"}",
		      i);
		expect_status(f, 401);
	}
	call(f, "POST", "/api/v1/session", TESSA);
	expect_status(f, 429);
	f->remote = "192.0.2.8";
	call(f, "POST", "/api/v1/session", TESSA);
	expect_status(f, 201);
}

static void guessing_at_the_door_does_not_keep_somebody_inside_from_confirming(void **state)
{
	struct fixture *f = *state;

	for (int i = 0; i < 6; i++)
		call_as(f, NOBODY, "POST", "/api/v1/session", SIGN_IN("tessa", "not the password"));
	expect_status(f, 429);
	call_as(f, TECHNICIAN, "POST", "/api/v1/session/password",
		"{\"password\": \"" FIXTURE_PASSWORD "\", \"new_password\": \"another long one\"}");
	expect_status(f, 204);
}

/* ---- one's own password ---- */

static void ones_own_password_is_changed_with_the_old_one(void **state)
{
	struct fixture *f = *state;

	call_as(f, TECHNICIAN, "POST", "/api/v1/session/password",
		"{\"password\": \"wrong one here\", \"new_password\": \"another long one\"}");
	expect_refusal(f, 401, "/password");
	call(f, "POST", "/api/v1/session/password", "{\"new_password\": \"another long one\"}");
	expect_refusal(f, 422, "/password");
	call(f, "POST", "/api/v1/session/password",
	     "{\"password\": \"" FIXTURE_PASSWORD "\", \"new_password\": \"too short\"}");
	expect_refusal(f, 422, "/new_password");
	call(f, "POST", "/api/v1/session/password",
	     "{\"password\": \"" FIXTURE_PASSWORD "\", \"sign_in\": \"milo\", \"new_password\": \"another long one\"}");
	expect_refusal(f, 401, "/sign_in");
	call(f, "POST", "/api/v1/session/password",
	     "{\"password\": \"" FIXTURE_PASSWORD
	     "\", \"sign_in\": \"Tessa\", \"new_password\": \"another long one\"}");
	expect_status(f, 204);
	call_as(f, NOBODY, "POST", "/api/v1/session", TESSA);
	expect_status(f, 401);
	call(f, "POST", "/api/v1/session", SIGN_IN("tessa", "another long one"));
	expect_status(f, 201);
}

static void a_new_password_ends_the_other_sessions_but_not_this_one(void **state)
{
	struct fixture *f = *state;
	char other[48];

	snprintf(other, sizeof other, "%s", f->people[TECHNICIAN].cookie);
	fixture_sign_in(f, TECHNICIAN);
	call_as(f, TECHNICIAN, "POST", "/api/v1/session/password",
		"{\"password\": \"" FIXTURE_PASSWORD "\", \"new_password\": \"another long one\"}");
	expect_status(f, 204);
	call(f, "GET", "/api/v1/session", NULL);
	expect_status(f, 200);
	f->cookie = other;
	call(f, "GET", "/api/v1/session", NULL);
	expect_status(f, 401);
	f->cookie = NULL;
}

static void wrong_confirmations_are_counted(void **state)
{
	struct fixture *f = *state;

	for (int i = 0; i < 5; i++) {
		call_as(f, TECHNICIAN, "POST", "/api/v1/session/password",
			"{\"password\": \"wrong one here\", \"new_password\": \"another long one\"}");
		expect_status(f, 401);
	}
	call(f, "POST", "/api/v1/session/password",
	     "{\"password\": \"" FIXTURE_PASSWORD "\", \"new_password\": \"another long one\"}");
	expect_refusal(f, 429, NULL);
}

/* ---- bad input ---- */

static void a_sign_in_that_makes_no_sense_is_refused_at_its_member(void **state)
{
	static const struct {
		const char *body, *pointer;
	} cases[] = {
		{"{}", "/sign_in"},
		{"[]", NULL},
		{SIGN_IN("t", FIXTURE_PASSWORD), "/sign_in"},
		{SIGN_IN("tessa quill", FIXTURE_PASSWORD), "/sign_in"},
		{SIGN_IN("t\\u00e9ssa", FIXTURE_PASSWORD), "/sign_in"},
		{SIGN_IN("abcdefghijabcdefghijabcdefghijabcdefghijX", FIXTURE_PASSWORD), "/sign_in"},
		{"{\"sign_in\": 7, \"password\": \"x\"}", "/sign_in"},
		{"{\"sign_in\": \"tessa\"}", "/password"},
		{SIGN_IN("tessa", ""), "/password"},
		{"{\"sign_in\": \"tessa\", \"password\": [\"x\"]}", "/password"},
		{"{\"sign_in\": \"tessa\", \"password\": \"x\", \"remember\": true}", "/remember"},
	};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		call(f, "POST", "/api/v1/session", cases[i].body);
		expect_refusal(f, 422, cases[i].pointer);
	}
}

static void a_sign_in_without_a_body_is_refused(void **state)
{
	struct fixture *f = *state;

	call(f, "POST", "/api/v1/session", NULL);
	expect_refusal(f, 422, NULL);
}

static void signing_in_and_out_stands_in_the_ledger(void **state)
{
	struct fixture *f = *state;

	call(f, "POST", "/api/v1/session", TESSA);
	call_as(f, TECHNICIAN_2, "DELETE", "/api/v1/session", NULL);
	call_as(f, AUDITOR, "GET", "/api/v1/ledger?limit=2", NULL);
	assert_string_equal(text_at(f->answer, "/items/0/action"), "sign_out");
	assert_string_equal(text_at(f->answer, "/items/0/person"), "Milo Brandt-Osei");
	assert_string_equal(text_at(f->answer, "/items/1/action"), "sign_in");
	assert_string_equal(text_at(f->answer, "/items/1/person"), "Tessa Quill");
}

#define T(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(the_right_password_opens_a_session),
		T(the_cookie_is_kept_from_scripts_and_other_sites),
		T(the_file_alone_lets_nobody_in),
		T(a_name_is_the_same_in_capitals),
		T(a_wrong_password_and_an_unknown_name_look_the_same),
		T(signing_out_ends_the_session),
		T(signing_in_over_somebody_else_ends_his_session),
		T(a_session_ends_when_it_is_not_used),
		T(a_session_ends_at_its_limit_however_much_it_is_used),
		T(use_is_written_down_once_a_minute_at_most),
		T(a_deactivated_person_is_out_at_once),
		T(the_session_of_a_deactivated_person_is_worth_nothing),
		T(a_role_taken_away_is_gone_in_the_running_session),
		T(a_write_needs_our_origin_or_the_token),
		T(a_foreign_origin_is_refused_even_with_the_token),
		T(the_token_of_another_session_does_not_fit),
		T(a_made_up_cookie_is_nobodys),
		T(five_wrong_passwords_stop_a_name_until_the_window_has_passed),
		T(an_unknown_name_is_stopped_like_a_known_one),
		T(four_wrong_passwords_are_forgotten_by_a_right_one),
		T(twenty_wrong_passwords_stop_an_address),
		T(guessing_at_the_door_does_not_keep_somebody_inside_from_confirming),
		T(ones_own_password_is_changed_with_the_old_one),
		T(a_new_password_ends_the_other_sessions_but_not_this_one),
		T(wrong_confirmations_are_counted),
		T(a_sign_in_that_makes_no_sense_is_refused_at_its_member),
		T(a_sign_in_without_a_body_is_refused),
		T(signing_in_and_out_stands_in_the_ledger),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
