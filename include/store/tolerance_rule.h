/* Rows of table tolerance_rule: rules that procedures start from. */
#ifndef STORE_TOLERANCE_RULE_H
#define STORE_TOLERANCE_RULE_H

#include "store/db.h"

struct tolerance_rule {
	const char *id;
	const char *name;      /* unique regardless of case */
	const char *rule_json; /* {terms, join} as in docs/api.md */
	int version;
	int64_t created_at;
};

/* CONFLICT /name. */
enum status store_tolerance_rule_add(struct db *db, const struct tolerance_rule *rule, struct err *err);
/* Name and rule, and raises the version; STALE when it is no longer rule->version. */
enum status store_tolerance_rule_update(struct db *db, const struct tolerance_rule *rule, struct err *err);
enum status store_tolerance_rule_get(struct db *db, const char *id, struct arena *a, struct tolerance_rule *out,
				     struct err *err);
/* By name, up to limit + 1 of them after the name `after` (NULL: from the start). */
enum status store_tolerance_rule_list(struct db *db, const char *after, int limit, struct arena *a,
				      struct tolerance_rule **out, size_t *n, struct err *err);

#endif
