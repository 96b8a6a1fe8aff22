/* Checkpoints: what the ledger was at some time, under the plant's seal. */
#include <stdlib.h>
#include <string.h>

#include "base/time.h"
#include "ledger_internal.h"

#define DAY_MS (24 * 3600 * 1000LL)

static enum status add(struct db *db, void *context, struct err *err)
{
	struct ledger_checkpoint last;
	const struct ledger_checkpoint *c = context;
	struct arena a = {0};
	enum status rc = store_checkpoint_last(db, &a, &last, err);
	bool there = !rc && last.number >= c->number; /* somebody else was quicker */

	arena_clear(&a);
	if (rc && rc != NOT_FOUND)
		return rc;
	return there ? OK : store_checkpoint_add(db, c, err);
}

/* *wanted: the newest entry has no checkpoint yet. */
static enum status look(struct store *store, struct ledger_head *head, bool *wanted, struct err *err)
{
	struct ledger_checkpoint last = {0};
	struct arena a = {0};
	struct db *db = store_read_begin(store);
	enum status rc = store_ledger_head(db, head, err);

	if (!rc)
		rc = store_checkpoint_last(db, &a, &last, err);
	if (rc == NOT_FOUND)
		rc = OK;
	*wanted = !rc && head->number > last.number;
	store_read_end(store, db);
	arena_clear(&a);
	return rc;
}

enum status ledger_checkpoint(struct store *store, const struct ledger_seal *seal, const char *cause, bool *made,
			      struct err *err)
{
	struct ledger_head head;
	struct ledger_checkpoint c = {.at = time_now_ms(), .cause = cause};
	char *signature = NULL, *certificate = NULL;
	struct arena a = {0};
	const char *text;
	bool wanted;
	enum status rc = look(store, &head, &wanted, err);

	if (made)
		*made = !rc && wanted;
	if (rc || !wanted)
		return rc;
	c.number = head.number;
	c.hash = head.hash;
	text = ledger_checkpoint_text(&c, &a);
	rc = text ? seal->sign(seal->context, text, &signature, &certificate, err) :
		    err_set(err, NO_MEMORY, "", "out of memory");
	c.signature = signature;
	c.seal_certificate = certificate;
	if (!rc)
		rc = store_write(store, add, &c, err);
	free(signature);
	free(certificate);
	arena_clear(&a);
	return rc;
}

enum status ledger_checkpoint_due(struct db *db, bool *due, struct err *err)
{
	struct ledger_checkpoint last = {0};
	struct ledger_head head;
	struct arena a = {0};
	enum status rc = store_ledger_head(db, &head, err);

	if (!rc)
		rc = store_checkpoint_last(db, &a, &last, err);
	if (rc == NOT_FOUND)
		rc = OK;
	*due = !rc && head.number > last.number && time_now_ms() - last.at >= DAY_MS;
	arena_clear(&a);
	return rc;
}
