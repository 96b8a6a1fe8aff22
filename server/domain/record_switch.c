/*
 * A switch step: the technician raises or lowers the input slowly and reads where the contact changes, then where it goes
 * back, as often as the procedure asks. A reading is where it acted: observed and applied are the same input, set is where
 * it should be. So taking back, sending twice, signing and the ledger are those of any other reading.
 */
#include <math.h>
#include "metrology/format.h"
#include "record_internal.h"

bool record_is_switch(const struct record *r)
{
	return procedure_judged_step(&r->procedure)->kind == STEP_SWITCH;
}

void record_switch_at_input(struct frozen_instrument *i)
{
	i->output_quantity = i->input_quantity;
	i->output_unit = i->input_unit;
	i->output = i->input;
	i->characteristic = (struct characteristic){.kind = CHARACTERISTIC_LINEAR};
}

enum status record_switch_begin(const struct record *r, struct record_run *run, struct arena *a, struct err *err)
{
	const struct step *step = procedure_judged_step(&r->procedure);
	size_t wanted = (size_t)step->actuations;
	struct record_switch *s = arena_alloc(a, sizeof *s);

	if (!s)
		return err_set(err, NO_MEMORY, "", "out of memory");
	s->reads_reset = step->reads_reset;
	s->per_cycle = step->reads_reset ? 2 : 1;
	s->wanted = wanted;
	s->spec.input = r->instrument.input;
	s->spec.tolerance = *run->tolerance;
	s->spec.decision = r->procedure.decision;
	switch_points_take(&r->instrument.switch_points, &s->spec);
	s->actuations = arena_alloc(a, wanted * sizeof *s->actuations);
	s->judged = arena_alloc(a, wanted * sizeof *s->judged);
	if (!s->actuations || !s->judged)
		return err_set(err, NO_MEMORY, "", "out of memory");
	for (size_t i = 0; s->reads_reset && isnan(s->spec.reset_point) && i < run->n_points; i++)
		if (run->points[i].at.direction != s->spec.acts_on) {
			run->points[i].expected = NAN;
			run->points[i].allowed = (struct limits){NAN, NAN};
		}
	run->switched = s;
	return OK;
}

static void take_actuations(struct record_run *run)
{
	struct record_switch *s = run->switched;

	for (s->n = 0; s->n < s->wanted; s->n++) {
		const struct record_point *p = &run->points[s->n * (size_t)s->per_cycle];

		if (!p->read)
			return;
		s->actuations[s->n] = (struct actuation){p->reading.observed, NAN};
		s->spec.u = fmax(s->spec.u, p->reading.u);
		if (!s->reads_reset || !p[1].read)
			continue;
		s->actuations[s->n].reset = p[1].reading.observed;
		s->spec.u = fmax(s->spec.u, p[1].reading.u);
	}
}

static void spread(const struct switch_spec *s, double expected, double error, struct limits l, enum verdict v,
		   struct judged_reading *out)
{
	double guard = s->decision.kind == DECISION_GUARDED ? s->decision.guard_factor * 2 * s->u : 0;

	*out = (struct judged_reading){.expected = expected,
				       .error = error,
				       .error_percent = error / fabs(range_span(s->input)) * 100,
				       .limits = l,
				       .acceptance = {l.low + guard, l.high - guard},
				       .verdict = v};
}

/* What is said of an actuation stands at the one or two points it is made of. */
static void spread_over_points(const struct record *r, struct record_run *run)
{
	static const struct limits none = {NAN, NAN};
	struct record_switch *s = run->switched;
	bool has_reset = !isnan(s->spec.reset_point);

	for (size_t i = 0; i < s->n; i++) {
		const struct judged_actuation *j = &s->judged[i];
		struct record_point *p = &run->points[i * (size_t)s->per_cycle];

		spread(&s->spec, s->spec.set_point, j->set_error, s->sum.limits, j->set_verdict, &p->judged);
		if (!s->reads_reset)
			continue;
		spread(&s->spec, s->spec.reset_point, j->reset_error, has_reset ? s->sum.reset_limits : none,
		       switch_back_verdict(j), &p[1].judged);
		if (!has_reset)
			p[1].allowed = step_allowed_reset(&r->instrument.switch_points, s->actuations[i].set);
	}
}

static bool is_worse(const struct record_point *p, const struct record_point *than)
{
	enum verdict v = p->judged.verdict;

	if (!than || v == VERDICT_NOT_JUDGED)
		return !than;
	if (than->judged.verdict == VERDICT_NOT_JUDGED || v != than->judged.verdict)
		return than->judged.verdict == VERDICT_NOT_JUDGED || v > than->judged.verdict;
	return fabs(p->judged.error) > fabs(than->judged.error);
}

/* The summary that every run has: verdict, counts, and the largest error in % of span. */
static void sum_up(struct record_run *run)
{
	const struct record_switch *s = run->switched;
	struct evaluation *e = &run->sum;
	double percent = 100 / fabs(range_span(s->spec.input));

	e->verdict = s->sum.verdict;
	e->max_error_plus = e->max_error_minus = 0;
	for (size_t i = 0; i < run->n_points; i++) {
		const struct record_point *p = &run->points[i];
		enum verdict v = p->judged.verdict;

		if (!p->read)
			continue;
		e->judged += v != VERDICT_NOT_JUDGED;
		e->failed += v == VERDICT_FAIL || v == VERDICT_CONDITIONAL_FAIL;
		if (is_worse(p, e->worst < 0 ? NULL : &run->points[e->worst]))
			e->worst = (int)i;
		if (!(fabs(p->judged.error_percent) <= fabs(e->max_error)) && !isnan(p->judged.error_percent))
			e->max_error = p->judged.error_percent;
		e->max_error_plus = fmax(e->max_error_plus, p->judged.error_percent);
		e->max_error_minus = fmin(e->max_error_minus, p->judged.error_percent);
	}
	e->max_mean_error = s->sum.set_error * percent;
	e->repeatability = s->sum.set_repeatability * percent;
}

static void diagnose_run(const struct record *r, struct record_run *run)
{
	struct record_switch *s = run->switched;
	struct diagnosis *d = &run->diagnosis;
	const struct tolerance *left = r->procedure.as_left.n_terms ? &r->procedure.as_left : &r->procedure.as_found;
	const struct tolerance *adjust = r->procedure.adjust.n_terms ? &r->procedure.adjust : &r->procedure.as_found;

	switch_diagnose(&s->spec, run->kind == RUN_AS_LEFT ? left : adjust, left, s->judged, s->n, &s->diagnosis);
	s->diagnosis.call = run->kind == RUN_AS_LEFT	? CALL_AS_LEFT_LIMITS :
			    r->procedure.adjust.n_terms ? CALL_ADJUST_LIMITS :
							  CALL_LIMITS;
	d->call = s->diagnosis.call;
	d->limits_set = s->diagnosis.limits_set;
	d->adjust = s->diagnosis.adjust;
	d->trim_helps = s->diagnosis.shift_helps;
	d->zero_trim = s->diagnosis.shift;
	d->span_trim = 0;
	d->predicted_max_error = s->diagnosis.remaining / fabs(range_span(s->spec.input)) * 100;
}

struct switch_manner record_switch_manner(const struct record *r, const struct record_run *run)
{
	const struct record_switch *s = run->switched;

	return (struct switch_manner){
		.spec = &s->spec,
		.unit = r->instrument.input_unit,
		.decimals = r->input_decimals,
		.error_decimals = switch_error_decimals(&s->spec, s->judged, s->n, &s->sum, r->input_decimals)};
}

enum verdict record_switch_verdict_on(struct record_run *run, size_t point)
{
	struct record_switch *s = run->switched;
	size_t i = point / (size_t)s->per_cycle;

	take_actuations(run);
	if (i >= s->n || !switch_evaluate(&s->spec, s->actuations, s->n, s->judged, &s->sum))
		return VERDICT_NOT_JUDGED;
	return run->points[point].at.direction == s->spec.acts_on ? s->judged[i].set_verdict :
								    switch_back_verdict(&s->judged[i]);
}

void record_switch_judge(const struct record *r, struct record_run *run)
{
	struct record_switch *s = run->switched;
	struct switch_manner m;

	take_actuations(run);
	if (switch_evaluate(&s->spec, s->actuations, s->n, s->judged, &s->sum)) {
		spread_over_points(r, run);
		sum_up(run);
	}
	diagnose_run(r, run);
	m = record_switch_manner(r, run);
	switch_sentence(&m, &s->sum, s->n, run->sentence);
	switch_advice(&m, &s->diagnosis, &s->sum, run->advice);
}

void record_switch_reading_sentence(const struct record *r, const struct record_run *run, const struct record_point *p,
				    char out[SENTENCE_SIZE])
{
	const struct record_switch *s = run->switched;
	struct switch_manner m = record_switch_manner(r, run);
	size_t i = (size_t)(p - run->points) / (size_t)s->per_cycle;

	if (p->at.direction == s->spec.acts_on)
		switch_set_sentence(&m, &s->actuations[i], &s->judged[i], &s->sum, out);
	else
		switch_reset_sentence(&m, &s->actuations[i], &s->judged[i], &s->sum, out);
}

enum status record_switch_must_go_back(const struct record *r, const struct record_run *run, size_t point,
				       const struct stored_reading *row, struct err *err)
{
	const struct switch_spec *spec = &run->switched->spec;
	const struct record_point *p = &run->points[point];
	char acted[NUMBER_TEXT_SIZE];
	double at;

	if (p->at.direction == spec->acts_on)
		return OK;
	at = p[-1].reading.observed; /* its turn comes only when that has been read */
	if (switch_goes_back(spec->acts_on, at, row->observed))
		return OK;
	format_number(at, decimals_of_text(row->observed_text), false, acted);
	return err_set(err, INVALID, "/observed",
		       spec->acts_on == RISING ? "it acted while rising at %s %s, so it goes back below that" :
						 "it acted while falling at %s %s, so it goes back above that",
		       acted, r->instrument.input_unit);
}
