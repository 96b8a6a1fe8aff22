/*
 * Where a value comes from: a device asked over an open protocol. One interface for all; one file a protocol behind it.
 *
 * A source belongs to one thread at a time. Reading never changes a device: only queries are sent. Driving is a call of its
 * own, for sources that are configured as drivable, and knows limits of level; how fast, who may ask for it, and whether
 * somebody has armed it, is for the domain to say.
 */
#ifndef FIELD_SOURCE_H
#define FIELD_SOURCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/status.h"

enum field_protocol {
	FIELD_HART_IP_UDP,
	FIELD_HART_IP_TCP,
	FIELD_HART_SERIAL,
	FIELD_HART_BROWSER, /* a modem at a browser: its answers are pushed (hart_pushed.h), and field_open has no way to it */
	FIELD_SCPI,
	FIELD_MODBUS_TCP,
	FIELD_MODBUS_RTU,
	FIELD_PROTOCOLS
};

/* What a device says about its value. Words: field_status_words. */
enum field_status {
	FIELD_MALFUNCTION = 1 << 0, /* the device reports a fault of its own */
	FIELD_FIXED = 1 << 1, /* the loop current is held, or the value is simulated: it does not follow the input */
	FIELD_SATURATED = 1 << 2,	    /* the loop current is at its end */
	FIELD_OUT_OF_LIMITS = 1 << 3,	    /* the primary variable is beyond what its sensor can measure */
	FIELD_OTHER_OUT_OF_LIMITS = 1 << 4, /* another variable is */
	FIELD_OVERLOAD = 1 << 5,	    /* a meter beyond its range */
	FIELD_BAD = 1 << 6,		    /* the value itself is marked bad */
	FIELD_POOR = 1 << 7,		    /* the value itself is marked uncertain */
	FIELD_CONFIG_CHANGED = 1 << 8,
	FIELD_COLD_START = 1 << 9, /* restarted since it was last asked */
	FIELD_MORE = 1 << 10,	   /* more status is there to be read */
};
/* With one of these a value must not be recorded; with any other it is recorded with a warning. */
#define FIELD_BLOCKS \
	(FIELD_MALFUNCTION | FIELD_FIXED | FIELD_SATURATED | FIELD_OUT_OF_LIMITS | FIELD_OVERLOAD | FIELD_BAD)

/* What one bit says, in words a technician knows: "loop current is fixed"; NULL for a bit that is none. */
const char *field_status_words(enum field_status bit);

struct field_reading {
	double value;	 /* NaN: the device gave no number; never 0 for that */
	char unit[16];	 /* a symbol of metrology/unit.h; "" when the source does not say */
	int64_t at_ms;	 /* when the answer was complete, UTC milliseconds */
	unsigned status; /* of enum field_status */
	char raw[256];	 /* the answer as received, hexadecimal for binary protocols, text for SCPI; cut at its end */
};

struct field_identity {
	char maker[40], model[64], serial[40], revision[40]; /* what the protocol has of these, "" otherwise */
	char tag[40];					     /* the tag in the device, "" when it has none */
	char device_id
		[40]; /* what never changes: HART expanded type and id, "f9fd-000001"; the *IDN? serial number otherwise */
};

/* Of one source, each member with its own check; strings end with 0. Zero is right for whatever a protocol does not use. */
struct field_config {
	enum field_protocol protocol;
	char host[128];	  /* name or address */
	int port;	  /* 0: the protocol's own, 5094, 5025, 502 */
	char device[128]; /* serial: "/dev/ttyUSB0" */
	int baud;	  /* serial; 0: 1200 for HART, 9600 for Modbus */
	char parity;	  /* 'N', 'E', 'O'; 0: O for HART, E for Modbus */
	int address;	  /* HART poll address 0..63, Modbus unit 0..247 */
	int timeout_ms;	  /* of one exchange; 0: 1000, HART over a serial line 3000 (three tries at 1200 baud) */

	char variable[16]; /* HART: "current" (mA of the loop), "percent", "pv", "sv", "tv", "qv" */

	char query[64]; /* SCPI: "MEAS:CURR:DC?" */
	char unit[16];	/* SCPI and Modbus: what the number is in */
	char set[64]; /* SCPI: command that drives, with one %s for the number: "SOUR:CURR %s"; "" when it may not be driven */
	double set_factor; /* what one of `unit` is to the device: 0.001 for a source that takes A while unit is mA; 0: 1 */
	double read_factor; /* a read number times this is in `unit`: 1000 for a meter that says A while unit is mA; 0: 1 */

	int function; /* Modbus: 3 holding, 4 input registers; 0: 3 */
	int reg;      /* Modbus: first register, from 0 */
	char format
		[16]; /* Modbus: "f32-abcd" "f32-cdab" "f32-badc" "f32-dcba" "i16" "u16" "i32-abcd" "i32-cdab" "u32-abcd" "u32-cdab" */
	double raw_low, raw_high, low, high; /* Modbus integers: raw_low is low, raw_high is high; all 0: as they are */
	int set_reg;			     /* Modbus: register of the same format that drives; -1: none */

	bool drivable;		      /* it may be driven at all */
	double drive_low, drive_high; /* in `unit`: nothing beyond is ever sent */
	double safe;		      /* in `unit`: where the output goes when nobody watches it any more */
};

struct field_source;

/* INVALID names the member ("/port"); BUSY: not reached, or no answer within the time; the sentence says who did not answer. */
enum status field_open(struct field_source **out, const struct field_config *config, struct err *err);
/* One value. BUSY: no answer, the connection broke (the next call connects anew); FAILED: an answer that breaks the protocol. A
 * device's own refusal is FAILED with its words. out is untouched unless OK. */
enum status field_read(struct field_source *source, struct field_reading *out, struct err *err);
enum status field_identify(struct field_source *source, struct field_identity *out, struct err *err);
/* Keeps an idle connection open where the device would close it (HART-IP): call at least every 5 s while nothing is read. Sends
 * only when it is due; OK when nothing was. */
enum status field_keep(struct field_source *source, struct err *err);
/* INVALID: not drivable, or beyond drive_low..drive_high, or no number; nothing was sent then. OK: the device took it (SCPI: its
 * error queue is empty after it; Modbus: the register reads back what was written). */
enum status field_drive(struct field_source *source, double value, struct err *err);
/* The output to its safe value, whatever the limits of rate. Tries once more on a new connection when the old one is broken. */
enum status field_safe(struct field_source *source, struct err *err);
void field_close(struct field_source *source); /* NULL is allowed; does not move an output */

#endif
