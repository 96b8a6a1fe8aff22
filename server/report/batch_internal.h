/* Between the files of batches: what is made of each record, and the file at the end. */
#ifndef REPORT_BATCH_INTERNAL_H
#define REPORT_BATCH_INTERNAL_H

#include "report/batch.h"

struct batch_archive;
struct batch_pages;

/* One certificate as it goes in: read on a snapshot, everything from a. */
struct batch_item {
	const char *certificate, *record, *tag, *state, *reason, *replaced_by;
	int64_t issued_at, performed_at;
	const void *pdf, *xml; /* the issued files; NULL when it was issued without a seal */
	size_t pdf_size, xml_size;
	const char *pdf_sha256, *xml_sha256;
};

/* Writes to out, which stays the caller's. NULL without memory. */
struct batch_archive *batch_archive_new(FILE *out, struct err *err);
enum status batch_archive_add(struct batch_archive *z, const struct batch_item *item, struct err *err);
enum status batch_archive_end(struct batch_archive *z,
			      struct err *err);	  /* index.csv, and the note on what no longer stands */
void batch_archive_free(struct batch_archive *z); /* NULL is allowed */

struct batch_pages *batch_pages_new(void);
/* Takes the bytes over, also when it fails. */
enum status batch_pages_add(struct batch_pages *b, char *pdf, size_t size, struct err *err);
enum status batch_pages_end(struct batch_pages *b, FILE *out, struct err *err);
void batch_pages_free(struct batch_pages *b); /* NULL is allowed */

#endif
