/* What a protocol gives to source.c, which checks the configuration and the limits of driving before it is called. */
#ifndef FIELD_DRIVER_H
#define FIELD_DRIVER_H

#include "field/source.h"

struct field_source {
	const struct field_driver *driver;
	struct field_config config; /* a copy; its 0 for port, time-out, ... replaced by what they stand for */
	void *link;		    /* the driver's own */
};

/*
 * Results are those of the public functions. open allocates source->link, and leaves NULL there when it fails. A driver
 * whose connection broke connects anew in its next call. The time-out is over a whole exchange, connecting included.
 */
struct field_driver {
	int port;	/* for 0 in the configuration; 0: it has none */
	int timeout_ms; /* for 0 in the configuration; 0: 1000 */

	/* What only this protocol needs: INVALID names the member. NULL: nothing more. */
	enum status (*check)(const struct field_config *config, struct err *err);
	enum status (*open)(struct field_source *source, struct err *err);
	enum status (*read)(struct field_source *source, struct field_reading *out, struct err *err);
	enum status (*identify)(struct field_source *source, struct field_identity *out, struct err *err);
	/* Sends the value, which is within its limits. NULL: the protocol only reads. */
	enum status (*drive)(struct field_source *source, double value, struct err *err);
	/* So that an idle connection is not closed by the device; sends only when that is due. NULL: not needed. */
	enum status (*keep)(struct field_source *source, struct err *err);
	void (*close)(struct field_source *source);
};

extern const struct field_driver field_hart_ip, field_hart_serial;   /* hart_ip.c, hart_serial.c */
extern const struct field_driver field_scpi;			     /* scpi.c */
extern const struct field_driver field_modbus_tcp, field_modbus_rtu; /* modbus_tcp.c, modbus_line.c */

#endif
