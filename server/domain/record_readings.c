/*
 * Readings, one at a time and in the order of the points, each safe on disk before the technician sees the next point.
 * A row that was taken back stays, marked; the ledger tells both.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include "base/json.h"
#include "base/log.h"
#include "base/text.h"
#include "base/time.h"
#include "domain/record_edit.h"
#include "metrology/format.h"
#include "record_internal.h"
#include "register.h"

#define FAR_SPANS      10 /* a reading further off than this many spans is a slip of the keyboard or of the unit */
#define CLOCK_AHEAD_MS (24 * 3600 * 1000LL) /* how far a tablet's clock may be ahead */

static enum status must_take_turns(const struct record *r, const struct new_reading *n, struct err *err)
{
	const struct record_run *run = record_run_in_hand(r);
	enum status rc = record_must_have_done(r, PHASE_AS_FOUND, err);

	if (rc)
		return rc;
	if (n->run == RUN_AS_LEFT && r->adjusted != 1)
		return err_set(err, CONFLICT, "/run",
			       "as-left readings follow an adjustment: first say that one was made");
	if (n->run == RUN_AS_FOUND && run->kind == RUN_AS_LEFT)
		return err_set(err, CONFLICT, "/run", "the as-found run ended when the adjustment was made");
	return OK;
}

static enum status must_be_next(const struct record *r, const struct record_run *run, size_t point, struct err *err)
{
	char set[NUMBER_TEXT_SIZE];
	size_t next = 0;

	if (point >= run->n_points)
		return err_set(err, INVALID, "/point", "the run has points 0 to %zu", run->n_points - 1);
	if (run->points[point].read)
		return err_set(err, CONFLICT, "/point", "point %zu has a reading; take it back first", point);
	while (next < run->n_points && run->points[next].read)
		next++;
	if (point == next)
		return OK;
	return err_set(err, CONFLICT, "/point", "the next point is %zu: %s %s, %s", next,
		       format_number(run->points[next].at.set, r->input_decimals, false, set), r->instrument.input_unit,
		       run->points[next].at.direction == RISING ? "rising" : "falling");
}

static enum status must_be_near(double v, struct range range, const char *unit, const char *pointer, int decimals,
				struct err *err)
{
	double span = fabs(range_span(range)), low = fmin(range.low, range.high), high = fmax(range.low, range.high);
	char shown[NUMBER_TEXT_SIZE], from[NUMBER_TEXT_SIZE], to[NUMBER_TEXT_SIZE];

	if (v >= low - FAR_SPANS * span && v <= high + FAR_SPANS * span)
		return OK;
	return err_set(err, INVALID, pointer, "%s is far outside %s to %s %s: check the unit",
		       format_number(v, decimals, false, shown),
		       format_number(low, decimals_for(span / 100), false, from),
		       format_number(high, decimals_for(span / 100), false, to), unit);
}

/* The set point as a reference would show it, with a plain minus: what was applied when nothing else is said. */
static void set_point_text(const struct record *r, double set, char out[NUMBER_TEXT_SIZE])
{
	static const char minus[] = "\xe2\x88\x92";

	format_number(set, r->input_decimals, false, out);
	if (!strncmp(out, minus, sizeof minus - 1)) {
		out[0] = '-';
		memmove(out + 1, out + sizeof minus - 1, strlen(out + sizeof minus - 1) + 1);
	}
}

static enum status must_make_sense(const struct record *r, const struct stored_reading *row, struct err *err)
{
	const struct frozen_instrument *i = &r->instrument;
	int applied_decimals = decimals_of_text(row->applied_text),
	    observed_decimals = decimals_of_text(row->observed_text);
	enum status rc;

	if (applied_decimals < 0 && !record_is_switch(r))
		return err_set(err, INVALID, "/applied", "applied must be a plain decimal number");
	if (observed_decimals < 0)
		return err_set(err, INVALID, "/observed", "observed must be a plain decimal number");
	rc = record_is_switch(r) ?
		     OK :
		     must_be_near(row->applied, i->input, i->input_unit, "/applied", applied_decimals, err);
	if (!rc)
		rc = must_be_near(row->observed, i->output, i->output_unit, "/observed", observed_decimals, err);
	if (!rc && !isfinite(characteristic_forward(&i->characteristic, i->input, i->output, row->applied)))
		rc = err_set(err, INVALID, "/applied", "the characteristic of %s has no output at this input", i->tag);
	if (!rc && row->taken_at > row->received_at + CLOCK_AHEAD_MS)
		rc = err_set(err, INVALID, "/taken_at", "taken_at lies in the future");
	return rc;
}

static enum verdict verdict_on(const struct record *r, const struct record_run *run, const struct reading *one)
{
	const struct frozen_instrument *i = &r->instrument;
	struct test_setup setup = {.input = i->input,
				   .output = i->output,
				   .characteristic = i->characteristic,
				   .tolerance = *run->tolerance,
				   .decision = r->procedure.decision,
				   .error_at = procedure_judged_step(&r->procedure)->error_at};
	struct judged_reading judged;
	struct evaluation sum;

	evaluate(&setup, one, 1, &judged, &sum);
	return judged.verdict;
}

/* The server judges by itself; a tablet whose core says otherwise is a bug that must not stay hidden: it goes to the log and into
 * the ledger, and the record shows both verdicts. Returns the server's verdict where the two differ, else NULL. */
static const char *differing_verdict(const struct record *r, const struct record_run *run,
				     const struct stored_reading *row)
{
	struct record_run with = *run; /* as it will be */
	struct record_point *p = &with.points[row->point], before = *p;
	enum verdict verdict;

	if (!row->client_verdict)
		return NULL;
	p->reading.applied = row->applied;
	p->reading.observed = row->observed;
	p->reading.u = record_uncertainty_at(r, row->applied, decimals_of_text(row->applied_text),
					     decimals_of_text(row->observed_text));
	p->read = true;
	verdict = run->switched ? record_switch_verdict_on(&with, (size_t)row->point) : verdict_on(r, run, &p->reading);
	*p = before;
	if (!strcmp(verdict_word(verdict), row->client_verdict))
		return NULL;
	log_error("record %s point %d: the tablet's core says %s, the server's %s", r->number, row->point,
		  row->client_verdict, verdict_word(verdict));
	return verdict_word(verdict);
}

/* verdict: the server's, where it differs from the tablet's; else NULL, and neither is told. */
static json_t *reading_json(const struct record_run *run, const struct stored_reading *row, const char *verdict)
{
	char taken[TIME_TEXT_SIZE];

	time_to_text(row->taken_at, taken);
	return json_pack("{s:s, s:s, s:i, s:i, s:f, s:s, s:i, s:s, s:s, s:s, s:s*, s:s*, s:o*}", "id", row->id, "run",
			 run_kind_word(run->kind), "attempt", run->attempt, "point", row->point, "set", row->set,
			 "direction", row->direction, "cycle", row->cycle, "applied", row->applied_text, "observed",
			 row->observed_text, "taken_at", taken, "verdict", verdict, "client_verdict",
			 verdict ? row->client_verdict : NULL, "captured",
			 row->captured_json ? register_json(row->captured_json) : NULL);
}

static void fill_row(struct prepared_reading *p, const struct actor *actor, const struct new_reading *n)
{
	const struct record_run *run = record_run_in_hand(&p->r);
	const struct test_point *at = &run->points[n->point].at;
	int64_t now = time_now_ms();

	uuid7(p->run_id);
	uuid7(p->reading_id);
	p->starts_run = !run->id;
	p->row = (struct stored_reading){.id = p->reading_id,
					 .run_id = run->id ? run->id : p->run_id,
					 .point = (int)n->point,
					 .set = at->set,
					 .direction = at->direction == RISING ? "rising" : "falling",
					 .cycle = at->cycle,
					 .applied = n->applied,
					 .applied_text = n->applied_text,
					 .observed = n->observed,
					 .observed_text = n->observed_text,
					 .taken_at = n->taken_at ? n->taken_at : now,
					 .received_at = now,
					 .person_id = actor->person_id,
					 .client_verdict = n->client_verdict,
					 .input_u = n->input_u,
					 .output_u = n->output_u,
					 .captured_json = n->captured_json};
	if (run->switched) {
		p->row.applied = n->observed;
		p->row.applied_text = n->observed_text;
	} else if (!n->applied_text) {
		set_point_text(&p->r, at->set, p->set_text);
		p->row.applied_text = p->set_text;
		p->row.applied = round_decimals(at->set, p->r.input_decimals);
	}
}

static enum status prepare(struct prepared_reading *p, const struct actor *actor, const struct new_reading *n,
			   struct err *err)
{
	const struct record_run *run = record_run_in_hand(&p->r);
	enum status rc = record_must_be_open(&p->r, err);

	if (!rc)
		rc = must_take_turns(&p->r, n, err);
	if (!rc)
		rc = must_be_next(&p->r, run, n->point, err);
	if (!rc && run->switched && n->applied_text)
		rc = err_set(err, INVALID, "/applied",
			     "of a switch only the input at which it acted is read: observed");
	if (rc)
		return rc;
	fill_row(p, actor, n);
	rc = must_make_sense(&p->r, &p->row, err);
	if (!rc && run->switched)
		rc = record_switch_must_go_back(&p->r, run, n->point, &p->row, err);
	if (!rc)
		p->entry = reading_json(run, &p->row, differing_verdict(&p->r, run, &p->row));
	return rc || p->entry ? rc : err_set(err, NO_MEMORY, "", "out of memory");
}

enum status record_prepare_reading(struct db *db, const struct actor *actor, const char *id,
				   const struct new_reading *reading, struct arena *a, struct prepared_reading *out,
				   struct err *err)
{
	enum status rc;

	*out = (struct prepared_reading){0};
	rc = record_load_for_edit(db, id, a, &out->r, err);
	if (!rc)
		rc = prepare(out, actor, reading, err);
	if (rc)
		record_drop_reading(out);
	return rc;
}

void record_drop_reading(struct prepared_reading *p)
{
	json_decref(p->entry);
	p->entry = NULL;
}

enum status record_write_reading(struct db *db, const struct actor *actor, const struct prepared_reading *p,
				 struct err *err)
{
	const struct record_run *run = record_run_in_hand(&p->r);
	struct run started = {.id = p->run_id,
			      .kind = run_kind_word(run->kind),
			      .attempt = run->attempt,
			      .started_at = p->row.received_at,
			      .started_by = actor->person_id};
	enum status rc = store_record_touch_at(db, p->r.id, p->r.version, err);

	if (!rc && p->starts_run)
		rc = store_run_add(db, p->r.id, &started, err);
	if (!rc)
		rc = store_reading_add(db, &p->row, err);
	return rc ? rc : record_note(db, actor, &p->r, "read", "", NULL, json_incref(p->entry), err);
}

enum status record_add_reading(struct db *db, const struct actor *actor, const char *id,
			       const struct new_reading *reading, struct arena *a, struct err *err)
{
	struct prepared_reading p;
	enum status rc = record_prepare_reading(db, actor, id, reading, a, &p, err);

	if (rc)
		return rc;
	rc = record_write_reading(db, actor, &p, err);
	record_drop_reading(&p);
	return rc;
}

static const struct record_point *newest(const struct record_run *run)
{
	const struct record_point *p = NULL;

	for (size_t i = 0; i < run->n_points; i++)
		if (run->points[i].read)
			p = &run->points[i];
	return p;
}

static bool has_reading(const struct record_run *run, const char *reading_id)
{
	for (size_t i = 0; i < run->n_points; i++)
		if (run->points[i].read && !strcmp(run->points[i].reading_id, reading_id))
			return true;
	return false;
}

static enum status must_be_newest(const struct record *r, const char *reading_id, struct err *err)
{
	const struct record_run *run = record_run_in_hand(r);
	const struct record_point *p = newest(run);

	if (p && !strcmp(p->reading_id, reading_id))
		return OK;
	if (has_reading(run, reading_id))
		return err_set(err, CONFLICT, "", "only the newest reading can be taken back");
	if (has_reading(&r->runs[0], reading_id))
		return err_set(err, CONFLICT, "", "the as-found run ended when the adjustment was made");
	return err_set(err, NOT_FOUND, "", "this test has no such reading");
}

/* "No adjustment" was said of the readings as they were; with one taken back it must be said again. */
static enum status withdraw_decision(struct db *db, const struct record *r, struct err *err)
{
	if (r->adjusted != 0)
		return OK;
	return store_record_set_adjustment(db, r->id, -1, "", NULL, 0, err);
}

static enum status undo(struct db *db, const struct actor *actor, const struct record *r, struct err *err)
{
	const struct record_run *run = record_run_in_hand(r);
	const struct record_point *p = newest(run);
	struct stored_reading row = {.id = p->reading_id,
				     .point = (int)(p - run->points),
				     .set = p->at.set,
				     .direction = p->at.direction == RISING ? "rising" : "falling",
				     .cycle = p->at.cycle,
				     .applied_text = p->applied_text,
				     .observed_text = p->observed_text,
				     .taken_at = p->taken_at};
	enum status rc = store_reading_undo(db, p->reading_id, time_now_ms(), err);

	if (!rc)
		rc = withdraw_decision(db, r, err);
	if (!rc)
		rc = store_record_touch(db, r->id, err);
	if (!rc)
		rc = record_note(db, actor, r, "undo", "", reading_json(run, &row, NULL), NULL, err);
	return rc;
}

enum status record_undo_reading(struct db *db, const struct actor *actor, const char *id, const char *reading_id,
				struct arena *a, struct err *err)
{
	struct record r;
	enum status rc = record_load_for_edit(db, id, a, &r, err);

	if (rc)
		return rc;
	rc = record_must_be_open(&r, err);
	if (!rc)
		rc = must_be_newest(&r, reading_id, err);
	if (!rc)
		rc = undo(db, actor, &r, err);
	return rc;
}
