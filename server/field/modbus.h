/* Modbus as a source: what is the same over TCP and on a serial line. Inside server/field only. */
#ifndef FIELD_MODBUS_H
#define FIELD_MODBUS_H

#include "driver.h"
#include "modbus_frame.h"

/* How messages travel. BUSY: the connection broke or no answer by the deadline. An answer that comes is from the unit asked. */
struct modbus_way {
	enum status (*exchange)(struct field_source *source, const struct modbus_pdu *question,
				struct modbus_pdu *answer, int64_t deadline, struct err *err);
	bool may_echo; /* what is sent may come back, which looks like the answer to function 6 until a reading has shown it */
};

/* At the front of each way's own link. */
struct modbus_link {
	const struct modbus_way *way;
	char who[40]; /* the product code that it first gave; "" unknown */
};

enum status modbus_check(const struct field_config *config, struct err *err);
enum status modbus_read(struct field_source *source, struct field_reading *out, struct err *err);
enum status modbus_identify(struct field_source *source, struct field_identity *out, struct err *err);
/* On a new connection: is it who it was? BUSY: no answer, or another device. OK when nothing is known of it. */
enum status modbus_same_device(struct field_source *source, struct err *err);
enum status modbus_drive(struct field_source *source, double value, struct err *err);
/* Who did not answer, before what is wrong. Passes rc on. */
enum status modbus_named(const struct field_source *source, enum status rc, struct err *err);

#endif
