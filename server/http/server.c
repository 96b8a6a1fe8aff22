#include "http/server.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>
#include <unistd.h>

#include "base/log.h"
#include "base/text.h"
#include "base/time.h"
#include "server_internal.h"

#define CONNECTIONS_MAX	     512
#define CONNECTIONS_PER_PEER 128
#define TIMEOUT_S	     30
#define BODY_TIME_MS	     120000 /* a body that trickles in for longer is cut off */
#define BODIES_AT_ONCE	     16	    /* full-sized ones that may be held in memory together */
#define FILES_AT_ONCE	     4

/* One request on its way in: libmicrohttpd calls back for the headers, for each piece of body, and at the end. */
struct exchange {
	struct exchange *next; /* in the workers' queue */
	struct http_server *server;
	struct request req;
	struct reply reply;
	char remote[INET6_ADDRSTRLEN];
	char *body;
	size_t body_room, body_max;
	bool takes_file;
	int64_t begun_ms;
	int refused;   /* HTTP status decided before the end, reason in reply.err; 0 when all is well */
	bool answered; /* by a worker: the reply is there */
};

struct exchange **exchange_next(struct exchange *x)
{
	return &x->next;
}

static const char *on_header(struct request *req, const char *name)
{
	return MHD_lookup_connection_value(req->connection, MHD_HEADER_KIND, name);
}

struct wanted {
	const char *name, *value;
};

static enum MHD_Result on_query(void *cls, enum MHD_ValueKind kind, const char *name, const char *value)
{
	struct wanted *w = cls;

	(void)kind;
	if (strcmp(name, w->name) != 0)
		return MHD_YES;
	w->value = value ? value : "";
	return MHD_NO; /* the first one counts */
}

/* Text that is not clean is as good as absent: it could match nothing. */
static const char *on_query_value(struct request *req, const char *name)
{
	struct wanted w = {.name = name};

	MHD_get_connection_values(req->connection, MHD_GET_ARGUMENT_KIND, on_query, &w);
	return w.value && text_is_clean(w.value, strlen(w.value)) ? w.value : NULL;
}

static enum MHD_Result refuse(struct exchange *x, int http_status, const char *sentence)
{
	if (!x->refused) {
		x->refused = http_status;
		err_set(&x->reply.err, INVALID, "", "%s", sentence);
	}
	return MHD_YES;
}

static void refuse_length(struct exchange *x)
{
	char sentence[80];

	snprintf(sentence, sizeof sentence, "the request is too long: %zu bytes are the most", x->body_max);
	refuse(x, 413, sentence);
}

static enum MHD_Result send_refusal(struct MHD_Connection *conn, struct exchange *x)
{
	x->reply.http_status = x->refused;
	x->reply.content_type = "application/problem+json";
	x->reply.json = http_problem(x->refused, &x->reply.err);
	return server_send(x->server, conn, &x->req, &x->reply);
}

/* Files are counted apart: strangers may send them, and however many wait, they take no room from the plant's own requests. */
static _Atomic size_t *held_with(const struct exchange *x)
{
	return x->takes_file ? &x->server->filed : &x->server->buffered;
}

/* Makes room for total bytes, within what all requests of its kind together may hold. */
static bool make_room(struct exchange *x, size_t total)
{
	size_t max = x->body_max, room = total < 4096 ? 4096 : 2 * total;
	size_t all = max * (x->takes_file ? FILES_AT_ONCE : BODIES_AT_ONCE);
	char *grown;

	if (total <= x->body_room)
		return true;
	if (room > max)
		room = max > total ? max : total;
	if (atomic_fetch_add(held_with(x), room - x->body_room) + room - x->body_room > all)
		grown = NULL;
	else
		grown = realloc(x->body, room);
	if (!grown) {
		atomic_fetch_sub(held_with(x), room - x->body_room);
		return false;
	}
	x->body = grown;
	x->body_room = room;
	return true;
}

/*
 * Keeps the piece. No reply can be queued while a body arrives, so what is refused half way is read to its end and
 * dropped, and a client that sends four times the limit, or takes too long over it, is cut off.
 */
static enum MHD_Result take_body(struct exchange *x, const char *piece, size_t *size)
{
	size_t max = x->body_max, total = x->req.body_size + *size;

	x->req.body_size = total;
	if (total > max)
		refuse_length(x);
	else if (!x->refused && !make_room(x, total))
		refuse(x, 503, "too much is being sent at once; try again shortly");
	if (!x->refused)
		memcpy(x->body + total - *size, piece, *size);
	*size = 0;
	return total > 4 * max || time_now_ms() - x->begun_ms > BODY_TIME_MS ? MHD_NO : MHD_YES;
}

static bool is_json(const char *type)
{
	size_t length = strlen("application/json");

	return type && !strncasecmp(type, "application/json", length) &&
	       (type[length] == '\0' || type[length] == ';' || type[length] == ' ');
}

static enum MHD_Result send_reply(struct MHD_Connection *conn, struct exchange *x)
{
	if (!x->reply.stream || streams_room(x->server->streams))
		return server_send(x->server, conn, &x->req, &x->reply);
	refuse(x, 503, "too many live pages are open; close one, or try again shortly");
	http_stream_free(x->reply.stream);
	x->reply.stream = NULL;
	return send_refusal(conn, x);
}

static void dispatch(struct exchange *x)
{
	http_dispatch(x->server->config.routes, x->server->config.hooks, &x->req, &x->reply);
}

/* On a worker's thread. The connection rests: nothing else touches it or x until it is woken. */
static void run_at_rest(struct exchange *x)
{
	struct MHD_Connection *conn = x->req.connection;

	dispatch(x);
	x->answered = true;
	MHD_resume_connection(conn);
}

/* Once woken, the connection comes back to answer(). */
static enum MHD_Result hand_over(struct MHD_Connection *conn, struct exchange *x)
{
	MHD_suspend_connection(conn);
	if (workers_add(x->server->workers, x))
		return MHD_YES;
	refuse(x, 503, "the program is stopping");
	MHD_resume_connection(conn);
	return MHD_YES;
}

/* The last call: the whole request is there; or, of what a worker ran, the reply. */
static enum MHD_Result answer(struct MHD_Connection *conn, struct exchange *x)
{
	struct request *req = &x->req;

	if (x->answered)
		return send_reply(conn, x);
	req->body_text = x->body;
	if (!x->refused && req->body_size && !x->takes_file && !strncmp(req->path, "/api/", 5)) {
		if (!is_json(on_header(req, "Content-Type"))) {
			refuse(x, 415, "the body must be application/json");
		} else {
			req->body = json_parse(x->body, req->body_size, &x->reply.err);
			if (!req->body)
				x->refused = x->reply.err.status == NO_MEMORY ? 500 : 400;
		}
	}
	if (x->refused)
		return send_refusal(conn, x);
	if (http_may_take_long(x->server->config.routes, req))
		return hand_over(conn, x);
	dispatch(x);
	return send_reply(conn, x);
}

static struct exchange *new_exchange(struct http_server *server, struct MHD_Connection *conn, const char *path,
				     const char *method)
{
	struct exchange *x = calloc(1, sizeof *x);

	if (!x)
		return NULL;
	atomic_fetch_add(&server->in_flight, 1);
	x->server = server;
	x->begun_ms = time_now_ms();
	server_remote(conn, x->remote);
	x->req = (struct request){
		.method = method,
		.path = path,
		.query = on_query_value,
		.header = on_header,
		.cookie = server_cookie(conn),
		.remote = x->remote,
		.secure = server->config.tls_certificate != NULL,
		.app = server->config.app,
		.connection = conn,
	};
	x->takes_file = http_takes_file(server->config.routes, &x->req);
	x->body_max = x->takes_file ? server->config.file_max : server->config.body_max;
	return x;
}

/*
 * The headers are in. A reply queued now closes the connection, so only who must not go on is answered here: a foreign
 * name, and a body so long, or so polite as to ask first, that reading it to its end helps nobody.
 */
static enum MHD_Result begin(struct MHD_Connection *conn, struct exchange *x)
{
	const char *length = on_header(&x->req, "Content-Length");
	unsigned long long announced = length ? strtoull(length, NULL, 10) : 0;
	size_t max = x->body_max;

	if (!server_host_is_ours(conn, x->server->config.host_names)) {
		refuse(x, 421, "this server does not answer under that name");
		return send_refusal(conn, x);
	}
	if (announced > max) {
		refuse_length(x);
		if (announced > 4 * max || on_header(&x->req, "Expect"))
			return send_refusal(conn, x);
	}
	if (!text_is_clean(x->req.path, strlen(x->req.path))) {
		x->req.path = "?";
		refuse(x, 404, "there is nothing at this address");
	}
	return MHD_YES;
}

static enum MHD_Result on_request(void *cls, struct MHD_Connection *conn, const char *path, const char *method,
				  const char *version, const char *piece, size_t *piece_size, void **state)
{
	struct exchange *x = *state;

	(void)version;
	if (!x) {
		*state = x = new_exchange(cls, conn, path, method);
		return x ? begin(conn, x) : MHD_NO;
	}
	if (*piece_size)
		return take_body(x, piece, piece_size);
	return answer(conn, x);
}

/* Runs for every request that reached on_request, also when the client hung up half way. */
static void on_completed(void *cls, struct MHD_Connection *conn, void **state, enum MHD_RequestTerminationCode why)
{
	struct exchange *x = *state;

	(void)cls, (void)conn, (void)why;
	if (!x)
		return;
	atomic_fetch_sub(held_with(x), x->body_room);
	atomic_fetch_sub(&x->server->in_flight, 1);
	json_decref(x->req.body);
	json_decref(x->reply.json);
	free(x->reply.bytes);
	if (x->reply.file)
		fclose(x->reply.file);
	http_stream_free(x->reply.stream);
	arena_clear(&x->req.arena);
	free(x->body);
	free(x);
	*state = NULL;
}

static void on_log(void *cls, const char *fmt, va_list ap) __attribute__((format(printf, 2, 0)));

/* What libmicrohttpd says is mostly about clients that hang up. Any of them could fill the disk with it, so a minute gets
 * twenty lines. */
static void on_log(void *cls, const char *fmt, va_list ap)
{
	static _Atomic int64_t minute;
	static _Atomic int lines;
	int64_t now = time_now_ms() / 60000;
	char text[400];

	(void)cls;
	if (!strncmp(fmt, "Failed to send the chunked response", 35))
		return; /* the reader of a stream has gone */
	if (atomic_exchange(&minute, now) != now)
		atomic_store(&lines, 0);
	if (atomic_fetch_add(&lines, 1) >= 20)
		return;
	vsnprintf(text, sizeof text, fmt, ap);
	log_warn("http: %s", text);
}

static struct MHD_Daemon *listen_at(struct http_server *server, struct sockaddr_storage *address)
{
	const struct http_config *c = &server->config;
	unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_USE_ITC | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ERROR_LOG |
			 (address->ss_family == AF_INET6 ? MHD_USE_IPv6 : 0) | (c->tls_certificate ? MHD_USE_TLS : 0);
	struct MHD_OptionItem more[4] = {{MHD_OPTION_END, 0, NULL}};
	int n = 0;

	if (c->threads > 1) /* a pool of one is no pool to libmicrohttpd */
		more[n++] = (struct MHD_OptionItem){MHD_OPTION_THREAD_POOL_SIZE, (intptr_t)c->threads, NULL};
	if (c->tls_certificate) {
		more[n++] = (struct MHD_OptionItem){MHD_OPTION_HTTPS_MEM_CERT, 0,
						    (void *)(uintptr_t)c->tls_certificate};
		more[n++] = (struct MHD_OptionItem){MHD_OPTION_HTTPS_MEM_KEY, 0, (void *)(uintptr_t)c->tls_key};
	}
	more[n] = (struct MHD_OptionItem){MHD_OPTION_END, 0, NULL};
	/* clang-format off */
	return MHD_start_daemon(flags, c->port, NULL, NULL, on_request, server,
				MHD_OPTION_EXTERNAL_LOGGER, on_log, NULL,	/* first: it hears of what comes after it */
				MHD_OPTION_SOCK_ADDR, (struct sockaddr *)address,
				MHD_OPTION_NOTIFY_COMPLETED, on_completed, NULL,
				MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS_MAX,
				MHD_OPTION_PER_IP_CONNECTION_LIMIT, (unsigned)CONNECTIONS_PER_PEER,
				MHD_OPTION_CONNECTION_TIMEOUT, c->timeout_s ? c->timeout_s : (unsigned)TIMEOUT_S,
				MHD_OPTION_STRICT_FOR_CLIENT, 1,
				MHD_OPTION_ARRAY, more,
				MHD_OPTION_END);
	/* clang-format on */
}

static void let_go(struct http_server *server)
{
	if (server->workers)
		workers_free(server->workers);
	streams_free(server->streams);
	free(server);
}

enum status http_server_start(struct http_server **out, const struct http_config *config, struct err *err)
{
	struct sockaddr_storage address;
	struct http_server *server;
	enum status rc = server_address(config->listen, config->port, &address, err);

	if (rc)
		return rc;
	if (config->threads < 1 || config->threads > 16)
		return err_set(err, INVALID, "threads", "there must be 1 to 16 threads");
	if (!config->tls_certificate != !config->tls_key)
		return err_set(err, INVALID, "tls_key", "TLS needs both a certificate and its key");
	server = calloc(1, sizeof *server);
	if (!server)
		return err_set(err, NO_MEMORY, "", "out of memory");
	server->config = *config;
	server->workers = workers_new(run_at_rest);
	server->streams = streams_new();
	if (!server->workers || !server->streams) {
		let_go(server);
		return err_set(err, FAILED, "", "cannot start a thread");
	}
	server->daemon = listen_at(server, &address);
	if (!server->daemon) {
		let_go(server);
		return err_set(err, FAILED, "", "cannot listen on %s, port %d: is it taken%s?",
			       config->listen ? config->listen : "127.0.0.1", config->port,
			       config->tls_certificate ? ", or is the certificate no PEM text" : "");
	}
	*out = server;
	return OK;
}

uint16_t http_server_port(const struct http_server *server)
{
	return MHD_get_daemon_info(server->daemon, MHD_DAEMON_INFO_BIND_PORT)->port;
}

/* What has begun gets its answer, for up to five seconds: a technician's reading that is on disk shall not look lost. */
void http_server_stop(struct http_server *server)
{
	struct timespec pause = {.tv_nsec = 10000000};
	MHD_socket listening;

	if (!server)
		return;
	listening = MHD_quiesce_daemon(server->daemon);
	streams_end(server->streams);
	for (int i = 0; i < 500 && atomic_load(&server->in_flight) > 0; i++)
		nanosleep(&pause, NULL);
	workers_stop(server->workers); /* nobody may rest when the daemon stops: it would end the process */
	MHD_stop_daemon(server->daemon);
	if (listening != MHD_INVALID_SOCKET)
		close(listening);
	let_go(server);
}
