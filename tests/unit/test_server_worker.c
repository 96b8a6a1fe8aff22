/* A single thread answers while others wait: for the disk, for a drawing. And nothing begun is lost when the server stops. */
#include "support/check.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <pthread.h>
#include <semaphore.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "http/server.h"

#define LONG_ONES 40 /* more than there are workers */

static sem_t begun, go_on;

static enum status no_hook(struct request *req, struct err *err)
{
	(void)req, (void)err;
	return OK;
}

static enum status allow(const struct request *req, const struct route *route, struct err *err)
{
	(void)req, (void)route, (void)err;
	return OK;
}

static bool token_fits(const struct request *req)
{
	(void)req;
	return true;
}

static enum status run(const struct route *route, struct request *req, struct reply *reply)
{
	return route->handler(req, reply);
}

static const struct http_hooks hooks = {no_hook, allow, token_fits, no_hook, run};

static bool wait_for(sem_t *s)
{
	struct timespec until;

	clock_gettime(CLOCK_REALTIME, &until);
	until.tv_sec += 20;
	while (sem_timedwait(s, &until))
		if (errno != EINTR)
			return false;
	return true;
}

/* Goes on when the test says so; the query and the headers can be read meanwhile. */
static enum status waits(struct request *req, struct reply *reply)
{
	sem_post(&begun);
	if (!wait_for(&go_on))
		return err_set(&reply->err, FAILED, "", "nobody let it go on");
	reply->json = json_pack("{s:s, s:s}", "q", req->query(req, "q"), "host", req->header(req, "Host"));
	return OK;
}

static enum status quick(struct request *req, struct reply *reply)
{
	(void)req;
	reply->json = json_pack("{s:i}", "low", 4);
	return OK;
}

static const struct route routes[] = {
	{"POST", "/api/v1/written", 0, ROUTE_WRITE, false, waits},
	{"GET", "/api/v1/drawn", 0, ROUTE_DRAW, false, waits},
	{"GET", "/api/v1/quick", 0, ROUTE_READ, false, quick},
	{NULL, NULL, 0, ROUTE_PLAIN, false, NULL},
};

static struct http_server *server;

static int setup(void **state)
{
	struct http_config config = {.threads = 1, .body_max = 1000, .routes = routes, .hooks = &hooks};
	struct err err = {0};

	(void)state;
	sem_init(&begun, 0, 0);
	sem_init(&go_on, 0, 0);
	return http_server_start(&server, &config, &err) ? -1 : 0;
}

static int teardown(void **state)
{
	(void)state;
	http_server_stop(server);
	server = NULL;
	sem_destroy(&begun);
	sem_destroy(&go_on);
	return 0;
}

static int asked(const char *method, const char *path)
{
	struct sockaddr_in to = {.sin_family = AF_INET,
				 .sin_port = htons(http_server_port(server)),
				 .sin_addr = {htonl(INADDR_LOOPBACK)}};
	struct timeval limit = {.tv_sec = 20};
	char request[256];
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0),
	    size = snprintf(request, sizeof request,
			    "%s %s?q=7 HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\nContent-Length: 0\r\n\r\n",
			    method, path);

	assert_true(fd >= 0);
	setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
	assert_int_equal(connect(fd, (struct sockaddr *)&to, sizeof to), 0);
	assert_int_equal(send(fd, request, (size_t)size, MSG_NOSIGNAL), size);
	return fd;
}

/* The status; 0 without an answer within twenty seconds. */
static int heard(int fd, const char *content)
{
	char answer[4096];
	size_t size = 0;
	ssize_t n;

	while (size < sizeof answer - 1 && (n = recv(fd, answer + size, sizeof answer - 1 - size, 0)) > 0)
		size += (size_t)n;
	close(fd);
	answer[size] = '\0';
	if (content && !strstr(answer, content))
		fail_msg("%s is not in: %s", content, answer);
	return size > 12 ? atoi(answer + 9) : 0;
}

static void reads_are_answered_while_a_change_waits_for_the_disk(void **state)
{
	int fd = asked("POST", "/api/v1/written");

	(void)state;
	assert_true(wait_for(&begun));
	for (int i = 0; i < 5; i++)
		assert_int_equal(heard(asked("GET", "/api/v1/quick"), "{\"low\":4}"), 200);
	sem_post(&go_on);
	assert_int_equal(heard(fd, "{\"q\":\"7\",\"host\":\"127.0.0.1\"}"), 200);
}

static void reads_are_answered_while_another_is_drawn(void **state)
{
	int fd = asked("GET", "/api/v1/drawn");

	(void)state;
	assert_true(wait_for(&begun));
	assert_int_equal(heard(asked("GET", "/api/v1/quick"), "{\"low\":4}"), 200);
	sem_post(&go_on);
	assert_int_equal(heard(fd, "{\"q\":\"7\""), 200);
}

static void more_changes_than_workers_are_all_answered(void **state)
{
	int fds[LONG_ONES];

	(void)state;
	for (int i = 0; i < LONG_ONES; i++)
		fds[i] = asked("POST", "/api/v1/written");
	assert_true(wait_for(&begun));
	assert_int_equal(heard(asked("GET", "/api/v1/quick"), NULL), 200);
	for (int i = 0; i < LONG_ONES; i++)
		sem_post(&go_on);
	for (int i = 0; i < LONG_ONES; i++)
		assert_int_equal(heard(fds[i], NULL), 200);
}

static void client_that_left_while_its_change_waited_hurts_nobody(void **state)
{
	(void)state;
	close(asked("POST", "/api/v1/written"));
	assert_true(wait_for(&begun));
	sem_post(&go_on);
	assert_int_equal(heard(asked("GET", "/api/v1/quick"), NULL), 200);
}

static void *stop(void *arg)
{
	(void)arg;
	http_server_stop(server);
	return NULL;
}

/* Changes wait in a queue when the program is told to stop: each is made, and each is answered. */
static void what_waits_is_answered_before_the_server_stops(void **state)
{
	int fds[LONG_ONES];
	pthread_t thread;

	(void)state;
	for (int i = 0; i < LONG_ONES; i++)
		fds[i] = asked("POST", "/api/v1/written");
	for (int i = 0; i < 32; i++)
		assert_true(wait_for(&begun));
	assert_int_equal(heard(asked("GET", "/api/v1/quick"), NULL),
			 200); /* so the server has read what was sent before */
	assert_int_equal(pthread_create(&thread, NULL, stop, NULL), 0);
	for (int i = 0; i < LONG_ONES; i++)
		sem_post(&go_on);
	for (int i = 0; i < LONG_ONES; i++)
		assert_int_equal(heard(fds[i], NULL), 200);
	pthread_join(thread, NULL);
	server = NULL;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(reads_are_answered_while_a_change_waits_for_the_disk, setup, teardown),
		cmocka_unit_test_setup_teardown(reads_are_answered_while_another_is_drawn, setup, teardown),
		cmocka_unit_test_setup_teardown(more_changes_than_workers_are_all_answered, setup, teardown),
		cmocka_unit_test_setup_teardown(client_that_left_while_its_change_waited_hurts_nobody, setup, teardown),
		cmocka_unit_test_setup_teardown(what_waits_is_answered_before_the_server_stops, setup, teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
