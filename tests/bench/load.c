/*
 * A small load client for the figures of docs/performance.md: blocking sockets on loopback, one thread a client,
 * connections kept alive. It stops by itself.
 *
 *   load get PORT CLIENTS SECONDS COOKIE PATH          requests per second, median and p99 of one GET
 *   load readings PORT CLIENTS COOKIE TOKEN PER < IDS  posts PER readings to each test record named on standard input
 *   load cold PORT PATH -- COMMAND...                  milliseconds from starting COMMAND to its first answer
 */
#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <pthread.h>
#include <signal.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define ANSWER_MAX (8 << 20)
#define TIMES_MAX  (1 << 20)

struct client {
	pthread_t thread;
	int port, fd;
	double seconds;
	const char *cookie, *token, *path;
	int per;
	char *answer; /* ANSWER_MAX */
	float *times; /* of each request, ms */
	size_t n, failed;
	uint64_t bytes;
};

static char **ids;
static size_t n_ids, next_id;
static pthread_mutex_t ids_lock = PTHREAD_MUTEX_INITIALIZER;

static double now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static int connect_to(int port)
{
	struct sockaddr_in at = {
		.sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr = {htonl(INADDR_LOOPBACK)}};
	int fd = socket(AF_INET, SOCK_STREAM, 0), one = 1;

	if (fd < 0 || connect(fd, (struct sockaddr *)&at, sizeof at)) {
		if (fd >= 0)
			close(fd);
		return -1;
	}
	setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
	return fd;
}

/* Sends a request and reads the whole answer; the HTTP status, or -1. */
static int exchange(struct client *c, const char *request, size_t length)
{
	size_t have = 0, body, want;
	char *end, *field;

	if (send(c->fd, request, length, MSG_NOSIGNAL) != (ssize_t)length)
		return -1;
	for (;;) {
		ssize_t got = recv(c->fd, c->answer + have, ANSWER_MAX - 1 - have, 0);
		if (got <= 0)
			return -1;
		have += (size_t)got;
		c->answer[have] = '\0';
		end = strstr(c->answer, "\r\n\r\n");
		if (end)
			break;
	}
	body = (size_t)(end - c->answer) + 4;
	field = strcasestr(c->answer, "\r\nContent-Length:");
	want = field && field < end ? strtoul(field + 17, NULL, 10) : 0;
	if (body + want >= ANSWER_MAX)
		return -1;
	while (have < body + want) {
		ssize_t got = recv(c->fd, c->answer + have, body + want - have, 0);
		if (got <= 0)
			return -1;
		have += (size_t)got;
	}
	c->answer[have] = '\0';
	c->bytes += want;
	return atoi(c->answer + 9);
}

static void timed(struct client *c, const char *request, int length, int expected)
{
	double start = now_ms();
	int status = exchange(c, request, (size_t)length);

	if (status != expected) {
		if (!c->failed++)
			fprintf(stderr, "answer %d: %.300s\n", status, status < 0 ? "none" : c->answer);
		if (status < 0) {
			close(c->fd);
			c->fd = connect_to(c->port);
		}
		return;
	}
	if (c->n < TIMES_MAX)
		c->times[c->n++] = (float)(now_ms() - start);
}

static void *get_loop(void *arg)
{
	struct client *c = arg;
	double stop = now_ms() + c->seconds * 1e3;
	char request[1024];
	int length = snprintf(request, sizeof request, "GET %s HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nCookie: %s\r\n\r\n",
			      c->path, c->port, c->cookie);

	while (now_ms() < stop && c->failed < 10)
		timed(c, request, length, 200);
	return NULL;
}

static const char *take_id(void)
{
	const char *id;

	pthread_mutex_lock(&ids_lock);
	id = next_id < n_ids ? ids[next_id++] : NULL;
	pthread_mutex_unlock(&ids_lock);
	return id;
}

static void *readings_loop(void *arg)
{
	struct client *c = arg;
	const char *id;
	char body[128], request[1024];

	while ((id = take_id()) && c->failed < 10) {
		for (int point = 0; point < c->per; point++) {
			int rising = (c->per + 1) / 2, step = point < rising ? point : c->per - 1 - point;
			int size = snprintf(body, sizeof body,
					    "{\"run\":\"as_found\",\"point\":%d,\"observed\":\"%d.3\"}", point,
					    step * 100 / (rising - 1));
			int length = snprintf(
				request, sizeof request,
				"POST /api/v1/test-records/%s/readings HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nCookie: %s\r\n"
				"X-Session-Token: %s\r\nContent-Type: application/json\r\nPrefer: return=minimal\r\n"
				"Idempotency-Key: bench-%s-%d\r\nContent-Length: %d\r\n\r\n%s",
				id, c->port, c->cookie, c->token, id + 24, point, size, body);
			timed(c, request, length, 201);
		}
	}
	return NULL;
}

static int by_time(const void *a, const void *b)
{
	float x = *(const float *)a, y = *(const float *)b;

	return (x > y) - (x < y);
}

static int run_clients(struct client *like, int n, void *(*loop)(void *))
{
	struct client *all = calloc((size_t)n, sizeof *all);
	float *times = malloc(sizeof *times * TIMES_MAX);
	size_t total = 0, failed = 0;
	double start, took;

	for (int i = 0; i < n; i++) {
		all[i] = *like;
		all[i].fd = connect_to(like->port);
		all[i].answer = malloc(ANSWER_MAX);
		all[i].times = malloc(sizeof(float) * TIMES_MAX);
		if (all[i].fd < 0 || !all[i].answer || !all[i].times)
			return fprintf(stderr, "cannot connect to port %d\n", like->port), 1;
	}
	start = now_ms();
	for (int i = 0; i < n; i++)
		pthread_create(&all[i].thread, NULL, loop, &all[i]);
	for (int i = 0; i < n; i++)
		pthread_join(all[i].thread, NULL);
	took = now_ms() - start;
	for (int i = 0; i < n; i++) {
		for (size_t k = 0; k < all[i].n && total < TIMES_MAX; k++)
			times[total++] = all[i].times[k];
		failed += all[i].failed;
		close(all[i].fd);
	}
	qsort(times, total, sizeof *times, by_time);
	if (total)
		printf("%.0f %.3f %.3f %zu\n", (double)total / took * 1e3, (double)times[total / 2],
		       (double)times[total * 99 / 100], failed);
	return !total || failed > 0;
}

static void read_ids(void)
{
	char line[128];

	ids = calloc(100000, sizeof *ids);
	while (n_ids < 100000 && fgets(line, sizeof line, stdin)) {
		line[strcspn(line, "\r\n")] = '\0';
		ids[n_ids++] = strdup(line);
	}
}

static int cold(int port, const char *path, char **command)
{
	struct client c = {.port = port, .answer = malloc(ANSWER_MAX)};
	char request[256];
	int length = snprintf(request, sizeof request, "GET %s HTTP/1.1\r\nHost: 127.0.0.1:%d\r\n\r\n", path, port);
	double start = now_ms();
	int status = -1;
	pid_t pid = fork();

	if (pid == 0) {
		if (!freopen("/dev/null", "w", stdout) || !freopen("/dev/null", "w", stderr))
			_exit(127);
		execvp(command[0], command);
		_exit(127);
	}
	while (status < 0 && now_ms() - start < 20e3) {
		c.fd = connect_to(port);
		if (c.fd < 0) {
			usleep(200);
			continue;
		}
		status = exchange(&c, request, (size_t)length);
		close(c.fd);
	}
	printf("%.1f\n", now_ms() - start);
	kill(pid, SIGTERM);
	waitpid(pid, NULL, 0);
	return status != 200;
}

int main(int argc, char **argv)
{
	if (argc == 7 && !strcmp(argv[1], "get"))
		return run_clients(
			&(struct client){
				.port = atoi(argv[2]), .seconds = atof(argv[4]), .cookie = argv[5], .path = argv[6]},
			atoi(argv[3]), get_loop);
	if (argc == 7 && !strcmp(argv[1], "readings")) {
		read_ids();
		return run_clients(
			&(struct client){
				.port = atoi(argv[2]), .cookie = argv[4], .token = argv[5], .per = atoi(argv[6])},
			atoi(argv[3]), readings_loop);
	}
	if (argc >= 6 && !strcmp(argv[1], "cold") && !strcmp(argv[4], "--"))
		return cold(atoi(argv[2]), argv[3], argv + 5);
	fprintf(stderr, "see the head of tests/bench/load.c\n");
	return 2;
}
