#include "metrology/steady.h"
#include "number.h"
#include "words.h"

/* Clocks count in binary fractions of a second: a window of 10 s may come out a hair short. */
#define SLACK_S 1e-6

static double at(const struct steady *s, size_t i)
{
	return s->t_s[(s->first + i) % STEADY_SAMPLES];
}

static double value_at(const struct steady *s, size_t i)
{
	return s->value[(s->first + i) % STEADY_SAMPLES];
}

static double span(const struct steady *s)
{
	return s->count ? at(s, s->count - 1) - at(s, 0) : 0;
}

bool steady_begin(struct steady *s, const struct steady_rule *rule)
{
	struct steady_rule r = *rule;

	*s = (struct steady){0};
	r.window_s = r.window_s == 0 ? 10 : r.window_s;
	r.sample_s = r.sample_s == 0 ? 1 : r.sample_s;
	r.least = r.least == 0 ? 10 : r.least;
	if (!(r.tolerance > 0) || !is_finite(r.tolerance) || !(r.sample_s > 0) || !(r.hold_s >= 0) ||
	    !is_finite(r.hold_s) || r.least < 3 || r.least > STEADY_SAMPLES / 2)
		return false;
	if (!(r.window_s >= 2 * r.sample_s) || !(r.window_s <= r.sample_s * 0.5 * STEADY_SAMPLES))
		return false;
	s->rule = r;
	return true;
}

void steady_clear(struct steady *s)
{
	struct steady_rule r = s->rule;

	*s = (struct steady){.rule = r};
}

static void begin_window(struct steady *s)
{
	s->first = 0;
	s->count = 0;
}

/* Leaves the shortest tail that is as long as the window; with fewer samples than it needs it reaches further back. */
static void drop_old(struct steady *s)
{
	while (s->count > (size_t)s->rule.least && at(s, s->count - 1) - at(s, 1) >= s->rule.window_s - SLACK_S) {
		s->first = (s->first + 1) % STEADY_SAMPLES;
		s->count--;
	}
}

static void put(struct steady *s, double t_s, double value)
{
	size_t i;

	if (s->count == STEADY_SAMPLES) {
		s->first = (s->first + 1) % STEADY_SAMPLES;
		s->count--;
	}
	i = (s->first + s->count++) % STEADY_SAMPLES;
	s->t_s[i] = t_s;
	s->value[i] = value;
	drop_old(s);
}

void steady_add(struct steady *s, double t_s, double value, bool barred)
{
	double passed = t_s - s->now_s;
	bool was_any = s->any;

	if (!is_finite(t_s)) {
		s->barred = true;
		begin_window(s);
		return;
	}
	if (!was_any || passed < 0)
		s->held_from_s = t_s;
	s->now_s = t_s;
	s->any = true;
	s->barred = barred || !is_finite(value);
	if (s->barred) {
		s->after_gap = false;
		begin_window(s);
		return;
	}
	if (was_any && (passed < 0 || passed > 2 * s->rule.sample_s + SLACK_S)) {
		begin_window(s);
		s->after_gap = true;
		s->gap_s = passed;
	}
	put(s, t_s, value);
}

/* Sums about the first sample, so that a large value with a small change keeps its digits. */
static void regress(const struct steady *s, struct steady_result *r)
{
	double n = (double)s->count, t0 = at(s, 0), v0 = value_at(s, 0), st = 0, sv = 0, stt = 0, stv = 0, svv = 0,
	       rest;
	double low = v0, high = v0;

	for (size_t i = 0; i < s->count; i++) {
		st += at(s, i) - t0;
		sv += value_at(s, i) - v0;
		low = smaller(low, value_at(s, i));
		high = larger(high, value_at(s, i));
	}
	st /= n;
	sv /= n;
	for (size_t i = 0; i < s->count; i++) {
		double t = at(s, i) - t0 - st, v = value_at(s, i) - v0 - sv;

		stt += t * t;
		stv += t * v;
		svv += v * v;
	}
	r->mean = v0 + sv;
	r->s = sqrt(svv / (n - 1));
	r->slope = stt > 0 ? stv / stt : NOT_A_NUMBER;
	rest = stt > 0 ? svv - stv * stv / stt : svv;
	r->scatter = sqrt(larger(rest, 0) / (n - 2));
	r->range = high - low;
}

static bool holds(const struct steady *s, struct steady_result *r)
{
	double window_left = s->rule.window_s - span(s), hold_left = s->rule.hold_s - (s->now_s - s->held_from_s);

	if (hold_left > window_left) {
		r->needed_s = s->rule.hold_s;
		r->held_s = r->needed_s - hold_left;
	} else {
		r->needed_s = s->rule.window_s;
		r->held_s = span(s);
	}
	return window_left <= SLACK_S && hold_left <= SLACK_S && s->count >= (size_t)s->rule.least;
}

static enum steady_reason reason(const struct steady *s, struct steady_result *r)
{
	double quarter = s->rule.tolerance / 4;
	bool enough = holds(s, r);

	if (!s->any)
		return STEADY_NONE;
	if (s->barred)
		return STEADY_STATUS;
	if (!enough && s->count == STEADY_SAMPLES)
		return STEADY_CROWDED;
	if (!enough)
		return s->after_gap && span(s) < s->rule.window_s - SLACK_S ? STEADY_GAP : STEADY_HOLDING;
	/* Asked this way round, what is no number is never steady. */
	if (!(fabs(r->slope) * larger(span(s), s->rule.window_s) <= quarter))
		return STEADY_MOVING;
	if (!(r->scatter <= quarter) || !(r->range <= s->rule.tolerance))
		return STEADY_NOISY;
	return STEADY_ACCEPTED;
}

struct steady_result steady_judge(const struct steady *s)
{
	struct steady_result r = {.mean = NOT_A_NUMBER,
				  .s = NOT_A_NUMBER,
				  .slope = NOT_A_NUMBER,
				  .scatter = NOT_A_NUMBER,
				  .range = NOT_A_NUMBER,
				  .n = (int)s->count,
				  .gap_s = s->gap_s};

	if (s->count) {
		r.from_s = at(s, 0);
		r.to_s = at(s, s->count - 1);
	}
	if (s->count >= 3)
		regress(s, &r);
	r.reason = reason(s, &r);
	return r;
}

static void say_held(struct words *w, const struct steady_result *r)
{
	say(w, "held ");
	say_number(w, floor(r->held_s + SLACK_S), 0, false);
	say(w, " of ");
	say_number(w, r->needed_s, r->needed_s == floor(r->needed_s) ? 0 : 1, false);
	say(w, " s");
}

void steady_words(const struct steady_result *r, char out[STEADY_WORDS_SIZE])
{
	struct words w = words_begin_sized(out, STEADY_WORDS_SIZE);

	switch (r->reason) {
	case STEADY_NONE:
		say(&w, "no value yet");
		break;
	case STEADY_HOLDING:
		/* The time is there and a sample is not: it will come. */
		if (r->held_s >= r->needed_s - SLACK_S)
			say(&w, "too few values in the window");
		else
			say_held(&w, r);
		break;
	case STEADY_GAP:
		say(&w, "values were missing; ");
		say_held(&w, r);
		break;
	case STEADY_STATUS:
		say(&w, "the device's status forbids it");
		break;
	case STEADY_MOVING:
		say(&w, "still moving");
		break;
	case STEADY_NOISY:
		say(&w, "too noisy");
		break;
	case STEADY_CROWDED:
		say(&w, "values come faster than expected");
		break;
	case STEADY_ACCEPTED:
		say(&w, "steady");
		break;
	}
}
