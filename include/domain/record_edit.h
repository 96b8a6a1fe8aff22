/*
 * A test from opening to the last reading: what a technician does, in the order that keeps people and plant safe. Each of
 * these runs inside the caller's write transaction, judges the record's state itself, raises its version and writes the
 * ledger. id names the record; NOT_FOUND when there is none. CONFLICT, with a sentence that says what comes first, when
 * the step is out of turn or the record is signed. Text and scratch memory come from a.
 */
#ifndef DOMAIN_RECORD_EDIT_H
#define DOMAIN_RECORD_EDIT_H

#include "base/text.h"
#include "domain/record.h"
#include "metrology/format.h"
#include "store/run.h"

/* Either schedule_id, or instrument_id and procedure_id. */
struct record_opening {
	const char *schedule_id, *instrument_id, *procedure_id;
};

/*
 * Opens a record, with instrument and approved procedure version frozen. *was_open: the schedule had an open or returned
 * record, which is given instead. CONFLICT without an approved version, for an instrument of a kind that the procedure is
 * not for, and for a retired one.
 */
enum status record_open(struct db *db, const struct actor *actor, const struct record_opening *opening, struct arena *a,
			const char **id, bool *was_open, struct err *err);

enum status record_acknowledge(struct db *db, const struct actor *actor, const char *id, const char *key,
			       struct arena *a, struct err *err);

struct standard_choice {
	enum standard_role role;
	const char *standard_id;
};

/* Replaces the choice. INVALID at /standards/i/... for one that cannot be used; CONFLICT once there is a reading. */
enum status record_choose_standards(struct db *db, const struct actor *actor, const char *id,
				    const struct standard_choice *choices, size_t n, struct arena *a, struct err *err);

struct ambient {
	double temperature_c, humidity_percent, pressure_hpa; /* the last two NaN when not given */
};

enum status record_set_environment(struct db *db, const struct actor *actor, const char *id,
				   const struct ambient *ambient, struct arena *a, struct err *err);
/* NULL leaves a text as it is. */
enum status record_set_notes(struct db *db, const struct actor *actor, const char *id, const char *condition,
			     const char *remarks, struct arena *a, struct err *err);

struct check_answer {
	const char *answer;	     /* "yes", "no", "not_applicable" */
	const char *observed, *note; /* NULL without */
};

enum status record_answer_check(struct db *db, const struct actor *actor, const char *id, const char *key,
				const struct check_answer *answer, struct arena *a, struct err *err);

struct new_reading {
	enum run_kind run;
	size_t point;		  /* place in the run's list of points; must be the next one */
	const char *applied_text; /* as typed, decimal point; NULL: the set point */
	double applied;
	const char *observed_text;
	double observed;
	int64_t taken_at;	    /* 0: now */
	const char *client_verdict; /* what the tablet's own core said; NULL */
	double input_u, output_u;   /* standard uncertainties of means read from devices, in the instrument's units */
	const char *captured_json;  /* which devices said what, over which time; NULL when typed */
};

/*
 * A reading in two steps, so that the writer is not kept while the record is read and the reading judged: prepared on any
 * snapshot, written in the transaction. STALE when the record has changed between; then record_add_reading does both at
 * once. Starts the run with its first reading.
 */
struct prepared_reading {
	struct record r;
	struct stored_reading row;
	char reading_id[UUID_SIZE], run_id[UUID_SIZE], set_text[NUMBER_TEXT_SIZE];
	bool starts_run;
	json_t *entry; /* for the ledger */
};

enum status record_prepare_reading(struct db *db, const struct actor *actor, const char *id,
				   const struct new_reading *reading, struct arena *a, struct prepared_reading *out,
				   struct err *err);
enum status record_write_reading(struct db *db, const struct actor *actor, const struct prepared_reading *p,
				 struct err *err);
void record_drop_reading(struct prepared_reading *p);

enum status record_add_reading(struct db *db, const struct actor *actor, const char *id,
			       const struct new_reading *reading, struct arena *a, struct err *err);
/* Takes back the newest reading of the run in hand; the row stays. */
enum status record_undo_reading(struct db *db, const struct actor *actor, const char *id, const char *reading_id,
				struct arena *a, struct err *err);

struct new_dead_band {
	enum run_kind run;
	size_t place;				/* in the procedure's list of places */
	const char *rising_text, *falling_text; /* as typed */
	double rising, falling;			/* inputs that moved the output, in the input's unit */
};

/* Once every point of the run in hand is read. Replaces what was taken at that place. */
enum status record_put_dead_band(struct db *db, const struct actor *actor, const char *id,
				 const struct new_dead_band *taken, struct arena *a, struct err *err);

/* Says whether an adjustment was made, and what was done. "Made" is a fact and stays. */
enum status record_set_adjustment(struct db *db, const struct actor *actor, const char *id, bool made, const char *text,
				  struct arena *a, struct err *err);
/* Starts an as-left run; another attempt when the last one has readings, which stay on file. */
enum status record_start_as_left(struct db *db, const struct actor *actor, const char *id, struct arena *a,
				 struct err *err);

#endif
