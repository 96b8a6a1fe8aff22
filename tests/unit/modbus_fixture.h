/* A simulated Modbus device for tests, whose answers can be spoiled, and a record of every message both ways. */
#ifndef TESTS_MODBUS_FIXTURE_H
#define TESTS_MODBUS_FIXTURE_H

#include "field/modbus_frame.h"
#include "field/sim_server.h"
#include "field/source.h"
#include "support/check.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum spoil {
	SOUND,
	SILENT,
	HUNG_UP,
	EXCEPTION,
	OTHER_UNIT,
	OTHER_TRANSACTION,
	OTHER_FUNCTION,
	OTHER_COUNT,
	OTHER_PROTOCOL,
	NO_LENGTH,
	LATE_FIRST,    /* another value with the number of an earlier question comes before the answer */
	NO_IDENTITY,   /* function 43 is refused */
	MUTE_IDENTITY, /* function 43 is not answered */
	DEAF_TO_WRITES /* says that it has written, and has not */
};

struct said {
	bool by_device;
	size_t size;
	uint8_t bytes[MODBUS_FRAME_MAX];
};

#define SAID_MAX 600

static struct {
	_Atomic int spoil, exception;
	_Atomic int spoils_left; /* -1: all */
	pthread_mutex_t lock;
	struct said said[SAID_MAX];
	size_t count;
	double value[8];
	_Atomic unsigned sets;
} modbus = {.lock = PTHREAD_MUTEX_INITIALIZER};

/* what: the number of a value; "none" is no number, "most" takes up to 100 only */
static bool modbus_plant_read(void *plant, const char *what, struct sim_value *out)
{
	(void)plant;
	*out = (struct sim_value){.value = strcmp(what, "none") ? modbus.value[*what - '0'] : (double)NAN};
	return true;
}

static bool modbus_plant_set(void *plant, const char *what, double value)
{
	(void)plant;
	if (!isfinite(value) || (*what == '7' && value > 100))
		return false;
	modbus.value[*what - '0'] = value;
	modbus.sets++;
	return true;
}

/* Holding registers by format; value 7 takes up to 100 only. */
static const struct sim_register modbus_registers[] = {
	{.function = 3, .reg = 0, .format = "f32-abcd", .what = "0", .writable = true},
	{.function = 3, .reg = 2, .format = "f32-cdab", .what = "0", .writable = true},
	{.function = 3, .reg = 4, .format = "f32-badc", .what = "0", .writable = true},
	{.function = 3, .reg = 6, .format = "f32-dcba", .what = "0", .writable = true},
	{.function = 3, .reg = 8, .format = "i16", .what = "1", .writable = true},
	{.function = 3, .reg = 9, .format = "u16", .what = "1", .writable = true},
	{.function = 3, .reg = 10, .format = "i32-abcd", .what = "1", .writable = true},
	{.function = 3, .reg = 12, .format = "i32-cdab", .what = "1", .writable = true},
	{.function = 3, .reg = 14, .format = "u32-abcd", .what = "1", .writable = true},
	{.function = 3, .reg = 16, .format = "u32-cdab", .what = "1", .writable = true},
	{3, 18, "u16", 0, 4000, 0, 100, "2", true}, /* 40 counts are one */
	{.function = 3, .reg = 19, .format = "u16", .what = "3"},
	{.function = 3, .reg = 20, .format = "f32-abcd", .what = "7", .writable = true},
	{.function = 4, .reg = 0, .format = "f32-abcd", .what = "4"},
	{.function = 4, .reg = 2, .format = "f32-dcba", .what = "none"},
	{.function = 4, .reg = 65535, .format = "i16", .what = "5"},
};

static struct sim_device modbus_device = {.long_tag = "40-FQ-2201",
					  .maker = "Quillstrand",
					  .model = "PM-100k",
					  .serial = "2077",
					  .revision = "3.1",
					  .address = 17,
					  .registers = modbus_registers,
					  .register_count = sizeof modbus_registers / sizeof *modbus_registers,
					  .read = modbus_plant_read,
					  .set = modbus_plant_set};

static void modbus_say(bool by_device, const uint8_t *bytes, size_t size)
{
	pthread_mutex_lock(&modbus.lock);
	if (size > 0 && size <= MODBUS_FRAME_MAX && modbus.count < SAID_MAX) {
		struct said *s = &modbus.said[modbus.count++];

		s->by_device = by_device;
		s->size = size;
		memcpy(s->bytes, bytes, size);
	}
	pthread_mutex_unlock(&modbus.lock);
}

static size_t modbus_with_late(uint8_t *out, size_t size)
{
	memmove(out + size, out, size);
	out[1]--;
	out[size - 1] ^= 0x55;
	return 2 * size;
}

static size_t modbus_with_exception(uint8_t *out, int exception)
{
	out[5] = 3;
	out[7] |= 0x80;
	out[8] = (uint8_t)exception;
	return 9;
}

static size_t modbus_spoil(enum spoil how, uint8_t *out, size_t size)
{
	bool identity = (out[7] & 0x7f) == MODBUS_IDENTIFY;

	switch (how) {
	case SILENT:
		return 0;
	case MUTE_IDENTITY:
		return identity ? 0 : size;
	case NO_IDENTITY:
		return identity ? modbus_with_exception(out, MODBUS_ILLEGAL_FUNCTION) : size;
	case EXCEPTION:
		return modbus_with_exception(out, modbus.exception);
	case OTHER_UNIT:
		out[6]++;
		return size;
	case OTHER_TRANSACTION:
		out[0] ^= 1;
		return size;
	case OTHER_FUNCTION:
		out[7] = out[7] == 3 ? 4 : 3;
		return size;
	case OTHER_COUNT: /* two bytes fewer, in all three places */
		out[5] = (uint8_t)(out[5] - 2);
		out[8] = (uint8_t)(out[8] - 2);
		return size - 2;
	case OTHER_PROTOCOL:
		out[3] = 1;
		return size;
	case NO_LENGTH:
		out[5] = 0;
		return size;
	case LATE_FIRST:
		return modbus_with_late(out, size);
	default:
		return size;
	}
}

static long modbus_spoiling_answer(struct sim_device *device, struct sim_session *session, const uint8_t *in,
				   size_t size, uint8_t *out, size_t room, size_t *out_size)
{
	bool spoiled = modbus.spoil != SOUND && modbus.spoils_left != 0;
	double before[8];
	long taken;

	memcpy(before, modbus.value, sizeof before);
	taken = sim_modbus_answer(device, session, in, size, out, room, out_size);
	if (taken <= 0)
		return taken;
	modbus_say(false, in, (size_t)taken);
	if (spoiled && modbus.spoils_left > 0)
		modbus.spoils_left--;
	if (spoiled && modbus.spoil == HUNG_UP) {
		*out_size = 0;
		return -1;
	}
	if (spoiled && modbus.spoil == DEAF_TO_WRITES)
		memcpy(modbus.value, before, sizeof before);
	if (spoiled)
		*out_size = modbus_spoil(modbus.spoil, out, *out_size);
	modbus_say(true, out, *out_size);
	return taken;
}

static inline void modbus_reset(void)
{
	modbus.spoil = SOUND;
	modbus.spoils_left = -1;
	modbus.count = 0;
	modbus.sets = 0;
	for (int i = 0; i < 8; i++)
		modbus.value[i] = 0;
}

static inline struct sim_server *modbus_serve(void)
{
	struct sim_endpoint e = {.device = &modbus_device, .answer = modbus_spoiling_answer};
	struct sim_server *server;
	struct err err = {0};

	modbus_reset();
	if (sim_server_start(&server, &e, 1, &err))
		fail_msg("%s", err.message);
	return server;
}

static inline struct field_config modbus_config(int port, int function, int reg, const char *format)
{
	struct field_config c = {.protocol = FIELD_MODBUS_TCP,
				 .host = "127.0.0.1",
				 .port = port,
				 .address = 17,
				 .timeout_ms = 400,
				 .function = function,
				 .reg = reg,
				 .set_reg = -1};

	snprintf(c.format, sizeof c.format, "%s", format);
	snprintf(c.unit, sizeof c.unit, "kPa");
	return c;
}

#endif
