/* Modbus devices at the other end of a pseudo terminal, on a line that can be as bad as lines are. */
#ifndef TESTS_MODBUS_LINE_FIXTURE_H
#define TESTS_MODBUS_LINE_FIXTURE_H

#include "modbus_fixture.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

enum line_how {
	CLEAN,
	NOISE,	      /* before each answer */
	OTHERS,	      /* another master's exchange before each answer */
	ECHOING,      /* our own bytes come back */
	SLOW,	      /* byte by byte */
	DAMAGED_ONCE, /* every second answer has a wrong bit */
	DAMAGED,
	LATE, /* the next answer comes after the time-out, 100 ms too late */
	DEAF,
	ENDLESS /* never silent */
};

#define LINE_TIMEOUT_MS 1000

struct line_device {
	int fd;
	pthread_t thread;
	_Atomic int how;
	_Atomic bool stop;
	_Atomic unsigned answers, overlaps; /* overlaps: a question came before the one before was answered */
	struct sim_device *units[2];
	char path[100];
};

/* Bytes of the question at the front; 0: not whole yet. */
static size_t question_size(const uint8_t *in, size_t size)
{
	if (size < 8)
		return size >= 7 && in[1] == MODBUS_IDENTIFY ? 7 : 0;
	if (in[1] == MODBUS_WRITE_SEVERAL)
		return size >= 9 + (size_t)in[6] ? 9 + (size_t)in[6] : 0;
	return in[1] == MODBUS_IDENTIFY ? 7 : 8;
}

static void line_send(struct line_device *d, const uint8_t *bytes, size_t size)
{
	for (size_t i = 0; i < size; i++) {
		if (write(d->fd, bytes + i, 1) != 1)
			return;
		if (d->how == SLOW)
			usleep(2000);
	}
}

/* The frame of the answer, made by the device of that unit; 0: no such unit, or the question was damaged. */
static size_t line_answer_of(struct line_device *d, const uint8_t *in, size_t size, uint8_t out[MODBUS_FRAME_MAX])
{
	struct modbus_pdu pdu = {.size = size - 3};
	uint8_t question[MODBUS_FRAME_MAX], answer[SIM_MESSAGE];
	struct sim_session session = {0};
	size_t n = 0;

	memcpy(pdu.bytes, in + 1, pdu.size);
	for (int i = 0; i < 2 && modbus_crc(in, size) == 0; i++) {
		if (!d->units[i] || d->units[i]->address != in[0])
			continue;
		sim_modbus_answer(d->units[i], &session, question, modbus_tcp_frame(question, 0, in[0], &pdu), answer,
				  sizeof answer, &n);
		pdu.size = n - MODBUS_HEAD;
		memcpy(pdu.bytes, answer + MODBUS_HEAD, pdu.size);
		return modbus_rtu_frame(out, in[0], &pdu);
	}
	return 0;
}

static void line_answer(struct line_device *d, const uint8_t *in, size_t size)
{
	static const uint8_t noise[] = {0x00, 0xff, 0x11, 0x03, 0x7f};
	/* Unit 9 is asked for a register by another master, and says 7. Checksums reckoned apart from this program. */
	static const uint8_t others[] = {0x09, 0x03, 0x00, 0x00, 0x00, 0x01, 0x85, 0x42,
					 0x09, 0x03, 0x02, 0x00, 0x07, 0x18, 0x47};
	uint8_t out[MODBUS_FRAME_MAX];
	size_t n = line_answer_of(d, in, size, out);

	modbus_say(false, in, size);
	if (n == 0 || d->how >= DEAF)
		return;
	d->answers++;
	if (d->how == ECHOING) {
		line_send(d, in, size);
		usleep(30000); /* a device needs its time, in which an echo must not pass for its answer */
	}
	if (d->how == NOISE)
		line_send(d, noise, sizeof noise);
	if (d->how == OTHERS)
		line_send(d, others, sizeof others);
	if (d->how == DAMAGED || (d->how == DAMAGED_ONCE && d->answers % 2))
		out[3] ^= 4;
	if (d->how == LATE) {
		d->how = CLEAN;
		usleep((LINE_TIMEOUT_MS + 100) * 1000);
	}
	if (poll(&(struct pollfd){.fd = d->fd, .events = POLLIN}, 1, 0) > 0)
		d->overlaps++;
	modbus_say(true, out, n);
	line_send(d, out, n);
}

static void *line_main(void *arg)
{
	struct line_device *d = arg;
	uint8_t in[1024];
	size_t size = 0;

	while (!d->stop) {
		struct pollfd p = {.fd = d->fd, .events = POLLIN};
		size_t whole;
		ssize_t n;

		if (d->how == ENDLESS)
			line_send(d, (const uint8_t[3]){0x11, 0x03, 0x04}, 3);
		if (poll(&p, 1, 2) <= 0 || !(p.revents & POLLIN))
			continue;
		n = read(d->fd, in + size, sizeof in - size);
		if (n <= 0)
			continue;
		size += (size_t)n;
		whole = question_size(in, size);
		if (whole == 0)
			continue;
		if (size > whole)
			d->overlaps++;
		line_answer(d, in, whole);
		size -= whole;
		memmove(in, in + whole, size);
	}
	return NULL;
}

static inline void line_begin(struct line_device *d, enum line_how how)
{
	*d = (struct line_device){.fd = posix_openpt(O_RDWR | O_NOCTTY), .how = how, .units = {&modbus_device, NULL}};
	assert_true(d->fd >= 0);
	assert_int_equal(grantpt(d->fd), 0);
	assert_int_equal(unlockpt(d->fd), 0);
	assert_int_equal(ptsname_r(d->fd, d->path, sizeof d->path), 0);
	modbus_reset();
	pthread_create(&d->thread, NULL, line_main, d);
}

static inline void line_end(struct line_device *d)
{
	d->stop = true;
	pthread_join(d->thread, NULL);
	if (d->fd >= 0)
		close(d->fd);
}

static inline struct field_config line_config(const char *device, int unit, int reg, const char *format)
{
	struct field_config c = modbus_config(0, 3, reg, format);

	c.protocol = FIELD_MODBUS_RTU;
	c.host[0] = '\0';
	c.baud = 115200;
	c.address = unit;
	c.timeout_ms = LINE_TIMEOUT_MS;
	snprintf(c.device, sizeof c.device, "%s", device);
	return c;
}

#endif
