/* The evidence: readings as found and as left, what they say together, adjustment, diagnosis, remarks. */
#include "certificate_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "metrology/format.h"
#include "table.h"

/* A value with the decimals it was typed with; without text, with those of the record. */
static void typed(char out[CELL_SIZE], double value, const char *text, int decimals)
{
	format_number(value, words_typed_decimals(text, decimals), false, out);
}

static int more(int a, int b)
{
	return a > b ? a : b;
}

/* An en dash when it is not known. */
static void uncertainty_cell(char out[CELL_SIZE], double u, int decimals)
{
	if (u > 0)
		format_number(2 * u, words_uncertainty_decimals(2 * u, decimals), false, out);
	else
		format_number(NAN, 0, false, out);
}

static size_t reading_columns(const struct record *r, bool cycles, struct column *out)
{
	const char *in = r->instrument.input_unit, *unit = r->instrument.output_unit;
	const struct column all[] = {
		{COLUMN_WORD, "Cycle", NULL},	      {COLUMN_READING, "", NULL},
		{COLUMN_NUMBER, "Set point", in},     {COLUMN_NUMBER, "Applied", in},
		{COLUMN_NUMBER, "Expected", unit},    {COLUMN_NUMBER, "Observed", unit},
		{COLUMN_NUMBER, "Error", unit},	      {COLUMN_NUMBER, "Error", "% of span"},
		{COLUMN_NUMBER, "Lower limit", unit}, {COLUMN_NUMBER, "Upper limit", unit},
		{COLUMN_NUMBER, "U (k = 2)", unit},   {COLUMN_VERDICT, "Verdict", NULL},
	};
	size_t n = sizeof all / sizeof all[0], from = cycles ? 0 : 1;

	memcpy(out, all + from, (n - from) * sizeof *all);
	return n - from;
}

struct decimals {
	int error, percent;
};

static void fill_row(const struct record *r, const struct record_run *run, const struct record_point *q,
		     struct decimals shown, bool cycles, struct row *row)
{
	const struct reading *g = &q->reading;
	const struct judged_reading *j = &q->judged;
	int decimals = shown.error, c = 0;

	row->direction = q->at.direction;
	row->kind = run->kind;
	row->verdict = j->verdict;
	if (cycles)
		snprintf(row->cell[c++], CELL_SIZE, "%d", q->at.cycle);
	row->cell[c++][0] = '\0';
	format_number(g->set, r->input_decimals, false, row->cell[c++]);
	typed(row->cell[c++], isnan(g->applied) ? g->set : g->applied, q->applied_text, r->input_decimals);
	format_number(j->expected, decimals, false, row->cell[c++]);
	typed(row->cell[c++], g->observed, q->observed_text, r->output_decimals);
	format_number(j->error, decimals, true, row->cell[c++]);
	format_number(j->error_percent, shown.percent, true, row->cell[c++]);
	format_number(j->limits.low, decimals, true, row->cell[c++]);
	format_number(j->limits.high, decimals, true, row->cell[c++]);
	uncertainty_cell(row->cell[c++], g->u, decimals);
	snprintf(row->cell[c], CELL_SIZE, "%s", words_verdict(j->verdict));
}

static void readings_table(struct page *p, const struct certificate *c, const struct record_run *run)
{
	const struct record *r = c->r;
	struct row *rows = calloc(run->n_points, sizeof *rows);
	struct column columns[COLUMNS_MAX];
	bool cycles = run->n_points > 0 && run->points[run->n_points - 1].at.cycle > 1;
	size_t n = 0, n_columns = reading_columns(r, cycles, columns);
	struct decimals shown = {record_error_decimals(r, run), record_percent_decimals(r, run)};
	const char *title = words_say(c->w, "Results %s", words_run(run->kind));

	if (!rows) {
		p->rc = err_set(p->err, NO_MEMORY, "", "not enough memory for the certificate");
		return;
	}
	for (size_t i = 0; i < run->n_points; i++) {
		const struct record_point *q = &run->points[i];

		if (!q->read)
			continue;
		fill_row(r, run, q, shown, cycles, &rows[n]);
		rows[n].gap = n > 0 && i > 0 && q->at.cycle != run->points[i - 1].at.cycle;
		n++;
	}
	if (run->attempt > 1)
		title = words_say(c->w, "%s, run %d", title, run->attempt);
	table_set(p, title, columns, n_columns, rows, n);
	free(rows);
}

/* Typed or read from a device: whoever reads the numbers must see it. */
static void origin(struct page *p, const struct record_run *run)
{
	char sentence[CAPTURED_SIZE];

	record_captured_sentence(run, sentence);
	if (!sentence[0])
		return;
	p->y += 3;
	page_flow(p, p->left, p->right - p->left, &STYLE_NOTE, sentence);
}

void certificate_tables(struct page *p, const struct certificate *c)
{
	bool first = true;

	for (size_t k = 0; k < c->r->n_runs; k++) {
		if (!run_stands(&c->r->runs[k]))
			continue;
		if (!first)
			p->y += HEADING_SPACE;
		if (c->r->runs[k].switched)
			certificate_actuations(p, c, &c->r->runs[k]);
		else
			readings_table(p, c, &c->r->runs[k]);
		origin(p, &c->r->runs[k]);
		first = false;
	}
}

int summary_decimals(const struct record *r)
{
	int decimals = 1;

	for (size_t k = 0; k < r->n_runs; k++)
		if (run_stands(&r->runs[k]))
			decimals = more(decimals, record_percent_decimals(r, &r->runs[k]));
	return decimals;
}

/* Point by point over the cycles, where there were several. */
static void averages_table(struct page *p, const struct certificate *c, const struct record_run *run)
{
	const struct column columns[] = {
		{COLUMN_NUMBER, "Set point", c->r->instrument.input_unit},
		{COLUMN_NUMBER, "Readings", NULL},
		{COLUMN_NUMBER, "Rising", "% of span"},
		{COLUMN_NUMBER, "Falling", "% of span"},
		{COLUMN_NUMBER, "All", "% of span"},
		{COLUMN_NUMBER, "Hysteresis", "% of span"},
		{COLUMN_NUMBER, "Repeatability", "% of span"},
	};
	struct row *rows = calloc(run->n_averages, sizeof *rows);
	int decimals = record_percent_decimals(c->r, run);

	if (!rows) {
		p->rc = err_set(p->err, NO_MEMORY, "", "not enough memory for the certificate");
		return;
	}
	for (size_t i = 0; i < run->n_averages; i++) {
		const struct point_summary *s = &run->averages[i];
		const double value[] = {s->rising, s->falling, s->mean, s->hysteresis, s->repeatability};

		format_number(s->set, c->r->input_decimals, false, rows[i].cell[0]);
		snprintf(rows[i].cell[1], CELL_SIZE, "%d", s->readings);
		for (int k = 0; k < 5; k++)
			format_number(value[k], decimals, k < 3, rows[i].cell[k + 2]);
	}
	p->y += HEADING_SPACE;
	table_set(p, words_say(c->w, "Errors averaged over the cycles, %s", words_run(run->kind)), columns,
		  sizeof columns / sizeof *columns, rows, run->n_averages);
	free(rows);
}

/* Where the procedure sought the dead band; sought at places, so a table of its own. */
static void dead_band_table(struct page *p, const struct certificate *c, const struct record_run *run)
{
	const char *unit = c->r->instrument.input_unit;
	const struct column columns[] = {
		{COLUMN_NUMBER, "Near", unit},
		{COLUMN_NUMBER, "Moved", words_say(c->w, "rising, %s", unit)},
		{COLUMN_NUMBER, "Moved", words_say(c->w, "falling, %s", unit)},
		{COLUMN_NUMBER, "Dead band", unit},
		{COLUMN_NUMBER, "Dead band", "% of span"},
		{COLUMN_NUMBER, "at most", "% of span"},
		{COLUMN_WORD, "Verdict", NULL},
	};
	const struct record_dead_band *d = run->dead_band;
	struct row rows[DEAD_BAND_PLACES_MAX] = {0};
	int decimals = record_dead_band_decimals(run);
	bool judged = d->verdict != VERDICT_NOT_JUDGED;
	size_t n = 0;

	for (size_t i = 0; i < d->n; i++) {
		const struct record_dead_place *at = &d->places[i];

		if (!at->read)
			continue;
		format_number(at->set, c->r->input_decimals, false, rows[n].cell[0]);
		format_number(at->reading.rising, at->decimals, false, rows[n].cell[1]);
		format_number(at->reading.falling, at->decimals, false, rows[n].cell[2]);
		format_number(at->value, at->decimals, false, rows[n].cell[3]);
		format_number(at->value_percent, decimals, false, rows[n].cell[4]);
		format_number(d->limit_percent, decimals, false, rows[n].cell[5]);
		snprintf(rows[n].cell[6], CELL_SIZE, "%s", words_verdict(at->verdict));
		n++;
	}
	if (n == 0)
		return;
	p->y += HEADING_SPACE;
	table_set(p, words_say(c->w, "Dead band, in the input, %s", words_run(run->kind)), columns, judged ? 7 : 5,
		  rows, n);
}

/* The terms of the summary in % of span, one row a run. */
void certificate_summary(struct page *p, const struct certificate *c)
{
	static const struct column columns[] = {
		{COLUMN_WORD, "", NULL},
		{COLUMN_NUMBER, "Greatest", "error +"},
		{COLUMN_NUMBER, "Greatest", "error \u2212"},
		{COLUMN_NUMBER, "Zero", "error"},
		{COLUMN_NUMBER, "Span", "error"},
		{COLUMN_NUMBER, "Hysteresis", NULL},
		{COLUMN_NUMBER, "Repeat-", "ability"},
		{COLUMN_NUMBER, "Linearity", "independent"},
		{COLUMN_NUMBER, "Linearity", "terminal"},
		{COLUMN_NUMBER, "Linearity", "zero-based"},
		{COLUMN_NUMBER, "Linearity", "least squares"},
	};
	struct row rows[2] = {0};
	size_t n = 0;
	int decimals = summary_decimals(c->r);

	if (c->r->runs[0].switched) {
		certificate_switch_summary(p, c);
		return;
	}
	for (size_t k = 0; k < c->r->n_runs; k++)
		if (run_stands(&c->r->runs[k]))
			decimals = more(decimals, record_percent_decimals(c->r, &c->r->runs[k]));
	for (size_t k = 0; k < c->r->n_runs; k++) {
		const struct evaluation *e = &c->r->runs[k].sum;
		const double value[] = {e->max_error_plus,
					e->max_error_minus,
					e->zero_error,
					e->span_error,
					e->hysteresis,
					e->repeatability,
					e->linearity[LINE_INDEPENDENT],
					e->linearity[LINE_TERMINAL],
					e->linearity[LINE_ZERO],
					e->linearity[LINE_LEAST_SQUARES]};

		if (!run_stands(&c->r->runs[k]))
			continue;
		snprintf(rows[n].cell[0], CELL_SIZE, "%s", c->r->runs[k].kind == RUN_AS_FOUND ? "As found" : "As left");
		for (size_t i = 0; i < sizeof value / sizeof value[0]; i++)
			format_number(value[i], decimals, i < 4, rows[n].cell[i + 1]);
		n++;
	}
	if (n == 0)
		return;
	p->y += HEADING_SPACE;
	table_set(p, "What the readings say together, in % of span", columns, sizeof columns / sizeof columns[0], rows,
		  n);
	for (size_t i = 0; i < c->r->n_runs; i++)
		if (run_stands(&c->r->runs[i]) && c->r->runs[i].n_averages > 0)
			averages_table(p, c, &c->r->runs[i]);
	for (size_t i = 0; i < c->r->n_runs; i++)
		if (run_stands(&c->r->runs[i]) && c->r->runs[i].dead_band)
			dead_band_table(p, c, &c->r->runs[i]);
}

struct entry {
	const char *label, *text;
};

#define ENTRIES_MAX 8

static size_t entries(const struct certificate *c, struct entry *e)
{
	const struct record *r = c->r;
	size_t n = 0;

	for (size_t k = 0; k < r->n_runs; k++)
		if (run_stands(&r->runs[k]))
			e[n++] = (struct entry){r->runs[k].kind == RUN_AS_FOUND ? "As found" : "As left",
						words_diagnosis(c->w, &r->runs[k])};
	e[n++] = (struct entry){"Adjustment", words_adjustment(c->w, r)};
	e[n++] = (struct entry){"Deviations", words_deviations(c->w, r)};
	e[n++] = (struct entry){"Finding", r->finding_sentence};
	e[n++] = (struct entry){"Remarks", r->remarks};
	return n;
}

double certificate_words_height(struct page *p, const struct certificate *c)
{
	struct entry e[ENTRIES_MAX];
	size_t n = entries(c, e);
	double h = HEADING_SPACE + page_line_height(p, &STYLE_HEADING) + 3;

	for (size_t i = 0; i < n; i++)
		h += certificate_entry_height(p, e[i].text);
	return h;
}

void certificate_words(struct page *p, const struct certificate *c)
{
	struct entry e[ENTRIES_MAX];
	size_t n = entries(c, e);

	certificate_heading(p, "Diagnosis, adjustment and remarks", 30);
	for (size_t i = 0; i < n; i++)
		certificate_entry(p, e[i].label, e[i].text);
}
