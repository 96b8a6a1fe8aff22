/*
 * The ledger: every change with who, when, what, before, after and why, chained by SHA-256. Written in the change's own
 * transaction.
 *
 * An entry's hash is the SHA-256, in lower-case hexadecimal, over the 64 characters of the previous entry's hash followed
 * by the canonical JSON (RFC 8785) of
 *   {"action", "after", "at" (milliseconds), "before", "label", "number", "person_id", "person_name", "previous_hash",
 *    "reason", "thing", "thing_id"}
 * with null where there is nothing. Numbers run 1, 2, 3 ...; the first entry's previous hash is 64 zeros. So a change of any
 * column, a removed or an inserted entry breaks the chain at that place. What it cannot show by itself is that its
 * newest entries were cut off: compare the head with one written down elsewhere.
 */
#ifndef DOMAIN_LEDGER_H
#define DOMAIN_LEDGER_H

#include <jansson.h>
#include "domain/actor.h"
#include "store/ledger.h"

struct ledger_note {
	const char *
		action; /* "add", "change", "remove", "acknowledge", "read", "undo", "sign", "return", "void", "issue", "approve", ... */
	const char *thing; /* table name */
	const char *thing_id;
	const char *label;	/* tag, number or code, for people */
	const char *reason;	/* NULL or "" without */
	json_t *before, *after; /* borrowed; NULL without */
};

/* actor NULL is the program itself. */
enum status ledger_add(struct db *db, const struct actor *actor, const struct ledger_note *note, struct err *err);

/* Walks the whole chain. *first_bad is 0 when it is sound. head receives the last hash (64 zeros when empty). */
enum status ledger_check(struct db *db, int64_t *entries, int64_t *first_bad, char head[65], struct err *err);

/* {"number", "at", "person", "person_id", "action", "thing", "thing_id", "label", "reason", "before", "after",
 * "previous_hash", "hash"}; new reference. */
json_t *ledger_entry_to_json(const struct ledger_entry *entry);

#endif
