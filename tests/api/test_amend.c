/* Amendments: what was certified is corrected under a number of its own, and what it replaces says so wherever it is shown. */
#include "plant.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "base/time.h"

#define WHY    "The ambient temperature was written down wrong"
#define REASON "{\"reason\": \"" WHY "\", \"password\": \"" FIXTURE_PASSWORD "\"}"

/* fontconfig keeps pointers as offsets, where the leak checker does not find them again. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig.so\n";
}

struct original {
	char id[37], number[64], certificate[64], due[16];
};

static void due_date(struct plant *p, char out[16])
{
	char path[100];

	snprintf(path, sizeof path, "/api/v1/schedules?instrument=%s", p->valve);
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	snprintf(out, 16, "%s", text_of(p, "/items/0/due_on"));
}

static void certify(struct plant *p, double offset, struct original *o)
{
	p->f->as = TECHNICIAN;
	perform(p, offset);
	review(p);
	assert_int_equal(record_ask(p, "POST", "/certificate", "{}"), 201);
	look(p);
	snprintf(o->id, sizeof o->id, "%s", p->record);
	snprintf(o->number, sizeof o->number, "%s", text_of(p, "/number"));
	snprintf(o->certificate, sizeof o->certificate, "%s", text_of(p, "/certificate/number"));
	due_date(p, o->due);
}

/* The record in hand becomes the amendment. */
static void amend(struct plant *p)
{
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/amend", REASON), 201);
	snprintf(p->record, sizeof p->record, "%s", text_of(p, "/id"));
}

static void finish(struct plant *p)
{
	p->f->as = TECHNICIAN_2;
	assert_int_equal(sign(p, "performed"), 200);
	review(p);
	assert_int_equal(record_ask(p, "POST", "/certificate", "{}"), 201);
}

/* The words on the drawn pages. */
static char *printed_at(struct plant *p, const char *path)
{
	char file[] = "/tmp/amend-XXXXXX", command[100];
	char *text = calloc(1, 1 << 16);
	int fd = mkstemp(file);
	FILE *out, *in;

	assert_true(fd >= 0);
	assert_non_null(text);
	p->f->as = AUDITOR;
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	out = fdopen(fd, "wb");
	assert_int_equal(fwrite(p->f->text, 1, p->f->size, out), p->f->size);
	fclose(out);
	snprintf(command, sizeof command, "pdftotext -raw %s - | tr '\\n' ' '", file);
	in = popen(command, "r");
	assert_non_null(in);
	assert_true(fread(text, 1, (1 << 16) - 1, in) > 0);
	assert_int_equal(pclose(in), 0);
	remove(file);
	return text;
}

static char *printed(struct plant *p, const char *path)
{
	char full[200];

	snprintf(full, sizeof full, "/api/v1/test-records/%s%s", p->record, path);
	return printed_at(p, full);
}

static void an_amendment_begins_as_the_test_it_amends(void **state)
{
	struct plant *p = *state;
	char suffixed[80];
	struct original o;

	certify(p, 1.2, &o);
	p->f->as = LEAD;
	look(p);
	assert_true(has_word(p, "/may", "amend"));
	amend(p);
	snprintf(suffixed, sizeof suffixed, "%s-A1", o.number);
	assert_string_equal(text_of(p, "/number"), suffixed);
	assert_string_equal(text_of(p, "/state"), "open");
	assert_string_equal(text_of(p, "/amends/certificate"), o.certificate);
	assert_string_equal(text_of(p, "/amends/record_id"), o.id);
	assert_string_equal(text_of(p, "/amends/reason"), WHY);
	assert_string_equal(text_of(p, "/phase"), "sign"); /* nothing is missing: it was all there */
	assert_int_equal(count_of(p, "/to_do"), 0);
	assert_string_equal(text_of(p, "/runs/0/points/1/reading/by"), "Tessa Quill");
	assert_true(is_null_at(p->f->answer, "/certificate"));
	assert_int_equal(count_of(p, "/signatures"), 0);
	/* the first one stands until then, and says what is coming */
	snprintf(suffixed, sizeof suffixed, "%s", p->record);
	snprintf(p->record, sizeof p->record, "%s", o.id);
	look(p);
	assert_string_equal(text_of(p, "/certificate/state"), "current");
	assert_string_equal(text_of(p, "/amended_by/record_id"), suffixed);
	assert_false(has_word(p, "/may", "amend"));
	assert_int_equal(record_ask(p, "POST", "/amend", REASON), 409);
	expect_detail(p, "amends it already");
}

static void only_a_lead_amends_and_only_what_is_certified(void **state)
{
	struct plant *p = *state;
	struct original o;

	p->f->as = TECHNICIAN;
	perform(p, 1.2);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/amend", REASON), 409);
	expect_detail(p, "only a certified test is amended");
	review(p);
	assert_int_equal(record_ask(p, "POST", "/certificate", "{}"), 201);
	p->f->as = TECHNICIAN;
	assert_int_equal(record_ask(p, "POST", "/amend", REASON), 403);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/amend", "{\"reason\": \"\", \"password\": \"" FIXTURE_PASSWORD "\"}"),
			 422);
	assert_int_equal(record_ask(p, "POST", "/amend", "{\"reason\": \"x\", \"password\": \"no\"}"), 401);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM test_record"), 1);
	certify(p, 1.2, &o);
	assert_int_equal(record_ask(p, "POST", "/void", REASON), 200);
	assert_int_equal(record_ask(p, "POST", "/amend", REASON), 409);
}

static void its_certificate_replaces_the_first_and_both_say_so(void **state)
{
	struct plant *p = *state;
	char number[80], due[16], path[160], *text;
	struct original o;

	certify(p, 1.2, &o);
	amend(p);
	p->f->as = TECHNICIAN;
	assert_int_equal(record_ask(p, "PUT", "/environment", "{\"temperature_c\": 25.5}"), 200);
	finish(p);
	look(p);
	snprintf(number, sizeof number, "%s-A1", o.certificate);
	assert_string_equal(text_of(p, "/certificate/number"), number);
	assert_string_equal(text_of(p, "/certificate/state"), "current");
	due_date(p, due);
	assert_string_equal(due, o.due); /* the test was not done again */

	text = printed(p, "/certificate.pdf");
	assert_non_null(strstr(text, "Amends"));
	assert_non_null(strstr(text, o.certificate));
	assert_non_null(strstr(text, WHY));
	assert_non_null(strstr(text, "25.5"));
	/* who signed the correction did not do the test, and who did stays named */
	assert_non_null(strstr(text, "Corrected the record"));
	assert_null(strstr(text, "Performed the test"));
	assert_non_null(strstr(text, "Tested by Tessa Quill"));
	free(text);
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 200);
	assert_non_null(strstr(p->f->text, WHY));
	assert_non_null(strstr(p->f->text, "Corrected the record"));
	assert_non_null(strstr(p->f->text, "Tessa Quill"));

	snprintf(p->record, sizeof p->record, "%s", o.id);
	look(p);
	assert_string_equal(text_of(p, "/certificate/state"), "amended");
	assert_string_equal(text_of(p, "/certificate/replaced_by"), number);
	assert_string_equal(text_of(p, "/certificate/reason"), WHY);
	text = printed(p, "/certificate.pdf");
	assert_non_null(strstr(text, "AMENDED"));
	assert_non_null(strstr(text, number));
	free(text);
	text = printed(p, "/certificate.pdf?as=issued"); /* the file as it was is kept, and readable */
	assert_null(strstr(text, "AMENDED"));
	free(text);
	snprintf(path, sizeof path, "/api/v1/verify/%s", o.certificate);
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_string_equal(text_of(p, "/state"), "amended");
	assert_string_equal(text_of(p, "/replaced_by"), number);
	snprintf(path, sizeof path, "/api/v1/verify/%s", number);
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_string_equal(text_of(p, "/amends"), o.certificate);
	assert_int_equal(ask(p, "GET", "/api/v1/test-records?state=certified", NULL), 200);
	assert_string_equal(text_of(p, "/items/1/certificate_state"), "amended");
}

static void an_amendment_is_amended_under_the_next_number(void **state)
{
	struct plant *p = *state;
	char number[80];
	struct original o;

	certify(p, 1.2, &o);
	amend(p);
	finish(p);
	amend(p);
	snprintf(number, sizeof number, "%s-A2", o.number);
	assert_string_equal(text_of(p, "/number"), number);
	finish(p);
	look(p);
	snprintf(number, sizeof number, "%s-A2", o.certificate);
	assert_string_equal(text_of(p, "/certificate/number"), number);
	/* the first cannot be amended once more: its amendment can */
	snprintf(p->record, sizeof p->record, "%s", o.id);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/amend", REASON), 409);
	expect_detail(p, "was amended already");
}

static int label_of(struct plant *p, const char *kind)
{
	char path[160];

	snprintf(path, sizeof path, "/api/v1/labels?records=%s&kind=%s", p->record, kind);
	return ask(p, "GET", path, NULL);
}

/* The instrument is the same and nobody has lifted what a lead said: a corrected temperature makes no ordinary label of it. */
static void a_limitation_stays_through_amendments(void **state)
{
	struct plant *p = *state;
	struct original o;

	certify(p, 0, &o);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/limitation", "{\"text\": \"Indication only\"}"), 201);
	for (int i = 0; i < 2; i++) {
		amend(p);
		finish(p);
		look(p);
		assert_string_equal(text_of(p, "/limitation/text"), "Indication only");
		p->f->as = AUDITOR;
		assert_int_equal(label_of(p, "ordinary"), 409);
		expect_detail(p, "Indication only");
		assert_int_equal(label_of(p, "limited"), 200);
	}
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/limitation", "{\"text\": \"Below 4 bar\"}"), 201);
	look(p);
	assert_string_equal(text_of(p, "/limitation/text"), "Below 4 bar");
}

static void a_limitation_is_lifted_with_a_reason_also_from_what_was_amended(void **state)
{
	static const char why[] = "{\"reason\": \"New sensing element fitted\"}";
	struct plant *p = *state;
	struct original o;

	certify(p, 0, &o);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/limitation/lift", why), 409);
	expect_detail(p, "no limitation to lift");
	assert_int_equal(record_ask(p, "POST", "/limitation", "{\"text\": \"Indication only\"}"), 201);
	amend(p);
	finish(p);
	p->f->as = TECHNICIAN;
	assert_int_equal(record_ask(p, "POST", "/limitation/lift", why), 403);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/limitation/lift", "{}"), 422);
	assert_int_equal(record_ask(p, "POST", "/limitation/lift", why), 200);
	assert_true(is_null_at(p->f->answer, "/limitation"));
	p->f->as = AUDITOR;
	assert_int_equal(label_of(p, "ordinary"), 200);
	assert_int_equal(ask(p, "GET", "/api/v1/ledger?thing=test_record&field=limitation", NULL), 200);
	assert_string_equal(text_of(p, "/items/0/action"), "lift");
	assert_string_equal(text_of(p, "/items/0/reason"), "New sensing element fitted");
	assert_string_equal(text_of(p, "/items/0/before/limitation"), "Indication only");
}

static void an_amendment_given_up_leaves_the_certificate_as_it_was(void **state)
{
	struct plant *p = *state;
	char number[80];
	struct original o;

	certify(p, 1.2, &o);
	amend(p);
	assert_int_equal(record_ask(p, "POST", "/void", REASON), 200);
	snprintf(p->record, sizeof p->record, "%s", o.id);
	look(p);
	assert_string_equal(text_of(p, "/certificate/state"), "current");
	assert_true(is_null_at(p->f->answer, "/amended_by"));
	amend(p);
	snprintf(number, sizeof number, "%s-A2", o.number); /* the number of what was given up is not used again */
	assert_string_equal(text_of(p, "/number"), number);
}

static void what_was_made_void_meanwhile_is_not_amended(void **state)
{
	struct plant *p = *state;
	char amendment[37];
	struct original o;

	certify(p, 1.2, &o);
	amend(p);
	snprintf(amendment, sizeof amendment, "%s", p->record);
	snprintf(p->record, sizeof p->record, "%s", o.id);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/void", REASON), 200);
	snprintf(p->record, sizeof p->record, "%s", amendment);
	p->f->as = TECHNICIAN;
	assert_int_equal(sign(p, "performed"), 200);
	review(p);
	assert_int_equal(record_ask(p, "POST", "/certificate", "{}"), 409);
	expect_detail(p, "no longer stands");
	snprintf(p->record, sizeof p->record, "%s", o.id);
	look(p);
	assert_string_equal(text_of(p, "/certificate/state"), "void");
}

/* An instrument found outside its limits is one case, not two. */
static void its_finding_takes_the_place_of_the_first_ones(void **state)
{
	struct plant *p = *state;
	struct original o;

	certify(p, 4.5, &o);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM finding WHERE state = 'open'"), 1);
	amend(p);
	finish(p);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM finding WHERE state = 'open'"), 1);
	look(p);
	assert_string_equal(text_of(p, "/finding/state"), "open");
	snprintf(p->record, sizeof p->record, "%s", o.id);
	look(p);
	assert_string_equal(text_of(p, "/finding/state"), "closed");
}

static void the_standards_may_be_chosen_anew(void **state)
{
	struct plant *p = *state;
	char body[200];
	struct original o;

	certify(p, 1.2, &o);
	amend(p);
	p->f->as = TECHNICIAN;
	snprintf(body, sizeof body, "{\"standards\": [{\"role\": \"input\", \"standard_id\": \"%s\"}]}", p->source);
	assert_int_equal(record_ask(p, "PUT", "/standards", body), 200);
}

static void take_up(struct plant *p, const char *id)
{
	char own[sizeof p->record];

	snprintf(own, sizeof own, "%s", id); /* id may be the record in hand itself */
	memcpy(p->record, own, sizeof own);
}

/* Takes the newest n readings of the as-found run back, as the technician. */
static void undo(struct plant *p, int n)
{
	char path[160];

	p->f->as = TECHNICIAN;
	for (int point = 8; point > 8 - n; point--) {
		look(p);
		snprintf(path, sizeof path, "/runs/0/points/%d/reading/id", point);
		snprintf(path, sizeof path, "/readings/%s", text_of(p, path));
		assert_int_equal(record_ask(p, "DELETE", path, NULL), 200);
	}
}

static void today(char out[DATE_TEXT_SIZE])
{
	date_to_text(date_today(), out);
}

/* The day of the test a year on; there is no 29 February then. */
static void in_a_year(const char *day, char out[32])
{
	bool leap = !strcmp(day + 4, "-02-29");

	snprintf(out, 32, "%04d%.6s", atoi(day) + 1, leap ? "-02-28" : day + 4);
}

/* 0 % read as 60 %: far outside the 3 % of the procedure. */
static void a_reading_corrected_to_outside_takes_the_due_date_back(void **state)
{
	struct plant *p = *state;
	char day[DATE_TEXT_SIZE], due[16];
	struct original o;

	certify(p, 0, &o);
	today(day);
	amend(p);
	undo(p, 1);
	assert_int_equal(sign(p, "performed"), 409);
	assert_int_equal(reading(p, "as_found", 8, NULL, "60.0"), 201);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	due_date(p, due);
	assert_string_equal(due, o.due); /* the certificate still stands */
	finish(p);
	look(p);
	assert_near(number_of(p, "/runs/0/points/8/reading/observed"), 60.0, 0);
	assert_string_equal(text_of(p, "/finding/state"), "open");
	due_date(p, due);
	assert_string_equal(due, day);
	take_up(p, o.id);
	look(p); /* what was certified stays as it was */
	assert_near(number_of(p, "/runs/0/points/8/reading/observed"), 0.0, 0);
}

static void readings_corrected_to_inside_move_the_due_date_from_the_day_of_the_test(void **state)
{
	struct plant *p = *state;
	char day[DATE_TEXT_SIZE], moved[32], due[16];
	struct original o;

	certify(p, 4.5, &o);
	assert_string_equal(o.due, "2020-06-30"); /* of the schedule: left outside, it does not move */
	today(day);
	in_a_year(day, moved);
	amend(p);
	undo(p, 9);
	read_run(p, "as_found", 0);
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	time_set_offset_ms(40LL * 24 * 3600000);
	for (int i = TECHNICIAN; i < CALLERS; i++)
		fixture_sign_in(p->f, (enum caller)i);
	finish(p);
	due_date(p, due);
	time_set_offset_ms(0);
	assert_string_equal(due, moved); /* not from the day of the amendment */
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM finding WHERE state = 'open'"), 0);
}

static void what_was_amended_is_not_made_void_but_its_amendment_is(void **state)
{
	struct plant *p = *state;
	char day[DATE_TEXT_SIZE], due[16], number[80], amendment[37];
	struct original o;

	certify(p, 1.2, &o);
	today(day);
	amend(p);
	finish(p);
	snprintf(number, sizeof number, "%s-A1", o.certificate);
	snprintf(amendment, sizeof amendment, "%s", p->record);
	take_up(p, o.id);
	p->f->as = LEAD;
	look(p);
	assert_false(has_word(p, "/may", "void"));
	assert_int_equal(record_ask(p, "POST", "/void", REASON), 409);
	expect_detail(p, number);
	look(p);
	assert_string_equal(text_of(p, "/certificate/state"), "amended");
	assert_string_equal(text_of(p, "/certificate/replaced_by"), number);
	due_date(p, due);
	assert_string_equal(due, o.due);
	take_up(p, amendment);
	assert_int_equal(record_ask(p, "POST", "/void", REASON), 200);
	assert_string_equal(text_of(p, "/certificate/state"), "void");
	due_date(p, due);
	assert_string_equal(due, day); /* no certificate of this test stands: due at once */
}

static void label_verification_and_history_of_an_amendment_say_the_day_of_the_test(void **state)
{
	struct plant *p = *state;
	char day[DATE_TEXT_SIZE], path[120], *text;
	struct original o;

	certify(p, 1.2, &o);
	today(day);
	time_set_offset_ms(40LL * 24 * 3600000);
	for (int i = TECHNICIAN; i < CALLERS; i++)
		fixture_sign_in(p->f, (enum caller)i);
	amend(p);
	finish(p);
	snprintf(path, sizeof path, "/api/v1/labels?records=%s", p->record);
	text = printed_at(p, path);
	snprintf(path, sizeof path, "/api/v1/verify/%s-A1", o.certificate);
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_memory_equal(text_of(p, "/tested_at"), day, 10);
	snprintf(path, sizeof path, "/api/v1/instruments/%s", p->valve);
	assert_int_equal(ask(p, "GET", path, NULL), 200); /* its history, newest first */
	time_set_offset_ms(0);
	assert_memory_equal(text_of(p, "/records/0/tested_at"), day, 10);
	assert_memory_not_equal(text_of(p, "/records/0/performed_at"), day, 10);
	assert_memory_equal(text_of(p, "/records/1/tested_at"), day, 10);
	assert_non_null(strstr(text, "Tessa Quill")); /* took the readings; somebody else corrects the record */
	assert_non_null(strstr(text, day));
	assert_non_null(strstr(text, o.due));
	free(text);
}

static int label(struct plant *p, const char *id)
{
	char path[120];

	snprintf(path, sizeof path, "/api/v1/labels?records=%s", id);
	return ask(p, "GET", path, NULL);
}

static void an_amendment_of_an_older_test_is_not_the_newest(void **state)
{
	struct plant *p = *state;
	struct original older, newer;

	certify(p, 1.2, &older);
	certify(p, 1.3, &newer);
	take_up(p, older.id);
	amend(p);
	finish(p);
	assert_int_equal(label(p, newer.id), 200);
	assert_int_equal(label(p, p->record), 409);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(an_amendment_begins_as_the_test_it_amends, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(only_a_lead_amends_and_only_what_is_certified, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(its_certificate_replaces_the_first_and_both_say_so, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(an_amendment_is_amended_under_the_next_number, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(an_amendment_given_up_leaves_the_certificate_as_it_was, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(what_was_made_void_meanwhile_is_not_amended, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(its_finding_takes_the_place_of_the_first_ones, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(the_standards_may_be_chosen_anew, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(a_reading_corrected_to_outside_takes_the_due_date_back, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(readings_corrected_to_inside_move_the_due_date_from_the_day_of_the_test,
						plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(what_was_amended_is_not_made_void_but_its_amendment_is, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(label_verification_and_history_of_an_amendment_say_the_day_of_the_test,
						plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(an_amendment_of_an_older_test_is_not_the_newest, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(a_limitation_stays_through_amendments, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(a_limitation_is_lifted_with_a_reason_also_from_what_was_amended,
						plant_setup, plant_teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
