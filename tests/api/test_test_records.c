/* Opening, preparing and proving a test, and what it is frozen from. */
#include "plant.h"

#include <stdio.h>
#include <string.h>
#include "base/time.h"

#define RECORDS "/api/v1/test-records"

static int open_by(struct plant *p, const char *member, const char *id)
{
	char body[120];

	snprintf(body, sizeof body, "{\"%s\": \"%s\"}", member, id);
	return ask(p, "POST", RECORDS, body);
}

static int open_pair(struct plant *p, const char *instrument, const char *procedure)
{
	char body[160];

	snprintf(body, sizeof body, "{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\"}", instrument, procedure);
	return ask(p, "POST", RECORDS, body);
}

static void a_new_record_says_what_it_is_and_what_comes_first(void **state)
{
	struct plant *p = *state;
	char today[DATE_TEXT_SIZE], number[24];

	open_record(p);
	date_to_text(date_today(), today);
	snprintf(number, sizeof number, "R-%.4s-00001", today);
	assert_string_equal(text_of(p, "/number"), number);
	assert_string_equal(text_of(p, "/state"), "open");
	assert_string_equal(text_of(p, "/phase"), "prepare");
	assert_string_equal(text_of(p, "/opened_by"), "Tessa Quill");
	assert_string_equal(text_of(p, "/schedule_id"), p->schedule);
	assert_string_equal(text_of(p, "/instrument/tag"), "FV-301");
	assert_string_equal(text_of(p, "/instrument/area"), "Filter hall");
	assert_string_equal(text_of(p, "/procedure/code"), "CV-5");
	assert_int_equal((int)number_of(p, "/procedure/number"), 1);
	assert_string_equal(text_of(p, "/procedure/approved_by"), "Leda Marsh");
	assert_string_equal(text_of(p, "/cautions/0/key"), "bypass");
	assert_string_equal(text_of(p, "/cautions/1/text"), "The stem moves without warning");
	/* cautions, standard and environment; checks; as-found run; adjustment */
	assert_int_equal(count_of(p, "/to_do"), 6);
	assert_true(has_word(p, "/may", "edit"));
	assert_false(has_word(p, "/may", "sign_performed"));
	assert_false(has_word(p, "/may", "void"));
	assert_int_equal((int)strlen(text_of(p, "/content_sha256")), 64);
	assert_string_equal(p->f->etag, "\"v1\"");
}

/* 250 + 20 = 270 ohm; 20 mA drops 5.4 V; 24 - 9.5 - 5.4 = 9.1 V are left; (24 - 9.5) V / 270 ohm = 53.7 mA at most. */
static void the_wiring_sheet_has_the_loop_budget(void **state)
{
	struct plant *p = *state;

	open_record(p);
	assert_near(number_of(p, "/wiring/loop/left_v"), 9.1, 1e-9);
	assert_near(number_of(p, "/wiring/loop/most_ma"), 53.7, 0.05);
	assert_true(cJSON_IsTrue(at(p->f->answer, "/wiring/loop/drives")));
	assert_non_null(strstr(text_of(p, "/wiring/loop/sentence"), "9.1 V are left"));
	assert_string_equal(text_of(p, "/wiring/connections/0/from"), "current source, +");
	assert_non_null(strstr(text_of(p, "/wiring/connections/0/to"), "positioner of FV-301, +"));
	assert_non_null(strstr(text_of(p, "/wiring/connections/1/to"), "250"));
	assert_non_null(strstr(text_of(p, "/wiring/connections/3/from"), "HART modem"));
	/* 6.25 % of 4-20 mA: 5 mA */
	assert_near(number_of(p, "/checks/0/apply"), 5, 1e-12);
	assert_string_equal(text_of(p, "/checks/0/shown_apply"), "5.00 mA");
	assert_true(is_null_at(p->f->answer, "/checks/1/apply"));
}

static void a_schedule_has_one_record_in_hand(void **state)
{
	struct plant *p = *state;

	open_record(p);
	assert_int_equal(open_by(p, "schedule_id", p->schedule), 200);
	assert_string_equal(text_of(p, "/id"), p->record);
	/* asked for by tag, it is the same test */
	assert_int_equal(open_pair(p, p->valve, p->procedure), 200);
	assert_string_equal(text_of(p, "/id"), p->record);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM test_record"), 1);
}

static void numbers_go_up_by_one(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	open_record(p);
	assert_string_equal(text_of(p, "/number") + 7, "00002");
}

static void what_is_named_must_be_there(void **state)
{
	static const char nobody[] = "0190a000-0000-7000-8000-000000000000";
	struct plant *p = *state;

	assert_int_equal(open_by(p, "schedule_id", nobody), 422);
	expect_refusal(p->f, 422, "/schedule_id");
	assert_int_equal(open_by(p, "schedule_id", "tomorrow"), 422);
	assert_int_equal(open_pair(p, nobody, p->procedure), 422);
	expect_refusal(p->f, 422, "/instrument_id");
	assert_int_equal(open_pair(p, p->valve, nobody), 422);
	expect_refusal(p->f, 422, "/procedure_id");
	ask(p, "POST", RECORDS, "{}");
	expect_refusal(p->f, 422, "/instrument_id");
	assert_int_equal(ask(p, "GET", RECORDS "/0190a000-0000-7000-8000-000000000000", NULL), 404);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM test_record"), 0);
}

static void only_an_approved_procedure_for_this_kind_is_run(void **state)
{
	struct plant *p = *state;

	fixture_sql(p->f, "UPDATE procedure_version SET state = 'superseded'");
	assert_int_equal(open_by(p, "schedule_id", p->schedule), 409);
	fixture_sql(p->f, "UPDATE procedure_version SET state = 'approved'");
	fixture_sql(p->f, "UPDATE instrument SET kind = 'indicator'");
	assert_int_equal(open_by(p, "schedule_id", p->schedule), 409);
	expect_detail(p, "indicator");
	fixture_sql(p->f, "UPDATE instrument SET kind = 'control_valve', status = 'retired'");
	assert_int_equal(open_by(p, "schedule_id", p->schedule), 409);
	expect_detail(p, "retired");
}

/* IEC 60584-1: type K is defined from -270 degC. */
static void a_point_without_an_output_is_refused_at_once(void **state)
{
	struct plant *p = *state;

	fixture_sql(p->f, "UPDATE instrument SET characteristic_json = '{\"kind\":\"thermocouple\",\"type\":\"K\"}',"
			  " input_low = -300");
	assert_int_equal(open_by(p, "schedule_id", p->schedule), 409);
	expect_detail(p, "no output at \u2212300");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM test_record"), 0);
}

static void who_may_only_look_cannot_touch(void **state)
{
	struct plant *p = *state;

	open_record(p);
	p->f->as = AUDITOR;
	assert_int_equal(record_ask(p, "GET", "", NULL), 200);
	assert_int_equal(count_of(p, "/may"), 0);
	assert_int_equal(open_by(p, "schedule_id", p->schedule), 403);
	assert_int_equal(record_ask(p, "PUT", "/cautions/bypass", "{}"), 403);
	assert_int_equal(record_ask(p, "PUT", "/notes", "{\"remarks\": \"x\"}"), 403);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0"), 403);
	p->f->as = NOBODY;
	assert_int_equal(record_ask(p, "GET", "", NULL), 401);
}

static void cautions_are_acknowledged_by_name(void **state)
{
	struct plant *p = *state;

	open_record(p);
	assert_int_equal(record_ask(p, "PUT", "/cautions/bypass", "{}"), 200);
	assert_string_equal(text_of(p, "/cautions/0/acknowledged/by"), "Tessa Quill");
	assert_true(is_null_at(p->f->answer, "/cautions/1/acknowledged"));
	assert_string_equal(p->f->etag, "\"v2\"");
	/* the first who read it stays */
	p->f->as = TECHNICIAN_2;
	assert_int_equal(record_ask(p, "PUT", "/cautions/bypass", "{}"), 200);
	assert_string_equal(text_of(p, "/cautions/0/acknowledged/by"), "Tessa Quill");
	assert_int_equal(record_ask(p, "PUT", "/cautions/thunder", "{}"), 404);
	assert_int_equal(record_ask(p, "PUT", "/cautions/bypass", "{\"loud\": true}"), 422);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM ledger_entry WHERE action = 'acknowledge'"), 1);
}

static int choose(struct plant *p, const char *role, const char *id)
{
	char body[160];

	snprintf(body, sizeof body, "{\"standards\": [{\"role\": \"%s\", \"standard_id\": \"%s\"}]}", role, id);
	return record_ask(p, "PUT", "/standards", body);
}

static void candidates_say_why_not(void **state)
{
	struct plant *p = *state;

	open_record(p);
	/* the three for current; the pressure gauge is of no use here */
	assert_int_equal(count_of(p, "/needs/0/candidates"), 3);
	assert_string_equal(text_of(p, "/needs/0/candidates/0/code"), "MA-1");
	assert_true(is_null_at(p->f->answer, "/needs/0/candidates/0/why_not"));
	assert_string_equal(text_of(p, "/needs/0/candidates/0/shown_uncertainty"), "0.004 mA (k = 2)");
	assert_string_equal(text_of(p, "/needs/0/candidates/0/shown_range"), "0 to 24 mA");
	assert_string_equal(text_of(p, "/needs/0/candidates/1/code"), "MA-2");
	assert_non_null(strstr(text_of(p, "/needs/0/candidates/1/why_not"), "ran out on 2021-01-31"));
	assert_non_null(strstr(text_of(p, "/needs/0/candidates/2/why_not"), "does not cover"));
	assert_string_equal(text_of(p, "/needs/0/unit"), "mA");
	assert_true(is_null_at(p->f->answer, "/needs/0/chosen"));
}

static void an_unfit_standard_is_refused(void **state)
{
	struct plant *p = *state;

	open_record(p);
	assert_int_equal(choose(p, "input", p->expired), 422);
	expect_refusal(p->f, 422, "/standards/0/standard_id");
	expect_detail(p, "MA-2 cannot be used");
	assert_int_equal(choose(p, "input", p->small), 422);
	assert_int_equal(choose(p, "input", p->gauge), 422);
	expect_detail(p, "pressure, not current");
	assert_int_equal(choose(p, "output", p->source), 422);
	assert_int_equal(choose(p, "input", p->area), 422);
	expect_refusal(p->f, 422, "/standards/0/standard_id");
	assert_int_equal(choose(p, "both", p->source), 422);
	expect_refusal(p->f, 422, "/standards/0/role");
	assert_int_equal(record_ask(p, "PUT", "/standards", "{\"standards\": 1}"), 422);
	fixture_sql(p->f, "UPDATE standard SET status = 'failed', status_reason = 'dropped' WHERE code = 'MA-1'");
	assert_int_equal(choose(p, "input", p->source), 422);
	expect_detail(p, "dropped");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM standard_use"), 0);
}

static void the_last_day_of_a_calibration_still_counts(void **state)
{
	struct plant *p = *state;
	char today[DATE_TEXT_SIZE], sql[160];

	date_to_text(date_today(), today);
	snprintf(sql, sizeof sql,
		 "UPDATE standard_calibration SET valid_until = '%s' WHERE certificate_number = 'K-MA-1'", today);
	fixture_sql(p->f, sql);
	open_record(p);
	assert_int_equal(choose(p, "input", p->source), 200);
	date_to_text(date_today() - 1, today);
	snprintf(sql, sizeof sql,
		 "UPDATE standard_calibration SET valid_until = '%s' WHERE certificate_number = 'K-MA-1'", today);
	fixture_sql(p->f, sql);
	assert_int_equal(choose(p, "input", p->source), 422);
}

static void standards_stay_once_a_reading_rests_on_them(void **state)
{
	struct plant *p = *state;

	open_record(p);
	prepare(p);
	assert_string_equal(text_of(p, "/needs/0/chosen/certificate_number"), "K-MA-1");
	prove(p);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.0"), 201);
	assert_int_equal(record_ask(p, "PUT", "/standards", "{\"standards\": []}"), 409);
}

static void surroundings_are_checked(void **state)
{
	static const struct {
		const char *body, *pointer;
	} bad[] = {
		{"{}", "/temperature_c"},
		{"{\"temperature_c\": \"warm\"}", "/temperature_c"},
		{"{\"temperature_c\": 101}", "/temperature_c"},
		{"{\"temperature_c\": 21, \"humidity_percent\": 100.5}", "/humidity_percent"},
		{"{\"temperature_c\": 21, \"pressure_hpa\": 20}", "/pressure_hpa"},
		{"{\"temperature_c\": 21, \"wind\": 2}", "/wind"},
	};
	struct plant *p = *state;

	open_record(p);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		record_ask(p, "PUT", "/environment", bad[i].body);
		expect_refusal(p->f, 422, bad[i].pointer);
	}
	assert_int_equal(record_ask(p, "PUT", "/environment", "{\"temperature_c\": -4.5, \"humidity_percent\": 80}"),
			 200);
	assert_near(number_of(p, "/environment/temperature_c"), -4.5, 0);
	assert_near(number_of(p, "/environment/humidity_percent"), 80, 0);
	assert_true(is_null_at(p->f->answer, "/environment/pressure_hpa"));
}

static void notes_change_one_by_one(void **state)
{
	struct plant *p = *state;

	open_record(p);
	assert_int_equal(record_ask(p, "PUT", "/notes", "{\"condition\": \"Dusty, cover screw missing\"}"), 200);
	assert_int_equal(record_ask(p, "PUT", "/notes", "{\"remarks\": \"Ordered a screw\"}"), 200);
	assert_string_equal(text_of(p, "/condition"), "Dusty, cover screw missing");
	assert_string_equal(text_of(p, "/remarks"), "Ordered a screw");
	assert_int_equal(record_ask(p, "PUT", "/notes", "{\"condition\": \"\"}"), 200);
	assert_string_equal(text_of(p, "/condition"), "");
	record_ask(p, "PUT", "/notes", "{\"remarks\": 5}");
	expect_refusal(p->f, 422, "/remarks");
}

static void checks_follow_the_cautions(void **state)
{
	struct plant *p = *state;

	open_record(p);
	assert_int_equal(record_ask(p, "PUT", "/checks/moves", "{\"answer\": \"yes\"}"), 409);
	expect_detail(p, "caution");
	prepare(p);
	record_ask(p, "PUT", "/checks/moves", "{\"answer\": \"perhaps\"}");
	expect_refusal(p->f, 422, "/answer");
	assert_int_equal(record_ask(p, "PUT", "/checks/rattles", "{\"answer\": \"yes\"}"), 404);
}

static void a_check_answered_no_stops_the_test(void **state)
{
	struct plant *p = *state;

	open_record(p);
	prepare(p);
	prove(p);
	assert_int_equal(record_ask(p, "PUT", "/checks/moves", "{\"answer\": \"no\", \"note\": \"Air is off\"}"), 200);
	assert_string_equal(text_of(p, "/phase"), "prove");
	assert_non_null(strstr(text_of(p, "/to_do/0/text"), "was answered no"));
	assert_string_equal(text_of(p, "/checks/0/answer/note"), "Air is off");
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.0"), 409);
	assert_int_equal(record_ask(p, "PUT", "/checks/moves", "{\"answer\": \"yes\"}"), 200);
	assert_int_equal(reading(p, "as_found", 0, NULL, "0.0"), 201);
	/* what was said before is in the ledger */
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM ledger_entry WHERE action = 'answer'"
					       " AND before_json LIKE '%Air is off%'"),
			 1);
}

static void later_edits_of_the_register_change_no_past_verdict(void **state)
{
	struct plant *p = *state;

	perform(p, 2.5);
	fixture_sql(p->f, "UPDATE instrument SET tag = 'FV-999', output_high = 50, input_high = 24");
	fixture_sql(
		p->f,
		"UPDATE procedure_version SET document_json = replace(document_json, '\"plus\":3', '\"plus\":0.1')");
	fixture_sql(p->f, "UPDATE standard_calibration SET expanded_uncertainty = 1");
	look(p);
	assert_string_equal(text_of(p, "/instrument/tag"), "FV-301");
	assert_near(number_of(p, "/runs/0/points/4/reading/error"), 2.5, 1e-9);
	assert_near(number_of(p, "/runs/0/points/4/reading/limit_high"), 3, 1e-12);
	assert_string_equal(text_of(p, "/runs/0/summary/verdict"), "pass");
	assert_string_equal(text_of(p, "/needs/0/chosen/shown_uncertainty"), "0.004 mA (k = 2)");
}

static void lists_narrow_and_page(void **state)
{
	struct plant *p = *state;
	char first[37], path[240];

	perform(p, 2.5);
	snprintf(first, sizeof first, "%s", p->record);
	perform(p, 4);
	open_record(p);
	assert_int_equal(ask(p, "GET", RECORDS, NULL), 200);
	assert_int_equal(count_of(p, "/items"), 3);
	assert_string_equal(text_of(p, "/items/0/state"), "open");
	assert_true(is_null_at(p->f->answer, "/items/0/verdict_as_found"));
	assert_string_equal(text_of(p, "/items/2/id"), first);
	assert_string_equal(text_of(p, "/items/2/shown_worst_as_found"), "+2.50 %");
	assert_string_equal(text_of(p, "/items/2/performed_by"), "Tessa Quill");
	assert_int_equal(ask(p, "GET", RECORDS "?state=performed&verdict=fail", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 1);
	assert_near(number_of(p, "/items/0/worst_as_found"), 4, 1e-9);
	assert_int_equal(ask(p, "GET", RECORDS "?state=in_progress", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 1);
	assert_int_equal(ask(p, "GET", RECORDS "?q=fv-301&limit=2", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 2);
	snprintf(path, sizeof path, RECORDS "?q=fv-301&limit=2&after=%s", text_of(p, "/next"));
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_int_equal(count_of(p, "/items"), 1);
	assert_string_equal(text_of(p, "/items/0/id"), first);
	assert_true(is_null_at(p->f->answer, "/next"));
	assert_int_equal(ask(p, "GET", RECORDS "?q=%25", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 0);
	snprintf(path, sizeof path, RECORDS "?standard=%s", p->source);
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_int_equal(count_of(p, "/items"), 2);
	assert_int_equal(ask(p, "GET", RECORDS "?state=lost", NULL), 422);
	assert_int_equal(ask(p, "GET", RECORDS "?after=1", NULL), 422);
	assert_int_equal(ask(p, "GET", RECORDS "?limit=0", NULL), 422);
}

#define T(name) cmocka_unit_test_setup_teardown(name, plant_setup, plant_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(a_new_record_says_what_it_is_and_what_comes_first),
		T(the_wiring_sheet_has_the_loop_budget),
		T(a_schedule_has_one_record_in_hand),
		T(numbers_go_up_by_one),
		T(what_is_named_must_be_there),
		T(only_an_approved_procedure_for_this_kind_is_run),
		T(a_point_without_an_output_is_refused_at_once),
		T(who_may_only_look_cannot_touch),
		T(cautions_are_acknowledged_by_name),
		T(candidates_say_why_not),
		T(an_unfit_standard_is_refused),
		T(the_last_day_of_a_calibration_still_counts),
		T(standards_stay_once_a_reading_rests_on_them),
		T(surroundings_are_checked),
		T(notes_change_one_by_one),
		T(checks_follow_the_cautions),
		T(a_check_answered_no_stops_the_test),
		T(later_edits_of_the_register_change_no_past_verdict),
		T(lists_narrow_and_page),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
