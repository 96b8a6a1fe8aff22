/*
 * A switch reads from left to right along its input, one line an actuation: a triangle points the way the input went where it
 * acted, another the way back where it went back, and between them lies the dead band. The limits of the set point are hatched,
 * where the dead band lets it go back is dotted; as found is hollow, as left filled, what is outside is ringed.
 */
#include "chart.h"

#include <math.h>
#include "marks.h"
#include "metrology/format.h"

#define LEFT_SPACE   62.0 /* names of the runs and numbers of the actuations */
#define RIGHT_SPACE  12.0 /* half of the last number of the axis */
#define ROW	     13.0
#define BLOCK_GAP    6.0
#define NAME_SPACE   12.0 /* words over the set point */
#define BOTTOM_SPACE 27.0
#define HATCH_STEP   5.0
#define SIDE	     3.4
#define RING	     4.6

struct plot {
	struct page *p;
	const struct record *r;
	struct words *w;
	double left, right, top, bottom;
	double low, high; /* input */
};

static double x_of(const struct plot *c, double input)
{
	return c->left + (input - c->low) / (c->high - c->low) * (c->right - c->left);
}

static void take_in(struct plot *c, double input)
{
	if (!isfinite(input))
		return;
	c->low = fmin(c->low, input);
	c->high = fmax(c->high, input);
}

/* Where it may go back by its dead band; NaN with a reset point, without the way back, and on a side without limit. */
static struct limits allowed_reset(const struct plot *c, const struct record_switch *s, double set)
{
	static const struct limits none = {NAN, NAN};

	return s->reads_reset && isnan(s->spec.reset_point) ? step_allowed_reset(&c->r->instrument.switch_points, set) :
							      none;
}

static void scale(struct plot *c)
{
	double air;

	c->low = c->high = c->r->instrument.switch_points.set;
	for (size_t k = 0; k < c->r->n_runs; k++) {
		const struct record_switch *s = c->r->runs[k].switched;
		struct limits l = s->sum.limits, reset = s->sum.reset_limits;

		take_in(c, s->spec.set_point + l.low);
		take_in(c, s->spec.set_point + l.high);
		take_in(c, s->spec.reset_point + reset.low);
		take_in(c, s->spec.reset_point + reset.high);
		for (size_t i = 0; i < s->n; i++) {
			struct limits allowed = allowed_reset(c, s, s->actuations[i].set);

			take_in(c, s->actuations[i].set);
			take_in(c, s->actuations[i].reset);
			take_in(c, allowed.low);
			take_in(c, allowed.high);
		}
	}
	air = (c->high > c->low ? c->high - c->low : fabs(range_span(c->r->instrument.input))) * 0.07;
	c->low -= air;
	c->high += air;
}

static void stroke(const struct plot *c, enum ink ink, double width, double x1, double y1, double x2, double y2)
{
	cairo_t *cr = c->p->cr;

	page_ink(c->p, ink);
	cairo_set_line_width(cr, width);
	cairo_move_to(cr, x1, y1);
	cairo_line_to(cr, x2, y2);
	cairo_stroke(cr);
}

static void hatch(const struct plot *c, double from, double to, double y, double height)
{
	cairo_t *cr = c->p->cr;

	if (!isfinite(from) || !isfinite(to) || !(to > from))
		return;
	cairo_save(cr);
	cairo_rectangle(cr, from, y, to - from, height);
	cairo_clip(cr);
	page_ink(c->p, INK_HATCH);
	cairo_set_line_width(cr, 0.4);
	for (int i = 0; i <= (int)((to - from + height) / HATCH_STEP); i++) {
		double x = from - height + i * HATCH_STEP;

		cairo_move_to(cr, x, y + height);
		cairo_line_to(cr, x + height, y);
	}
	cairo_stroke(cr);
	cairo_restore(cr);
}

static void dotted(const struct plot *c, struct limits l, double y)
{
	static const double dots[] = {0, 2.4};
	cairo_t *cr = c->p->cr;

	if (!isfinite(l.low) || !isfinite(l.high))
		return;
	cairo_save(cr);
	cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
	cairo_set_dash(cr, dots, 2, 0);
	stroke(c, INK_TEXT, 1, x_of(c, l.low), y, x_of(c, l.high), y);
	cairo_restore(cr);
}

/* way 1 points to the right. */
static void triangle(const struct plot *c, double x, double y, double way, enum run_kind kind)
{
	cairo_t *cr = c->p->cr;

	cairo_move_to(cr, x + way * SIDE, y);
	cairo_line_to(cr, x - way * SIDE * 0.8, y - SIDE);
	cairo_line_to(cr, x - way * SIDE * 0.8, y + SIDE);
	cairo_close_path(cr);
	page_ink(c->p, kind == RUN_AS_LEFT ? INK_TEXT : INK_PAPER);
	cairo_fill_preserve(cr);
	page_ink(c->p, INK_TEXT);
	cairo_set_line_width(cr, 0.7);
	cairo_stroke(cr);
}

static bool is_outside(enum verdict v)
{
	return v == VERDICT_FAIL || v == VERDICT_CONDITIONAL_FAIL;
}

static void actuation(const struct plot *c, const struct record_run *run, size_t i, double y)
{
	const struct record_switch *s = run->switched;
	const struct actuation *a = &s->actuations[i];
	const struct judged_actuation *j = &s->judged[i];
	double way = s->spec.acts_on == RISING ? 1 : -1, set = x_of(c, a->set), reset = x_of(c, a->reset);
	char number[NUMBER_TEXT_SIZE];

	page_text(c->p, c->left - 18, y - page_line_height(c->p, &STYLE_NOTE) / 2, 10, ALIGN_RIGHT, &STYLE_NOTE,
		  format_number((double)i + 1, 0, false, number));
	dotted(c, allowed_reset(c, s, a->set), y);
	if (isfinite(a->reset))
		stroke(c, INK_TEXT, run->kind == RUN_AS_FOUND ? 0.5 : 0.8, set, y, reset, y);
	if (is_outside(j->set_verdict))
		mark_ring(c->p, set, y, RING);
	if (isfinite(a->reset) && (is_outside(j->reset_verdict) || is_outside(j->dead_band_verdict)))
		mark_ring(c->p, reset, y, RING);
	triangle(c, set, y, way, run->kind);
	if (isfinite(a->reset))
		triangle(c, reset, y, -way, run->kind);
}

static void block(const struct plot *c, const struct record_run *run, double y)
{
	const struct record_switch *s = run->switched;
	double height = (double)s->n * ROW;

	hatch(c, x_of(c, s->spec.set_point + s->sum.limits.low), x_of(c, s->spec.set_point + s->sum.limits.high), y,
	      height);
	hatch(c, x_of(c, s->spec.reset_point + s->sum.reset_limits.low),
	      x_of(c, s->spec.reset_point + s->sum.reset_limits.high), y, height);
	page_text(c->p, c->p->left, y + (ROW - page_line_height(c->p, &STYLE_NOTE)) / 2, 0, ALIGN_LEFT,
		  &(struct style){STYLE_NOTE.size, true, INK_TEXT}, run->kind == RUN_AS_FOUND ? "as found" : "as left");
	for (size_t i = 0; i < s->n; i++)
		actuation(c, run, i, y + ((double)i + 0.5) * ROW);
}

static void named_point(const struct plot *c, const char *what, double input)
{
	char number[NUMBER_TEXT_SIZE];
	const char *text;
	double x = x_of(c, input), width;

	if (!isfinite(input))
		return;
	stroke(c, INK_TEXT, 0.35, x, c->top, x, c->bottom);
	text = words_say(c->w, "%s %s %s", what, words_number(input, 6, number), c->r->instrument.input_unit);
	width = page_text_width(c->p, &STYLE_NOTE, text);
	page_text(c->p, fmin(x - width / 2, c->p->right - width), c->top - page_line_height(c->p, &STYLE_NOTE) - 1, 0,
		  ALIGN_LEFT, &STYLE_NOTE, text);
}

static void axis(const struct plot *c)
{
	const struct frozen_instrument *i = &c->r->instrument;
	double step = chart_step(c->high - c->low, 8);
	int decimals = chart_step_decimals(step);

	stroke(c, INK_RULE, 0.5, c->left, c->bottom, c->right, c->bottom);
	for (long k = (long)ceil(c->low / step); (double)k * step <= c->high; k++) {
		char text[NUMBER_TEXT_SIZE];
		double x = x_of(c, (double)k * step);

		stroke(c, INK_RULE, 0.5, x, c->bottom, x, c->bottom + 3);
		page_text(c->p, x - 30, c->bottom + 4, 60, ALIGN_CENTRE, &STYLE_NOTE,
			  format_number((double)k * step, decimals, false, text));
	}
	page_text(c->p, c->left, c->bottom + 14, c->right - c->left, ALIGN_CENTRE, &STYLE_NOTE,
		  words_say(c->w, "Input: %s, %s", i->input_quantity, i->input_unit));
}

static void title(const struct plot *c)
{
	static const char words[] = "Where it acted and went back";
	const struct switch_points *s = &c->r->instrument.switch_points;
	bool may = c->r->runs[0].switched->reads_reset && isnan(s->reset) && isfinite(s->dead_band.low) &&
		   isfinite(s->dead_band.high);
	double h = page_line_height(c->p, &STYLE_NOTE);

	page_text_as(c->p, "H2", c->p->left, c->p->y, 0, ALIGN_LEFT, &STYLE_HEADING, words);
	page_tag(c->p, "Figure"); /* until chart_switch_set ends it */
	page_text(c->p, c->p->left + page_text_width(c->p, &STYLE_HEADING, words) + 14,
		  c->p->y + page_line_height(c->p, &STYLE_HEADING) - h - 0.6, 0, ALIGN_LEFT, &STYLE_NOTE,
		  words_say(c->w, "limits hatched%s%s", may ? ", where it may go back dotted" : "",
			    c->r->n_runs > 1 ? "; hollow as found, filled as left" : ""));
}

void chart_switch_set(struct page *p, const struct record *r, struct words *w)
{
	struct plot c = {.p = p, .r = r, .w = w};
	double head = page_line_height(p, &STYLE_HEADING) + 4 + NAME_SPACE, height = head + BOTTOM_SPACE, y;
	size_t stand = 0;

	for (size_t k = 0; k < r->n_runs; k++)
		if (r->runs[k].switched->n > 0) {
			height += (double)r->runs[k].switched->n * ROW + (stand > 0 ? BLOCK_GAP : 0);
			stand++;
		}
	page_need(p, height);
	if (page_measuring(p)) {
		p->y += height;
		return;
	}
	c.left = p->left + LEFT_SPACE;
	c.right = p->right - RIGHT_SPACE;
	c.top = p->y + head;
	c.bottom = p->y + height - BOTTOM_SPACE;
	scale(&c);
	title(&c);
	named_point(&c, "set point", r->instrument.switch_points.set);
	if (r->runs[0].switched->reads_reset)
		named_point(&c, "reset point", r->instrument.switch_points.reset);
	axis(&c);
	y = c.top;
	for (size_t k = 0; k < r->n_runs; k++)
		if (r->runs[k].switched->n > 0) {
			block(&c, &r->runs[k], y);
			y += (double)r->runs[k].switched->n * ROW + BLOCK_GAP;
		}
	page_untag(p, "Figure");
	p->y += height;
}
