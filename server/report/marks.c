#include "marks.h"

#include <math.h>
#include <qrencode.h>

void mark_reading(struct page *p, double x, double y, double size, enum direction direction, enum run_kind kind)
{
	double half = size * 0.58, up = direction == RISING ? 1 : -1;

	if (page_measuring(p))
		return;
	sheet_move(p->sheet, x, y - up * size * 0.6);
	sheet_line(p->sheet, x + half, y + up * size * 0.4);
	sheet_line(p->sheet, x - half, y + up * size * 0.4);
	sheet_join_ends(p->sheet);
	page_ink(p, kind == RUN_AS_FOUND ? INK_PAPER : INK_TEXT);
	sheet_fill_keep(p->sheet);
	page_ink(p, INK_TEXT);
	sheet_width(p->sheet, 0.7);
	sheet_stroke(p->sheet);
}

void mark_ring(struct page *p, double x, double y, double radius)
{
	if (page_measuring(p))
		return;
	page_ink(p, INK_BAD);
	sheet_width(p->sheet, 0.9);
	sheet_arc(p->sheet, x, y, radius, 0, 2 * M_PI);
	sheet_stroke(p->sheet);
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

static void tick(struct sheet *sheet, double x, double y, double r)
{
	sheet_move(sheet, x - 0.95 * r, y + 0.05 * r);
	sheet_line(sheet, x - 0.25 * r, y + 0.75 * r);
	sheet_line(sheet, x + 0.95 * r, y - 0.8 * r);
	sheet_stroke(sheet);
}

static void ring(struct sheet *sheet, double x, double y, double r)
{
	sheet_arc(sheet, x, y, r, 0, 2 * M_PI);
	sheet_stroke(sheet);
}

/* The filled half is below for a conditional pass, above for a conditional fail: distinct in black and white. */
static void half_ring(struct sheet *sheet, double x, double y, double r, bool below)
{
	ring(sheet, x, y, r);
	sheet_arc(sheet, x, y, r, below ? 0 : M_PI, below ? M_PI : 2 * M_PI);
	sheet_fill(sheet);
}

static void cross(struct sheet *sheet, double x, double y, double r)
{
	double d = r * 0.5;

	ring(sheet, x, y, r);
	sheet_move(sheet, x - d, y - d);
	sheet_line(sheet, x + d, y + d);
	sheet_move(sheet, x + d, y - d);
	sheet_line(sheet, x - d, y + d);
	sheet_stroke(sheet);
}

void mark_verdict(struct page *p, double x, double y, double size, enum verdict verdict)
{
	double r = size / 2;

	if (page_measuring(p))
		return;
	page_ink(p, verdict_ink(verdict));
	sheet_width(p->sheet, size * 0.14);
	switch (verdict) {
	case VERDICT_PASS:
		tick(p->sheet, x, y, r);
		break;
	case VERDICT_CONDITIONAL_PASS:
	case VERDICT_CONDITIONAL_FAIL:
		half_ring(p->sheet, x, y, r, verdict == VERDICT_CONDITIONAL_PASS);
		break;
	case VERDICT_FAIL:
		cross(p->sheet, x, y, r);
		break;
	case VERDICT_NOT_JUDGED:
		sheet_move(p->sheet, x - 0.6 * r, y);
		sheet_line(p->sheet, x + 0.6 * r, y);
		sheet_stroke(p->sheet);
		break;
	}
}

/* One path for the whole symbol, dark runs joined along each row: separate squares would show hairlines between them. */
void mark_qr(struct page *p, double x, double y, double size, const char *text)
{
	QRcode *code;
	double module;

	if (page_measuring(p))
		return;
	code = QRcode_encodeString(text, 0, QR_ECLEVEL_M, QR_MODE_8, 1);
	if (!code) {
		p->rc = err_set(p->err, INVALID, "", "the verification address is too long for a QR code");
		return;
	}
	module = size / code->width;
	for (int row = 0; row < code->width; row++)
		for (int from = 0, to; from < code->width; from = to + 1) {
			const unsigned char *dots = code->data + row * code->width;

			for (to = from; to < code->width && dots[to] & 1; to++)
				;
			if (to > from)
				sheet_rectangle(p->sheet, x + from * module, y + row * module, (to - from) * module,
						module);
		}
	page_ink(p, INK_TEXT);
	sheet_fill(p->sheet);
	QRcode_free(code);
}
