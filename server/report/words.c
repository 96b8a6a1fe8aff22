#include "words.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include "base/time.h"
#include "metrology/format.h"

#define MINUS	"\u2212"
#define EN_DASH "\u2013"

const char *words_say(struct words *w, const char *fmt, ...)
{
	va_list args;
	int length;
	char *out;

	va_start(args, fmt);
	length = vsnprintf(NULL, 0, fmt, args);
	va_end(args);
	out = length < 0 ? NULL : arena_alloc(&w->arena, (size_t)length + 1);
	if (!out) {
		w->failed = true;
		return "";
	}
	va_start(args, fmt);
	vsnprintf(out, (size_t)length + 1, fmt, args);
	va_end(args);
	return out;
}

const char *words_joined(struct words *w, const char *a, const char *between, const char *b)
{
	bool has_a = a && *a, has_b = b && *b;

	return words_say(w, "%s%s%s", has_a ? a : "", has_a && has_b ? between : "", has_b ? b : "");
}

/* "2026-03-14T10:42:07.000Z" in parts. */
char *words_time(int64_t ms, char out[WHEN_SIZE])
{
	char text[TIME_TEXT_SIZE];

	time_to_text(ms, text);
	if (ms)
		snprintf(out, WHEN_SIZE, "%.10s %.8s UTC", text, text + 11);
	else
		snprintf(out, WHEN_SIZE, EN_DASH);
	return out;
}

char *words_date(int64_t ms, char out[WHEN_SIZE])
{
	char text[TIME_TEXT_SIZE];

	time_to_text(ms, text);
	if (ms)
		snprintf(out, WHEN_SIZE, "%.10s", text);
	else
		snprintf(out, WHEN_SIZE, EN_DASH);
	return out;
}

int words_decimals(double v, int max_decimals)
{
	int decimals = 0;

	while (decimals < max_decimals && fabs(round_decimals(v, decimals) - v) > 1e-12 * fabs(v))
		decimals++;
	return decimals;
}

char *words_number(double v, int max_decimals, char *out)
{
	return format_number(v, words_decimals(v, max_decimals), false, out);
}

int words_typed_decimals(const char *text, int decimals)
{
	int own = text ? decimals_of_text(text) : -1;

	return own >= 0 ? own : decimals;
}

int words_uncertainty_decimals(double expanded, int decimals)
{
	int own = decimals_for(expanded);

	return own > decimals ? own : decimals;
}

const char *words_verdict(enum verdict v)
{
	switch (v) {
	case VERDICT_PASS:
		return "pass";
	case VERDICT_CONDITIONAL_PASS:
		return "conditional pass";
	case VERDICT_CONDITIONAL_FAIL:
		return "conditional fail";
	case VERDICT_FAIL:
		return "fail";
	case VERDICT_NOT_JUDGED:
		break;
	}
	return "not judged";
}

const char *words_kind(struct words *w, const char *kind)
{
	char *text = arena_strdup(&w->arena, kind ? kind : "");

	if (!text) {
		w->failed = true;
		return "";
	}
	for (char *p = text; *p; p++)
		if (*p == '_')
			*p = ' ';
	return text;
}

const char *words_run(enum run_kind k)
{
	return k == RUN_AS_FOUND ? "as found" : "as left";
}

static const char *term_words(struct words *w, const struct tolerance_term *t, const char *unit)
{
	char plus[NUMBER_TEXT_SIZE], minus[NUMBER_TEXT_SIZE];
	const char *of = "% of the range\u2019s high end";

	if (t->kind == TOLERANCE_ABSOLUTE)
		of = unit;
	else if (t->kind == TOLERANCE_PERCENT_OF_SPAN)
		of = "% of span";
	else if (t->kind == TOLERANCE_PERCENT_OF_READING)
		of = "% of reading";
	words_number(t->plus, 6, plus);
	words_number(t->minus, 6, minus);
	if (strcmp(plus, minus) == 0)
		return words_say(w, "±%s\u00a0%s", plus, of);
	return words_say(w, "+%s / " MINUS "%s\u00a0%s", plus, minus, of);
}

const char *words_tolerance(struct words *w, const struct tolerance *t, const char *unit)
{
	const char *out = "";

	if (!t || t->n_terms == 0)
		return "none set";
	if (t->n_terms == 1)
		return term_words(w, &t->terms[0], unit);
	for (int i = 0; i < t->n_terms; i++)
		out = words_say(w, "%s%s%s", out,
				i == 0		    ? "" :
				i == t->n_terms - 1 ? " and " :
						      ", ",
				term_words(w, &t->terms[i], unit));
	return words_say(w, "the %s of %s",
			 t->join == JOIN_SUM ? "sum" :
			 t->n_terms == 2     ? "greater" :
					       "greatest",
			 out);
}

bool words_tolerances_differ(struct words *w, const struct tolerance *a, const struct tolerance *b)
{
	return strcmp(words_tolerance(w, a, ""), words_tolerance(w, b, "")) != 0;
}

/* One-sided risk of a reading exactly on the acceptance limit, u = U / 2: the normal distribution beyond 2 r. */
static double risk_percent(double guard_factor)
{
	return 50 * erfc(2 * guard_factor / sqrt(2));
}

const char *words_decision(struct words *w, const struct decision_rule *rule)
{
	char factor[NUMBER_TEXT_SIZE], risk[NUMBER_TEXT_SIZE];

	if (rule->kind == DECISION_SIMPLE)
		return "Simple acceptance (ILAC-G8:09/2019): pass when the error lies inside the limits or on them, otherwise fail. The "
		       "guard band is w\u00a0=\u00a00: a reading exactly on a limit is in truth outside with a probability of up to 50\u00a0%.";
	words_number(rule->guard_factor, 4, factor);
	format_number(risk_percent(rule->guard_factor), 1, false, risk);
	return words_say(
		w,
		"Guarded acceptance, four-way statement (ILAC-G8:09/2019), guard band w\u00a0=\u00a0%s\u00a0U. Pass: at least w inside the limits. "
		"Conditional pass: inside them, but nearer than w. Conditional fail: outside by no more than w. Fail: outside by more. "
		"A pass is wrong with a probability of no more than %s\u00a0%% at each limit.",
		factor, risk);
}

const char *words_limits(struct words *w, const struct record *r)
{
	const struct procedure_document *d = &r->procedure;
	const char *unit = r->instrument.output_unit, *found = words_tolerance(w, &d->as_found, unit),
		   *left = words_tolerance(w, &d->as_left, unit);
	const struct step *step = procedure_judged_step(d);
	const char *at = step && step->error_at == ERROR_AT_SET ?
				 " The error is that of the output at the set point, not at the input as applied." :
				 "";
	const char *adjust = d->adjust.n_terms ?
				     words_say(w, " Adjust limits: %s.", words_tolerance(w, &d->adjust, unit)) :
				     "";

	if (strcmp(found, left) == 0)
		return words_say(w, "Error permitted as found and as left: %s.%s%s", found, adjust, at);
	return words_say(w, "Error permitted as found: %s; as left: %s.%s%s", found, left, adjust, at);
}

/* True when a reading that stands here states an uncertainty. */
static bool uncertainty_stated(const struct record *r)
{
	for (size_t k = 0; k < r->n_runs; k++)
		for (size_t i = 0; i < r->runs[k].n_points; i++)
			if (r->runs[k].points[i].read && r->runs[k].points[i].reading.u > 0)
				return true;
	return false;
}

const char *words_uncertainty(const struct record *r)
{
	return uncertainty_stated(r) ?
		       "U is the expanded uncertainty of the error: the combined standard uncertainty times the coverage factor k\u00a0=\u00a02, for a "
		       "normal distribution a coverage probability of about 95\u00a0%. It contains the standards and the resolution of the readings "
		       "(JCGM 100:2008), not the drift after the test." :
		       "No uncertainty is stated: the record holds none for its readings.";
}

const char *words_characteristic(struct words *w, const struct characteristic *c)
{
	char text[CHARACTERISTIC_TEXT_SIZE];

	return words_say(w, "%s", characteristic_text(c, text));
}

const char *words_ranges(struct words *w, const struct frozen_instrument *i)
{
	char a[NUMBER_TEXT_SIZE], b[NUMBER_TEXT_SIZE], c[NUMBER_TEXT_SIZE], d[NUMBER_TEXT_SIZE];

	return words_say(w, "%s to %s %s \u2192 %s to %s %s", words_number(i->input.low, 6, a),
			 words_number(i->input.high, 6, b), i->input_unit, words_number(i->output.low, 6, c),
			 words_number(i->output.high, 6, d), i->output_unit);
}

static const char *counted(struct words *w, const struct record_run *run)
{
	static const char *const where[] = {"inside the limits", "inside the limits but within the guard band",
					    "outside the limits but within the guard band", "outside the limits",
					    "not judged"};
	size_t count[VERDICT_NOT_JUDGED + 1] = {0}, read = 0;
	const char *out = "";

	for (size_t i = 0; i < run->n_points; i++)
		if (run->points[i].read) {
			count[run->points[i].judged.verdict]++;
			read++;
		}
	if (count[VERDICT_NOT_JUDGED] == read)
		return words_say(w, "No limits are set, so the %zu readings are stated without a verdict", read);
	for (size_t v = 0; v <= VERDICT_NOT_JUDGED; v++)
		if (count[v] == read)
			return words_say(w, "%s %s",
					 read == 1 ? "The one reading" : words_say(w, "All %zu readings", read),
					 where[v]);
	for (size_t v = 0; v <= VERDICT_NOT_JUDGED; v++)
		if (count[v] > 0)
			out = words_say(w, "%s%s%zu %s", out, *out ? ", " : "", count[v], where[v]);
	return words_say(w, "%zu readings: %s", read, out);
}

/* "; largest dead band 0.31 % of the input span, outside its limit" */
static const char *dead_band_words(struct words *w, const struct record_run *run)
{
	const struct record_dead_band *d = run->dead_band;
	char largest[NUMBER_TEXT_SIZE];

	if (!d || !d->worst)
		return "";
	return words_say(w, "; largest dead band %s\u00a0%% of the input span%s",
			 format_number(d->worst->value_percent, record_dead_band_decimals(run), false, largest),
			 d->verdict == VERDICT_FAIL ? ", outside its limit" :
			 d->verdict == VERDICT_PASS ? ", inside its limit" :
						      "");
}

const char *words_outcome(struct words *w, const struct record *r, const struct record_run *run)
{
	const char *band = dead_band_words(w, run);
	char largest[NUMBER_TEXT_SIZE];

	if (run->switched)
		return words_switch_outcome(w, r, run);
	format_number(run->sum.max_error, record_percent_decimals(r, run), true, largest);
	if (run->complete)
		return words_say(w, "%s; largest error %s\u00a0%% of span%s.", counted(w, run), largest, band);
	return words_say(
		w, "%s; largest error %s\u00a0%% of span%s. Not every point of the procedure was taken: %zu of %zu.",
		counted(w, run), largest, band, run->n_read, run->n_points);
}

const char *words_diagnosis(struct words *w, const struct record_run *run)
{
	const struct diagnosis *d = &run->diagnosis;

	if (d->limits_set && !d->adjust && run->sum.verdict <= VERDICT_CONDITIONAL_PASS)
		return words_joined(w, run->advice, " ", run->sentence);
	return run->sentence;
}

const char *words_environment(struct words *w, const struct record *r)
{
	const struct {
		double value;
		const char *unit;
	} part[] = {{r->temperature_c, "°C"}, {r->humidity_percent, "% relative humidity"}, {r->pressure_hpa, "hPa"}};
	const char *out = "";

	for (size_t i = 0; r->has_environment && i < sizeof part / sizeof part[0]; i++) {
		char number[NUMBER_TEXT_SIZE];

		if (isfinite(part[i].value))
			out = words_say(w, "%s%s%s %s", out, *out ? ", " : "", words_number(part[i].value, 2, number),
					part[i].unit);
	}
	return out;
}

const char *words_performed(const struct record *r)
{
	return r->amends ? "Corrected the record" : "Performed the test";
}

const char *words_reviewed(void)
{
	return "Reviewed the record";
}

const char *words_approved(void)
{
	return "Approved for issue";
}

const char *words_issued(void)
{
	return "Issued the certificate";
}

const char *words_voided(void)
{
	return "Withdrew the certificate";
}

/* Is this the first reading of its person? */
static bool first_by(const struct record *r, size_t run, size_t point)
{
	const char *by = r->runs[run].points[point].by;

	for (size_t k = 0; k <= run; k++)
		for (size_t i = 0; i < (k == run ? point : r->runs[k].n_points); i++) {
			const struct record_point *q = &r->runs[k].points[i];

			if (q->read && q->by && !strcmp(q->by, by))
				return false;
		}
	return true;
}

const char *words_testers(struct words *w, const struct record *r)
{
	const char *out = NULL;

	for (size_t k = 0; r->amends && k < r->n_runs; k++)
		for (size_t i = 0; i < r->runs[k].n_points; i++) {
			const struct record_point *q = &r->runs[k].points[i];

			if (q->read && q->by && first_by(r, k, i))
				out = out ? words_joined(w, out, ", ", q->by) : q->by;
		}
	return out;
}

const char *words_adjustment(struct words *w, const struct record *r)
{
	char when[WHEN_SIZE];

	if (r->adjusted < 0)
		return "";
	if (r->adjusted == 0)
		return words_joined(w, "None was made.", " ", r->adjustment);
	return words_say(w, "%s (%s)", r->adjustment && *r->adjustment ? r->adjustment : "Made",
			 words_joined(w, r->adjusted_by, ", ", words_time(r->adjusted_at, when)));
}

const char *words_deviations(struct words *w, const struct record *r)
{
	const char *out = "";

	for (size_t i = 0; i < r->n_checks; i++) {
		const struct record_check *k = &r->checks[i];
		const char *answer;

		if (!k->answer || strcmp(k->answer, "yes") == 0)
			continue;
		answer = words_joined(w, strcmp(k->answer, "no") == 0 ? "no" : "not applicable", ", ", k->note);
		out = words_joined(w, out, "; ", words_say(w, "\u201c%s\u201d: %s", k->text, answer));
	}
	return *out ? words_say(w, "%s.", out) : "None recorded.";
}
