/* A HART device as a source: what is the same over HART-IP and over a serial line. */
#ifndef FIELD_HART_H
#define FIELD_HART_H

#include "driver.h"
#include "hart_data.h"

/* One way to a device. A failure means that the way must be made anew. */
struct hart_way {
	/* Closes what was there, opens. */
	enum status (*connect)(struct field_source *source, int64_t deadline, struct err *err);
	/*
	 * Sends the request and waits for its answer, whose bytes go to answer (HART_FRAME_MAX) and which has the command
	 * and the address of the request, and a sound checksum.
	 */
	enum status (*exchange)(struct field_source *source, const uint8_t *request, size_t size, uint8_t *answer,
				size_t *answer_size, int64_t deadline, struct err *err);
	bool (*is_stale)(struct field_source *source); /* the other side has forgotten us by now; NULL: never */
	const char *name;			       /* before the host or device, in sentences */
};

/* At the front of each way's own struct, which source->link points to. */
struct hart_state {
	const struct hart_way *way;
	bool up;	    /* connected, and the address is the device's long one */
	bool known;	    /* device is what was found first: no other is read from, ever */
	bool without_slots; /* the device does not know command 9 */
	struct hart_address address;
	struct hart_device device;
	uint8_t answer[HART_FRAME_MAX]; /* the latest */
	size_t answer_size;
};

/* For drivers: open connects and asks who is there; check, read and identify are theirs as they are. */
enum status hart_check(const struct field_config *config, struct err *err);
enum status hart_open(struct field_source *source, struct err *err);
enum status hart_read(struct field_source *source, struct field_reading *out, struct err *err);
enum status hart_identify(struct field_source *source, struct field_identity *out, struct err *err);
/* In channels: "current", "percent", "pv", "sv", "tv", "qv". The value of it in an answer, with its unit and status; at_ms and raw
 * are left to the caller. FAILED: the device has no such variable, or answers with another one. */
enum status hart_value(const char *variable, const struct hart_frame *frame, const struct hart_data *data,
		       struct field_reading *out, struct err *err);
/* Whether answers to this command hold that variable. */
bool hart_holds(const char *variable, uint8_t command);
/* What command 0 says; out's tag is left as it is. */
void hart_identity(const struct hart_device *device, struct field_identity *out);
/* The tag in an answer to command 20 or 13; false when nobody has written one. */
bool hart_tag(const struct hart_data *data, struct field_identity *out);
void hart_raw(const uint8_t *answer, size_t size, struct field_reading *out);
/* The sentence in err, with the source's name before it; returns rc. */
enum status hart_named(const struct field_source *source, enum status rc, struct err *err);

#endif
