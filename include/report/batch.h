/*
 * Certificates of many tests at once: packed into one archive as they were issued, drawn into one file for printing, or issued
 * one after the other. A batch runs on a thread of its own, tells how far it is, and can be cancelled; what fails is told by
 * record, and the others are done. Batches live in memory: they are gone when the program stops, what they issued is not.
 */
#ifndef REPORT_BATCH_H
#define REPORT_BATCH_H

#include <jansson.h>
#include <stdio.h>
#include "base/text.h"
#include "report/issue.h"

#define BATCH_RECORDS_MAX 500
#define BATCH_PRINT_MAX	  200 /* of BATCH_PRINT, which is put together in memory */
#define BATCH_KEPT	  4   /* finished ones of a person: the oldest goes first, half an hour is the longest */

enum batch_what {
	BATCH_ARCHIVE, /* ZIP of PDF and XML files, byte for byte as issued, with index.csv */
	BATCH_PRINT,   /* one PDF of all pages, marked as a copy on each */
	BATCH_ISSUE    /* no file */
};

struct batches;

/* NULL without memory or thread. Both are borrowed. */
struct batches *batches_new(struct store *store, struct issuer *issuer);
void batches_free(
	struct batches *b); /* cancels all; waits for the one certificate that is being made; NULL is allowed */

/* ids: of test records, copied. TOO_MANY when this person has two in hand, or everybody together eight. */
enum status batches_add(struct batches *b, const struct actor *actor, enum batch_what what, const char *const *ids,
			size_t n, char id[UUID_SIZE], struct err *err);
/* {"id", "what", "state": waiting|running|done|cancelled|failed, "done", "total", "failures": [{"record_id", "label", "sentence"}],
 * "ready": there is a file}. Of this person's own; NOT_FOUND otherwise. *json is a new reference. */
enum status batches_look(struct batches *b, const struct actor *actor, const char *id, json_t **json, struct err *err);
/* Cancels it while it waits or runs; a finished one goes, with its file. */
enum status batches_end(struct batches *b, const struct actor *actor, const char *id, struct err *err);
/* A copy of the file, to be closed by the caller, and its name. CONFLICT while there is none. */
enum status batches_file(struct batches *b, const struct actor *actor, const char *id, FILE **file, char name[64],
			 struct err *err);

#endif
