#include "bare_page.h"

#include <cairo-pdf.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH  595.276
#define HEIGHT 841.89
#define LEFT   57.0

struct out {
	char *bytes;
	size_t size, room;
};

struct sheet {
	cairo_t *cr;
	PangoLayout *layout;
};

static cairo_status_t take(void *closure, const unsigned char *data, unsigned int length)
{
	struct out *o = closure;

	if (o->size + length > o->room) {
		o->room = 2 * (o->room + length);
		o->bytes = realloc(o->bytes, o->room);
		if (!o->bytes)
			return CAIRO_STATUS_NO_MEMORY;
	}
	memcpy(o->bytes + o->size, data, length);
	o->size += length;
	return CAIRO_STATUS_SUCCESS;
}

static void set(struct sheet *s, double x, double y, double width, double size, const char *text)
{
	PangoFontDescription *font = pango_font_description_from_string("DejaVu Sans");

	pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
	pango_layout_set_font_description(s->layout, font);
	pango_font_description_free(font);
	pango_layout_set_width(s->layout, width > 0 ? (int)(width * PANGO_SCALE) : -1);
	pango_layout_set_text(s->layout, text, -1);
	cairo_move_to(s->cr, x, y);
	pango_cairo_show_layout(s->cr, s->layout);
}

/* 60 lines of the length of those on the front page, in two columns. */
static void front(struct sheet *s, const struct record *r)
{
	char text[200];

	set(s, LEFT, 60, 0, 21, "Calibration certificate");
	for (int i = 0; i < 60; i++) {
		double x = i % 2 ? 310 : LEFT, y = 100 + i / 2 * 20;

		snprintf(text, sizeof text, "%s of line %d", r->instrument.tag, i);
		set(s, x, y, 0, 7.6, text);
		snprintf(text, sizeof text, "%s, %s, %s", r->instrument.service, r->instrument.location,
			 r->instrument.kind);
		set(s, x + 90, y, 160, 7.6, text);
	}
}

static void rule(struct sheet *s, double x, double y, double to_x, double to_y)
{
	cairo_set_line_width(s->cr, 0.5);
	cairo_move_to(s->cr, x, y);
	cairo_line_to(s->cr, to_x, to_y);
	cairo_stroke(s->cr);
}

static void table(struct sheet *s, const struct record *r, const struct record_run *run, double y)
{
	char cell[40];

	rule(s, LEFT, y, WIDTH - LEFT, y);
	for (size_t i = 0; i < run->n_points; i++, y += 11.4)
		for (int c = 0; c < 11; c++) {
			snprintf(cell, sizeof cell, "%.*f", r->output_decimals + 1,
				 run->points[i].reading.observed + 0.37 * c);
			set(s, LEFT + 44 * c, y + 2, 0, 7.4, cell);
		}
	rule(s, LEFT, y, WIDTH - LEFT, y);
}

static void chart(struct sheet *s, const struct record *r, double top)
{
	for (int i = 0; i < 100; i++)
		rule(s, LEFT + 4 * i, top, LEFT + 4 * i + 60, top + 150);
	for (size_t k = 0; k < r->n_runs; k++)
		for (size_t i = 0; i < r->runs[k].n_points; i++) {
			cairo_arc(s->cr, LEFT + 40 * (double)i, top + 75 + 20 * r->runs[k].points[i].judged.error, 3, 0,
				  6.3);
			cairo_stroke(s->cr);
		}
	for (int i = 0; i < 16; i++)
		set(s, LEFT + 26 * i, top + 154, 0, 6.8, "12.34");
}

char *bare_page(const struct record *r)
{
	struct out out = {0};
	cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(take, &out, WIDTH, HEIGHT);
	struct sheet s = {.cr = cairo_create(surface)};

	s.layout = pango_cairo_create_layout(s.cr);
	front(&s, r);
	cairo_show_page(s.cr);
	for (size_t k = 0; k < r->n_runs; k++)
		table(&s, r, &r->runs[k], 60 + 160 * (double)k);
	chart(&s, r, 400);
	cairo_show_page(s.cr);
	g_object_unref(s.layout);
	cairo_destroy(s.cr);
	cairo_surface_finish(surface);
	cairo_surface_destroy(surface);
	return out.bytes;
}
