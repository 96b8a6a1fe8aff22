/* ledger verify and accept: walks the chain of every change ever made; goes on after a break that was looked into. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "domain/ledger.h"
#include "main.h"

static enum status verify(struct store *store, struct issuer *issuer, bool *sound, struct err *err)
{
	struct db *db = store_read_begin(store);
	struct ledger_result r;
	enum status rc = ledger_check(db, issuer_ledger_seal(issuer, store), &r, err);

	store_read_end(store, db);
	if (rc)
		return rc;
	*sound = r.first_bad == 0;
	if (!*sound)
		printf("The chain of %" PRId64 " entries is broken at entry %" PRId64 ". %s\n", r.entries, r.first_bad,
		       r.why);
	else
		printf("%" PRId64 " %s, unbroken. Head %s\n", r.entries, r.entries == 1 ? "entry" : "entries", r.head);
	if (*sound && r.checkpoints)
		printf("%" PRId64 " checkpoints under the plant's seal fit, the newest at entry %" PRId64 ".\n",
		       r.checkpoints, r.sealed_number);
	return OK;
}

static enum status write_accept(struct db *db, void *context, struct err *err)
{
	return ledger_accept(db, NULL, context, err);
}

static enum status accept(struct store *store, const char *reason, struct err *err)
{
	char *copy = strdup(reason);
	enum status rc = copy ? store_write(store, write_accept, copy, err) :
				err_set(err, NO_MEMORY, "", "out of memory");

	free(copy);
	if (!rc)
		puts("The ledger goes on. What was broken before stays reported.");
	return rc;
}

int main_ledger(const struct config *c, int n, const char **words)
{
	bool verifies = n == 1 && !strcmp(words[0], "verify"), accepts = n == 2 && !strcmp(words[0], "accept");
	struct store *store = NULL;
	struct issuer *issuer = NULL;
	struct err err = {0};
	bool sound = true;
	enum status rc;

	if (!verifies && !accepts) {
		err_set(&err, INVALID, "",
			"loopledger ledger verify and loopledger ledger accept REASON are what there is");
		return main_fail(&err);
	}
	rc = main_open(c, false, &store, &err);
	if (!rc)
		rc = main_issuer(c, &issuer, &err);
	if (!rc)
		rc = verifies ? verify(store, issuer, &sound, &err) : accept(store, words[1], &err);
	store_close(store);
	issuer_free(issuer);
	if (rc)
		return main_fail(&err);
	return sound ? EXIT_SUCCESS : EXIT_FAILURE;
}
