/* The order of the certificate, its header and footer, and the two passes: count the pages, then draw them. */
#include "report/certificate.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "certificate_internal.h"
#include "chart.h"
#include "marks.h"

#define HEAD_Y	       32.0
#define FOOT_MARGIN    30.0
#define QR_SIZE	       66.0 /* 33 modules, as the usual address needs, of 2 points each: still read from a screen at 72 dpi */
#define FRONT_HEADINGS 5
#define FRONT_SPARE    6.0 /* kept free at its foot: a heading asks for a little more than its part takes */
#define AIR_LEAST      (-4.0)
#define AIR_MOST       9.0
#define CHART_HEIGHT   190.0
#define CHART_LEAST    112.0 /* below that it is better on a page of its own */
#define ENTRY_SPACE    2.5
#define END_SPACE      8.0

bool run_stands(const struct record_run *run)
{
	for (size_t i = 0; i < run->n_points; i++)
		if (run->points[i].read)
			return true;
	return false;
}

bool tested_between(const struct record *r, int64_t *first, int64_t *last)
{
	bool any = false;

	for (size_t k = 0; k < r->n_runs; k++)
		for (size_t i = 0; i < r->runs[k].n_points; i++) {
			const struct record_point *q = &r->runs[k].points[i];

			if (!q->read)
				continue;
			if (!any || q->taken_at < *first)
				*first = q->taken_at;
			if (!any || q->taken_at > *last)
				*last = q->taken_at;
			any = true;
		}
	return any;
}

void certificate_heading(struct page *p, const char *text, double keep)
{
	page_need(p, HEADING_SPACE + p->air + page_line_height(p, &STYLE_HEADING) + 3 + keep);
	if (p->y > p->top)
		p->y += HEADING_SPACE + p->air;
	p->y += page_text_as(p, "H2", p->left, p->y, p->right - p->left, ALIGN_LEFT, &STYLE_HEADING, text) + 3;
}

void certificate_entry(struct page *p, const char *label, const char *text)
{
	char spaced[64];

	if (!text || !*text)
		return;
	page_need(p, 2 * page_line_height(p, &STYLE_TEXT));
	snprintf(spaced, sizeof spaced, "%s ", label); /* so that the two are not read as one word */
	page_tag(p, "P");
	page_text(p, p->left, p->y, LABEL_WIDTH - 8, ALIGN_LEFT, &STYLE_LABEL, spaced);
	page_flow(p, p->left + LABEL_WIDTH, p->right - p->left - LABEL_WIDTH, &STYLE_TEXT, text);
	page_untag(p, "P");
	p->y += ENTRY_SPACE;
}

double certificate_entry_height(struct page *p, const char *text)
{
	return text && *text ? page_text_height(p, p->right - p->left - LABEL_WIDTH, &STYLE_TEXT, text) + ENTRY_SPACE :
			       0;
}

/* The last signature of this meaning; NULL when there is none. */
static const struct record_signature *last_signature(const struct record *r, const char *meaning)
{
	for (size_t i = r->n_signatures; i-- > 0;)
		if (strcmp(r->signatures[i].meaning, meaning) == 0)
			return &r->signatures[i];
	return NULL;
}

/* A certificate that no longer stands says so in words across the head of each of its pages. */
static void state_band(struct page *p, const struct certificate *c)
{
	static const struct style loud = {12, true, INK_TEXT};
	const struct record *r = c->r;
	const struct record_signature *voided = last_signature(r, "voided");
	const char *text;
	double h;

	if (r->state == RECORD_VOID || (r->certificate_state && strcmp(r->certificate_state, "void") == 0))
		text = words_joined(c->w, "VOID \u2013 this certificate has been withdrawn and must not be used", ": ",
				    voided ? voided->reason : NULL);
	else if (r->certificate_state && strcmp(r->certificate_state, "amended") == 0)
		text = words_joined(c->w, "AMENDED \u2013 this certificate no longer stands",
				    r->certificate_replaced_by ? ": " : "",
				    r->certificate_replaced_by ?
					    words_say(c->w, "%s takes its place", r->certificate_replaced_by) :
					    NULL);
	else
		return;
	page_rule(p, p->left, p->top, p->right - p->left, 2);
	p->outside = p->number > 1; /* read once */
	h = page_text(p, p->left, p->top + 6, p->right - p->left, ALIGN_CENTRE, &loud, text);
	p->outside = true;
	page_rule(p, p->left, p->top + h + 12, p->right - p->left, 2);
	p->top += h + 24;
}

#define FOOTER_LINES 4

static void footer_lines(const struct certificate *c, int number, int total, const char *line[FOOTER_LINES])
{
	line[0] = words_say(c->w, "Certificate %s   ·   Page %d of %d   ·   %s", c->r->certificate_number, number,
			    total, c->options->plant_name);
	line[1] =
		"Results relate only to the instrument named. To be reproduced only whole, unless the plant agrees in writing.";
	line[2] = words_joined(c->w, "Verify:", " ", c->options->verify_address);
	line[3] = words_joined(
		c->w,
		c->options->copy ? "COPY for reading: the certificate is the sealed file. Dates and times are UTC." :
				   "Dates and times are UTC.",
		"   ", c->options->program);
}

static double footer_width(const struct page *p)
{
	return p->right - p->left - QR_SIZE - 20;
}

static const struct style *footer_style(int line)
{
	return line == 0 ? &STYLE_SMALL : &STYLE_NOTE;
}

/* The same on every page and in both passes, whatever the digits of its number. */
static double footer_height(struct page *p, const struct certificate *c)
{
	const char *line[FOOTER_LINES];
	double h = 0;

	footer_lines(c, 888, 888, line);
	for (int i = 0; i < FOOTER_LINES; i++)
		h += page_text_height(p, footer_width(p), footer_style(i), line[i]);
	return h;
}

static void footer(struct page *p, const struct certificate *c)
{
	double foot = p->height - FOOT_MARGIN, y = foot - p->foot;
	const char *line[FOOTER_LINES];

	if (page_measuring(p))
		return;
	footer_lines(c, p->number, p->total, line);
	for (int i = 0; i < FOOTER_LINES; i++)
		y += page_text(p, p->left, y, footer_width(p), ALIGN_LEFT, footer_style(i), line[i]);
	if (!c->options->verify_address)
		return;
	page_tag(p, "Figure");
	mark_qr(p, floor(p->right - QR_SIZE), floor(foot - QR_SIZE), QR_SIZE, c->options->verify_address);
	page_untag(p, "Figure");
}

/* The number stands on every page, so that a loose one is never without its certificate. */
static void frame(struct page *p, const void *context)
{
	const struct certificate *c = context;
	const char *number = words_say(c->w, "Certificate %s", c->r->certificate_number);
	double width = p->right - p->left, number_width = page_text_width(p, &STYLE_SMALL, number) + 2, h;

	page_text(p, p->right - number_width, HEAD_Y, number_width, ALIGN_RIGHT, &STYLE_SMALL, number);
	h = page_text(p, p->left, HEAD_Y, width - number_width - 20, ALIGN_LEFT, &STYLE_SMALL, c->options->plant_name);
	p->top = HEAD_Y + h + 16;
	state_band(p, c);

	if (p->number == 1)
		p->foot = footer_height(p, c);
	p->bottom = p->height - FOOT_MARGIN - fmax(QR_SIZE, p->foot) - 14;
	if (p->number != p->total)
		footer(p, c);
}

/* The footer of the last page is read aloud, once, after everything else; those before it are not. */
static void end_mark(struct page *p, const struct certificate *c)
{
	page_need(p, page_line_height(p, &STYLE_SMALL) + END_SPACE);
	p->y += END_SPACE;
	p->y += page_text(p, p->left, p->y, p->right - p->left, ALIGN_CENTRE, &STYLE_SMALL,
			  "\u2013 End of certificate \u2013");
	footer(p, c);
}

/* The chart takes what its page has left above the closing words, so that an ordinary test keeps to two pages. */
static double chart_height(struct page *p, const struct certificate *c)
{
	double rest = certificate_words_height(p, c) + END_SPACE + page_line_height(p, &STYLE_SMALL) + 1,
	       room = p->bottom - p->y - rest;

	return room < CHART_LEAST || room > CHART_HEIGHT ? CHART_HEIGHT : room;
}

/*
 * The front page answers who, what, when and the verdict, and is signed; the evidence follows. Measured with the least
 * space above its headings; what is left over, *air, is spread over them while drawing.
 */
static void set_all(struct page *p, const struct certificate *c, double *air)
{
	p->air = *air;
	certificate_title(p, c);
	certificate_conformity(p, c);
	certificate_identity(p, c);
	certificate_standards(p, c);
	certificate_basis(p, c);
	certificate_signatures(p, c);
	if (p->number == 1) {
		*air = fmin(*air + (p->bottom - p->y - FRONT_SPARE) / FRONT_HEADINGS, AIR_MOST);
		page_break(p);
	} else {
		p->y += HEADING_SPACE;
	}
	p->air = 0;
	certificate_tables(p, c);
	certificate_summary(p, c);
	if (p->y > p->top)
		p->y += HEADING_SPACE;
	chart_set(p, c->r, c->w, chart_height(p, c));
	certificate_words(p, c);
	end_mark(p, c);
}

/* Measures when *pages is 0, and sets it; draws otherwise. A page more or less than measured would make "page n of N" lie. */
static enum status render(const struct certificate *c, int *pages, double *air, const struct document_facts *facts,
			  char **bytes, size_t *size, struct err *err)
{
	struct page p;

	page_open(&p, c->options->paper, *pages, facts, frame, c, err);
	if (!p.rc)
		set_all(&p, c, air);
	if (!p.rc && *pages > 0 && p.number != *pages)
		p.rc = err_set(err, FAILED, "", "the certificate came out with %d pages instead of %d", p.number,
			       *pages);
	*pages = p.number;
	return page_close(&p, bytes, size);
}

enum status certificate_pdf(const struct record *r, const struct certificate_options *options, char **bytes,
			    size_t *size, struct err *err)
{
	struct words w = {0};
	const struct certificate c = {r, options, &w};
	struct document_facts facts = {
		.author = options->plant_name, .creator = options->program, .at = r->certificate_at};
	double air = AIR_LEAST;
	int pages = 0;
	enum status rc;

	*bytes = NULL;
	*size = 0;
	if (!r->certificate_number)
		return err_set(err, CONFLICT, "", "a certificate is drawn only once it has a number");
	facts.title = words_say(&w, "Calibration certificate %s", r->certificate_number);
	facts.subject = words_joined(&w, r->instrument.tag, " ", r->instrument.service);
	rc = render(&c, &pages, &air, NULL, NULL, NULL, err);
	if (!rc)
		rc = render(&c, &pages, &air, &facts, bytes, size, err);
	if (!rc && w.failed) {
		free(*bytes);
		*bytes = NULL;
		*size = 0;
		rc = err_set(err, NO_MEMORY, "", "not enough memory for the certificate");
	}
	arena_clear(&w.arena);
	return rc;
}
