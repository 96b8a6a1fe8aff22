/* The evidence of a switch: where it acted and went back, actuation by actuation, and what that comes to. */
#include "certificate_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "metrology/format.h"
#include "table.h"

/* Columns that a step without the way back, or a switch without a reset point, leaves out. */
enum { CELL_RESET = 1, CELL_RESET_POINT = 2, CELL_DEAD_BAND_LIMITS = 4 };

struct cell {
	struct column column;
	int only; /* CELL_...; 0: always */
};

static int shown_cells(const struct record_switch *s)
{
	bool limited = !isnan(s->spec.dead_band.low) || !isnan(s->spec.dead_band.high);

	if (!s->reads_reset)
		return 0;
	return CELL_RESET | (isnan(s->spec.reset_point) ? 0 : CELL_RESET_POINT) | (limited ? CELL_DEAD_BAND_LIMITS : 0);
}

static bool is_shown(const struct cell *c, int shown)
{
	return (c->only & shown) == c->only;
}

static enum verdict worse(enum verdict a, enum verdict b)
{
	if (a == VERDICT_NOT_JUDGED || b == VERDICT_NOT_JUDGED)
		return a == VERDICT_NOT_JUDGED ? b : a;
	return a > b ? a : b;
}

/* As typed, so that 12.0 and 12.00 keep their resolution. */
static char *typed(const struct record_point *q, int decimals, char *out)
{
	int own = q->read ? decimals_of_text(q->observed_text) : -1;

	return format_number(q->read ? q->reading.observed : NAN, own >= 0 ? own : decimals, false, out);
}

static void fill_row(const struct record *r, const struct record_run *run, size_t i, const struct cell *cells,
		     size_t n_cells, struct row *row)
{
	const struct record_switch *s = run->switched;
	const struct judged_actuation *j = &s->judged[i];
	const struct record_point *p = &run->points[i * (size_t)s->per_cycle];
	struct switch_manner m = record_switch_manner(r, run);
	double u = fmax(p->reading.u, s->reads_reset && p[1].read ? p[1].reading.u : 0) * 2;
	int u_decimals = decimals_for(u) > m.error_decimals ? decimals_for(u) : m.error_decimals,
	    shown = shown_cells(s);
	char cell[COLUMNS_MAX][NUMBER_TEXT_SIZE];
	size_t c = 0, k = 0;

	row->kind = run->kind;
	row->verdict = worse(j->set_verdict, worse(j->reset_verdict, j->dead_band_verdict));
	snprintf(cell[c++], NUMBER_TEXT_SIZE, "%zu", i + 1);
	typed(p, m.decimals, cell[c++]);
	format_number(j->set_error, m.error_decimals, true, cell[c++]);
	format_number(s->sum.limits.low, m.error_decimals, true, cell[c++]);
	format_number(s->sum.limits.high, m.error_decimals, true, cell[c++]);
	if (s->reads_reset)
		typed(&p[1], m.decimals, cell[c]);
	c++;
	format_number(j->reset_error, m.error_decimals, true, cell[c++]);
	format_number(s->sum.reset_limits.low, m.error_decimals, true, cell[c++]);
	format_number(s->sum.reset_limits.high, m.error_decimals, true, cell[c++]);
	format_number(j->dead_band, m.error_decimals, false, cell[c++]);
	format_number(s->spec.dead_band.low, m.error_decimals, false, cell[c++]);
	format_number(s->spec.dead_band.high, m.error_decimals, false, cell[c++]);
	format_number(u > 0 ? u : NAN, u_decimals, false, cell[c++]);
	snprintf(cell[c++], NUMBER_TEXT_SIZE, "%s", words_verdict(row->verdict));
	for (size_t n = 0; n < n_cells; n++)
		if (is_shown(&cells[n], shown))
			memcpy(row->cell[k++], cell[n], sizeof cell[n] < CELL_SIZE ? sizeof cell[n] : CELL_SIZE);
}

void certificate_actuations(struct page *p, const struct certificate *c, const struct record_run *run)
{
	const char *unit = c->r->instrument.input_unit;
	const struct cell cells[] = {
		{{COLUMN_WORD, "Actu-", "ation"}, 0},
		{{COLUMN_NUMBER, "Acted at", unit}, 0},
		{{COLUMN_NUMBER, "Error", unit}, 0},
		{{COLUMN_NUMBER, "Lower limit", unit}, 0},
		{{COLUMN_NUMBER, "Upper limit", unit}, 0},
		{{COLUMN_NUMBER, "Went back at", unit}, CELL_RESET},
		{{COLUMN_NUMBER, "Error", unit}, CELL_RESET_POINT},
		{{COLUMN_NUMBER, "Lower limit", unit}, CELL_RESET_POINT},
		{{COLUMN_NUMBER, "Upper limit", unit}, CELL_RESET_POINT},
		{{COLUMN_NUMBER, "Dead band", unit}, CELL_RESET},
		{{COLUMN_NUMBER, "at least", unit}, CELL_DEAD_BAND_LIMITS},
		{{COLUMN_NUMBER, "at most", unit}, CELL_DEAD_BAND_LIMITS},
		{{COLUMN_NUMBER, "U (k = 2)", unit}, 0},
		{{COLUMN_VERDICT, "Verdict", NULL}, 0},
	};
	size_t n_cells = sizeof cells / sizeof *cells, n_columns = 0, n = run->switched->n;
	struct row *rows = calloc(n ? n : 1, sizeof *rows);
	const char *title = words_say(c->w, "Results %s", words_run(run->kind));
	struct column columns[COLUMNS_MAX];

	if (!rows) {
		p->rc = err_set(p->err, NO_MEMORY, "", "not enough memory for the certificate");
		return;
	}
	for (size_t k = 0; k < n_cells; k++)
		if (is_shown(&cells[k], shown_cells(run->switched)))
			columns[n_columns++] = cells[k].column;
	for (size_t i = 0; i < n; i++)
		fill_row(c->r, run, i, cells, n_cells, &rows[i]);
	if (run->attempt > 1)
		title = words_say(c->w, "%s, run %d", title, run->attempt);
	table_set(p, title, columns, n_columns, rows, n);
	free(rows);
}

void certificate_switch_summary(struct page *p, const struct certificate *c)
{
	static const struct column columns[] = {
		{COLUMN_WORD, "", NULL},
		{COLUMN_NUMBER, "Acts at,", "mean"},
		{COLUMN_NUMBER, "Error,", "mean"},
		{COLUMN_NUMBER, "Greatest", "error"},
		{COLUMN_NUMBER, "Repeatability,", "acting"},
		{COLUMN_NUMBER, "Goes back at,", "mean"},
		{COLUMN_NUMBER, "Repeatability,", "going back"},
		{COLUMN_NUMBER, "Dead band,", "mean"},
	};
	struct row rows[2] = {0};
	size_t n = 0;

	for (size_t k = 0; k < c->r->n_runs; k++) {
		const struct record_run *run = &c->r->runs[k];
		const struct switch_summary *s = &run->switched->sum;
		struct switch_manner m = record_switch_manner(c->r, run);
		const struct {
			double value;
			bool has_sign;
		} cells[] = {{s->set, false},	       {s->set_error, true},
			     {s->max_set_error, true}, {s->set_repeatability, false},
			     {s->reset, false},	       {s->reset_repeatability, false},
			     {s->dead_band, false}};

		if (!run_stands(run))
			continue;
		snprintf(rows[n].cell[0], CELL_SIZE, "%s", run->kind == RUN_AS_FOUND ? "As found" : "As left");
		for (size_t i = 0; i < sizeof cells / sizeof *cells; i++)
			format_number(cells[i].value, m.error_decimals, cells[i].has_sign, rows[n].cell[i + 1]);
		n++;
	}
	if (n == 0)
		return;
	p->y += HEADING_SPACE;
	table_set(p, words_say(c->w, "What the actuations say together, in %s", c->r->instrument.input_unit), columns,
		  sizeof columns / sizeof *columns, rows, n);
}
