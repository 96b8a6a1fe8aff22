/*
 * Verifying a ledger of a million entries: prints entries per second and the peak of memory. Writes them first, in jobs of a
 * thousand, with what an entry usually holds; the writing is not the figure.
 *
 *	bench_ledger FOLDER ENTRIES
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

#include "domain/ledger.h"

#define JOB 1000

static double now(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double core_seconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
	return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void give_up(const char *what)
{
	fprintf(stderr, "%s\n", what);
	exit(1);
}

static enum status write_many(struct db *db, void *context, struct err *err)
{
	struct actor actor = {.person_id = "019a0000-0000-7000-8000-000000000001", .name = "Ida Larkin"};
	json_t *after = json_pack("{s:s, s:i, s:f, s:f, s:s}", "run", "as_found", "point", 3, "applied", 12.004,
				  "observed", 50.31, "observed_text", "50.31");
	struct ledger_note note = {.action = "read",
				   .thing = "test_record",
				   .thing_id = "019a0000-0000-7000-8000-000000000002",
				   .label = "R-2026-00017 FCV-2107",
				   .after = after};
	enum status rc = OK;

	(void)context;
	for (int i = 0; i < JOB && !rc; i++)
		rc = ledger_add(db, &actor, &note, err);
	json_decref(after);
	return rc;
}

int main(int argc, char **argv)
{
	struct ledger_result result;
	struct store *store = NULL;
	struct rusage used;
	struct err err = {0};
	char plant[512], key[512];
	long entries = argc == 3 ? atol(argv[2]) : 0;
	struct db *db;
	double begun, core;

	if (entries < JOB)
		give_up("bench_ledger FOLDER ENTRIES, at least 1000");
	snprintf(plant, sizeof plant, "%s/ledger.db", argv[1]);
	snprintf(key, sizeof key, "%s/ledger.key", argv[1]);
	if (store_open(&store, plant, 1, &err) || ledger_open(store, key, &err))
		give_up(err.message);
	for (long i = 0; i < entries; i += JOB) {
		if (store_write(store, write_many, NULL, &err))
			give_up(err.message);
	}
	db = store_read_begin(store);
	begun = now();
	core = core_seconds();
	if (ledger_check(db, NULL, &result, &err))
		give_up(err.message);
	begun = now() - begun;
	core = core_seconds() - core;
	store_read_end(store, db);
	store_close(store);
	getrusage(RUSAGE_SELF, &used);
	printf("ledger: %" PRId64 " entries verified in %.1f s, %.1f s of one core, %s; peak memory %.0f MiB\n",
	       result.entries, begun, core, result.first_bad ? "BROKEN" : "unbroken", (double)used.ru_maxrss / 1024);
	return 0;
}
