#include "domain/certificate.h"
#include <stdio.h>
#include <string.h>
#include "base/text.h"
#include "base/time.h"
#include "domain/ledger.h"
#include "domain/permission.h"
#include "domain/schedule.h"
#include "domain/setting.h"
#include "record_internal.h"
#include "store/counter.h"
#include "store/test_record.h"

/* The certificate that it amends still stands: it was not made void meanwhile. */
static enum status must_have_what_it_amends(struct db *db, const struct record *r, struct arena *a, struct err *err)
{
	struct certificate c;
	enum status rc = store_certificate_get(db, r->amends, a, &c, err);

	if (!rc && strcmp(c.state, "current") != 0)
		return err_set(err, CONFLICT, "", "%s no longer stands, so there is nothing to amend: it is %s",
			       c.number, c.state);
	return rc;
}

static enum status must_be_ready(struct db *db, const struct record *r, struct arena *a, struct err *err)
{
	struct settings settings;
	struct test_record row;
	enum status rc;

	if (r->state == RECORD_CERTIFIED)
		return err_set(err, CONFLICT, "", "%s has its certificate: %s", r->number, r->certificate_number);
	if (r->state != RECORD_REVIEWED)
		return err_set(err, CONFLICT, "", "a certificate follows the review: %s is %s", r->number,
			       record_state_word(r->state));
	rc = store_record_get(db, r->id, a, &row, err);
	if (!rc && (!row.content_sha256 || strcmp(row.content_sha256, r->content_sha256) != 0))
		return err_set(err, CONFLICT, "",
			       "%s is no longer what was signed as performed: return it and look into the ledger",
			       r->number);
	if (!rc)
		rc = settings_get(db, a, &settings, err);
	if (!rc && settings.approval && !record_approver(r))
		return err_set(err, CONFLICT, "", "this plant asks for an approval before a certificate: %s has none",
			       r->number);
	return rc || !r->amends ? rc : must_have_what_it_amends(db, r, a, err);
}

static enum status new_number(struct db *db, struct arena *a, char number[64], struct err *err)
{
	char series[32], year[DATE_TEXT_SIZE];
	struct settings settings;
	int64_t n;
	enum status rc;

	date_to_text(date_today(), year);
	year[4] = '\0';
	snprintf(series, sizeof series, "certificate-%s", year);
	rc = store_counter_next(db, series, &n, err);
	if (!rc)
		rc = settings_get(db, a, &settings, err);
	if (!rc)
		snprintf(number, 64, "%.40s-%s-%04lld", settings.certificate_prefix, year, (long long)n);
	return rc;
}

/* The number of the first of them, without the suffix of an amendment. */
static enum status amended_number(struct db *db, const char *amends, char number[64], struct err *err)
{
	const char *suffix = strrchr(amends, '-'); /* "-A1"; the number proper ends with digits alone */
	int length = suffix && suffix[1] == 'A' ? (int)(suffix - amends) : (int)strlen(amends);
	char first[64];
	int64_t n;
	enum status rc;

	snprintf(first, sizeof first, "%.*s", length, amends);
	rc = store_certificate_amendments(db, first, &n, err);
	if (!rc)
		snprintf(number, 64, "%.50s-A%d", first, (int)(n + 1));
	return rc;
}

static enum status keep_number(struct db *db, const struct actor *actor, const struct record *r, struct arena *a,
			       char number[64], struct err *err)
{
	struct certificate c;
	enum status rc = store_certificate_reserved(db, r->id, a, &c, err);

	if (!rc)
		snprintf(number, 64, "%s", c.number);
	if (rc != NOT_FOUND)
		return rc;
	rc = r->amends ? amended_number(db, r->amends, number, err) : new_number(db, a, number, err);
	c = (struct certificate){.number = number,
				 .test_record_id = r->id,
				 .issued_by = actor->person_id,
				 .issued_at = time_now_ms(),
				 .state = "preparing"};
	return rc ? rc : store_certificate_add(db, &c, err);
}

enum status certificate_reserve(struct db *db, const struct actor *actor, const char *record_id, struct arena *a,
				struct certificate_reservation *out, struct err *err)
{
	struct record r;
	enum status rc;

	if (!permission_granted(actor->roles, PERM_REVIEW))
		return err_set(err, FORBIDDEN, "", "you may not issue a certificate");
	rc = record_load(db, record_id, a, &r, err);
	if (rc)
		return rc;
	rc = must_be_ready(db, &r, a, err);
	if (!rc)
		rc = keep_number(db, actor, &r, a, out->number, err);
	out->version = r.version;
	return rc;
}

/* The test was done once: its due date moves, or goes back, only where the amendment says otherwise how it was left. */
static enum status follow_due_date(struct db *db, const struct actor *actor, const struct record *before,
				   const struct record *now, struct arena *a, struct err *err)
{
	bool was = record_left_inside(before), is = record_left_inside(now);
	const char *reason = arena_printf(a, "%s, an amendment", now->number);
	struct first_test test;
	int32_t day;
	enum status rc;

	if (was == is)
		return OK;
	if (!reason)
		return err_set(err, NO_MEMORY, "", "out of memory");
	rc = store_record_first_test(db, now->id, a, &test, err);
	if (rc || !test.schedule_id)
		return rc;
	day = date_of_time(test.performed_at);
	return is ? schedule_tested_after_all(db, actor, test.schedule_id, day, reason, a, err) :
		    schedule_taken_back(db, actor, test.schedule_id, day, reason, a, err);
}

/* The certificate before this one: marked wherever it is shown, and its finding gives way to the one of this record. */
static enum status mark_amended(struct db *db, const struct actor *actor, const struct record *r, const char *number,
				struct arena *a, struct err *err)
{
	struct record before;
	enum status rc;

	if (!r->amends)
		return OK;
	rc = store_certificate_set_state(db, r->amends, "amended", r->amendment_reason, number, err);
	if (!rc)
		rc = record_load(db, r->amends_record, a, &before, err);
	if (!rc)
		rc = finding_withdraw(db, actor, &before, "was amended", a, err);
	return rc ? rc : follow_due_date(db, actor, &before, r, a, err);
}

static enum status keep_files(struct db *db, const struct certificate_file *files, char pdf[SHA256_HEX_SIZE],
			      char xml[SHA256_HEX_SIZE], struct err *err)
{
	sha256_hex(files->pdf, files->pdf_size, pdf);
	sha256_hex(files->xml, files->xml_size, xml);
	return store_certificate_file_add(db, files, err);
}

static enum status note_issue(struct db *db, const struct actor *actor, const struct record *r,
			      const struct certificate *c, struct err *err)
{
	json_t *after = json_pack("{s:s, s:s, s:s, s:o, s:o}", "state", "certified", "content_sha256",
				  r->content_sha256, "certificate_number", c->number, "pdf_sha256",
				  json_text_or_null(c->pdf_sha256), "xml_sha256", json_text_or_null(c->xml_sha256));

	if (r->amends)
		json_object_set_new(after, "amends", json_string(r->amends));
	return record_note(db, actor, r, "issue", r->amends ? r->amendment_reason : "",
			   json_pack("{s:s}", "state", record_state_word(r->state)), after, err);
}

static enum status issue(struct db *db, const struct actor *actor, const struct record *r,
			 const struct certificate_reservation *reservation, int64_t at,
			 const struct certificate_file *files, struct arena *a, struct err *err)
{
	char pdf[SHA256_HEX_SIZE], xml[SHA256_HEX_SIZE];
	struct certificate c = {.number = reservation->number,
				.issued_by = actor->person_id,
				.issued_at = at,
				.sealed = files != NULL,
				.pdf_sha256 = files ? pdf : NULL,
				.xml_sha256 = files ? xml : NULL};
	enum status rc = files ? keep_files(db, files, pdf, xml, err) : OK;

	if (!rc)
		rc = store_certificate_issue(db, &c, err);
	if (!rc)
		rc = mark_amended(db, actor, r, c.number, a, err);
	if (!rc)
		rc = store_record_set_state(db, r->id, "certified", at, err);
	return rc ? rc : note_issue(db, actor, r, &c, err);
}

enum status certificate_issue(struct db *db, const struct actor *actor, const char *record_id,
			      const struct certificate_reservation *reservation, int64_t at,
			      const struct certificate_file *files, struct arena *a, struct err *err)
{
	struct record r = {0};
	enum status rc = record_load(db, record_id, a, &r, err);

	if (rc)
		return rc;
	rc = must_be_ready(db, &r, a, err);
	if (!rc && r.version != reservation->version)
		rc = err_set(err, CONFLICT, "", "%s changed while its certificate was made; issue it again", r.number);
	if (!rc)
		rc = issue(db, actor, &r, reservation, at, files, a, err);
	return rc;
}

enum status certificate_issue_unsealed(struct db *db, const struct actor *actor, const char *record_id, struct arena *a,
				       struct err *err)
{
	struct certificate_reservation reservation = {0};
	enum status rc = certificate_reserve(db, actor, record_id, a, &reservation, err);

	return rc ? rc : certificate_issue(db, actor, record_id, &reservation, time_now_ms(), NULL, a, err);
}

enum status certificate_seal(struct db *db, const struct actor *actor, const struct certificate_file *files,
			     struct arena *a, struct err *err)
{
	char pdf[SHA256_HEX_SIZE], xml[SHA256_HEX_SIZE];
	struct ledger_note note = {.action = "seal", .thing = "certificate", .label = files->number};
	struct certificate c;
	enum status rc = store_certificate_get(db, files->number, a, &c, err);

	if (!rc && c.sealed)
		rc = err_set(err, CONFLICT, "", "%s is sealed already", c.number);
	if (!rc)
		rc = keep_files(db, files, pdf, xml, err);
	if (!rc)
		rc = store_certificate_set_sealed(db, c.number, pdf, xml, err);
	if (rc)
		return rc;
	note.thing_id = c.test_record_id;
	note.after = json_pack("{s:s, s:s}", "pdf_sha256", pdf, "xml_sha256", xml);
	rc = ledger_add(db, actor, &note, err);
	json_decref(note.after);
	return rc;
}
