/*
 * Bytes of HART: frames of the token-passing data link as they stand in HART-IP messages and, after preambles, on a serial
 * line; and the header of HART-IP messages. Pure: no I/O, no allocation, no C library (but the
 * memset and memcpy that a compiler puts in), so that it can be built for a browser.
 *
 * Layout: public captures and decoders, checked byte by byte on them; what is not in those is marked "from memory".
 */
#ifndef FIELD_HART_FRAME_H
#define FIELD_HART_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum hart_type { HART_BURST = 1, HART_REQUEST = 2, HART_ANSWER = 6 };

struct hart_address {
	bool is_long;
	uint16_t device_type; /* long: low 14 bits of the expanded device type */
	uint32_t device_id;   /* long: 24 bits */
	uint8_t poll;	      /* short: 0..63 */
	bool primary;	      /* of or for the primary master */
};

struct hart_frame {
	enum hart_type type;
	struct hart_address address;
	bool burst_mode; /* the device sends on its own, too */
	uint8_t command;
	uint8_t code, status; /* of answers and bursts: response code or communication error, and device status */
	const uint8_t *data;  /* what follows those; borrowed from the bytes that were parsed */
	size_t size;
};

enum hart_result {
	HART_OK,
	HART_INCOMPLETE, /* more bytes are needed */
	HART_CHECKSUM,	 /* complete, but its checksum is wrong */
	HART_BROKEN	 /* no frame begins here */
};

#define HART_FRAME_MAX	   (1 + 5 + 3 + 1 + 1 + 255 + 1)
#define HART_PREAMBLES	   5 /* sent when the device has not asked for more */
#define HART_PREAMBLES_MAX 20

/* A frame at the front of bytes, without preambles. *taken: its length, when OK or CHECKSUM. */
enum hart_result hart_parse(const uint8_t *bytes, size_t size, struct hart_frame *out, size_t *taken);

/*
 * The first sound frame after at least two preamble bytes (0xFF), garbage before it skipped; *taken counts all up to its
 * end. While a frame that has begun is incomplete, the result is INCOMPLETE, unless `ended` says that no more bytes come:
 * then a false beginning is passed over. BROKEN: no frame in there, and none has begun; *taken may then be dropped.
 */
enum hart_result hart_find(const uint8_t *bytes, size_t size, bool ended, struct hart_frame *out, size_t *taken);

/* Commands that only read. No other is ever sent. */
bool hart_is_query(uint8_t command);
/*
 * A request, without preambles. The one place where requests are made: 0, and nothing written, for a command that is no
 * query, for data that do not fit, or room below its length (HART_FRAME_MAX is always enough).
 */
size_t hart_request(uint8_t *out, size_t room, const struct hart_address *to, uint8_t command, const uint8_t *data,
		    size_t size);
/* An answer, as a device gives it. With code's bit 7 set, or any code without data, size is 0. */
size_t hart_answer(uint8_t *out, size_t room, const struct hart_frame *answer);
/* The answer is to this address (bits for master and burst apart) and command, and for us. */
bool hart_answers(const struct hart_address *asked, uint8_t command, const struct hart_frame *answer);

/* HART-IP, version 1. */
enum hart_ip_type {
	HART_IP_REQUEST = 0,
	HART_IP_RESPONSE = 1,
	HART_IP_PUBLISH = 2,
	HART_IP_ERROR = 3,
	HART_IP_NAK = 15
};
enum hart_ip_id { HART_IP_INITIATE = 0, HART_IP_CLOSE = 1, HART_IP_KEEP_ALIVE = 2, HART_IP_PDU = 3 };

struct hart_ip_head {
	uint8_t version, type, id, status;
	uint16_t sequence;
	uint16_t length; /* of the message, header included */
};

#define HART_IP_HEAD 8
#define HART_IP_MAX  2048 /* longest message that is taken; a PDU needs HART_IP_HEAD + HART_FRAME_MAX */

/* False: fewer than 8 bytes, or a length below 8 or beyond HART_IP_MAX: what follows makes no sense then. */
bool hart_ip_head_parse(const uint8_t *bytes, size_t size, struct hart_ip_head *out);
void hart_ip_head_write(uint8_t out[HART_IP_HEAD], const struct hart_ip_head *head);
/* Why a session was refused, by the status of its answer; NULL for OK and for warnings (8, 14, 30). */
const char *hart_ip_refusal(uint8_t status);

#endif
