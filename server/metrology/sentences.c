/* What the numbers say, in one plain English sentence each. */
#include "metrology/diagnosis.h"
#include "metrology/format.h"
#include "judge.h"
#include "number.h"
#include "words.h"

#define SHARE_NAMED   0.15 /* a cause with less than this is not worth naming beside a larger one */
#define CAUSES_NAMED  3	   /* at most, but for a zero and span told together */
#define SHARE_MOST    0.5  /* what has less is not "mostly" it */
#define BESIDE	      0.33 /* zero and span are told together from this ratio of their sizes on */
#define RATIO_QUIET   0.1  /* errors below a tenth of their limits are nothing to talk about */
#define PERCENT_QUIET 0.05 /* the same in % of span where no limit is set */

static const char *side(double v)
{
	return v < 0 ? "low" : "high";
}

const char *verdict_word(enum verdict v)
{
	static const char *const words[] = {"pass", "conditional_pass", "conditional_fail", "fail", "not_judged"};

	return words[v];
}

const char *verdict_text(enum verdict v)
{
	static const char *const words[] = {
		"inside", "inside, within the guard band", "outside, within the guard band", "outside", "not judged",
	};

	return words[v];
}

/* The causes that a sentence names. Zero and span name each other's share of a line when neither is small beside the other. */
struct named {
	enum cause cause[CAUSES];
	int n;
};

static bool is_named(const struct named *named, enum cause c)
{
	for (int i = 0; i < named->n; i++)
		if (named->cause[i] == c)
			return true;
	return false;
}

static void name(struct named *named, enum cause c)
{
	if (!is_named(named, c))
		named->cause[named->n++] = c;
}

static void name_causes(const struct diagnosis *d, int at_most, struct named *named)
{
	double zero = fabs(d->size[CAUSE_ZERO]), span = fabs(d->size[CAUSE_SPAN]);
	bool together = smaller(zero, span) >= BESIDE * larger(zero, span);

	named->n = 0;
	for (int i = 0; i < at_most; i++) {
		enum cause c = d->order[i];

		if (i > 0 && d->share[c] < SHARE_NAMED && !(i == 1 && d->share[d->order[0]] < SHARE_MOST))
			break;
		name(named, c);
		if (together && c == CAUSE_ZERO)
			name(named, CAUSE_SPAN);
		if (together && c == CAUSE_SPAN)
			name(named, CAUSE_ZERO);
	}
}

static bool shows_nothing(double percent, int decimals)
{
	return round_decimals(percent, decimals) == 0;
}

/* Two figures side by side have the same decimals: those of the smaller, but three only where both are small. */
static int decimals_of_two(double a, double b)
{
	int small = percent_text_decimals(smaller(fabs(a), fabs(b)));
	int large = percent_text_decimals(larger(fabs(a), fabs(b)));

	if (shows_nothing(smaller(fabs(a), fabs(b)), small))
		return large;
	return small > 2 && large < 3 ? 2 : small;
}

static void say_sided(struct words *w, double percent, int decimals)
{
	say_number(w, fabs(percent), decimals, false);
	say(w, " % of span ");
	say(w, side(percent));
}

/* "1.2 % of span high at every point" only when every reading is, and then from the smallest to the largest. */
static void say_zero(struct words *w, const struct diagnosis *d)
{
	double most = fabs(d->lowest) > fabs(d->highest) ? d->lowest : d->highest;
	double least = most == d->lowest ? d->highest : d->lowest;
	int decimals = decimals_of_two(least, most);

	say(w, "the output is ");
	if (least * most <= 0 || shows_nothing(least, decimals)) {
		say_sided(w, d->mean, percent_text_decimals(d->mean));
		say(w, " on average");
		return;
	}
	if (round_decimals(least, decimals) != round_decimals(most, decimals)) {
		say_number(w, fabs(least), decimals, false);
		say(w, " to ");
	}
	say_sided(w, most, decimals);
	say(w, " at every point");
}

static void say_end(struct words *w, double percent, int decimals)
{
	if (shows_nothing(percent, decimals))
		say(w, "right");
	else
		say_sided(w, percent, decimals);
}

/* The averages at both ends. */
static void say_line(struct words *w, const struct evaluation *e)
{
	double first = e->zero_error, last = e->zero_error + e->span_error;
	int decimals = decimals_of_two(first, last);

	say(w, "the output is ");
	say_end(w, first, decimals);
	say(w, " at the lowest point and ");
	say_end(w, last, decimals);
	say(w, " at the highest");
}

static void say_cause(struct words *w, const struct diagnosis *d, enum cause c)
{
	switch (c) {
	case CAUSE_CURVATURE:
		say(w, "in between it lies up to ");
		say_percent(w, d->bend);
		say(w,
		    d->bend < 0 ? " below the line between the end points" : " above the line between the end points");
		break;
	case CAUSE_HYSTERESIS:
		say(w, "rising and falling differ by up to ");
		say_percent(w, d->size[c]);
		break;
	default:
		say(w, "the readings spread by ");
		say_percent(w, d->size[c]);
		say(w, " (standard deviation) without a pattern");
		break;
	}
}

static void say_named(struct words *w, const struct diagnosis *d, const struct evaluation *e, const struct named *named)
{
	bool span = is_named(named, CAUSE_SPAN) && !is_nan(e->span_error), line_said = false;
	int said = 0, clauses = named->n - (is_named(named, CAUSE_ZERO) && is_named(named, CAUSE_SPAN));

	for (int i = 0; i < named->n; i++) {
		enum cause c = named->cause[i];
		bool of_line = c == CAUSE_ZERO || c == CAUSE_SPAN;

		if (of_line && line_said)
			continue;
		if (said > 0)
			say(w, said == clauses - 1 ? ", and " : ", ");
		if (of_line && span)
			say_line(w, e);
		else if (of_line)
			say_zero(w, d);
		else
			say_cause(w, d, c);
		line_said = line_said || of_line;
		said++;
	}
}

static void say_headline(struct words *w, const struct named *named)
{
	static const char *const alone[CAUSES] = {"a zero shift", "a span error", "curvature", "hysteresis", "scatter"};
	static const char *const first[CAUSES] = {"Zero shift", "Span error", "Curvature", "Hysteresis", "Scatter"};
	static const char *const next[CAUSES] = {"zero shift", "span error", "curvature", "hysteresis", "scatter"};

	say(w, named->n == 1 ? "Mostly " : "");
	say(w, (named->n == 1 ? alone : first)[named->cause[0]]);
	for (int i = 1; i < named->n; i++) {
		say(w, i == named->n - 1 ? " and " : ", ");
		say(w, next[named->cause[i]]);
	}
	say(w, ": ");
}

static bool nothing_stands_out(const struct evaluation *e)
{
	if (!is_nan(e->worst_ratio))
		return e->worst_ratio < RATIO_QUIET;
	return fabs(e->max_error) < PERCENT_QUIET;
}

void diagnosis_sentence(const struct diagnosis *d, const struct evaluation *e, char out[SENTENCE_SIZE])
{
	bool quiet = d->limits_set && !d->adjust && e->verdict <= VERDICT_CONDITIONAL_PASS;
	struct words w = words_begin(out);
	struct named named;

	if (is_nan(e->max_error)) {
		say(&w, "There is no reading to judge.");
		return;
	}
	if (e->max_error == 0) {
		say(&w, "No error at any point.");
		return;
	}
	if (nothing_stands_out(e) || quiet) {
		say(&w, nothing_stands_out(e) ? "Nothing stands out: the largest error is " : "The largest error is ");
		say_percent(&w, e->max_error);
	}
	if (!nothing_stands_out(e)) {
		name_causes(d, quiet ? 1 : CAUSES_NAMED, &named);
		if (quiet)
			say(&w, "; ");
		else
			say_headline(&w, &named);
		say_named(&w, d, e, &named);
	}
	say(&w, ".");
}

/* How the advice writes amounts: the output's unit, and for a linear instrument what it is at the input. */
struct manner {
	const struct test_setup *setup;
	const char *output_unit, *input_unit; /* input_unit NULL: leave it out */
	int output_decimals, input_decimals;
};

static bool same(const char *a, const char *b)
{
	while (*a && *a == *b) {
		a++;
		b++;
	}
	return *a == *b;
}

/* As many decimals as asked for, more where they would show nothing. */
static int telling_decimals(double v, int decimals)
{
	int needed = decimals_for(v);

	if (decimals < 0)
		return needed;
	if (v != 0 && round_decimals(v, decimals) == 0)
		return needed;
	return decimals < needed && needed <= decimals + 2 ? needed : decimals;
}

static void say_amount(struct words *w, const struct manner *m, double output_amount)
{
	double percent = output_amount / range_span(m->setup->output) * 100, amount = fabs(output_amount);
	double at_input = fabs(percent / 100 * range_span(m->setup->input));
	bool is_percent = same(m->output_unit, "%") && fabs(range_span(m->setup->output)) == 100;
	bool input = m->input_unit && m->setup->characteristic.kind == CHARACTERISTIC_LINEAR;

	if (is_percent)
		say_percent(w, percent);
	else
		say_quantity(w, amount, telling_decimals(amount, m->output_decimals), m->output_unit);
	if (is_percent && !input)
		return;
	say(w, " (");
	if (!is_percent)
		say_percent(w, percent);
	if (input) {
		say(w, is_percent ? "" : ", ");
		say_quantity(w, at_input, telling_decimals(at_input, m->input_decimals), m->input_unit);
		say(w, " at the input");
	}
	say(w, ")");
}

static void say_trim(struct words *w, const struct diagnosis *d, const struct manner *m, bool capital)
{
	if (d->zero_trim != 0) {
		say(w, d->zero_trim < 0 ? (capital ? "Lower" : "lower") : (capital ? "Raise" : "raise"));
		say(w, " the zero by ");
		say_amount(w, m, d->zero_trim);
	}
	if (d->span_trim != 0) {
		bool begins = capital && d->zero_trim == 0, shorter = d->span_trim * range_span(m->setup->output) < 0;

		say(w, d->zero_trim != 0 ? " and " : "");
		/* a range that falls is made shorter by a positive trim */
		say(w, shorter ? (begins ? "Reduce" : "reduce") : (begins ? "Increase" : "increase"));
		say(w, " the span by ");
		say_amount(w, m, d->span_trim);
	}
}

static enum cause what_trimming_leaves(const struct diagnosis *d)
{
	for (int i = 0; i < CAUSES; i++)
		if (d->order[i] != CAUSE_ZERO && d->order[i] != CAUSE_SPAN)
			return d->order[i];
	return CAUSE_SCATTER;
}

static void say_what_trimming_leaves(struct words *w, const struct diagnosis *d, const struct manner *m)
{
	enum cause c = what_trimming_leaves(d);
	bool all = d->share[CAUSE_ZERO] + d->share[CAUSE_SPAN] < SHARE_NAMED;

	say(w, all ? "Trimming will not help: " : "Trimming alone will not do: ");
	say_cause(w, d, c);
	if (c == CAUSE_HYSTERESIS)
		say(w, ". Find the friction or play before trimming");
	else if (c == CAUSE_CURVATURE)
		say(w, ". Check the characteristic that is set");
	else
		say(w, ". Find what makes the readings unsteady");
	if (!all && (d->zero_trim != 0 || d->span_trim != 0)) {
		say(w, ", then ");
		say_trim(w, d, m, false);
	}
	say(w, ".");
}

void advice_sentence_with_input(const struct diagnosis *d, const struct test_setup *setup, const char *output_unit,
				int output_decimals, const char *input_unit, int input_decimals,
				char out[SENTENCE_SIZE])
{
	struct manner m = {setup, output_unit, input_unit, output_decimals, input_decimals};
	struct words w = words_begin(out);

	if (!d->limits_set) {
		say(&w, "No limits are set, so nothing says whether to adjust.");
	} else if (is_nan(d->predicted_max_error)) {
		say(&w, "There is no reading to judge.");
	} else if (!d->adjust) {
		say(&w, d->call == CALL_AS_LEFT_LIMITS ? "No further adjustment" : "No adjustment");
		say(&w, ": every error is inside the ");
		say(&w, d->call == CALL_ADJUST_LIMITS ? "adjust " : d->call == CALL_AS_LEFT_LIMITS ? "as-left " : "");
		say(&w, "limits.");
	} else if (!d->trim_helps) {
		say_what_trimming_leaves(&w, d, &m);
	} else {
		say_trim(&w, d, &m, true);
		say(&w, ", then run as left: the largest error should be about ");
		say_percent(&w, d->predicted_max_error);
		say(&w, ".");
	}
}

void advice_sentence(const struct diagnosis *d, const struct test_setup *setup, const char *output_unit, int decimals,
		     char out[SENTENCE_SIZE])
{
	advice_sentence_with_input(d, setup, output_unit, decimals, NULL, 0, out);
}

static void say_limits(struct words *w, struct limits percent, int decimals)
{
	say(w, ", limit ");
	if (round_decimals(percent.high, decimals) == round_decimals(-percent.low, decimals)) {
		say(w, "\xc2\xb1");
		say_number(w, percent.high, decimals, false);
	} else {
		say_number(w, percent.low, decimals, true);
		say(w, " to ");
		say_number(w, percent.high, decimals, true);
	}
	say(w, " %: ");
}

void reading_sentence(const struct test_setup *setup, const struct reading *r, const struct judged_reading *j,
		      const char *input_unit, const char *output_unit, int input_decimals, int output_decimals,
		      char out[SENTENCE_SIZE])
{
	double unit = fabs(range_span(setup->output)) / 100, error = j->error_percent, limit;
	struct words w = words_begin(out);
	struct limits percent;
	int decimals;

	if (unit == 0)
		unit = NOT_A_NUMBER; /* a span too small to have a hundredth */
	percent.low = j->limits.low / unit;
	percent.high = j->limits.high / unit;
	limit = error < 0 ? -percent.low : percent.high;
	decimals = decimals_for(is_nan(limit) || limit == 0 ? error : limit);
	decimals = judged_percent_decimals(j, setup->output, decimals < 1 ? 1 : decimals);
	say_quantity(&w, is_nan(r->applied) ? r->set : r->applied, input_decimals, input_unit);
	say(&w, " \xe2\x86\x92 ");
	say_quantity(&w, r->observed, output_decimals, output_unit);
	say(&w, ": ");
	if (is_nan(error)) {
		say(&w, verdict_text(VERDICT_NOT_JUDGED));
		return;
	}
	if (round_decimals(error, decimals) == 0) {
		say(&w, "right on");
	} else {
		say_number(&w, fabs(error), decimals, false);
		say(&w, " % of span ");
		say(&w, side(error));
	}
	if (is_nan(limit)) {
		say(&w, ", no limit is set: ");
		say(&w, verdict_text(j->verdict));
		return;
	}
	say_limits(&w, percent, decimals);
	say(&w, verdict_text(j->verdict));
}
