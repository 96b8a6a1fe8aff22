/* The text in a visible signature field, as the objects that a revision adds. */
#ifndef REPORT_SEAL_APPEARANCE_H
#define REPORT_SEAL_APPEARANCE_H

#include "base/status.h"
#include "seal_text.h"

/* Where the objects of a revision are noted as they are written. */
struct appended {
	struct bytes *out;
	size_t base;	     /* offset in the file of out's first byte */
	uint32_t next;	     /* number of the next new object */
	size_t offset[2048]; /* of each new object, from first */
	uint32_t first;
};

/* Begins a new object, "n 0 obj\n"; the caller writes on, up to "endobj\n". Returns its number. */
uint32_t appended_begin(struct appended *a);

/*
 * Draws the lines into a form of that size in points and appends its objects; *form is the form's number. Type as large as
 * fits, 4 to 7 points. INVALID when a character has no glyph, or when the lines do not fit at 4 points.
 */
enum status seal_appearance(const char *const *lines, size_t count, double width, double height, struct appended *a,
			    uint32_t *form, struct err *err);

#endif
