/* The socket side of http: libmicrohttpd in, http_dispatch out. */
#ifndef HTTP_SERVER_H
#define HTTP_SERVER_H

#include <stdint.h>
#include "http/http.h"

struct http_server;

struct http_config {
	const char *listen; /* IPv4 or IPv6 address to bind; NULL means 127.0.0.1 */
	uint16_t port;	    /* 0 picks a free one */
	const char *
		host_names; /* names besides the address and localhost under which pages may be asked for, comma-separated; NULL */
	const char *tls_certificate, *tls_key; /* PEM text; both or none */
	size_t body_max;		       /* bytes; a longer request is answered 413 */
	size_t file_max;		       /* bytes, the same for ROUTE_FILE */
	unsigned threads;		       /* 1..16 */
	unsigned timeout_s;		       /* a connection silent for so long is closed; 0 means 30 */
	const struct route *routes;
	const struct http_hooks *hooks;
	void *app; /* handed to every request */
};

enum status http_server_start(struct http_server **out, const struct http_config *config, struct err *err);
uint16_t http_server_port(const struct http_server *server);
void http_server_stop(struct http_server *server); /* waits until what has begun is answered; NULL is allowed */

#endif
