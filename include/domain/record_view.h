/* What follows from a loaded record: what is missing, who may do what, which standards could be chosen, how to wire it. */
#ifndef DOMAIN_RECORD_VIEW_H
#define DOMAIN_RECORD_VIEW_H

#include "domain/record.h"
#include "metrology/uncertainty.h"

#define RECORD_TEXT_SIZE 400

struct record_todo {
	enum record_phase phase;     /* prepare .. as_left */
	char text[RECORD_TEXT_SIZE]; /* one sentence */
};

/* More than a record can have: cautions and checks come as one line each kind, a "no" as one each. */
#define RECORD_TODO_MAX 64

/* What must happen before it can be signed as performed, in order; the first one's phase is the record's. */
size_t record_to_do(const struct record *r, struct record_todo out[RECORD_TODO_MAX]);

enum record_act {
	ACT_EDIT,
	ACT_SIGN_PERFORMED,
	ACT_SIGN_REVIEWED,
	ACT_SIGN_APPROVED,
	ACT_RETURN,
	ACT_VOID,
	ACT_ISSUE,
	ACT_AMEND,
	RECORD_ACTS
};

/* May this person do this to the record as it stands? */
bool record_may(const struct record *r, const struct actor *actor, enum record_act act);
const char *record_act_word(enum record_act act);

/* U and k of the standard chosen for a role, in the instrument's unit; expanded 0 when none is chosen. */
struct reference record_reference(const struct record *r, enum standard_role role);
bool record_has_readings(const struct record *r);
/* By the last run, judged: as left, or as found when nothing was adjusted. */
bool record_left_inside(const struct record *r);
/* The person of the last "performed" since the last return; NULL when it is not performed. */
const struct record_signature *record_performer(const struct record *r);
/* The same for "reviewed", "approved" and "voided". */
const struct record_signature *record_reviewer(const struct record *r);
const struct record_signature *record_approver(const struct record *r);
const struct record_signature *record_voider(const struct record *r);
const char *standard_role_word(enum standard_role role);

struct standard_candidate {
	const char *id, *code, *name;
	const char *valid_until;				 /* NULL without a calibration */
	double low, high, expanded_uncertainty, coverage_factor; /* in unit; NaN without a calibration */
	const char *unit;
	const char *why_not; /* NULL: it can be used today */
};

/* The standards of the right dimension for a role, those that can be used first; *out from a. */
enum status record_candidates(struct db *db, const struct record *r, enum standard_role role, struct arena *a,
			      struct standard_candidate **out, size_t *n, struct err *err);
/* Why this standard cannot be used for the role today, in words; NULL when it can. */
struct standard;
const char *record_standard_refusal(const struct record *r, enum standard_role role, const struct standard *s,
				    struct arena *a);

/* "4 to 20 mA": no more decimals than the ends have, three digits of the span at most. From a. */
const char *record_shown_range(double low, double high, const char *unit, struct arena *a);

struct wire {
	const char *from, *to, *note; /* note "" without */
};

#define WIRES_MAX 8

struct wiring {
	const char *source; /* what drives the input, and what reads the output */
	struct wire wires[WIRES_MAX];
	size_t n_wires;
	struct loop_budget budget; /* with instrument.has_loop, at 20 mA */
	const char *sentence;	   /* what the budget means; NULL without a loop */
};

/* Text from a or constant. */
void record_wiring(const struct record *r, struct arena *a, struct wiring *out);

#endif
