/* Rows of tables trace, values recorded against time beside a run, and driven, outputs that are being driven. */
#ifndef STORE_TRACE_H
#define STORE_TRACE_H

#include "store/db.h"

struct trace {
	const char *id, *run_id;
	const char *channel; /* "set", "input", "output" */
	const char *unit;
	int64_t started_at;    /* ms */
	const double *samples; /* pairs: seconds since started_at, value */
	size_t n;	       /* pairs */
	/* Read only, joined: */
	const char *run_kind;
	int attempt;
};

enum status store_trace_add(struct db *db, const struct trace *t, struct err *err);
/* All of a record, by time and channel; *out and its samples from a. */
enum status store_trace_list(struct db *db, const char *test_record_id, struct arena *a, struct trace **out, size_t *n,
			     struct err *err);

struct driven {
	const char *channel_id, *test_record_id, *person_id;
	int64_t since;
};

/* CONFLICT when the channel is being driven already. */
enum status store_driven_add(struct db *db, const struct driven *d, struct err *err);
enum status store_driven_remove(struct db *db, const char *channel_id, struct err *err);
enum status store_driven_list(struct db *db, struct arena *a, struct driven **out, size_t *n, struct err *err);

#endif
