/* Signatures on a test and what they set off: verdicts, due date, finding, certificate. */
#include "domain/record_sign.h"
#include <math.h>
#include <stdio.h>
#include <string.h>
#include "base/text.h"
#include "base/time.h"
#include "domain/ledger.h"
#include "domain/permission.h"
#include "domain/schedule.h"
#include "domain/setting.h"
#include "record_internal.h"
#include "store/limitation.h"
#include "store/certificate.h"
#include "store/counter.h"
#include "store/signature.h"

struct signing {
	struct db *db;
	const struct actor *actor;
	struct arena *a;
	struct err *err;
	struct record r;
};

/* In which role a person signs: the least that allows it. */
static const char *signing_role(const struct actor *actor, enum permission needs)
{
	static const enum role ladder[] = {ROLE_TECHNICIAN, ROLE_LEAD, ROLE_ADMINISTRATOR, ROLE_AUDITOR};

	for (size_t i = 0; i < 4; i++)
		if ((actor->roles & (int)ladder[i]) && permission_granted((int)ladder[i], needs))
			return role_word(ladder[i]);
	return "";
}

static enum status begin(struct signing *s, const char *id, enum permission needs, const char *what)
{
	if (!permission_granted(s->actor->roles, needs))
		return err_set(s->err, FORBIDDEN, "", "you may not %s", what);
	return record_load(s->db, id, s->a, &s->r, s->err);
}

static enum status add_signature(struct signing *s, const char *meaning, enum permission needs, const char *reason)
{
	struct signature row = {.test_record_id = s->r.id,
				.meaning = meaning,
				.person_id = s->actor->person_id,
				.name = s->actor->name,
				.role = signing_role(s->actor, needs),
				.reason = reason ? reason : "",
				.content_sha256 = s->r.content_sha256,
				.at = time_now_ms()};

	return store_signature_add(s->db, &row, s->err);
}

static enum status note(struct signing *s, const char *action, const char *reason, const char *state, json_t *more)
{
	json_t *after = json_pack("{s:s, s:s}", "state", state, "content_sha256", s->r.content_sha256);

	if (more)
		json_object_update(after, more);
	json_decref(more);
	return record_note(s->db, s->actor, &s->r, action, reason,
			   json_pack("{s:s}", "state", record_state_word(s->r.state)), after, s->err);
}

static enum status must_be_as_shown(const struct signing *s, const char *content_sha256)
{
	if (!strcmp(s->r.content_sha256, content_sha256))
		return OK;
	return err_set(s->err, CONFLICT, "/content_sha256",
		       "the record changed since it was shown: look at it again, then sign");
}

static enum status set_performed(struct signing *s, int64_t now)
{
	const struct record *r = &s->r;
	struct record_outcome o = {.verdict_as_found = verdict_word(r->runs[0].sum.verdict),
				   .worst_as_found = r->runs[0].sum.max_error,
				   .worst_as_left = NAN,
				   .content_sha256 = r->content_sha256,
				   .performed_at = now};

	if (r->n_runs > 1) {
		o.verdict_as_left = verdict_word(r->runs[1].sum.verdict);
		o.worst_as_left = r->runs[1].sum.max_error;
	}
	return store_record_set_performed(s->db, r->id, &o, s->err);
}

static enum status perform(struct signing *s, const char *content_sha256, const char *remark)
{
	int64_t now = time_now_ms();
	enum status rc = record_must_be_open(&s->r, s->err);

	if (!rc)
		rc = record_must_have_done(&s->r, PHASE_SIGN, s->err);
	if (!rc)
		rc = must_be_as_shown(s, content_sha256);
	if (!rc)
		rc = add_signature(s, "performed", PERM_TEST, remark);
	if (!rc)
		rc = set_performed(s, now);
	if (!rc && s->r.schedule_id && record_left_inside(&s->r))
		rc = schedule_tested(s->db, s->actor, s->r.schedule_id, date_of_time(now), s->r.number, s->a, s->err);
	if (!rc)
		rc = finding_follow_record(s->db, s->actor, &s->r, s->a, s->err);
	if (!rc)
		rc = note(s, "sign", remark, "performed",
			  json_pack("{s:s, s:s}", "meaning", "performed", "verdict_as_found",
				    verdict_word(s->r.runs[0].sum.verdict)));
	return rc;
}

enum status record_sign_performed(struct db *db, const struct actor *actor, const char *id, const char *content_sha256,
				  const char *remark, struct arena *a, struct err *err)
{
	struct signing s = {.db = db, .actor = actor, .a = a, .err = err};
	enum status rc = begin(&s, id, PERM_TEST, "sign a test as performed");

	return rc ? rc : perform(&s, content_sha256, remark);
}

static enum status must_wait_for_review(const struct signing *s)
{
	const struct record_signature *by = record_performer(&s->r);

	if (s->r.state != RECORD_PERFORMED)
		return err_set(s->err, CONFLICT, "", "%s is not waiting for review: it is %s", s->r.number,
			       record_state_word(s->r.state));
	if (by && !strcmp(by->person_id, s->actor->person_id))
		return err_set(s->err, FORBIDDEN, "", "you performed this test: another person reviews it");
	return OK;
}

/* The second person signs for what the first one saw, or not at all. */
static enum status must_be_as_performed(const struct signing *s)
{
	struct test_record row;
	enum status rc = store_record_get(s->db, s->r.id, s->a, &row, s->err);

	if (rc)
		return rc;
	if (row.content_sha256 && !strcmp(row.content_sha256, s->r.content_sha256))
		return OK;
	return err_set(s->err, CONFLICT, "",
		       "%s is no longer what was signed as performed: return it and look into the ledger", s->r.number);
}

static enum status review(struct signing *s, const char *content_sha256, const char *remark)
{
	enum status rc = must_wait_for_review(s);

	if (!rc)
		rc = must_be_as_performed(s);
	if (!rc)
		rc = must_be_as_shown(s, content_sha256);
	if (!rc)
		rc = add_signature(s, "reviewed", PERM_REVIEW, remark);
	if (!rc)
		rc = store_record_set_state(s->db, s->r.id, "reviewed", 0, s->err);
	if (!rc)
		rc = note(s, "sign", remark, "reviewed", json_pack("{s:s}", "meaning", "reviewed"));
	return rc;
}

enum status record_sign_reviewed(struct db *db, const struct actor *actor, const char *id, const char *content_sha256,
				 const char *remark, struct arena *a, struct err *err)
{
	struct signing s = {.db = db, .actor = actor, .a = a, .err = err};
	enum status rc = begin(&s, id, PERM_REVIEW, "sign a test as reviewed");

	return rc ? rc : review(&s, content_sha256, remark);
}

static bool signed_by(const struct record_signature *by, const struct actor *actor)
{
	return by && !strcmp(by->person_id, actor->person_id);
}

static enum status approve(struct signing *s, const char *content_sha256, const char *remark)
{
	enum status rc = must_be_as_performed(s);

	if (s->r.state != RECORD_REVIEWED)
		return err_set(s->err, CONFLICT, "", "an approval follows the review: %s is %s", s->r.number,
			       record_state_word(s->r.state));
	if (record_approver(&s->r))
		return err_set(s->err, CONFLICT, "", "%s is approved already", s->r.number);
	if (signed_by(record_performer(&s->r), s->actor) || signed_by(record_reviewer(&s->r), s->actor))
		return err_set(s->err, FORBIDDEN, "",
			       "you performed or reviewed this test: another person approves it");
	if (!rc)
		rc = must_be_as_shown(s, content_sha256);
	if (!rc)
		rc = add_signature(s, "approved", PERM_REVIEW, remark);
	if (!rc) /* the state stays, but what was read before is no longer all of it */
		rc = store_record_set_state(s->db, s->r.id, "reviewed", 0, s->err);
	if (!rc)
		rc = note(s, "sign", remark, "reviewed", json_pack("{s:s}", "meaning", "approved"));
	return rc;
}

enum status record_sign_approved(struct db *db, const struct actor *actor, const char *id, const char *content_sha256,
				 const char *remark, struct arena *a, struct err *err)
{
	struct signing s = {.db = db, .actor = actor, .a = a, .err = err};
	enum status rc = begin(&s, id, PERM_REVIEW, "sign a test as approved");

	return rc ? rc : approve(&s, content_sha256, remark);
}

/* The test no longer counts. An amendment in hand has moved no due date; one that was issued stands for the first test. */
static enum status take_back_due_date(struct signing *s, const char *why)
{
	struct first_test test;
	const char *reason = arena_printf(s->a, "%s was %s", s->r.number, why);
	enum status rc;

	if (!s->r.performed_at || !record_left_inside(&s->r) || (s->r.amends && !s->r.certificate_number))
		return OK;
	if (!reason)
		return err_set(s->err, NO_MEMORY, "", "out of memory");
	rc = store_record_first_test(s->db, s->r.id, s->a, &test, s->err);
	if (rc || !test.schedule_id)
		return rc;
	return schedule_taken_back(s->db, s->actor, test.schedule_id, date_of_time(test.performed_at), reason, s->a,
				   s->err);
}

static enum status give_back(struct signing *s, const char *reason)
{
	enum status rc;

	if (s->r.state != RECORD_PERFORMED && s->r.state != RECORD_REVIEWED)
		return err_set(s->err, CONFLICT, "", "%s cannot be returned: it is %s", s->r.number,
			       record_state_word(s->r.state));
	rc = add_signature(s, "returned", PERM_REVIEW, reason);
	if (!rc) /* which reads when it was performed */
		rc = take_back_due_date(s, "returned");
	if (!rc)
		rc = store_record_set_returned(s->db, s->r.id, s->err);
	if (!rc)
		rc = note(s, "return", reason, "returned", NULL);
	return rc;
}

/* One test of a schedule is in hand at a time; a second one opened meanwhile would clash with the one coming back. */
static enum status must_be_alone(const struct signing *s)
{
	struct schedule schedule;
	enum status rc;

	if (!s->r.schedule_id)
		return OK;
	rc = store_schedule_get(s->db, s->r.schedule_id, s->a, &schedule, s->err);
	if (rc || !schedule.open_record_id)
		return rc;
	return err_set(s->err, CONFLICT, "", "%s of the same schedule is in hand: finish or void it first",
		       schedule.open_record_number);
}

enum status record_return(struct db *db, const struct actor *actor, const char *id, const char *reason, struct arena *a,
			  struct err *err)
{
	struct signing s = {.db = db, .actor = actor, .a = a, .err = err};
	enum status rc = begin(&s, id, PERM_REVIEW, "return a test");

	if (!rc)
		rc = must_be_alone(&s);
	return rc ? rc : give_back(&s, reason);
}

static enum status make_void(struct signing *s, const char *reason)
{
	enum status rc;

	if (s->r.state == RECORD_VOID)
		return err_set(s->err, CONFLICT, "", "%s is void already", s->r.number);
	if (s->r.certificate_replaced_by)
		return err_set(s->err, CONFLICT, "", "%s was amended and no longer stands: make %s void",
			       s->r.certificate_number, s->r.certificate_replaced_by);
	rc = add_signature(s, "voided", PERM_MANAGE, reason);
	if (!rc)
		rc = store_record_set_state(s->db, s->r.id, "void", time_now_ms(), s->err);
	if (!rc && s->r.certificate_number)
		rc = store_certificate_set_state(s->db, s->r.certificate_number, "void", reason, NULL, s->err);
	if (!rc)
		rc = take_back_due_date(s, "made void");
	if (!rc)
		rc = finding_withdraw(s->db, s->actor, &s->r, "was made void", s->a, s->err);
	if (!rc)
		rc = note(s, "void", reason, "void", NULL);
	return rc;
}

enum status record_void(struct db *db, const struct actor *actor, const char *id, const char *reason, struct arena *a,
			struct err *err)
{
	struct signing s = {.db = db, .actor = actor, .a = a, .err = err};
	enum status rc = begin(&s, id, PERM_MANAGE, "make a test void");

	return rc ? rc : make_void(&s, reason);
}

static enum status load_for_limitation(struct db *db, const struct actor *actor, const char *id, struct arena *a,
				       struct record *r, struct err *err)
{
	enum status rc = record_load(db, id, a, r, err);

	if (rc)
		return rc;
	if (!permission_granted(actor->roles, PERM_REVIEW))
		return err_set(err, FORBIDDEN, "", "you may not limit the use of an instrument");
	if (!r->certificate_state || strcmp(r->certificate_state, "current") != 0)
		return err_set(err, CONFLICT, "", "a limitation follows from a certificate that stands: %s has none",
			       r->number);
	return OK;
}

enum status record_lift_limitation(struct db *db, const struct actor *actor, const char *id, const char *reason,
				   struct arena *a, struct err *err)
{
	struct record r;
	enum status rc = load_for_limitation(db, actor, id, a, &r, err);

	if (rc)
		return rc;
	if (!r.limitation)
		return err_set(err, CONFLICT, "", "%s has no limitation to lift", r.number);
	rc = store_limitation_lift(db, id, err);
	return rc ? rc :
		    record_note(db, actor, &r, "lift", reason, json_pack("{s:s}", "limitation", r.limitation),
				json_pack("{s:n}", "limitation"), err);
}

enum status record_limit(struct db *db, const struct actor *actor, const char *id, const char *text, struct arena *a,
			 struct err *err)
{
	struct limitation row = {.text = text, .person_id = actor->person_id, .at = time_now_ms()};
	struct record r;
	enum status rc = load_for_limitation(db, actor, id, a, &r, err);

	if (rc)
		return rc;
	rc = store_limitation_add(db, id, &row, err);
	return rc ? rc :
		    record_note(db, actor, &r, "limit", "",
				r.limitation ? json_pack("{s:s}", "limitation", r.limitation) : NULL,
				json_pack("{s:s}", "limitation", text), err);
}
