/* Rows of table idempotency: the answers given to writes that carried an Idempotency-Key. */
#ifndef STORE_IDEMPOTENCY_H
#define STORE_IDEMPOTENCY_H

#include "store/db.h"

struct remembered_answer {
	const char *person_id, *key;
	const char *request_hash; /* SHA-256 of what was asked */
	int http_status;
	const char *answer_json;
	int64_t created_at;
};

enum status store_answer_add(struct db *db, const struct remembered_answer *answer, struct err *err);
/* NOT_FOUND when this person has not used the key. */
enum status store_answer_get(struct db *db, const char *person_id, const char *key, struct arena *a,
			     struct remembered_answer *out, struct err *err);
enum status store_answer_remove_old(struct db *db, int64_t before, struct err *err);

#endif
