/* An instrument found outside its limits has misled somebody since its last test: that is a case of its own, with an end. */
#include "domain/finding.h"
#include <math.h>
#include <stdio.h>
#include <string.h>
#include "base/json.h"
#include "base/text.h"
#include "base/time.h"
#include "domain/ledger.h"
#include "domain/permission.h"
#include "metrology/format.h"
#include "record_internal.h"
#include "store/signature.h"

static bool is_outside(enum verdict v)
{
	return v == VERDICT_FAIL || v == VERDICT_CONDITIONAL_FAIL;
}

static const char *shown_limits(const struct record *r, struct limits l, int decimals, struct arena *a)
{
	char low[NUMBER_TEXT_SIZE], high[NUMBER_TEXT_SIZE];
	double unit = fabs(range_span(r->instrument.output)) / 100;

	if (round_decimals(l.high + l.low, 9) == 0)
		return arena_printf(a, "±%s %%", format_number(l.high / unit, decimals, false, high));
	return arena_printf(a, "%s to %s %%", format_number(l.low / unit, decimals, true, low),
			    format_number(l.high / unit, decimals, true, high));
}

static const struct record_point *worst_of(const struct record_run *run)
{
	return &run->points[run->sum.worst < 0 ? 0 : run->sum.worst];
}

/* "PSH-4105 was found outside its limits. Acted at 16.52 bar: 0.52 bar late, limit ±0.40 bar: outside." */
static const char *switch_sentence_of(const struct record *r, struct arena *a)
{
	const struct record_run *run = &r->runs[0];
	char said[SENTENCE_SIZE];

	record_switch_reading_sentence(r, run, worst_of(run), said);
	return arena_printf(a, "%s was found outside its limits%s. %s.", r->instrument.tag,
			    run->sum.verdict == VERDICT_CONDITIONAL_FAIL ? ", within the guard band" : "", said);
}

/* "FV-301 was found outside its limits: dead band 0.45 % of the input span at 12.00 mA, at most 0.20 % allowed." */
static const char *dead_band_sentence_of(const struct record *r, struct arena *a)
{
	const struct record_run *run = &r->runs[0];
	const struct record_dead_band *d = run->dead_band;
	char value[NUMBER_TEXT_SIZE], limit[NUMBER_TEXT_SIZE], input[NUMBER_TEXT_SIZE];
	int decimals = record_dead_band_decimals(run);

	return arena_printf(
		a,
		"%s was found outside its limits: dead band %s %% of the input span at %s %s, at most %s %% allowed.",
		r->instrument.tag, format_number(d->worst->value_percent, decimals, false, value),
		format_number(d->worst->set, r->input_decimals, false, input), r->instrument.input_unit,
		format_number(d->limit_percent, decimals, false, limit));
}

/* "FV-301 was found outside its limits: +3.62 % of span at 12.00 mA rising, limit ±3.00 %." */
static const char *sentence_of(const struct record *r, struct arena *a)
{
	const struct record_run *run = &r->runs[0];
	const struct record_point *p = worst_of(run);
	char error[NUMBER_TEXT_SIZE], input[NUMBER_TEXT_SIZE];
	int decimals;

	if (run->switched)
		return switch_sentence_of(r, a);
	if (run->sum.failed == 0 && run->dead_band)
		return dead_band_sentence_of(r, a);
	decimals = judged_percent_decimals(&p->judged, r->instrument.output, 2);
	return arena_printf(
		a, "%s was found outside its limits%s: %s %% of span at %s %s %s, limit %s.", r->instrument.tag,
		run->sum.verdict == VERDICT_CONDITIONAL_FAIL ? ", within the guard band" : "",
		format_number(p->judged.error_percent, decimals, true, error),
		format_number(p->reading.applied, r->input_decimals, false, input), r->instrument.input_unit,
		p->at.direction == RISING ? "rising" : "falling", shown_limits(r, p->judged.limits, decimals, a));
}

static enum status note_finding(struct db *db, const struct actor *actor, const char *action, const char *id,
				const char *label, json_t *before, json_t *after, struct err *err)
{
	struct ledger_note note = {
		.action = action, .thing = "finding", .thing_id = id, .label = label, .before = before, .after = after};
	enum status rc = ledger_add(db, actor, &note, err);

	json_decref(before);
	json_decref(after);
	return rc;
}

static enum status open_finding(struct db *db, const struct actor *actor, const struct record *r, const char *sentence,
				const char *label, struct err *err)
{
	char id[UUID_SIZE];
	struct finding f = {.id = id,
			    .test_record_id = r->id,
			    .run_kind = "as_found",
			    .sentence = sentence,
			    .opened_at = time_now_ms()};
	enum status rc;

	uuid7(id);
	rc = store_finding_add(db, &f, err);
	if (rc)
		return rc;
	return note_finding(db, actor, "add", id, label, NULL,
			    json_pack("{s:s, s:s}", "record", r->number, "sentence", sentence), err);
}

static enum status reword(struct db *db, const struct actor *actor, const struct record *r, const char *sentence,
			  const char *label, struct err *err)
{
	enum status rc;

	if (!strcmp(sentence, r->finding_sentence))
		return OK;
	rc = store_finding_set_sentence(db, r->finding_id, sentence, err);
	if (rc)
		return rc;
	return note_finding(db, actor, "change", r->finding_id, label,
			    json_pack("{s:s}", "sentence", r->finding_sentence),
			    json_pack("{s:s}", "sentence", sentence), err);
}

enum status finding_follow_record(struct db *db, const struct actor *actor, const struct record *r, struct arena *a,
				  struct err *err)
{
	const char *label = arena_printf(a, "%s %s", r->number, r->instrument.tag), *sentence;
	bool open = r->finding_state && !strcmp(r->finding_state, "open");

	if (!is_outside(r->runs[0].sum.verdict))
		return finding_withdraw(db, actor, r, "signed again: inside its limits as found", a, err);
	sentence = sentence_of(r, a);
	if (!label || !sentence)
		return err_set(err, NO_MEMORY, "", "out of memory");
	if (open)
		return reword(db, actor, r, sentence, label, err);
	return open_finding(db, actor, r, sentence, label, err);
}

enum status finding_withdraw(struct db *db, const struct actor *actor, const struct record *r, const char *why,
			     struct arena *a, struct err *err)
{
	const char *disposition = arena_printf(a, "%s %s", r->number, why);
	const char *label = arena_printf(a, "%s %s", r->number, r->instrument.tag);
	enum status rc;

	if (!r->finding_state || strcmp(r->finding_state, "open") != 0)
		return OK;
	if (!disposition || !label)
		return err_set(err, NO_MEMORY, "", "out of memory");
	rc = store_finding_close(db, r->finding_id, disposition, actor->person_id, time_now_ms(), err);
	if (rc)
		return rc;
	return note_finding(db, actor, "close", r->finding_id, label, NULL,
			    json_pack("{s:s}", "disposition", disposition), err);
}

static enum status sign_closing(struct db *db, const struct actor *actor, const struct finding *f,
				const char *disposition, struct arena *a, struct err *err)
{
	char hash[SHA256_HEX_SIZE];
	struct signature s = {.finding_id = f->id,
			      .meaning = "closed",
			      .person_id = actor->person_id,
			      .name = actor->name,
			      .role = role_word(ROLE_LEAD),
			      .reason = disposition,
			      .content_sha256 = hash,
			      .at = time_now_ms()};
	json_t *shown = json_pack("{s:s, s:s, s:s}", "id", f->id, "sentence", f->sentence, "disposition", disposition);
	char *canonical = shown ? json_canonical(shown, a) : NULL;

	json_decref(shown);
	if (!canonical)
		return err_set(err, NO_MEMORY, "", "out of memory");
	sha256_hex(canonical, strlen(canonical), hash);
	return store_signature_add(db, &s, err);
}

enum status finding_close(struct db *db, const struct actor *actor, const char *id, const char *disposition,
			  struct arena *a, struct err *err)
{
	struct record_summary of;
	struct finding f;
	const char *label;
	enum status rc;

	if (!permission_granted(actor->roles, PERM_REVIEW))
		return err_set(err, FORBIDDEN, "", "only a lead closes a finding");
	rc = store_finding_get(db, id, a, &f, err);
	if (!rc)
		rc = store_record_summary(db, f.test_record_id, a, &of, err);
	if (rc)
		return rc;
	if (!strcmp(f.state, "closed"))
		return err_set(err, CONFLICT, "", "this finding is closed already");
	label = arena_printf(a, "%s %s", of.number, of.tag);
	rc = store_finding_close(db, id, disposition, actor->person_id, time_now_ms(), err);
	if (!rc)
		rc = sign_closing(db, actor, &f, disposition, a, err);
	if (!rc)
		rc = note_finding(db, actor, "close", id, label, json_pack("{s:s}", "state", "open"),
				  json_pack("{s:s, s:s}", "state", "closed", "disposition", disposition), err);
	return rc;
}
