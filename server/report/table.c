/*
 * Column widths come from what stands in them, so nothing overlaps whatever the unit: first the natural width of each,
 * then what is left over is shared out between them; when there is too little the type is made smaller in steps.
 */
#include "table.h"

#include <stdio.h>
#include <string.h>
#include "marks.h"

#define GAP	   7.0 /* least space between columns, points */
#define SIZE_MOST  7.4
#define SIZE_STEP  0.3
#define SIZE_STEPS 10
#define ROW_HEIGHT 11.4
#define CYCLE_GAP  4.0
#define HEAD_SPACE 3.0
#define RULE	   0.6
#define MARK	   6.0

struct layout {
	double size;	       /* of the type */
	double line;	       /* height of a line of it */
	double x[COLUMNS_MAX]; /* left edge */
	double width[COLUMNS_MAX];
	double point[COLUMNS_MAX]; /* decimal point, from the left edge */
};

static struct style style_of(double size, bool bold, enum ink ink)
{
	return (struct style){size, bold, ink};
}

static double greater(double a, double b)
{
	return a > b ? a : b;
}

/* Widest before and after the decimal point; a word counts as all before it. */
static void measure_cells(struct page *p, const struct column *c, size_t index, const struct row *rows, size_t n_rows,
			  double size, double *before, double *after)
{
	struct style text = style_of(size, c->kind == COLUMN_VERDICT, INK_TEXT);
	struct figures figures;

	*before = c->kind == COLUMN_READING ? MARK : 0;
	*after = 0;
	if (c->kind == COLUMN_NUMBER)
		page_figures(p, &text, &figures);
	for (size_t i = 0; i < n_rows && c->kind != COLUMN_READING; i++) {
		const char *cell = rows[i].cell[index];
		double b, a = 0;

		if (i > 0 && strcmp(cell, rows[i - 1].cell[index]) == 0)
			continue;
		if (c->kind == COLUMN_NUMBER)
			page_number_width(&figures, cell, &b, &a);
		else
			b = page_text_width(p, &text, cell) + (c->kind == COLUMN_VERDICT ? MARK + 4 : 0);
		*before = greater(*before, b);
		*after = greater(*after, a);
	}
}

/* Natural width of one column at this size; its figures stand at its right, under the right end of its head. */
static void measure(struct page *p, const struct column *c, size_t index, const struct row *rows, size_t n_rows,
		    struct layout *l)
{
	struct style head = style_of(l->size, false, INK_MUTED);
	double before, after;

	measure_cells(p, c, index, rows, n_rows, l->size, &before, &after);
	l->width[index] = greater(before + after,
				  greater(page_text_width(p, &head, c->head), page_text_width(p, &head, c->unit)));
	l->point[index] = l->width[index] - after;
}

static void lay_out(struct page *p, const struct column *columns, size_t n, const struct row *rows, size_t n_rows,
		    struct layout *l)
{
	double room = p->right - p->left, sum = 0, share;

	for (int step = 0; step < SIZE_STEPS; step++) {
		l->size = SIZE_MOST - step * SIZE_STEP;
		sum = 0;
		for (size_t c = 0; c < n; c++) {
			measure(p, &columns[c], c, rows, n_rows, l);
			sum += l->width[c];
		}
		if (sum + GAP * (double)(n - 1) <= room)
			break;
	}
	l->line = page_line_height(p, &(struct style){l->size, false, INK_TEXT});
	share = n > 1 ? (room - sum) / (double)(n - 1) : 0;
	l->x[0] = p->left;
	for (size_t c = 1; c < n; c++)
		l->x[c] = l->x[c - 1] + l->width[c - 1] + share;
}

static double head_lines(struct page *p)
{
	return 2 * page_line_height(p, &STYLE_TEXT) + 2 * HEAD_SPACE;
}

static void set_title(struct page *p, const char *title, bool continued)
{
	char text[160];

	snprintf(text, sizeof text, "%s%s", title, continued ? " (continued)" : "");
	page_text_as(p, "H2", p->left, p->y, p->right - p->left, ALIGN_LEFT, &STYLE_HEADING, text);
	p->y += page_line_height(p, &STYLE_HEADING) + 3;
}

static void set_head(struct page *p, const struct column *columns, size_t n, const struct layout *l)
{
	struct style name = style_of(l->size, false, INK_TEXT), unit = style_of(l->size, false, INK_MUTED);
	double line = page_line_height(p, &STYLE_TEXT), space = page_measuring(p) ? 0 : page_text_width(p, &name, " ");
	char head[CELL_SIZE];

	page_tag(p, "TR");
	page_rule(p, p->left, p->y, p->right - p->left, RULE);
	p->y += HEAD_SPACE;
	for (size_t c = 0; c < n && !page_measuring(p); c++) {
		enum align align = columns[c].kind == COLUMN_NUMBER ? ALIGN_RIGHT : ALIGN_LEFT;
		double slack = 2; /* the width was measured unwrapped: rounding must not wrap it now */
		double x = align == ALIGN_RIGHT ? l->x[c] - slack : l->x[c];

		/* the space parts name and unit for who hears them; it stands outside the column */
		snprintf(head, sizeof head, "%s%s", columns[c].head, *columns[c].head ? " " : "");
		page_tag(p, "TH");
		page_text(p, x, p->y, l->width[c] + slack + space, align, &name, head);
		page_text(p, x, p->y + line, l->width[c] + slack, align, &unit, columns[c].unit);
		page_untag(p, "TH");
	}
	page_untag(p, "TR");
	p->y += 2 * line + HEAD_SPACE;
	page_rule(p, p->left, p->y, p->right - p->left, RULE / 2);
	p->y += HEAD_SPACE - 1;
}

/* A character, not a drawing, so that the direction is there for who copies the table or has it read out. */
static const char *reading_sign(const struct row *row)
{
	static const char *const sign[2][2] = {{"\u25b3", "\u25bd"}, {"\u25b2", "\u25bc"}};

	return sign[row->kind == RUN_AS_LEFT][row->direction == FALLING];
}

static void set_row(struct page *p, const struct column *columns, size_t n, const struct row *row,
		    const struct layout *l)
{
	struct style text = style_of(l->size, false, INK_TEXT);
	double y = p->y + (ROW_HEIGHT - l->line) / 2, middle = p->y + ROW_HEIGHT / 2;

	p->y += ROW_HEIGHT;
	if (page_measuring(p))
		return;
	page_tag(p, "TR");
	for (size_t c = 0; c < n; c++) {
		/* a word in front names the row */
		const char *tag = c == 0 && columns[c].kind == COLUMN_WORD ? "TH" : "TD";

		page_tag(p, tag);
		switch (columns[c].kind) {
		case COLUMN_NUMBER:
			page_number(p, l->x[c] + l->point[c], y, &text, row->cell[c]);
			break;
		case COLUMN_WORD:
			page_text(p, l->x[c], y, l->width[c] + GAP / 2, ALIGN_LEFT, &text, row->cell[c]);
			break;
		case COLUMN_READING:
			page_text(p, l->x[c], y, 0, ALIGN_LEFT, &text, reading_sign(row));
			break;
		case COLUMN_VERDICT:
			mark_verdict(p, l->x[c] + MARK / 2, middle, MARK, row->verdict);
			text.bold = row->verdict == VERDICT_FAIL;
			text.ink = row->verdict == VERDICT_PASS ? INK_TEXT : verdict_ink(row->verdict);
			page_text(p, l->x[c] + MARK + 4, y, l->width[c], ALIGN_LEFT, &text, row->cell[c]);
			break;
		}
		page_untag(p, tag);
	}
	page_untag(p, "TR");
}

double table_height(struct page *p, size_t n_rows)
{
	return page_line_height(p, &STYLE_HEADING) + 3 + head_lines(p) + HEAD_SPACE + (double)n_rows * ROW_HEIGHT + 2;
}

static void set_foot(struct page *p)
{
	p->y += 1;
	page_rule(p, p->left, p->y, p->right - p->left, RULE);
	p->y += 1;
}

void table_set(struct page *p, const char *title, const struct column *columns, size_t n_columns,
	       const struct row *rows, size_t n_rows)
{
	struct layout l = {0};

	if (!page_measuring(p)) /* heights do not depend on it */
		lay_out(p, columns, n_columns, rows, n_rows, &l);
	page_need(p, table_height(p, n_rows < 4 ? n_rows : 4));
	set_title(p, title, false);
	page_tag(p, "Table");
	set_head(p, columns, n_columns, &l);
	for (size_t i = 0; i < n_rows; i++) {
		/* the last row takes the one before it along: no page holds a single row */
		double height = ROW_HEIGHT * (i + 2 == n_rows ? 2 : 1) + (rows[i].gap ? CYCLE_GAP : 0) + 2;

		if (!page_fits(p, height)) {
			set_foot(p);
			page_break(p);
			p->outside = true;
			set_title(p, title, true);
			set_head(p, columns, n_columns, &l);
			p->outside = false;
		} else if (rows[i].gap) {
			p->y += CYCLE_GAP;
		}
		set_row(p, columns, n_columns, &rows[i], &l);
	}
	page_untag(p, "Table");
	set_foot(p);
}
