/* Rows of table ledger_entry: append-only. What they mean and how they are chained is domain/ledger.h. */
#ifndef STORE_LEDGER_H
#define STORE_LEDGER_H

#include "store/db.h"

struct ledger_entry {
	int64_t number; /* 1, 2, 3, ... without gaps */
	int64_t at;
	const char *person_id; /* NULL: the program itself */
	const char *person_name;
	const char *action;
	const char *thing; /* table name */
	const char *thing_id;
	const char *label;
	const char *reason;
	const char *before_json; /* canonical JSON; NULL without */
	const char *after_json;
	const char *previous_hash; /* SHA-256 in hexadecimal; 64 zeros at the first */
	const char *hash;
};

/* NULL or "" leaves a field out of the filter. */
struct ledger_filter {
	const char *thing, *thing_id, *person_id;
	const char *q;	/* anywhere in the label, the person's name, the action or the reason */
	int64_t before; /* only entries with a smaller number; 0 begins with the newest */
};

enum status store_ledger_add(struct db *db, const struct ledger_entry *entry, struct err *err);
/* Number and hash of the newest entry; 0 and 64 zeros in an empty ledger. hash has SHA256_HEX_SIZE. */
enum status store_ledger_head(struct db *db, int64_t *number, char hash[65], struct err *err);
/* Up to max entries with numbers above after, oldest first; for walking the chain. */
enum status store_ledger_walk(struct db *db, int64_t after, struct arena *a, struct ledger_entry *out, size_t max,
			      size_t *n, struct err *err);
/* Up to max entries, newest first. */
enum status store_ledger_list(struct db *db, const struct ledger_filter *f, struct arena *a, struct ledger_entry *out,
			      size_t max, size_t *n, struct err *err);

#endif
