/* What a switch's actuations say, in one plain English sentence each. */
#include "metrology/diagnosis.h"
#include "metrology/format.h"
#include "metrology/switch.h"
#include "number.h"
#include "words.h"

#define PLUS_MINUS "\xc2\xb1"

static void say_amount(struct words *w, const struct switch_manner *m, double v)
{
	say_quantity(w, fabs(v), m->error_decimals, m->unit);
}

static bool shows_nothing(const struct switch_manner *m, double v)
{
	return round_decimals(v, m->error_decimals) == 0;
}

/* Early: before the input has come to the set point. */
static bool is_early(const struct switch_manner *m, double error)
{
	return m->spec->acts_on == RISING ? error < 0 : error > 0;
}

static void say_limits(struct words *w, const struct switch_manner *m, struct limits l)
{
	say(w, ", limit ");
	if (round_decimals(l.high, m->error_decimals) == round_decimals(-l.low, m->error_decimals)) {
		say(w, PLUS_MINUS);
		say_quantity(w, l.high, m->error_decimals, m->unit);
		return;
	}
	say_number(w, l.low, m->error_decimals, true);
	say(w, " to ");
	say_number(w, l.high, m->error_decimals, true);
	say(w, " ");
	say(w, m->unit);
}

static bool dead_band_is_limited(const struct switch_manner *m)
{
	return !is_nan(m->spec->dead_band.low) || !is_nan(m->spec->dead_band.high);
}

/* "allowed 0.50 to 1.50 bar", "allowed at most 1.50 bar", "allowed at least 0.50 bar" */
static void say_allowed_dead_band(struct words *w, const struct switch_manner *m)
{
	struct limits l = m->spec->dead_band;

	say(w, "allowed ");
	if (is_nan(l.low) || is_nan(l.high)) {
		say(w, is_nan(l.low) ? "at most " : "at least ");
		say_amount(w, m, is_nan(l.low) ? l.high : l.low);
		return;
	}
	say_number(w, l.low, m->error_decimals, false);
	say(w, " to ");
	say_amount(w, m, l.high);
}

static void say_verdict(struct words *w, enum verdict v)
{
	say(w, ": ");
	say(w, verdict_text(v));
}

static bool is_outside(enum verdict v)
{
	return v == VERDICT_FAIL || v == VERDICT_CONDITIONAL_FAIL;
}

/* A dead band below zero: it went back before the input had turned. */
static void say_going_back(struct words *w, const struct switch_manner *m, double width)
{
	if (round_decimals(width, m->error_decimals) < 0) {
		say(w, "goes back ");
		say_amount(w, m, width);
		say(w, " before it acts");
		return;
	}
	say(w, "goes back after ");
	say_amount(w, m, width);
}

void switch_sentence(const struct switch_manner *m, const struct switch_summary *sum, size_t n, char *out)
{
	struct words w = words_begin(out);
	bool repeats = !is_nan(sum->set_repeatability), back = !is_nan(sum->dead_band);

	if (n == 0) {
		say(&w, "It has not acted yet.");
		return;
	}
	if (shows_nothing(m, sum->set_error)) {
		say(&w, "Acts at its set point");
	} else {
		say(&w, "Acts ");
		say_amount(&w, m, sum->set_error);
		say(&w, is_early(m, sum->set_error) ? " early" : " late");
	}
	if (repeats) {
		say(&w, back ? ", repeats within " : " and repeats within ");
		say_amount(&w, m, sum->set_repeatability);
	}
	if (back) {
		say(&w, repeats ? ", and " : " and ");
		say_going_back(&w, m, sum->dead_band);
		if (is_outside(sum->dead_band_verdict)) {
			say(&w, " (");
			say_allowed_dead_band(&w, m);
			say(&w, ")");
		}
	}
	say(&w, ".");
}

/* "Set it 0.12 bar higher (0.60 % of span)" */
static void say_shift(struct words *w, const struct switch_manner *m, double shift)
{
	say(w, "Set it ");
	say_amount(w, m, shift);
	say(w, shift < 0 ? " lower" : " higher");
	say(w, " (");
	say_percent(w, shift / range_span(m->spec->input) * 100);
	say(w, ")");
}

/* What turning the set screw does not mend. */
static void say_what_shifting_leaves(struct words *w, const struct switch_manner *m, const struct switch_diagnosis *d,
				     const struct switch_summary *sum)
{
	struct limits l = m->spec->dead_band;

	if (is_outside(sum->dead_band_verdict)) {
		bool wide = !is_nan(l.high) && sum->dead_band > l.high;

		say(w, wide ? "The dead band is too wide" : "The dead band is out of what is allowed");
		say(w, ": set it where it can be set, otherwise replace the switch");
		if (shows_nothing(m, d->shift)) {
			say(w, ".");
			return;
		}
		say(w, ". ");
		say_shift(w, m, d->shift);
		say(w, ".");
		return;
	}
	say(w, "It does not repeat well enough: set right on the mean, the error would still be up to ");
	say_amount(w, m, d->remaining);
	say(w, ". Look for dirt, wear or a loose screw; replace it if that does not help.");
}

void switch_advice(const struct switch_manner *m, const struct switch_diagnosis *d, const struct switch_summary *sum,
		   char *out)
{
	struct words w = words_begin(out);

	if (!d->limits_set) {
		say(&w, "No limits are set, so nothing says whether to adjust.");
	} else if (is_nan(d->shift)) {
		say(&w, "It has not acted yet.");
	} else if (!d->adjust) {
		say(&w, d->call == CALL_AS_LEFT_LIMITS ? "No further adjustment" : "No adjustment");
		say(&w, ": every actuation is inside the ");
		say(&w, d->call == CALL_ADJUST_LIMITS ? "adjust " : d->call == CALL_AS_LEFT_LIMITS ? "as-left " : "");
		say(&w, "limits.");
	} else if (!d->shift_helps || shows_nothing(m, d->shift)) {
		say_what_shifting_leaves(&w, m, d, sum);
	} else {
		say_shift(&w, m, d->shift);
		say(&w, ", then run as left: the error should be at most ");
		say_amount(&w, m, d->remaining);
		say(&w, ".");
	}
}

void switch_set_sentence(const struct switch_manner *m, const struct actuation *a, const struct judged_actuation *j,
			 const struct switch_summary *sum, char *out)
{
	struct words w = words_begin(out);

	say(&w, "Acted at ");
	say_quantity(&w, a->set, m->decimals, m->unit);
	say(&w, ": ");
	if (shows_nothing(m, j->set_error)) {
		say(&w, "right on");
	} else {
		say_amount(&w, m, j->set_error);
		say(&w, is_early(m, j->set_error) ? " early" : " late");
	}
	if (is_nan(sum->limits.low))
		say(&w, ", no limit is set");
	else
		say_limits(&w, m, sum->limits);
	say_verdict(&w, j->set_verdict);
}

void switch_reset_sentence(const struct switch_manner *m, const struct actuation *a, const struct judged_actuation *j,
			   const struct switch_summary *sum, char *out)
{
	struct words w = words_begin(out);
	enum verdict v = j->reset_verdict;

	if (v == VERDICT_NOT_JUDGED || (j->dead_band_verdict != VERDICT_NOT_JUDGED && j->dead_band_verdict > v))
		v = j->dead_band_verdict;
	say(&w, "Went back at ");
	say_quantity(&w, a->reset, m->decimals, m->unit);
	say(&w, ": ");
	if (!is_nan(j->reset_error)) {
		if (shows_nothing(m, j->reset_error)) {
			say(&w, "right on");
		} else {
			say_amount(&w, m, j->reset_error);
			say(&w, j->reset_error < 0 ? " below its reset point" : " above its reset point");
		}
		if (!is_nan(sum->reset_limits.low))
			say_limits(&w, m, sum->reset_limits);
		say(&w, "; ");
	}
	say(&w, "dead band ");
	say_number(&w, j->dead_band, m->error_decimals, false);
	say(&w, " ");
	say(&w, m->unit);
	if (dead_band_is_limited(m)) {
		say(&w, ", ");
		say_allowed_dead_band(&w, m);
	} else if (is_nan(j->reset_error)) {
		say(&w, ", no limit is set");
	}
	say_verdict(&w, v);
}
