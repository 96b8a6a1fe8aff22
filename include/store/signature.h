/* Rows of table signature: a person's word on a record, a procedure version or a finding. Never edited or removed. */
#ifndef STORE_SIGNATURE_H
#define STORE_SIGNATURE_H

#include "store/db.h"

struct signature {
	const char *test_record_id, *procedure_version_id, *finding_id; /* exactly one is not NULL */
	const char *meaning; /* "performed", "reviewed", "approved", "returned", "voided", "closed" */
	const char *person_id;
	const char *name;	    /* as printed then */
	const char *role;	    /* in which role, in words */
	const char *reason;	    /* "" without */
	const char *content_sha256; /* of exactly what was shown */
	int64_t at;
};

enum status store_signature_add(struct db *db, const struct signature *s, struct err *err); /* makes the id */
/* A record's signatures, oldest first; *items from a. */
enum status store_signature_list(struct db *db, const char *test_record_id, struct arena *a, struct signature **items,
				 size_t *n, struct err *err);

#endif
