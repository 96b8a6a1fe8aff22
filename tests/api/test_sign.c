/* Signatures on a test: who, on what, and what they set off. */
#include "plant.h"

#include <stdio.h>
#include <string.h>
#include "base/time.h"

static void ready_to_sign(struct plant *p, double offset)
{
	open_record(p);
	prepare(p);
	prove(p);
	read_run(p, "as_found", offset);
	record_ask(p, "PUT", "/adjustment", "{\"made\": false}");
	expect_status(p->f, 200);
}

static int with_reason(struct plant *p, const char *path, const char *reason)
{
	char body[200];

	snprintf(body, sizeof body, "{\"reason\": \"%s\", \"password\": \"" FIXTURE_PASSWORD "\"}", reason);
	return record_ask(p, "POST", path, body);
}

static void expect_due_in_months(struct plant *p, int months)
{
	char path[120], day[DATE_TEXT_SIZE];

	snprintf(path, sizeof path, "/api/v1/schedules?instrument=%s", p->valve);
	ask(p, "GET", path, NULL);
	expect_status(p->f, 200);
	date_to_text(date_add_months(date_today(), months), day);
	assert_string_equal(text_of(p, "/items/0/due_on"), day);
}

static void a_signature_has_name_role_meaning_and_time(void **state)
{
	struct plant *p = *state;

	ready_to_sign(p, 0.4);
	assert_string_equal(text_of(p, "/phase"), "sign");
	assert_int_equal(count_of(p, "/to_do"), 0);
	assert_true(has_word(p, "/may", "sign_performed"));
	assert_int_equal(sign(p, "performed"), 200);
	assert_string_equal(text_of(p, "/state"), "performed");
	assert_string_equal(text_of(p, "/phase"), "review");
	assert_string_equal(text_of(p, "/signatures/0/meaning"), "performed");
	assert_string_equal(text_of(p, "/signatures/0/name"), "Tessa Quill");
	assert_string_equal(text_of(p, "/signatures/0/role"), "technician");
	assert_int_equal((int)strlen(text_of(p, "/signatures/0/at")), 24);
	assert_false(has_word(p, "/may", "edit"));
}

static void nothing_unfinished_is_signed(void **state)
{
	struct plant *p = *state;

	open_record(p);
	assert_int_equal(sign(p, "performed"), 409);
	prepare(p);
	prove(p);
	read_run(p, "as_found", 0);
	assert_int_equal(sign(p, "performed"), 409);
	expect_detail(p, "adjustment");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM signature WHERE test_record_id IS NOT NULL"), 0);
}

static void what_changed_since_it_was_shown_is_not_signed(void **state)
{
	struct plant *p = *state;
	char body[240];

	ready_to_sign(p, 0);
	snprintf(body, sizeof body,
		 "{\"meaning\": \"performed\", \"password\": \"" FIXTURE_PASSWORD "\", \"content_sha256\": \"%s\"}",
		 text_of(p, "/content_sha256"));
	assert_int_equal(record_ask(p, "PUT", "/notes", "{\"remarks\": \"one word more\"}"), 200);
	assert_int_equal(record_ask(p, "POST", "/sign", body), 409);
	expect_refusal(p->f, 409, "/content_sha256");
	assert_int_equal(sign(p, "performed"), 200);
}

static void the_password_is_asked_for_again(void **state)
{
	struct plant *p = *state;
	char body[240], hash[65];

	ready_to_sign(p, 0);
	snprintf(hash, sizeof hash, "%s", text_of(p, "/content_sha256"));
	snprintf(body, sizeof body,
		 "{\"meaning\": \"performed\", \"password\": \"not the one at all\", \"content_sha256\": \"%s\"}",
		 hash);
	assert_int_equal(record_ask(p, "POST", "/sign", body), 401);
	snprintf(body, sizeof body, "{\"meaning\": \"performed\", \"content_sha256\": \"%s\"}", hash);
	assert_int_equal(record_ask(p, "POST", "/sign", body), 422);
	look(p);
	assert_string_equal(text_of(p, "/state"), "open");
	snprintf(body, sizeof body,
		 "{\"meaning\": \"witnessed\", \"password\": \"" FIXTURE_PASSWORD "\", \"content_sha256\": \"%s\"}",
		 hash);
	record_ask(p, "POST", "/sign", body);
	expect_refusal(p->f, 422, "/meaning");
	record_ask(p, "POST", "/sign", "{\"meaning\": \"performed\", \"password\": \"" FIXTURE_PASSWORD "\"}");
	expect_refusal(p->f, 422, "/content_sha256");
}

static void a_signed_record_is_closed_to_edits(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	assert_int_equal(record_ask(p, "PUT", "/notes", "{\"remarks\": \"x\"}"), 409);
	assert_int_equal(record_ask(p, "PUT", "/environment", "{\"temperature_c\": 3}"), 409);
	assert_int_equal(record_ask(p, "PUT", "/cautions/bypass", "{}"), 409);
	assert_int_equal(record_ask(p, "PUT", "/checks/moves", "{\"answer\": \"no\"}"), 409);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": true, \"text\": \"x\"}"), 409);
	assert_int_equal(record_ask(p, "PUT", "/standards", "{\"standards\": []}"), 409);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0"), 409);
	assert_int_equal(record_ask(p, "POST", "/as-left", "{}"), 409);
	assert_int_equal(sign(p, "performed"), 409);
}

static void nobody_reviews_his_own_test(void **state)
{
	struct plant *p = *state;

	p->f->as = LEAD;
	perform(p, 0);
	assert_int_equal(sign(p, "reviewed"), 403);
	expect_detail(p, "another person");
	look(p);
	assert_false(has_word(p, "/may", "sign_reviewed"));
	p->f->as = TECHNICIAN;
	assert_int_equal(sign(p, "reviewed"), 403);
	p->f->as = LEAD_2;
	look(p);
	assert_true(has_word(p, "/may", "sign_reviewed"));
	assert_int_equal(sign(p, "reviewed"), 200);
	assert_string_equal(text_of(p, "/state"), "reviewed");
	assert_string_equal(text_of(p, "/phase"), "certificate");
	assert_string_equal(text_of(p, "/signatures/1/name"), "Corin Vale");
	assert_string_equal(text_of(p, "/signatures/1/role"), "lead");
}

static void an_auditor_signs_nothing(void **state)
{
	struct plant *p = *state;

	ready_to_sign(p, 0);
	p->f->as = AUDITOR;
	assert_int_equal(sign(p, "performed"), 403);
	assert_int_equal(sign(p, "reviewed"), 403);
}

static void review_follows_the_test(void **state)
{
	struct plant *p = *state;

	ready_to_sign(p, 0);
	p->f->as = LEAD;
	assert_int_equal(sign(p, "reviewed"), 409);
}

/* The interval is 12 months. */
static void a_pass_moves_the_due_date(void **state)
{
	struct plant *p = *state;

	perform(p, 2.9);
	expect_due_in_months(p, 12);
}

static void a_failure_left_as_it_was_stays_due(void **state)
{
	struct plant *p = *state;
	char path[120];

	perform(p, 3.1);
	snprintf(path, sizeof path, "/api/v1/schedules?instrument=%s", p->valve);
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_string_equal(text_of(p, "/items/0/due_on"), "2020-06-30");
}

static void a_failure_put_right_moves_the_due_date(void **state)
{
	struct plant *p = *state;

	open_record(p);
	prepare(p);
	prove(p);
	read_run(p, "as_found", 3.1);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": true, \"text\": \"Zero lowered by 3.1 %\"}"),
			 200);
	read_run(p, "as_left", 0);
	assert_int_equal(sign(p, "performed"), 200);
	expect_due_in_months(p, 12);
	look(p);
	assert_string_equal(text_of(p, "/finding/state"), "open");
}

static void a_returned_record_is_worked_on_and_signed_anew(void **state)
{
	struct plant *p = *state;
	char path[80];

	perform(p, 0.4);
	p->f->as = LEAD_2;
	with_reason(p, "/return", "");
	expect_refusal(p->f, 422, "/reason");
	assert_int_equal(with_reason(p, "/return", "Point 9 is not as on the photo"), 200);
	assert_string_equal(text_of(p, "/state"), "returned");
	assert_string_equal(text_of(p, "/signatures/1/meaning"), "returned");
	assert_string_equal(text_of(p, "/signatures/1/reason"), "Point 9 is not as on the photo");
	assert_true(is_null_at(p->f->answer, "/performed_at"));
	expect_due_in_months(p, 0);
	p->f->as = TECHNICIAN;
	look(p);
	assert_true(has_word(p, "/may", "edit"));
	snprintf(path, sizeof path, "/readings/%s", text_of(p, "/runs/0/points/8/reading/id"));
	assert_int_equal(record_ask(p, "DELETE", path, NULL), 200);
	assert_int_equal(reading(p, "as_found", 8, NULL, "0.6"), 201);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	assert_int_equal(sign(p, "performed"), 200);
	assert_int_equal(count_of(p, "/signatures"), 3);
	expect_due_in_months(p, 12);
	review(p);
	assert_string_equal(text_of(p, "/state"), "reviewed");
}

static void only_a_lead_returns(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	assert_int_equal(with_reason(p, "/return", "x"), 403);
	assert_int_equal(with_reason(p, "/void", "x"), 403);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/return", "{\"reason\": \"x\"}"), 422);
}

static void an_open_record_is_not_returned(void **state)
{
	struct plant *p = *state;

	open_record(p);
	p->f->as = LEAD;
	assert_int_equal(with_reason(p, "/return", "x"), 409);
}

static void a_void_test_counts_for_nothing(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	p->f->as = LEAD;
	assert_int_equal(with_reason(p, "/void", "Wrong valve"), 200);
	assert_string_equal(text_of(p, "/state"), "void");
	assert_string_equal(text_of(p, "/phase"), "done");
	assert_string_equal(text_of(p, "/signatures/1/meaning"), "voided");
	expect_due_in_months(p, 0);
	assert_int_equal(with_reason(p, "/void", "Again"), 409);
	p->f->as = TECHNICIAN;
	open_record(p);
	assert_string_equal(text_of(p, "/state"), "open");
}

static void a_due_date_set_by_hand_since_stays(void **state)
{
	struct plant *p = *state;
	char path[120];

	perform(p, 0);
	fixture_sql(p->f, "UPDATE schedule SET due_on = '2031-05-05'");
	p->f->as = LEAD;
	assert_int_equal(with_reason(p, "/void", "Wrong valve"), 200);
	snprintf(path, sizeof path, "/api/v1/schedules?instrument=%s", p->valve);
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_string_equal(text_of(p, "/items/0/due_on"), "2031-05-05");
}

static void the_hash_covers_every_reading(void **state)
{
	struct plant *p = *state;
	char hash[65];

	perform(p, 0);
	look(p);
	snprintf(hash, sizeof hash, "%s", text_of(p, "/content_sha256"));
	fixture_sql(p->f, "UPDATE reading SET observed_text = '99.9' WHERE point = 4");
	look(p);
	assert_string_not_equal(text_of(p, "/content_sha256"), hash);
	p->f->as = LEAD;
	/* and a reviewer is not asked to sign what the technician never saw */
	assert_int_equal(sign(p, "reviewed"), 409);
}

static void the_ledger_is_sound_after_a_whole_life(void **state)
{
	struct plant *p = *state;

	perform(p, 3.5);
	review(p);
	assert_int_equal(record_ask(p, "POST", "/certificate", "{}"), 201);
	assert_int_equal(ask(p, "GET", "/api/v1/ledger/check", NULL), 200);
	assert_true(cJSON_IsTrue(at(p->f->answer, "/sound")));
	assert_int_equal(
		fixture_sql_int(p->f,
				"SELECT count(*) FROM ledger_entry WHERE action = 'sign' AND thing = 'test_record'"),
		2);
}

#define T(name) cmocka_unit_test_setup_teardown(name, plant_setup, plant_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(a_signature_has_name_role_meaning_and_time),
		T(nothing_unfinished_is_signed),
		T(what_changed_since_it_was_shown_is_not_signed),
		T(the_password_is_asked_for_again),
		T(a_signed_record_is_closed_to_edits),
		T(nobody_reviews_his_own_test),
		T(an_auditor_signs_nothing),
		T(review_follows_the_test),
		T(a_pass_moves_the_due_date),
		T(a_failure_left_as_it_was_stays_due),
		T(a_failure_put_right_moves_the_due_date),
		T(a_returned_record_is_worked_on_and_signed_anew),
		T(only_a_lead_returns),
		T(an_open_record_is_not_returned),
		T(a_void_test_counts_for_nothing),
		T(a_due_date_set_by_hand_since_stays),
		T(the_hash_covers_every_reading),
		T(the_ledger_is_sound_after_a_whole_life),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
