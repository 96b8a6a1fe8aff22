/* Replies that go on: what is said reaches the reader, readers that leave are noticed, and the server stops in spite of them. */
#include "support/check.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "http/server.h"
#include "http/stream.h"

#define ROOM 120 /* streams at once */

/* One speaker for all streams: each stream says the numbers it has not said yet. */
struct told {
	int said;
	struct http_stream *stream;
	struct told *next;
};

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static struct told *listeners;
static _Atomic int number, open_ones, end_at;

static long say(void *context, char *out, size_t room)
{
	struct told *t = context;

	if (t->said >= end_at)
		return -1;
	if (t->said >= number)
		return 0;
	return snprintf(out, room, "data: %d\n\n", ++t->said);
}

static void closed(void *context)
{
	struct told *t = context;

	pthread_mutex_lock(&lock);
	for (struct told **at = &listeners; *at; at = &(*at)->next)
		if (*at == t) {
			*at = t->next;
			break;
		}
	pthread_mutex_unlock(&lock);
	free(t);
	open_ones--;
}

static void speak(void)
{
	pthread_mutex_lock(&lock);
	number++;
	for (struct told *t = listeners; t; t = t->next)
		http_stream_wake(t->stream);
	pthread_mutex_unlock(&lock);
}

static enum status listen_in(struct request *req, struct reply *reply)
{
	struct told *t = calloc(1, sizeof *t);

	(void)req;
	assert_non_null(t);
	t->stream = http_stream_new(&(struct http_stream_source){say, closed, t});
	assert_non_null(t->stream);
	open_ones++;
	pthread_mutex_lock(&lock);
	t->next = listeners;
	listeners = t;
	pthread_mutex_unlock(&lock);
	reply->stream = t->stream;
	return OK;
}

static enum status fails(struct request *req, struct reply *reply)
{
	listen_in(req, reply);
	return err_set(&reply->err, NOT_FOUND, "", "there is no such channel");
}

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

static const struct route routes[] = {
	{"GET", "/api/v1/live", 0, ROUTE_PLAIN, false, listen_in},
	{"GET", "/api/v1/fails", 0, ROUTE_PLAIN, false, fails},
	{NULL, NULL, 0, ROUTE_PLAIN, false, NULL},
};

static struct http_server *server;

static int setup(void **state)
{
	struct http_config config = {.threads = 1, .body_max = 1000, .routes = routes, .hooks = &hooks};
	struct err err = {0};

	(void)state;
	number = open_ones = 0;
	end_at = 1000000;
	return http_server_start(&server, &config, &err) ? -1 : 0;
}

static int teardown(void **state)
{
	(void)state;
	http_server_stop(server);
	server = NULL;
	assert_int_equal(open_ones, 0);
	return 0;
}

static int asked(const char *path)
{
	struct sockaddr_in to = {.sin_family = AF_INET,
				 .sin_port = htons(http_server_port(server)),
				 .sin_addr = {htonl(INADDR_LOOPBACK)}};
	struct timeval limit = {.tv_sec = 20};
	char request[200];
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0),
	    size = snprintf(request, sizeof request, "GET %s HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n",
			    path);

	assert_true(fd >= 0);
	setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
	assert_int_equal(connect(fd, (struct sockaddr *)&to, sizeof to), 0);
	assert_int_equal(send(fd, request, (size_t)size, MSG_NOSIGNAL), size);
	return fd;
}

/* Reads until text has come; false when the connection ends or twenty seconds pass. all: what came. */
static bool heard(int fd, char *all, size_t room, const char *text)
{
	size_t size = strlen(all);
	ssize_t n;

	while (!strstr(all, text)) {
		n = size < room - 1 ? recv(fd, all + size, room - 1 - size, 0) : 0;
		if (n <= 0)
			return false;
		size += (size_t)n;
		all[size] = '\0';
	}
	return true;
}

static void wait_until_open(int count)
{
	struct timespec pause = {.tv_nsec = 5000000};

	for (int i = 0; i < 4000 && open_ones != count; i++)
		nanosleep(&pause, NULL);
	assert_int_equal(open_ones, count);
}

static void each_word_reaches_the_reader_when_it_is_said(void **state)
{
	char all[4096] = "";
	int fd = asked("/api/v1/live");

	(void)state;
	assert_true(heard(fd, all, sizeof all, "\r\n\r\n"));
	assert_non_null(strstr(all, "Content-Type: text/event-stream"));
	assert_null(strstr(all, "data:"));
	for (int i = 1; i <= 50; i++) {
		char word[32];

		snprintf(word, sizeof word, "data: %d\n\n", i);
		speak();
		assert_true(heard(fd, all, sizeof all, word));
	}
	close(fd);
}

static void stream_ends_when_the_speaker_is_done(void **state)
{
	char all[4096] = "";
	int fd = asked("/api/v1/live");

	(void)state;
	end_at = 2;
	speak();
	speak();
	assert_false(heard(fd, all, sizeof all, "data: 3"));
	assert_non_null(strstr(all, "data: 2"));
	close(fd);
}

static void reader_that_leaves_is_noticed_while_others_hear_on(void **state)
{
	char all[4096] = "";
	int leaves = asked("/api/v1/live"), stays = asked("/api/v1/live");

	(void)state;
	wait_until_open(2);
	close(leaves);
	for (int i = 0; i < 200 && open_ones > 1; i++) { /* the second word after it left shows that nobody is there */
		struct timespec pause = {.tv_nsec = 5000000};

		speak();
		nanosleep(&pause, NULL);
	}
	wait_until_open(1);
	speak();
	speak();
	assert_true(heard(stays, all, sizeof all, "data: 2"));
	close(stays);
}

static void too_many_are_told_to_come_back(void **state)
{
	char all[4096] = "";
	int fds[ROOM], one_more;

	(void)state;
	for (int i = 0; i < ROOM; i++) {
		fds[i] = asked("/api/v1/live");
		if (i % 8 == 7)
			wait_until_open(i + 1);
	}
	one_more = asked("/api/v1/live");
	assert_true(heard(one_more, all, sizeof all, "too many live pages"));
	assert_non_null(strstr(all, "503"));
	close(one_more);
	for (int i = 0; i < ROOM; i++)
		close(fds[i]);
}

static void stream_of_a_request_that_fails_is_given_back(void **state)
{
	char all[4096] = "";
	int fd = asked("/api/v1/fails");

	(void)state;
	assert_true(heard(fd, all, sizeof all, "there is no such channel"));
	close(fd);
	wait_until_open(0);
}

static void *talk(void *arg)
{
	while (!atomic_load((_Atomic bool *)arg))
		speak();
	return NULL;
}

static void server_stops_while_everybody_talks(void **state)
{
	_Atomic bool stop = false;
	pthread_t thread;
	int fds[20];

	(void)state;
	for (int i = 0; i < 20; i++)
		fds[i] = asked("/api/v1/live");
	wait_until_open(20);
	assert_int_equal(pthread_create(&thread, NULL, talk, &stop), 0);
	http_server_stop(server);
	server = NULL;
	assert_int_equal(open_ones, 0);
	stop = true;
	pthread_join(thread, NULL);
	for (int i = 0; i < 20; i++)
		close(fds[i]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(each_word_reaches_the_reader_when_it_is_said, setup, teardown),
		cmocka_unit_test_setup_teardown(stream_ends_when_the_speaker_is_done, setup, teardown),
		cmocka_unit_test_setup_teardown(reader_that_leaves_is_noticed_while_others_hear_on, setup, teardown),
		cmocka_unit_test_setup_teardown(too_many_are_told_to_come_back, setup, teardown),
		cmocka_unit_test_setup_teardown(stream_of_a_request_that_fails_is_given_back, setup, teardown),
		cmocka_unit_test_setup_teardown(server_stops_while_everybody_talks, setup, teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
