/* Rows of the ledger's tables. What they mean and how they are chained is domain/ledger.h. */
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

/* Of the newest entry; number 0 and 64 zeros before the first. mac is empty in a plant without a key. */
struct ledger_head {
	int64_t number;
	char hash[65], mac[65];
};

/* NULL, "" or 0 leaves a field out of the filter. */
struct ledger_filter {
	const char *thing, *thing_id, *person_id;
	const char *q;	     /* anywhere in the label, the person's name, the action or the reason */
	const char *field;   /* a member's name that stands in before or after */
	int64_t from, until; /* times: from inclusive, until exclusive */
	int64_t before;	     /* only entries with a smaller number; 0 begins with the newest */
};

/* What the ledger was at some time, sealed. */
struct ledger_checkpoint {
	int64_t number, at;
	const char *hash, *cause, *signature, *seal_certificate;
};

enum status store_ledger_add(struct db *db, const struct ledger_entry *entry, struct err *err);
/* FAILED when its row is gone. */
enum status store_ledger_head(struct db *db, struct ledger_head *out, struct err *err);
enum status store_ledger_set_head(struct db *db, const struct ledger_head *head, struct err *err);
/* Up to max entries with numbers above after, oldest first; for walking the chain. */
enum status store_ledger_walk(struct db *db, int64_t after, struct arena *a, struct ledger_entry *out, size_t max,
			      size_t *n, struct err *err);
/* Up to max entries, newest first. */
enum status store_ledger_list(struct db *db, const struct ledger_filter *f, struct arena *a, struct ledger_entry *out,
			      size_t max, size_t *n, struct err *err);

/* Up to max entries that fit with numbers above after, oldest first; f->before has no meaning here. */
enum status store_ledger_pick(struct db *db, const struct ledger_filter *f, int64_t after, struct arena *a,
			      struct ledger_entry *out, size_t max, size_t *n, struct err *err);

/* CONFLICT when there is one at this entry already. */
enum status store_checkpoint_add(struct db *db, const struct ledger_checkpoint *c, struct err *err);
/* The next one above a number; NOT_FOUND after the last (err stays untouched). */
enum status store_checkpoint_after(struct db *db, int64_t number, struct arena *a, struct ledger_checkpoint *out,
				   struct err *err);
/* The newest; NOT_FOUND without (err stays untouched). */
enum status store_checkpoint_last(struct db *db, struct arena *a, struct ledger_checkpoint *out, struct err *err);

#endif
