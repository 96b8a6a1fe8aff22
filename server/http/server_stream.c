/*
 * Streams: libmicrohttpd asks for more, and is put to rest while there is nothing. Whether it rests is kept under a lock that the
 * asking holds too, so that news between "nothing" and resting is not lost.
 */
#include <pthread.h>
#include <stdlib.h>

#include "http/stream.h"
#include "server_internal.h"

#define BLOCK 4096

struct http_stream {
	pthread_mutex_t lock;
	struct http_stream_source source;
	struct MHD_Connection *conn;
	bool resting, ending;
	struct streams *list; /* NULL before it is sent */
	struct http_stream *next, *previous;
};

struct streams {
	pthread_mutex_t lock;
	struct http_stream *first;
	int count;
	bool ending;
};

struct http_stream *http_stream_new(const struct http_stream_source *source)
{
	struct http_stream *s = calloc(1, sizeof *s);

	if (!s)
		return NULL;
	pthread_mutex_init(&s->lock, NULL);
	s->source = *source;
	return s;
}

static void wake(struct http_stream *s, bool end)
{
	pthread_mutex_lock(&s->lock);
	s->ending = s->ending || end;
	if (s->resting) {
		s->resting = false;
		MHD_resume_connection(s->conn);
	}
	pthread_mutex_unlock(&s->lock);
}

void http_stream_wake(struct http_stream *s)
{
	wake(s, false);
}

static void leave(struct http_stream *s)
{
	struct streams *list = s->list;

	if (!list)
		return;
	pthread_mutex_lock(&list->lock);
	if (s->previous)
		s->previous->next = s->next;
	else
		list->first = s->next;
	if (s->next)
		s->next->previous = s->previous;
	list->count--;
	pthread_mutex_unlock(&list->lock);
}

void http_stream_free(struct http_stream *s)
{
	if (!s)
		return;
	leave(s);
	s->source.closed(s->source.context);
	pthread_mutex_destroy(&s->lock);
	free(s);
}

static void on_end(void *cls)
{
	http_stream_free(cls);
}

static ssize_t on_more(void *cls, uint64_t at, char *out, size_t room)
{
	struct http_stream *s = cls;
	long n;

	(void)at;
	pthread_mutex_lock(&s->lock);
	n = s->ending ? -1 : s->source.say(s->source.context, out, room);
	if (n == 0) {
		s->resting = true;
		MHD_suspend_connection(s->conn);
	}
	pthread_mutex_unlock(&s->lock);
	return n < 0 ? MHD_CONTENT_READER_END_OF_STREAM : n;
}

static bool join(struct streams *list, struct http_stream *s)
{
	bool room;

	pthread_mutex_lock(&list->lock);
	room = !list->ending && list->count < STREAMS_MAX;
	if (room) {
		s->list = list;
		s->next = list->first;
		if (list->first)
			list->first->previous = s;
		list->first = s;
		list->count++;
	}
	pthread_mutex_unlock(&list->lock);
	return room;
}

struct MHD_Response *streams_response(struct streams *list, struct http_stream *s, struct MHD_Connection *conn)
{
	if (!join(list, s))
		return NULL;
	s->conn = conn;
	return MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, BLOCK, on_more, s, on_end);
}

bool streams_room(struct streams *list)
{
	bool room;

	pthread_mutex_lock(&list->lock);
	room = !list->ending && list->count < STREAMS_MAX;
	pthread_mutex_unlock(&list->lock);
	return room;
}

void streams_end(struct streams *list)
{
	pthread_mutex_lock(&list->lock);
	list->ending = true;
	for (struct http_stream *s = list->first; s; s = s->next)
		wake(s, true);
	pthread_mutex_unlock(&list->lock);
}

struct streams *streams_new(void)
{
	struct streams *list = calloc(1, sizeof *list);

	if (list)
		pthread_mutex_init(&list->lock, NULL);
	return list;
}

void streams_free(struct streams *list)
{
	if (!list)
		return;
	pthread_mutex_destroy(&list->lock);
	free(list);
}
