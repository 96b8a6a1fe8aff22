#include "demo_test.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "domain/record_edit.h"
#include "domain/record_sign.h"
#include "metrology/format.h"
#include "record_internal.h"

#define MINUTE_MS INT64_C(60000)
#define JUMP	  1.6 /* how far a zero jumps, as a part of the as-found limit */

/* How an instrument errs, in parts of its as-found limit. */
struct state {
	double zero, span, hysteresis, noise;
};

struct test {
	struct demo *d;
	const struct demo_instrument *in;
	const struct demo_model *m;
	int index, number, tests;
	const struct actor *technician;
	struct demo_chance chance;
	struct arena arena;
	const char *id;
	struct record r; /* as last loaded */
	struct state state;
};

static double rate(double fixed, struct demo_chance *c, double around)
{
	double by_chance = demo_uniform(c, -around, around);

	return fixed != 0 ? fixed : by_chance;
}

/* At the n-th test, told from the beginning: drift since the last adjustment, as the tests before have left it. */
static struct state state_at(const struct test *t, const bool adjusted[DEMO_TESTS_MAX], int n)
{
	struct demo_chance c = demo_chance_of(t->in->tag, 10);
	double years = t->in->interval_months / 12.0, zero = rate(t->in->zero, &c, 0.2);
	double zero_rate = rate(t->in->zero_rate, &c, 0.2), span = demo_uniform(&c, -0.15, 0.15),
	       span_rate = demo_uniform(&c, -0.15, 0.15);
	double hysteresis_new = t->in->hysteresis != 0 ? t->in->hysteresis : demo_uniform(&c, 0.05, 0.15);
	struct state s = {zero, span, hysteresis_new, 0.03};

	for (int i = 0; i < n; i++) {
		if (adjusted[i])
			s = (struct state){demo_uniform(&c, -0.05, 0.05), demo_uniform(&c, -0.05, 0.05), hysteresis_new,
					   s.noise};
		s.zero += zero_rate * years;
		s.span += span_rate * years;
		s.hysteresis += t->in->hysteresis_rate * years;
	}
	if (t->in->jump && t->tests - n == t->in->jump)
		s.zero += zero_rate < 0 ? -JUMP : JUMP;
	return s;
}

static enum status load(struct test *t)
{
	return record_load(t->d->db, t->id, &t->arena, &t->r, t->d->err);
}

static enum status answer(struct test *t, const char *kind, const char *key, const char *word)
{
	struct acknowledgement k = {
		.kind = kind, .key = key, .answer = word, .person_id = t->technician->person_id, .at = time_now_ms()};

	return store_acknowledgement_put(t->d->db, t->id, &k, t->d->err);
}

static enum status answer_all(struct test *t)
{
	enum status rc = OK;

	for (size_t i = 0; i < t->r.n_cautions && !rc; i++)
		rc = answer(t, "caution", t->r.cautions[i].key, "acknowledged");
	for (size_t i = 0; i < t->r.n_checks && !rc; i++)
		rc = answer(t, "check", t->r.checks[i].key, "yes");
	return rc;
}

/* The second current source was in use, for every fifth instrument, from its last certificate until it failed. */
static const char *standard_for(const struct test *t, const char *code)
{
	int second = demo_standard_index("MA-02");
	int32_t day = date_today();

	if (!strcmp(code, "MA-01") && t->index % 5 == 2 && day < t->d->today - DEMO_FAILED_DAYS &&
	    day > t->d->today - demo_standards[second].age)
		return t->d->standard[second];
	return t->d->standard[demo_standard_index(code)];
}

static enum status choose_standards(struct test *t)
{
	const char *codes[2] = {t->m->input_standard, t->m->output_standard};
	struct standard_choice choices[2];
	size_t n = 0;

	for (int i = 0; i < 2; i++) {
		if (codes[i])
			choices[n++] = (struct standard_choice){i ? STANDARD_OUTPUT : STANDARD_INPUT,
								standard_for(t, codes[i])};
	}
	return record_choose_standards(t->d->db, t->technician, t->id, choices, n, &t->arena, t->d->err);
}

/* Drawn apart from the readings, so that these stay what they are. */
static enum status note_conditions(struct test *t)
{
	struct demo_chance c = demo_chance_of(t->in->tag, 300 + t->number);
	struct environment e = demo_environment(&c, date_today());
	const char *condition = demo_condition(t->in, t->number, t->state.hysteresis);
	enum status rc = store_environment_put(t->d->db, t->id, &e, t->d->err);

	return rc ? rc : store_record_set_notes(t->d->db, t->id, condition, "", t->d->err);
}

static enum status open_test(struct test *t)
{
	struct record_opening opening = {.schedule_id = t->d->schedule[t->index]};
	bool was_open;
	enum status rc = record_open(t->d->db, t->technician, &opening, &t->arena, &t->id, &was_open, t->d->err);

	if (!rc)
		rc = choose_standards(t);
	if (!rc)
		rc = load(t);
	if (!rc)
		rc = note_conditions(t);
	if (!rc)
		rc = answer_all(t);
	return rc;
}

/* The error of the output in % of its span. Hysteresis is widest in the middle and none at the ends. */
static double error_at(struct test *t, const struct state *s, double fraction, enum direction direction)
{
	double loop = s->hysteresis * 4 * fraction * (1 - fraction);
	double parts = s->zero + s->span * fraction + (direction == RISING ? -loop / 2 : loop / 2) +
		       demo_normal(&t->chance, s->noise);

	return t->m->limit * parts;
}

/* Where it acts: the zero and the scatter of the state. It goes back a dead band away, which scatters less. */
static double acts_at(struct test *t, const struct state *s, const struct test_point *at)
{
	const struct demo_switch *d = demo_switch_of(t->in->tag);
	double limit = t->m->limit / 100 * fabs(range_span(t->r.instrument.input));
	double v = d->points.set + limit * (s->zero + demo_normal(&t->chance, 0.06));

	if (at->direction == d->points.acts_on)
		return v;
	return d->points.acts_on == RISING ? v - d->dead_band : v + d->dead_band;
}

static enum status add_reading(struct test *t, const char *run_id, size_t point, const struct state *s)
{
	const struct frozen_instrument *i = &t->r.instrument;
	const struct test_point *at = &t->r.runs[0].points[point].at;
	double stray = t->m->pump / 100 * fabs(range_span(i->input));
	double applied = round_decimals(at->set + demo_uniform(&t->chance, -stray, stray), t->m->input_decimals);
	double expected = characteristic_forward(&i->characteristic, i->input, i->output, applied);
	double error = error_at(t, s, at->percent / 100, at->direction) / 100 * fabs(range_span(i->output));
	double observed = round_decimals(expected + error, t->m->output_decimals) + 0.0;
	bool is_switch = t->r.runs[0].switched != NULL;
	char id[UUID_SIZE], applied_text[32], observed_text[32];
	struct stored_reading row = {
		.id = id,
		.run_id = run_id,
		.point = (int)point,
		.set = at->set,
		.applied = applied,
		.observed = observed,
		.direction = at->direction == RISING ? "rising" : "falling",
		.cycle = at->cycle,
		.applied_text = applied_text,
		.observed_text = observed_text,
		.taken_at = time_now_ms() + (int64_t)(point + 1) * MINUTE_MS,
		.person_id = t->technician->person_id,
	};

	if (is_switch)
		row.applied = row.observed = applied = observed = round_decimals(acts_at(t, s, at),
										 t->m->input_decimals);
	row.received_at = row.taken_at;
	uuid7(id);
	snprintf(applied_text, sizeof applied_text, "%.*f", t->m->input_decimals, applied + 0.0);
	snprintf(observed_text, sizeof observed_text, "%.*f", t->m->output_decimals, observed);
	return store_reading_add(t->d->db, &row, t->d->err);
}

static enum status read_run(struct test *t, const char *kind, size_t points, const struct state *s)
{
	char id[UUID_SIZE];
	struct run row = {.id = id,
			  .kind = kind,
			  .attempt = 1,
			  .started_by = t->technician->person_id,
			  .started_at = time_now_ms()};
	enum status rc;

	uuid7(id);
	rc = store_run_add(t->d->db, t->id, &row, t->d->err);
	for (size_t i = 0; i < points && !rc; i++)
		rc = add_reading(t, id, i, s);
	return rc ? rc : load(t);
}

static const char *what_was_done(const struct test *t)
{
	if (t->state.hysteresis > 1.5)
		return "Gland packing renewed, stem cleaned, zero and span trimmed at the positioner.";
	if (!strcmp(t->m->kind, "analyser"))
		return "Cell cleaned; zero set at the first solution, slope at the last.";
	if (!strcmp(t->m->kind, "switch"))
		return "Set screw turned and sealed again.";
	return "Zero and span trimmed.";
}

/* Hysteresis alone is no reason to trim; an element cannot be. */
static bool must_adjust(const struct test *t)
{
	const struct record_run *found = &t->r.runs[0];

	if (t->m->adjust <= 0)
		return false;
	return found->sum.verdict > VERDICT_CONDITIONAL_PASS || (found->diagnosis.adjust && t->state.hysteresis < 0.8);
}

static enum status adjust(struct test *t, int32_t day, double hour)
{
	struct state after = {demo_uniform(&t->chance, -0.05, 0.05), demo_uniform(&t->chance, -0.05, 0.05),
			      fmin(t->state.hysteresis, 0.25), 0.03};
	enum status rc;

	if (!must_adjust(t))
		return store_record_set_adjustment(t->d->db, t->id, 0, "", t->technician->person_id, time_now_ms(),
						   t->d->err);
	rc = store_record_set_adjustment(t->d->db, t->id, 1, what_was_done(t), t->technician->person_id, time_now_ms(),
					 t->d->err);
	demo_clock(t->d, day, hour);
	return rc ? rc : read_run(t, "as_left", t->r.runs[0].n_points, &after);
}

static void begin(struct test *t, struct demo *d, int instrument, int number)
{
	int32_t days[DEMO_TESTS_MAX], due;

	*t = (struct test){.d = d, .in = &demo_instruments[instrument], .index = instrument, .number = number};
	t->m = &demo_models[t->in->model];
	t->tests = demo_test_days(t->in, d->today, days, &due);
	t->technician = &d->actor[(instrument + number) % 2 ? DEMO_TECHNICIAN_1 : DEMO_TECHNICIAN_2];
	t->chance = demo_chance_of(t->in->tag, 100 + number);
	t->state = state_at(t, d->adjusted[instrument], number);
}

static enum status end(struct test *t, enum status rc)
{
	arena_clear(&t->arena);
	return rc;
}

enum status demo_test(struct demo *d, int instrument, int number, int32_t day, double hour, char id[UUID_SIZE])
{
	struct test t;
	enum status rc;

	begin(&t, d, instrument, number);
	rc = open_test(&t);
	if (!rc)
		rc = read_run(&t, "as_found", t.r.runs[0].n_points, &t.state);
	demo_clock(d, day, hour + 0.4);
	if (!rc)
		rc = adjust(&t, day, hour + 0.7);
	demo_clock(d, day, hour + 1.1);
	if (!rc)
		rc = load(&t);
	if (!rc)
		rc = record_sign_performed(d->db, t.technician, t.id, t.r.content_sha256, NULL, &t.arena, d->err);
	if (!rc)
		memcpy(id, t.id, UUID_SIZE);
	d->adjusted[instrument][number] = t.r.adjusted == 1;
	return end(&t, rc);
}

enum status demo_test_begun(struct demo *d, int instrument)
{
	struct test t;
	enum status rc;

	begin(&t, d, instrument, 0);
	t.state = state_at(&t, d->adjusted[instrument], t.tests);
	rc = open_test(&t);
	return end(&t, rc ? rc : read_run(&t, "as_found", 4, &t.state));
}
