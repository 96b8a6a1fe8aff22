/*
 * Runs of readings through the API. The valve is 4-20 mA to 0-100 %, limits as found +-3 % of span, adjust and as left +-1 %.
 * Every expected number is worked out by hand beside it: travel = (mA - 4) / 16 x 100 %.
 */
#include "plant.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "domain/record_edit.h"

static void ready(struct plant *p)
{
	open_record(p);
	prepare(p);
	prove(p);
}

static void a_zero_shift_is_judged_at_every_point(void **state)
{
	struct plant *p = *state;
	char pointer[64];

	ready(p);
	read_run(p, "as_found", 1.2);
	expect_status(p->f, 201);
	for (int i = 0; i < 9; i++) {
		/* the applied current is the set point, so the error is the offset: 1.2 % of a span of 100 % */
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/error", i);
		assert_near(number_of(p, pointer), 1.2, 1e-9);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/error_percent", i);
		assert_near(number_of(p, pointer), 1.2, 1e-9);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/limit_high", i);
		assert_near(number_of(p, pointer), 3.0, 1e-12);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/verdict", i);
		assert_string_equal(text_of(p, pointer), "pass");
	}
	assert_true(cJSON_IsTrue(at(p->f->answer, "/runs/0/complete")));
	assert_string_equal(text_of(p, "/runs/0/summary/verdict"), "pass");
	assert_near(number_of(p, "/runs/0/summary/max_error/value"), 1.2, 1e-9);
	assert_near(number_of(p, "/runs/0/summary/zero_error/value"), 1.2, 1e-9);
	assert_near(number_of(p, "/runs/0/summary/span_error/value"), 0, 1e-9);
	assert_near(number_of(p, "/runs/0/summary/hysteresis/value"), 0, 1e-9);
	/* all of the squared error is the common shift */
	assert_string_equal(text_of(p, "/runs/0/summary/diagnosis/0/cause"), "zero");
	assert_near(number_of(p, "/runs/0/summary/diagnosis/0/share"), 1, 1e-9);
	/* 1.2 is outside the adjust limits of 1, and lowering the zero by 1.2 % leaves nothing */
	assert_true(cJSON_IsTrue(at(p->f->answer, "/runs/0/summary/adjustment/needed")));
	assert_true(cJSON_IsTrue(at(p->f->answer, "/runs/0/summary/adjustment/trim_helps")));
	assert_near(number_of(p, "/runs/0/summary/adjustment/zero"), -1.2, 1e-9);
	assert_string_equal(text_of(p, "/phase"), "adjust");
}

static void points_go_up_and_down_with_their_limits(void **state)
{
	struct plant *p = *state;

	ready(p);
	assert_int_equal(count_of(p, "/runs"), 1);
	assert_int_equal(count_of(p, "/runs/0/points"), 9);
	/* 25 %: 4 + 0.25 x 16 = 8 mA, travel 25 +- 3 % */
	assert_near(number_of(p, "/runs/0/points/1/set"), 8, 1e-12);
	assert_string_equal(text_of(p, "/runs/0/points/1/shown_set"), "8.00 mA");
	assert_string_equal(text_of(p, "/runs/0/points/1/shown_expected"), "25.0 %");
	assert_string_equal(text_of(p, "/runs/0/points/1/shown_low"), "22.0 %");
	assert_string_equal(text_of(p, "/runs/0/points/1/shown_high"), "28.0 %");
	assert_string_equal(text_of(p, "/runs/0/points/1/direction"), "rising");
	assert_string_equal(text_of(p, "/runs/0/points/7/direction"), "falling");
	assert_near(number_of(p, "/runs/0/points/7/set"), 8, 1e-12);
	assert_true(is_null_at(p->f->answer, "/runs/0/points/0/reading"));
	assert_true(is_null_at(p->f->answer, "/runs/0/id"));
	assert_true(is_null_at(p->f->answer, "/runs/0/summary"));
}

/* The error is taken from the current that was applied, not from the set point. */
static void the_applied_current_counts(void **state)
{
	struct plant *p = *state;

	ready(p);
	expect_status(p->f, 200);
	/* 4.08 mA: (4.08 - 4) / 16 x 100 = 0.5 %; 2.0 - 0.5 = 1.5 % */
	assert_int_equal(reading(p, "as_found", 0, "4.08", "2.0"), 201);
	assert_near(number_of(p, "/runs/0/points/0/reading/expected"), 0.5, 1e-9);
	assert_near(number_of(p, "/runs/0/points/0/reading/error"), 1.5, 1e-9);
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/shown_applied"), "4.08 mA");
}

/* Source U = 0.004 mA, k = 2: u = 0.002 mA, times 100 % / 16 mA = 0.0125 %. Typed to 0.01 mA: 0.005 mA / sqrt 3 = 0.0028868 mA,
 * 0.0180422 %. Typed to 0.1 %: 0.05 % / sqrt 3 = 0.0288675 %. Root sum of squares 0.0362642 %, U = 2 u = 0.0725285 %. */
static void uncertainty_comes_from_the_source_and_the_digits_typed(void **state)
{
	struct plant *p = *state;

	ready(p);
	assert_int_equal(reading(p, "as_found", 0, "4.00", "0.0"), 201);
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/shown_uncertainty"), "0.073 %");
}

static void a_reading_exactly_on_the_limit_passes(void **state)
{
	struct plant *p = *state;

	ready(p);
	/* 7.2 mA would be 20 %; at the first point: 4.00 mA, 0 %; limit 3.0 */
	assert_int_equal(reading(p, "as_found", 0, "4.00", "3.0"), 201);
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/verdict"), "pass");
	/* 8.32 mA: 4.32 / 16 = 27 %, in binary not quite; 24.0 is 3.0 below */
	assert_int_equal(reading(p, "as_found", 1, "8.32", "24.0"), 201);
	assert_string_equal(text_of(p, "/runs/0/points/1/reading/verdict"), "pass");
	assert_int_equal(reading(p, "as_found", 2, "12.00", "53.1"), 201);
	assert_string_equal(text_of(p, "/runs/0/points/2/reading/verdict"), "fail");
	assert_string_equal(text_of(p, "/runs/0/summary/verdict"), "fail");
}

static void digits_stay_as_typed(void **state)
{
	struct plant *p = *state;

	ready(p);
	assert_int_equal(reading(p, "as_found", 0, "4.000", "-0.20"), 201);
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/shown_applied"), "4.000 mA");
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/shown_observed"), "\u22120.20 %");
	/* and the rest of the record follows the finest reading */
	assert_string_equal(text_of(p, "/runs/0/points/1/shown_set"), "8.000 mA");
	assert_int_equal((int)number_of(p, "/runs/0/output_decimals"), 2);
	/* a JSON number says what it says */
	assert_int_equal(
		record_ask(p, "POST", "/readings", "{\"run\": \"as_found\", \"point\": 1, \"observed\": 25.5}"), 201);
	assert_string_equal(text_of(p, "/runs/0/points/1/reading/shown_observed"), "25.5 %");
	assert_string_equal(text_of(p, "/runs/0/points/1/reading/shown_applied"), "8.000 mA");
}

static void readings_wait_for_preparation_and_proof(void **state)
{
	struct plant *p = *state;

	open_record(p);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.0"), 409);
	expect_detail(p, "caution");
	prepare(p);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.0"), 409);
	expect_detail(p, "The valve moves at 5 mA");
	prove(p);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.0"), 201);
}

static void points_are_read_in_order(void **state)
{
	struct plant *p = *state;

	ready(p);
	assert_int_equal(reading(p, "as_found", 1, NULL, "25.0"), 409);
	expect_refusal(p->f, 409, "/point");
	expect_detail(p, "4.00 mA, rising");
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.0"), 201);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.5"), 409);
	expect_refusal(p->f, 409, "/point");
	assert_int_equal(reading(p, "as_found", 9, NULL, "0.5"), 422);
	expect_refusal(p->f, 422, "/point");
}

static void keep_reading_id(struct plant *p, int point, char path[80])
{
	char pointer[64];

	snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/id", point);
	snprintf(path, 80, "/readings/%s", text_of(p, pointer));
}

static void only_the_newest_reading_is_taken_back(void **state)
{
	struct plant *p = *state;
	char first[80], second[80];

	ready(p);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.1"), 201);
	keep_reading_id(p, 0, first);
	assert_int_equal(reading(p, "as_found", 1, NULL, "52.2"), 201);
	keep_reading_id(p, 1, second);
	assert_int_equal(record_ask(p, "DELETE", first, NULL), 409);
	assert_int_equal(record_ask(p, "DELETE", second, NULL), 200);
	assert_true(is_null_at(p->f->answer, "/runs/0/points/1/reading"));
	assert_int_equal(record_ask(p, "DELETE", second, NULL), 404);
	assert_int_equal(reading(p, "as_found", 1, NULL, "25.2"), 201);
	assert_near(number_of(p, "/runs/0/points/1/reading/error"), 0.2, 1e-9);
	/* the row that was taken back is still there */
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading"), 3);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading WHERE undone_at IS NOT NULL"), 1);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM ledger_entry WHERE action = 'undo'"), 1);
}

static void the_same_reading_sent_twice_counts_once(void **state)
{
	struct plant *p = *state;

	ready(p);
	p->f->idempotency_key = "tablet-7-0001";
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.3"), 201);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.3"), 201);
	assert_near(number_of(p, "/runs/0/points/0/reading/observed"), 0.3, 1e-12);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.4"), 422);
	p->f->idempotency_key = NULL;
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading"), 1);
}

static void a_reading_far_outside_the_range_is_a_slip(void **state)
{
	struct plant *p = *state;

	ready(p);
	/* ten spans beyond: 100 + 10 x 100 = 1100 % */
	assert_int_equal(reading(p, "as_found", 0, NULL, "1100.1"), 422);
	expect_refusal(p->f, 422, "/observed");
	expect_detail(p, "check the unit");
	assert_int_equal(reading(p, "as_found", 0, "180.1", "0"), 422);
	expect_refusal(p->f, 422, "/applied");
	assert_int_equal(reading(p, "as_found", 0, NULL, "1100.0"), 201);
}

static void each_member_of_a_reading_is_checked(void **state)
{
	static const struct {
		const char *body, *pointer;
	} bad[] = {
		{"{\"point\": 0, \"observed\": 1}", "/run"},
		{"{\"run\": \"as-found\", \"point\": 0, \"observed\": 1}", "/run"},
		{"{\"run\": \"as_found\", \"observed\": 1}", "/point"},
		{"{\"run\": \"as_found\", \"point\": 0.5, \"observed\": 1}", "/point"},
		{"{\"run\": \"as_found\", \"point\": -1, \"observed\": 1}", "/point"},
		{"{\"run\": \"as_found\", \"point\": 0}", "/observed"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": \"12,5,0\"}", "/observed"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": \"NaN\"}", "/observed"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": true}", "/observed"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": \"1.00000000001\"}", "/observed"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": 1, \"applied\": \"four\"}", "/applied"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": 1, \"taken_at\": \"noon\"}", "/taken_at"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": 1, \"taken_at\": \"2199-01-01T00:00:00Z\"}",
		 "/taken_at"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": 1, \"client_verdict\": \"good\"}",
		 "/client_verdict"},
		{"{\"run\": \"as_found\", \"point\": 0, \"observed\": 1, \"colour\": \"red\"}", "/colour"},
	};
	struct plant *p = *state;

	ready(p);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		record_ask(p, "POST", "/readings", bad[i].body);
		expect_refusal(p->f, 422, bad[i].pointer);
	}
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading"), 0);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM run"), 0);
}

static void the_time_of_the_tablet_is_kept(void **state)
{
	struct plant *p = *state;

	ready(p);
	assert_int_equal(record_ask(p, "POST", "/readings",
				    "{\"run\": \"as_found\", \"point\": 0, \"observed\": 0,"
				    " \"taken_at\": \"2026-03-01T09:15:00.250+01:00\", \"client_verdict\": \"pass\"}"),
			 201);
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/taken_at"), "2026-03-01T08:15:00.250Z");
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/by"), "Tessa Quill");
}

/* Limits of the fixture's procedure: 0 at the low end is inside. */
static void a_tablet_that_judges_otherwise_is_found_out(void **state)
{
	struct plant *p = *state;

	ready(p);
	assert_int_equal(
		record_ask(p, "POST", "/readings",
			   "{\"run\": \"as_found\", \"point\": 0, \"observed\": 0, \"client_verdict\": \"pass\"}"),
		201);
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/client_verdict"), "pass");
	assert_int_equal(
		fixture_sql_int(p->f, "SELECT count(*) FROM ledger_entry WHERE after_json LIKE '%client_verdict%'"), 0);
	assert_int_equal(
		record_ask(p, "POST", "/readings",
			   "{\"run\": \"as_found\", \"point\": 1, \"observed\": 25, \"client_verdict\": \"fail\"}"),
		201);
	assert_string_equal(text_of(p, "/runs/0/points/1/reading/verdict"), "pass");
	assert_string_equal(text_of(p, "/runs/0/points/1/reading/client_verdict"), "fail");
	assert_int_equal(
		fixture_sql_int(
			p->f,
			"SELECT count(*) FROM ledger_entry WHERE action = 'read'"
			" AND after_json LIKE '%\"client_verdict\":\"fail\"%' AND after_json LIKE '%\"verdict\":\"pass\"%'"),
		1);
	reading(p, "as_found", 2, NULL, "50");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading WHERE client_verdict IS NULL"), 1);
}

static void adjustment_follows_a_complete_run(void **state)
{
	struct plant *p = *state;

	ready(p);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 409);
	expect_detail(p, "9 points");
	assert_int_equal(reading(p, "as_left", 0, NULL, "0.0"), 409);
	read_run(p, "as_found", 1.2);
	assert_int_equal(reading(p, "as_left", 0, NULL, "0.0"), 409);
	expect_refusal(p->f, 409, "/run");
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": true}"), 422);
	expect_refusal(p->f, 422, "/text");
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"text\": \"x\"}"), 422);
	expect_refusal(p->f, 422, "/made");
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	assert_string_equal(text_of(p, "/phase"), "sign");
	assert_int_equal(count_of(p, "/runs"), 1);
	/* "not made" may be put right */
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": true, \"text\": \"Zero lowered by 1.2 %\"}"),
			 200);
	assert_string_equal(text_of(p, "/phase"), "as_left");
	assert_int_equal(count_of(p, "/runs"), 2);
	/* "made" is a fact */
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 409);
	expect_refusal(p->f, 409, "/made");
}

static void after_an_adjustment_the_as_found_run_stands(void **state)
{
	struct plant *p = *state;
	char last[80];

	ready(p);
	read_run(p, "as_found", 1.2);
	keep_reading_id(p, 8, last);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": true, \"text\": \"Zero lowered\"}"), 200);
	assert_int_equal(record_ask(p, "DELETE", last, NULL), 409);
	expect_detail(p, "adjustment");
	assert_int_equal(reading(p, "as_found", 8, NULL, "0.0"), 409);
}

static void a_reading_taken_back_withdraws_that_nothing_was_adjusted(void **state)
{
	struct plant *p = *state;
	char last[80];

	ready(p);
	read_run(p, "as_found", 0.4);
	keep_reading_id(p, 8, last);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	assert_int_equal(record_ask(p, "DELETE", last, NULL), 200);
	assert_true(is_null_at(p->f->answer, "/adjustment"));
	assert_string_equal(text_of(p, "/phase"), "as_found");
}

static void the_as_left_run_has_its_own_limits(void **state)
{
	struct plant *p = *state;

	ready(p);
	read_run(p, "as_found", 1.2);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": true, \"text\": \"Zero lowered\"}"), 200);
	read_run(p, "as_left", 1.1);
	/* 1.1 is inside +-3 but outside +-1 */
	assert_string_equal(text_of(p, "/runs/0/summary/verdict"), "pass");
	assert_string_equal(text_of(p, "/runs/1/summary/verdict"), "fail");
	assert_string_equal(text_of(p, "/runs/1/points/4/shown_low"), "99.0 %");
	assert_string_equal(text_of(p, "/phase"), "sign");
}

static void another_as_left_run_keeps_the_former(void **state)
{
	struct plant *p = *state;

	ready(p);
	read_run(p, "as_found", 1.2);
	assert_int_equal(record_ask(p, "POST", "/as-left", "{}"), 409);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": true, \"text\": \"Zero lowered\"}"), 200);
	read_run(p, "as_left", 1.1);
	assert_int_equal(record_ask(p, "POST", "/as-left", "{}"), 201);
	assert_int_equal((int)number_of(p, "/runs/1/attempt"), 2);
	assert_true(is_null_at(p->f->answer, "/runs/1/points/0/reading"));
	assert_string_equal(text_of(p, "/phase"), "as_left");
	read_run(p, "as_left", 0.1);
	assert_string_equal(text_of(p, "/runs/1/summary/verdict"), "pass");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading"), 27);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM run"), 3);
}

static void every_reading_is_in_the_ledger(void **state)
{
	struct plant *p = *state;

	ready(p);
	read_run(p, "as_found", 0);
	assert_int_equal(
		fixture_sql_int(p->f,
				"SELECT count(*) FROM ledger_entry WHERE action = 'read' AND thing = 'test_record'"
				" AND label LIKE 'R-%FV-301'"),
		9);
}

struct two_readings {
	struct plant *p;
	struct actor actor;
	struct new_reading reading;
	struct prepared_reading one, other;
	struct arena a;
};

static enum status write_both(struct db *db, void *context, struct err *err)
{
	struct two_readings *t = context;

	assert_int_equal(record_write_reading(db, &t->actor, &t->one, err), OK);
	assert_int_equal(record_write_reading(db, &t->actor, &t->other, err), STALE);
	assert_int_equal(record_add_reading(db, &t->actor, t->p->record, &t->reading, &t->a, err), CONFLICT);
	return OK;
}

/* Two tablets that looked at the same time and send the same point: the second is judged anew, and refused. */
static void of_two_readings_prepared_at_the_same_time_one_is_written(void **state)
{
	struct plant *p = *state;
	struct two_readings t = {
		.p = p,
		.actor = {.person_id = p->f->people[TECHNICIAN].id, .name = "Tessa Quill", .roles = ROLE_TECHNICIAN},
		.reading = {.run = RUN_AS_FOUND, .observed_text = "1.2", .observed = 1.2}};
	struct err err = {0};
	struct db *db;

	ready(p);
	db = store_read_begin(p->f->app.store);
	assert_int_equal(record_prepare_reading(db, &t.actor, p->record, &t.reading, &t.a, &t.one, &err), OK);
	assert_int_equal(record_prepare_reading(db, &t.actor, p->record, &t.reading, &t.a, &t.other, &err), OK);
	store_read_end(p->f->app.store, db);
	assert_int_equal(store_write(p->f->app.store, write_both, &t, &err), OK);
	record_drop_reading(&t.one);
	record_drop_reading(&t.other);
	arena_clear(&t.a);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading"), 1);
}

/* RFC 7240: the answer is short, and the reading is as recorded and as judged as any. */
static void who_wants_no_record_back_gets_none(void **state)
{
	static const char *const minimal[] = {"return=minimal", "respond-async, return=minimal"};
	struct plant *p = *state;

	ready(p);
	for (int i = 0; i < 2; i++) {
		p->f->prefer = minimal[i];
		expect_status(p->f, (reading(p, "as_found", i, NULL, i ? "26.2" : "1.2"), 201));
		assert_string_equal(text_of(p, "/id"), p->record);
		assert_string_equal(text_of(p, "/run"), "as_found");
		assert_near(number_of(p, "/point"), i, 0);
		assert_null(at(p->f->answer, "/runs"));
	}
	p->f->prefer = "return=minimal";
	assert_int_equal(reading(p, "as_found", 1, NULL, "26.3"), 409); /* a refusal is whole */
	expect_detail(p, "");
	p->f->prefer = NULL;
	look(p);
	assert_near(number_of(p, "/runs/0/points/1/reading/observed"), 26.2, 1e-12);
	assert_string_equal(text_of(p, "/runs/0/points/1/reading/verdict"), "pass");
}

/* The answer that is remembered for a key is the short one too, and counts the reading once. */
static void a_short_answer_is_repeated_for_the_same_key(void **state)
{
	struct plant *p = *state;

	ready(p);
	p->f->prefer = "return=minimal";
	p->f->idempotency_key = "tablet-7-0002";
	for (int i = 0; i < 2; i++) {
		assert_int_equal(reading(p, "as_found", 0, NULL, "0.4"), 201);
		assert_near(number_of(p, "/point"), 0, 0);
		assert_null(at(p->f->answer, "/runs"));
	}
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM reading"), 1);
	p->f->prefer = NULL;
	p->f->idempotency_key = NULL;
}

#define T(name) cmocka_unit_test_setup_teardown(name, plant_setup, plant_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(of_two_readings_prepared_at_the_same_time_one_is_written),
		T(who_wants_no_record_back_gets_none),
		T(a_short_answer_is_repeated_for_the_same_key),
		T(a_zero_shift_is_judged_at_every_point),
		T(points_go_up_and_down_with_their_limits),
		T(the_applied_current_counts),
		T(uncertainty_comes_from_the_source_and_the_digits_typed),
		T(a_reading_exactly_on_the_limit_passes),
		T(digits_stay_as_typed),
		T(readings_wait_for_preparation_and_proof),
		T(points_are_read_in_order),
		T(only_the_newest_reading_is_taken_back),
		T(the_same_reading_sent_twice_counts_once),
		T(a_reading_far_outside_the_range_is_a_slip),
		T(each_member_of_a_reading_is_checked),
		T(the_time_of_the_tablet_is_kept),
		T(a_tablet_that_judges_otherwise_is_found_out),
		T(adjustment_follows_a_complete_run),
		T(after_an_adjustment_the_as_found_run_stands),
		T(a_reading_taken_back_withdraws_that_nothing_was_adjusted),
		T(the_as_left_run_has_its_own_limits),
		T(another_as_left_run_keeps_the_former),
		T(every_reading_is_in_the_ledger),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
