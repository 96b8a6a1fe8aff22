/*
 * The thread of one run: level, settle, record, next. It looks ten times a second whether it may go on, and whatever way it ends,
 * a driven source ends at its safe value.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/log.h"
#include "base/time.h"
#include "live_run_internal.h"
#include "metrology/format.h"
#include "store/trace.h"

#define TICK_MS		100
#define STEP_S		0.25 /* between two commands on the way to a level */
#define NEAR		0.02 /* of the input span: the level that a person has set is this point's */
#define QUIET_S		3.0  /* a device that says nothing for so long no longer answers */
#define SAFE_TRIES	30
#define SAMPLES_AT_ONCE 64

double live_now_s(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void pause_ms(int ms)
{
	struct timespec t = {ms / 1000, ms % 1000 * 1000000L};

	nanosleep(&t, NULL);
}

static void say(struct live_run *r, enum live_phase phase, const char *sentence)
{
	pthread_mutex_lock(&r->all->lock);
	r->phase = phase;
	snprintf(r->sentence, sizeof r->sentence, "%s", sentence);
	snprintf(r->shown_words, sizeof r->shown_words, "%s", r->point.any ? r->point.words : "");
	r->shown_point = r->point.index;
	r->shown_level = r->level;
	pthread_mutex_unlock(&r->all->lock);
}

static void end_with(struct live_run *r, const char *why)
{
	pthread_mutex_lock(&r->all->lock);
	if (!r->stop)
		snprintf(r->why, sizeof r->why, "%s", why);
	r->stop = true;
	pthread_mutex_unlock(&r->all->lock);
}

static bool is_stopped(struct live_run *r)
{
	bool stop;

	pthread_mutex_lock(&r->all->lock);
	stop = r->stop;
	pthread_mutex_unlock(&r->all->lock);
	return stop;
}

/* ---- what the devices say ---- */

static void take_samples(struct live_run *r, struct live_side *s, bool settling)
{
	struct live_sample samples[SAMPLES_AT_ONCE];
	double now = live_now_s();
	struct live_state state;
	size_t n;

	live_look(s->channel, &state);
	n = live_samples(s->channel, s->seen, samples, SAMPLES_AT_ONCE);
	s->seen = state.number;
	for (size_t i = 0; i < n; i++) {
		double value = NAN;

		if (isfinite(samples[i].value) && unit_convert(samples[i].value, s->from, s->to, &value))
			s->heard_s = now;
		live_trace_add(&s->trace, (double)(samples[i].at_ms - r->started_at) / 1000, value);
		s->last = value;
		s->status = samples[i].status;
		if (settling)
			steady_add(&s->steady, (double)samples[i].at_ms / 1000, value,
				   (samples[i].status & FIELD_BLOCKS) != 0);
	}
}

static double quiet_after(const struct live_side *s)
{
	return fmax(QUIET_S, 3 * live_period_s(s->channel));
}

/* A driven run does not go on blind. */
static bool answers(struct live_run *r)
{
	double now = live_now_s();
	struct live_state state;
	char why[400];

	if (r->wish.mode != LIVE_DRIVEN)
		return true;
	for (int i = 0; i < 2; i++) {
		struct live_side *s = i ? &r->out : &r->in;

		if (now - s->heard_s <= quiet_after(s))
			continue;
		live_look(s->channel, &state);
		snprintf(why, sizeof why, "the %s no longer answers: %s", i ? "instrument" : "source",
			 state.good ? "its values do not come" : state.why);
		end_with(r, why);
		return false;
	}
	return true;
}

static bool is_watched(struct live_run *r)
{
	int64_t now = time_now_ms(), alive, started;

	if (r->wish.mode != LIVE_DRIVEN)
		return true;
	pthread_mutex_lock(&r->all->lock);
	alive = r->alive_at;
	started = r->started_at;
	pthread_mutex_unlock(&r->all->lock);
	if (now - alive > LIVE_ALIVE_S * 1000)
		end_with(r, "the page that watched it is gone");
	else if (now - started > r->wish.minutes * 60000LL)
		end_with(r, "its time is over");
	else
		return true;
	return false;
}

/* ---- the way to a level ---- */

static bool send_level(struct live_run *r, double level)
{
	double value;
	struct err err = {0};

	if (!unit_convert(level, r->in.to, r->in.from, &value) || live_drive(r->in.channel, value, &err)) {
		char why[400];

		snprintf(why, sizeof why, "the source did not take the level: %s", err.message);
		end_with(r, why);
		return false;
	}
	r->level = level;
	r->moved_s = live_now_s();
	live_trace_add(&r->set_trace, (double)(time_now_ms() - r->started_at) / 1000, level);
	return true;
}

static void begin_settling(struct live_run *r)
{
	struct steady_rule in = {.tolerance = r->point.tolerance_in,
				 .window_s = r->wish.window_s,
				 .sample_s = live_period_s(r->in.channel),
				 .hold_s = r->point.hold_s,
				 .least = 5},
			   out = in;

	out.tolerance = r->point.tolerance_out;
	out.sample_s = live_period_s(r->out.channel);
	steady_begin(&r->in.steady, &in);
	steady_begin(&r->out.steady, &out);
	r->in.seen = live_number(r->in.channel); /* what came before belongs to the way here */
	r->out.seen = live_number(r->out.channel);
	say(r, LIVE_SETTLE, "waiting until input and output are steady");
}

static void move(struct live_run *r)
{
	double now = live_now_s(), step = r->wish.rate * fmin(now - r->moved_s, 2 * STEP_S),
	       left = r->point.set - r->level;
	char words[200];

	if (now - r->moved_s < STEP_S && fabs(left) > 0)
		return;
	if (fabs(left) > step) {
		send_level(r, r->level + copysign(step, left));
		snprintf(words, sizeof words, "going to %s", r->point.words);
		say(r, LIVE_LEVEL, words);
		return;
	}
	if (send_level(r, r->point.set))
		begin_settling(r);
}

/* A person sets the source: the level is this point's when the input is near it. */
static bool is_near(const struct live_run *r)
{
	return isfinite(r->in.last) && fabs(r->in.last - r->point.set) <= NEAR * r->span_in;
}

static void wait_for_person(struct live_run *r)
{
	char words[200];

	if (is_near(r)) {
		begin_settling(r);
		return;
	}
	snprintf(words, sizeof words, "next: set %s", r->point.words);
	say(r, LIVE_LEVEL, words);
}

/* ---- steady, recorded, next ---- */

static bool next_point(struct live_run *r)
{
	struct err err = {0};
	enum status rc = live_point_read(r, &r->point, &err);

	if (rc) {
		end_with(r, err.message);
		return false;
	}
	if (!r->point.any) {
		end_with(r, "");
		return false;
	}
	if (r->wish.mode == LIVE_DRIVEN) {
		if (r->point.set < r->wish.low || r->point.set > r->wish.high) {
			end_with(r, "the next point lies beyond the limits that it was armed with");
			return false;
		}
		live_note(r, "drive",
			  json_pack("{s:f, s:s, s:f}", "to", r->point.set, "unit", r->input_unit, "rate_per_s",
				    r->wish.rate),
			  &err);
	}
	r->moved_s = live_now_s();
	say(r, LIVE_LEVEL, r->point.words);
	return true;
}

/* Who brings nothing, and why. */
static bool silence_words(const struct live_run *r, char words[320])
{
	struct live_state state;

	for (int i = 0; i < 2; i++) {
		live_look(i ? r->out.channel : r->in.channel, &state);
		if (state.good)
			continue;
		snprintf(words, 320, "%.80s: no value from the %s: %.200s", r->point.words, i ? "instrument" : "source",
			 state.why);
		return true;
	}
	return false;
}

static void wait_words(const struct live_run *r, const struct steady_result *in, const struct steady_result *out,
		       char words[320])
{
	char a[STEADY_WORDS_SIZE], b[STEADY_WORDS_SIZE];
	const char *status = NULL;

	if (silence_words(r, words))
		return;
	steady_words(in, a);
	steady_words(out, b);
	for (unsigned bit = 1; bit <= FIELD_MORE && !status; bit <<= 1)
		if (r->out.status & bit & FIELD_BLOCKS)
			status = field_status_words((enum field_status)bit);
	if (status)
		snprintf(words, 320, "%s: the instrument says %s, which is not recorded", r->point.words, status);
	else
		snprintf(words, 320, "%s: input %.80s, output %.80s", r->point.words, a, b);
}

static void settle(struct live_run *r)
{
	struct steady_result in = steady_judge(&r->in.steady), out = steady_judge(&r->out.steady);
	struct err err = {0};
	char words[320];

	if (r->wish.mode == LIVE_FOLLOW && !is_near(r)) {
		say(r, LIVE_LEVEL, r->point.words);
		return;
	}
	wait_words(r, &in, &out, words);
	say(r, LIVE_SETTLE, words);
	if (in.reason != STEADY_ACCEPTED || out.reason != STEADY_ACCEPTED)
		return;
	if (live_point_record(r, &in, &out, &err))
		end_with(r, err.message);
	else
		next_point(r);
}

static void step(struct live_run *r)
{
	enum live_phase phase;

	pthread_mutex_lock(&r->all->lock);
	phase = r->phase;
	pthread_mutex_unlock(&r->all->lock);
	take_samples(r, &r->in, phase == LIVE_SETTLE);
	take_samples(r, &r->out, phase == LIVE_SETTLE);
	live_beside_take(r);
	if (!answers(r) || !is_watched(r))
		return;
	if (phase == LIVE_SETTLE)
		settle(r);
	else if (r->wish.mode == LIVE_DRIVEN)
		move(r);
	else
		wait_for_person(r);
}

/* ---- the end ---- */

static enum status forget_driven(struct db *db, void *context, struct err *err)
{
	const struct live_run *r = context;

	return store_driven_remove(db, r->driven_id, err);
}

/* Again and again: nothing is more important now. The person is told as long as it does not work. */
static void make_safe(struct live_run *r)
{
	struct err err = {0};
	char unit[16];
	enum status rc = BUSY;

	for (int i = 0; i < SAFE_TRIES && (rc = live_safe(r->in.channel, &err)) != OK; i++) {
		pthread_mutex_lock(&r->all->lock);
		snprintf(r->trouble, sizeof r->trouble,
			 "The source is not at its safe value: go to it and switch it off. (%s)", err.message);
		pthread_mutex_unlock(&r->all->lock);
		pause_ms(1000);
	}
	snprintf(unit, sizeof unit, "%s", live_unit(r->in.channel));
	live_note(r, "safe",
		  json_pack("{s:f, s:s, s:b}", "value", live_config(r->in.channel)->safe, "unit", unit, "reached", !rc),
		  &err);
	if (rc)
		return; /* still driven, as far as anybody knows: the next start tries again */
	pthread_mutex_lock(&r->all->lock);
	r->trouble[0] = '\0';
	pthread_mutex_unlock(&r->all->lock);
	store_write(r->all->store, forget_driven, r, &err);
	live_guard_dismiss(r);
}

static void finish(struct live_run *r)
{
	bool complete;
	struct err err = {0};

	if (r->wish.mode == LIVE_DRIVEN)
		make_safe(r);
	live_traces_store(r);
	pthread_mutex_lock(&r->all->lock);
	complete = !r->why[0];
	r->phase = complete ? LIVE_FINISHED : LIVE_STOPPED;
	if (complete)
		snprintf(r->sentence, sizeof r->sentence, "all points are read");
	else
		snprintf(r->sentence, sizeof r->sentence, "stopped: %s", r->why);
	r->ended = true;
	pthread_mutex_unlock(&r->all->lock);
	live_note(r, complete ? "finish" : "stop", complete ? NULL : json_pack("{s:s}", "why", r->why), &err);
	live_unwatch(r->in.channel);
	live_unwatch(r->out.channel);
	live_beside_unwatch(r);
}

void *live_run_loop(void *arg)
{
	struct live_run *r = arg;

	r->began_s = live_now_s();
	r->in.heard_s = r->out.heard_s = r->began_s;
	next_point(r);
	while (!is_stopped(r)) {
		step(r);
		pause_ms(TICK_MS);
	}
	finish(r);
	return NULL;
}
