/*
 * The dead band of an instrument with a curve. After the points of a run the technician raises the input slowly until the
 * output moves, notes the input, lowers it until the output moves back, and notes it again; near 10, 50 and 90 %, or where
 * the procedure says (ANSI/ISA-51.1 and IEC 61298-2, from memory). Readings up and down cannot say it: their difference
 * holds hysteresis too.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include "base/text.h"
#include "base/time.h"
#include "domain/record_edit.h"
#include "metrology/format.h"
#include "record_internal.h"

#define FAR_PART 0.25 /* of the span: an input further off its place is a slip of the keyboard, the place or the unit */

static const struct step *step_of(const struct record *r)
{
	return procedure_judged_step(&r->procedure);
}

enum status record_dead_band_rows(struct db *db, const struct record *r, struct record_rows *rows, struct arena *a,
				  struct err *err)
{
	enum status rc = OK;

	for (size_t i = 0; i < rows->n_runs && step_of(r)->n_dead_band && !rc; i++)
		rc = store_dead_band_list(db, rows->runs[i].id, a, &rows->dead_bands[i], &rows->n_dead_bands[i], err);
	return rc;
}

static void take(const struct record *r, const struct stored_dead_band *row, struct record_dead_place *p)
{
	int rising = decimals_of_text(row->rising_text), falling = decimals_of_text(row->falling_text);

	p->read = true;
	p->reading = (struct dead_band_reading){row->rising, row->falling};
	p->rising_text = row->rising_text;
	p->falling_text = row->falling_text;
	p->by = row->name;
	p->at = row->at;
	p->decimals = rising > falling ? rising : falling;
	p->value = round_decimals(fabs(row->rising - row->falling), p->decimals);
	p->value_percent = dead_band(&(struct dead_band_reading){p->value, 0}, 1, r->instrument.input);
}

enum status record_dead_band_lay(const struct record *r, struct record_run *run, const struct stored_dead_band *list,
				 size_t n, struct arena *a, struct err *err)
{
	const struct step *step = step_of(r);
	struct record_dead_band *d;

	if (step->n_dead_band == 0)
		return OK;
	d = arena_alloc(a, sizeof *d);
	if (!d || !(d->places = arena_alloc(a, step->n_dead_band * sizeof *d->places)))
		return err_set(err, NO_MEMORY, "", "out of memory");
	d->n = step->n_dead_band;
	d->limit_percent = step->dead_band_limit;
	d->limit = step->dead_band_limit / 100 * fabs(range_span(r->instrument.input));
	d->verdict = VERDICT_NOT_JUDGED;
	d->hysteresis_alone = NAN;
	for (size_t i = 0; i < d->n; i++)
		d->places[i] = (struct record_dead_place){
			.percent = step->dead_band_percent[i],
			.set = range_at(r->instrument.input, step->dead_band_percent[i] / 100),
			.decimals = r->input_decimals,
			.value = NAN,
			.value_percent = NAN,
			.verdict = VERDICT_NOT_JUDGED};
	for (size_t i = 0; i < n; i++) {
		if ((size_t)list[i].place >= d->n)
			continue;
		take(r, &list[i], &d->places[list[i].place]);
		d->n_read++;
	}
	run->dead_band = d;
	run->complete = run->complete && d->n_read == d->n;
	return OK;
}

int record_dead_band_decimals(const struct record_run *run)
{
	const struct record_dead_band *d = run->dead_band;
	int decimals = 2;

	for (size_t i = 0; i < d->n; i++)
		if (d->places[i].read)
			decimals = verdict_decimals(d->places[i].value_percent, (struct limits){NAN, d->limit_percent},
						    d->places[i].verdict, decimals);
	return decimals;
}

/* Both inputs are read on one standard, whose error falls out of their difference; so without a guard band. */
static void judge_places(const struct record *r, struct record_dead_band *d)
{
	static const struct decision_rule simple = {.kind = DECISION_SIMPLE};

	for (size_t i = 0; i < d->n; i++) {
		struct record_dead_place *p = &d->places[i];

		if (!p->read)
			continue;
		p->verdict = judge(p->value, (struct limits){0, d->limit}, range_span(r->instrument.input), &simple, 0);
		if (!d->worst || p->value > d->worst->value)
			d->worst = p;
	}
	if (d->worst)
		d->verdict = d->worst->verdict;
}

static void say(const struct record *r, struct record_run *run)
{
	const struct record_dead_band *d = run->dead_band;
	char value[NUMBER_TEXT_SIZE], at[NUMBER_TEXT_SIZE], limit[NUMBER_TEXT_SIZE];
	size_t used = strlen(run->sentence);
	int decimals = record_dead_band_decimals(run);

	format_number(d->worst->value_percent, decimals, false, value);
	format_number(d->worst->set, r->input_decimals, false, at);
	format_number(d->limit_percent, decimals, false, limit);
	if (d->verdict == VERDICT_FAIL)
		snprintf(run->sentence + used, sizeof run->sentence - used,
			 "%sThe dead band, %s %% of the input span at %s %s, is more than the %s %% allowed: no trim "
			 "mends that; look for friction and play.",
			 used ? " " : "", value, at, r->instrument.input_unit, limit);
	else
		snprintf(run->sentence + used, sizeof run->sentence - used,
			 "%sThe largest dead band is %s %% of the input span, at %s %s.", used ? " " : "", value, at,
			 r->instrument.input_unit);
}

void record_dead_band_judge(const struct record *r, struct record_run *run)
{
	struct record_dead_band *d = run->dead_band;

	judge_places(r, d);
	if (!d->worst)
		return;
	if (d->verdict == VERDICT_FAIL || (run->sum.verdict == VERDICT_NOT_JUDGED && d->verdict != VERDICT_NOT_JUDGED))
		run->sum.verdict = d->verdict;
	if (r->instrument.characteristic.kind == CHARACTERISTIC_LINEAR && !isnan(run->sum.hysteresis_cycle))
		d->hysteresis_alone = fmax(0, run->sum.hysteresis_cycle - d->worst->value_percent);
	say(r, run);
}

static enum status must_take_turns(const struct record *r, const struct new_dead_band *taken, struct err *err)
{
	const struct record_run *run = record_run_in_hand(r);
	enum status rc = record_must_have_done(r, PHASE_AS_FOUND, err);

	if (rc)
		return rc;
	if (!run->dead_band)
		return err_set(err, CONFLICT, "", "the procedure of %s asks for no dead band", r->number);
	if (taken->place >= run->dead_band->n)
		return err_set(err, NOT_FOUND, "", "the dead band is sought at places 0 to %zu", run->dead_band->n - 1);
	if (taken->run != run->kind)
		return err_set(err, CONFLICT, "/run",
			       taken->run == RUN_AS_LEFT ? "the as-left run follows an adjustment" :
							   "the as-found run ended when the adjustment was made");
	if (run->n_read < run->n_points)
		return err_set(err, CONFLICT, "", "first read the points: %zu of %zu are read", run->n_read,
			       run->n_points);
	return OK;
}

static enum status must_be_near(const struct record *r, const struct record_dead_place *p, double v, const char *text,
				const char *pointer, struct err *err)
{
	char set[NUMBER_TEXT_SIZE];
	int decimals = decimals_of_text(text);

	if (decimals < 0)
		return err_set(err, INVALID, pointer, "must be a plain decimal number");
	if (fabs(v - p->set) <= FAR_PART * fabs(range_span(r->instrument.input)))
		return OK;
	return err_set(err, INVALID, pointer, "%s is far from %s %s: check the place and the unit", text,
		       format_number(p->set, r->input_decimals, false, set), r->instrument.input_unit);
}

static enum status must_make_sense(const struct record *r, const struct new_dead_band *taken, struct err *err)
{
	const struct record_dead_place *p = &record_run_in_hand(r)->dead_band->places[taken->place];
	enum status rc = must_be_near(r, p, taken->rising, taken->rising_text, "/rising", err);

	if (!rc)
		rc = must_be_near(r, p, taken->falling, taken->falling_text, "/falling", err);
	if (!rc && taken->falling > taken->rising)
		rc = err_set(err, INVALID, "/falling",
			     "the input comes back from where it moved the output: falling cannot be above rising");
	return rc;
}

static json_t *taken_json(const struct record *r, const struct record_dead_place *p, const char *rising,
			  const char *falling)
{
	const struct record_run *run = record_run_in_hand(r);

	return json_pack("{s:s, s:i, s:f, s:s, s:s}", "run", run_kind_word(run->kind), "attempt", run->attempt,
			 "dead_band_at", p->set, "rising", rising, "falling", falling);
}

static enum status put(struct db *db, const struct actor *actor, const struct record *r,
		       const struct new_dead_band *taken, struct err *err)
{
	const struct record_run *run = record_run_in_hand(r);
	const struct record_dead_place *p = &run->dead_band->places[taken->place];
	struct stored_dead_band row = {.place = (int)taken->place,
				       .rising = taken->rising,
				       .rising_text = taken->rising_text,
				       .falling = taken->falling,
				       .falling_text = taken->falling_text,
				       .person_id = actor->person_id,
				       .at = time_now_ms()};
	enum status rc = store_dead_band_put(db, run->id, &row, err);

	/* "no adjustment" was said of what stood there */
	if (!rc && r->adjusted == 0)
		rc = store_record_set_adjustment(db, r->id, -1, "", NULL, 0, err);
	if (!rc)
		rc = store_record_touch(db, r->id, err);
	if (rc)
		return rc;
	return record_note(db, actor, r, p->read ? "change" : "read", "",
			   p->read ? taken_json(r, p, p->rising_text, p->falling_text) : NULL,
			   taken_json(r, p, taken->rising_text, taken->falling_text), err);
}

enum status record_put_dead_band(struct db *db, const struct actor *actor, const char *id,
				 const struct new_dead_band *taken, struct arena *a, struct err *err)
{
	struct record r;
	enum status rc = record_load_for_edit(db, id, a, &r, err);

	if (!rc)
		rc = record_must_be_open(&r, err);
	if (!rc)
		rc = must_take_turns(&r, taken, err);
	if (!rc)
		rc = must_make_sense(&r, taken, err);
	return rc ? rc : put(db, actor, &r, taken, err);
}
