/* Findings: opened by what was found, closed by signature. */
#include "plant.h"

#include <stdio.h>
#include <string.h>

#define FINDINGS "/api/v1/findings"

static int close_finding(struct plant *p, const char *id, const char *disposition)
{
	char path[120], body[300];

	snprintf(path, sizeof path, FINDINGS "/%s/close", id);
	snprintf(body, sizeof body, "{\"disposition\": \"%s\", \"password\": \"" FIXTURE_PASSWORD "\"}", disposition);
	return ask(p, "POST", path, body);
}

static void keep_finding(struct plant *p, char id[37])
{
	look(p);
	snprintf(id, 37, "%s", text_of(p, "/finding/id"));
}

static void outside_as_found_opens_one_that_names_the_worst(void **state)
{
	struct plant *p = *state;

	/* every error is 3.6 % of span, the limit 3: the first reading of the worst is named, 4 mA rising */
	perform(p, 3.6);
	assert_string_equal(text_of(p, "/finding/state"), "open");
	assert_string_equal(
		text_of(p, "/finding/sentence"),
		"FV-301 was found outside its limits: +3.60 % of span at 4.00 mA rising, limit \u00b13.00 %.");
	assert_int_equal(ask(p, "GET", FINDINGS "?state=open", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 1);
	assert_string_equal(text_of(p, "/items/0/record/id"), p->record);
	assert_true(is_null_at(p->f->answer, "/items/0/closed_at"));
	assert_int_equal(ask(p, "GET", FINDINGS "?state=closed", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 0);
	assert_int_equal(ask(p, "GET", FINDINGS "?state=lost", NULL), 422);
}

static void inside_as_found_opens_none(void **state)
{
	struct plant *p = *state;

	perform(p, 3.0);
	assert_true(is_null_at(p->f->answer, "/finding"));
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM finding"), 0);
}

static void a_lead_closes_it_by_signature(void **state)
{
	struct plant *p = *state;
	char id[37];

	perform(p, 3.6);
	keep_finding(p, id);
	assert_int_equal(close_finding(p, id, "No harm"), 403);
	p->f->as = LEAD;
	close_finding(p, id, "");
	expect_refusal(p->f, 422, "/disposition");
	assert_int_equal(close_finding(p, id, "Backwash flow was low since March: no product touched"), 200);
	assert_string_equal(text_of(p, "/state"), "closed");
	assert_string_equal(text_of(p, "/closed_by"), "Leda Marsh");
	assert_string_equal(text_of(p, "/disposition"), "Backwash flow was low since March: no product touched");
	assert_int_equal(close_finding(p, id, "Again"), 409);
	assert_int_equal(close_finding(p, p->record, "Lost"), 404);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM signature WHERE meaning = 'closed'"), 1);
}

static void a_wrong_password_closes_nothing(void **state)
{
	struct plant *p = *state;
	char id[37], path[120];

	perform(p, 3.6);
	keep_finding(p, id);
	p->f->as = LEAD;
	snprintf(path, sizeof path, FINDINGS "/%s/close", id);
	assert_int_equal(ask(p, "POST", path, "{\"disposition\": \"x\", \"password\": \"no such password\"}"), 401);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM finding WHERE state = 'open'"), 1);
}

static void a_test_done_again_inside_withdraws_it(void **state)
{
	struct plant *p = *state;
	char path[80];

	/* one slip of the hand: 9.0 instead of 0.9 at the last point */
	open_record(p);
	prepare(p);
	prove(p);
	for (int i = 0; i < 9; i++) {
		static const char *const travel[] = {"0.0",  "25.0", "50.0", "75.0", "100.0",
						     "75.0", "50.0", "25.0", "9.0"};

		assert_int_equal(reading(p, "as_found", i, NULL, travel[i]), 201);
	}
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	assert_int_equal(sign(p, "performed"), 200);
	assert_string_equal(text_of(p, "/finding/state"), "open");
	assert_non_null(strstr(text_of(p, "/finding/sentence"), "+9.00 % of span at 4.00 mA falling"));
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/return",
				    "{\"reason\": \"Read it again\", \"password\": \"" FIXTURE_PASSWORD "\"}"),
			 200);
	p->f->as = TECHNICIAN;
	snprintf(path, sizeof path, "/readings/%s", text_of(p, "/runs/0/points/8/reading/id"));
	assert_int_equal(record_ask(p, "DELETE", path, NULL), 200);
	assert_int_equal(reading(p, "as_found", 8, NULL, "0.9"), 201);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	assert_int_equal(sign(p, "performed"), 200);
	assert_string_equal(text_of(p, "/finding/state"), "closed");
}

#define T(name) cmocka_unit_test_setup_teardown(name, plant_setup, plant_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(outside_as_found_opens_one_that_names_the_worst),
		T(inside_as_found_opens_none),
		T(a_lead_closes_it_by_signature),
		T(a_wrong_password_closes_nothing),
		T(a_test_done_again_inside_withdraws_it),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
