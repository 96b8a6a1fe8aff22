/*
 * The ledger: every change with who, when, what, before, after and why, chained by SHA-256. Written in the change's own
 * transaction.
 *
 * An entry's hash is the SHA-256, in lower-case hexadecimal, over the 64 characters of the previous entry's hash followed
 * by the canonical JSON (RFC 8785) of
 *   {"action", "after", "at" (milliseconds), "before", "label", "number", "person_id", "person_name", "previous_hash",
 *    "reason", "thing", "thing_id"}
 * with null where there is nothing. Numbers run 1, 2, 3 ...; the first entry's previous hash is 64 zeros. So a change of any
 * column, a removed or an inserted entry breaks the chain at that place.
 *
 * Whoever writes in the file could make a chain anew, cut off its end or add to it. Two things stand against that:
 *   the head   number and hash of the newest entry under an HMAC, whose key lies in a file of its own (ledger.key)
 *   checkpoints   number and hash at some time under the plant's seal, made each day and with each certificate; who holds
 *                 one outside this machine can show any rewriting of what came before it
 */
#ifndef DOMAIN_LEDGER_H
#define DOMAIN_LEDGER_H

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>
#include "domain/actor.h"
#include "store/ledger.h"
#include "store/store.h"

struct ledger_note {
	const char *
		action; /* "add", "change", "remove", "acknowledge", "read", "undo", "sign", "return", "void", "issue", "approve", ... */
	const char *thing; /* table name */
	const char *thing_id;
	const char *label;	/* tag, number or code, for people */
	const char *reason;	/* NULL or "" without */
	json_t *before, *after; /* borrowed; NULL without */
};

/*
 * Gives the store its key, and puts an empty ledger's head under it. path is the key's file: 32 bytes in hexadecimal, made
 * (0600) when the ledger is empty. Once, after store_open. NOT_FOUND when the ledger has entries but no key file is
 * there, FORBIDDEN when others may read it, INVALID when it holds no key.
 */
enum status ledger_open(struct store *store, const char *path, struct err *err);

/*
 * actor NULL is the program itself. FAILED when the head does not fit the key: the file was changed by another program, and
 * nothing more is written until ledger_accept.
 */
enum status ledger_add(struct db *db, const struct actor *actor, const struct ledger_note *note, struct err *err);

/*
 * After a change from outside has been looked into: goes on from the newest entry that is there, and says so in an entry
 * with the reason. What is broken before stays broken, and is reported for ever.
 */
enum status ledger_accept(struct db *db, const struct actor *actor, const char *reason, struct err *err);

/* The plant's seal, as the ledger needs it. */
struct ledger_seal {
	void *context;
	/* *signature (base64) and *certificate (PEM) are malloc'ed. */
	enum status (*sign)(void *context, const char *text, char **signature, char **certificate, struct err *err);
	/* The signature is the certificate's, over this text, and the certificate is the plant's. */
	bool (*fits)(void *context, const char *text, const char *signature, const char *certificate);
};

struct ledger_result {
	int64_t entries;
	int64_t first_bad;		  /* number of the first entry that is not as it was written; 0 when all are */
	char why[200];			  /* what is wrong, one sentence; "" when nothing is */
	char head[65];			  /* hash of the newest entry; 64 zeros when there is none */
	int64_t checkpoints;		  /* how many were compared; 0 when seal was NULL */
	int64_t sealed_number, sealed_at; /* of the newest checkpoint; 0 without */
};

/* Walks the whole chain, and compares head and checkpoints. seal NULL leaves these out. */
enum status ledger_check(struct db *db, const struct ledger_seal *seal, struct ledger_result *out, struct err *err);

/*
 * Makes a checkpoint of the ledger as it is, unless the newest entry has one. cause is "day", "certificate" or "request".
 * Signs outside the writer. *made may be NULL.
 */
enum status ledger_checkpoint(struct store *store, const struct ledger_seal *seal, const char *cause, bool *made,
			      struct err *err);
/* A checkpoint of the day is due: the newest is older than 24 hours, and something was written since. */
enum status ledger_checkpoint_due(struct db *db, bool *due, struct err *err);

/*
 * Up to max entries, newest first; with f->field only those in which a member of that name, at any depth, came, went or
 * changed. *next is where to go on (f->before of the next call), 0 at the end. With a rare field a call may give fewer
 * than max, even none, and still have a next: it looks at most at 20 000 entries.
 */
enum status ledger_list(struct db *db, const struct ledger_filter *f, struct arena *a, struct ledger_entry *out,
			size_t max, size_t *n, int64_t *next, struct err *err);

/*
 * Every entry that fits, oldest first. JSON lines: each line is the entry as it is hashed, with "hash" beside, so that
 * anybody can compute the chain. CSV (RFC 4180) with a header row; a text that a spreadsheet would take for a formula gets
 * an apostrophe before it.
 */
enum ledger_format { LEDGER_CSV, LEDGER_JSON_LINES };
enum status ledger_export(struct db *db, const struct ledger_filter *f, enum ledger_format format, FILE *out,
			  struct err *err);

/* {"number", "at", "person", "person_id", "action", "thing", "thing_id", "label", "reason", "before", "after",
 * "previous_hash", "hash"}; new reference. */
json_t *ledger_entry_to_json(const struct ledger_entry *entry);

#endif
