/* Pages and text. What cairo must be told so that a file is the same each time is here. */
#include "page.h"

#include <cairo-pdf.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>
#include "base/time.h"
#include "typeset.h"

#define A4_WIDTH       595.276
#define A4_HEIGHT      841.89
#define LETTER_WIDTH   612.0
#define LETTER_HEIGHT  792.0
#define MARGIN	       57.0	   /* 20 mm left and right */
#define SIZE_MAX_BYTES (64u << 20) /* far above the largest record */

const struct style STYLE_TITLE = {21, false, INK_TEXT}, STYLE_NAME = {11.5, true, INK_TEXT},
		   STYLE_VERDICT = {10.5, true, INK_TEXT}, STYLE_HEADING = {9, true, INK_TEXT},
		   STYLE_TEXT = {7.6, false, INK_TEXT}, STYLE_STRONG = {7.6, true, INK_TEXT},
		   STYLE_LABEL = {7.6, false, INK_MUTED}, STYLE_SMALL = {6.8, false, INK_TEXT},
		   STYLE_NOTE = {6.8, false, INK_MUTED};

static const unsigned char colours[INKS][3] = {
	[INK_TEXT] = {0x1c, 0x21, 0x28},  [INK_MUTED] = {0x4e, 0x55, 0x61}, [INK_RULE] = {0x8c, 0x91, 0x99},
	[INK_HATCH] = {0xa9, 0xad, 0xb3}, [INK_OK] = {0x1f, 0x6b, 0x4a},    [INK_CONDITIONAL] = {0x7a, 0x52, 0x00},
	[INK_BAD] = {0xa8, 0x27, 0x1b},	  [INK_PAPER] = {0xff, 0xff, 0xff},
};

static cairo_status_t take_bytes(void *closure, const unsigned char *data, unsigned int length)
{
	struct page *p = closure;

	if (p->size + length > SIZE_MAX_BYTES)
		return CAIRO_STATUS_WRITE_ERROR;
	if (p->size + length > p->room) {
		size_t room = (p->room + length) * 2;
		char *grown = realloc(p->bytes, room);

		if (!grown)
			return CAIRO_STATUS_NO_MEMORY;
		p->bytes = grown;
		p->room = room;
	}
	memcpy(p->bytes + p->size, data, length);
	p->size += length;
	return CAIRO_STATUS_SUCCESS;
}

/* Without both dates cairo writes the present time, and no two renderings are alike. */
static void describe(struct page *p, const struct document_facts *facts)
{
	char at[TIME_TEXT_SIZE], seconds[TIME_TEXT_SIZE];

	time_to_text(facts->at, at);
	memcpy(seconds, at, 19);
	memcpy(seconds + 19, "Z", 2);
	cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_TITLE, facts->title);
	cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_AUTHOR, facts->author);
	cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_SUBJECT, facts->subject);
	cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_CREATOR, facts->creator);
	cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_CREATE_DATE, seconds);
	cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_MOD_DATE, seconds);
}

static void begin_page(struct page *p)
{
	p->number++;
	p->outside = true;
	p->frame(p, p->frame_context);
	p->outside = false;
	p->y = p->top;
}

static void open_page(struct page *p, double width, double height, double margin, int total,
		      const struct document_facts *facts, void (*frame)(struct page *p, const void *context),
		      const void *context, struct err *err)
{
	*p = (struct page){.frame = frame, .frame_context = context, .total = total, .err = err};
	p->width = width;
	p->height = height;
	p->left = margin;
	p->right = p->width - margin;
	p->rc = typesetter_take(&p->typesetter, err);
	if (p->rc)
		return;
	if (total > 0) {
		p->surface = cairo_pdf_surface_create_for_stream(take_bytes, p, p->width, p->height);
		cairo_pdf_surface_restrict_to_version(p->surface, CAIRO_PDF_VERSION_1_5);
		describe(p, facts);
		p->cr = cairo_create(p->surface);
		cairo_tag_begin(p->cr, "Document", NULL); /* one over all pages: poppler warns of several */
	}
	begin_page(p);
}

void page_open(struct page *p, enum paper paper, int total, const struct document_facts *facts,
	       void (*frame)(struct page *p, const void *context), const void *context, struct err *err)
{
	bool letter = paper == PAPER_LETTER;

	open_page(p, letter ? LETTER_WIDTH : A4_WIDTH, letter ? LETTER_HEIGHT : A4_HEIGHT, MARGIN, total, facts, frame,
		  context, err);
}

void page_open_size(struct page *p, double width, double height, int total, const struct document_facts *facts,
		    void (*frame)(struct page *p, const void *context), const void *context, struct err *err)
{
	open_page(p, width, height, 0, total, facts, frame, context, err);
}

enum status page_close(struct page *p, char **bytes, size_t *size)
{
	if (p->cr) {
		cairo_tag_end(p->cr, "Document");
		cairo_show_page(p->cr);
		cairo_destroy(p->cr);
		cairo_surface_finish(p->surface);
		if (!p->rc && cairo_surface_status(p->surface))
			p->rc = err_set(p->err, FAILED, "", "the certificate could not be drawn: %s",
					cairo_status_to_string(cairo_surface_status(p->surface)));
		cairo_surface_destroy(p->surface);
		cairo_surface_destroy(p->code);
		free(p->code_text);
		if (!p->rc) {
			*bytes = p->bytes;
			*size = p->size;
		} else {
			free(p->bytes);
		}
	}
	typesetter_give_back(p->typesetter);
	p->typesetter = NULL;
	return p->rc;
}

bool page_measuring(const struct page *p)
{
	return !p->cr;
}

/* Tags that hold tags; all others hold what is drawn. */
static bool is_container(const char *name)
{
	return strcmp(name, "Table") == 0 || strcmp(name, "TR") == 0;
}

void page_tag(struct page *p, const char *name)
{
	if (!p->cr || p->outside)
		return;
	if (!is_container(name))
		p->leaf++;
	cairo_tag_begin(p->cr, name, NULL);
}

void page_untag(struct page *p, const char *name)
{
	if (!p->cr || p->outside)
		return;
	if (!is_container(name))
		p->leaf--;
	cairo_tag_end(p->cr, name);
}

static bool opens_paragraph(const struct page *p)
{
	return !p->outside && p->leaf == 0;
}

void page_ink_of(cairo_t *cr, enum ink ink)
{
	cairo_set_source_rgb(cr, colours[ink][0] / 255.0, colours[ink][1] / 255.0, colours[ink][2] / 255.0);
}

void page_ink(struct page *p, enum ink ink)
{
	page_ink_of(p->cr, ink);
}

void page_break(struct page *p)
{
	if (p->cr)
		cairo_show_page(p->cr);
	begin_page(p);
}

bool page_fits(const struct page *p, double height)
{
	return p->y + height <= p->bottom + 0.01;
}

void page_need(struct page *p, double height)
{
	if (!page_fits(p, height) && p->y > p->top)
		page_break(p);
}

/* NULL when there is nothing to set, or after a failure. width <= 0: one line, however long. */
static const struct typeset *set_text(struct page *p, double width, enum align align, const struct style *style,
				      const char *text)
{
	static const PangoAlignment alignment[] = {[ALIGN_LEFT] = PANGO_ALIGN_LEFT,
						   [ALIGN_CENTRE] = PANGO_ALIGN_CENTER,
						   [ALIGN_RIGHT] = PANGO_ALIGN_RIGHT};
	const struct typeset *set = NULL;

	if (!text || !*text || p->rc)
		return NULL;
	p->rc = typeset(p->typesetter, text, style->size, style->bold, width, alignment[align], &set, p->err);
	return set;
}

static void show(struct page *p, double x, double y, const struct style *style, PangoLayout *layout)
{
	page_ink(p, style->ink);
	cairo_move_to(p->cr, x, y);
	pango_cairo_show_layout(p->cr, layout);
	cairo_new_path(p->cr); /* pango leaves the current point behind, and the next line would start there */
}

double page_text(struct page *p, double x, double y, double width, enum align align, const struct style *style,
		 const char *text)
{
	const struct typeset *set;
	bool paragraph;

	if (!p->cr)
		return page_text_height(p, width, style, text);
	set = set_text(p, width, align, style, text);
	if (!set)
		return 0;
	paragraph = opens_paragraph(p);
	if (paragraph)
		page_tag(p, "P");
	show(p, x, y, style, set->layout);
	if (paragraph)
		page_untag(p, "P");
	return set->height;
}

double page_text_as(struct page *p, const char *tag, double x, double y, double width, enum align align,
		    const struct style *style, const char *text)
{
	double h;

	page_tag(p, tag);
	h = page_text(p, x, y, width, align, style, text);
	page_untag(p, tag);
	return h;
}

double page_text_height(struct page *p, double width, const struct style *style, const char *text)
{
	const struct typeset *set = set_text(p, width, ALIGN_LEFT, style, text);

	return set ? set->height : 0;
}

double page_text_width(struct page *p, const struct style *style, const char *text)
{
	const struct typeset *set = set_text(p, 0, ALIGN_LEFT, style, text);

	return set ? set->width : 0;
}

static const struct measures *measures(struct page *p, const struct style *style)
{
	struct measures *m = p->measures;

	for (size_t i = 0; i < p->n_measures; i++, m++)
		if (m->bold == style->bold && m->size >= style->size && m->size <= style->size)
			return m;
	if (p->n_measures == MEASURES_MAX)
		m--;
	else
		p->n_measures++;
	*m = (struct measures){style->size, style->bold, page_text_height(p, 0, style, "0"),
			       .figures = {page_text_width(p, style, "0"), page_text_width(p, style, "."),
					   page_text_width(p, style, "+"), page_text_width(p, style, "\u2013")}};
	return m;
}

double page_line_height(struct page *p, const struct style *style)
{
	return measures(p, style)->line;
}

/* x of the decimal point within the layout; its width when there is none. */
static double point_offset(const struct typeset *set, const char *text)
{
	const char *point = strchr(text, '.');
	PangoRectangle at;

	if (!point)
		return set->width;
	pango_layout_index_to_pos(set->layout, (int)(point - text), &at);
	return (double)at.x / PANGO_SCALE;
}

/* A table has hundreds of numbers, no two alike: where it can, typeset puts them together from their digits. */
void page_number(struct page *p, double x, double y, const struct style *style, const char *text)
{
	const struct typeset *set;

	if (!p->cr || p->rc || !text || !*text)
		return;
	page_ink(p, style->ink);
	if (typeset_figures(p->typesetter, p->cr, text, style->size, style->bold, x, y))
		return;
	set = set_text(p, 0, ALIGN_LEFT, style, text);
	if (set)
		show(p, x - point_offset(set, text), y, style, set->layout);
}

/* Figures are as wide as one another, so few texts need to be set: a table has hundreds of numbers. */
void page_figures(struct page *p, const struct style *style, struct figures *out)
{
	*out = measures(p, style)->figures;
}

void page_number_width(const struct figures *f, const char *text, double *before, double *after)
{
	double *width = before;

	*before = *after = 0;
	for (; *text; text++) {
		if (*text == '.')
			width = after;
		if (*text == '.')
			*width += f->point;
		else if (*text >= '0' && *text <= '9')
			*width += f->digit;
		else if (*text == '+' || (unsigned char)*text == 0xe2) /* the first byte of a minus sign or dash */
			*width += f->sign > f->dash ? f->sign : f->dash;
	}
}

/* What is set stays only until header and footer are set at a page break: then it is set again. */
void page_flow(struct page *p, double x, double width, const struct style *style, const char *text)
{
	const struct typeset *set = set_text(p, width, ALIGN_LEFT, style, text);
	int lines = set ? pango_layout_get_line_count(set->layout) : 0;
	double step = lines > 0 ? set->height / lines : 0,
	       ascent = lines > 0 ? (double)pango_layout_get_baseline(set->layout) / PANGO_SCALE : 0;
	bool own = opens_paragraph(p);

	if (own)
		page_tag(p, "P");
	for (int i = 0; i < lines; i++) {
		if (!page_fits(p, step)) {
			page_untag(p, "P");
			page_break(p);
			page_tag(p, "P");
			set = set_text(p, width, ALIGN_LEFT, style, text);
			if (!set)
				break;
		}
		if (p->cr) {
			page_ink(p, style->ink);
			cairo_move_to(p->cr, x, p->y + ascent);
			pango_cairo_show_layout_line(p->cr, pango_layout_get_line_readonly(set->layout, i));
			cairo_new_path(p->cr);
		}
		p->y += step;
	}
	if (own)
		page_untag(p, "P");
}

void page_rule(struct page *p, double x, double y, double width, double thickness)
{
	if (!p->cr)
		return;
	page_ink(p, INK_TEXT);
	cairo_set_line_width(p->cr, thickness);
	cairo_move_to(p->cr, x, y);
	cairo_line_to(p->cr, x + width, y);
	cairo_stroke(p->cr);
}
