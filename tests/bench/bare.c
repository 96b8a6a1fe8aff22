/*
 * What the two libraries give without us, for comparison in the same run: libmicrohttpd and SQLite with nothing between.
 *
 *   bare serve PORT FILE      GET /one?id=… answers one instrument, GET /page?after=… fifty; rows of our own table
 *   bare commits FILE ROWS N  rows per second of N commits of ROWS rows each (WAL, synchronous=FULL)
 */
#include <arpa/inet.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <pthread.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define COLUMNS                                                                                                 \
	"id, tag, service, kind, area_id, input_quantity, input_low, input_high, input_unit, output_quantity, " \
	"output_low, output_high, output_unit, status, version"

static const char *file;

struct connection {
	sqlite3 *db;
	sqlite3_stmt *one, *page;
};

/* One connection a thread, as our own pool gives each request one. */
static struct connection *mine(void)
{
	static _Thread_local struct connection c;

	if (!c.db) {
		sqlite3_open_v2(file, &c.db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL);
		sqlite3_prepare_v2(c.db, "SELECT " COLUMNS " FROM instrument WHERE id = $1", -1, &c.one, NULL);
		sqlite3_prepare_v2(
			c.db, "SELECT " COLUMNS " FROM instrument WHERE lower(tag) > $1 ORDER BY lower(tag) LIMIT 50",
			-1, &c.page, NULL);
	}
	return &c;
}

static size_t row_text(sqlite3_stmt *q, char *out, size_t size)
{
	size_t n = 0;

	for (int i = 0; i < sqlite3_column_count(q); i++)
		n += (size_t)snprintf(
			out + n, size - n, sqlite3_column_type(q, i) == SQLITE_TEXT ? "%s\"%s\":\"%s\"" : "%s\"%s\":%s",
			i ? "," : "{", sqlite3_column_name(q, i), (const char *)sqlite3_column_text(q, i));
	return n + (size_t)snprintf(out + n, size - n, "}");
}

static enum MHD_Result answer(void *cls, struct MHD_Connection *conn, const char *path, const char *method,
			      const char *version, const char *piece, size_t *piece_len, void **state)
{
	struct connection *c = mine();
	const char *id = MHD_lookup_connection_value(conn, MHD_GET_ARGUMENT_KIND, "id");
	const char *after = MHD_lookup_connection_value(conn, MHD_GET_ARGUMENT_KIND, "after");
	sqlite3_stmt *q = !strcmp(path, "/one") ? c->one : c->page;
	size_t size = 64 << 10, n = 1;
	char *out;
	struct MHD_Response *response;
	enum MHD_Result queued;

	(void)cls, (void)method, (void)version, (void)piece, (void)piece_len;
	if (!*state) {
		*state = conn;
		return MHD_YES;
	}
	out = malloc(size);
	out[0] = '[';
	sqlite3_bind_text(q, 1, id ? id : after ? after : "", -1, SQLITE_TRANSIENT);
	while (sqlite3_step(q) == SQLITE_ROW) {
		if (n > 1)
			out[n++] = ',';
		n += row_text(q, out + n, size - n - 2);
	}
	sqlite3_reset(q);
	out[n++] = ']';
	response = MHD_create_response_from_buffer(n, out, MHD_RESPMEM_MUST_FREE);
	MHD_add_response_header(response, "Content-Type", "application/json");
	queued = MHD_queue_response(conn, 200, response);
	MHD_destroy_response(response);
	return queued;
}

static int serve(int port)
{
	struct sockaddr_in at = {
		.sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr = {htonl(INADDR_LOOPBACK)}};
	struct MHD_Daemon *daemon;
	sigset_t stop;
	int got;

	sigemptyset(&stop);
	sigaddset(&stop, SIGTERM);
	sigaddset(&stop, SIGINT);
	pthread_sigmask(SIG_BLOCK, &stop, NULL);
	daemon = MHD_start_daemon(MHD_USE_EPOLL_INTERNAL_THREAD, 0, NULL, NULL, answer, NULL, MHD_OPTION_SOCK_ADDR,
				  (struct sockaddr *)&at, MHD_OPTION_THREAD_POOL_SIZE, 4u, MHD_OPTION_END);
	if (!daemon)
		return 1;
	sigwait(&stop, &got);
	MHD_stop_daemon(daemon);
	return 0;
}

static int commits(int rows, int n)
{
	sqlite3 *db;
	sqlite3_stmt *q;
	struct timespec a, b;
	double took;

	sqlite3_open(file, &db);
	sqlite3_exec(
		db,
		"PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; CREATE TABLE t (id TEXT PRIMARY KEY, run TEXT, point INTEGER,"
		" applied REAL, observed REAL, at INTEGER)",
		NULL, NULL, NULL);
	sqlite3_prepare_v2(db, "INSERT INTO t VALUES ($1, $2, $3, $4, $5, $6)", -1, &q, NULL);
	clock_gettime(CLOCK_MONOTONIC, &a);
	for (int i = 0; i < n; i++) {
		sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL);
		for (int k = 0; k < rows; k++) {
			char id[40];
			snprintf(id, sizeof id, "%08x-0000-7000-8000-%012x", i, k);
			sqlite3_bind_text(q, 1, id, -1, SQLITE_TRANSIENT);
			sqlite3_bind_text(q, 2, "0190f3a0-0000-7000-8000-000000000001", -1, SQLITE_STATIC);
			sqlite3_bind_int(q, 3, k);
			sqlite3_bind_double(q, 4, 4 + k);
			sqlite3_bind_double(q, 5, 25.3 * k);
			sqlite3_bind_int64(q, 6, 1764072000000 + i);
			sqlite3_step(q);
			sqlite3_reset(q);
		}
		if (sqlite3_exec(db, "COMMIT", NULL, NULL, NULL) != SQLITE_OK)
			return 1;
	}
	clock_gettime(CLOCK_MONOTONIC, &b);
	took = (double)(b.tv_sec - a.tv_sec) + (double)(b.tv_nsec - a.tv_nsec) / 1e9;
	printf("%.0f\n", (double)rows * n / took);
	sqlite3_finalize(q);
	sqlite3_close(db);
	return 0;
}

int main(int argc, char **argv)
{
	if (argc == 4 && !strcmp(argv[1], "serve")) {
		file = argv[3];
		return serve(atoi(argv[2]));
	}
	if (argc == 5 && !strcmp(argv[1], "commits")) {
		file = argv[2];
		return commits(atoi(argv[3]), atoi(argv[4]));
	}
	fprintf(stderr, "see the head of tests/bench/bare.c\n");
	return 2;
}
