/* Rows of tables session and sign_in_failure. */
#ifndef STORE_SESSION_H
#define STORE_SESSION_H

#include "store/person.h"

struct session {
	const char *id; /* SHA-256 of the cookie's token */
	const char *person_id;
	const char *token; /* what a page sends back in X-Session-Token */
	int64_t created_at;
	int64_t seen_at;    /* the idle limit counts from here */
	int64_t expires_at; /* absolute limit */
	const char *remote; /* address it was opened from; NULL when unknown */
};

enum status store_session_add(struct db *db, const struct session *session, struct err *err);
/* The session and whose it is. NOT_FOUND when there is none; limits are for the caller to judge. */
enum status store_session_get(struct db *db, const char *id, struct arena *a, struct session *session,
			      struct person *person, struct err *err);
enum status store_session_seen(struct db *db, const char *id, int64_t at, struct err *err);
enum status store_session_remove(struct db *db, const char *id, struct err *err);
/* All of a person's but the one to keep (NULL: none). */
enum status store_session_remove_of(struct db *db, const char *person_id, const char *keep_id, struct err *err);
/* Those past their absolute limit, or not seen since idle_since. */
enum status store_session_remove_old(struct db *db, int64_t now, int64_t idle_since, struct err *err);

enum status store_failure_add(struct db *db, const char *key, int64_t at, struct err *err);
enum status store_failure_count(struct db *db, const char *key, int64_t since, int64_t *count, int64_t *oldest,
				struct err *err);
enum status store_failure_forget(struct db *db, const char *key, struct err *err);
enum status store_failure_remove_old(struct db *db, int64_t before, struct err *err);

#endif
