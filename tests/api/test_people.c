/* Setting up, people, settings, and writes that come twice. */
#include "support/api_fixture.h"

#include <stdio.h>
#include <string.h>

#define LONG_81 "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"

struct bad {
	const char *body, *pointer;
};

static void refuse_each(struct fixture *f, const char *method, const char *path, const struct bad *cases, size_t n)
{
	for (size_t i = 0; i < n; i++) {
		call(f, method, path, cases[i].body);
		if (f->status != 422)
			print_error("%s\n", cases[i].body);
		expect_refusal(f, 422, cases[i].pointer);
	}
}

#define REFUSE_EACH(f, method, path, cases) refuse_each(f, method, path, cases, sizeof cases / sizeof *cases)

static const char *person_path(const struct fixture *f, enum caller who, char out[100])
{
	snprintf(out, 100, "/api/v1/people/%s", f->people[who].id);
	return out;
}

/* ---- setting up ---- */

#define SETUP(plant, name, sign_in, password)                                             \
	"{\"plant_name\": \"" plant "\", \"name\": \"" name "\", \"sign_in\": \"" sign_in \
	"\", \"password\": \"" password "\"}"

/* A plant in which nobody has an account yet. */
static int empty_plant(void **state)
{
	struct fixture *f;

	fixture_setup(state);
	f = *state;
	fixture_sql(f, "DELETE FROM session; DELETE FROM person;");
	return 0;
}

static void the_first_person_is_administrator_and_lead(void **state)
{
	struct fixture *f = *state;

	call(f, "GET", "/api/v1/plant", NULL);
	assert_true(cJSON_IsTrue(at(f->answer, "/needs_setup")));
	call(f, "POST", "/api/v1/setup", SETUP("Brackenholm Water Works", "Anna Holt", "Anna", "quiet brass 7"));
	expect_status(f, 201);
	assert_string_equal(text_at(f->answer, "/person/sign_in"), "anna");
	assert_string_equal(text_at(f->answer, "/person/roles/0"), "lead");
	assert_string_equal(text_at(f->answer, "/person/roles/1"), "administrator");
	assert_string_equal(text_at(f->answer, "/plant/name"), "Brackenholm Water Works");
	assert_non_null(strstr(f->set_cookie, "loopledger_session="));
	call(f, "GET", "/api/v1/plant", NULL);
	assert_true(cJSON_IsFalse(at(f->answer, "/needs_setup")));
	assert_true(is_null_at(f->answer, "/demo"));
	assert_string_equal(text_at(f->answer, "/name"), "Brackenholm Water Works");
	assert_int_equal(fixture_sql_int(f, "SELECT value = 'BWW' FROM setting WHERE key = 'certificate_prefix'"), 1);
}

static void a_plant_is_set_up_only_once(void **state)
{
	struct fixture *f = *state;

	call(f, "POST", "/api/v1/setup", SETUP("Elsewhere", "Eve", "eve", "quiet brass 7"));
	expect_refusal(f, 409, NULL);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM person WHERE sign_in = 'eve'"), 0);
	assert_string_equal(f->set_cookie, "");
}

static void a_setup_that_makes_no_sense_is_refused_at_its_member(void **state)
{
	static const struct bad cases[] = {
		{"{}", "/plant_name"},
		{SETUP("", "Anna", "anna", "quiet brass 7"), "/plant_name"},
		{SETUP(" Plant", "Anna", "anna", "quiet brass 7"), "/plant_name"},
		{SETUP(LONG_81, "Anna", "anna", "quiet brass 7"), "/plant_name"},
		{SETUP("Plant\\nTwo", "Anna", "anna", "quiet brass 7"), "/plant_name"},
		{SETUP("Plant", "", "anna", "quiet brass 7"), "/name"},
		{SETUP("Plant", LONG_81, "anna", "quiet brass 7"), "/name"},
		{SETUP("Plant", "Anna", "a", "quiet brass 7"), "/sign_in"},
		{SETUP("Plant", "Anna", "anna holt", "quiet brass 7"), "/sign_in"},
		{SETUP("Plant", "Anna", "anna", "brass 789"), "/password"},
		{"{\"plant_name\": \"P\", \"name\": \"A\", \"sign_in\": \"anna\", \"password\": \"quiet brass 7\", \"roles\": []}",
		 "/roles"},
	};
	struct fixture *f = *state;

	REFUSE_EACH(f, "POST", "/api/v1/setup", cases);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM person"), 0);
}

/* Nine characters are one too few, ten of two bytes each are enough: characters are counted, not bytes. */
static void a_password_has_at_least_ten_characters(void **state)
{
	struct fixture *f = *state;

	call(f, "POST", "/api/v1/setup",
	     SETUP("Plant", "Anna", "anna", "\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4"));
	expect_refusal(f, 422, "/password");
	call(f, "POST", "/api/v1/setup",
	     SETUP("Plant", "Anna", "anna", "\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4\\u00e4"));
	expect_status(f, 201);
}

/* ---- people ---- */

#define NEW_PERSON \
	"{\"sign_in\": \"nils\", \"name\": \"Nils Ferreday\", \"roles\": [\"technician\", \"auditor\"], \"password\": \"quiet brass 7\"}"

static void an_added_person_can_sign_in(void **state)
{
	struct fixture *f = *state;
	char id[40], path[100];

	call_as(f, ADMINISTRATOR, "POST", "/api/v1/people", NEW_PERSON);
	expect_status(f, 201);
	assert_string_equal(f->etag, "\"v1\"");
	snprintf(id, sizeof id, "%s", text_at(f->answer, "/id"));
	snprintf(path, sizeof path, "/api/v1/people/%s", id);
	assert_string_equal(f->location, path);
	assert_null(strstr(f->text, "argon2id"));
	call(f, "GET", path, NULL);
	assert_string_equal(text_at(f->answer, "/name"), "Nils Ferreday");
	assert_string_equal(text_at(f->answer, "/roles/0"), "technician");
	assert_string_equal(text_at(f->answer, "/roles/1"), "auditor");
	call_as(f, NOBODY, "POST", "/api/v1/session", "{\"sign_in\": \"nils\", \"password\": \"quiet brass 7\"}");
	expect_status(f, 201);
}

static void a_sign_in_name_is_taken_regardless_of_case(void **state)
{
	struct fixture *f = *state;

	call_as(f, ADMINISTRATOR, "POST", "/api/v1/people",
		"{\"sign_in\": \"TESSA\", \"name\": \"Another\", \"roles\": [\"auditor\"], \"password\": \"quiet brass 7\"}");
	expect_refusal(f, 409, "/sign_in");
}

#define PERSON(sign_in, name, roles) \
	"{\"sign_in\": " sign_in ", \"name\": " name ", \"roles\": " roles ", \"password\": \"quiet brass 7\"}"

static void a_person_that_makes_no_sense_is_refused_at_the_member(void **state)
{
	static const struct bad cases[] = {
		{"{}", "/sign_in"},
		{"[1]", NULL},
		{PERSON("null", "\"N\"", "[\"auditor\"]"), "/sign_in"},
		{PERSON("\"n@x\"", "\"N\"", "[\"auditor\"]"), "/sign_in"},
		{PERSON("\"nils\"", "12", "[\"auditor\"]"), "/name"},
		{PERSON("\"nils\"", "\"" LONG_81 "\"", "[\"auditor\"]"), "/name"},
		{PERSON("\"nils\"", "\"N\"", "[]"), "/roles"},
		{PERSON("\"nils\"", "\"N\"", "\"auditor\""), "/roles"},
		{PERSON("\"nils\"", "\"N\"", "[\"owner\"]"), "/roles/0"},
		{PERSON("\"nils\"", "\"N\"", "[8]"), "/roles/0"},
		{PERSON("\"nils\"", "\"N\"", "[\"auditor\", \"auditor\"]"), "/roles/1"},
		{"{\"sign_in\": \"nils\", \"name\": \"N\", \"roles\": [\"auditor\"]}", "/password"},
		{"{\"sign_in\": \"nils\", \"name\": \"N\", \"roles\": [\"auditor\"], \"password\": \"quiet brass 7\", \"id\": 1}",
		 "/id"},
	};
	struct fixture *f = *state;

	f->as = ADMINISTRATOR;
	REFUSE_EACH(f, "POST", "/api/v1/people", cases);
}

#define TESSA_CHANGED "{\"name\": \"Tessa Quill-Marsh\", \"roles\": [\"technician\", \"lead\"], \"active\": true}"

static void a_change_needs_the_version_that_was_read(void **state)
{
	struct fixture *f = *state;
	char path[100];

	person_path(f, TECHNICIAN, path);
	call_as(f, ADMINISTRATOR, "PUT", path, TESSA_CHANGED);
	expect_refusal(f, 428, NULL);
	call_version(f, 1, "PUT", path, TESSA_CHANGED);
	expect_status(f, 200);
	assert_string_equal(f->etag, "\"v2\"");
	assert_string_equal(text_at(f->answer, "/name"), "Tessa Quill-Marsh");
	call_version(f, 1, "PUT", path, TESSA_CHANGED);
	expect_refusal(f, 412, NULL);
}

static void a_change_that_makes_no_sense_is_refused_at_the_member(void **state)
{
	static const struct bad cases[] = {
		{"{}", "/name"},
		{"{\"name\": \"T\", \"roles\": [\"boss\"], \"active\": true}", "/roles/0"},
		{"{\"name\": \"T\", \"roles\": [\"lead\"]}", "/active"},
		{"{\"name\": \"T\", \"roles\": [\"lead\"], \"active\": 1}", "/active"},
		{"{\"name\": \"T\", \"roles\": [\"lead\"], \"active\": true, \"sign_in\": \"other\"}", "/sign_in"},
	};
	struct fixture *f = *state;
	char path[100];

	f->as = ADMINISTRATOR;
	f->if_match = "\"v1\"";
	REFUSE_EACH(f, "PUT", person_path(f, TECHNICIAN, path), cases);
}

static void an_unknown_person_is_not_found(void **state)
{
	struct fixture *f = *state;

	call_as(f, ADMINISTRATOR, "GET", "/api/v1/people/019a0000-0000-7000-8000-000000000000", NULL);
	expect_refusal(f, 404, NULL);
	call_version(f, 1, "PUT", "/api/v1/people/019a0000-0000-7000-8000-000000000000", TESSA_CHANGED);
	expect_refusal(f, 404, NULL);
	call(f, "POST", "/api/v1/people/019a0000-0000-7000-8000-000000000000/password",
	     "{\"new_password\": \"quiet brass 7\"}");
	expect_refusal(f, 404, NULL);
}

static void the_last_administrator_stays(void **state)
{
	struct fixture *f = *state;
	char both[100], alone[100];

	person_path(f, LEAD_ADMINISTRATOR, both);
	person_path(f, ADMINISTRATOR, alone);
	f->as = ADMINISTRATOR;
	call_version(f, 1, "PUT", both, "{\"name\": \"Bo Thornley\", \"roles\": [\"lead\"], \"active\": true}");
	expect_status(f, 200);
	call_version(f, 1, "PUT", alone, "{\"name\": \"Anna Holt\", \"roles\": [\"auditor\"], \"active\": true}");
	expect_refusal(f, 409, "/roles");
	call_version(f, 1, "PUT", alone,
		     "{\"name\": \"Anna Holt\", \"roles\": [\"administrator\"], \"active\": false}");
	expect_refusal(f, 409, "/active");
	call_version(f, 1, "PUT", alone,
		     "{\"name\": \"Anna H.\", \"roles\": [\"administrator\", \"lead\"], \"active\": true}");
	expect_status(f, 200);
}

/* An administrator who may not sign in any more is none. */
static void a_deactivated_administrator_does_not_count(void **state)
{
	struct fixture *f = *state;
	char path[100];

	f->as = ADMINISTRATOR;
	call_version(f, 1, "PUT", person_path(f, LEAD_ADMINISTRATOR, path),
		     "{\"name\": \"Bo Thornley\", \"roles\": [\"administrator\"], \"active\": false}");
	expect_status(f, 200);
	call_version(f, 1, "PUT", person_path(f, ADMINISTRATOR, path),
		     "{\"name\": \"Anna Holt\", \"roles\": [\"lead\"], \"active\": true}");
	expect_refusal(f, 409, "/roles");
}

static void a_password_set_by_the_administrator_ends_the_sessions(void **state)
{
	struct fixture *f = *state;
	char path[120];

	snprintf(path, sizeof path, "/api/v1/people/%s/password", f->people[TECHNICIAN].id);
	call_as(f, ADMINISTRATOR, "POST", path, "{\"new_password\": \"too short\"}");
	expect_refusal(f, 422, "/new_password");
	call(f, "POST", path, "{\"new_password\": \"quiet brass 7\"}");
	expect_status(f, 204);
	call_as(f, TECHNICIAN, "GET", "/api/v1/session", NULL);
	expect_status(f, 401);
	call_as(f, NOBODY, "POST", "/api/v1/session", "{\"sign_in\": \"tessa\", \"password\": \"quiet brass 7\"}");
	expect_status(f, 201);
}

static void everybody_sees_who_is_who(void **state)
{
	struct fixture *f = *state;

	call_as(f, AUDITOR, "GET", "/api/v1/people", NULL);
	expect_status(f, 200);
	assert_int_equal(cJSON_GetArraySize(at(f->answer, "/items")), 7);
	assert_string_equal(text_at(f->answer, "/items/0/name"), "Ada Fenwick");
	assert_string_equal(text_at(f->answer, "/items/6/name"), "Tessa Quill");
	assert_null(strstr(f->text, "password"));
}

/* ---- settings ---- */

#define SETTINGS(prefix, paper, address)                                                                                                                         \
	"{\"plant_name\": \"Brackenholm Water Works\", \"plant_address\": \"Weir Lane 1\\nBrackenholm\", \"country\": \"GB\", \"certificate_prefix\": \"" prefix \
	"\", \"paper\": \"" paper "\", \"public_address\": \"" address "\"}"

static void settings_read_back_as_they_were_written(void **state)
{
	struct fixture *f = *state;

	call_as(f, ADMINISTRATOR, "PUT", "/api/v1/settings",
		SETTINGS("BW-2", "letter", "https://book.brackenholm.example:8470"));
	expect_status(f, 200);
	call_as(f, AUDITOR, "GET", "/api/v1/settings", NULL);
	assert_string_equal(text_at(f->answer, "/plant_name"), "Brackenholm Water Works");
	assert_string_equal(text_at(f->answer, "/plant_address"), "Weir Lane 1\nBrackenholm");
	assert_string_equal(text_at(f->answer, "/country"), "GB");
	assert_string_equal(text_at(f->answer, "/certificate_prefix"), "BW-2");
	assert_string_equal(text_at(f->answer, "/paper"), "letter");
	assert_string_equal(text_at(f->answer, "/public_address"), "https://book.brackenholm.example:8470");
	call(f, "GET", "/api/v1/session", NULL);
	assert_string_equal(text_at(f->answer, "/plant/paper"), "letter");
}

static void settings_that_make_no_sense_are_refused_at_the_member(void **state)
{
	static const struct bad cases[] = {
		{"{}", "/plant_name"},
		{"{\"plant_name\": \"\", \"certificate_prefix\": \"B\", \"paper\": \"a4\"}", "/plant_name"},
		{"{\"plant_name\": \"P\", \"plant_address\": 5, \"certificate_prefix\": \"B\", \"paper\": \"a4\"}",
		 "/plant_address"},
		{"{\"plant_name\": \"P\", \"country\": \"gb\", \"certificate_prefix\": \"B\", \"paper\": \"a4\"}",
		 "/country"},
		{"{\"plant_name\": \"P\", \"country\": \"G\", \"certificate_prefix\": \"B\", \"paper\": \"a4\"}",
		 "/country"},
		{"{\"plant_name\": \"P\", \"country\": \"GBR\", \"certificate_prefix\": \"B\", \"paper\": \"a4\"}",
		 "/country"},
		{"{\"plant_name\": \"P\", \"paper\": \"a4\"}", "/certificate_prefix"},
		{SETTINGS("", "a4", ""), "/certificate_prefix"},
		{SETTINGS("bww", "a4", ""), "/certificate_prefix"},
		{SETTINGS("-B", "a4", ""), "/certificate_prefix"},
		{SETTINGS("B-", "a4", ""), "/certificate_prefix"},
		{SETTINGS("ABCDEFGHIJKLM", "a4", ""), "/certificate_prefix"},
		{SETTINGS("B/W", "a4", ""), "/certificate_prefix"},
		{SETTINGS("B", "a5", ""), "/paper"},
		{"{\"plant_name\": \"P\", \"certificate_prefix\": \"B\"}", "/paper"},
		{SETTINGS("B", "a4", "book.example"), "/public_address"},
		{SETTINGS("B", "a4", "ftp://book.example"), "/public_address"},
		{SETTINGS("B", "a4", "https://"), "/public_address"},
		{SETTINGS("B", "a4", "https:///x"), "/public_address"},
		{SETTINGS("B", "a4", "https://x.example/?q=1"), "/public_address"},
		{SETTINGS("B", "a4", "javascript:alert(1)"), "/public_address"},
		{"{\"plant_name\": \"P\", \"certificate_prefix\": \"B\", \"paper\": \"a4\", \"colour\": \"red\"}",
		 "/colour"},
	};
	struct fixture *f = *state;

	f->as = ADMINISTRATOR;
	REFUSE_EACH(f, "PUT", "/api/v1/settings", cases);
}

/* ---- writes that come twice ---- */

static void the_same_key_gets_the_same_answer_and_one_row(void **state)
{
	struct fixture *f = *state;
	char first[600];

	f->idempotency_key = "tablet-7/0001";
	call_as(f, ADMINISTRATOR, "POST", "/api/v1/people", NEW_PERSON);
	expect_status(f, 201);
	snprintf(first, sizeof first, "%s", f->text);
	call(f, "POST", "/api/v1/people", NEW_PERSON);
	expect_status(f, 201);
	assert_string_equal(f->text, first);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM person WHERE sign_in = 'nils'"), 1);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM ledger_entry WHERE label = 'Nils Ferreday'"), 1);
}

static void the_same_key_with_another_request_is_refused(void **state)
{
	struct fixture *f = *state;

	f->idempotency_key = "tablet-7/0001";
	call_as(f, ADMINISTRATOR, "POST", "/api/v1/people", NEW_PERSON);
	call(f, "POST", "/api/v1/people", PERSON("\"olga\"", "\"Olga Pryce\"", "[\"auditor\"]"));
	expect_refusal(f, 422, NULL);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM person WHERE sign_in = 'olga'"), 0);
}

static void a_key_is_ones_own(void **state)
{
	struct fixture *f = *state;

	f->idempotency_key = "tablet-7/0001";
	call_as(f, ADMINISTRATOR, "POST", "/api/v1/people", NEW_PERSON);
	call_as(f, LEAD_ADMINISTRATOR, "POST", "/api/v1/people", PERSON("\"olga\"", "\"Olga Pryce\"", "[\"auditor\"]"));
	expect_status(f, 201);
}

static void a_refused_write_leaves_its_key_free(void **state)
{
	struct fixture *f = *state;

	f->idempotency_key = "tablet-7/0001";
	call_as(f, ADMINISTRATOR, "POST", "/api/v1/people", PERSON("\"tessa\"", "\"Another\"", "[\"auditor\"]"));
	expect_status(f, 409);
	call(f, "POST", "/api/v1/people", NEW_PERSON);
	expect_status(f, 201);
}

static void an_answer_without_content_is_remembered_too(void **state)
{
	struct fixture *f = *state;
	char path[120];

	snprintf(path, sizeof path, "/api/v1/people/%s/password", f->people[TECHNICIAN].id);
	f->idempotency_key = "desk-1/0042";
	call_as(f, ADMINISTRATOR, "POST", path, "{\"new_password\": \"quiet brass 7\"}");
	expect_status(f, 204);
	call(f, "POST", path, "{\"new_password\": \"quiet brass 7\"}");
	expect_status(f, 204);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM ledger_entry WHERE action = 'password'"), 1);
}

static void a_key_that_is_none_is_refused(void **state)
{
	static const char *const keys[] = {
		"1234567",
		"with a space",
		"",
		"12345678901234567890123456789012345678901234567890123456789012345",
	};
	struct fixture *f = *state;

	f->as = ADMINISTRATOR;
	for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
		f->idempotency_key = keys[i];
		call(f, "POST", "/api/v1/people", NEW_PERSON);
		expect_refusal(f, 422, NULL);
	}
}

/* SHA-256 of a body that holds a password would let it be guessed at leisure. */
static void what_is_remembered_does_not_depend_on_the_password(void **state)
{
	struct fixture *f = *state;

	f->idempotency_key = "tablet-7/0001";
	call_as(f, ADMINISTRATOR, "POST", "/api/v1/people", NEW_PERSON);
	call(f, "POST", "/api/v1/people",
	     "{\"password\": \"a different one\", \"sign_in\": \"nils\", \"name\": \"Nils Ferreday\", \"roles\": [\"technician\", \"auditor\"]}");
	expect_status(f, 201);
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM idempotency"), 1);
}

#define T(name)	    cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)
#define EMPTY(name) cmocka_unit_test_setup_teardown(name, empty_plant, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		EMPTY(the_first_person_is_administrator_and_lead),
		T(a_plant_is_set_up_only_once),
		EMPTY(a_setup_that_makes_no_sense_is_refused_at_its_member),
		EMPTY(a_password_has_at_least_ten_characters),
		T(an_added_person_can_sign_in),
		T(a_sign_in_name_is_taken_regardless_of_case),
		T(a_person_that_makes_no_sense_is_refused_at_the_member),
		T(a_change_needs_the_version_that_was_read),
		T(a_change_that_makes_no_sense_is_refused_at_the_member),
		T(an_unknown_person_is_not_found),
		T(the_last_administrator_stays),
		T(a_deactivated_administrator_does_not_count),
		T(a_password_set_by_the_administrator_ends_the_sessions),
		T(everybody_sees_who_is_who),
		T(settings_read_back_as_they_were_written),
		T(settings_that_make_no_sense_are_refused_at_the_member),
		T(the_same_key_gets_the_same_answer_and_one_row),
		T(the_same_key_with_another_request_is_refused),
		T(a_key_is_ones_own),
		T(a_refused_write_leaves_its_key_free),
		T(an_answer_without_content_is_remembered_too),
		T(a_key_that_is_none_is_refused),
		T(what_is_remembered_does_not_depend_on_the_password),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
