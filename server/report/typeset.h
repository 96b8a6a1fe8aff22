/*
 * Text laid out by pango in the certificate's typeface. Much of a certificate is the same on the next one, and both passes
 * over a certificate set the same texts: a typesetter keeps what it laid out last. There are as many as certificates are drawn
 * at a time, however many threads take turns at it.
 */
#ifndef REPORT_TYPESET_H
#define REPORT_TYPESET_H

#include <cairo.h>
#include <pango/pango.h>
#include <stdbool.h>
#include "base/status.h"

struct typesetter;

/* For one thread at a time, until it is given back. FAILED: no typeface; NO_MEMORY. */
enum status typesetter_take(struct typesetter **out, struct err *err);
void typesetter_give_back(struct typesetter *t); /* NULL is allowed */

struct typeset {
	PangoLayout *layout;
	double width, height; /* points */
};

/*
 * text is not empty. width <= 0: one line, however long. *out is borrowed and lives until the typesetter lays out the next text.
 * INVALID: text that is not UTF-8, a character without a glyph (the sentence names both); NO_MEMORY.
 */
enum status typeset(struct typesetter *t, const char *text, double size, bool bold, double width, PangoAlignment align,
		    const struct typeset **out, struct err *err);

/*
 * Shows a number of digits, '.', '+', minus sign and en dash in the colour of the moment, its top at y, its point (or its end)
 * at x, glyph by glyph without laying it out. False, and nothing shown, for any other text.
 */
bool typeset_figures(struct typesetter *t, cairo_t *cr, const char *text, double size, bool bold, double x, double y);

#endif
