/*
 * Modbus messages without a connection: what is asked, how it is framed over TCP and on a serial line, and whether an answer
 * fits its question. From the Modbus application protocol V1.1b3, the messaging guide for TCP V1.0b and the guide for serial
 * lines V1.02 (open specifications; clauses from memory where not said otherwise).
 */
#ifndef FIELD_MODBUS_FRAME_H
#define FIELD_MODBUS_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define MODBUS_PDU_MAX	 253
#define MODBUS_HEAD	 7 /* over TCP: transaction, protocol, length, unit */
#define MODBUS_FRAME_MAX (MODBUS_HEAD + MODBUS_PDU_MAX)
#define MODBUS_WORDS_MAX 125 /* registers of one answer */

enum modbus_function {
	MODBUS_READ_HOLDING = 3,
	MODBUS_READ_INPUT = 4,
	MODBUS_WRITE_ONE = 6,
	MODBUS_WRITE_SEVERAL = 16,
	MODBUS_IDENTIFY = 43, /* with MODBUS_IDENTIFY_TYPE behind it */
};
#define MODBUS_IDENTIFY_TYPE 14

enum modbus_exception {
	MODBUS_ILLEGAL_FUNCTION = 1,
	MODBUS_ILLEGAL_ADDRESS = 2,
	MODBUS_ILLEGAL_VALUE = 3,
	MODBUS_DEVICE_FAILURE = 4,
	MODBUS_ACKNOWLEDGE = 5,
	MODBUS_DEVICE_BUSY = 6,
	MODBUS_NO_PATH = 10,
	MODBUS_NO_TARGET = 11, /* a gateway that knows the way: nobody answers there */
};

/* Function and data. */
struct modbus_pdu {
	size_t size;
	uint8_t bytes[MODBUS_PDU_MAX];
};

struct modbus_message {
	int transaction; /* TCP; 0 on a line */
	int unit;
	struct modbus_pdu pdu;
};

enum modbus_result { MODBUS_WHOLE, MODBUS_MORE, MODBUS_BROKEN };

/* ---- questions ---- */

/* function 3 or 4; words at most MODBUS_WORDS_MAX */
void modbus_ask_registers(struct modbus_pdu *out, int function, int reg, int words);
/* Function 6 for one register, 16 for two. */
void modbus_set_registers(struct modbus_pdu *out, int reg, int words, const uint8_t *bytes);
/* level 1 basic, 2 regular; beginning with this object */
void modbus_ask_identity(struct modbus_pdu *out, int level, int object);

/* ---- answers ---- */

/* NULL when the answer can be one to the question, an exception included; else what is wrong with it. */
const char *modbus_answer_fault(const struct modbus_pdu *question, const struct modbus_pdu *answer);
/* Of an answer without fault: 0, or the exception that it is. */
int modbus_exception(const struct modbus_pdu *answer);
const char *modbus_exception_words(int exception);
/*
 * One object after the other of an identification without fault; *at is 0 at first. False: that was all. *next: the object
 * to ask for next, -1 when the device has no more.
 */
bool modbus_object(const struct modbus_pdu *answer, size_t *at, int *object, const uint8_t **text, size_t *size);
int modbus_next_object(const struct modbus_pdu *answer);

/* ---- frames ---- */

size_t modbus_tcp_frame(uint8_t out[MODBUS_FRAME_MAX], int transaction, int unit, const struct modbus_pdu *pdu);
/* The message at the front. MORE: not complete yet; BROKEN: no message, so nothing behind it can be found either. */
enum modbus_result modbus_tcp_parse(const uint8_t *bytes, size_t size, struct modbus_message *out, size_t *taken);

/* CRC-16 with the polynomial A001 from FFFF; sent low byte first. */
uint16_t modbus_crc(const uint8_t *bytes, size_t size);
size_t modbus_rtu_frame(uint8_t out[MODBUS_FRAME_MAX], int unit, const struct modbus_pdu *pdu);
/*
 * The first answer from this unit with this function, wherever it begins: a line may bring noise and other masters' talk before
 * it. MORE: none yet.
 */
enum modbus_result modbus_rtu_find(const uint8_t *bytes, size_t size, int unit, int function,
				   struct modbus_message *out);

#endif
