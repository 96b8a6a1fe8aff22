/* What the certificate says of a switch in words. */
#include "words.h"

#include <math.h>
#include <string.h>
#include "domain/spec_json.h"
#include "metrology/format.h"

static const char *dead_band_words(struct words *w, struct limits l, const char *unit)
{
	char low[NUMBER_TEXT_SIZE], high[NUMBER_TEXT_SIZE];

	words_number(l.low, 6, low);
	words_number(l.high, 6, high);
	if (isnan(l.low) && isnan(l.high))
		return "";
	if (isnan(l.low))
		return words_say(w, "dead band at most %s %s", high, unit);
	if (isnan(l.high))
		return words_say(w, "dead band at least %s %s", low, unit);
	return words_say(w, "dead band %s to %s %s", low, high, unit);
}

const char *words_switch(struct words *w, const struct frozen_instrument *i)
{
	const struct switch_points *s = &i->switch_points;
	char number[NUMBER_TEXT_SIZE];
	const char *out = words_say(w, "%s %s, %s", words_number(s->set, 6, number), i->input_unit,
				    direction_word(s->acts_on));

	if (!isnan(s->reset))
		out = words_say(w, "%s; reset point %s %s", out, words_number(s->reset, 6, number), i->input_unit);
	return words_joined(w, out, "; ", dead_band_words(w, s->dead_band, i->input_unit));
}

const char *words_input_range(struct words *w, const struct frozen_instrument *i)
{
	char low[NUMBER_TEXT_SIZE], high[NUMBER_TEXT_SIZE];

	return words_say(w, "%s to %s %s", words_number(i->input.low, 6, low), words_number(i->input.high, 6, high),
			 i->input_unit);
}

static enum verdict worse(enum verdict a, enum verdict b)
{
	if (a == VERDICT_NOT_JUDGED || b == VERDICT_NOT_JUDGED)
		return a == VERDICT_NOT_JUDGED ? b : a;
	return a > b ? a : b;
}

/* "3 actuations, 1 of them outside its limits" */
static const char *counted(struct words *w, const struct record_switch *s)
{
	size_t outside = 0, judged = 0;
	const char *all = words_say(w, "%zu %s", s->n, s->n == 1 ? "actuation" : "actuations");

	for (size_t i = 0; i < s->n; i++) {
		const struct judged_actuation *j = &s->judged[i];
		enum verdict v = worse(j->set_verdict, worse(j->reset_verdict, j->dead_band_verdict));

		judged += v != VERDICT_NOT_JUDGED;
		outside += v == VERDICT_FAIL || v == VERDICT_CONDITIONAL_FAIL;
	}
	if (judged == 0)
		return words_say(w, "%s, stated without a verdict: no limits are set", all);
	if (outside == 0)
		return words_say(w, "%s, %s inside the limits", all, s->n == 1 ? "it is" : "all");
	if (outside == s->n)
		return words_say(w, "%s, %s outside the limits", all, s->n == 1 ? "it is" : "all");
	return words_say(w, "%s, %zu of them outside the limits", all, outside);
}

const char *words_switch_outcome(struct words *w, const struct record *r, const struct record_run *run)
{
	const struct record_switch *s = run->switched;
	struct switch_manner m = record_switch_manner(r, run);
	char largest[NUMBER_TEXT_SIZE], band[NUMBER_TEXT_SIZE];
	const char *out = words_say(w, "%s; largest error of the set point %s\u00a0%s", counted(w, s),
				    format_number(s->sum.max_set_error, m.error_decimals, true, largest), m.unit);

	if (!isnan(s->sum.dead_band))
		out = words_say(w, "%s, mean dead band %s\u00a0%s", out,
				format_number(s->sum.dead_band, m.error_decimals, false, band), m.unit);
	if (run->complete)
		return words_say(w, "%s.", out);
	return words_say(w, "%s. Not every actuation of the procedure was read to its end: %zu of %zu readings.", out,
			 run->n_read, run->n_points);
}
