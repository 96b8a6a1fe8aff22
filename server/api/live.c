/* Live values, as they come: a stream of events (text/event-stream) of one or several channels. */
#include "api/api.h"
#include "api/handlers.h"

#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/time.h"
#include "domain/channel.h"
#include "domain/live.h"
#include "http/stream.h"
#include "channel_json.h"
#include "listing.h"

#define CHANNELS_MAX 100
#define EVENT_MAX    2048  /* bytes; the texts of a channel are bounded */
#define QUIET_MS     10000 /* a comment at least so often, so that both ends notice who has gone */

struct watching {
	struct live *live;
	struct live_channel *channels[CHANNELS_MAX];
	atomic_bool news[CHANNELS_MAX];
	size_t n;
	struct http_stream *stream;
	struct live_listener listener;
	bool listens;
	int64_t said_at;
};

json_t *channel_state_json(struct live_channel *c, const struct live_state *s)
{
	return json_pack("{s:s, s:I, s:b, s:o, s:s, s:o, s:o, s:b, s:s, s:s, s:s, s:s}", "channel", live_id(c),
			 "number", (json_int_t)s->number, "good", s->good, "value", json_number_or_null(s->last.value),
			 "unit", live_unit(c), "at", json_time_or_null(s->last.at_ms), "status",
			 channel_status_json(s->last.status), "blocks", (s->last.status & FIELD_BLOCKS) != 0, "why",
			 s->why, "from", live_words(c), "device", s->identified ? s->device.device_id : "", "tag",
			 s->identified ? s->device.tag : "");
}

static int write_event(struct live_channel *c, char *out, size_t room)
{
	struct live_state s;
	json_t *json;
	char *text;
	int size;

	live_look(c, &s);
	json = channel_state_json(c, &s);
	text = json ? json_dumps(json, JSON_COMPACT | JSON_REAL_PRECISION(15)) : NULL;
	json_decref(json);
	size = snprintf(out, room, "event: value\ndata: %s\n\n", text ? text : "{}");
	free(text);
	return size > 0 && (size_t)size < room ? size : 0;
}

/* As many events as there is room for; the next call says the others. */
static long say(void *context, char *out, size_t room)
{
	struct watching *w = context;
	int64_t now = time_now_ms();
	size_t size = 0;

	for (size_t i = 0; i < w->n && (!size || room - size >= EVENT_MAX); i++) {
		int written;

		if (!atomic_exchange(&w->news[i], false))
			continue;
		written = write_event(w->channels[i], out + size, room - size);
		if (!written)
			return -1;
		size += (size_t)written;
	}
	if (!size && now - w->said_at >= QUIET_MS)
		size = (size_t)snprintf(out, room, ": here\n\n");
	if (size)
		w->said_at = now;
	return (long)size;
}

static void let_go(struct watching *w)
{
	if (w->listens)
		live_unlisten(w->live, &w->listener);
	for (size_t i = 0; i < w->n; i++)
		live_unwatch(w->channels[i]);
	free(w);
}

static void closed(void *context)
{
	let_go(context);
}

static void news(void *context, const struct live_channel *c)
{
	struct watching *w = context;

	for (size_t i = 0; c && i < w->n; i++) {
		if (w->channels[i] == c) {
			atomic_store(&w->news[i], true);
			http_stream_wake(w->stream);
			return;
		}
	}
	if (!c)
		http_stream_wake(w->stream);
}

static enum status watch_all(struct request *req, struct watching *w, struct err *err)
{
	const char *at = listing_query(req, "channels");
	enum status rc = OK;

	if (!at)
		return err_set(err, INVALID, "channels", "channels must name 1 to %d channels", CHANNELS_MAX);
	while (!rc && at) {
		size_t length = strcspn(at, ",");
		char id[UUID_SIZE] = "";

		if (length == UUID_SIZE - 1)
			memcpy(id, at, length);
		if (w->n == CHANNELS_MAX || !uuid_is_valid(id))
			return err_set(err, INVALID, "channels", "channels must be 1 to %d ids, separated by commas",
				       CHANNELS_MAX);
		atomic_init(&w->news[w->n], true);
		rc = live_watch(w->live, id, &w->channels[w->n], err);
		w->n += !rc;
		at = at[length] ? at + length + 1 : NULL;
	}
	return rc;
}

enum status api_live_stream(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct watching *w = calloc(1, sizeof *w);
	enum status rc;

	if (!w)
		return err_set(&reply->err, NO_MEMORY, "", "out of memory");
	w->live = app->live;
	w->said_at = time_now_ms();
	rc = watch_all(req, w, &reply->err);
	if (!rc)
		w->stream = http_stream_new(&(struct http_stream_source){say, closed, w});
	if (!rc && !w->stream)
		rc = err_set(&reply->err, NO_MEMORY, "", "out of memory");
	if (rc) {
		let_go(w);
		return rc;
	}
	w->listener = (struct live_listener){.news = news, .context = w};
	w->listens = true;
	live_listen(w->live, &w->listener);
	reply->stream = w->stream;
	return OK;
}
