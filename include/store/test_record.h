/* Rows of table test_record, and the one-line summary of a record that lists show. */
#ifndef STORE_TEST_RECORD_H
#define STORE_TEST_RECORD_H

#include "store/db.h"

/* A record in one line. Tag, service and area are the register's of today; the record itself keeps them as they were. */
struct record_summary {
	const char *id, *number;
	const char *instrument_id, *tag, *service, *area;
	const char *procedure_code;
	const char *state;				/* word of table test_record */
	const char *verdict_as_found, *verdict_as_left; /* NULL until performed; as left also without such a run */
	double worst_as_found;		 /* the error of largest magnitude, signed, % of span; NaN until performed */
	int adjusted;			 /* 1 made, 0 not made, -1 not decided */
	int64_t opened_at, performed_at; /* performed_at 0 until performed */
	const char *opened_by, *performed_by, *reviewed_by; /* names; the last two NULL until signed */
	const char *certificate_number;			    /* NULL without */
	const char *certificate_state;			    /* "current", "amended", "void"; NULL without */
	int64_t tested_at; /* performed_at of the test itself, which its amendments share; 0 until performed */
};

#define RECORD_CURSOR_SIZE 64

/* What a list is narrowed to; NULL and "" leave a member out. */
struct record_filter {
	const char *q;	   /* part of number, tag, service or certificate number, in any case */
	const char *state; /* a state's word, or "in_progress": open or returned */
	const char *instrument_id, *standard_id, *schedule_id;
	const char *verdict; /* as found */
	const char *after;   /* cursor of the page before */
	int limit;	     /* 1..200 */
};

/*
 * Newest first. *items (from a) holds *n of them; next receives the cursor of the next page, "" at the end. INVALID
 * for a cursor that is none.
 */
enum status store_record_list(struct db *db, const struct record_filter *filter, struct arena *a,
			      struct record_summary **items, size_t *n, char next[RECORD_CURSOR_SIZE], struct err *err);
enum status store_record_summary(struct db *db, const char *id, struct arena *a, struct record_summary *out,
				 struct err *err);

/* A whole row. */
struct test_record {
	const char *id, *number, *instrument_id, *procedure_version_id;
	const char *schedule_id; /* NULL without */
	const char *state;
	const char *instrument_json, *procedure_json; /* frozen */
	const char *condition, *remarks;
	int adjusted; /* as in record_summary */
	const char *adjustment;
	const char *adjusted_by, *adjusted_by_name; /* id and name; NULL until decided */
	int64_t adjusted_at;			    /* 0 until decided */
	int version;
	const char *content_sha256; /* of what was signed as performed; NULL before */
	const char *opened_by;	    /* id */
	const char *opened_by_name;
	int64_t opened_at, performed_at;
	const char *supersedes_id;    /* the record that this one amends; NULL without */
	const char *amendment_reason; /* "" without */
};

/* Adds an open record: ids, frozen documents, amendment, opened_by and opened_at are read from r; r->id and r->number are the
 * caller's. CONFLICT when what it amends has an amendment in hand. */
enum status store_record_add(struct db *db, const struct test_record *r, struct err *err);
enum status store_record_get(struct db *db, const char *id, struct arena *a, struct test_record *out, struct err *err);

struct amendment {
	const char *id, *number, *state; /* of the record that amends */
};
/* The one amendment of a record that is not void; NOT_FOUND without (err stays untouched). */
enum status store_record_amendment(struct db *db, const char *id, struct arena *a, struct amendment *out,
				   struct err *err);
/* The test that a record is about, which an amendment shares with what it amends: its day, its schedule and who
 * performed it. */
struct first_test {
	const char *record_id;	  /* the record itself when it amends nothing */
	const char *schedule_id;  /* NULL without */
	int64_t performed_at;	  /* ms; 0: not signed */
	const char *performed_by; /* as signed; NULL: not signed */
};
enum status store_record_first_test(struct db *db, const char *id, struct arena *a, struct first_test *out,
				    struct err *err);
/* How many records amend this one or an amendment of it: number "R-2026-00017" has "R-2026-00017-A1", ... */
enum status store_record_amendments(struct db *db, const char *number, int64_t *n, struct err *err);

/* Each of these adds one to the row's version. */
enum status store_record_touch(struct db *db, const char *id, struct err *err);
/* STALE unless the row has this version. */
enum status store_record_touch_at(struct db *db, const char *id, int version, struct err *err);
enum status store_record_set_notes(struct db *db, const char *id, const char *condition, const char *remarks,
				   struct err *err);
/* made: 1, 0, or -1 for undecided again (text "", person NULL, at 0). */
enum status store_record_set_adjustment(struct db *db, const char *id, int made, const char *text,
					const char *person_id, int64_t at, struct err *err);
/* closed_at 0: not closed. */
enum status store_record_set_state(struct db *db, const char *id, const char *state, int64_t closed_at,
				   struct err *err);

/* What the first signature fixes. Verdicts NULL and worsts NaN where there is no run. */
struct record_outcome {
	const char *verdict_as_found, *verdict_as_left, *content_sha256;
	double worst_as_found, worst_as_left;
	int64_t performed_at;
};

enum status store_record_set_performed(struct db *db, const char *id, const struct record_outcome *o, struct err *err);
/* Back to the technician: state returned, the outcome taken off. */
enum status store_record_set_returned(struct db *db, const char *id, struct err *err);

#endif
