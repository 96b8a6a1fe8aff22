/*
 * How it reads without colour: the tolerance is a hatched band without outline (as found and as left leaning opposite ways
 * where they differ), the guard band's edge is dotted, zero a hairline. A reading is a triangle that points the way the
 * input went, hollow as found, filled as left, joined in order so that hysteresis shows as a loop; a failing one is ringed
 * with its error beside it. Words at the right edge name lines and limits, so there is no legend to look up.
 */
#include "chart.h"

#include <math.h>
#include "marks.h"
#include "metrology/format.h"

#define LEFT_SPACE   34.0 /* figures of the y axis */
#define RIGHT_SPACE  84.0 /* words at the right edge, at least */
#define LABEL_SPACE  10.0 /* from the plot to them */
#define BOTTOM_SPACE 25.0
#define HATCH_STEP   5.0
#define BAND_STEPS   60
#define MARK	     4.6
#define RING	     4.6
#define VALUE_SPACE  14.0 /* above and below the outermost reading */
#define LABELS_MAX   12
#define BOXES_MAX    (2 * READINGS_MAX + 64)

struct box {
	double x, y, width, height;
};

struct label {
	double at, y; /* where it belongs, where there is room */
	const char *text;
	bool strong;
};

struct plot {
	struct page *p;
	const struct record *r;
	struct words *w;
	double left, right, top, bottom;
	double fraction_low, fraction_high; /* of the input span */
	double low, high;		    /* error, % of span */
	struct label labels[LABELS_MAX];
	size_t n_labels;
	struct box boxes[BOXES_MAX]; /* what is taken: readings and the values written so far */
	size_t n_boxes;
};

static double reading_input(const struct record_point *q)
{
	return isnan(q->reading.applied) ? q->reading.set : q->reading.applied;
}

static bool drawable(const struct record_point *q)
{
	return q->read && isfinite(q->judged.error_percent) && isfinite(reading_input(q));
}

static double x_of(const struct plot *c, double input)
{
	double f = range_fraction(c->r->instrument.input, input);

	return c->left + (f - c->fraction_low) / (c->fraction_high - c->fraction_low) * (c->right - c->left);
}

static double y_of(const struct plot *c, double percent)
{
	return c->bottom - (percent - c->low) / (c->high - c->low) * (c->bottom - c->top);
}

static void take_in(struct plot *c, double percent)
{
	c->low = fmin(c->low, percent);
	c->high = fmax(c->high, percent);
}

/* The limits of the error at an input, in % of span. False where the characteristic says nothing. */
static bool limits_at(const struct record *r, const struct record_run *run, double input, struct limits *out)
{
	const struct frozen_instrument *i = &r->instrument;
	double span = fabs(range_span(i->output));
	struct limits l = {NAN, NAN};

	if (run->tolerance && run->tolerance->n_terms > 0)
		l = tolerance_limits(run->tolerance, i->output,
				     characteristic_forward(&i->characteristic, i->input, i->output, input));
	out->low = l.low / span * 100;
	out->high = l.high / span * 100;
	return isfinite(out->low) && isfinite(out->high);
}

static double step_input(const struct plot *c, int step)
{
	return range_at(c->r->instrument.input,
			c->fraction_low + (c->fraction_high - c->fraction_low) * step / BAND_STEPS);
}

static bool same_band(const struct record *r, struct words *w)
{
	return r->n_runs < 2 || !words_tolerances_differ(w, r->runs[0].tolerance, r->runs[1].tolerance);
}

/* The ranges of both axes from readings and limits, with a little air. */
static void scale_axes(struct plot *c)
{
	double air;

	c->fraction_low = 0;
	c->fraction_high = 1;
	for (size_t k = 0; k < c->r->n_runs; k++)
		for (size_t i = 0; i < c->r->runs[k].n_points; i++) {
			const struct record_point *q = &c->r->runs[k].points[i];
			double f = drawable(q) ? range_fraction(c->r->instrument.input, reading_input(q)) : 0;

			c->fraction_low = fmin(c->fraction_low, f);
			c->fraction_high = fmax(c->fraction_high, f);
			if (drawable(q))
				take_in(c, q->judged.error_percent);
		}
	air = (c->fraction_high - c->fraction_low) * 0.035;
	c->fraction_low -= air;
	c->fraction_high += air;
	for (size_t k = 0; k < c->r->n_runs; k++)
		for (int s = 0; s <= BAND_STEPS; s++) {
			struct limits l;

			if (!limits_at(c->r, &c->r->runs[k], step_input(c, s), &l))
				continue;
			take_in(c, l.low);
			take_in(c, l.high);
		}
	if (c->high - c->low < 1e-9) {
		c->low -= 1;
		c->high += 1;
	}
	/* room for a ring and the value written beyond it */
	air = (c->high - c->low) * VALUE_SPACE / (c->bottom - c->top - 2 * VALUE_SPACE);
	c->low -= air;
	c->high += air;
}

double chart_step(double range, int n)
{
	double raw = range / n, power = pow(10, floor(log10(raw))), lead = raw / power;

	return power * (lead < 1.5 ? 1 : lead < 3.5 ? 2 : lead < 7.5 ? 5 : 10);
}

int chart_step_decimals(double step)
{
	int decimals = 0;

	while (decimals < 9 && fabs(round_decimals(step, decimals) - step) > step * 1e-6)
		decimals++;
	return decimals;
}

static void axis_left(struct plot *c)
{
	struct page *p = c->p;
	double step = chart_step(c->high - c->low, 5), h = page_line_height(p, &STYLE_NOTE);
	int decimals = chart_step_decimals(step);

	for (long k = (long)ceil(c->low / step); (double)k * step <= c->high; k++) {
		char text[NUMBER_TEXT_SIZE];
		double at = (double)k * step, y = y_of(c, at);

		page_text(p, c->left - LEFT_SPACE, y - h / 2, LEFT_SPACE - 6, ALIGN_RIGHT, &STYLE_NOTE,
			  format_number(at, decimals, true, text));
		page_ink(p, INK_RULE);
		cairo_set_line_width(p->cr, 0.5);
		cairo_move_to(p->cr, c->left - 3, y);
		cairo_line_to(p->cr, c->left, y);
		cairo_stroke(p->cr);
	}
	page_ink(p, INK_TEXT);
	cairo_set_line_width(p->cr, 0.35);
	cairo_move_to(p->cr, c->left, y_of(c, 0));
	cairo_line_to(p->cr, c->right, y_of(c, 0));
	cairo_stroke(p->cr);
}

static void axis_bottom(struct plot *c)
{
	struct page *p = c->p;
	const struct frozen_instrument *i = &c->r->instrument;
	double step = chart_step(fabs(range_span(i->input)) * (c->fraction_high - c->fraction_low), 8),
	       a = step_input(c, 0), b = step_input(c, BAND_STEPS);
	int decimals = chart_step_decimals(step);

	page_ink(p, INK_RULE);
	cairo_set_line_width(p->cr, 0.5);
	cairo_move_to(p->cr, c->left, c->bottom);
	cairo_line_to(p->cr, c->right, c->bottom);
	cairo_stroke(p->cr);
	for (long k = (long)ceil(fmin(a, b) / step); (double)k * step <= fmax(a, b); k++) {
		char text[NUMBER_TEXT_SIZE];
		double at = (double)k * step, x = x_of(c, at);

		page_ink(p, INK_RULE);
		cairo_move_to(p->cr, x, c->bottom);
		cairo_line_to(p->cr, x, c->bottom + 3);
		cairo_stroke(p->cr);
		page_text(p, x - 30, c->bottom + 4, 60, ALIGN_CENTRE, &STYLE_NOTE,
			  format_number(at, decimals, false, text));
	}
	page_text(p, c->left, c->bottom + 14, c->right - c->left, ALIGN_CENTRE, &STYLE_NOTE,
		  words_say(c->w, "Input: %s, %s", i->input_quantity ? i->input_quantity : "applied", i->input_unit));
}

/* Diagonal hatching inside the band's outline, which itself is not drawn. */
static void hatch(struct plot *c, const struct record_run *run, bool leaning_left)
{
	cairo_t *cr = c->p->cr;
	double height = c->bottom - c->top;
	struct limits l;
	bool begun = false;

	cairo_save(cr);
	for (int s = 0; s <= BAND_STEPS; s++)
		if (limits_at(c->r, run, step_input(c, s), &l)) {
			cairo_line_to(cr, x_of(c, step_input(c, s)), y_of(c, l.high));
			begun = true;
		}
	for (int s = BAND_STEPS; s >= 0; s--)
		if (limits_at(c->r, run, step_input(c, s), &l))
			cairo_line_to(cr, x_of(c, step_input(c, s)), y_of(c, l.low));
	if (begun) {
		cairo_close_path(cr);
		cairo_clip(cr);
		page_ink(c->p, INK_HATCH);
		cairo_set_line_width(cr, 0.4);
		for (int i = 0; i <= (int)((c->right - c->left + height) / HATCH_STEP); i++) {
			double x = c->left - height + i * HATCH_STEP;

			cairo_move_to(cr, x, leaning_left ? c->top : c->bottom);
			cairo_line_to(cr, x + height, leaning_left ? c->bottom : c->top);
		}
		cairo_stroke(cr);
	}
	cairo_restore(cr);
}

/* One edge of the acceptance interval, dotted from reading to reading over rising input, first cycle only. */
static void guard_edge(struct plot *c, const struct record_run *run, bool high)
{
	static const double dots[] = {0, 2.4};
	cairo_t *cr = c->p->cr;
	double span = fabs(range_span(c->r->instrument.output));

	for (size_t i = 0; i < run->n_points; i++) {
		const struct record_point *q = &run->points[i];
		double edge = (high ? q->judged.acceptance.high : q->judged.acceptance.low) / span * 100;

		if (drawable(q) && isfinite(edge) && q->at.cycle == 1 && q->at.direction == RISING)
			cairo_line_to(cr, x_of(c, reading_input(q)), y_of(c, edge));
	}
	cairo_save(cr);
	page_ink(c->p, INK_TEXT);
	cairo_set_line_width(cr, 1);
	cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
	cairo_set_dash(cr, dots, 2, 0);
	cairo_stroke(cr);
	cairo_restore(cr);
}

static void add_label(struct plot *c, double percent, bool strong, const char *text)
{
	struct label *l;

	if (c->n_labels == LABELS_MAX || !isfinite(percent))
		return;
	l = &c->labels[c->n_labels++];
	l->at = l->y = y_of(c, percent);
	l->strong = strong;
	l->text = text;
}

static void label_limit(struct plot *c, const struct record_run *run, const char *what, double percent)
{
	char figure[NUMBER_TEXT_SIZE];

	format_number(percent, record_percent_decimals(c->r, run), true, figure);
	add_label(c, percent, false, words_say(c->w, "%s %s", what, figure));
}

static void band(struct plot *c, const struct record_run *run, bool alone)
{
	double end = step_input(c, BAND_STEPS), span = fabs(range_span(c->r->instrument.output));
	const char *what = alone ? "limit" : words_say(c->w, "limit %s", words_run(run->kind));
	const struct record_point *top = NULL;
	struct limits l;

	if (!limits_at(c->r, run, end, &l))
		return;
	hatch(c, run, run->kind == RUN_AS_LEFT && !alone);
	label_limit(c, run, what, l.high);
	label_limit(c, run, what, l.low);
	for (size_t i = 0; i < run->n_points; i++)
		if (drawable(&run->points[i]) && run->points[i].at.cycle == 1 && run->points[i].at.direction == RISING)
			top = &run->points[i];
	if (!top || c->r->procedure.decision.kind != DECISION_GUARDED)
		return;
	guard_edge(c, run, true);
	guard_edge(c, run, false);
	what = alone ? "guard band" : words_say(c->w, "guard %s", words_run(run->kind));
	label_limit(c, run, what, top->judged.acceptance.high / span * 100);
	label_limit(c, run, what, top->judged.acceptance.low / span * 100);
}

/* As wide as the words at the right edge may become: no figure among them is longer than that of the axis' end. */
static double right_space(const struct plot *c)
{
	const char *what = c->r->procedure.decision.kind == DECISION_GUARDED ? "guard" : "limit";
	double most = fmax(-c->low, c->high), space = RIGHT_SPACE;

	for (size_t k = 0; k < c->r->n_runs; k++) {
		const struct record_run *run = &c->r->runs[k];
		char figure[NUMBER_TEXT_SIZE];

		format_number(-most, record_percent_decimals(c->r, run), true, figure);
		space = fmax(space, page_text_width(c->p, &STYLE_NOTE,
						    words_say(c->w, "%s %s %s", what, words_run(run->kind), figure)) +
					    LABEL_SPACE);
	}
	return space;
}

static void take_box(struct plot *c, struct box b)
{
	if (c->n_boxes < BOXES_MAX)
		c->boxes[c->n_boxes++] = b;
}

static void lines(struct plot *c, const struct record_run *run)
{
	cairo_t *cr = c->p->cr;
	const struct record_point *top = NULL;

	for (size_t i = 0; i < run->n_points; i++) {
		const struct record_point *q = &run->points[i];

		if (!drawable(q))
			continue;
		cairo_line_to(cr, x_of(c, reading_input(q)), y_of(c, q->judged.error_percent));
		if (!top || q->at.percent > top->at.percent)
			top = q;
	}
	page_ink(c->p, INK_TEXT);
	cairo_set_line_width(cr, run->kind == RUN_AS_FOUND ? 0.5 : 0.8);
	cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
	cairo_stroke(cr);
	if (top)
		add_label(c, top->judged.error_percent, true, words_run(run->kind));
}

static void readings(struct plot *c, const struct record_run *run)
{
	for (size_t i = 0; i < run->n_points; i++) {
		const struct record_point *q = &run->points[i];
		double x, y;

		if (!drawable(q))
			continue;
		x = x_of(c, reading_input(q));
		y = y_of(c, q->judged.error_percent);
		mark_reading(c->p, x, y, MARK, q->at.direction, run->kind);
		if (q->judged.verdict == VERDICT_FAIL)
			mark_ring(c->p, x, y, RING);
		take_box(c, (struct box){x - RING, y - RING, 2 * RING, 2 * RING});
	}
}

static bool is_free(const struct plot *c, struct box b)
{
	if (b.x < c->left || b.x + b.width > c->right + 2 || b.y < c->top - 4 || b.y + b.height > c->bottom)
		return false;
	for (size_t i = 0; i < c->n_boxes; i++) {
		const struct box *o = &c->boxes[i];

		if (b.x < o->x + o->width && o->x < b.x + b.width && b.y < o->y + o->height && o->y < b.y + b.height)
			return false;
	}
	return true;
}

/* Cuts the part of a line, as shares of its length, to what lies between low and high of one axis. */
static void cut(double from, double to, double low, double high, double *begin, double *end)
{
	double a, b;

	if (fabs(to - from) < 1e-9) {
		if (from < low || from > high)
			*end = -1;
		return;
	}
	a = (low - from) / (to - from);
	b = (high - from) / (to - from);
	*begin = fmax(*begin, fmin(a, b));
	*end = fmin(*end, fmax(a, b));
}

/* No line from reading to reading runs through it. */
static bool is_clear(const struct plot *c, struct box b)
{
	for (size_t k = 0; k < c->r->n_runs; k++) {
		const struct record_point *before = NULL;

		for (size_t i = 0; i < c->r->runs[k].n_points; i++) {
			const struct record_point *q = &c->r->runs[k].points[i];
			double begin = 0, end = 1;

			if (!drawable(q))
				continue;
			if (before) {
				cut(x_of(c, reading_input(before)), x_of(c, reading_input(q)), b.x, b.x + b.width,
				    &begin, &end);
				cut(y_of(c, before->judged.error_percent), y_of(c, q->judged.error_percent), b.y,
				    b.y + b.height, &begin, &end);
				if (begin < end)
					return false;
			}
			before = q;
		}
	}
	return true;
}

/*
 * Writes the error beside a failing reading where there is room: outwards first, then inwards, then at its sides; through a
 * line only where no place is left without one.
 */
static void write_value(struct plot *c, const struct record_run *run, const struct record_point *q)
{
	static const struct style value = {6.4, true, INK_BAD};
	double x = x_of(c, reading_input(q)), y = y_of(c, q->judged.error_percent), w, h,
	       out = q->judged.error_percent < 0 ? 1 : -1;
	char text[NUMBER_TEXT_SIZE];
	struct box b;

	format_number(q->judged.error_percent, record_percent_decimals(c->r, run), true, text);
	w = page_text_width(c->p, &value, text);
	h = page_line_height(c->p, &value);
	for (int attempt = 0; attempt < 8; attempt++) {
		int place = attempt % 4;
		double dx = place < 2 ? 0 : place == 2 ? 1 : -1, dy = place == 0 ? out : place == 1 ? -out : 0;

		b = (struct box){x - w / 2 + dx * (w / 2 + RING + 2), y - h / 2 + dy * (h / 2 + RING + 0.5), w, h};
		if (dy != 0) /* at an end of the plot moved inside it */
			b.x = fmin(fmax(b.x, c->left + 1), c->right + 2 - w);
		if (!is_free(c, b) || (attempt < 4 && !is_clear(c, b)))
			continue;
		page_text(c->p, b.x, b.y, 0, ALIGN_LEFT, &value, text);
		take_box(c, b);
		return;
	}
}

static double excess(const struct record_point *q)
{
	return fabs(q->judged.error_percent);
}

/* Worst first, so that where there is no room for all values the largest is written. */
static void write_values(struct plot *c)
{
	bool done[2][READINGS_MAX] = {{false}};

	for (;;) {
		const struct record_point *worst = NULL;
		size_t run = 0, index = 0;

		for (size_t k = 0; k < c->r->n_runs; k++)
			for (size_t i = 0; i < c->r->runs[k].n_points && i < READINGS_MAX; i++) {
				const struct record_point *q = &c->r->runs[k].points[i];

				if (done[k][i] || !drawable(q) || q->judged.verdict != VERDICT_FAIL ||
				    (worst && excess(q) <= excess(worst)))
					continue;
				worst = q;
				run = k;
				index = i;
			}
		if (!worst)
			return;
		done[run][index] = true;
		write_value(c, &c->r->runs[run], worst);
	}
}

/* The words at the right edge, each as near to its line as the others allow, a hairline leading to it. */
static void write_labels(struct plot *c)
{
	struct page *p = c->p;
	double h = page_line_height(p, &STYLE_NOTE) - 0.6;
	struct label *l = c->labels;

	for (size_t i = 1; i < c->n_labels; i++) /* few: insertion sort from top to bottom */
		for (size_t k = i; k > 0 && l[k].at < l[k - 1].at; k--) {
			struct label swap = l[k];

			l[k] = l[k - 1];
			l[k - 1] = swap;
		}
	for (size_t i = 1; i < c->n_labels; i++)
		l[i].y = fmax(l[i].y, l[i - 1].y + h);
	if (c->n_labels > 0)
		l[c->n_labels - 1].y = fmin(l[c->n_labels - 1].y, c->bottom);
	for (size_t i = c->n_labels; i-- > 1;)
		l[i - 1].y = fmin(l[i - 1].y, l[i].y - h);
	for (size_t i = 0; i < c->n_labels; i++) {
		struct style style = {STYLE_NOTE.size, l[i].strong, l[i].strong ? INK_TEXT : INK_MUTED};

		page_ink(p, INK_RULE);
		cairo_set_line_width(p->cr, 0.4);
		cairo_move_to(p->cr, c->right + 1.5, l[i].at);
		cairo_line_to(p->cr, c->right + 8, l[i].y);
		cairo_stroke(p->cr);
		page_text(p, c->right + LABEL_SPACE, l[i].y - page_line_height(p, &style) / 2, 0, ALIGN_LEFT, &style,
			  l[i].text);
	}
}

bool chart_stands(const struct record *r)
{
	for (size_t k = 0; k < r->n_runs; k++)
		for (size_t i = 0; i < r->runs[k].n_points; i++)
			if (drawable(&r->runs[k].points[i]))
				return true;
	return false;
}

/* Titled with what the reader needs to read it, in the marks themselves. */
static void write_title(struct plot *c)
{
	struct page *p = c->p;
	double x = p->left, y = p->y, h = page_line_height(p, &STYLE_NOTE);

	page_text_as(p, "H2", x, y, 0, ALIGN_LEFT, &STYLE_HEADING, "Error in % of span over the input");
	page_tag(p, "Figure"); /* until chart_set ends it */
	x += page_text_width(p, &STYLE_HEADING, "Error in % of span over the input") + 14;
	y += page_line_height(p, &STYLE_HEADING) - h - 0.6;
	for (int k = 0; k < 2; k++) {
		mark_reading(p, x + 3, y + h / 2, MARK, k == 0 ? RISING : FALLING, RUN_AS_FOUND);
		page_text(p, x + 9, y, 0, ALIGN_LEFT, &STYLE_NOTE, k == 0 ? "rising" : "falling");
		x += 14 + page_text_width(p, &STYLE_NOTE, k == 0 ? "rising" : "falling");
	}
	page_text(p, x + 4, y, 0, ALIGN_LEFT, &STYLE_NOTE,
		  c->r->n_runs > 1 ? "hollow as found, filled as left; limits hatched" : "limits hatched");
}

void chart_set(struct page *p, const struct record *r, struct words *w, double height)
{
	struct plot c = {.p = p, .r = r, .w = w};
	bool alone = same_band(r, w);

	if (!chart_stands(r))
		return;
	if (r->runs[0].switched) {
		chart_switch_set(p, r, w);
		return;
	}
	page_need(p, height);
	if (page_measuring(p)) {
		p->y += height;
		return;
	}
	c.left = p->left + LEFT_SPACE;
	c.top = p->y + page_line_height(p, &STYLE_HEADING) + 8;
	c.bottom = p->y + height - BOTTOM_SPACE;
	scale_axes(&c);
	c.right = p->right - right_space(&c);
	write_title(&c);
	for (size_t k = 0; k < (alone ? 1 : r->n_runs); k++)
		band(&c, &r->runs[k], alone);
	axis_left(&c);
	axis_bottom(&c);
	for (size_t k = 0; k < r->n_runs; k++)
		lines(&c, &r->runs[k]);
	for (size_t k = 0; k < r->n_runs; k++)
		readings(&c, &r->runs[k]);
	write_values(&c);
	write_labels(&c);
	page_untag(p, "Figure");
	p->y += height;
}
