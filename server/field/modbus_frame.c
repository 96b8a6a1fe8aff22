#include "modbus_frame.h"

#include <string.h>

#define EXCEPTION 0x80
#define LEAST	  2 /* function and one byte: an exception */

static void put(uint8_t *at, int v)
{
	at[0] = (uint8_t)(v >> 8);
	at[1] = (uint8_t)v;
}

static int get(const uint8_t *at)
{
	return at[0] << 8 | at[1];
}

/* ---- questions ---- */

void modbus_ask_registers(struct modbus_pdu *out, int function, int reg, int words)
{
	out->size = 5;
	out->bytes[0] = (uint8_t)function;
	put(out->bytes + 1, reg);
	put(out->bytes + 3, words);
}

void modbus_set_registers(struct modbus_pdu *out, int reg, int words, const uint8_t *bytes)
{
	size_t size = (size_t)words * 2;

	put(out->bytes + 1, reg);
	if (words == 1) {
		out->bytes[0] = MODBUS_WRITE_ONE;
		memcpy(out->bytes + 3, bytes, size);
		out->size = 5;
		return;
	}
	out->bytes[0] = MODBUS_WRITE_SEVERAL;
	put(out->bytes + 3, words);
	out->bytes[5] = (uint8_t)size;
	memcpy(out->bytes + 6, bytes, size);
	out->size = 6 + size;
}

void modbus_ask_identity(struct modbus_pdu *out, int level, int object)
{
	*out = (struct modbus_pdu){4, {MODBUS_IDENTIFY, MODBUS_IDENTIFY_TYPE, (uint8_t)level, (uint8_t)object}};
}

/* ---- answers ---- */

/* Bytes of the objects that stand whole in there, with the head of an identification before them; 0 when one does not. */
static size_t identity_size(const uint8_t *bytes, size_t size)
{
	size_t at = 7;

	if (size < at)
		return 0;
	for (int i = 0; i < bytes[6]; i++) {
		if (size < at + 2 || size < at + 2 + bytes[at + 1])
			return 0;
		at += 2 + (size_t)bytes[at + 1];
	}
	return at;
}

/* Of the answer that begins so: its bytes; 0 when that cannot be told yet. */
static size_t answer_size(const uint8_t *bytes, size_t size)
{
	if (size < LEAST)
		return 0;
	if (bytes[0] & EXCEPTION)
		return LEAST;
	switch (bytes[0]) {
	case MODBUS_READ_HOLDING:
	case MODBUS_READ_INPUT:
		return 2 + (size_t)bytes[1];
	case MODBUS_WRITE_ONE:
	case MODBUS_WRITE_SEVERAL:
		return 5;
	case MODBUS_IDENTIFY:
		return identity_size(bytes, size);
	default:
		return 0;
	}
}

static const char *identity_fault(const struct modbus_pdu *q, const struct modbus_pdu *a)
{
	if (identity_size(a->bytes, a->size) != a->size || a->bytes[1] != MODBUS_IDENTIFY_TYPE)
		return "the identification is cut off";
	/* A device that has less than was asked for answers with what it has. */
	if (a->bytes[2] == 0 || a->bytes[2] > q->bytes[2])
		return "the identification is another one than was asked for";
	return NULL;
}

const char *modbus_answer_fault(const struct modbus_pdu *q, const struct modbus_pdu *a)
{
	if (a->size < LEAST || (a->bytes[0] & ~EXCEPTION) != q->bytes[0])
		return "the answer is to something else";
	if (a->bytes[0] & EXCEPTION)
		return a->size == LEAST && a->bytes[1] ? NULL : "the refusal says nothing";
	switch (q->bytes[0]) {
	case MODBUS_READ_HOLDING:
	case MODBUS_READ_INPUT:
		return a->bytes[1] == 2 * get(q->bytes + 3) && a->size == 2 + (size_t)a->bytes[1] ?
			       NULL :
			       "the answer has another number of registers than was asked for";
	case MODBUS_WRITE_ONE:
	case MODBUS_WRITE_SEVERAL:
		/* Register, and the value or how many. */
		return a->size == 5 && !memcmp(a->bytes, q->bytes, 5) ? NULL :
									"the answer tells of another register or value";
	default:
		return identity_fault(q, a);
	}
}

int modbus_exception(const struct modbus_pdu *a)
{
	return a->bytes[0] & EXCEPTION ? a->bytes[1] : 0;
}

const char *modbus_exception_words(int exception)
{
	switch (exception) {
	case MODBUS_ILLEGAL_FUNCTION:
		return "the device does not know this function";
	case MODBUS_ILLEGAL_ADDRESS:
		return "the device has no such register";
	case MODBUS_ILLEGAL_VALUE:
		return "the device does not take this value";
	case MODBUS_DEVICE_FAILURE:
		return "the device reports a failure of its own";
	case MODBUS_ACKNOWLEDGE:
		return "the device needs more time";
	case MODBUS_DEVICE_BUSY:
		return "the device is busy";
	case 8:
		return "the device reports a fault of its memory";
	case MODBUS_NO_PATH:
		return "the gateway has no way to the device";
	case MODBUS_NO_TARGET:
		return "the device behind the gateway does not answer";
	default:
		return "the device refuses";
	}
}

bool modbus_object(const struct modbus_pdu *a, size_t *at, int *object, const uint8_t **text, size_t *size)
{
	if (*at == 0)
		*at = 7;
	if (*at >= a->size)
		return false;
	*object = a->bytes[*at];
	*size = a->bytes[*at + 1];
	*text = a->bytes + *at + 2;
	*at += 2 + *size;
	return true;
}

int modbus_next_object(const struct modbus_pdu *a)
{
	return a->bytes[4] ? a->bytes[5] : -1;
}

/* ---- frames ---- */

size_t modbus_tcp_frame(uint8_t out[MODBUS_FRAME_MAX], int transaction, int unit, const struct modbus_pdu *pdu)
{
	put(out, transaction);
	put(out + 2, 0);
	put(out + 4, (int)pdu->size + 1);
	out[6] = (uint8_t)unit;
	memcpy(out + MODBUS_HEAD, pdu->bytes, pdu->size);
	return MODBUS_HEAD + pdu->size;
}

enum modbus_result modbus_tcp_parse(const uint8_t *bytes, size_t size, struct modbus_message *out, size_t *taken)
{
	size_t length;

	*taken = 0;
	if (size < MODBUS_HEAD)
		return MODBUS_MORE;
	length = (size_t)get(bytes + 4);
	if (get(bytes + 2) != 0 || length < 2 || length > 1 + MODBUS_PDU_MAX)
		return MODBUS_BROKEN;
	if (size < MODBUS_HEAD - 1 + length)
		return MODBUS_MORE;
	out->transaction = get(bytes);
	out->unit = bytes[6];
	out->pdu.size = length - 1;
	memcpy(out->pdu.bytes, bytes + MODBUS_HEAD, out->pdu.size);
	*taken = MODBUS_HEAD - 1 + length;
	return MODBUS_WHOLE;
}

uint16_t modbus_crc(const uint8_t *bytes, size_t size)
{
	unsigned crc = 0xffff;

	for (size_t i = 0; i < size; i++) {
		crc ^= bytes[i];
		for (int bit = 0; bit < 8; bit++)
			crc = crc & 1 ? crc >> 1 ^ 0xa001 : crc >> 1;
	}
	return (uint16_t)crc;
}

static void put_crc(uint8_t *bytes, size_t size)
{
	uint16_t crc = modbus_crc(bytes, size);

	bytes[size] = (uint8_t)crc;
	bytes[size + 1] = (uint8_t)(crc >> 8);
}

size_t modbus_rtu_frame(uint8_t out[MODBUS_FRAME_MAX], int unit, const struct modbus_pdu *pdu)
{
	out[0] = (uint8_t)unit;
	memcpy(out + 1, pdu->bytes, pdu->size);
	put_crc(out, 1 + pdu->size);
	return 1 + pdu->size + 2;
}

static bool begins_here(const uint8_t *bytes, size_t size, int unit, int function, struct modbus_message *out)
{
	size_t n;

	if (size < 1 + LEAST || bytes[0] != unit || (bytes[1] & ~EXCEPTION) != function)
		return false;
	n = answer_size(bytes + 1, size - 1);
	if (n == 0 || n > MODBUS_PDU_MAX || size < 1 + n + 2 || modbus_crc(bytes, 1 + n + 2) != 0)
		return false;
	*out = (struct modbus_message){.unit = unit, .pdu.size = n};
	memcpy(out->pdu.bytes, bytes + 1, n);
	return true;
}

enum modbus_result modbus_rtu_find(const uint8_t *bytes, size_t size, int unit, int function,
				   struct modbus_message *out)
{
	for (size_t i = 0; i < size; i++) {
		if (begins_here(bytes + i, size - i, unit, function, out))
			return MODBUS_WHOLE;
	}
	return MODBUS_MORE;
}
