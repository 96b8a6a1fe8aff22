/*
 * What the certificate says in words and figures: pure text from the record, nothing is drawn. Text is allocated from
 * struct words, of any length, so nothing is ever cut; whether memory sufficed is asked once, at the end.
 */
#ifndef REPORT_WORDS_H
#define REPORT_WORDS_H

#include <stdint.h>
#include "base/arena.h"
#include "domain/record.h"

#define WHEN_SIZE 32

struct words {
	struct arena arena;
	bool failed; /* memory was exhausted; some text is "" */
};

/* Formats; never NULL. */
const char *words_say(struct words *w, const char *fmt, ...) __attribute__((format(printf, 2, 3)));
/* Both with text between them, or the one there is, or "". NULL counts as "". */
const char *words_joined(struct words *w, const char *a, const char *between, const char *b);

char *words_time(int64_t ms, char out[WHEN_SIZE]); /* "2026-03-14 10:42:07 UTC"; an en dash for 0 */
char *words_date(int64_t ms, char out[WHEN_SIZE]); /* "2026-03-14" in UTC; an en dash for 0 */
/* As few decimals as say all of the number, at most max_decimals. */
int words_decimals(double v, int max_decimals);
/* The decimals a value was typed with; without text, those given. */
int words_typed_decimals(const char *text, int decimals);
/* Those of an expanded uncertainty: at least two digits (JCGM 100:2008, 7.2.6), and those given. */
int words_uncertainty_decimals(double expanded, int decimals);
/* The number with as few decimals as say it all, at most max_decimals: 0.0040 -> "0.004". out: NUMBER_TEXT_SIZE. */
char *words_number(double v, int max_decimals, char *out);

const char *words_verdict(enum verdict v);		   /* "pass", "conditional pass", ... */
const char *words_kind(struct words *w, const char *kind); /* "control_valve" -> "control valve" */
const char *words_run(enum run_kind k);			   /* "as found", "as left" */

/* "±1 % of span"; "the greater of ±0.5 °C and +1 / −0.5 % of reading"; "none set", also for NULL. */
const char *words_tolerance(struct words *w, const struct tolerance *t, const char *unit);
bool words_tolerances_differ(struct words *w, const struct tolerance *a, const struct tolerance *b);
const char *words_decision(struct words *w, const struct decision_rule *rule);
/* "Error permitted as found: ±1 % of span; as left: ±0.5 % of span." */
const char *words_limits(struct words *w, const struct record *r);
/* What the stated uncertainty is, or that none is stated. */
const char *words_uncertainty(const struct record *r);
/* "linear", "square root", "Pt100 (IEC 60751)", "thermocouple type K (IEC 60584-1)" */
const char *words_characteristic(struct words *w, const struct characteristic *c);
/* "4 to 20 mA → 0 to 100 %" */
const char *words_ranges(struct words *w, const struct frozen_instrument *i);
/* "9 readings: 7 inside the limits, 2 outside; largest error +1.34 % of span." */
const char *words_outcome(struct words *w, const struct record *r, const struct record_run *run);
/* What is wrong with a run; of one that calls for no adjustment first that, then how small it is. */
const char *words_diagnosis(struct words *w, const struct record_run *run);
/* words_switch.c: "0 to 20 bar"; "16 bar, rising; dead band 0.5 to 2 bar" */
const char *words_input_range(struct words *w, const struct frozen_instrument *i);
const char *words_switch(struct words *w, const struct frozen_instrument *i);
/* "3 actuations, all inside the limits; largest error of the set point +0.07 bar, mean dead band 1.11 bar." */
const char *words_switch_outcome(struct words *w, const struct record *r, const struct record_run *run);
/* "21.5 °C, 48 % relative humidity"; "" when not recorded. */
const char *words_environment(struct words *w, const struct record *r);

/* "Zero lowered by 1.2 % of span. (Maren Oldfield, 2026-03-14 10:40:00 UTC)"; "" when it was not decided. */
const char *words_adjustment(struct words *w, const struct record *r);
/* What the signature "performed" means: who corrects a record has not done the test again. Constant. */
const char *words_performed(const struct record *r);
/* What the other signatures mean. To issue is no signature: the words of who did it are for where nobody approved. Constant. */
const char *words_reviewed(void);
const char *words_approved(void);
const char *words_issued(void);
const char *words_voided(void);
/* Who took the readings that an amendment repeats, "Ida Holt, Ben Marsh"; NULL when it amends nothing. */
const char *words_testers(struct words *w, const struct record *r);
/* Checks answered other than with yes: what the test left out or met differently than its procedure says. */
const char *words_deviations(struct words *w, const struct record *r);

#endif
