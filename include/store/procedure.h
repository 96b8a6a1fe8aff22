/* Rows of tables procedure and procedure_version. */
#ifndef STORE_PROCEDURE_H
#define STORE_PROCEDURE_H

#include "store/db.h"

struct procedure {
	const char *id;
	const char *code; /* "CV-5", unique regardless of case */
	int64_t created_at;
};

struct procedure_version {
	const char *id, *procedure_id;
	const char *code;  /* read only: of the procedure */
	int number;	   /* 1, 2, ... */
	const char *state; /* 'draft', 'approved', 'superseded' */
	const char *title; /* of the document */
	const char *document_json;
	int version;		     /* edits of the draft */
	const char *created_by;	     /* person id */
	const char *created_by_name; /* read only */
	int64_t created_at, updated_at;
	const char *approved_by;      /* person id; NULL while a draft */
	const char *approved_by_name; /* read only */
	int64_t approved_at;
};

enum status store_procedure_add(struct db *db, const struct procedure *p, struct err *err); /* CONFLICT /code */
enum status store_procedure_get(struct db *db, const char *id, struct arena *a, struct procedure *out, struct err *err);
enum status store_procedure_remove(struct db *db, const char *id, struct err *err);

/* Schedules that name it, active or not. */
enum status store_procedure_schedules(struct db *db, const char *id, int64_t *count, struct err *err);

/* What a list shows of one. */
struct procedure_summary {
	const char *id, *code;
	const char *title;		       /* of the approved version, or of the draft */
	const char *approved_id, *approved_by; /* NULL without an approved version; approved_by is the name */
	int approved_number;
	int64_t approved_at;
	const char *draft_id; /* NULL without a draft */
	int draft_number;
	int64_t schedules; /* active ones */
};

/* By code, up to limit + 1 of them after the code `after`. q: part of code or title, regardless of case. */
enum status store_procedure_list(struct db *db, const char *q, const char *after, int limit, struct arena *a,
				 struct procedure_summary **out, size_t *n, struct err *err);

enum status store_procedure_version_add(struct db *db, const struct procedure_version *v, struct err *err);
enum status store_procedure_version_get(struct db *db, const char *id, struct arena *a, struct procedure_version *out,
					struct err *err);
/* The one in state 'approved' or 'draft'; NOT_FOUND when there is none. */
enum status store_procedure_version_in_state(struct db *db, const char *procedure_id, const char *state,
					     struct arena *a, struct procedure_version *out, struct err *err);
/* All versions, newest first. */
enum status store_procedure_version_list(struct db *db, const char *procedure_id, struct arena *a,
					 struct procedure_version **out, size_t *n, struct err *err);
/* Title and document of a draft, and raises the version; STALE when it is no longer v->version or no draft any more. */
enum status store_procedure_version_update(struct db *db, const struct procedure_version *v, struct err *err);
enum status store_procedure_version_remove(struct db *db, const char *id, struct err *err); /* a draft only */
/* The approved version becomes superseded (none is fine), then the draft approved. */
enum status store_procedure_version_supersede(struct db *db, const char *procedure_id, int64_t at, struct err *err);
enum status store_procedure_version_approve(struct db *db, const char *id, const char *person_id, int64_t at,
					    struct err *err);

#endif
