#include "live_internal.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/time.h"

#define STACK_SIZE (256u << 10)
#define TICK_MS	   5000 /* listeners hear at least so often, so that they notice who has gone */

void live_tell(struct live *live, const struct live_channel *c)
{
	pthread_mutex_lock(&live->ears);
	for (struct live_listener *l = live->listeners; l; l = l->next)
		l->news(l->context, c);
	pthread_mutex_unlock(&live->ears);
}

void live_listen(struct live *live, struct live_listener *listener)
{
	pthread_mutex_lock(&live->ears);
	listener->next = live->listeners;
	live->listeners = listener;
	pthread_mutex_unlock(&live->ears);
}

void live_unlisten(struct live *live, struct live_listener *listener)
{
	pthread_mutex_lock(&live->ears);
	for (struct live_listener **at = &live->listeners; *at; at = &(*at)->next) {
		if (*at == listener) {
			*at = listener->next;
			break;
		}
	}
	pthread_mutex_unlock(&live->ears);
}

static void until_in(struct timespec *out, int ms)
{
	clock_gettime(CLOCK_MONOTONIC, out);
	out->tv_sec += ms / 1000;
	out->tv_nsec += ms % 1000 * 1000000L;
	if (out->tv_nsec >= 1000000000L) {
		out->tv_sec++;
		out->tv_nsec -= 1000000000L;
	}
}

static void monotonic_cond(pthread_cond_t *cond)
{
	pthread_condattr_t attr;

	pthread_condattr_init(&attr);
	pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
	pthread_cond_init(cond, &attr);
	pthread_condattr_destroy(&attr);
}

/* ---- one channel ---- */

/* A new connection: who is there? A protocol that cannot say is no obstacle; the wrong device is. */
static enum status connect_and_ask(struct live_channel *c, struct field_identity *device, bool *identified,
				   struct err *err)
{
	enum status rc = field_open(&c->source, &c->config, err);

	if (rc) {
		c->source = NULL;
		return rc;
	}
	*identified = !field_identify(c->source, device, err);
	rc = *identified ? channel_fits_device(&c->row, device, err) : err->status == BUSY ? BUSY : OK;
	if (rc) {
		field_close(c->source);
		c->source = NULL;
	}
	return rc;
}

/* Under io. */
static enum status look(struct live_channel *c, struct field_reading *reading, struct field_identity *device,
			bool *identified, struct err *err)
{
	enum status rc = c->source ? OK : connect_and_ask(c, device, identified, err);

	if (rc)
		return rc;
	rc = field_read(c->source, reading, err);
	if (rc == BUSY) {
		field_close(c->source); /* and asked anew who is there */
		c->source = NULL;
	}
	return rc;
}

enum status live_unit_fits(const struct live_channel *c, const struct field_reading *reading, struct err *err)
{
	if (!reading->unit[0] || !strcmp(reading->unit, c->config.unit))
		return OK;
	return err_set(err, FAILED, "", "the device answers in %s, the channel is set to %s", reading->unit,
		       c->config.unit);
}

void live_keep(struct live_channel *c, enum status rc, const struct field_reading *reading, const struct err *err)
{
	struct live_state *s = &c->state;
	struct live_sample *sample = &c->kept[s->number % LIVE_KEPT];

	s->good = !rc;
	if (rc) {
		snprintf(s->why, sizeof s->why, "%s", err->message);
		*sample = (struct live_sample){time_now_ms(), NAN, FIELD_BAD};
	} else {
		s->last = *reading;
		if (!s->last.unit[0])
			snprintf(s->last.unit, sizeof s->last.unit, "%s", c->config.unit);
		s->why[0] = '\0';
		*sample = (struct live_sample){reading->at_ms, reading->value, reading->status};
	}
	s->number++;
}

static void look_once(struct live_channel *c)
{
	struct field_reading reading = {.value = NAN};
	struct field_identity device = {0};
	bool asked, identified = false;
	struct err err = {0};
	enum status rc;

	pthread_mutex_lock(&c->io);
	asked = !c->source;
	rc = look(c, &reading, &device, &identified, &err);
	if (!rc)
		rc = live_unit_fits(c, &reading, &err);
	pthread_mutex_unlock(&c->io);
	pthread_mutex_lock(&c->lock);
	if (asked) {
		c->state.identified = identified;
		c->state.device = device;
	}
	live_keep(c, rc, &reading, &err);
	pthread_mutex_unlock(&c->lock);
	live_tell(c->live, c);
}

/* False when it is to stop. Looks are spaced by their beginnings, so that a slow device does not drift. */
static bool wait_for_turn(struct live_channel *c, struct timespec *next)
{
	struct timespec now;
	bool go_on;

	next->tv_sec += c->period_ms / 1000;
	next->tv_nsec += c->period_ms % 1000 * 1000000L;
	if (next->tv_nsec >= 1000000000L) {
		next->tv_sec++;
		next->tv_nsec -= 1000000000L;
	}
	clock_gettime(CLOCK_MONOTONIC, &now);
	if (now.tv_sec > next->tv_sec || (now.tv_sec == next->tv_sec && now.tv_nsec > next->tv_nsec))
		*next = now; /* late: what was missed is not made up for */
	pthread_mutex_lock(&c->lock);
	while (!c->stop && pthread_cond_timedwait(&c->wake, &c->lock, next) != ETIMEDOUT)
		;
	go_on = !c->stop;
	pthread_mutex_unlock(&c->lock);
	return go_on;
}

static void channel_free(struct live_channel *c)
{
	field_close(c->source);
	pthread_mutex_destroy(&c->io);
	pthread_mutex_destroy(&c->lock);
	pthread_cond_destroy(&c->wake);
	arena_clear(&c->arena);
	free(c);
}

static void *channel_loop(void *arg)
{
	struct live_channel *c = arg;
	struct live *live = c->live;
	struct timespec next;

	clock_gettime(CLOCK_MONOTONIC, &next);
	do {
		if (c->config.protocol == FIELD_HART_BROWSER)
			live_feed_look(c);
		else
			look_once(c);
	} while (wait_for_turn(c, &next));
	channel_free(c);
	pthread_mutex_lock(&live->lock);
	live->threads--;
	pthread_cond_broadcast(&live->gone);
	pthread_mutex_unlock(&live->lock);
	return NULL;
}

static enum status read_row(struct live_channel *c, struct store *store, struct err *err)
{
	struct db *db = store_read_begin(store);
	enum status rc = store_channel_get(db, c->id, &c->arena, &c->row, err);

	store_read_end(store, db);
	if (!rc)
		rc = channel_config(&c->row, &c->config, err);
	if (rc)
		return rc;
	c->period_ms = c->row.period_ms;
	channel_words(&c->config, c->words, sizeof c->words);
	snprintf(c->name, sizeof c->name, "%s %s", c->row.label, c->row.side);
	return OK;
}

static enum status channel_start(struct live *live, struct live_channel *c, struct err *err)
{
	pthread_attr_t attr;
	pthread_t thread;
	int failed;

	pthread_attr_init(&attr);
	pthread_attr_setstacksize(&attr, STACK_SIZE);
	pthread_attr_setdetachstate(&attr, PTHREAD_CREATE_DETACHED);
	failed = pthread_create(&thread, &attr, channel_loop, c);
	pthread_attr_destroy(&attr);
	if (failed)
		return err_set(err, BUSY, "", "no more channels can be read at once");
	live->threads++;
	return OK;
}

static struct live_channel *channel_new(struct live *live, const char *id)
{
	struct live_channel *c = calloc(1, sizeof *c);

	if (!c)
		return NULL;
	c->live = live;
	c->watchers = 1;
	snprintf(c->id, sizeof c->id, "%s", id);
	pthread_mutex_init(&c->io, NULL);
	pthread_mutex_init(&c->lock, NULL);
	monotonic_cond(&c->wake);
	c->state.last.value = NAN;
	snprintf(c->state.why, sizeof c->state.why, "connecting");
	return c;
}

static struct live_channel *find(const struct live *live, const char *id)
{
	for (struct live_channel *c = live->first; c; c = c->next)
		if (!strcmp(c->id, id))
			return c;
	return NULL;
}

enum status live_watch(struct live *live, const char *channel_id, struct live_channel **out, struct err *err)
{
	struct live_channel *c;
	enum status rc = OK;

	pthread_mutex_lock(&live->lock);
	c = find(live, channel_id);
	if (c) {
		c->watchers++;
	} else {
		c = channel_new(live, channel_id);
		rc = c ? read_row(c, live->store, err) : err_set(err, NO_MEMORY, "", "out of memory");
		if (!rc)
			rc = channel_start(live, c, err);
		if (!rc) {
			c->next = live->first;
			live->first = c;
		} else if (c) {
			channel_free(c);
		}
	}
	pthread_mutex_unlock(&live->lock);
	if (!rc)
		*out = c;
	return rc;
}

void live_watch_too(struct live_channel *c)
{
	pthread_mutex_lock(&c->live->lock);
	c->watchers++;
	pthread_mutex_unlock(&c->live->lock);
}

void live_unwatch(struct live_channel *c)
{
	struct live *live = c->live;
	bool last;

	pthread_mutex_lock(&live->lock);
	last = --c->watchers == 0;
	for (struct live_channel **at = &live->first; last && *at; at = &(*at)->next) {
		if (*at == c) {
			*at = c->next;
			break;
		}
	}
	pthread_mutex_unlock(&live->lock);
	if (!last)
		return;
	pthread_mutex_lock(&c->lock);
	c->stop = true;
	pthread_cond_signal(&c->wake);
	pthread_mutex_unlock(&c->lock);
}

void live_look(struct live_channel *c, struct live_state *out)
{
	pthread_mutex_lock(&c->lock);
	*out = c->state;
	pthread_mutex_unlock(&c->lock);
}

size_t live_samples(struct live_channel *c, unsigned long long after, struct live_sample *out, size_t room)
{
	unsigned long long from;
	size_t n = 0;

	pthread_mutex_lock(&c->lock);
	from = c->state.number > LIVE_KEPT ? c->state.number - LIVE_KEPT : 0;
	if (from < after)
		from = after;
	if (c->state.number > room && from < c->state.number - room)
		from = c->state.number - room;
	while (from < c->state.number)
		out[n++] = c->kept[from++ % LIVE_KEPT];
	pthread_mutex_unlock(&c->lock);
	return n;
}

unsigned long long live_number(struct live_channel *c)
{
	unsigned long long number;

	pthread_mutex_lock(&c->lock);
	number = c->state.number;
	pthread_mutex_unlock(&c->lock);
	return number;
}

double live_period_s(const struct live_channel *c)
{
	return c->period_ms / 1000.0;
}

const char *live_id(const struct live_channel *c)
{
	return c->id;
}

const char *live_label(const struct live_channel *c)
{
	return c->row.label;
}

const char *live_unit(const struct live_channel *c)
{
	return c->config.unit;
}

const char *live_words(const struct live_channel *c)
{
	return c->words;
}

const char *live_name(const struct live_channel *c)
{
	return c->name;
}

const struct field_config *live_config(const struct live_channel *c)
{
	return &c->config;
}

enum status live_drive(struct live_channel *c, double value, struct err *err)
{
	enum status rc;

	pthread_mutex_lock(&c->io);
	rc = c->source ? field_drive(c->source, value, err) :
			 err_set(err, BUSY, "", "%s is not connected", c->row.label);
	pthread_mutex_unlock(&c->io);
	return rc;
}

enum status live_safe(struct live_channel *c, struct err *err)
{
	enum status rc = OK;

	pthread_mutex_lock(&c->io);
	if (!c->source)
		rc = field_open(&c->source, &c->config, err);
	if (!rc)
		rc = field_safe(c->source, err);
	else
		c->source = NULL;
	pthread_mutex_unlock(&c->io);
	return rc;
}

/* ---- the hub ---- */

static void *tick_loop(void *arg)
{
	struct live *live = arg;
	struct timespec next;
	bool stop = false;

	while (!stop) {
		until_in(&next, TICK_MS);
		pthread_mutex_lock(&live->lock);
		while (!live->stop && pthread_cond_timedwait(&live->tick, &live->lock, &next) != ETIMEDOUT)
			;
		stop = live->stop;
		pthread_mutex_unlock(&live->lock);
		live_tell(live, NULL);
	}
	return NULL;
}

enum status live_new(struct live **out, struct store *store, struct err *err)
{
	struct live *live = calloc(1, sizeof *live);

	if (!live)
		return err_set(err, NO_MEMORY, "", "out of memory");
	live->store = store;
	pthread_mutex_init(&live->lock, NULL);
	pthread_mutex_init(&live->ears, NULL);
	pthread_cond_init(&live->gone, NULL);
	monotonic_cond(&live->tick);
	if (pthread_create(&live->ticker, NULL, tick_loop, live)) {
		free(live);
		return err_set(err, FAILED, "", "cannot start a thread");
	}
	*out = live;
	return OK;
}

void live_free(struct live *live)
{
	if (!live)
		return;
	live_feeds_end(live);
	pthread_mutex_lock(&live->lock);
	live->stop = true;
	pthread_cond_signal(&live->tick);
	while (live->threads > 0)
		pthread_cond_wait(&live->gone, &live->lock);
	pthread_mutex_unlock(&live->lock);
	pthread_join(live->ticker, NULL);
	pthread_mutex_destroy(&live->lock);
	pthread_mutex_destroy(&live->ears);
	pthread_cond_destroy(&live->gone);
	pthread_cond_destroy(&live->tick);
	free(live);
}
