/*
 * Channels that a page feeds: its modem asks the device, and the answers come here as they are. They are decoded and judged anew,
 * and from then on nothing tells such a channel from one that is read: who listens, what is steady, what is recorded.
 */
#include "live_internal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/time.h"

#define QUIET_S	      3.0
#define QUIET_PERIODS 3

static double steady_s(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* ---- under the channel's lock ---- */

static bool is_quiet(const struct live_channel *c)
{
	return steady_s() - c->feed.heard_s > fmax(QUIET_S, QUIET_PERIODS * live_period_s(c));
}

/* True: it was on, and the watch that it held is to be given back. */
static bool end_feed(struct live_channel *c)
{
	bool was = c->feed.on;

	c->feed.on = false;
	c->state.identified = false;
	return was;
}

static enum status may_feed(const struct live_channel *c, const struct actor *actor, struct err *err)
{
	if (c->config.protocol != FIELD_HART_BROWSER)
		return err_set(err, CONFLICT, "", "no modem at a browser feeds this channel: it is read from %s",
			       c->words);
	if (!c->feed.on || !strcmp(c->feed.session, actor->session_id) || is_quiet(c))
		return OK;
	return err_set(err, CONFLICT, "",
		       "a modem at the browser of %s feeds %s now; it is to be detached there before another one is",
		       c->feed.who, c->row.label);
}

/* What a lot of answers comes to, before anything of it counts. */
struct lot {
	struct hart_pushed device;
	bool began;
	struct field_reading values[LIVE_ANSWERS_MAX];
	enum status judged[LIVE_ANSWERS_MAX]; /* FAILED: no value, and why */
	struct err why[LIVE_ANSWERS_MAX];
	size_t n;
};

/* The faulty answer by its pointer. */
static enum status name_answer(enum status rc, size_t i, const char *member, struct err *err)
{
	struct err said = *err;
	char pointer[40];

	snprintf(pointer, sizeof pointer, "/frames/%zu/%s", i, member);
	return err_set(err, rc, pointer, "%s", said.message);
}

static enum status take_answer(const struct live_channel *c, const struct live_answer *answer, size_t i,
			       struct lot *lot, struct err *err)
{
	struct field_reading *value = &lot->values[lot->n];
	bool holds;
	enum status rc = hart_pushed_take(&lot->device, &c->config, answer->bytes, answer->size, value, &holds, err);

	if (rc && !(rc == FAILED && holds))
		return name_answer(rc, i, "hex", err);
	if (!holds) {
		lot->began = lot->began || !lot->device.tagged; /* as command 0 leaves it */
		return OK;
	}
	if (!lot->device.tagged) {
		err_set(err, INVALID, "", "the device's tag comes before its values: command 20 or 13");
		return name_answer(INVALID, i, "hex", err);
	}
	if (answer->age_ms > LIVE_AGE_MAX_MS) {
		err_set(err, INVALID, "", "an answer that is older than %d ms says nothing of now", LIVE_AGE_MAX_MS);
		return name_answer(INVALID, i, "age_ms", err);
	}
	value->at_ms = time_now_ms() - answer->age_ms;
	lot->judged[lot->n] = rc ? rc : live_unit_fits(c, value, err);
	lot->why[lot->n++] = *err;
	return OK;
}

static enum status take_lot(const struct live_channel *c, const struct live_answer *answers, size_t n, struct lot *lot,
			    struct err *err)
{
	enum status rc = OK;

	*lot = (struct lot){.device = c->feed.on ? c->feed.device : (struct hart_pushed){0}};
	for (size_t i = 0; i < n && !rc; i++) {
		if (i > 0 && answers[i].age_ms > answers[i - 1].age_ms) {
			err_set(err, INVALID, "", "answers come oldest first");
			return name_answer(INVALID, i, "age_ms", err);
		}
		rc = take_answer(c, &answers[i], i, lot, err);
	}
	if (!rc && !lot->device.tagged)
		return err_set(err, INVALID, "/frames",
			       "the answer that says the device's tag is missing: command 20 or 13");
	return rc ? rc : channel_fits_device(&c->row, &lot->device.device, err);
}

static void begin_feed(struct live_channel *c, const struct actor *actor, const struct lot *lot)
{
	struct err waits;

	snprintf(c->feed.session, sizeof c->feed.session, "%s", actor->session_id);
	snprintf(c->feed.who, sizeof c->feed.who, "%s", actor->name);
	c->feed.on = true;
	c->state.identified = true;
	c->state.device = lot->device.device;
	if (lot->n > 0)
		return;
	err_set(&waits, BUSY, "", "the modem is attached, no value has come yet");
	live_keep(c, BUSY, NULL, &waits);
}

/* Samples go forward in time only. */
static void keep_values(struct live_channel *c, const struct lot *lot)
{
	for (size_t i = 0; i < lot->n; i++) {
		if (lot->values[i].at_ms > c->state.last.at_ms)
			live_keep(c, lot->judged[i], &lot->values[i], &lot->why[i]);
	}
}

/* *held: the feed has begun, and holds the caller's watch from now on. *ended: it has given its own back. */
static enum status push(struct live_channel *c, const struct actor *actor, const struct live_answer *answers, size_t n,
			struct lot *lot, bool *held, bool *ended, struct err *err)
{
	enum status rc = may_feed(c, actor, err);
	bool was_on = c->feed.on;

	if (rc)
		return rc;
	if (c->feed.on && is_quiet(c))
		c->feed.device = (struct hart_pushed){0};
	rc = take_lot(c, answers, n, lot, err);
	if (rc == CONFLICT) { /* somebody else answers: nothing that was known holds any more */
		live_keep(c, rc, NULL, err);
		*ended = end_feed(c);
	}
	if (rc)
		return rc;
	*held = !was_on;
	c->feed.device = lot->device;
	c->feed.heard_s = steady_s();
	if (lot->began)
		begin_feed(c, actor, lot);
	keep_values(c, lot);
	return OK;
}

/* ---- what is offered ---- */

enum status live_push(struct live_channel *c, const struct actor *actor, const struct live_answer *answers, size_t n,
		      bool *began, struct live_state *out, struct err *err)
{
	struct lot lot;
	bool held = false, ended = false;
	enum status rc;

	live_watch_too(c);
	pthread_mutex_lock(&c->lock);
	rc = push(c, actor, answers, n, &lot, &held, &ended, err);
	*out = c->state;
	pthread_mutex_unlock(&c->lock);
	*began = !rc && lot.began;
	live_tell(c->live, c);
	if (ended)
		live_unwatch(c);
	if (!held)
		live_unwatch(c);
	return rc;
}

enum status live_push_end(struct live_channel *c, const struct actor *actor, struct err *err)
{
	struct err detached;
	bool ended = false;
	enum status rc;

	pthread_mutex_lock(&c->lock);
	rc = may_feed(c, actor, err);
	if (!rc && c->feed.on) {
		ended = end_feed(c);
		err_set(&detached, BUSY, "", "%s has detached the modem", c->feed.who);
		live_keep(c, BUSY, NULL, &detached);
	}
	pthread_mutex_unlock(&c->lock);
	if (!ended)
		return rc;
	live_tell(c->live, c);
	live_unwatch(c);
	return rc;
}

void live_feed_look(struct live_channel *c)
{
	bool ended = false, off;
	struct err gone;

	pthread_mutex_lock(&c->lock);
	if (c->feed.on && is_quiet(c))
		ended = end_feed(c);
	off = !c->feed.on;
	if (ended)
		err_set(&gone, BUSY, "", "nothing more comes from the modem at the browser of %s", c->feed.who);
	else if (!c->feed.who[0])
		err_set(&gone, BUSY, "", "no modem is attached at a browser");
	else
		err_set(&gone, BUSY, "", "%s", c->state.why);
	if (off)
		live_keep(c, BUSY, NULL, &gone);
	pthread_mutex_unlock(&c->lock);
	if (off)
		live_tell(c->live, c);
	if (ended)
		live_unwatch(c);
}

void live_feeds_end(struct live *live)
{
	struct live_channel *fed;

	do {
		fed = NULL;
		pthread_mutex_lock(&live->lock);
		for (struct live_channel *c = live->first; c && !fed; c = c->next) {
			pthread_mutex_lock(&c->lock);
			fed = end_feed(c) ? c : NULL;
			pthread_mutex_unlock(&c->lock);
		}
		pthread_mutex_unlock(&live->lock);
		if (fed)
			live_unwatch(fed);
	} while (fed);
}
