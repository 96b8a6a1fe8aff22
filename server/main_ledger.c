/* ledger verify: walks the chain of every change ever made. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "domain/ledger.h"
#include "main.h"

static enum status verify(struct store *store, int64_t *first_bad, struct err *err)
{
	struct db *db = store_read_begin(store);
	int64_t entries;
	char head[65];
	enum status rc = ledger_check(db, &entries, first_bad, head, err);

	store_read_end(store, db);
	if (rc)
		return rc;
	if (*first_bad)
		printf("The chain of %" PRId64 " entries is broken at entry %" PRId64 ".\n", entries, *first_bad);
	else
		printf("%" PRId64 " %s, unbroken. Head %s\n", entries, entries == 1 ? "entry" : "entries", head);
	return OK;
}

int main_ledger(const struct config *c, int n, const char **words)
{
	struct store *store = NULL;
	struct err err = {0};
	int64_t first_bad = 0;
	enum status rc;

	if (n != 1 || strcmp(words[0], "verify") != 0) {
		err_set(&err, INVALID, "", "loopledger ledger verify is what there is");
		return main_fail(&err);
	}
	rc = main_open(c, false, &store, &err);
	if (!rc)
		rc = verify(store, &first_bad, &err);
	store_close(store);
	if (rc)
		return main_fail(&err);
	return first_bad ? EXIT_FAILURE : EXIT_SUCCESS;
}
