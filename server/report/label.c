/* Each label is a column of lines beside a QR code; the lines share the height there is. */
#include "report/label.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "marks.h"

#define MM		 (72 / 25.4)
#define COLUMNS		 3
#define ROWS		 9
#define PAD		 (2.2 * MM)
#define LINES_MAX	 11
#define PARTS_MAX	 4 /* lines of a limitation */
#define LIMITATION_SIZE	 7
#define QUIET_MODULES	 4    /* white around the code: ISO/IEC 18004, 6.3.8 */
#define LEAST_LIMITATION 4.5  /* points: smaller is not read on a valve; common practice, no source */
#define LEAST_SIZE	 0.75 /* of its own size, before text is cut */
#define LINE		 1.3  /* height of a line to its size */
#define TEXT_SIZE	 200

struct line {
	char text[TEXT_SIZE];
	double size;
	bool bold, band; /* band: paper-coloured on a dark ground */
};

struct box {
	double x, y, w, h;
};

static void no_frame(struct page *p, const void *context)
{
	(void)context;
	p->top = 0;
	p->bottom = p->height;
}

static void add(struct line *lines, size_t *n, double size, bool bold, const char *label, const char *text)
{
	struct line *l = &lines[*n];
	const char *end;

	if (!text || !*text)
		return;
	snprintf(l->text, sizeof l->text, "%s%s", label, text);
	if (!g_utf8_validate(l->text, -1, &end)) /* cut inside a character */
		l->text[end - l->text] = 0;
	l->size = size;
	l->bold = bold;
	l->band = false;
	(*n)++;
}

/* parts: the limitation, line by line. */
static size_t compose(const struct label *label, char parts[][TEXT_SIZE], size_t n_parts, struct line lines[LINES_MAX])
{
	size_t n = 0;

	if (label->kind != LABEL_ORDINARY) {
		add(lines, &n, 12, true, "", label->kind == LABEL_LIMITED ? "LIMITED USE" : "DO NOT USE");
		lines[0].band = label->kind == LABEL_DO_NOT_USE;
	}
	if (label->kind == LABEL_LIMITED)
		for (size_t i = 0; i < n_parts; i++)
			add(lines, &n, LIMITATION_SIZE, true, "", parts[i]);
	add(lines, &n, 11, true, "", label->tag);
	add(lines, &n, 6.5, false, "", label->service);
	add(lines, &n, 6.5, false, "Tested ", label->tested_on);
	if (label->kind != LABEL_DO_NOT_USE)
		add(lines, &n, 6.5, true, "Due ", label->due_on);
	add(lines, &n, 6.5, false, "By ", label->by);
	add(lines, &n, 6.5, false, "", label->certificate);
	return n;
}

/* Smaller, then shorter, until it fits the width. */
static void fit(struct page *p, struct style *style, char *text, double width)
{
	double least = style->size * LEAST_SIZE, full = page_text_width(p, style, text);
	char *end = text + strlen(text);

	if (full > width)
		style->size = fmax(least, style->size * width / full * 0.99);
	while (end > text && page_text_width(p, style, text) > width) {
		end = g_utf8_prev_char(end);
		if ((size_t)(end - text) + sizeof "…" <= TEXT_SIZE)
			memcpy(end, "…", sizeof "…");
		else
			*end = 0;
	}
}

static double scale_of(const struct line *lines, size_t n, double height)
{
	double total = 0;

	for (size_t i = 0; i < n; i++)
		total += lines[i].size * LINE;
	return fmin(1.35, height / total);
}

/* Breaks the text between words into lines that fit the width at this size. How many; more than PARTS_MAX when it does not fit. */
static size_t break_lines(struct page *p, const char *text, double size, double width, char parts[][TEXT_SIZE])
{
	const struct style style = {size, true, INK_TEXT};
	size_t n = 0;

	while (*text) {
		size_t fits = 0;

		for (size_t at = 1; at <= strlen(text) && at < TEXT_SIZE; at++) {
			if (text[at] && text[at] != ' ')
				continue;
			if (n == PARTS_MAX)
				return n + 1;
			memcpy(parts[n], text, at);
			parts[n][at] = '\0';
			if (page_text_width(p, &style, parts[n]) > width)
				break;
			fits = at;
		}
		if (fits == 0)
			return PARTS_MAX + 1; /* one word is too long */
		parts[n++][fits] = '\0';
		text += fits + (text[fits] == ' ');
	}
	return n;
}

/* As few lines as will do. INVALID when the label has no room: what is not read whole says something else. */
static size_t lay_limitation(struct page *p, const struct label *label, double width, double height,
			     char parts[PARTS_MAX + 1][TEXT_SIZE])
{
	struct line lines[LINES_MAX];

	if (label->kind != LABEL_LIMITED)
		return 0;
	for (size_t allowed = 1; allowed <= PARTS_MAX; allowed++) {
		char blank[PARTS_MAX + 1][TEXT_SIZE] = {"x", "x", "x", "x"};
		double scale = scale_of(lines, compose(label, blank, allowed, lines), height);
		size_t n = break_lines(p, label->limitation, LIMITATION_SIZE * scale, width, parts);

		if (n <= allowed && LIMITATION_SIZE * scale >= LEAST_LIMITATION)
			return n;
	}
	if (!p->rc)
		p->rc = err_set(p->err, INVALID, "kind", "the limitation of %s does not fit a label of this size",
				label->tag);
	return 0;
}

static void set_label(struct page *p, const struct label *label, const struct box *b)
{
	char parts[PARTS_MAX + 1][TEXT_SIZE];
	struct line lines[LINES_MAX];
	double inner = b->h - 2 * PAD, field = fmin(b->h - 2 * MM, 26 * MM), y = b->y + PAD;
	double modules = mark_qr_modules(label->verify_address),
	       code = modules > 0 ? field * modules / (modules + 2 * QUIET_MODULES) : field;
	double width = b->w - 2 * PAD - field;
	size_t n_parts = lay_limitation(p, label, width, inner, parts), n = compose(label, parts, n_parts, lines);
	double scale = scale_of(lines, n, inner);

	for (size_t i = 0; i < n && !p->rc; i++) {
		struct style style = {lines[i].size * scale, lines[i].bold, lines[i].band ? INK_PAPER : INK_TEXT};
		double height = style.size * LINE;

		if (lines[i].band && p->cr) {
			page_ink(p, INK_TEXT);
			cairo_rectangle(p->cr, b->x + PAD / 2, y, width + PAD / 2, height);
			cairo_fill(p->cr);
		}
		fit(p, &style, lines[i].text, width);
		page_text(p, b->x + PAD, y, 0, ALIGN_LEFT, &style, lines[i].text);
		y += height;
	}
	p->outside = true;
	mark_qr(p, b->x + b->w - (field + code) / 2 - MM, b->y + (b->h - code) / 2, code, label->verify_address);
	p->outside = false;
}

/* A short light line each way at the four corners. */
static void cut_marks(struct page *p, const struct box *b)
{
	for (int corner = 0; p->cr && corner < 4; corner++) {
		double x = b->x + (corner & 1 ? b->w : 0), y = b->y + (corner & 2 ? b->h : 0);

		cairo_move_to(p->cr, x - MM, y);
		cairo_line_to(p->cr, x + MM, y);
		cairo_move_to(p->cr, x, y - MM);
		cairo_line_to(p->cr, x, y + MM);
		page_ink(p, INK_RULE);
		cairo_set_line_width(p->cr, 0.3);
		cairo_stroke(p->cr);
	}
}

enum status label_pdf(const struct label *labels, size_t n, enum label_paper paper, int start, const char *author,
		      const char *program, char **bytes, size_t *size, struct err *err)
{
	static const double sizes[][2] = {{210, 297}, {215.9, 279.4}, {62, 29}, {89, 36}};
	const struct document_facts facts = {"Instrument labels", author, labels[0].tag, program, labels[0].at};
	bool sheet = paper == LABEL_A4 || paper == LABEL_LETTER;
	size_t at = sheet ? (size_t)start - 1 : 0, per_page = sheet ? LABELS_PER_SHEET : 1;
	struct page p;

	*bytes = NULL;
	*size = 0;
	page_open_size(&p, sizes[paper][0] * MM, sizes[paper][1] * MM, 1, &facts, no_frame, NULL, err);
	for (size_t i = 0; i < n && !p.rc; i++, at++) {
		struct box b = {0, 0, p.width, p.height};

		if (i > 0 && at % per_page == 0)
			page_break(&p);
		if (sheet) {
			size_t row = at % per_page / COLUMNS;

			b.w = 62 * MM;
			b.h = 29 * MM;
			b.x = (p.width - COLUMNS * b.w) / 2 + (double)(at % COLUMNS) * b.w;
			b.y = (p.height - ROWS * b.h) / 2 + (double)row * b.h;
			p.outside = true;
			cut_marks(&p, &b);
			p.outside = false;
		}
		set_label(&p, &labels[i], &b);
	}
	return page_close(&p, bytes, size);
}
