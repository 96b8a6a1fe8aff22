/* Pages and text. What cairo and pango must be told so that a file is the same each time, and honest, is here. */
#include "page.h"

#include <cairo-pdf.h>
#include <hb.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>
#include "base/time.h"
#include "fonts.h"

#define A4_WIDTH       595.276
#define A4_HEIGHT      841.89
#define LETTER_WIDTH   612.0
#define LETTER_HEIGHT  792.0
#define MARGIN	       57.0	   /* 20 mm left and right */
#define LINE_SPACING   1.1	   /* of the typeface's own 1.16 em */
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

/* Metrics of the outlines themselves, not of some screen; no ligatures, because they break text that is copied or read aloud. */
static void open_text(struct page *p, PangoFontMap *map)
{
	cairo_font_options_t *options = cairo_font_options_create();
	PangoAttrList *attributes = pango_attr_list_new();

	cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
	cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
	p->context = pango_font_map_create_context(map);
	pango_cairo_context_set_font_options(p->context, options);
	pango_cairo_context_set_resolution(p->context, 72);
	pango_context_set_language(p->context, pango_language_from_string("en"));
	pango_context_set_base_dir(p->context, PANGO_DIRECTION_LTR);
	pango_context_set_round_glyph_positions(p->context, FALSE);
	p->layout = pango_layout_new(p->context);
	pango_layout_set_wrap(p->layout, PANGO_WRAP_WORD_CHAR);
	pango_layout_set_line_spacing(p->layout, (float)LINE_SPACING);
	pango_attr_list_insert(attributes, pango_attr_font_features_new("liga=0, clig=0, dlig=0, tnum=1"));
	pango_layout_set_attributes(p->layout, attributes);
	pango_attr_list_unref(attributes);
	cairo_font_options_destroy(options);
	for (int bold = 0; bold < 2; bold++) {
		p->font[bold] = pango_font_description_new();
		pango_font_description_set_family_static(p->font[bold], FONT_FAMILY);
		pango_font_description_set_weight(p->font[bold], bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
	}
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
		      const struct document_facts *facts, struct heights *heights,
		      void (*frame)(struct page *p, const void *context), const void *context, struct err *err)
{
	PangoFontMap *map;

	*p = (struct page){.heights = heights, .frame = frame, .frame_context = context, .total = total, .err = err};
	p->width = width;
	p->height = height;
	p->left = margin;
	p->right = p->width - margin;
	p->rc = fonts_get(&map, err);
	if (p->rc)
		return;
	open_text(p, map);
	if (total > 0) {
		p->surface = cairo_pdf_surface_create_for_stream(take_bytes, p, p->width, p->height);
		cairo_pdf_surface_restrict_to_version(p->surface, CAIRO_PDF_VERSION_1_5);
		describe(p, facts);
		p->cr = cairo_create(p->surface);
		cairo_tag_begin(p->cr, "Document", NULL); /* one over all pages: poppler warns of several */
	}
	begin_page(p);
}

void page_open(struct page *p, enum paper paper, int total, const struct document_facts *facts, struct heights *heights,
	       void (*frame)(struct page *p, const void *context), const void *context, struct err *err)
{
	bool letter = paper == PAPER_LETTER;

	open_page(p, letter ? LETTER_WIDTH : A4_WIDTH, letter ? LETTER_HEIGHT : A4_HEIGHT, MARGIN, total, facts,
		  heights, frame, context, err);
}

void page_open_size(struct page *p, double width, double height, int total, const struct document_facts *facts,
		    void (*frame)(struct page *p, const void *context), const void *context, struct err *err)
{
	open_page(p, width, height, 0, total, facts, NULL, frame, context, err);
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
		if (!p->rc) {
			*bytes = p->bytes;
			*size = p->size;
		} else {
			free(p->bytes);
		}
	}
	if (p->layout) {
		g_object_unref(p->layout);
		g_object_unref(p->context);
		pango_font_description_free(p->font[0]);
		pango_font_description_free(p->font[1]);
	}
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

void page_ink(struct page *p, enum ink ink)
{
	cairo_set_source_rgb(p->cr, colours[ink][0] / 255.0, colours[ink][1] / 255.0, colours[ink][2] / 255.0);
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

/* The first character of the layout that neither font has; 0 when pango does not say. */
static unsigned int missing_character(PangoLayout *layout)
{
	for (GSList *line = pango_layout_get_lines_readonly(layout); line; line = line->next)
		for (GSList *run = ((PangoLayoutLine *)line->data)->runs; run; run = run->next) {
			const PangoGlyphString *glyphs = ((PangoGlyphItem *)run->data)->glyphs;

			for (int i = 0; i < glyphs->num_glyphs; i++)
				if (glyphs->glyphs[i].glyph & PANGO_GLYPH_UNKNOWN_FLAG)
					return glyphs->glyphs[i].glyph & ~(unsigned int)PANGO_GLYPH_UNKNOWN_FLAG;
		}
	return 0;
}

/* A box in place of a character would be a certificate that says something else than its record: it is refused. */
static void refuse_missing(struct page *p, const char *text)
{
	unsigned int c;

	if (p->rc || pango_layout_get_unknown_glyphs_count(p->layout) == 0)
		return;
	c = missing_character(p->layout);
	p->rc = err_set(
		p->err, INVALID, "", "the certificate's typeface has no character U+%04X, which stands in \"%.*s\"", c,
		(int)(g_utf8_strlen(text, -1) > 60 ? g_utf8_offset_to_pointer(text, 60) - text : (long)strlen(text)),
		text);
}

/* width <= 0: one line, however long. False when there is nothing to set. */
static bool set_text(struct page *p, double width, enum align align, const struct style *style, const char *text)
{
	if (!text || !*text || p->rc)
		return false;
	if (!g_utf8_validate(text, -1, NULL)) {
		p->rc = err_set(p->err, INVALID, "", "the record holds text that is not UTF-8");
		return false;
	}
	pango_font_description_set_absolute_size(p->font[style->bold], style->size * PANGO_SCALE);
	pango_layout_set_font_description(p->layout, p->font[style->bold]);
	pango_layout_set_width(p->layout, width > 0 ? (int)(width * PANGO_SCALE) : -1);
	pango_layout_set_alignment(p->layout, align == ALIGN_LEFT   ? PANGO_ALIGN_LEFT :
					      align == ALIGN_CENTRE ? PANGO_ALIGN_CENTER :
								      PANGO_ALIGN_RIGHT);
	pango_layout_set_text(p->layout, text, -1);
	refuse_missing(p, text);
	return !p->rc;
}

/*
 * Where a line is wrapped pango leaves the space out, cairo then writes the space as text without a glyph, and readers of
 * the structure (poppler) lose the rest of the paragraph: the space is put back, at the end of its line.
 */
static void keep_spaces(struct page *p)
{
	int lines = pango_layout_get_line_count(p->layout);

	for (int i = 0; i + 1 < lines; i++) {
		GSList *run = g_slist_last(pango_layout_get_line_readonly(p->layout, i)->runs);
		PangoGlyphItem *item = run ? run->data : NULL;
		int n = item ? item->glyphs->num_glyphs : 0;
		hb_codepoint_t space;

		if (n > 0 && item->glyphs->glyphs[n - 1].glyph == PANGO_GLYPH_EMPTY &&
		    hb_font_get_nominal_glyph(pango_font_get_hb_font(item->item->analysis.font), ' ', &space))
			item->glyphs->glyphs[n - 1].glyph = space;
	}
}

static double layout_height(const struct page *p)
{
	PangoRectangle logical;

	pango_layout_get_extents(p->layout, NULL, &logical);
	return (double)logical.height / PANGO_SCALE;
}

static double layout_width(const struct page *p)
{
	PangoRectangle logical;

	pango_layout_get_extents(p->layout, NULL, &logical);
	return (double)logical.width / PANGO_SCALE;
}

double page_text(struct page *p, double x, double y, double width, enum align align, const struct style *style,
		 const char *text)
{
	bool paragraph;

	if (!p->cr)
		return page_text_height(p, width, style, text);
	if (!set_text(p, width, align, style, text))
		return 0;
	paragraph = opens_paragraph(p);
	if (paragraph)
		page_tag(p, "P");
	keep_spaces(p);
	page_ink(p, style->ink);
	cairo_move_to(p->cr, x, y);
	pango_cairo_show_layout(p->cr, p->layout);
	cairo_new_path(p->cr); /* pango leaves the current point behind, and the next line would start there */
	if (paragraph)
		page_untag(p, "P");
	return layout_height(p);
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

/* FNV-1a, 64 bits: one wrong height among the few hundred texts of a certificate has a chance of 1 in 10^14. */
static uint64_t hash_bytes(uint64_t hash, const void *bytes, size_t n)
{
	const unsigned char *b = bytes;

	for (size_t i = 0; i < n; i++)
		hash = (hash ^ b[i]) * 0x100000001b3u;
	return hash;
}

static uint64_t hash_text(double width, const struct style *style, const char *text)
{
	uint64_t hash = hash_bytes(0xcbf29ce484222325u, text, strlen(text));

	hash = hash_bytes(hash, &width, sizeof width);
	hash = hash_bytes(hash, &style->size, sizeof style->size);
	return hash_bytes(hash, &style->bold, sizeof style->bold) | 1; /* never 0 */
}

double page_text_height(struct page *p, double width, const struct style *style, const char *text)
{
	uint64_t hash;
	size_t slot;

	if (!text || !*text || p->rc)
		return 0;
	hash = hash_text(width, style, text);
	slot = (size_t)(hash >> 32) % HEIGHTS_MAX;
	if (p->heights->at[slot].hash == hash)
		return p->heights->at[slot].height;
	if (!set_text(p, width, ALIGN_LEFT, style, text))
		return 0;
	p->heights->at[slot].hash = hash;
	p->heights->at[slot].height = layout_height(p);
	return p->heights->at[slot].height;
}

double page_text_width(struct page *p, const struct style *style, const char *text)
{
	return set_text(p, 0, ALIGN_LEFT, style, text) ? layout_width(p) : 0;
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
static double point_offset(struct page *p, const char *text)
{
	const char *point = strchr(text, '.');
	PangoRectangle at;

	if (!point)
		return layout_width(p);
	pango_layout_index_to_pos(p->layout, (int)(point - text), &at);
	return (double)at.x / PANGO_SCALE;
}

void page_number(struct page *p, double x, double y, const struct style *style, const char *text)
{
	if (!p->cr || !set_text(p, 0, ALIGN_LEFT, style, text))
		return;
	page_ink(p, style->ink);
	cairo_move_to(p->cr, x - point_offset(p, text), y);
	pango_cairo_show_layout(p->cr, p->layout);
	cairo_new_path(p->cr);
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

/* The layout is used up by header and footer at a page break, so it is set again and read on from the same line. */
void page_flow(struct page *p, double x, double width, const struct style *style, const char *text)
{
	int lines = set_text(p, width, ALIGN_LEFT, style, text) ? pango_layout_get_line_count(p->layout) : 0;
	double step = lines > 0 ? layout_height(p) / lines : 0,
	       ascent = lines > 0 ? (double)pango_layout_get_baseline(p->layout) / PANGO_SCALE : 0;
	bool own = opens_paragraph(p);

	if (own)
		page_tag(p, "P");
	for (int i = 0; i < lines; i++) {
		if (!page_fits(p, step)) {
			page_untag(p, "P");
			page_break(p);
			page_tag(p, "P");
			if (!set_text(p, width, ALIGN_LEFT, style, text))
				break;
		}
		if (p->cr) {
			keep_spaces(p);
			page_ink(p, style->ink);
			cairo_move_to(p->cr, x, p->y + ascent);
			pango_cairo_show_layout_line(p->cr, pango_layout_get_line_readonly(p->layout, i));
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
