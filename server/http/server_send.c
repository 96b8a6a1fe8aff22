/* Replies on their way out. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "server_internal.h"

/* Only our own scripts, forms and pages; WebAssembly for the metrology core, the camera for reading tag labels. */
static const char *const on_every_reply[][2] = {
	{"Content-Security-Policy", "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; object-src 'none'; "
				    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"},
	{"X-Content-Type-Options", "nosniff"},
	{"Referrer-Policy", "same-origin"},
	{"Permissions-Policy", "camera=(self)"},
	{"Cross-Origin-Opener-Policy", "same-origin"},
};

static void add(struct MHD_Response *response, const char *name, const char *value)
{
	if (value && *value)
		MHD_add_response_header(response, name, value);
}

/* RFC 6266: a name all can read, and the true one as RFC 8187 writes it. */
static void add_file_name(struct MHD_Response *response, const char *name)
{
	char value[64 + 4 * sizeof((struct reply *)0)->file_name], plain[sizeof((struct reply *)0)->file_name];
	size_t at;

	for (at = 0; name[at]; at++) {
		unsigned char c = (unsigned char)name[at];

		plain[at] = c < 0x20 || c > 0x7e || strchr("\"\\%/", c) ? '_' : (char)c;
	}
	plain[at] = '\0';
	snprintf(value, sizeof value, "inline; filename=\"%s\"", plain);
	if (strcmp(plain, name) != 0) {
		at = strlen(value);
		at += (size_t)snprintf(value + at, sizeof value - at, "; filename*=UTF-8''");
		for (; *name && at + 4 < sizeof value; name++) {
			bool letter = (*name >= '0' && *name <= '9') || (*name >= 'A' && *name <= 'Z') ||
				      (*name >= 'a' && *name <= 'z') || *name == '.' || *name == '-' || *name == '_';

			at += (size_t)snprintf(value + at, sizeof value - at, letter ? "%c" : "%%%02X",
					       (unsigned char)*name);
		}
	}
	add(response, "Content-Disposition", value);
}

/* If-None-Match against one tag: "*", or a list in which it stands, weak or strong (RFC 9110 13.1.2). The tag's quotes keep it
 * from being found inside another. */
static bool browser_has_it(struct request *req, const struct reply *reply)
{
	const char *list;

	if (!reply->etag[0] || reply->http_status != 200 ||
	    (strcmp(req->method, "GET") != 0 && strcmp(req->method, "HEAD") != 0))
		return false;
	list = req->header(req, "If-None-Match");
	return list && (!strcmp(list, "*") || strstr(list, reply->etag));
}

/* 15 digits print 0.1 as 0.1; the default 17 of Jansson 2.14 prints 0.10000000000000001. */
static char *document(const json_t *json)
{
	return json_dumps(json, JSON_COMPACT | JSON_REAL_PRECISION(15) | JSON_ENCODE_ANY);
}

/* MHD closes its copy of the descriptor when it has sent the file. */
static struct MHD_Response *with_file(FILE *file)
{
	int fd = dup(fileno(file));
	struct stat st;
	struct MHD_Response *r = NULL;

	if (fd >= 0 && !fstat(fd, &st))
		r = MHD_create_response_from_fd64((uint64_t)st.st_size, fd);
	if (!r && fd >= 0)
		close(fd);
	return r;
}

static struct MHD_Response *with_content(struct reply *reply)
{
	if (reply->json) {
		free(reply->bytes);
		reply->bytes = document(reply->json);
		if (!reply->bytes)
			return NULL;
		reply->size = strlen(reply->bytes);
	}
	if (reply->bytes) {
		char *bytes = reply->bytes;
		struct MHD_Response *r = MHD_create_response_from_buffer(reply->size, bytes, MHD_RESPMEM_MUST_FREE);

		if (r)
			reply->bytes = NULL;
		return r;
	}
	if (reply->file)
		return with_file(reply->file);
	return MHD_create_response_from_buffer(reply->borrowed ? reply->size : 0, (void *)(uintptr_t)reply->borrowed,
					       MHD_RESPMEM_PERSISTENT);
}

/* From here on the stream belongs to the response. */
static struct MHD_Response *with_stream(struct http_server *server, struct MHD_Connection *conn, struct reply *reply)
{
	struct MHD_Response *response = streams_response(server->streams, reply->stream, conn);

	if (response)
		reply->stream = NULL;
	reply->content_type = "text/event-stream";
	return response;
}

/* In seconds (RFC 9110 10.2.3); the writer's queue empties in less than two. */
static void add_retry_after(struct MHD_Response *response, int seconds)
{
	char text[16];

	snprintf(text, sizeof text, "%d", seconds > 0 ? seconds : 2);
	add(response, "Retry-After", text);
}

static void add_headers(struct MHD_Response *response, const struct reply *reply)
{
	for (size_t i = 0; i < sizeof on_every_reply / sizeof *on_every_reply; i++)
		add(response, on_every_reply[i][0], on_every_reply[i][1]);
	add(response, "Cache-Control", reply->cache ? reply->cache : "no-store");
	add(response, "ETag", reply->etag);
	add(response, "Location", reply->location);
	add(response, "Set-Cookie", reply->set_cookie);
	add(response, "Allow", reply->allow);
	if (reply->file_name[0])
		add_file_name(response, reply->file_name);
	if (reply->http_status == 401)
		add(response, "WWW-Authenticate", "Bearer realm=\"loopledger\"");
	if (reply->http_status == 429 || reply->http_status == 503)
		add_retry_after(response, reply->err.retry_after_s);
}

enum MHD_Result server_send(struct http_server *server, struct MHD_Connection *conn, struct request *req,
			    struct reply *reply)
{
	struct reply nothing = {0};
	bool unchanged = browser_has_it(req, reply);
	struct MHD_Response *response = reply->stream ? with_stream(server, conn, reply) :
							with_content(unchanged ? &nothing : reply);
	enum MHD_Result queued;

	if (!response)
		return MHD_NO; /* no memory: the connection is dropped */
	if (unchanged)
		reply->http_status = 304;
	add_headers(response, reply);
	if (!unchanged && (reply->json || reply->content_type))
		add(response, "Content-Type", reply->content_type ? reply->content_type : "application/json");
	queued = MHD_queue_response(conn, (unsigned)reply->http_status, response);
	MHD_destroy_response(response);
	return queued;
}
