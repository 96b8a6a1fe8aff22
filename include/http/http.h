/*
 * Requests, replies and routes, independent of the socket library: handlers see only this header, so tests call them
 * without a network.
 */
#ifndef HTTP_HTTP_H
#define HTTP_HTTP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include "base/arena.h"
#include "base/json.h"
#include "base/status.h"

#define PATH_PARAMS_MAX 3

struct request;
struct reply;
struct http_stream; /* http/stream.h */

/* What a handler needs from the store; the application's own code opens it around the handler. */
enum route_mode {
	ROUTE_PLAIN, /* nothing */
	ROUTE_READ,  /* a read snapshot */
	ROUTE_DRAW,  /* the same for what takes more than a few milliseconds, drawn or long, beside other requests */
	ROUTE_FILE,  /* nothing; the body is a file, not JSON: body_text and body_size, of any type */
	ROUTE_WRITE  /* runs as one transaction on the writer thread; the reply goes out after the commit */
};

struct route {
	const char *method;
	const char *
		pattern; /* "/api/v1/instruments/{id}/schedules": {..} takes one segment; "*": any path no other takes */
	int needs;	 /* permission, see domain/permission.h; the application's allow() judges it */
	enum route_mode mode;
	bool confirms; /* the body's "password" (and "sign_in", if given) is checked first, outside the transaction */
	enum status (*handler)(struct request *req, struct reply *reply);
};

struct request {
	const char *method;
	const char *path;		     /* percent-decoded */
	const char *params[PATH_PARAMS_MAX]; /* what stood at the {..} of the pattern, in order */
	json_t *body;			     /* NULL when there is none; borrowed */
	const char *body_text;		     /* the bytes received, not terminated */
	size_t body_size;
	const char *(*query)(struct request *req,
			     const char *name); /* a query parameter; NULL when absent, "" without value */
	const char *(*header)(struct request *req, const char *name); /* NULL when absent */
	const char *cookie;					      /* value of the session cookie, NULL without */
	const char *remote;					      /* address of the client, for throttling */
	bool secure;						      /* came over TLS */
	struct arena arena;					      /* cleared after the reply has been sent */
	void *app;	   /* struct app of the caller; http never looks inside */
	void *db;	   /* struct db, for ROUTE_READ and ROUTE_WRITE */
	const void *actor; /* struct actor of the signed-in person; NULL when nobody is */
	void *connection;  /* for query and header */
};

/* A handler fills json (owned by the reply), or bytes, and returns OK; or fills err and returns its status. */
struct reply {
	int http_status; /* 200 unless the handler says 201 or 204 */
	json_t *json;
	const char *content_type; /* of bytes */
	char *bytes;		  /* owned: freed with free(); used when json is NULL */
	size_t size;
	FILE *file; /* owned: a temporary file that is the content, for what is too long to hold; used when bytes is NULL */
	const char *borrowed;	    /* bytes that live as long as the program (pages); used when file is NULL too */
	struct http_stream *stream; /* owned: goes on until the reader leaves; used before anything else */
	char etag[64];		    /* sent as ETag when not empty, quotes included */
	char location[160];	    /* sent as Location when not empty */
	char set_cookie[256];
	char file_name[128]; /* sent in Content-Disposition: inline when not empty */
	char allow[64];	     /* sent as Allow when not empty: filled by http_dispatch for a method that is not known */
	const char *cache;   /* Cache-Control; NULL means no-store */
	/* For a write: builds json after the commit, with a fresh read snapshot in req->db, so that the writer is free for the
	 * next transaction meanwhile. NULL when the handler has filled json itself. */
	enum status (*after)(struct request *req, struct reply *reply);
	struct err err;
};

/* Hooks of the application around a handler, so that http knows neither accounts nor the store. All are needed. */
struct http_hooks {
	/* Who is calling: sets req->actor from the cookie, or leaves it NULL. */
	enum status (*identify)(struct request *req, struct err *err);
	/* May this caller use the route? UNAUTHENTICATED or FORBIDDEN otherwise. */
	enum status (*allow)(const struct request *req, const struct route *route, struct err *err);
	/* True when a state-changing request carries the session's own token (X-Session-Token). Origin is judged by http. */
	bool (*token_fits)(const struct request *req);
	/* Checks the password in the body for routes that confirm. */
	enum status (*confirm)(struct request *req, struct err *err);
	/* Runs the handler in the route's mode, with idempotency for a write that carries a key. */
	enum status (*run)(const struct route *route, struct request *req, struct reply *reply);
};

/*
 * Finds the route, identifies the caller, checks Origin or token for writes, permission and confirmation, runs the
 * handler and turns a failure into problem details (RFC 9457): {"type", "title", "status", "detail", "errors":
 * [{"pointer", "detail"}]}. HEAD is answered as GET. A known path with another method gets 405 with Allow.
 * Of several routes that fit, the first in the list wins. routes ends with a NULL method.
 */
void http_dispatch(const struct route *routes, const struct http_hooks *hooks, struct request *req,
		   struct reply *reply);

/* True when the body of this request is a file. */
bool http_takes_file(const struct route *routes, struct request *req);

/* True for what should not hold up other requests: a change, which waits for the disk, and ROUTE_DRAW. */
bool http_may_take_long(const struct route *routes, struct request *req);

/* HTTP status of a failure, and the problem document for it (new reference). Of a failure of ours (500) the browser is told
 * only that it happened. */
int http_status_of(enum status status);
json_t *http_problem(int http_status, const struct err *err);

/* If-Match of the request as the row version it names ("v3" -> 3). MATCH_REQUIRED when absent, STALE when it is no version tag. */
enum status http_if_match(struct request *req, int *version, struct err *err);
void http_etag(struct reply *reply, int version); /* sets ETag: "v3" */

#endif
