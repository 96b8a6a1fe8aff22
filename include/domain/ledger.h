/*
 * The ledger: every change with who, when, what, before, after and why, chained by SHA-256 over the previous hash and the
 * canonical JSON (RFC 8785) of the entry. Written in the change's own transaction.
 */
#ifndef DOMAIN_LEDGER_H
#define DOMAIN_LEDGER_H

#include <jansson.h>
#include "domain/actor.h"
#include "store/db.h"

struct ledger_note {
	const char *action;	/* "add", "change", "remove", "acknowledge", "read", "undo", "sign", "return", "void", "issue", "approve", ... */
	const char *thing;	/* table name */
	const char *thing_id;
	const char *label;	/* tag, number or code, for people */
	const char *reason;	/* NULL or "" without */
	json_t *before, *after;	/* borrowed; NULL without */
};

enum status ledger_add(struct db *db, const struct actor *actor, const struct ledger_note *note, struct err *err);

/* Walks the whole chain. *first_bad is 0 when it is sound. head receives the last hash (64 zeros when empty). */
enum status ledger_check(struct db *db, int64_t *entries, int64_t *first_bad, char head[65], struct err *err);

#endif
