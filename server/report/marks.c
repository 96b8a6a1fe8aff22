#include "marks.h"

#include <math.h>
#include <qrencode.h>
#include <stdlib.h>
#include <string.h>

void mark_reading(struct page *p, double x, double y, double size, enum direction direction, enum run_kind kind)
{
	double half = size * 0.58, up = direction == RISING ? 1 : -1;

	if (page_measuring(p))
		return;
	cairo_move_to(p->cr, x, y - up * size * 0.6);
	cairo_line_to(p->cr, x + half, y + up * size * 0.4);
	cairo_line_to(p->cr, x - half, y + up * size * 0.4);
	cairo_close_path(p->cr);
	page_ink(p, kind == RUN_AS_FOUND ? INK_PAPER : INK_TEXT);
	cairo_fill_preserve(p->cr);
	page_ink(p, INK_TEXT);
	cairo_set_line_width(p->cr, 0.7);
	cairo_stroke(p->cr);
}

void mark_ring(struct page *p, double x, double y, double radius)
{
	if (page_measuring(p))
		return;
	page_ink(p, INK_BAD);
	cairo_set_line_width(p->cr, 0.9);
	cairo_new_sub_path(p->cr);
	cairo_arc(p->cr, x, y, radius, 0, 2 * M_PI);
	cairo_stroke(p->cr);
}

enum ink verdict_ink(enum verdict verdict)
{
	switch (verdict) {
	case VERDICT_PASS:
		return INK_OK;
	case VERDICT_CONDITIONAL_PASS:
	case VERDICT_CONDITIONAL_FAIL:
		return INK_CONDITIONAL;
	case VERDICT_FAIL:
		return INK_BAD;
	case VERDICT_NOT_JUDGED:
		break;
	}
	return INK_MUTED;
}

static void tick(cairo_t *cr, double x, double y, double r)
{
	cairo_move_to(cr, x - 0.95 * r, y + 0.05 * r);
	cairo_line_to(cr, x - 0.25 * r, y + 0.75 * r);
	cairo_line_to(cr, x + 0.95 * r, y - 0.8 * r);
	cairo_stroke(cr);
}

static void ring(cairo_t *cr, double x, double y, double r)
{
	cairo_new_sub_path(cr);
	cairo_arc(cr, x, y, r, 0, 2 * M_PI);
	cairo_stroke(cr);
}

/* The filled half is below for a conditional pass, above for a conditional fail: distinct in black and white. */
static void half_ring(cairo_t *cr, double x, double y, double r, bool below)
{
	ring(cr, x, y, r);
	cairo_new_sub_path(cr);
	cairo_arc(cr, x, y, r, below ? 0 : M_PI, below ? M_PI : 2 * M_PI);
	cairo_fill(cr);
}

static void cross(cairo_t *cr, double x, double y, double r)
{
	double d = r * 0.5;

	ring(cr, x, y, r);
	cairo_move_to(cr, x - d, y - d);
	cairo_line_to(cr, x + d, y + d);
	cairo_move_to(cr, x + d, y - d);
	cairo_line_to(cr, x - d, y + d);
	cairo_stroke(cr);
}

void mark_verdict(struct page *p, double x, double y, double size, enum verdict verdict)
{
	double r = size / 2;

	if (page_measuring(p))
		return;
	page_ink(p, verdict_ink(verdict));
	cairo_set_line_width(p->cr, size * 0.14);
	switch (verdict) {
	case VERDICT_PASS:
		tick(p->cr, x, y, r);
		break;
	case VERDICT_CONDITIONAL_PASS:
	case VERDICT_CONDITIONAL_FAIL:
		half_ring(p->cr, x, y, r, verdict == VERDICT_CONDITIONAL_PASS);
		break;
	case VERDICT_FAIL:
		cross(p->cr, x, y, r);
		break;
	case VERDICT_NOT_JUDGED:
		cairo_move_to(p->cr, x - 0.6 * r, y);
		cairo_line_to(p->cr, x + 0.6 * r, y);
		cairo_stroke(p->cr);
		break;
	}
}

/* One path for the whole symbol, dark runs joined along each row: separate squares would show hairlines between them. */
static void draw_code(cairo_t *cr, const QRcode *code, double module)
{
	for (int row = 0; row < code->width; row++)
		for (int from = 0, to; from < code->width; from = to + 1) {
			const unsigned char *dots = code->data + row * code->width;

			for (to = from; to < code->width && dots[to] & 1; to++)
				;
			if (to > from)
				cairo_rectangle(cr, from * module, row * module, (to - from) * module, module);
		}
	cairo_fill(cr);
}

/* The symbol as a drawing of its own, which stands in the file once however many pages show it; NULL when text is too long. */
static cairo_surface_t *new_code(const char *text, double size)
{
	const cairo_rectangle_t extents = {0, 0, size, size};
	QRcode *code = QRcode_encodeString(text, 0, QR_ECLEVEL_M, QR_MODE_8, 1);
	cairo_surface_t *surface;
	cairo_t *cr;

	if (!code)
		return NULL;
	surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, &extents);
	cr = cairo_create(surface);
	page_ink_of(cr, INK_TEXT);
	draw_code(cr, code, size / code->width);
	cairo_destroy(cr);
	QRcode_free(code);
	return surface;
}

/* False when the text is too long, or without memory. */
static bool take_code(struct page *p, const char *text, double size)
{
	if (p->code && strcmp(p->code_text, text) == 0 && size >= p->code_size && size <= p->code_size)
		return true;
	cairo_surface_destroy(p->code);
	free(p->code_text);
	p->code_text = strdup(text);
	p->code_size = size;
	p->code = p->code_text ? new_code(text, size) : NULL;
	return p->code;
}

int mark_qr_modules(const char *text)
{
	QRcode *code = QRcode_encodeString(text, 0, QR_ECLEVEL_M, QR_MODE_8, 1);
	int modules = code ? code->width : 0;

	QRcode_free(code);
	return modules;
}

void mark_qr(struct page *p, double x, double y, double size, const char *text)
{
	if (page_measuring(p) || p->rc)
		return;
	if (!take_code(p, text, size)) {
		p->rc = err_set(p->err, INVALID, "", "the verification address is too long for a QR code");
		return;
	}
	cairo_save(p->cr);
	cairo_set_source_surface(p->cr, p->code, x, y);
	cairo_rectangle(p->cr, x, y, size, size);
	cairo_fill(p->cr);
	cairo_restore(p->cr);
}
