/*
 * Modbus against another library's device (libmodbus): over TCP, and on a serial line that socat makes of two pseudo terminals. Its
 * registers are set as bytes, never by its own functions for numbers.
 */
#include <arpa/inet.h>
#include <errno.h>
#include <modbus/modbus.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include "field/source.h"
#include "support/check.h"

#define UNIT	  17
#define REGISTERS 40

struct peer {
	modbus_t *ctx;
	modbus_mapping_t *registers;
	pthread_t thread;
	_Atomic bool stop;
	int listener; /* TCP */
	pid_t socat;  /* line */
	char folder[40], ours[60], theirs[60];
	struct field_config config;
};

/* 12.345 is 41 45 85 1f (IEEE 754), here in four orders; whole numbers in two's complement. */
static const uint16_t content[REGISTERS] = {0x4145, 0x851f, 0x851f, 0x4145, 0x4541, 0x1f85, 0x1f85, 0x4541,
					    0xfffe, 0xfffe, 0x0001, 0x0002, 0x0002, 0x0001, 0xffff, 0xfffe,
					    0xfffe, 0xffff, 13824,  0,	    0,	    0};

/* ---- the device ---- */

static void answer_all(struct peer *p)
{
	uint8_t question[MODBUS_TCP_MAX_ADU_LENGTH];

	while (!p->stop) {
		int size = modbus_receive(p->ctx, question);

		if (size > 0)
			modbus_reply(p->ctx, question, size, p->registers);
		else if (size < 0 && p->listener >= 0 && errno != ETIMEDOUT)
			return; /* the client has gone */
	}
}

static void *serve(void *arg)
{
	struct peer *p = arg;

	while (!p->stop) {
		fd_set ready;
		struct timeval wait = {0, 20000};

		if (p->listener < 0) {
			answer_all(p);
			continue;
		}
		FD_ZERO(&ready);
		FD_SET(p->listener, &ready);
		if (select(p->listener + 1, &ready, NULL, NULL, &wait) <= 0 ||
		    modbus_tcp_accept(p->ctx, &p->listener) < 0)
			continue;
		answer_all(p);
		modbus_close(p->ctx);
	}
	return NULL;
}

static void begin(struct peer *p)
{
	p->registers = modbus_mapping_new(0, 0, REGISTERS, REGISTERS);
	assert_non_null(p->ctx);
	assert_non_null(p->registers);
	memcpy(p->registers->tab_registers, content, sizeof content);
	p->registers->tab_input_registers[3] = 0xc120; /* -10 */
	modbus_set_slave(p->ctx, UNIT);
	modbus_set_indication_timeout(p->ctx, 0, 50000);
	p->config.address = UNIT;
	p->config.timeout_ms = 2000;
	p->config.set_reg = -1;
	assert_int_equal(pthread_create(&p->thread, NULL, serve, p), 0);
}

static int setup_tcp(void **state)
{
	static struct peer p;
	struct sockaddr_in at = {0};
	socklen_t size = sizeof at;

	p = (struct peer){.config = {.protocol = FIELD_MODBUS_TCP, .host = "127.0.0.1"}};
	p.ctx = modbus_new_tcp("127.0.0.1", 0);
	p.listener = p.ctx ? modbus_tcp_listen(p.ctx, 1) : -1;
	if (p.listener < 0 || getsockname(p.listener, (struct sockaddr *)&at, &size))
		return -1;
	p.config.port = ntohs(at.sin_port);
	begin(&p);
	*state = &p;
	return 0;
}

/* Ends by itself after a minute, whatever becomes of the test: the alarm stays over exec. */
static pid_t start_socat(const struct peer *p)
{
	char one[100], two[100];
	pid_t pid = fork();

	if (pid != 0)
		return pid;
	snprintf(one, sizeof one, "pty,raw,echo=0,link=%s", p->ours);
	snprintf(two, sizeof two, "pty,raw,echo=0,link=%s", p->theirs);
	alarm(60);
	execlp("socat", "socat", one, two, (char *)NULL);
	_exit(127);
}

static int setup_line(void **state)
{
	static struct peer p;

	p = (struct peer){.listener = -1, .folder = "/tmp/modbus-peer-XXXXXX"};
	if (!mkdtemp(p.folder))
		return -1;
	snprintf(p.ours, sizeof p.ours, "%s/ours", p.folder);
	snprintf(p.theirs, sizeof p.theirs, "%s/theirs", p.folder);
	p.socat = start_socat(&p);
	for (int i = 0; i < 1000 && (access(p.ours, F_OK) || access(p.theirs, F_OK)); i++)
		usleep(10000);
	p.config = (struct field_config){.protocol = FIELD_MODBUS_RTU, .baud = 19200, .parity = 'N'};
	snprintf(p.config.device, sizeof p.config.device, "%s", p.ours);
	p.ctx = modbus_new_rtu(p.theirs, 19200, 'N', 8, 1);
	if (!p.ctx || modbus_set_slave(p.ctx, UNIT) || modbus_connect(p.ctx))
		return -1;
	begin(&p);
	*state = &p;
	return 0;
}

static int teardown(void **state)
{
	struct peer *p = *state;

	p->stop = true;
	pthread_join(p->thread, NULL);
	modbus_mapping_free(p->registers);
	modbus_close(p->ctx);
	modbus_free(p->ctx);
	if (p->listener >= 0)
		close(p->listener);
	if (p->socat > 0) {
		kill(p->socat, SIGTERM);
		waitpid(p->socat, NULL, 0);
		unlink(p->ours);
		unlink(p->theirs);
		rmdir(p->folder);
	}
	return 0;
}

/* ---- what is true of both ---- */

static struct field_source *open_at(const struct peer *p, int function, int reg, const char *format)
{
	struct field_config c = p->config;
	struct field_source *source;
	struct err err = {0};

	c.function = function;
	c.reg = reg;
	snprintf(c.format, sizeof c.format, "%s", format);
	if (field_open(&source, &c, &err))
		fail_msg("%s %s", err.field, err.message);
	return source;
}

static double read_at(const struct peer *p, int function, int reg, const char *format)
{
	struct field_source *source = open_at(p, function, reg, format);
	struct field_reading r;
	struct err err = {0};
	enum status rc = field_read(source, &r, &err);

	field_close(source);
	if (rc)
		fail_msg("%s", err.message);
	return r.value;
}

static void numbers_are_read_as_they_stand_in_its_registers(void **state)
{
	static const struct {
		int reg;
		const char *format;
		double value;
	} rows[] = {{0, "f32-abcd", (double)12.345f},
		    {2, "f32-cdab", (double)12.345f},
		    {4, "f32-badc", (double)12.345f},
		    {6, "f32-dcba", (double)12.345f},
		    {8, "i16", -2},
		    {9, "u16", 65534},
		    {10, "i32-abcd", 65538},
		    {12, "i32-cdab", 65538},
		    {14, "i32-abcd", -2},
		    {16, "i32-cdab", -2},
		    {14, "u32-abcd", 4294967294.0},
		    {16, "u32-cdab", 4294967294.0}};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_near(read_at(*state, 3, rows[i].reg, rows[i].format), rows[i].value, 0);
	assert_near(read_at(*state, 4, 3, "f32-abcd"), -10, 0);
}

static void counts_are_scaled_to_the_unit(void **state)
{
	struct peer *p = *state;

	p->config.raw_high = 27648;
	p->config.high = 100;
	assert_near(read_at(p, 3, 18, "i16"), 50, 1e-9);
	p->config.low = 100;
	p->config.high = -60;
	assert_near(read_at(p, 3, 18, "i16"), 20, 1e-9);
}

static void its_refusal_is_said_in_words(void **state)
{
	struct field_source *source = open_at(*state, 3, REGISTERS - 1, "f32-abcd");
	struct field_reading r;
	struct err err = {0};

	assert_int_equal(field_read(source, &r, &err), FAILED);
	assert_non_null(strstr(err.message, "no such register (function 3, exception 2)"));
	field_close(source);
}

/* libmodbus does not know function 43. */
static void a_device_without_a_name_is_read_all_the_same(void **state)
{
	struct field_source *source = open_at(*state, 3, 0, "f32-abcd");
	struct field_identity who;
	struct field_reading r;
	struct err err = {0};

	if (field_identify(source, &who, &err) || field_read(source, &r, &err))
		fail_msg("%s", err.message);
	assert_string_equal(who.device_id, "");
	assert_near(r.value, (double)12.345f, 0);
	field_close(source);
}

static void what_is_driven_stands_in_its_registers_and_goes_safe(void **state)
{
	static const struct {
		int reg;
		const char *format;
		uint16_t first, second; /* 12.345 at a scale of 1; the whole number of it is 12 */
	} rows[] = {{20, "f32-abcd", 0x4145, 0x851f}, {20, "f32-cdab", 0x851f, 0x4145},
		    {20, "f32-badc", 0x4541, 0x1f85}, {20, "f32-dcba", 0x1f85, 0x4541},
		    {20, "i16", 12, 0xffff},	      {20, "i32-cdab", 12, 0}};
	struct peer *p = *state;
	const uint16_t *at = p->registers->tab_registers;

	p->config.set_reg = 20;
	p->config.drivable = true;
	p->config.drive_low = p->config.safe = 0;
	p->config.drive_high = 20;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_source *source;
		struct err err = {0};

		p->registers->tab_registers[20] = p->registers->tab_registers[21] = 0xffff;
		source = open_at(p, 3, rows[i].reg, rows[i].format);
		if (field_drive(source, 12.345, &err))
			fail_msg("%s", err.message);
		assert_int_equal(at[20], rows[i].first);
		assert_int_equal(at[21], rows[i].second);
		assert_int_equal(field_drive(source, 20.1, &err), INVALID);
		assert_int_equal(at[20], rows[i].first);
		if (field_safe(source, &err))
			fail_msg("%s", err.message);
		assert_int_equal(at[20], 0);
		field_close(source);
	}
}

int main(void)
{
#define OVER_BOTH(test)                                              \
	{#test " over TCP", test, setup_tcp, teardown, NULL},        \
	{                                                            \
#test " on a line", test, setup_line, teardown, NULL \
	}
	const struct CMUnitTest tests[] = {
		OVER_BOTH(numbers_are_read_as_they_stand_in_its_registers),
		OVER_BOTH(counts_are_scaled_to_the_unit),
		OVER_BOTH(its_refusal_is_said_in_words),
		OVER_BOTH(a_device_without_a_name_is_read_all_the_same),
		OVER_BOTH(what_is_driven_stands_in_its_registers_and_goes_safe),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
