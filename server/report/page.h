/*
 * A document of pages in PDF, in points (1/72 inch) from the top left: text set by pango, drawn by cairo into memory.
 *
 * A document is laid out twice: first measuring, where nothing is drawn and the pages are counted, then drawing. Failures
 * stay in the page (rc, err) and are looked at once, in page_close.
 */
#ifndef REPORT_PAGE_H
#define REPORT_PAGE_H

#include <cairo.h>
#include <pango/pango.h>
#include <stdbool.h>
#include <stdint.h>
#include "base/status.h"
#include "report/certificate.h"

enum ink { INK_TEXT, INK_MUTED, INK_RULE, INK_HATCH, INK_OK, INK_CONDITIONAL, INK_BAD, INK_PAPER, INKS };
enum align { ALIGN_LEFT, ALIGN_CENTRE, ALIGN_RIGHT };

struct style {
	double size; /* points */
	bool bold;
	enum ink ink;
};

/* The sizes and weights there are. */
extern const struct style STYLE_TITLE, STYLE_NAME, STYLE_VERDICT, STYLE_HEADING, STYLE_TEXT, STYLE_STRONG, STYLE_LABEL,
	STYLE_SMALL, STYLE_NOTE;

struct document_facts { /* for the file's own description */
	const char *title, *author, *subject, *creator;
	int64_t at; /* both dates of the file, so that the same record gives the same bytes */
};

/* Widths of the characters of a number. */
struct figures {
	double digit, point, sign, dash;
};

/* What a style measures, asked for over and over and shaped once. */
struct measures {
	double size;
	bool bold;
	double line;
	struct figures figures;
};

#define MEASURES_MAX 24

struct typesetter;

struct page {
	struct typesetter *typesetter;
	cairo_t *cr; /* NULL while measuring */
	cairo_surface_t *surface;
	cairo_surface_t
		*code; /* the QR code that was set last, with its text and size: a certificate has one, on every page */
	char *code_text;
	double code_size;
	double width, height;
	double left, right, top, bottom;		    /* what the text may fill */
	double y;					    /* next free line */
	double air;					    /* more space above each heading of this page */
	int number, total;				    /* of pages; total 0 while measuring */
	void (*frame)(struct page *p, const void *context); /* header and footer of every page; sets top and bottom */
	const void *frame_context;
	double foot; /* height of the footer, kept by frame from page to page */
	struct measures measures[MEASURES_MAX];
	size_t n_measures;
	int leaf;     /* > 0 within a tag that holds content itself, so that text opens no paragraph of its own */
	bool outside; /* what is set now is left out of the reading order: header, footer, a repeated head */
	char *bytes;
	size_t size, room;
	enum status rc;
	struct err *err;
};

/* total 0: measure. facts may be NULL while measuring. After a failure page_close is still called. */
void page_open(struct page *p, enum paper paper, int total, const struct document_facts *facts,
	       void (*frame)(struct page *p, const void *context), const void *context, struct err *err);
/* The same on paper of any size, in points, with no margin. */
void page_open_size(struct page *p, double width, double height, int total, const struct document_facts *facts,
		    void (*frame)(struct page *p, const void *context), const void *context, struct err *err);
/* Finishes the last page. Drawing: bytes is malloc'ed and becomes the caller's; measuring: bytes and size are not touched. */
enum status page_close(struct page *p, char **bytes, size_t *size);

bool page_measuring(const struct page *p);
void page_ink_of(cairo_t *cr, enum ink ink);
void page_ink(struct page *p, enum ink ink); /* colour of what is drawn next; only while drawing */
void page_break(struct page *p);
bool page_fits(const struct page *p, double height);
void page_need(struct page *p, double height); /* a new page when that much does not fit on this one */

/*
 * Structure for who has the page read aloud (ISO 32000-1 14.8.4): "Table" and "TR" hold other tags, "H1", "H2", "TH", "TD"
 * and "Figure" hold content. Text outside any of these is a paragraph. The order of reading is the order of setting; what
 * is set while p->outside belongs to no tag and is not read. Each page_tag has its page_untag with the same name; the page
 * may be broken within "Table", and in no other.
 */
void page_tag(struct page *p, const char *name);
void page_untag(struct page *p, const char *name);

/* Sets text wrapped to the width at x, y (top of its first line) and returns its height. NULL is no text, height 0. */
double page_text(struct page *p, double x, double y, double width, enum align align, const struct style *style,
		 const char *text);
/* The same as a tag of its own: "H1", "TD". */
double page_text_as(struct page *p, const char *tag, double x, double y, double width, enum align align,
		    const struct style *style, const char *text);
double page_text_height(struct page *p, double width, const struct style *style, const char *text);
double page_text_width(struct page *p, const struct style *style, const char *text);
double page_line_height(struct page *p, const struct style *style);
/* Sets one line with its decimal point at x (or its end, when it has none). */
void page_number(struct page *p, double x, double y, const struct style *style, const char *text);
/* From the widths of its characters that of a number before its decimal point and from it on. */
void page_figures(struct page *p, const struct style *style, struct figures *out);
void page_number_width(const struct figures *f, const char *text, double *before, double *after);
/* Sets text from the page's y, going on over as many pages as it needs; also within "P", which it ends with the page. */
void page_flow(struct page *p, double x, double width, const struct style *style, const char *text);
void page_rule(struct page *p, double x, double y, double width, double thickness);

#endif
