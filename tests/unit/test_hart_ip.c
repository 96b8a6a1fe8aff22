/* HART-IP over the loopback interface, with a device that answers soundly and with one that does not. */
#include "hart_fixture.h"

#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

static struct field_source *opened(const struct field_config *c)
{
	struct field_source *source;
	struct err err = {0};

	if (field_open(&source, c, &err))
		fail_msg("%s: %s", err.field, err.message);
	return source;
}

static struct field_reading read_once(struct field_source *source)
{
	struct field_reading r;
	struct err err = {0};

	if (field_read(source, &r, &err))
		fail_msg("%s", err.message);
	return r;
}

static void reads_all(bool udp, bool moves)
{
	static const struct {
		const char *variable, *unit;
		double value;
	} rows[] = {{"pv", "mbar", 137.25}, {"current", "mA", 9.625}, {"percent", "%", 35.15625}, {"sv", "°C", 21.5}};
	struct sim_server *server = hart_serve(udp, moves);

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_config c = hart_config(server, udp, rows[i].variable);
		struct field_source *source = opened(&c);
		struct field_reading r = read_once(source);

		assert_near(r.value, rows[i].value, 0);
		assert_string_equal(r.unit, rows[i].unit);
		assert_int_equal(r.status, 0);
		assert_true(r.at_ms > 1700000000000);
		assert_memory_equal(r.raw, "86", 2);
		field_close(source);
	}
	sim_server_stop(server);
}

static void values_come_over_udp(void **state)
{
	(void)state;
	reads_all(true, false);
}

static void values_come_over_tcp(void **state)
{
	(void)state;
	reads_all(false, false);
}

/* As a gateway of the captures does: asked at 5094, it answers from 5095 and goes on there. */
static void another_port_that_answers_is_followed(void **state)
{
	(void)state;
	reads_all(true, true);
}

static void a_device_says_who_it_is(void **state)
{
	struct sim_server *server = hart_serve(false, false);
	struct field_config c = hart_config(server, false, "pv");
	struct field_source *source = opened(&c);
	struct field_identity id;
	struct err err = {0};

	(void)state;
	assert_int_equal(field_identify(source, &id, &err), OK);
	assert_string_equal(id.tag, "10-PT-1001A intake");
	assert_string_equal(id.device_id, "e1a2-00b4d7");
	assert_string_equal(id.serial, "46295"); /* 0xb4d7 */
	hart_device.long_tag = "";
	assert_int_equal(field_identify(source, &id, &err), OK);
	assert_string_equal(id.tag, "PT-1001A");
	hart_device.long_tag = "10-PT-1001A intake";
	field_close(source);
	sim_server_stop(server);
}

static void a_devices_status_comes_with_its_value(void **state)
{
	static const unsigned bits[] = {
		FIELD_MALFUNCTION,    FIELD_FIXED,	FIELD_SATURATED, FIELD_OUT_OF_LIMITS, FIELD_OTHER_OUT_OF_LIMITS,
		FIELD_CONFIG_CHANGED, FIELD_COLD_START, FIELD_MORE,	 FIELD_BAD,	      FIELD_POOR};
	struct sim_server *server = hart_serve(false, false);
	struct field_config c = hart_config(server, false, "pv");
	struct field_source *source = opened(&c);

	(void)state;
	for (size_t i = 0; i < sizeof bits / sizeof *bits; i++) {
		hart.status = bits[i];
		assert_int_equal(read_once(source).status, bits[i]);
		assert_non_null(field_status_words((enum field_status)bits[i]));
	}
	field_close(source);
	sim_server_stop(server);
}

static void what_comes_in_between_is_passed_over(void **state)
{
	struct sim_server *server = hart_serve(false, false);
	struct field_config c = hart_config(server, false, "pv");
	struct field_source *source = opened(&c);

	(void)state;
	for (int how = BURSTS; how <= LATE; how++) {
		hart.spoil = how;
		for (int i = 0; i < 50; i++)
			assert_near(read_once(source).value, 137.25, 0);
	}
	field_close(source);
	sim_server_stop(server);
}

/* Each way of going wrong: a refusal within the time, out untouched, and the next sound answer is read again. */
static void no_reading_comes_of_a_bad_answer(void **state)
{
	static const struct {
		enum spoil how;
		enum status rc;
	} rows[] = {{OTHER_DEVICE, FAILED}, {REFUSED, FAILED}, {SILENT, BUSY}, {HUNG_UP, BUSY}, {TOO_LONG, FAILED}};

	(void)state;
	for (int udp = 0; udp < 2; udp++) {
		struct sim_server *server = hart_serve(udp, false);
		struct field_config c = hart_config(server, udp, "pv");
		struct field_source *source = opened(&c);

		for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
			struct field_reading r = {.value = -1};
			struct err err = {0};
			int64_t begun = hart_now_ms();
			enum status rc;

			hart.spoil = rows[i].how;
			rc = field_read(source, &r, &err);
			/* A datagram that makes no sense is none; it is asked for again until the time is over. */
			assert_int_equal(rc, udp && rows[i].how == TOO_LONG ? BUSY : rows[i].rc);
			assert_true(strstr(err.message, "127.0.0.1") != NULL);
			assert_near(r.value, -1, 0);
			assert_in_range(hart_now_ms() - begun, 0, 900); /* the time-out is 500 */
			hart.spoil = SOUND;
			assert_near(read_once(source).value, 137.25, 0);
		}
		field_close(source);
		sim_server_stop(server);
	}
}

/* One bit of the message anywhere, seeded by its number. */
static void a_changed_bit_never_makes_a_wrong_reading(void **state)
{
	struct sim_server *server = hart_serve(false, false);
	struct field_config c = hart_config(server, false, "pv");
	struct field_source *source;
	int good = 0;

	(void)state;
	c.timeout_ms = 20;
	source = opened(&c);
	for (unsigned i = 0; i < 400; i++) {
		struct field_reading r;
		struct err err = {0};

		hart.changed_byte = i;
		hart.spoil = BIT_CHANGED;
		if (!field_read(source, &r, &err))
			assert_near(r.value, 137.25, 0);
		hart.spoil = SOUND;
		if (!field_read(source, &r, &err)) {
			assert_near(r.value, 137.25, 0);
			good++;
		}
	}
	/* A busy machine may miss 20 ms now and then. */
	assert_in_range(good, 300, 400);
	field_close(source);
	sim_server_stop(server);
}

static int messages_of(enum hart_ip_id id)
{
	int n = 0;

	for (size_t i = 0; i < hart.count; i++)
		n += !hart.said[i].by_device && hart.said[i].bytes[2] == id;
	return n;
}

/* 64: seen in captures; 32 busy, 16 restricted, bit 7 a communication error: from memory. */
static void a_devices_own_refusal_comes_in_its_words(void **state)
{
	static const struct {
		int code;
		enum status rc;
		const char *words;
	} rows[] = {{32, BUSY, "it is busy (32)"},
		    {16, FAILED, "access is restricted (16)"},
		    {0x88, FAILED, "received the request damaged (136)"},
		    {64, FAILED, "does not know this command (64)"}};
	struct sim_server *server = hart_serve(false, false);
	struct field_config c = hart_config(server, false, "current");
	struct field_source *source = opened(&c);

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_reading r;
		struct err err = {0};

		hart.code = rows[i].code;
		hart.code_command = -1;
		hart.spoil = CODE;
		assert_int_equal(field_read(source, &r, &err), rows[i].rc);
		if (!strstr(err.message, rows[i].words))
			fail_msg("%s", err.message);
	}
	assert_int_equal(messages_of(HART_IP_INITIATE), 1); /* a refusal is no reason to connect anew */
	field_close(source);
	sim_server_stop(server);
}

static void a_device_without_command_9_is_read_by_the_older_ones(void **state)
{
	static const struct {
		const char *variable;
		double value;
	} rows[] = {{"pv", 137.25}, {"sv", 21.5}, {"tv", 62.5}, {"qv", 6.125}};
	struct sim_server *server = hart_serve(false, false);

	(void)state;
	hart.code = 64;
	hart.code_command = 9;
	hart.spoil = CODE;
	for (size_t i = 0; i < 4; i++) {
		struct field_config c = hart_config(server, false, rows[i].variable);
		struct field_source *source = opened(&c);

		assert_near(read_once(source).value, rows[i].value, 0);
		field_close(source);
	}
	sim_server_stop(server);
}

static void a_lost_datagram_is_asked_for_again(void **state)
{
	struct sim_server *server = hart_serve(true, false);
	struct field_config c = hart_config(server, true, "pv");
	struct field_source *source = opened(&c);

	(void)state;
	hart.asked = 0;
	hart.spoil = FIRST_LOST;
	assert_near(read_once(source).value, 137.25, 0);
	field_close(source);
	sim_server_stop(server);
}

/* The device gives 150 ms where 30 s were asked for. */
static void a_session_lives_by_the_timer_that_was_answered(void **state)
{
	struct sim_server *server = hart_serve(false, false);
	struct field_config c = hart_config(server, false, "pv");
	struct field_source *source;
	struct err err = {0};

	(void)state;
	hart.spoil = SHORT_TIMER;
	source = opened(&c);
	assert_int_equal(field_keep(source, &err), OK);
	assert_int_equal(messages_of(HART_IP_KEEP_ALIVE), 0);
	usleep(70000); /* a third has gone by */
	assert_int_equal(field_keep(source, &err), OK);
	assert_int_equal(messages_of(HART_IP_KEEP_ALIVE), 1);
	usleep(200000); /* by now it has forgotten us */
	assert_near(read_once(source).value, 137.25, 0);
	assert_int_equal(messages_of(HART_IP_INITIATE), 2);
	field_close(source);
	sim_server_stop(server);
}

static void another_device_behind_the_same_address_is_never_read(void **state)
{
	struct sim_server *server = hart_serve(false, false);
	struct field_config c = hart_config(server, false, "pv");
	struct field_source *source = opened(&c);
	struct field_reading r;
	struct err err = {0};

	(void)state;
	hart.spoil = HUNG_UP;
	assert_int_equal(field_read(source, &r, &err), BUSY);
	hart.spoil = SOUND;
	hart_device.hart_id++;
	assert_int_equal(field_read(source, &r, &err), FAILED);
	assert_non_null(strstr(err.message, "e1a2-00b4d8 instead of e1a2-00b4d7"));
	hart_device.hart_id--;
	assert_near(read_once(source).value, 137.25, 0);
	field_close(source);
	sim_server_stop(server);
}

/* Every message that was sent, over all variables, identity and refusals: no command beyond those that read. */
static void only_queries_are_ever_sent(void **state)
{
	static const char *const variables[] = {"pv", "sv", "tv", "qv", "current", "percent"};
	struct sim_server *server = hart_serve(false, false);
	size_t frames = 0;

	(void)state;
	for (size_t i = 0; i < 6; i++) {
		struct field_config c = hart_config(server, false, variables[i]);
		struct field_source *source = opened(&c);
		struct field_identity id;
		struct field_reading r;
		struct err err = {0};

		for (int how = SOUND; how <= REFUSED; how++) {
			hart.spoil = how;
			field_read(source, &r, &err);
			field_identify(source, &id, &err);
		}
		hart.spoil = SOUND;
		assert_int_equal(field_drive(source, 50, &err), INVALID);
		assert_int_equal(field_safe(source, &err), INVALID);
		field_close(source);
	}
	sim_server_stop(server);
	for (size_t i = 0; i < hart.count; i++) {
		struct hart_frame f;
		size_t taken;

		if (hart.said[i].by_device || hart.said[i].bytes[2] != HART_IP_PDU)
			continue;
		assert_int_equal(
			hart_parse(hart.said[i].bytes + HART_IP_HEAD, hart.said[i].size - HART_IP_HEAD, &f, &taken),
			HART_OK);
		assert_true(f.command <= 3 || (f.command >= 7 && f.command <= 9) ||
			    (f.command >= 12 && f.command <= 16) || f.command == 20 || f.command == 48);
		frames++;
	}
	assert_true(frames > 60);
}

/* A peer that sends a byte now and then, without end. */
static void *drip(void *arg)
{
	int fd = accept(*(int *)arg, NULL, NULL);
	/* A burst message without end: it claims 2000 bytes. */
	uint8_t byte[2][8] = {{1, 2, 3, 0, 0, 1, 0x07, 0xd0}, {0}};

	if (fd < 0)
		return NULL;
	if (send(fd, byte[0], 8, MSG_NOSIGNAL) == 8) {
		while (send(fd, byte[1], 1, MSG_NOSIGNAL) == 1)
			usleep(5000);
	}
	close(fd);
	return NULL;
}

static void a_device_that_drips_does_not_hold_us_beyond_the_time(void **state)
{
	struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
	socklen_t size = sizeof at;
	int fd = socket(AF_INET, SOCK_STREAM, 0);
	struct field_config c = {
		.protocol = FIELD_HART_IP_TCP, .host = "127.0.0.1", .variable = "pv", .timeout_ms = 200};
	struct field_source *source;
	struct err err = {0};
	pthread_t thread;
	int64_t begun;

	(void)state;
	assert_int_equal(bind(fd, (struct sockaddr *)&at, size), 0);
	assert_int_equal(listen(fd, 1), 0);
	assert_int_equal(getsockname(fd, (struct sockaddr *)&at, &size), 0);
	pthread_create(&thread, NULL, drip, &fd);
	c.port = ntohs(at.sin_port);
	begun = hart_now_ms();
	assert_int_equal(field_open(&source, &c, &err), BUSY);
	assert_in_range(hart_now_ms() - begun, 150, 600);
	pthread_join(thread, NULL);
	close(fd);
	assert_null(source);
}

/* Datagrams that make no sense, as fast as they can be sent. */
static void *flood(void *arg)
{
	int fd = *(int *)arg;
	struct sockaddr_in from;
	socklen_t size = sizeof from;
	uint8_t byte[20] = {0};
	struct iovec piece = {byte, sizeof byte};
	struct mmsghdr many[64];

	if (recvfrom(fd, byte, sizeof byte, 0, (struct sockaddr *)&from, &size) < 0)
		return NULL;
	memset(byte, 0, sizeof byte);
	for (int i = 0; i < 64; i++)
		many[i].msg_hdr = (struct msghdr){
			.msg_name = &from, .msg_namelen = size, .msg_iov = &piece, .msg_iovlen = 1};
	for (int64_t end = hart_now_ms() + 1000; hart_now_ms() < end;)
		sendmmsg(fd, many, 64, MSG_DONTWAIT);
	return NULL;
}

static void a_flood_of_datagrams_does_not_hold_us_beyond_the_time(void **state)
{
	struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
	socklen_t size = sizeof at;
	int fd = socket(AF_INET, SOCK_DGRAM, 0);
	struct field_config c = {
		.protocol = FIELD_HART_IP_UDP, .host = "127.0.0.1", .variable = "pv", .timeout_ms = 200};
	struct field_source *source;
	struct err err = {0};
	pthread_t thread;
	int64_t begun;

	(void)state;
	assert_int_equal(bind(fd, (struct sockaddr *)&at, size), 0);
	assert_int_equal(getsockname(fd, (struct sockaddr *)&at, &size), 0);
	pthread_create(&thread, NULL, flood, &fd);
	c.port = ntohs(at.sin_port);
	begun = hart_now_ms();
	assert_int_equal(field_open(&source, &c, &err), BUSY);
	assert_in_range(hart_now_ms() - begun, 150, 600);
	pthread_join(thread, NULL);
	close(fd);
}

static void a_faulty_configuration_names_its_member(void **state)
{
	const struct field_config good = {.protocol = FIELD_HART_IP_TCP, .host = "127.0.0.1", .variable = "pv"};
	struct field_config bad[6] = {good, good, good, good, good, good};
	const char *const members[] = {"/port", "/host", "/variable", "/address", "/timeout_ms", "/drivable"};
	struct field_source *source;

	(void)state;
	bad[0].port = 65536;
	bad[1].host[0] = 0;
	bad[2].variable[0] = 'x';
	bad[3].address = 64;
	bad[4].timeout_ms = -1;
	bad[5].drivable = true;
	for (size_t i = 0; i < 6; i++) {
		struct err err = {0};

		assert_int_equal(field_open(&source, &bad[i], &err), INVALID);
		assert_string_equal(err.field, members[i]);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(values_come_over_udp),
		cmocka_unit_test(values_come_over_tcp),
		cmocka_unit_test(another_port_that_answers_is_followed),
		cmocka_unit_test(a_device_says_who_it_is),
		cmocka_unit_test(a_devices_status_comes_with_its_value),
		cmocka_unit_test(what_comes_in_between_is_passed_over),
		cmocka_unit_test(no_reading_comes_of_a_bad_answer),
		cmocka_unit_test(a_changed_bit_never_makes_a_wrong_reading),
		cmocka_unit_test(a_devices_own_refusal_comes_in_its_words),
		cmocka_unit_test(a_device_without_command_9_is_read_by_the_older_ones),
		cmocka_unit_test(a_lost_datagram_is_asked_for_again),
		cmocka_unit_test(a_session_lives_by_the_timer_that_was_answered),
		cmocka_unit_test(another_device_behind_the_same_address_is_never_read),
		cmocka_unit_test(only_queries_are_ever_sent),
		cmocka_unit_test(a_device_that_drips_does_not_hold_us_beyond_the_time),
		cmocka_unit_test(a_flood_of_datagrams_does_not_hold_us_beyond_the_time),
		cmocka_unit_test(a_faulty_configuration_names_its_member),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
