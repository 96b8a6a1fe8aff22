/* Certificates: issued once, after the review, numbered in order, printed from the record. */
#include "plant.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include "base/time.h"
#include "report/dcc.h"
#include "report/seal_verify.h"

/* fontconfig keeps pointers as offsets, where the leak checker does not find them again. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig.so\n";
}

static int issue(struct plant *p)
{
	return record_ask(p, "POST", "/certificate", "{}");
}

static void certify(struct plant *p, double offset)
{
	p->f->as = TECHNICIAN;
	perform(p, offset);
	review(p);
	assert_int_equal(issue(p), 201);
}

static void a_certificate_follows_the_review(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	p->f->as = LEAD;
	assert_int_equal(issue(p), 409);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 409);
	review(p);
	p->f->as = TECHNICIAN;
	assert_int_equal(issue(p), 403);
	p->f->as = LEAD;
	look(p);
	assert_true(has_word(p, "/may", "issue"));
	assert_int_equal(issue(p), 201);
	assert_string_equal(text_of(p, "/state"), "certified");
	assert_string_equal(text_of(p, "/phase"), "done");
	assert_string_equal(text_of(p, "/certificate/state"), "current");
	assert_string_equal(text_of(p, "/certificate/issued_by"), "Leda Marsh");
	assert_int_equal(issue(p), 409);
}

static void numbers_carry_the_plants_prefix_and_the_year(void **state)
{
	struct plant *p = *state;
	char today[DATE_TEXT_SIZE], number[40];

	fixture_sql(p->f, "INSERT INTO setting (key, value, updated_at) VALUES ('certificate_prefix', 'BWW', 0)");
	certify(p, 0);
	date_to_text(date_today(), today);
	snprintf(number, sizeof number, "BWW-%.4s-0001", today);
	assert_string_equal(text_of(p, "/certificate/number"), number);
	certify(p, 0);
	snprintf(number, sizeof number, "BWW-%.4s-0002", today);
	assert_string_equal(text_of(p, "/certificate/number"), number);
}

static void it_is_found_by_its_number(void **state)
{
	struct plant *p = *state;
	char path[100];

	certify(p, 1.2);
	snprintf(path, sizeof path, "/api/v1/certificates/%s", text_of(p, "/certificate/number"));
	p->f->as = AUDITOR;
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_string_equal(text_of(p, "/record/id"), p->record);
	assert_string_equal(text_of(p, "/record/tag"), "FV-301");
	assert_string_equal(text_of(p, "/record/reviewed_by"), "Corin Vale");
	assert_string_equal(text_of(p, "/record/verdict_as_found"), "pass");
	assert_string_equal(text_of(p, "/state"), "current");
	assert_int_equal(ask(p, "GET", "/api/v1/certificates/BWW-1999-0001", NULL), 404);
}

static void the_pdf_is_a_pdf(void **state)
{
	struct plant *p = *state;

	certify(p, 1.2);
	p->f->as = AUDITOR;
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 200);
	assert_string_equal(p->f->content_type, "application/pdf");
	/* ISO 32000-1, 7.5.2: a file begins with this header */
	assert_memory_equal(p->f->text, "%PDF-", 5);
	assert_true(p->f->size > 10000);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf?paper=letter", NULL), 200);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf?paper=a5", NULL), 422);
	p->f->as = NOBODY;
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 401);
}

/* DCC schema 3.3.0: root, namespace and version of the document. */
static void the_certificate_for_machines_is_written_from_the_record(void **state)
{
	struct plant *p = *state;
	char number[40];

	fixture_sql(p->f, "INSERT INTO setting (key, value, updated_at) VALUES ('country', 'GB', 0)");
	perform(p, 0);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 409);
	review(p);
	assert_int_equal(issue(p), 201);
	snprintf(number, sizeof number, ">%s<", text_of(p, "/certificate/number"));
	p->f->as = AUDITOR;
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 200);
	assert_string_equal(p->f->content_type, "application/xml");
	assert_non_null(strstr(p->f->text, "<dcc:digitalCalibrationCertificate xmlns:dcc=\"https://ptb.de/dcc\""));
	assert_non_null(strstr(p->f->text, "schemaVersion=\"3.3.0\""));
	assert_null(strstr(p->f->text, "<!-- not sealed"));
	assert_non_null(strstr(p->f->text, number));
	assert_non_null(strstr(p->f->text, "FV-301"));
	assert_non_null(strstr(p->f->text, "<dcc:countryCodeISO3166_1>GB<"));
	p->f->as = NOBODY;
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 401);
}

/* ---- the seal ---- */

static const struct seal_roots *roots(struct plant *p)
{
	const struct seal_roots *out = NULL;
	struct err err = {0};

	assert_int_equal(issuer_roots(p->f->app.issuer, p->f->app.store, &out, &err), OK);
	assert_non_null(out);
	return out;
}

static struct seal_report judged(struct plant *p)
{
	struct seal_report r;
	struct err err = {0};

	assert_int_equal(seal_verify(p->f->text, p->f->size, roots(p), NULL, &r, &err), OK);
	return r;
}

static void an_issued_certificate_carries_the_plants_seal_and_never_changes(void **state)
{
	struct plant *p = *state;
	struct seal_report first, again;

	certify(p, 1.2);
	assert_true(cJSON_IsTrue(at(p->f->answer, "/certificate/sealed")));
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 200);
	first = judged(p);
	assert_true(first.sound && first.trusted);
	assert_int_equal(first.count, 1);
	assert_string_equal(first.signature[0].name, "Harrow Vale Works");
	assert_int_equal(ask(p, "PUT", "/api/v1/settings", "{}"), 403); /* and whatever happens to the plant's name */
	fixture_sql(p->f, "UPDATE setting SET value = 'Another name' WHERE key = 'plant_name'");
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 200);
	again = judged(p);
	assert_string_equal(again.sha256, first.sha256);
	p->f->as = LEAD_ADMINISTRATOR;
	assert_int_equal(ask(p, "GET", "/api/v1/ledger?thing=test_record&field=pdf_sha256", NULL), 200);
	assert_string_equal(text_of(p, "/items/0/after/pdf_sha256"), first.sha256);
}

static void the_record_for_machines_is_sealed_and_lies_inside_the_pdf(void **state)
{
	struct plant *p = *state;
	struct dcc_report r;
	struct err err = {0};

	certify(p, 0);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 200);
	assert_non_null(memmem(p->f->text, p->f->size, "/EmbeddedFile", 13));
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 200);
	assert_int_equal(dcc_verify(p->f->text, p->f->size, roots(p), &r, &err), OK);
	assert_true(r.sound && r.trusted && r.as_written);
}

/* Another paper is a drawing, not the sealed file, and has no seal to show. */
static void a_copy_on_other_paper_is_not_the_sealed_file(void **state)
{
	struct plant *p = *state;

	certify(p, 0);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf?paper=a4", NULL), 200);
	assert_true(judged(p).sound);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf?paper=letter", NULL), 200);
	assert_false(judged(p).sound);
	assert_int_equal(judged(p).count, 0);
}

static void each_signature_becomes_a_revision_when_the_plant_wants_it_so(void **state)
{
	struct plant *p = *state;
	struct seal_report r;

	fixture_sql(p->f, "INSERT INTO setting (key, value, updated_at) VALUES ('seal_each', 'yes', 0)");
	certify(p, 0);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 200);
	r = judged(p);
	assert_true(r.sound && r.trusted);
	assert_int_equal(r.count, 3);
	assert_string_equal(r.signature[0].field, "performed");
	assert_string_equal(r.signature[0].name, "Tessa Quill");
	assert_string_equal(r.signature[1].name, "Corin Vale");
	assert_non_null(strstr(r.signature[1].reason, "Reviewed the record"));
	assert_true(r.signature[2].covers_whole_file);
}

/* ---- when sealing fails ---- */

static void expect_still_reviewed(struct plant *p, int status, const char *part, const char *advice)
{
	assert_int_equal(issue(p), status);
	expect_detail(p, part);
	look(p);
	assert_string_equal(text_of(p, "/state"), "reviewed");
	assert_true(is_null_at(p->f->answer, "/certificate"));
	assert_true(has_word(p, "/may", "issue"));
	/* whoever looks at the record next is told, and what to do */
	assert_non_null(strstr(text_of(p, "/issue_failure/sentence"), part));
	assert_non_null(strstr(text_of(p, "/issue_failure/advice"), advice));
}

static void expect_no_failure(struct plant *p)
{
	look(p);
	assert_true(is_null_at(p->f->answer, "/issue_failure"));
}

static void without_its_key_nothing_is_issued_and_with_it_all_goes_on(void **state)
{
	struct plant *p = *state;
	char from[120], to[120];
	struct err err = {0};
	struct seal_key *key;

	assert_int_equal(issuer_key(p->f->app.issuer, p->f->app.store, &key, &err), OK); /* makes it */
	issuer_free(p->f->app.issuer);
	snprintf(from, sizeof from, "%s/seal", p->f->folder);
	p->f->app.issuer = issuer_new(&(struct issuer_config){.folder = from, .program = "Loopledger test"});
	snprintf(from, sizeof from, "%s/seal/seal.pem", p->f->folder);
	snprintf(to, sizeof to, "%s/seal/away.pem", p->f->folder);
	assert_int_equal(rename(from, to), 0);
	perform(p, 0);
	review(p);
	expect_still_reviewed(p, 409, "seal.pem", "key");
	assert_int_equal(rename(to, from), 0);
	assert_int_equal(issue(p), 201);
	expect_no_failure(p);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM certificate"), 1); /* no number was lost */
}

static void where_the_server_has_its_key_is_said_to_administrators_alone(void **state)
{
	static const enum caller others[] = {TECHNICIAN, LEAD, AUDITOR};
	struct plant *p = *state;
	char folder[120], key[140];
	struct err err = {0};
	struct seal_key *opened;

	assert_int_equal(issuer_key(p->f->app.issuer, p->f->app.store, &opened, &err), OK); /* makes it */
	issuer_free(p->f->app.issuer);
	snprintf(folder, sizeof folder, "%s/seal", p->f->folder);
	snprintf(key, sizeof key, "%s/seal.pem", folder);
	p->f->app.issuer = issuer_new(&(struct issuer_config){.folder = folder, .program = "Loopledger test"});
	assert_int_equal(chmod(key, 0606), 0); /* everybody may read it: refused (docs/seal.md) */
	perform(p, 0);
	review(p);
	assert_int_equal(issue(p), 409);
	expect_detail(p, " seal/seal.pem");
	for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
		p->f->as = others[i];
		look(p);
		assert_non_null(strstr(text_of(p, "/issue_failure/sentence"), " seal/seal.pem"));
		assert_null(strstr(text_of(p, "/issue_failure/sentence"), p->f->folder));
	}
	p->f->as = LEAD_ADMINISTRATOR;
	look(p);
	assert_non_null(strstr(text_of(p, "/issue_failure/sentence"), key));
	p->f->as = TECHNICIAN;
	call_file(p->f, "/api/v1/verify", "%PDF-1.7", 8);
	expect_status(p->f, 409);
	expect_detail(p, "everybody on this machine");
	assert_null(strstr(text_of(p, "/detail"), p->f->folder));
}

/* The own certificate holds for five years (seal_key.h). */
static void an_expired_seal_issues_nothing(void **state)
{
	struct plant *p = *state;
	struct err err = {0};
	struct seal_key *key;

	assert_int_equal(issuer_key(p->f->app.issuer, p->f->app.store, &key, &err), OK);
	time_set_offset_ms(6 * 366 * 24 * 3600000LL);
	for (int i = TECHNICIAN; i < CALLERS; i++)
		fixture_sign_in(p->f, (enum caller)i);
	perform(p, 0);
	review(p);
	expect_still_reviewed(p, 422, "expired on", "valid today");
	time_set_offset_ms(0);
}

/* U+E000 is for private use: no typeface has it (The Unicode Standard, 23.5). */
static void a_character_that_cannot_be_printed_issues_nothing_and_is_named(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	review(p);
	fixture_sql(p->f, "UPDATE setting SET value = 'Works ' || char(0xe000) WHERE key = 'plant_name'");
	expect_still_reviewed(p, 422, "U+E000, which stands in \"Works \ue000", "Correct what is named");
	fixture_sql(p->f, "UPDATE setting SET value = 'Works \u03a9' WHERE key = 'plant_name'");
	assert_int_equal(issue(p), 201);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM certificate"), 1); /* no number was lost */
}

/* PRAGMA max_page_count: 1 means no more than the file takes now (sqlite.org/pragma.html). */
static enum status limit_file(struct db *db, void *context, struct err *err)
{
	const bool *full = context;
	struct stmt *q = *full ? db_stmt(db, "PRAGMA max_page_count = 1") :
				 db_stmt(db, "PRAGMA max_page_count = 1000000");
	enum status rc = stmt_step(q, err);

	stmt_done(q);
	return rc;
}

static void a_full_disk_issues_nothing_and_with_room_all_goes_on(void **state)
{
	struct plant *p = *state;
	struct err err = {0};
	bool full = true;

	perform(p, 0);
	review(p);
	assert_int_equal(store_write(p->f->app.store, limit_file, &full, &err), OK);
	expect_still_reviewed(p, 503, "the disk is full", "disk");
	expect_still_reviewed(p, 503, "the disk is full", "disk");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM certificate_file"), 0);
	full = false;
	assert_int_equal(store_write(p->f->app.store, limit_file, &full, &err), OK);
	assert_int_equal(issue(p), 201);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM certificate"), 1); /* no number was lost */
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 200);
	assert_true(judged(p).trusted);
}

static void a_time_stamp_authority_that_does_not_answer_issues_nothing(void **state)
{
	struct plant *p = *state;

	/* port 1 of this machine: nobody listens (RFC 6335: tcpmux) */
	fixture_sql(p->f,
		    "INSERT INTO setting (key, value, updated_at) VALUES ('time_stamp', 'http://127.0.0.1:1/', 0)");
	perform(p, 0);
	review(p);
	expect_still_reviewed(p, 422, "--stamp-roots", "settings");
}

static void a_plant_without_a_seal_says_so_on_each_certificate(void **state)
{
	struct plant *p = *state;
	char folder[120];

	issuer_free(p->f->app.issuer);
	snprintf(folder, sizeof folder, "%s/seal", p->f->folder);
	p->f->app.issuer = issuer_new(
		&(struct issuer_config){.folder = folder, .unsealed = true, .program = "Loopledger test"});
	certify(p, 0);
	assert_true(cJSON_IsFalse(at(p->f->answer, "/certificate/sealed")));
	assert_int_equal(record_ask(p, "GET", "/certificate.xml", NULL), 200);
	assert_non_null(strstr(p->f->text, "<!-- not sealed"));
}

/* Returned and signed again it is another matter; and what the rules forbid is no failure. */
static void a_failure_is_forgotten_when_the_record_is_signed_anew(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	p->f->as = LEAD;
	assert_int_equal(issue(p), 409);
	expect_no_failure(p);
	review(p);
	fixture_sql(p->f, "UPDATE setting SET value = 'Works ' || char(0xe000) WHERE key = 'plant_name'");
	expect_still_reviewed(p, 422, "U+E000", "Correct what is named");
	assert_int_equal(
		record_ask(p, "POST", "/return", "{\"reason\": \"Hm\", \"password\": \"" FIXTURE_PASSWORD "\"}"), 200);
	expect_no_failure(p);
	p->f->as = TECHNICIAN;
	assert_int_equal(sign(p, "performed"), 200);
	time_set_offset_ms(1000);
	review(p);
	time_set_offset_ms(0);
	expect_no_failure(p);
}

/* ---- approval ---- */

static void where_the_plant_asks_for_it_a_third_person_approves_first(void **state)
{
	struct plant *p = *state;

	fixture_sql(p->f, "INSERT INTO setting (key, value, updated_at) VALUES ('approval', 'yes', 0)");
	perform(p, 0);
	review(p);
	assert_false(has_word(p, "/may", "issue"));
	assert_false(has_word(p, "/may", "sign_approved")); /* he reviewed it */
	assert_int_equal(issue(p), 409);
	expect_detail(p, "approval");
	assert_int_equal(sign(p, "approved"), 403);
	p->f->as = TECHNICIAN_2;
	assert_int_equal(sign(p, "approved"), 403);
	p->f->as = LEAD;
	look(p);
	assert_true(has_word(p, "/may", "sign_approved"));
	assert_int_equal(sign(p, "approved"), 200);
	assert_string_equal(text_of(p, "/signatures/2/meaning"), "approved");
	assert_int_equal(sign(p, "approved"), 409);
	assert_int_equal(issue(p), 201);
}

static void a_void_record_takes_its_certificate_with_it(void **state)
{
	struct plant *p = *state;

	certify(p, 0);
	p->f->as = LEAD;
	assert_int_equal(
		record_ask(p, "POST", "/void", "{\"reason\": \"Wrong valve\", \"password\": \"" FIXTURE_PASSWORD "\"}"),
		200);
	assert_string_equal(text_of(p, "/certificate/state"), "void");
}

static void a_certified_record_never_goes_back(void **state)
{
	struct plant *p = *state;

	certify(p, 0);
	p->f->as = LEAD;
	assert_int_equal(
		record_ask(p, "POST", "/return", "{\"reason\": \"Hm\", \"password\": \"" FIXTURE_PASSWORD "\"}"), 409);
}

#define T(name) cmocka_unit_test_setup_teardown(name, plant_setup, plant_teardown)

static int labels(struct plant *p, const char *rest)
{
	char path[300];

	snprintf(path, sizeof path, "/api/v1/labels?records=%s%s", p->record, rest);
	return ask(p, "GET", path, NULL);
}

static void a_label_is_printed_only_for_a_certificate_that_stands(void **state)
{
	struct plant *p = *state;

	perform(p, 0);
	p->f->as = AUDITOR;
	assert_int_equal(labels(p, ""), 409);
	p->f->as = TECHNICIAN;
	review(p);
	assert_int_equal(issue(p), 201);
	p->f->as = AUDITOR;
	assert_int_equal(labels(p, "&paper=a5"), 422);
	expect_detail(p, "paper must be one of a4, letter, roll-62x29, roll-89x36");
	assert_int_equal(labels(p, "&paper=a4&start=27"), 200);
	assert_string_equal(p->f->content_type, "application/pdf");
	/* ISO 32000-1, 7.5.2: a file begins with this header */
	assert_memory_equal(p->f->text, "%PDF-", 5);
	fixture_sql(p->f, "UPDATE certificate SET state = 'void'");
	assert_int_equal(labels(p, "&kind=ordinary"), 409);
}

static void a_label_follows_the_newest_certificate(void **state)
{
	struct plant *p = *state;
	char first[sizeof p->record];

	certify(p, 0);
	memcpy(first, p->record, sizeof first);
	certify(p, 0);
	assert_int_equal(labels(p, ""), 200);
	memcpy(p->record, first, sizeof first);
	assert_int_equal(labels(p, ""), 409);
}

static void a_test_that_ended_outside_its_limits_gets_no_ordinary_label(void **state)
{
	struct plant *p = *state;

	certify(p, 20);
	assert_int_equal(labels(p, "&kind=ordinary"), 409);
	assert_int_equal(labels(p, ""), 200);
}

/* Somebody must answer for it: a lead states it, it is kept, and every label says it from then on. */
static void limited_use_is_a_leads_word_that_stays(void **state)
{
	static const char body[] = "{\"text\": \"Indication only\"}";
	struct plant *p = *state;

	certify(p, 0);
	assert_int_equal(labels(p, "&kind=limited"), 409);
	expect_detail(p, "nobody has stated a limitation");
	p->f->as = TECHNICIAN;
	assert_int_equal(record_ask(p, "POST", "/limitation", body), 403);
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/limitation", body), 201);
	assert_string_equal(text_of(p, "/limitation/text"), "Indication only");
	assert_string_equal(text_of(p, "/limitation/by"), "Leda Marsh");
	p->f->as = AUDITOR;
	assert_int_equal(labels(p, "&kind=limited"), 200);
	assert_int_equal(labels(p, ""), 200);
	assert_int_equal(labels(p, "&kind=ordinary"), 409);
	expect_detail(p, "Indication only");
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM ledger_entry WHERE action = 'limit'"), 1);
	fixture_sql(p->f, "UPDATE certificate SET state = 'void'");
	p->f->as = LEAD;
	assert_int_equal(record_ask(p, "POST", "/limitation", body), 409);
}

static void a_wish_for_labels_that_makes_no_sense_is_refused(void **state)
{
	struct plant *p = *state;

	certify(p, 0);
	assert_int_equal(labels(p, "&start=0"), 422);
	assert_int_equal(labels(p, "&start=28"), 422);
	assert_int_equal(labels(p, "&paper=a5"), 422);
	assert_int_equal(labels(p, ",x"), 422);
	assert_int_equal(ask(p, "GET", "/api/v1/labels", NULL), 422);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(an_issued_certificate_carries_the_plants_seal_and_never_changes),
		T(the_record_for_machines_is_sealed_and_lies_inside_the_pdf),
		T(a_copy_on_other_paper_is_not_the_sealed_file),
		T(each_signature_becomes_a_revision_when_the_plant_wants_it_so),
		T(without_its_key_nothing_is_issued_and_with_it_all_goes_on),
		T(where_the_server_has_its_key_is_said_to_administrators_alone),
		T(an_expired_seal_issues_nothing),
		T(a_character_that_cannot_be_printed_issues_nothing_and_is_named),
		T(a_full_disk_issues_nothing_and_with_room_all_goes_on),
		T(a_time_stamp_authority_that_does_not_answer_issues_nothing),
		T(a_failure_is_forgotten_when_the_record_is_signed_anew),
		T(a_plant_without_a_seal_says_so_on_each_certificate),
		T(where_the_plant_asks_for_it_a_third_person_approves_first),
		T(a_certificate_follows_the_review),
		T(numbers_carry_the_plants_prefix_and_the_year),
		T(it_is_found_by_its_number),
		T(the_pdf_is_a_pdf),
		T(a_label_is_printed_only_for_a_certificate_that_stands),
		T(a_label_follows_the_newest_certificate),
		T(a_test_that_ended_outside_its_limits_gets_no_ordinary_label),
		T(limited_use_is_a_leads_word_that_stays),
		T(a_wish_for_labels_that_makes_no_sense_is_refused),
		T(the_certificate_for_machines_is_written_from_the_record),
		T(a_void_record_takes_its_certificate_with_it),
		T(a_certified_record_never_goes_back),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
