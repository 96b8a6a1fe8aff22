/* A simulated HART device for tests, whose answers can be spoiled, and a record of every byte both ways. */
#ifndef TESTS_HART_FIXTURE_H
#define TESTS_HART_FIXTURE_H

#include "field/hart_data.h"
#include "field/sim_server.h"
#include "field/source.h"
#include "support/check.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum spoil {
	SOUND,
	BURSTS,
	LATE,
	OTHER_DEVICE,
	REFUSED,
	SILENT,
	HUNG_UP,
	ENDLESS,
	TOO_LONG,
	BIT_CHANGED,
	FIRST_LOST,
	SHORT_TIMER,
	CODE
};

struct said {
	bool by_device;
	size_t size;
	uint8_t bytes[512];
};

static struct {
	_Atomic int spoil;
	_Atomic unsigned status, changed_byte, asked;
	_Atomic int code, code_command; /* CODE: response code, to this command; -1: to all but 0 */
	pthread_mutex_t lock;
	struct said said[400];
	size_t count;
} hart = {.lock = PTHREAD_MUTEX_INITIALIZER};

/* Exact in binary, so that float and double hold the same. */
static bool hart_plant_read(void *plant, const char *what, struct sim_value *out)
{
	static const struct {
		const char *what, *unit;
		double value;
	} rows[] = {{"pv", "mbar", 137.25}, {"current", "mA", 9.625}, {"percent", "%", 35.15625},
		    {"sv", "°C", 21.5},	    {"tv", "%", 62.5},	      {"qv", "bar", 6.125}};

	(void)plant;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		if (strcmp(rows[i].what, what) != 0)
			continue;
		*out = (struct sim_value){.value = rows[i].value, .status = hart.status};
		snprintf(out->unit, sizeof out->unit, "%s", rows[i].unit);
		return true;
	}
	return false;
}

static struct sim_device hart_device = {.tag = "PT-1001A",
					.long_tag = "10-PT-1001A intake",
					.descriptor = "INTAKE PRESSURE",
					.hart_type = 0xe1a2,
					.hart_id = 0x00b4d7,
					.address = 3,
					.unit = "mbar",
					.lrv = 0,
					.urv = 400,
					.sensor_low = -100,
					.sensor_high = 1000,
					.span_min = 10,
					.damping_s = 0.5,
					.read = hart_plant_read};

static void hart_say(bool by_device, const uint8_t *bytes, size_t size)
{
	pthread_mutex_lock(&hart.lock);
	if (size > 0 && size <= sizeof hart.said[0].bytes && hart.count < sizeof hart.said / sizeof *hart.said) {
		struct said *s = &hart.said[hart.count++];

		s->by_device = by_device;
		s->size = size;
		memcpy(s->bytes, bytes, size);
	}
	pthread_mutex_unlock(&hart.lock);
}

/* A burst message of the captures, before and behind the answer, as one piece. */
static size_t with_bursts(uint8_t *out, size_t size)
{
	static const uint8_t burst[] = {1,    2,    3, 0, 0, 1, 0, 0x18, 0x81, 0xa1, 0xa2, 0,
					0xb4, 0xd7, 1, 7, 0, 0, 8, 0x41, 0,    0,    0,	   0x62};
	uint8_t answer[SIM_MESSAGE];

	memcpy(answer, out, size);
	memcpy(out, burst, sizeof burst);
	memcpy(out + sizeof burst, answer, size);
	memcpy(out + sizeof burst + size, burst, sizeof burst);
	return size + 2 * sizeof burst;
}

/* The answer to an earlier request, with another value, before the right one. */
static size_t with_late(uint8_t *out, size_t size)
{
	memmove(out + size, out, size);
	out[5]--;
	out[size - 2] ^= 0x55;
	out[size - 1] ^= 0x55;
	return 2 * size;
}

/* Only a response code, no data. */
static size_t with_code(uint8_t *out, size_t size)
{
	struct hart_frame f;
	size_t taken;

	if (hart_parse(out + HART_IP_HEAD, size - HART_IP_HEAD, &f, &taken) || f.command == 0 ||
	    (hart.code_command >= 0 && f.command != hart.code_command))
		return size;
	f.code = (uint8_t)hart.code;
	f.size = 0;
	size = HART_IP_HEAD + hart_answer(out + HART_IP_HEAD, HART_FRAME_MAX, &f);
	out[7] = (uint8_t)size;
	return size;
}

static size_t spoil_answer(enum spoil how, uint8_t *out, size_t size)
{
	bool pdu = size > HART_IP_HEAD && out[2] == HART_IP_PDU;

	switch (how) {
	case BURSTS:
		return with_bursts(out, size);
	case LATE:
		return pdu && size > 20 ? with_late(out, size) : size;
	case OTHER_DEVICE:
		if (pdu && out[HART_IP_HEAD] & 0x80) {
			out[HART_IP_HEAD + 5] ^= 1; /* device id and checksum */
			out[size - 1] ^= 1;
		}
		return size;
	case REFUSED:
		if (pdu)
			out[1] = HART_IP_NAK;
		return size;
	case SILENT:
		return 0;
	case TOO_LONG:
		out[6] = 0xff;
		return size;
	case BIT_CHANGED:
		if (pdu)
			out[hart.changed_byte % size] ^= (uint8_t)(1 << hart.changed_byte / size % 8);
		return size;
	case FIRST_LOST:
		return hart.asked % 2 ? 0 : size;
	case CODE:
		return pdu ? with_code(out, size) : size;
	case SHORT_TIMER:
		if (out[2] == HART_IP_INITIATE) {
			out[HART_IP_HEAD + 3] = 0; /* 150 ms */
			out[HART_IP_HEAD + 4] = 150;
		}
		return size;
	default:
		return size;
	}
}

static long spoiling_answer(struct sim_device *device, struct sim_session *session, const uint8_t *in, size_t size,
			    uint8_t *out, size_t room, size_t *out_size)
{
	long taken = sim_hart_ip_answer(device, session, in, size, out, room, out_size);

	if (taken <= 0)
		return taken;
	hart_say(false, in, (size_t)taken);
	hart.asked++;
	if (hart.spoil == HUNG_UP) {
		*out_size = 0;
		return -1;
	}
	*out_size = spoil_answer(hart.spoil, out, *out_size);
	hart_say(true, out, *out_size);
	return taken;
}

static inline int64_t hart_now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

static inline struct sim_server *hart_serve(bool udp, bool moves)
{
	struct sim_endpoint e = {.device = &hart_device, .answer = spoiling_answer, .udp = udp, .moves = moves};
	struct sim_server *server;
	struct err err = {0};

	hart.spoil = SOUND;
	hart.status = 0;
	hart.count = 0;
	hart.asked = 0;
	if (sim_server_start(&server, &e, 1, &err))
		fail_msg("%s", err.message);
	return server;
}

static inline struct field_config hart_config(const struct sim_server *server, bool udp, const char *variable)
{
	struct field_config c = {.protocol = udp ? FIELD_HART_IP_UDP : FIELD_HART_IP_TCP,
				 .host = "127.0.0.1",
				 .port = sim_server_port(server, 0, false),
				 .address = 3,
				 .timeout_ms = 500};

	snprintf(c.variable, sizeof c.variable, "%s", variable);
	return c;
}

#endif
