/*
 * Pages as PDF, written by ourselves: paths, text that pango has laid out, and the structure for who has it read aloud. Units
 * are points from the page's top left. What no certificate needs is not here: no images, no transparency, one colour space.
 *
 * The file is of the strict form that seal_pdf.h reads (classic cross references, no compressed objects), and equal calls
 * give equal bytes. Streams are deflated. After a failure (no memory) nothing more is written and sheet_close says so.
 */
#ifndef REPORT_SHEET_H
#define REPORT_SHEET_H

#include <pango/pango.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/status.h"

struct document_facts { /* for the file's own description */
	const char *title, *author, *subject, *creator;
	int64_t at; /* both dates of the file, so that the same record gives the same bytes */
};

struct sheet;

/* Opens the first page; width and height are those of every page. NULL when memory is exhausted. */
struct sheet *sheet_new(double width, double height);
void sheet_break(struct sheet *s); /* the next page; outside every tag that holds content */
/* The file; *bytes is malloc'ed, the caller frees it. Every tag must have been ended. NO_MEMORY; FAILED: a font without outlines. */
enum status sheet_close(struct sheet *s, const struct document_facts *facts, char **bytes, size_t *size,
			struct err *err);
void sheet_free(struct sheet *s); /* NULL is allowed */

/* How is drawn what comes next, until it is changed; sheet_save and sheet_restore keep and bring back all of it, and clipping. */
void sheet_colour(struct sheet *s, const unsigned char rgb[3]);
void sheet_width(struct sheet *s, double width);
void sheet_round_caps(struct sheet *s);
void sheet_round_joins(struct sheet *s);
void sheet_dotted(struct sheet *s, double step); /* dots at that distance, with round caps */
void sheet_save(struct sheet *s);		 /* up to 4 deep */
void sheet_restore(struct sheet *s);

/* A path; a line without a beginning begins one. Stroking, filling and clipping use it up. */
void sheet_move(struct sheet *s, double x, double y);
void sheet_line(struct sheet *s, double x, double y);
void sheet_rectangle(struct sheet *s, double x, double y, double width, double height);
/* Clockwise from one angle to the other, radians from the right; a path of its own. */
void sheet_arc(struct sheet *s, double x, double y, double radius, double from, double to);
void sheet_join_ends(struct sheet *s);
void sheet_stroke(struct sheet *s);
void sheet_fill(struct sheet *s);
void sheet_fill_keep(struct sheet *s); /* the path stays */
void sheet_clip(struct sheet *s);

/* A layout with its top left at x, y; one line of it with its baseline's left end there. In the colour of the moment. */
void sheet_layout(struct sheet *s, double x, double y, PangoLayout *layout);
void sheet_layout_line(struct sheet *s, double x, double y, PangoLayoutLine *line);

/*
 * Structure (ISO 32000-1 14.8.4): "Table" and "TR" hold tags, any other holds what is drawn until its end and lies on one
 * page. All are within one "Document". Heads of tables get the scope that their row gives them. name lives on.
 */
void sheet_tag(struct sheet *s, const char *name);
void sheet_untag(struct sheet *s);

#endif
