/*
 * Simulated devices: what joins a protocol's device side (sim_hart, sim_scpi, sim_modbus: bytes in, bytes out) to the behaviour
 * behind it (sim_plant: stiction, lag, noise). The protocol knows no behaviour and the plant no bytes.
 *
 * Nothing here reaches a real device. One thread at a time uses a device and its plant.
 */
#ifndef FIELD_SIM_H
#define FIELD_SIM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sim_value {
	double value;	 /* NaN: the device has no number now; the protocol says so in its own way */
	unsigned status; /* of enum field_status (field/source.h) */
	char unit[16];	 /* a symbol of metrology/unit.h */
};

/* A register of Modbus and what stands in it. f32 formats take two registers. */
struct sim_register {
	int function;			     /* 3 holding, 4 input; writing (6, 16) goes to holding registers */
	int reg;			     /* first one, from 0 */
	const char *format;		     /* as in struct field_config */
	double raw_low, raw_high, low, high; /* integers: raw_low is low, raw_high is high; all 0: as they are */
	const char *what;		     /* what read and set are asked for */
	bool writable;
};

/*
 * One device. Words of `what`: "pv" "sv" "tv" "qv" (device variables), "current" (mA of the loop or of the terminals), "percent"
 * (of the range), "output" (1 on, 0 off). A device knows some of them; for others read and set answer false.
 */
struct sim_device {
	const char *tag;			       /* short tag, at most 8 characters for HART */
	const char *long_tag;			       /* at most 32 */
	const char *descriptor;			       /* at most 16 */
	const char *maker, *model, *serial, *revision; /* invented ones; *IDN? in this order */
	unsigned hart_type;			       /* expanded device type; the low 14 bits stand in the address */
	unsigned hart_id;			       /* 24 bits */
	int address;				       /* HART poll address, Modbus unit */
	const char *unit;			       /* of pv */
	double lrv, urv;			       /* range, in unit */
	double sensor_low, sensor_high, span_min;      /* limits of the sensor, in unit */
	double damping_s;
	const struct sim_register *registers; /* Modbus; NULL: none */
	size_t register_count;

	void *plant; /* handed to both functions */
	bool (*read)(void *plant, const char *what, struct sim_value *out);
	/* false: it cannot be set, or the value is out of what the device takes */
	bool (*set)(void *plant, const char *what, double value);
};

/* What one connection (UDP: one peer) has said so far; zero at its start. The protocol keeps what it needs in here. */
struct sim_session {
	bool open;	     /* HART-IP: a session was initiated */
	unsigned timer_ms;   /* HART-IP: inactivity timer agreed on */
	unsigned errors[16]; /* SCPI: error queue, as positive numbers */
	size_t error_count;
	unsigned events; /* SCPI: standard event status register */
};

/*
 * A protocol's device side. Takes one whole message from the front of in and writes its answer, which may be empty, to out.
 * Returns the bytes taken, 0 when the message is not complete yet (a datagram is then dropped), -1 when the connection must be
 * closed. room is at least SIM_MESSAGE.
 */
#define SIM_MESSAGE 1024
typedef long sim_answer(struct sim_device *device, struct sim_session *session, const uint8_t *in, size_t size,
			uint8_t *out, size_t room, size_t *out_size);

sim_answer sim_hart_ip_answer; /* sim_hart.c: UDP and TCP */
sim_answer sim_hart_answer;    /* sim_hart.c: frames with preambles, as on a serial line */
sim_answer sim_scpi_answer;    /* sim_scpi.c: lines */
sim_answer sim_modbus_answer;  /* sim_modbus.c: Modbus TCP */

#endif
