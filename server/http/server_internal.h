/* Between the files of the socket side. */
#ifndef SERVER_HTTP_SERVER_INTERNAL_H
#define SERVER_HTTP_SERVER_INTERNAL_H

#include <microhttpd.h>
#include <netinet/in.h>
#include <stdatomic.h>
#include <stdint.h>

#include "http/server.h"
#include "http/stream.h"

#define SESSION_COOKIE "loopledger_session"

struct exchange; /* one request, server.c */
struct workers;
struct streams;

struct http_server {
	struct MHD_Daemon *daemon;
	struct workers *workers;
	struct streams *streams;
	struct http_config config;
	_Atomic size_t buffered, filed; /* bytes of bodies and of files held right now, over all requests */
	_Atomic int in_flight;		/* requests begun and not yet answered */
};

/* Threads that call run, each with what was added, in that order. NULL when there are none to be had. */
struct workers *workers_new(void (*run)(struct exchange *x));
bool workers_add(struct workers *w,
		 struct exchange *x); /* false once they are stopping: then x is the caller's still */
void workers_stop(struct workers *w); /* what was added is run first */
void workers_free(struct workers *w);
struct exchange **exchange_next(struct exchange *x); /* the place where workers keep what comes after it */

#define STREAMS_MAX 120 /* of 512 connections, 128 a peer */

/* The streams that are open. A stream that is sent belongs to its response. */
struct streams *streams_new(void);
bool streams_room(struct streams *list);
/* NULL when there is no room or no memory: then the stream is the caller's still. */
struct MHD_Response *streams_response(struct streams *list, struct http_stream *s, struct MHD_Connection *conn);
void streams_end(struct streams *list); /* each ends at its next asking, and no more are taken */
void streams_free(struct streams *list);

/* Sends the reply, and with it gives up its bytes. */
enum MHD_Result server_send(struct http_server *server, struct MHD_Connection *conn, struct request *req,
			    struct reply *reply);

/* True when the Host header names this server: its address, localhost, or one of names (comma-separated, may be NULL). */
bool server_host_is_ours(struct MHD_Connection *conn, const char *names);

/* The client's address as text into out; "" when it is unknown. */
void server_remote(struct MHD_Connection *conn, char out[INET6_ADDRSTRLEN]);

/* Value of the session cookie when exactly one is sent and it is a plain token; NULL otherwise. */
const char *server_cookie(struct MHD_Connection *conn);

/* The address to bind, IPv4 or IPv6. INVALID when listen is no address. */
enum status server_address(const char *listen, uint16_t port, struct sockaddr_storage *out, struct err *err);

#endif
