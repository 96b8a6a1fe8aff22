/* Rows of tables standard and standard_calibration: reference standards and their certificates. */
#ifndef STORE_STANDARD_H
#define STORE_STANDARD_H

#include "store/db.h"

/* A certificate of a reference standard. Never edited: a new calibration is a new row. */
struct standard_calibration {
	const char *id; /* NULL: there is none */
	const char *standard_id;
	const char *certificate_number, *issued_by;
	const char *calibrated_on, *valid_until; /* dates; the last day counts */
	double low, high;			 /* range it holds for, in unit */
	const char *unit;
	double expanded_uncertainty; /* U, in unit */
	double coverage_factor;	     /* k */
	const char *traceability;    /* in words */
	int64_t created_at;
};

struct standard {
	const char *id;
	const char *code; /* unique regardless of case */
	const char *name, *quantity;
	const char *maker, *model, *serial; /* NULL when not given */
	const char *status;		    /* 'in_use', 'out_of_use', 'failed' */
	const char *status_reason;	    /* NULL when not given */
	int version;
	int64_t created_at, updated_at;
	struct standard_calibration calibration; /* read only: the current one, the last not after today */
};

enum status store_standard_add(struct db *db, const struct standard *s, struct err *err); /* CONFLICT /code */
/* Everything but id, created_at and calibrations, and raises the version; STALE when it is no longer s->version. */
enum status store_standard_update(struct db *db, const struct standard *s, struct err *err);
/* today: 'YYYY-MM-DD', for which calibration is the current one. */
enum status store_standard_get(struct db *db, const char *id, const char *today, struct arena *a, struct standard *out,
			       struct err *err);
/* By code, up to limit + 1 of them after the code `after`. q: part of code, name or quantity, regardless of case. */
enum status store_standard_list(struct db *db, const char *q, const char *after, int limit, const char *today,
				struct arena *a, struct standard **out, size_t *n, struct err *err);
/* Those whose current calibration is in a unit (any, in use or not; the caller judges which can be used), by code. */
enum status store_standard_list_by_unit(struct db *db, const char *unit, const char *today, struct arena *a,
					struct standard **out, size_t *n, struct err *err);

/* CONFLICT /certificate_number. */
enum status store_standard_calibration_add(struct db *db, const struct standard_calibration *c, struct err *err);
/* Newest first. */
enum status store_standard_calibration_list(struct db *db, const char *standard_id, struct arena *a,
					    struct standard_calibration **out, size_t *n, struct err *err);

#endif
