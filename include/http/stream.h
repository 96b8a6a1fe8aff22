/*
 * Replies that go on (text/event-stream, WHATWG HTML "server-sent events"): a handler hands a stream over in reply->stream, and
 * whoever has news wakes it.
 */
#ifndef HTTP_STREAM_H
#define HTTP_STREAM_H

#include <stddef.h>

struct http_stream;

struct http_stream_source {
	/* Writes what there is to say, at most room bytes, and returns how many; 0 when there is nothing yet; < 0: the end. Not
	 * called by two threads at once, and never after closed. */
	long (*say)(void *context, char *out, size_t room);
	/* The reader has gone, or the program stops: context is given back. From here on http_stream_wake must not be called. */
	void (*closed)(void *context);
	void *context;
};

/* NULL without memory; then context stays the caller's. */
struct http_stream *http_stream_new(const struct http_stream_source *source);
/* There is something to say. From any thread, and from within locks that say does not take. */
void http_stream_wake(struct http_stream *stream);
/* For a stream that was never handed over, or could not be sent. */
void http_stream_free(struct http_stream *stream);

#endif
