/* A protocol of the test's own: "N bytes", N as one byte in front; answers the same with 1 added to each byte. */
#include "field/sim_server.h"
#include "support/check.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

static long count_up(struct sim_device *d, struct sim_session *session, const uint8_t *in, size_t size, uint8_t *out,
		     size_t room, size_t *out_size)
{
	size_t n = in[0];

	assert_non_null(d);
	assert_true(room >= SIM_MESSAGE);
	if (n == 0)
		return -1;
	if (size < n + 1)
		return 0;
	out[0] = (uint8_t)(n + 1);
	out[1] = (uint8_t)++session->timer_ms; /* how many this peer has asked */
	for (size_t i = 0; i < n; i++)
		out[2 + i] = (uint8_t)(in[1 + i] + 1);
	*out_size = n + 2;
	return (long)n + 1;
}

static int client(bool udp, int port)
{
	int fd = socket(AF_INET, udp ? SOCK_DGRAM : SOCK_STREAM, 0);
	struct sockaddr_in to = {
		.sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr = {htonl(INADDR_LOOPBACK)}};
	struct timeval limit = {5, 0};

	assert_true(fd >= 0);
	setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
	assert_int_equal(connect(fd, (struct sockaddr *)&to, sizeof to), 0);
	return fd;
}

static void expect(int fd, const char *bytes, size_t size)
{
	char got[100];
	size_t n = 0;

	while (n < size) {
		ssize_t r = recv(fd, got + n, size - n, 0);

		assert_true(r > 0);
		n += (size_t)r;
	}
	assert_memory_equal(got, bytes, size);
}

static struct sim_server *serve(bool udp, bool moves)
{
	static struct sim_device device;
	struct sim_server *s;
	struct err err = {0};

	assert_int_equal(sim_server_start(&s, &(struct sim_endpoint){&device, count_up, udp, 0, moves}, 1, &err), OK);
	return s;
}

static void messages_arrive_in_pieces_or_several_at_once(void **state)
{
	struct sim_server *s = serve(false, false);
	int fd = client(false, sim_server_port(s, 0, false));

	(void)state;
	assert_int_equal(send(fd, "\2a", 2, 0), 2);
	assert_int_equal(send(fd, "b", 1, 0), 1);
	expect(fd, "\3\1bc", 4);
	assert_int_equal(send(fd, "\1x\2ab\1", 6, 0), 6);
	expect(fd, "\2\2y\3\3bc", 7);
	assert_int_equal(send(fd, "q", 1, 0), 1);
	expect(fd, "\2\4r", 3);
	assert_int_equal(send(fd, "\0", 1, 0), 1); /* the protocol wants it closed */
	assert_int_equal(recv(fd, (char[1]){0}, 1, 0), 0);
	close(fd);
	sim_server_stop(s);
}

static void each_connection_has_its_own_session(void **state)
{
	struct sim_server *s = serve(false, false);
	int a = client(false, sim_server_port(s, 0, false)), b = client(false, sim_server_port(s, 0, false));

	(void)state;
	assert_int_equal(send(a, "\1x\1x", 4, 0), 4);
	expect(a, "\2\1y\2\2y", 6);
	assert_int_equal(send(b, "\1x", 2, 0), 2);
	expect(b, "\2\1y", 3);
	close(a);
	close(b);
	sim_server_stop(s);
}

static void datagrams_may_be_answered_from_another_port(void **state)
{
	struct sim_server *s = serve(true, true);
	int port = sim_server_port(s, 0, false), moved = sim_server_port(s, 0, true);
	int fd = socket(AF_INET, SOCK_DGRAM, 0);
	struct sockaddr_in to = {.sin_family = AF_INET,
				 .sin_port = htons((uint16_t)port),
				 .sin_addr = {htonl(INADDR_LOOPBACK)}},
			   from;
	struct timeval limit = {5, 0};
	socklen_t size = sizeof from;
	char got[10];

	(void)state;
	assert_true(fd >= 0 && moved > 0 && moved != port);
	setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
	for (int i = 1; i <= 2; i++) {
		assert_int_equal(sendto(fd, "\1x", 2, 0, (struct sockaddr *)&to, sizeof to), 2);
		assert_int_equal(recvfrom(fd, got, sizeof got, 0, (struct sockaddr *)&from, &size), 3);
		assert_int_equal(got[1], i); /* the same peer at either port */
		assert_int_equal(ntohs(from.sin_port), moved);
		to.sin_port = htons((uint16_t)moved);
	}
	close(fd);
	sim_server_stop(s);
}

static void more_peers_than_places_replace_the_oldest_and_nobody_else(void **state)
{
	struct sim_server *s = serve(true, false);
	int fd[SIM_PEERS + 1];

	(void)state;
	for (int i = 0; i <= SIM_PEERS; i++) {
		fd[i] = client(true, sim_server_port(s, 0, false));
		assert_int_equal(send(fd[i], "\1x", 2, 0), 2);
		expect(fd[i], "\2\1y", 3);
	}
	assert_int_equal(send(fd[SIM_PEERS], "\1x", 2, 0), 2);
	expect(fd[SIM_PEERS], "\2\2y", 3);
	assert_int_equal(send(fd[0], "\1x", 2, 0), 2);
	expect(fd[0], "\2\1y", 3); /* had to make room and begins anew */
	for (int i = 0; i <= SIM_PEERS; i++)
		close(fd[i]);
	sim_server_stop(s);
}

static void a_port_in_use_is_named(void **state)
{
	struct sim_server *s = serve(false, false), *second;
	struct sim_device device = {0};
	struct sim_endpoint e = {&device, count_up, false, sim_server_port(s, 0, false), false};
	struct err err = {0};
	char port[10];

	(void)state;
	snprintf(port, sizeof port, "%d", e.port);
	assert_int_equal(sim_server_start(&second, &e, 1, &err), BUSY);
	assert_non_null(strstr(err.message, port));
	assert_null(second);
	sim_server_stop(s);
}

static void a_message_broken_off_holds_up_nobody(void **state)
{
	struct sim_server *s = serve(false, false);
	int fd = client(false, sim_server_port(s, 0, false));
	char many[256] = {(char)0xff};

	(void)state;
	/* 255 bytes are announced, 254 come */
	assert_int_equal(send(fd, many, 255, 0), 255);
	close(fd);
	fd = client(false, sim_server_port(s, 0, false));
	assert_int_equal(send(fd, "\1x", 2, 0), 2);
	expect(fd, "\2\1y", 3);
	close(fd);
	sim_server_stop(s);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(messages_arrive_in_pieces_or_several_at_once),
		cmocka_unit_test(each_connection_has_its_own_session),
		cmocka_unit_test(datagrams_may_be_answered_from_another_port),
		cmocka_unit_test(more_peers_than_places_replace_the_oldest_and_nobody_else),
		cmocka_unit_test(a_port_in_use_is_named),
		cmocka_unit_test(a_message_broken_off_holds_up_nobody),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
