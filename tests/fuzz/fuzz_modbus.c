/*
 * What a Modbus device may send: any bytes, over TCP, on a line, as the answer to each question there is; and any request to the
 * simulated device. Every byte read lies within what was given (AddressSanitizer sees to that).
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "field/modbus_data.h"
#include "field/modbus_frame.h"
#include "field/sim.h"
#include "fuzz.h"

static const char *const formats[] = {"f32-abcd", "f32-cdab", "f32-badc", "f32-dcba", "i16",
				      "u16",	  "i32-abcd", "i32-cdab", "u32-abcd", "u32-cdab"};

static void registers_understood(const struct modbus_pdu *a)
{
	for (size_t i = 0; i < sizeof formats / sizeof *formats; i++) {
		struct field_config c = {0};
		uint8_t back[4];
		double v;

		snprintf(c.format, sizeof c.format, "%s", formats[i]);
		if (a->size < 2 + (size_t)modbus_words(c.format) * 2)
			continue;
		v = modbus_decode(&c, a->bytes + 2);
		promise(!isinf(v), "a value is a number or none");
		if (isnan(v))
			continue;
		promise(modbus_encode(&c, v, back), "what was read can be written");
		promise(!memcmp(back, a->bytes + 2, (size_t)modbus_words(c.format) * 2) || v == 0,
			"what is written is what was read");
	}
}

static void identity_understood(const struct modbus_pdu *a)
{
	size_t at = 0, size;
	const uint8_t *text;
	int object, objects = 0;

	while (modbus_object(a, &at, &object, &text, &size)) {
		promise(text + size <= a->bytes + a->size, "a text lies within its answer");
		objects++;
	}
	promise(objects == a->bytes[6], "all objects are seen");
	promise(modbus_next_object(a) < 256, "the next object has a number");
}

static void as_answer(const struct modbus_pdu *a)
{
	static const uint8_t level[4] = {0x41, 0x45, 0x85, 0x1f};
	struct modbus_pdu questions[6];

	modbus_ask_registers(&questions[0], MODBUS_READ_HOLDING, 16, 1);
	modbus_ask_registers(&questions[1], MODBUS_READ_INPUT, 16, 2);
	modbus_ask_registers(&questions[2], MODBUS_READ_INPUT, 0, MODBUS_WORDS_MAX);
	modbus_set_registers(&questions[3], 16, 1, level);
	modbus_set_registers(&questions[4], 16, 2, level);
	modbus_ask_identity(&questions[5], 2, 0);
	for (size_t i = 0; i < 6; i++) {
		if (modbus_answer_fault(&questions[i], a))
			continue;
		promise(modbus_exception_words(modbus_exception(a))[0], "a refusal has words");
		if (!modbus_exception(a) && i < 3)
			registers_understood(a);
		else if (!modbus_exception(a) && i == 5)
			identity_understood(a);
	}
}

static void as_stream(const uint8_t *bytes, size_t size)
{
	uint8_t again[MODBUS_FRAME_MAX];
	struct modbus_message m;
	size_t taken;

	while (size > 0 && modbus_tcp_parse(bytes, size, &m, &taken) == MODBUS_WHOLE) {
		promise(taken > MODBUS_HEAD && taken <= size, "no more is taken than there is");
		promise(m.pdu.size >= 1 && m.pdu.size <= MODBUS_PDU_MAX, "a message keeps its bounds");
		promise(modbus_tcp_frame(again, m.transaction, m.unit, &m.pdu) == taken && !memcmp(again, bytes, taken),
			"a message made anew is the same");
		as_answer(&m.pdu);
		bytes += taken;
		size -= taken;
	}
}

/* The checksum stops all but the luckiest, so that the bytes are asked with one that fits too. */
static void as_line(const uint8_t *bytes, size_t size)
{
	static const uint8_t functions[] = {3, 4, 6, 16, 43};
	uint8_t framed[MODBUS_FRAME_MAX];
	struct modbus_message m;
	struct modbus_pdu pdu = {.size = size < MODBUS_PDU_MAX ? size : MODBUS_PDU_MAX};

	memcpy(pdu.bytes, bytes, pdu.size);
	for (size_t i = 0; i < sizeof functions; i++) {
		if (modbus_rtu_find(bytes, size, bytes[0], functions[i], &m) == MODBUS_WHOLE)
			as_answer(&m.pdu);
		if (modbus_rtu_find(framed, modbus_rtu_frame(framed, 17, &pdu), 17, functions[i], &m) == MODBUS_WHOLE) {
			promise((m.pdu.bytes[0] & 0x7f) == functions[i], "an answer has the function that was asked");
			promise(m.pdu.size <= MODBUS_PDU_MAX, "an answer keeps its bounds");
			as_answer(&m.pdu);
		}
	}
}

/* ---- the device ---- */

static bool sim_read(void *plant, const char *what, struct sim_value *out)
{
	const double *value = plant;

	*out = (struct sim_value){.value = *what == 'n' ? (double)NAN : *value};
	return *what != 'x';
}

static bool sim_set(void *plant, const char *what, double value)
{
	double *kept = plant;

	(void)what;
	if (!isfinite(value) || fabs(value) > 1e6)
		return false;
	*kept = value;
	return true;
}

static void to_device(const uint8_t *bytes, size_t size)
{
	static const struct sim_register registers[] = {
		{.function = 3, .reg = 0, .format = "f32-abcd", .what = "v", .writable = true},
		{.function = 3, .reg = 2, .format = "i16", .what = "v", .writable = true},
		{3, 3, "u16", 0, 27648, -1e6, 1e6, "v", true},
		{.function = 3, .reg = 4, .format = "f32-dcba", .what = "none"},
		{.function = 4, .reg = 0, .format = "i32-cdab", .what = "v"},
		{.function = 4, .reg = 2, .format = "u16", .what = "none"},
		{.function = 4, .reg = 3, .format = "u16", .what = "x"},
	};
	double value = 1.5;
	struct sim_device d = {.long_tag = "a tag",
			       .maker = "M",
			       .model = "model",
			       .revision = "1",
			       .address = size > 6 ? bytes[6] : 0,
			       .registers = registers,
			       .register_count = sizeof registers / sizeof *registers,
			       .plant = &value,
			       .read = sim_read,
			       .set = sim_set};
	struct sim_session session = {0};
	struct modbus_message q, a;
	uint8_t out[SIM_MESSAGE];
	size_t n, used;
	long taken = sim_modbus_answer(&d, &session, bytes, size, out, sizeof out, &n);

	promise(taken >= -1 && taken <= (long)size, "a device takes no more than there is");
	promise(isfinite(value) && fabs(value) <= 1e6, "a device takes no value that it refuses");
	if (taken <= 0) {
		promise(n == 0, "only a whole message is answered");
		return;
	}
	promise(modbus_tcp_parse(out, n, &a, &used) == MODBUS_WHOLE && used == n, "an answer is one whole message");
	promise(modbus_tcp_parse(bytes, size, &q, &used) == MODBUS_WHOLE, "only a whole message is answered");
	promise(a.transaction == q.transaction && a.unit == q.unit, "an answer has its question's number and unit");
	if (q.pdu.bytes[0] < 0x80 && (q.pdu.bytes[0] != MODBUS_IDENTIFY || q.pdu.size == 4))
		promise(!modbus_answer_fault(&q.pdu, &a.pdu), "a device's answer fits its question");
	as_answer(&a.pdu);
}

void fuzz_modbus(const char *text, size_t size)
{
	const uint8_t *bytes = (const uint8_t *)text;
	struct modbus_pdu pdu = {.size = size < MODBUS_PDU_MAX ? size : MODBUS_PDU_MAX};

	if (size == 0)
		return;
	memcpy(pdu.bytes, bytes, pdu.size);
	as_answer(&pdu);
	as_stream(bytes, size);
	as_line(bytes, size);
	to_device(bytes, size);
}
