/*
 * Answers of a HART device that were received elsewhere, by a modem attached to a browser. They are decoded and judged here byte
 * by byte, as if a line of our own had brought them. Nothing is asked and nothing sent.
 */
#ifndef FIELD_HART_PUSHED_H
#define FIELD_HART_PUSHED_H

#include "field/source.h"

#define HART_ANSWER_MAX 267 /* bytes of one answer, from its delimiter to its checksum */

/* Who answers, as far as its answers have said. Zero at its start. */
struct hart_pushed {
	bool known;    /* command 0 was answered */
	bool tagged;   /* so was command 20 or 13, though the tag may be empty */
	bool long_tag; /* device.tag is that of command 20 */
	unsigned type, id;
	struct field_identity device;
};

/*
 * One answer, without preambles: to command 0, which begins anew, 13 or 20, or to one that holds config's variable (1, 2, 3, 9).
 * *holds: out has a value, but for at_ms. INVALID: no sound answer, another master's, or to a command that is not taken here;
 * CONFLICT: the device of it is not the one that answered command 0; FAILED: the device has no such variable. p is changed
 * only when OK.
 */
enum status hart_pushed_take(struct hart_pushed *p, const struct field_config *config, const uint8_t *bytes,
			     size_t size, struct field_reading *out, bool *holds, struct err *err);

#endif
