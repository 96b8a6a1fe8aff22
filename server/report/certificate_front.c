/* The front page: title, verdict, identity, standards, what the verdict rests on, signatures. */
#include "certificate_internal.h"

#include <math.h>
#include <string.h>
#include "domain/record_view.h"
#include "marks.h"
#include "metrology/format.h"

#define NOT_RECORDED "not recorded"

void certificate_title(struct page *p, const struct certificate *c)
{
	static const struct style service = {9, false, INK_TEXT};
	const struct record *r = c->r;
	double width = p->right - p->left, half = width * 0.62, right_y = p->y + 5, h;
	char when[WHEN_SIZE];

	h = page_text_as(p, "H1", p->left, p->y, half, ALIGN_LEFT, &STYLE_TITLE, "Calibration certificate") + 2;
	right_y += page_text(p, p->left + half, right_y, width - half, ALIGN_RIGHT, &STYLE_NAME, r->certificate_number);
	page_text(p, p->left + half, right_y, width - half, ALIGN_RIGHT, &STYLE_LABEL,
		  words_say(c->w, "issued %s", words_date(r->certificate_at, when)));
	p->y += h;
	p->y += page_text(p, p->left, p->y, half, ALIGN_LEFT, c->options->sealed ? &STYLE_TEXT : &STYLE_STRONG,
			  c->options->sealed ? "The PDF carries the plant\u2019s seal: any change to it shows" :
					       "UNSEALED \u2013 printed without the plant\u2019s cryptographic seal");
	p->y += 12;
	p->y += page_text(p, p->left, p->y, width, ALIGN_LEFT, &STYLE_NAME, r->instrument.tag);
	p->y += page_text(p, p->left, p->y, width, ALIGN_LEFT, &service, r->instrument.service);
}

/* One run: its verdict as mark and word, then what was found, in words. */
static void outcome(struct page *p, const struct certificate *c, const struct record_run *run)
{
	static const struct style name = {9, false, INK_TEXT};
	const double verdict_x = p->left + LABEL_WIDTH, words_x = p->left + LABEL_WIDTH + 118;
	struct style verdict = STYLE_VERDICT;
	const char *text = words_say(c->w, "%s Limits %s: %s.", words_outcome(c->w, c->r, run), words_run(run->kind),
				     words_tolerance(c->w, run->tolerance, c->r->instrument.output_unit));
	double line = page_line_height(p, &verdict),
	       h = fmax(page_text_height(p, p->right - words_x, &STYLE_TEXT, text) + 2, line);

	page_need(p, h + 4);
	verdict.ink = verdict_ink(run->sum.verdict);
	page_tag(p, "P");
	page_text(p, p->left, p->y + 1.5, 0, ALIGN_LEFT, &name, run->kind == RUN_AS_FOUND ? "As found " : "As left ");
	mark_verdict(p, verdict_x + 4.5, p->y + line / 2, 9, run->sum.verdict);
	page_text(p, verdict_x + 15, p->y, 0, ALIGN_LEFT, &verdict,
		  words_say(c->w, "%s ", words_verdict(run->sum.verdict)));
	page_text(p, words_x, p->y + 2, p->right - words_x, ALIGN_LEFT, &STYLE_TEXT, text);
	page_untag(p, "P");
	p->y += h + 4;
}

void certificate_conformity(struct page *p, const struct certificate *c)
{
	const struct record *r = c->r;
	bool any = false;

	certificate_heading(p, "Statement of conformity", 30);
	page_rule(p, p->left, p->y, p->right - p->left, 0.6);
	p->y += 5;
	for (size_t k = 0; k < r->n_runs; k++)
		if (run_stands(&r->runs[k])) {
			outcome(p, c, &r->runs[k]);
			any = true;
		}
	if (!any)
		p->y += page_text(p, p->left, p->y, p->right - p->left, ALIGN_LEFT, &STYLE_TEXT,
				  "No reading was taken.");
	p->y += page_text(
		p, p->left, p->y, p->right - p->left, ALIGN_LEFT, &STYLE_NOTE,
		"It applies to the readings listed under Results, at the time and under the conditions of the test, by the decision rule below.");
	p->y += 3;
	page_rule(p, p->left, p->y, p->right - p->left, 0.6);
}

struct fact {
	const char *label, *text;
};

static void fact(struct fact *f, size_t *n, const char *label, const char *text)
{
	f[(*n)++] = (struct fact){label, text && *text ? text : NOT_RECORDED};
}

static double facts_set(struct page *p, double x, double y, double width, const struct fact *f, size_t n, bool draw)
{
	double from = y;

	if (!draw) {
		for (size_t i = 0; i < n; i++)
			y += 2 + page_text_height(p, width - LABEL_WIDTH, &STYLE_TEXT, f[i].text);
		return y - from;
	}
	page_tag(p, "Table");
	for (size_t i = 0; i < n; i++) {
		page_tag(p, "TR");
		page_text_as(p, "TH", x, y, LABEL_WIDTH - 4, ALIGN_LEFT, &STYLE_LABEL, f[i].label);
		y += 2 +
		     page_text_as(p, "TD", x + LABEL_WIDTH, y, width - LABEL_WIDTH, ALIGN_LEFT, &STYLE_TEXT, f[i].text);
		page_untag(p, "TR");
	}
	page_untag(p, "Table");
	return y - from;
}

static size_t instrument_facts(const struct certificate *c, struct fact *f)
{
	const struct frozen_instrument *i = &c->r->instrument;
	size_t n = 0;

	fact(f, &n, "Instrument", words_kind(c->w, i->kind));
	fact(f, &n, "Maker, model", words_joined(c->w, i->maker, ", ", i->model));
	fact(f, &n, "Serial number", i->serial);
	fact(f, &n, "Area", i->area);
	fact(f, &n, "Location", i->location);
	if (c->r->runs[0].switched) {
		fact(f, &n, "Range", words_input_range(c->w, i));
		fact(f, &n, "Set point", words_switch(c->w, i));
	} else {
		fact(f, &n, "Range", words_ranges(c->w, i));
		fact(f, &n, "Characteristic", words_characteristic(c->w, &i->characteristic));
	}
	return n;
}

static const char *test_dates(const struct certificate *c)
{
	int64_t first, last;
	char a[WHEN_SIZE], b[WHEN_SIZE];

	if (!tested_between(c->r, &first, &last))
		return c->r->performed_at ? words_say(c->w, "%s", words_date(c->r->performed_at, a)) : "";
	words_date(first, a);
	words_date(last, b);
	return strcmp(a, b) == 0 ? words_say(c->w, "%s", a) : words_say(c->w, "%s to %s", a, b);
}

/* An address of several lines with commas between them. */
static const char *one_line(const struct certificate *c, const char *lines)
{
	const char *out = "";

	while (lines && *lines) {
		size_t length = strcspn(lines, "\n");

		out = words_joined(c->w, out, ", ", words_say(c->w, "%.*s", (int)length, lines));
		lines += length + (lines[length] == '\n');
	}
	return out;
}

static size_t test_facts(const struct certificate *c, struct fact *f)
{
	const struct record *r = c->r;
	char when[WHEN_SIZE];
	size_t n = 0;

	fact(f, &n, "Performed by",
	     words_joined(c->w, c->options->plant_name, " \n", one_line(c, c->options->plant_address)));
	fact(f, &n, "Customer",
	     words_joined(c->w, words_joined(c->w, c->options->plant_name, ", area ", r->instrument.area), " \n",
			  "the plant\u2019s own instrument"));
	fact(f, &n, "Place of test", "where installed, or as in Remarks");
	fact(f, &n, "Procedure",
	     words_joined(c->w, words_say(c->w, "%s version %d", r->procedure_code, r->procedure_number), " \n",
			  r->procedure.title));
	if (r->procedure_approved_by)
		fact(f, &n, "Its approval",
		     words_say(c->w, "%s, %s", r->procedure_approved_by, words_date(r->procedure_approved_at, when)));
	fact(f, &n, "Test record", r->number);
	if (r->amends) {
		fact(f, &n, "Tested by", words_testers(c->w, r));
		fact(f, &n, "Amends",
		     words_joined(c->w, words_say(c->w, "certificate %s, which it replaces", r->amends), " \n",
				  r->amendment_reason));
	}
	return n;
}

static size_t date_facts(const struct certificate *c, struct fact *f)
{
	char when[WHEN_SIZE];
	size_t n = 0;

	fact(f, &n, "Received", words_say(c->w, "%s", words_date(c->r->opened_at, when)));
	fact(f, &n, "Tested", test_dates(c));
	fact(f, &n, "Issued",
	     words_joined(c->w, words_say(c->w, "%s", words_date(c->r->certificate_at, when)), ", by ",
			  c->r->certificate_by));
	return n;
}

void certificate_identity(struct page *p, const struct certificate *c)
{
	struct fact left[12], right[10];
	size_t n_left = instrument_facts(c, left), n_right = test_facts(c, right);
	double gutter = 20, width = (p->right - p->left - gutter) / 2, h;
	const char *environment = words_environment(c->w, c->r);

	n_left += date_facts(c, left + n_left);
	h = fmax(facts_set(p, 0, 0, width, left, n_left, false), facts_set(p, 0, 0, width, right, n_right, false));
	certificate_heading(p, "Instrument and test", h);
	facts_set(p, p->left, p->y, width, left, n_left, true);
	facts_set(p, p->left + width + gutter, p->y, width, right, n_right, true);
	p->y += h;
	certificate_entry(p, "As received", c->r->condition && *c->r->condition ? c->r->condition : NOT_RECORDED);
	certificate_entry(p, "Environment", *environment ? environment : NOT_RECORDED);
}

#define STANDARD_COLUMNS 5

/* Shares of the width, and what stands in each column. */
static const double standard_share[STANDARD_COLUMNS] = {0.27, 0.22, 0.125, 0.165, 0.22};
static const char *const standard_head[STANDARD_COLUMNS] = {"Standard", "Certificate, issued by", "Valid until",
							    "Range, U", "Traceability"};

bool standard_expired(const struct record *r, const struct record_standard *s)
{
	int64_t first, last;
	char day[WHEN_SIZE];

	return s->valid_until && tested_between(r, &first, &last) && strcmp(s->valid_until, words_date(last, day)) < 0;
}

static void standard_cells(const struct certificate *c, const struct record_standard *s,
			   const char *cell[STANDARD_COLUMNS])
{
	char low[NUMBER_TEXT_SIZE], high[NUMBER_TEXT_SIZE], u[NUMBER_TEXT_SIZE], k[NUMBER_TEXT_SIZE];
	const char *role = s->role == STANDARD_INPUT ? "input" : "output";

	for (int i = 0; i < STANDARD_COLUMNS; i++)
		cell[i] = "";
	if (!s->chosen) {
		cell[0] = words_say(c->w, "none for the %s", role);
		cell[1] = s->optional ? "the procedure leaves it open" : "";
		return;
	}
	cell[0] = words_joined(c->w, words_say(c->w, "%s, %s", s->code, role), " \n", s->name);
	cell[0] = words_joined(c->w, cell[0], " \n", words_joined(c->w, s->maker, " ", s->model));
	cell[0] = words_joined(c->w, cell[0], " \nserial ", s->serial);
	cell[1] = words_joined(c->w, s->certificate_number ? s->certificate_number : NOT_RECORDED, " \n", s->issued_by);
	cell[1] = words_joined(c->w, cell[1], " \ncalibrated ", s->calibrated_on);
	cell[2] = words_joined(c->w, s->valid_until ? s->valid_until : NOT_RECORDED, " \n",
			       standard_expired(c->r, s) ? "expired on the day of the test" : NULL);
	cell[3] = words_say(c->w, "%s to %s %s \nU = %s %s \n(k = %s)", words_number(s->low, 6, low),
			    words_number(s->high, 6, high), s->unit, words_number(s->expanded_uncertainty, 9, u),
			    s->unit, words_number(s->coverage_factor, 2, k));
	cell[4] = s->traceability ? s->traceability : NOT_RECORDED;
}

/* tag NULL: only the height. */
static double standard_row(struct page *p, const char *const cell[STANDARD_COLUMNS], const struct style *style,
			   const char *tag)
{
	double x = p->left, width = p->right - p->left, h = 0;

	if (tag)
		page_tag(p, "TR");
	for (int i = 0; i < STANDARD_COLUMNS; i++) {
		double w = standard_share[i] * width - 8;

		h = fmax(h, tag ? page_text_as(p, tag, x, p->y, w, ALIGN_LEFT, style, cell[i]) :
				  page_text_height(p, w, style, cell[i]));
		x += standard_share[i] * width;
	}
	if (tag)
		page_untag(p, "TR");
	return h;
}

static void standard_head_row(struct page *p)
{
	page_rule(p, p->left, p->y, p->right - p->left, 0.6);
	p->y += 3;
	p->y += standard_row(p, standard_head, &STYLE_NOTE, "TH") + 2;
	page_rule(p, p->left, p->y, p->right - p->left, 0.3);
	p->y += 3;
}

void certificate_standards(struct page *p, const struct certificate *c)
{
	const struct record *r = c->r;
	double width = p->right - p->left;

	certificate_heading(p, "Reference standards and their traceability", 50);
	page_tag(p, "Table");
	standard_head_row(p);
	for (size_t i = 0; i < r->n_standards; i++) {
		const char *cell[STANDARD_COLUMNS];
		double h;

		standard_cells(c, &r->standards[i], cell);
		h = standard_row(p, cell, &STYLE_SMALL, NULL) + 4;
		if (!page_fits(p, h)) {
			page_break(p);
			p->outside = true;
			standard_head_row(p);
			p->outside = false;
		}
		standard_row(p, cell, &STYLE_SMALL, "TD");
		p->y += h;
	}
	page_untag(p, "Table");
	if (r->n_standards == 0)
		p->y += page_text(p, p->left, p->y, width, ALIGN_LEFT, &STYLE_TEXT,
				  "No reference standard is recorded for this test.") +
			3;
	page_rule(p, p->left, p->y, width, 0.6);
}

void certificate_basis(struct page *p, const struct certificate *c)
{
	certificate_heading(p, "Basis of the results", 60);
	certificate_entry(p, "Limits", words_limits(c->w, c->r));
	certificate_entry(p, "Decision rule", words_decision(c->w, &c->r->procedure.decision));
	certificate_entry(p, "Uncertainty", words_uncertainty(c->r));
}

#define SIGNATURES_KEEP 66.0 /* the row and the two lines under it */

struct signer {
	const char *meaning, *name, *role;
	int64_t at;
};

static size_t add_signer(struct signer *s, const char *meaning, const struct record_signature *by)
{
	if (!by)
		return 0;
	*s = (struct signer){meaning, by->name, by->role, by->at};
	return 1;
}

/* Who issued it signed in, but put no signature to it: it must not look as if he had. */
static size_t add_issuer(struct signer *s, const struct record *r)
{
	if (!r->certificate_by)
		return 0;
	*s = (struct signer){words_issued(), r->certificate_by, "without a signature of its own", r->certificate_at};
	return 1;
}

/* Name, meaning, role and time in one row; of each meaning the one that stands after a return. */
void certificate_signatures(struct page *p, const struct certificate *c)
{
	const struct record *r = c->r;
	bool approved = record_approver(r) != NULL;
	struct signer signer[4];
	double gutter = 16, width, h = 0;
	size_t n = 0;

	n += add_signer(&signer[n], words_performed(r), record_performer(r));
	n += add_signer(&signer[n], words_reviewed(), record_reviewer(r));
	n += approved ? add_signer(&signer[n], words_approved(), record_approver(r)) : add_issuer(&signer[n], r);
	n += add_signer(&signer[n], words_voided(), record_voider(r));
	width = (p->right - p->left - gutter * 2) / 3;
	if (n > 3)
		width = (p->right - p->left - gutter * 3) / 4;
	certificate_heading(p, "Signatures", SIGNATURES_KEEP);
	for (size_t i = 0; i < n; i++) {
		double x = p->left + (double)i * (width + gutter), y = p->y + 4;
		char when[WHEN_SIZE];

		page_rule(p, x, p->y, width, 0.6);
		y += page_text(p, x, y, width, ALIGN_LEFT, &STYLE_LABEL, signer[i].meaning) + 1;
		y += page_text(p, x, y, width, ALIGN_LEFT, &(struct style){9, true, INK_TEXT}, signer[i].name) + 1;
		y += page_text(p, x, y, width, ALIGN_LEFT, &STYLE_TEXT, signer[i].role);
		y += page_text(p, x, y, width, ALIGN_LEFT, &STYLE_TEXT, words_time(signer[i].at, when));
		h = fmax(h, y - p->y);
	}
	p->y += h + 4;
	p->y += page_text(
		p, p->left, p->y, p->right - p->left, ALIGN_LEFT, &STYLE_NOTE,
		words_say(
			c->w,
			"Signed electronically, each by name and password%s; meaning, role and time are part of the record.",
			approved ? "" : ", but for the issue"));
	if (r->content_sha256[0])
		p->y += page_text(p, p->left, p->y, p->right - p->left, ALIGN_LEFT, &STYLE_NOTE,
				  words_say(c->w, "SHA-256 of what was signed: %s", r->content_sha256));
	if (c->options->sealed && c->options->root_fingerprint)
		p->y += page_text(p, p->left, p->y, p->right - p->left, ALIGN_LEFT, &STYLE_NOTE,
				  words_say(c->w, "SHA-256 of the seal\u2019s root: %s", c->options->root_fingerprint));
}
