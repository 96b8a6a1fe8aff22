/* Rows of table person. */
#ifndef STORE_PERSON_H
#define STORE_PERSON_H

#include "store/db.h"

struct person {
	const char *id;		   /* UUIDv7 */
	const char *sign_in;	   /* lower case, unique */
	const char *name;	   /* as printed on certificates */
	int roles;		   /* enum role, added up */
	const char *password_hash; /* Argon2id, see domain/password.h */
	bool active;
	int version;
	int64_t created_at, updated_at;
};

enum status store_person_add(struct db *db, const struct person *person, struct err *err); /* CONFLICT /sign_in */
/* Name, roles and active, and raises the version; STALE when it is no longer person->version. */
enum status store_person_update(struct db *db, const struct person *person, struct err *err);
enum status store_person_set_password(struct db *db, const char *id, const char *password_hash, int64_t at,
				      struct err *err);
enum status store_person_get(struct db *db, const char *id, struct arena *a, struct person *out, struct err *err);
enum status store_person_by_sign_in(struct db *db, const char *sign_in, struct arena *a, struct person *out,
				    struct err *err);
/* All of them by name; a plant's crew is small. *out is allocated from a. */
enum status store_person_list(struct db *db, struct arena *a, struct person **out, size_t *n, struct err *err);
enum status store_person_count(struct db *db, int64_t *all, struct err *err);
/* How many active persons other than id hold the role. */
enum status store_person_others_with(struct db *db, const char *id, int role, int64_t *others, struct err *err);

#endif
