/* Rows of tables run and reading. */
#ifndef STORE_RUN_H
#define STORE_RUN_H

#include "store/db.h"

struct run {
	const char *id;
	const char *kind;			  /* "as_found", "as_left" */
	int attempt;				  /* 1, 2, ...; the last counts */
	const char *started_by, *started_by_name; /* id; name is read only */
	int64_t started_at;
};

enum status store_run_add(struct db *db, const char *test_record_id, const struct run *r, struct err *err);
/* The record's runs that count: as found, then the last attempt as left. runs holds 2. */
enum status store_run_list(struct db *db, const char *test_record_id, struct arena *a, struct run runs[2], size_t *n,
			   struct err *err);

struct stored_reading {
	const char *id, *run_id;
	int point;
	double set, applied, observed;
	const char *direction; /* "rising", "falling" */
	int cycle;
	const char *applied_text, *observed_text; /* as typed */
	int64_t taken_at, received_at;
	const char *person_id, *name; /* name is read only */
	const char *client_verdict;   /* NULL without */
	double input_u, output_u;     /* standard uncertainties of means read from devices; 0 for what was typed */
	const char *captured_json;    /* which devices said what; NULL when typed */
};

/* CONFLICT when the point has a reading. */
enum status store_reading_add(struct db *db, const struct stored_reading *r, struct err *err);
enum status store_reading_undo(struct db *db, const char *id, int64_t at, struct err *err);
/* A run's readings that stand, by point; *items from a. */
enum status store_reading_list(struct db *db, const char *run_id, struct arena *a, struct stored_reading **items,
			       size_t *n, struct err *err);

#endif
