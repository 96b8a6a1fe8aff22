/*
 * The points of a record, the readings on them, and what the metrology core says about both. Readings stand at their
 * point's place; a point without one is a reading that has not been taken (observed NaN), so that indexes agree everywhere.
 */
#include <math.h>
#include <string.h>
#include "metrology/format.h"
#include "metrology/uncertainty.h"
#include "metrology/unit.h"
#include "record_internal.h"

struct reference record_reference(const struct record *r, enum standard_role role)
{
	const char *unit = role == STANDARD_INPUT ? r->instrument.input_unit : r->instrument.output_unit;
	struct reference ref = {0, 2};

	for (size_t i = 0; i < r->n_standards; i++) {
		const struct record_standard *s = &r->standards[i];
		const struct unit *from, *to;

		if (s->role != role || !s->chosen)
			continue;
		from = unit_find(s->unit);
		to = unit_find(unit);
		if (from && to && unit_convert_difference(s->expanded_uncertainty, from, to, &ref.expanded))
			ref.coverage_factor = s->coverage_factor;
	}
	return ref;
}

double record_uncertainty_at(const struct record *r, double applied, int input_decimals, int output_decimals)
{
	const struct frozen_instrument *i = &r->instrument;
	/* where a switch acts is read once, at the input */
	int at_input = record_is_switch(r) ? -1 : input_decimals;
	struct reference in = record_reference(r, STANDARD_INPUT), out = record_reference(r, STANDARD_OUTPUT);

	return reading_uncertainty(&i->characteristic, i->input, i->output, applied, &in, &out, at_input,
				   output_decimals);
}

/* A mean read from a device is less sure by its own scatter, as if the reference were. */
static double uncertainty_of(const struct record *r, const struct stored_reading *d)
{
	const struct frozen_instrument *i = &r->instrument;
	int at_input = record_is_switch(r) ? -1 : decimals_of_text(d->applied_text);
	struct reference in = record_reference(r, STANDARD_INPUT), out = record_reference(r, STANDARD_OUTPUT);

	in.expanded = hypot(in.expanded, in.coverage_factor * d->input_u);
	out.expanded = hypot(out.expanded, out.coverage_factor * d->output_u);
	return reading_uncertainty(&i->characteristic, i->input, i->output, d->applied, &in, &out, at_input,
				   decimals_of_text(d->observed_text));
}

static struct test_setup setup_for(const struct record *r, const struct tolerance *t)
{
	return (struct test_setup){.input = r->instrument.input,
				   .output = r->instrument.output,
				   .characteristic = r->instrument.characteristic,
				   .tolerance = *t,
				   .decision = r->procedure.decision,
				   .error_at = procedure_judged_step(&r->procedure)->error_at};
}

static int more(int a, int b)
{
	return a > b ? a : b;
}

/* Enough decimals for a hundredth of the span, and for every set point to be written exactly (two more at most). */
static int input_decimals(const struct record *r, const struct test_point *points, size_t n)
{
	double span = fabs(range_span(r->instrument.input));
	int least = decimals_for(span / 100), d = least;

	for (size_t i = 0; i < n; i++)
		while (d < least + 2 && fabs(round_decimals(points[i].set, d) - points[i].set) > 1e-9 * span)
			d++;
	return d;
}

/* Two digits of the tightest limit in the middle of the range; of a hundredth of the span where no limit is set. */
static int output_decimals(const struct record *r)
{
	const struct tolerance *rules[] = {&r->procedure.as_found, &r->procedure.as_left};
	double span = fabs(range_span(r->instrument.output)), tightest = INFINITY;

	for (size_t i = 0; i < 2; i++) {
		struct limits l = tolerance_limits(rules[i], r->instrument.output, range_at(r->instrument.output, 0.5));

		if (rules[i]->n_terms == 0)
			continue;
		if (l.high > 0)
			tightest = fmin(tightest, l.high);
		if (l.low < 0)
			tightest = fmin(tightest, -l.low);
	}
	return decimals_for(isfinite(tightest) ? tightest : span / 100);
}

static void settle_decimals(struct record *r, const struct record_rows *rows, const struct test_point *points, size_t n)
{
	r->input_decimals = input_decimals(r, points, n);
	r->output_decimals = output_decimals(r);
	for (size_t run = 0; run < rows->n_runs; run++)
		for (size_t i = 0; i < rows->n_readings[run]; i++) {
			r->input_decimals = more(r->input_decimals,
						 decimals_of_text(rows->readings[run][i].applied_text));
			r->output_decimals = more(r->output_decimals,
						  decimals_of_text(rows->readings[run][i].observed_text));
		}
	if (record_is_switch(r))
		r->input_decimals = r->output_decimals = more(r->input_decimals, r->output_decimals);
}

static void lay_point(const struct record *r, const struct tolerance *t, const struct test_point *at,
		      struct record_point *p)
{
	const struct frozen_instrument *i = &r->instrument;
	struct limits l;

	p->at = *at;
	p->expected = characteristic_forward(&i->characteristic, i->input, i->output, at->set);
	l = tolerance_limits(t, i->output, p->expected);
	p->allowed = (struct limits){p->expected + l.low, p->expected + l.high};
	p->reading = (struct reading){
		.set = at->set, .applied = NAN, .observed = NAN, .direction = at->direction, .cycle = at->cycle};
}

static void put_reading(const struct record *r, const struct stored_reading *d, struct record_point *p)
{
	p->read = true;
	p->reading_id = d->id;
	p->applied_text = d->applied_text;
	p->observed_text = d->observed_text;
	p->by = d->name;
	p->taken_at = d->taken_at;
	p->client_verdict = d->client_verdict;
	p->reading.applied = d->applied;
	p->reading.observed = d->observed;
	p->captured_json = d->captured_json;
	p->reading.u = uncertainty_of(r, d);
}

static void take_readings(const struct record *r, struct record_run *run, const struct stored_reading *list, size_t n)
{
	for (size_t i = 0; i < n; i++) {
		if (list[i].point < 0 || (size_t)list[i].point >= run->n_points)
			continue;
		put_reading(r, &list[i], &run->points[list[i].point]);
		run->n_read++;
	}
	run->complete = run->n_read == run->n_points;
}

/* Evaluates once and spreads the answers over the points. As left it is the as-left limits that call for an adjustment. */
static enum status judge_run(const struct record *r, struct record_run *run, struct arena *a, struct err *err)
{
	struct reading *readings = arena_alloc(a, (run->n_points + 1) * sizeof *readings);
	struct judged_reading *judged = arena_alloc(a, (run->n_points + 1) * sizeof *judged);
	const struct tolerance *left = r->procedure.as_left.n_terms ? &r->procedure.as_left : &r->procedure.as_found;
	const struct tolerance *adjust = r->procedure.adjust.n_terms ? &r->procedure.adjust : &r->procedure.as_found;
	struct test_setup setup = setup_for(r, run->tolerance);

	if (!readings || !judged)
		return err_set(err, NO_MEMORY, "", "out of memory");
	for (size_t i = 0; i < run->n_points; i++)
		readings[i] = run->points[i].reading;
	/* of a switch the core sums up its actuations; the rest of the summary stays empty */
	evaluate(&setup, readings, run->switched ? 0 : run->n_points, judged, &run->sum);
	if (run->switched) {
		diagnose(&setup, adjust, left, readings, judged, 0, &run->diagnosis);
		record_switch_judge(r, run);
		return OK;
	}
	for (size_t i = 0; i < run->n_points; i++)
		run->points[i].judged = judged[i];
	if (procedure_judged_step(&r->procedure)->cycles > 1) {
		run->averages = arena_alloc(a, (run->n_points + 1) * sizeof *run->averages);
		if (!run->averages)
			return err_set(err, NO_MEMORY, "", "out of memory");
		run->n_averages = evaluation_points(&setup, readings, judged, run->n_points, run->averages);
	}
	diagnose(&setup, run->kind == RUN_AS_LEFT ? left : adjust, left, readings, judged, run->n_points,
		 &run->diagnosis);
	run->diagnosis.call = run->kind == RUN_AS_LEFT	  ? CALL_AS_LEFT_LIMITS :
			      r->procedure.adjust.n_terms ? CALL_ADJUST_LIMITS :
							    CALL_LIMITS;
	diagnosis_sentence(&run->diagnosis, &run->sum, run->sentence);
	advice_sentence_with_input(&run->diagnosis, &setup, r->instrument.output_unit, r->output_decimals,
				   r->instrument.input_unit, r->input_decimals, run->advice);
	if (run->dead_band)
		record_dead_band_judge(r, run);
	return OK;
}

static enum status add_run(struct record *r, enum run_kind kind, const struct record_rows *rows,
			   const struct test_point *points, size_t n, struct arena *a, struct err *err)
{
	struct record_run *run = &r->runs[r->n_runs++];
	size_t found = 2;

	run->kind = kind;
	run->attempt = 1;
	run->tolerance = kind == RUN_AS_LEFT && r->procedure.as_left.n_terms ? &r->procedure.as_left :
									       &r->procedure.as_found;
	run->n_points = n;
	run->points = arena_alloc(a, (n + 1) * sizeof *run->points);
	if (!run->points)
		return err_set(err, NO_MEMORY, "", "out of memory");
	for (size_t i = 0; i < n; i++)
		lay_point(r, run->tolerance, &points[i], &run->points[i]);
	for (size_t i = 0; i < rows->n_runs; i++) {
		if (strcmp(rows->runs[i].kind, run_kind_word(kind)) != 0)
			continue;
		found = i;
		run->id = rows->runs[i].id;
		run->attempt = rows->runs[i].attempt;
		run->started_by = rows->runs[i].started_by_name;
		run->started_at = rows->runs[i].started_at;
		take_readings(r, run, rows->readings[i], rows->n_readings[i]);
	}
	if (record_is_switch(r))
		return record_switch_begin(r, run, a, err);
	return record_dead_band_lay(r, run, found < 2 ? rows->dead_bands[found] : NULL,
				    found < 2 ? rows->n_dead_bands[found] : 0, a, err);
}

static bool has_run(const struct record_rows *rows, enum run_kind kind)
{
	for (size_t i = 0; i < rows->n_runs; i++)
		if (!strcmp(rows->runs[i].kind, run_kind_word(kind)))
			return true;
	return false;
}

enum status record_lay_out(struct record *r, const struct record_rows *rows, struct arena *a, struct err *err)
{
	const struct step *step = procedure_judged_step(&r->procedure);
	struct test_point *points = arena_alloc(a, READINGS_MAX * sizeof *points);
	enum status rc;
	size_t n;

	if (!points)
		return err_set(err, NO_MEMORY, "", "out of memory");
	n = step_points(step, &r->instrument, points);
	if (n == 0)
		return err_set(err, FAILED, "", "the procedure's points cannot be laid out");
	settle_decimals(r, rows, points, n);
	rc = add_run(r, RUN_AS_FOUND, rows, points, n, a, err);
	if (!rc && (r->adjusted == 1 || has_run(rows, RUN_AS_LEFT)))
		rc = add_run(r, RUN_AS_LEFT, rows, points, n, a, err);
	return rc;
}

enum status record_judge(struct record *r, struct arena *a, struct err *err)
{
	enum status rc = OK;

	for (size_t i = 0; i < r->n_runs && !rc; i++)
		rc = judge_run(r, &r->runs[i], a, err);
	return rc;
}

/* A switch errs in its input. */
static struct range scale_of(const struct record *r, const struct record_run *run)
{
	return run->switched ? r->instrument.input : r->instrument.output;
}

int record_error_decimals(const struct record *r, const struct record_run *run)
{
	int least = run->switched ? r->input_decimals : r->output_decimals;
	int decimals = tolerance_error_decimals(run->tolerance, scale_of(r, run), least);

	for (size_t i = 0; i < run->n_points; i++) {
		const struct judged_reading *j = &run->points[i].judged;

		if (run->points[i].read)
			decimals = verdict_decimals(j->error, j->limits, j->verdict, decimals);
	}
	return decimals;
}

int record_percent_decimals(const struct record *r, const struct record_run *run)
{
	int decimals = tolerance_percent_decimals(run->tolerance, scale_of(r, run));

	for (size_t i = 0; i < run->n_points; i++)
		if (run->points[i].read)
			decimals = judged_percent_decimals(&run->points[i].judged, scale_of(r, run), decimals);
	return decimals;
}

void record_band_at(const struct record *r, const struct record_run *run, double input, struct limits *limits,
		    struct limits *acceptance)
{
	const struct frozen_instrument *i = &r->instrument;
	double expected = characteristic_forward(&i->characteristic, i->input, i->output, input);
	double scale = 100 / fabs(range_span(i->output)), guard = 0;
	struct limits l = tolerance_limits(run->tolerance, i->output, expected);

	/* w = guard factor x U with U = 2 u, as the core's judge() has it. */
	if (r->procedure.decision.kind == DECISION_GUARDED)
		guard = r->procedure.decision.guard_factor * 2 *
			record_uncertainty_at(r, input, r->input_decimals, r->output_decimals);
	*limits = (struct limits){l.low * scale, l.high * scale};
	*acceptance = (struct limits){(l.low + guard) * scale, (l.high - guard) * scale};
}
