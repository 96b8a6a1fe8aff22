/* Rows of table certificate. */
#ifndef STORE_CERTIFICATE_H
#define STORE_CERTIFICATE_H

#include "store/db.h"

struct certificate {
	const char *number; /* "BWW-2026-0017" */
	const char *test_record_id;
	const char *issued_by, *issued_by_name; /* id; name is read only */
	int64_t issued_at;
	const char *state; /* "current", "amended", "void" */
};

enum status store_certificate_add(struct db *db, const struct certificate *c, struct err *err);
/* By number, in any case; NOT_FOUND. */
enum status store_certificate_get(struct db *db, const char *number, struct arena *a, struct certificate *out,
				  struct err *err);
/* The record's newest certificate; NOT_FOUND when there is none (err stays untouched). */
enum status store_certificate_of(struct db *db, const char *test_record_id, struct arena *a, struct certificate *out,
				 struct err *err);
enum status store_certificate_set_state(struct db *db, const char *number, const char *state, struct err *err);

#endif
