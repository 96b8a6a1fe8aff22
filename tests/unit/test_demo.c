/* The demo plant as it comes out. What DESIGN.md section 9 promises of it is counted here; nothing of it is true of the world. */
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/time.h"
#include "domain/demo.h"
#include "domain/ledger.h"
#include "domain/password.h"
#include "domain/record.h"
#include "store/schedule.h"
#include "store/setting.h"
#include "store/test_record.h"

struct plant {
	char folder[32], path[64];
	struct store *store;
	struct db *db;
	struct arena arena;
	struct err err;
};

static enum status make(struct plant *p)
{
	strcpy(p->folder, "/tmp/demo-XXXXXX");
	assert_non_null(mkdtemp(p->folder));
	snprintf(p->path, sizeof p->path, "%s/plant.db", p->folder);
	assert_int_equal(store_open(&p->store, p->path, 1, &p->err), OK);
	return demo_load(p->store, &p->err);
}

static void look(struct plant *p)
{
	p->db = store_read_begin(p->store);
}

static void unmake(struct plant *p)
{
	char command[80];

	if (p->db)
		store_read_end(p->store, p->db);
	store_close(p->store);
	arena_clear(&p->arena);
	snprintf(command, sizeof command, "rm -r %s", p->folder);
	assert_int_equal(system(command), 0);
}

static struct plant plant;

static int begin(void **state)
{
	*state = &plant;
	password_set_cost(1, 8192);
	if (make(&plant)) {
		print_error("%s %s\n", plant.err.field, plant.err.message);
		return -1;
	}
	look(&plant);
	return 0;
}

static int end(void **state)
{
	unmake(*state);
	return 0;
}

static int64_t count(struct plant *p, struct stmt *q)
{
	int64_t n;

	assert_int_equal(stmt_step(q, &p->err), OK);
	n = col_int(q, 0);
	stmt_done(q);
	return n;
}

#define COUNT(p, sql) count(p, db_stmt((p)->db, "SELECT count(*) FROM " sql))

static void there_are_some_sixty_instruments_each_with_a_schedule(void **state)
{
	struct plant *p = *state;
	int64_t n = COUNT(p, "instrument");

	assert_in_range(n, 55, 75);
	assert_int_equal(COUNT(p, "schedule"), n);
}

static struct due_counts due(struct plant *p)
{
	char today[DATE_TEXT_SIZE], week[DATE_TEXT_SIZE];
	struct due_filter all = {0};
	struct due_counts counts;

	date_to_text(date_today(), today);
	date_to_text(date_today() + 7, week);
	assert_int_equal(
		store_schedule_due_counts(p->db, &all, &(struct due_days){today, week, week, today}, &counts, &p->err),
		OK);
	return counts;
}

static void exactly_two_tags_are_overdue(void **state)
{
	assert_int_equal(due(*state).overdue, 2);
}

static void about_eleven_tests_are_due_this_week(void **state)
{
	assert_in_range(due(*state).this_week, 10, 12);
}

static void the_ledger_is_sound(void **state)
{
	struct plant *p = *state;
	struct ledger_result r;

	assert_int_equal(ledger_check(p->db, NULL, &r, &p->err), OK);
	assert_int_equal(r.first_bad, 0);
	assert_true(r.entries > 500);
}

static void the_valve_of_filter_7_has_been_tested_and_is_due_again(void **state)
{
	struct plant *p = *state;
	struct record_filter filter = {.q = "FCV-2107", .limit = 50};
	struct record_summary *list;
	char next[RECORD_CURSOR_SIZE];
	size_t n;

	assert_int_equal(store_record_list(p->db, &filter, &p->arena, &list, &n, next, &p->err), OK);
	assert_in_range(n, 3, 6);
	assert_string_equal(list[0].state, "certified");
	assert_string_equal(list[0].verdict_as_found, "pass");
	assert_true(list[0].worst_as_found > 0); /* its zero creeps upwards */
	assert_int_equal(
		COUNT(p,
		      "schedule s JOIN instrument i ON i.id = s.instrument_id WHERE i.tag = 'FCV-2107'"
		      " AND NOT EXISTS (SELECT 1 FROM test_record r WHERE r.schedule_id = s.id AND r.state IN ('open', 'returned'))"),
		1);
}

/* Each with its set point from the data sheet; three actuations, there and back, are six readings a run. */
static void pressure_switches_are_tested_at_their_set_points(void **state)
{
	struct plant *p = *state;

	assert_int_equal(COUNT(p, "instrument WHERE kind = 'switch' AND set_point IS NOT NULL"), 5);
	assert_int_equal(COUNT(p, "instrument WHERE kind <> 'switch' AND set_point IS NOT NULL"), 0);
	assert_int_equal(COUNT(p, "instrument WHERE kind = 'switch' AND acts_on = 'falling'"), 2);
	assert_true(COUNT(p, "test_record r JOIN instrument i ON i.id = r.instrument_id WHERE i.kind = 'switch'"
			     " AND r.state = 'certified'") >= 10);
	assert_int_equal(
		COUNT(p, "(SELECT count(*) AS n FROM reading g JOIN run u ON u.id = g.run_id"
			 " JOIN test_record r ON r.id = u.test_record_id JOIN instrument i ON i.id = r.instrument_id"
			 " WHERE i.kind = 'switch' GROUP BY u.id) WHERE n <> 6"),
		0);
	assert_true(COUNT(p, "finding f JOIN test_record r ON r.id = f.test_record_id JOIN instrument i"
			     " ON i.id = r.instrument_id WHERE i.tag = 'PSH-4105' AND f.sentence LIKE '%late%'") >= 1);
}

static void every_test_notes_the_surroundings_and_how_the_instrument_was_received(void **state)
{
	struct plant *p = *state;
	int64_t records = COUNT(p, "test_record");

	assert_true(records > 200);
	assert_int_equal(COUNT(p, "test_record WHERE length(condition) >= 6"), records);
	assert_int_equal(COUNT(p,
			       "environment WHERE temperature_c BETWEEN 5 AND 30 AND humidity_percent BETWEEN 40 AND 80"
			       " AND pressure_hpa BETWEEN 985 AND 1035"),
			 records);
}

static void some_tests_failed_and_one_finding_is_still_open(void **state)
{
	struct plant *p = *state;

	assert_true(COUNT(p, "test_record WHERE verdict_as_found = 'fail'") >= 4);
	assert_int_equal(COUNT(p, "finding WHERE state = 'open'"), 1);
	assert_true(COUNT(p, "finding WHERE state = 'closed'") >= 3);
}

static void one_test_is_under_way_and_two_wait_for_a_review(void **state)
{
	struct plant *p = *state;

	assert_int_equal(COUNT(p, "test_record WHERE state = 'open'"), 1);
	assert_int_equal(COUNT(p, "test_record WHERE state = 'performed'"), 2);
	assert_int_equal(COUNT(p, "test_record WHERE state NOT IN ('open', 'performed', 'certified')"), 0);
}

static void one_standard_has_failed_and_tests_relied_on_it(void **state)
{
	struct plant *p = *state;

	assert_int_equal(COUNT(p, "standard WHERE status = 'failed'"), 1);
	assert_true(COUNT(p, "standard_use u JOIN standard s ON s.id = u.standard_id WHERE s.status = 'failed'") >= 3);
}

static void every_certificate_is_of_a_record_reviewed_by_another_person(void **state)
{
	struct plant *p = *state;

	assert_true(COUNT(p, "certificate") > 100);
	assert_int_equal(
		COUNT(p,
		      "certificate c JOIN signature a ON a.test_record_id = c.test_record_id AND a.meaning = 'performed'"
		      " JOIN signature b ON b.test_record_id = c.test_record_id AND b.meaning = 'reviewed'"
		      " WHERE a.person_id = b.person_id OR b.at < a.at"),
		0);
}

static void every_record_can_be_read_and_judged_again_to_the_same_verdict(void **state)
{
	struct plant *p = *state;
	struct stmt *q = db_stmt(p->db,
				 "SELECT id, verdict_as_found, verdict_as_left FROM test_record WHERE state <> 'open'");

	while (stmt_step(q, &p->err) == OK) {
		struct arena a = {0};
		struct record r;

		assert_int_equal(record_load(p->db, col_text(q, 0, &a), &a, &r, &p->err), OK);
		assert_string_equal(verdict_word(r.runs[0].sum.verdict), col_text(q, 1, &a));
		if (r.n_runs > 1)
			assert_string_equal(verdict_word(r.runs[1].sum.verdict), col_text(q, 2, &a));
		arena_clear(&a);
	}
}

static void nobody_signed_in_the_future(void **state)
{
	struct plant *p = *state;
	struct stmt *q = db_stmt(p->db, "SELECT count(*) FROM ledger_entry WHERE at > $1");

	stmt_int(q, 1, time_now_ms());
	assert_int_equal(count(p, q), 0);
	q = db_stmt(p->db, "SELECT count(*) FROM reading WHERE taken_at > $1");
	stmt_int(q, 1, time_now_ms());
	assert_int_equal(count(p, q), 0);
}

/* Tags and readings in one text, by record number. */
static char *story_of(struct plant *p)
{
	struct stmt *q = db_stmt(
		p->db,
		"SELECT group_concat(line, ' ') FROM (SELECT t.number || i.tag || d.point || d.applied_text || '>'"
		" || d.observed_text AS line FROM reading d JOIN run u ON u.id = d.run_id JOIN test_record t"
		" ON t.id = u.test_record_id JOIN instrument i ON i.id = t.instrument_id"
		" ORDER BY t.number, u.kind, d.point)");
	char *text;

	assert_int_equal(stmt_step(q, &p->err), OK);
	text = col_text(q, 0, &p->arena);
	stmt_done(q);
	return text;
}

static void it_comes_out_the_same_each_time(void **state)
{
	struct plant *p = *state, second = {0};

	assert_int_equal(make(&second), OK);
	look(&second);
	assert_string_equal(story_of(p), story_of(&second));
	unmake(&second);
}

static void a_plant_with_people_in_it_is_left_alone(void **state)
{
	struct plant *p = *state;
	struct err err = {0};

	assert_int_equal(demo_load(p->store, &err), CONFLICT);
}

/* Today is shifted to ends of months and leap days, where months do not add up. */
static void two_tags_are_overdue_whatever_day_it_is(void **state)
{
	static const char *const days[] = {"2027-01-31", "2028-02-29", "2027-03-30", "2027-12-31", "2027-09-02"};
	int64_t now = time_now_ms();

	(void)state;
	for (size_t i = 0; i < sizeof days / sizeof *days; i++) {
		struct plant other = {0};
		int32_t day;

		assert_true(date_from_text(days[i], &day));
		time_set_offset_ms((day - now / 86400000) * 86400000);
		assert_int_equal(make(&other), OK);
		look(&other);
		assert_int_equal(due(&other).overdue, 2);
		assert_in_range(due(&other).this_week, 10, 12);
		unmake(&other);
	}
	time_set_offset_ms(0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(there_are_some_sixty_instruments_each_with_a_schedule),
		cmocka_unit_test(exactly_two_tags_are_overdue),
		cmocka_unit_test(about_eleven_tests_are_due_this_week),
		cmocka_unit_test(the_ledger_is_sound),
		cmocka_unit_test(the_valve_of_filter_7_has_been_tested_and_is_due_again),
		cmocka_unit_test(pressure_switches_are_tested_at_their_set_points),
		cmocka_unit_test(every_test_notes_the_surroundings_and_how_the_instrument_was_received),
		cmocka_unit_test(some_tests_failed_and_one_finding_is_still_open),
		cmocka_unit_test(one_test_is_under_way_and_two_wait_for_a_review),
		cmocka_unit_test(one_standard_has_failed_and_tests_relied_on_it),
		cmocka_unit_test(every_certificate_is_of_a_record_reviewed_by_another_person),
		cmocka_unit_test(every_record_can_be_read_and_judged_again_to_the_same_verdict),
		cmocka_unit_test(nobody_signed_in_the_future),
		cmocka_unit_test(it_comes_out_the_same_each_time),
		cmocka_unit_test(a_plant_with_people_in_it_is_left_alone),
		cmocka_unit_test(two_tags_are_overdue_whatever_day_it_is),
	};

	return cmocka_run_group_tests(tests, begin, end);
}
