/* Rows of table finding: out-of-tolerance cases. */
#ifndef STORE_FINDING_H
#define STORE_FINDING_H

#include "store/db.h"

struct finding {
	const char *id, *test_record_id;
	const char *run_kind;	      /* "as_found", "as_left" */
	const char *sentence;	      /* what was found */
	const char *state;	      /* "open", "closed" */
	const char *disposition;      /* "" while open */
	int64_t opened_at, closed_at; /* closed_at 0 while open */
	const char *closed_by_name;   /* NULL while open */
	int version;
};

enum status store_finding_add(struct db *db, const struct finding *f, struct err *err);
enum status store_finding_get(struct db *db, const char *id, struct arena *a, struct finding *out, struct err *err);
/* The record's newest finding; NOT_FOUND when there is none (err stays untouched). */
enum status store_finding_of(struct db *db, const char *test_record_id, struct arena *a, struct finding *out,
			     struct err *err);
enum status store_finding_set_sentence(struct db *db, const char *id, const char *sentence, struct err *err);
enum status store_finding_close(struct db *db, const char *id, const char *disposition, const char *person_id,
				int64_t at, struct err *err);
/* Newest first; state NULL: all. after: id of the last one of the page before, NULL at the start. Up to limit + 1. */
enum status store_finding_list(struct db *db, const char *state, const char *after, int limit, struct arena *a,
			       struct finding **items, size_t *n, struct err *err);

#endif
