/* Rows of table limitation: what an instrument may be used for only, by whose word. */
#ifndef STORE_LIMITATION_H
#define STORE_LIMITATION_H

#include "store/db.h"

#define LIMITATION_CHARACTERS_MAX 120

struct limitation {
	const char *text, *person_id, *name; /* name is read only */
	int64_t at;
};

enum status store_limitation_add(struct db *db, const char *test_record_id, const struct limitation *l,
				 struct err *err);
/* The newest of a record; NOT_FOUND without (err stays untouched). */
enum status store_limitation_of(struct db *db, const char *test_record_id, struct arena *a, struct limitation *out,
				struct err *err);
/* Removes what holds for a record, also where it was stated of one that it amends; the ledger keeps the words. */
enum status store_limitation_lift(struct db *db, const char *test_record_id, struct err *err);

#endif
