/* A server for the tests of http: its routes and hooks, one connection a request, and what came back. */
#ifndef TESTS_UNIT_SERVER_FIXTURE_H
#define TESTS_UNIT_SERVER_FIXTURE_H

#include "support/check.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "http/server.h"

#define BODY_MAX (12u << 20)
#define FILE_MAX 5000

/* The application under the server: no accounts, and handlers that say what reached them. */
static inline enum status identify(struct request *req, struct err *err)
{
	(void)req, (void)err;
	return OK;
}

static inline enum status allow(const struct request *req, const struct route *route, struct err *err)
{
	(void)req, (void)route, (void)err;
	return OK;
}

static inline bool token_fits(const struct request *req)
{
	(void)req;
	return true;
}

static inline enum status confirm(struct request *req, struct err *err)
{
	(void)req, (void)err;
	return OK;
}

static inline enum status run(const struct route *route, struct request *req, struct reply *reply)
{
	return route->handler(req, reply);
}

static const struct http_hooks hooks = {identify, allow, token_fits, confirm, run};

static inline enum status tell(struct request *req, struct reply *reply)
{
	reply->json = json_pack("{s:o, s:o, s:o, s:s, s:I, s:f}", "q", json_text_or_null(req->query(req, "q")), "agent",
				json_text_or_null(req->header(req, "user-agent")), "cookie",
				json_text_or_null(req->cookie), "remote", req->remote, "size",
				(json_int_t)req->body_size, "tenth", 0.1);
	return OK;
}

static inline enum status versioned(struct request *req, struct reply *reply)
{
	(void)req;
	reply->json = json_pack("{s:i}", "low", 4);
	http_etag(reply, 3);
	return OK;
}

static inline enum status created(struct request *req, struct reply *reply)
{
	(void)req;
	reply->http_status = 201;
	strcpy(reply->location, "/api/v1/things/7");
	strcpy(reply->set_cookie, "loopledger_session=abc; HttpOnly");
	strcpy(reply->file_name, "Pr\xc3\xbc"
				 "fung \"7\".pdf");
	reply->bytes = strdup("%PDF");
	reply->size = 4;
	reply->content_type = "application/pdf";
	return OK;
}

static inline enum status page(struct request *req, struct reply *reply)
{
	(void)req;
	reply->borrowed = "<!doctype html>";
	reply->size = 15;
	reply->content_type = "text/html; charset=utf-8";
	reply->cache = "no-cache";
	return OK;
}

static inline enum status slow(struct request *req, struct reply *reply)
{
	struct timespec pause = {.tv_nsec = 300000000};

	(void)req;
	nanosleep(&pause, NULL);
	reply->http_status = 204;
	return OK;
}

static inline enum status throttled(struct request *req, struct reply *reply)
{
	(void)req;
	reply->err.retry_after_s = 90;
	return err_set(&reply->err, TOO_MANY, "", "try again in two minutes");
}

static inline enum status busy(struct request *req, struct reply *reply)
{
	(void)req;
	return err_set(&reply->err, BUSY, "", "too much waits to be written");
}

static const struct route routes[] = {
	{"GET", "/api/v1/throttled", 0, ROUTE_PLAIN, false, throttled},
	{"GET", "/api/v1/busy", 0, ROUTE_PLAIN, false, busy},
	{"GET", "/api/v1/tell", 0, ROUTE_PLAIN, false, tell},
	{"POST", "/api/v1/tell", 0, ROUTE_PLAIN, false, tell},
	{"POST", "/api/v1/file", 0, ROUTE_FILE, false, tell},
	{"GET", "/api/v1/versioned", 0, ROUTE_PLAIN, false, versioned},
	{"POST", "/api/v1/created", 0, ROUTE_PLAIN, false, created},
	{"GET", "/api/v1/slow", 0, ROUTE_PLAIN, false, slow},
	{"GET", "*", 0, ROUTE_PLAIN, false, page},
	{NULL, NULL, 0, ROUTE_PLAIN, false, NULL},
};

struct fixture {
	struct http_server *server;
	char *answer; /* the whole of the last one, headers and body */
	size_t size;
};

static inline struct http_server *start(unsigned threads, unsigned timeout_s)
{
	struct http_config config = {.threads = threads,
				     .timeout_s = timeout_s,
				     .body_max = BODY_MAX,
				     .file_max = FILE_MAX,
				     .routes = routes,
				     .hooks = &hooks,
				     .host_names = "plant.test, book.test"};
	struct http_server *server = NULL;
	struct err err = {0};

	if (http_server_start(&server, &config, &err))
		fail_msg("%s", err.message);
	return server;
}

static inline int setup(void **state)
{
	struct fixture *f = *state = test_calloc(1, sizeof *f);

	f->server = start(1, 0); /* everything must work with a single thread */
	return 0;
}

static inline int teardown(void **state)
{
	struct fixture *f = *state;

	http_server_stop(f->server);
	free(f->answer);
	test_free(f);
	return 0;
}

static inline int dial(const struct http_server *server)
{
	struct sockaddr_in to = {.sin_family = AF_INET,
				 .sin_port = htons(http_server_port(server)),
				 .sin_addr = {htonl(INADDR_LOOPBACK)}};
	struct timeval limit = {.tv_sec = 10};
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

	assert_true(fd >= 0);
	setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
	assert_int_equal(connect(fd, (struct sockaddr *)&to, sizeof to), 0);
	return fd;
}

static inline void say(int fd, const char *bytes, size_t size)
{
	while (size > 0) {
		ssize_t n = send(fd, bytes, size, MSG_NOSIGNAL);

		if (n <= 0)
			return; /* the server has heard enough */
		bytes += n;
		size -= (size_t)n;
	}
}

/* Reads until the server closes; the requests of this file ask for that. Returns the status, 0 without an answer. */
static inline int hear(struct fixture *f, int fd)
{
	size_t room = 1 << 16;

	f->answer = realloc(f->answer, room + 1);
	f->size = 0;
	for (;;) {
		ssize_t n = recv(fd, f->answer + f->size, room - f->size, 0);

		if (n <= 0)
			break;
		f->size += (size_t)n;
	}
	close(fd);
	f->answer[f->size] = '\0';
	return f->size > 12 ? atoi(f->answer + 9) : 0;
}

static inline int exchange(struct fixture *f, const char *request, size_t size)
{
	int fd = dial(f->server);

	say(fd, request, size);
	return hear(f, fd);
}

static inline int ask(struct fixture *f, const char *method, const char *path, const char *headers)
{
	char request[2048];

	snprintf(request, sizeof request, "%s %s HTTP/1.1\r\nHost: 127.0.0.1:1\r\nConnection: close\r\n%s\r\n", method,
		 path, headers);
	return exchange(f, request, strlen(request));
}

static inline int post(struct fixture *f, const char *path, const char *type, const char *body, size_t size)
{
	char *request = malloc(size + 512);
	int n = snprintf(request, 512,
			 "POST %s HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n%s%s%s"
			 "Content-Length: %zu\r\n\r\n",
			 path, type ? "Content-Type: " : "", type ? type : "", type ? "\r\n" : "", size);
	int http_status;

	memcpy(request + n, body, size);
	http_status = exchange(f, request, (size_t)n + size);
	free(request);
	return http_status;
}

static inline const char *content(struct fixture *f)
{
	const char *end = strstr(f->answer, "\r\n\r\n");

	return end ? end + 4 : "";
}

/* The value of a header, borrowed until the next call; "" when it is absent. */
static inline const char *header(struct fixture *f, const char *name)
{
	static char value[512];
	size_t length = strlen(name);

	for (const char *line = strstr(f->answer, "\r\n"); line && line + 2 < content(f);
	     line = strstr(line + 2, "\r\n")) {
		if (!strncasecmp(line + 2, name, length) && line[2 + length] == ':') {
			const char *from = line + 3 + length + strspn(line + 3 + length, " ");

			snprintf(value, sizeof value, "%.*s", (int)strcspn(from, "\r"), from);
			return value;
		}
	}
	return "";
}

#endif
