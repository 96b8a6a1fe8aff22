/*
 * Text laid out by pango in the certificate's typeface. Much of a certificate is the same on the next one, and both passes
 * over a certificate set the same texts: each thread keeps what it laid out last.
 */
#ifndef REPORT_TYPESET_H
#define REPORT_TYPESET_H

#include <cairo.h>
#include <pango/pango.h>
#include <stdbool.h>
#include "base/status.h"

struct typeset {
	PangoLayout *layout;
	double width, height; /* points */
};

/*
 * text is not empty. width <= 0: one line, however long. *out is borrowed and lives until this thread lays out the next text.
 * INVALID: text that is not UTF-8, a character without a glyph (the sentence names both); FAILED: no typeface; NO_MEMORY.
 */
enum status typeset(const char *text, double size, bool bold, double width, PangoAlignment align,
		    const struct typeset **out, struct err *err);

/*
 * Shows a number of digits, '.', '+', minus sign and en dash in the colour of the moment, its top at y, its point (or its end)
 * at x, glyph by glyph without laying it out. False, and nothing shown, for any other text.
 */
bool typeset_figures(cairo_t *cr, const char *text, double size, bool bold, double x, double y);

#endif
