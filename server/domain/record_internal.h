/* What the files of the test record share: the store's rows of one record, and the steps from them to struct record. */
#ifndef DOMAIN_RECORD_INTERNAL_H
#define DOMAIN_RECORD_INTERNAL_H

#include "domain/record.h"
#include "domain/record_view.h"
#include "store/dead_band.h"
#include "store/record_parts.h"
#include "store/run.h"
#include "store/standard.h"
#include "store/test_record.h"

struct record_rows {
	struct test_record row;
	struct acknowledgement *answers;
	size_t n_answers;
	struct standard_use *uses;
	size_t n_uses;
	struct environment environment;
	bool has_environment;
	struct run runs[2];		    /* those that count */
	struct stored_reading *readings[2]; /* of runs[i] */
	size_t n_readings[2];
	struct stored_dead_band *dead_bands[2]; /* of runs[i]; read where the procedure asks for them */
	size_t n_dead_bands[2];
	size_t n_runs;
};

/* record_load without verdicts, diagnosis and content_sha256, which only what is shown and signed needs. */
enum status record_load_for_edit(struct db *db, const char *id, struct arena *a, struct record *out, struct err *err);
enum status record_rows_read(struct db *db, const char *id, struct arena *a, struct record_rows *rows, struct err *err);

/* record_frozen.c: the frozen documents, from their JSON. */
enum status frozen_instrument_read(json_t *json, struct arena *a, struct frozen_instrument *out, struct err *err);
json_t *frozen_standard(const struct standard *s); /* new reference */
/* The parts of out that a frozen standard says; the need it was chosen for is left alone. */
void frozen_standard_read(const json_t *json, struct arena *a, struct record_standard *out);

/*
 * frozen_cache.c: the same document is read again with each reading of a test and by all tests of a procedure version, so the
 * newest FROZEN_KEPT of them stay read, for all threads, found by their text. What is returned lives as long as the arena and
 * must not be changed; json is borrowed. FAILED: the text is not such a document.
 */
#define FROZEN_KEPT 96

struct frozen_procedure {
	const char *code, *approved_by; /* NULL */
	int number;
	int64_t approved_at; /* ms; 0: unknown */
	struct procedure_document document;
};

enum status frozen_instrument_of(const char *text, struct arena *a, const struct frozen_instrument **out, json_t **json,
				 struct err *err);
enum status frozen_procedure_of(const char *text, struct arena *a, const struct frozen_procedure **out, json_t **json,
				struct err *err);
enum status frozen_standard_of(const char *text, struct arena *a, const struct record_standard **out, struct err *err);

/* record_judge.c: points and readings, the runs' rows taken by their kind; then what they say. */
enum status record_lay_out(struct record *r, const struct record_rows *rows, struct arena *a, struct err *err);
enum status record_judge(struct record *r, struct arena *a, struct err *err);

/* record_switch.c: the same for a switch step, whose runs hold actuations. */
bool record_is_switch(const struct record *r);
/* Judges at the input: output, its unit and the characteristic become the input's. */
void record_switch_at_input(struct frozen_instrument *i);
/* Makes run->switched, once its points are laid out. */
enum status record_switch_begin(const struct record *r, struct record_run *run, struct arena *a, struct err *err);
/* The verdict on one of its points, which has been read, by what has acted so far. */
enum verdict record_switch_verdict_on(struct record_run *run, size_t point);
void record_switch_judge(const struct record *r, struct record_run *run);
/* INVALID at /observed: it cannot have gone back before it acted. Of other points, OK. */
enum status record_switch_must_go_back(const struct record *r, const struct record_run *run, size_t point,
				       const struct stored_reading *row, struct err *err);

/* record_dead_band.c: what a points step may ask for beside its points. */
enum status record_dead_band_rows(struct db *db, const struct record *r, struct record_rows *rows, struct arena *a,
				  struct err *err);
/* Makes run->dead_band, where the procedure asks for it, from list. */
enum status record_dead_band_lay(const struct record *r, struct record_run *run, const struct stored_dead_band *list,
				 size_t n, struct arena *a, struct err *err);
/* Once the readings are judged: verdict, worst place, and what the run's sentence says of it. */
void record_dead_band_judge(const struct record *r, struct record_run *run);

/* Standard uncertainty of the error there, with the chosen standards; decimals as typed, < 0: unknown. */
double record_uncertainty_at(const struct record *r, double applied, int input_decimals, int output_decimals);

/* record_content.c: the hash that signatures stand for. */
enum status record_content_hash(struct record *r, const struct record_rows *rows, struct arena *a, struct err *err);

/* record_state.c */
enum record_phase record_phase_of(const struct record *r);
/* CONFLICT unless it may be edited: open or returned. */
enum status record_must_be_open(const struct record *r, struct err *err);
/* CONFLICT with the first thing to do when something of a phase before `before` is missing. */
enum status record_must_have_done(const struct record *r, enum record_phase before, struct err *err);
/* The run a technician works on: as left once an adjustment was made. NULL when there is none. */
const struct record_run *record_run_in_hand(const struct record *r);

/* Ledger entry about this record; takes the references of before and after (NULL allowed). */
enum status record_note(struct db *db, const struct actor *actor, const struct record *r, const char *action,
			const char *reason, json_t *before, json_t *after, struct err *err);

/* finding.c: opens, rewords or closes the record's finding as its as-found verdict asks. */
enum status finding_follow_record(struct db *db, const struct actor *actor, const struct record *r, struct arena *a,
				  struct err *err);
/* Closes the record's open finding, if any, because the record no longer says so. */
enum status finding_withdraw(struct db *db, const struct actor *actor, const struct record *r, const char *why,
			     struct arena *a, struct err *err);

#endif
