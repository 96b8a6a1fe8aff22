/*
 * The lines are drawn by cairo onto a small page of their own; that page's resources, with new numbers, and its content as
 * a form are what the field shows. Real text in embedded fonts: it can be searched, copied and read aloud.
 */
#include "seal_appearance.h"

#include <cairo-pdf.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>
#include "fonts.h"
#include "seal_pdf.h"
#include "seal_qpdf.h"

#define QUARTERS_MOST  28 /* type from 7 points down to 4, in quarters */
#define QUARTERS_LEAST 16
#define PAD	       2.0 /* points from the field's edges */

static cairo_status_t take(void *closure, const unsigned char *data, unsigned int length)
{
	struct bytes *b = closure;

	bytes_add(b, data, length);
	return b->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static PangoLayout *open_layout(PangoFontMap *map, double width)
{
	PangoContext *context = pango_font_map_create_context(map);
	cairo_font_options_t *options = cairo_font_options_create();
	PangoAttrList *attributes = pango_attr_list_new();
	PangoLayout *layout;

	cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
	cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
	pango_cairo_context_set_font_options(context, options);
	pango_cairo_context_set_resolution(context, 72);
	pango_context_set_round_glyph_positions(context, FALSE);
	layout = pango_layout_new(context);
	pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
	pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
	pango_attr_list_insert(attributes, pango_attr_font_features_new("liga=0, clig=0, dlig=0, tnum=1"));
	pango_layout_set_attributes(layout, attributes);
	pango_attr_list_unref(attributes);
	cairo_font_options_destroy(options);
	g_object_unref(context);
	return layout;
}

static void set_size(PangoLayout *layout, double size)
{
	PangoFontDescription *font = pango_font_description_new();

	pango_font_description_set_family_static(font, FONT_FAMILY);
	pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
	pango_layout_set_font_description(layout, font);
	pango_font_description_free(font);
}

/* The largest type at which the text fits. */
static enum status fit(PangoLayout *layout, double height, struct err *err)
{
	for (int quarters = QUARTERS_MOST; quarters >= QUARTERS_LEAST; quarters--) {
		int used;

		set_size(layout, quarters / 4.0);
		pango_layout_get_size(layout, NULL, &used);
		if (pango_layout_get_unknown_glyphs_count(layout) > 0)
			return err_set(err, INVALID, "/lines",
				       "a character of the signature's text is in none of the fonts: %.100s",
				       pango_layout_get_text(layout));
		if (used <= height * PANGO_SCALE)
			return OK;
	}
	return err_set(err, INVALID, "/lines", "the signature's text does not fit into its field");
}

static void set_text(PangoLayout *layout, const char *const *lines, size_t count)
{
	struct bytes text = {0};

	for (size_t i = 0; i < count; i++)
		bytes_print(&text, "%s%s", i ? "\n" : "", lines[i]);
	pango_layout_set_text(layout, text.size ? text.data : "", (int)text.size);
	bytes_free(&text);
}

static enum status draw(const char *const *lines, size_t count, double width, double height, struct bytes *pdf,
			struct err *err)
{
	PangoFontMap *map;
	PangoLayout *layout;
	cairo_surface_t *surface;
	cairo_t *cr;
	enum status rc = fonts_get(&map, err);

	if (rc)
		return rc;
	if (width <= 2 * PAD || height <= 2 * PAD)
		return err_set(err, INVALID, "/lines", "the signature's text does not fit into its field");
	layout = open_layout(map, width - 2 * PAD);
	set_text(layout, lines, count);
	rc = fit(layout, height - 2 * PAD, err);
	if (!rc) {
		surface = cairo_pdf_surface_create_for_stream(take, pdf, width, height);
		cairo_pdf_surface_restrict_to_version(surface, CAIRO_PDF_VERSION_1_5);
		cr = cairo_create(surface);
		cairo_move_to(cr, PAD, PAD);
		pango_cairo_show_layout(cr, layout);
		cairo_show_page(cr);
		cairo_destroy(cr);
		cairo_surface_finish(surface);
		if (cairo_surface_status(surface))
			rc = err_set(err, FAILED, "", "the signature's text could not be drawn: %s",
				     cairo_status_to_string(cairo_surface_status(surface)));
		cairo_surface_destroy(surface);
	}
	g_object_unref(layout);
	return rc;
}

uint32_t appended_begin(struct appended *a)
{
	size_t at = a->next - a->first;

	if (at >= sizeof a->offset / sizeof *a->offset) {
		a->out->failed = true;
		return a->next;
	}
	a->offset[at] = a->base + a->out->size;
	bytes_print(a->out, "%u 0 obj\n", a->next);
	return a->next++;
}

/* New numbers for the objects of the small file, in the order in which they are met. */
struct numbers {
	struct pdf_file *f;
	uint32_t *to; /* by old number; 0: not met yet */
	uint32_t *queue;
	size_t met, done;
	uint32_t next;
};

static uint32_t number_for(struct numbers *n, int64_t old)
{
	if (old < 1 || old >= n->f->revision[0].size)
		return 0;
	if (!n->to[old]) {
		n->to[old] = n->next++;
		n->queue[n->met++] = (uint32_t)old;
	}
	return n->to[old];
}

/* Copies a value's text, its references changed. */
static void copy_value(struct numbers *n, const struct pdf_value *v, struct bytes *out)
{
	size_t at = v->begin;

	if (v->kind == PDF_REF) {
		bytes_print(out, "%u 0 R", number_for(n, v->number));
		return;
	}
	for (const struct pdf_value *i = v->first; i; i = i->next) {
		bytes_add(out, n->f->bytes + at, i->begin - at);
		copy_value(n, i, out);
		at = i->end;
	}
	bytes_add(out, n->f->bytes + at, v->end - at);
}

static void copy_stream(const struct pdf_file *f, const struct pdf_object *o, struct bytes *out)
{
	bytes_print(out, "\nstream\n");
	bytes_add(out, f->bytes + o->data, o->data_size);
	bytes_print(out, "\nendstream");
}

static bool copy_reached(struct numbers *n, struct appended *a)
{
	while (n->done < n->met) {
		struct pdf_object *o = pdf_object(n->f, 0, n->queue[n->done++]);

		if (!o)
			return false;
		appended_begin(a);
		copy_value(n, o->value, a->out);
		if (o->is_stream)
			copy_stream(n->f, o, a->out);
		bytes_print(a->out, "\nendobj\n");
	}
	return true;
}

static bool copy_form(struct pdf_file *f, double width, double height, struct appended *a, uint32_t *form)
{
	struct numbers n = {.f = f};
	const struct pdf_value *root = pdf_resolve(f, 0, pdf_get(f, f->revision[0].trailer, "/Root"));
	const struct pdf_value *kids = pdf_get(f, pdf_resolve(f, 0, pdf_get(f, root, "/Pages")), "/Kids");
	const struct pdf_value *page = kids ? pdf_resolve(f, 0, kids->first) : NULL;
	const struct pdf_value *resources = pdf_resolve(f, 0, pdf_get(f, page, "/Resources"));
	const struct pdf_value *contents = pdf_get(f, page, "/Contents"), *filter;
	struct pdf_object *content;

	content = contents && contents->kind == PDF_REF ? pdf_object(f, 0, contents->number) : NULL;
	n.to = arena_alloc(&f->arena, f->revision[0].size * sizeof *n.to);
	n.queue = arena_alloc(&f->arena, f->revision[0].size * sizeof *n.queue);
	if (!content || !content->is_stream || !resources || !n.to || !n.queue)
		return false;
	*form = appended_begin(a);
	n.next = a->next;
	bytes_print(a->out, "<< /Type /XObject /Subtype /Form /BBox [ 0 0 %.3f %.3f ] /Resources ", width, height);
	copy_value(&n, resources, a->out);
	filter = pdf_get(f, content->value, "/Filter");
	if (filter) {
		bytes_print(a->out, " /Filter ");
		copy_value(&n, filter, a->out);
	}
	bytes_print(a->out, " /Length %zu >>", content->data_size);
	copy_stream(f, content, a->out);
	bytes_print(a->out, "\nendobj\n");
	return copy_reached(&n, a);
}

/* Through libqpdf once, so that it has the plain form our reader knows whatever cairo writes. */
static enum status plain(const struct bytes *drawn, char **out, size_t *size, struct err *err)
{
	qpdf_data q = NULL;
	enum status rc = seal_qpdf_open(drawn->data, drawn->size, &q, err);

	if (rc)
		return rc;
	seal_qpdf_mend_fonts(q);
	rc = seal_qpdf_write(q, out, size, err);
	qpdf_cleanup(&q);
	return rc;
}

enum status seal_appearance(const char *const *lines, size_t count, double width, double height, struct appended *a,
			    uint32_t *form, struct err *err)
{
	struct bytes drawn = {0};
	struct pdf_file f = {0};
	char *pdf = NULL;
	size_t size = 0;
	enum status rc = draw(lines, count, width, height, &drawn, err);

	if (!rc)
		rc = plain(&drawn, &pdf, &size, err);
	bytes_free(&drawn);
	if (rc)
		return rc;
	if (!pdf_open(&f, pdf, size) || !copy_form(&f, width, height, a, form))
		rc = err_set(err, FAILED, "", "the signature's text could not be put into the PDF");
	pdf_close(&f);
	free(pdf);
	return rc;
}
