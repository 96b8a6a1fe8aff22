/*
 * A strict reader of the PDF files that we write: classic cross references, one table a revision, no compressed objects,
 * generation 0, no comments between objects. It is no general reader on purpose: two readers that repair a file in
 * different ways see two documents in it. Bounded: depth, keys, values and revisions have maxima; nothing is trusted.
 */
#ifndef REPORT_SEAL_PDF_H
#define REPORT_SEAL_PDF_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/arena.h"
#include "report/seal.h"

#define PDF_REVISIONS_MAX (SEAL_FIELDS_MAX + 2)
#define PDF_DEPTH_MAX	  24
#define PDF_KEYS_MAX	  256
#define PDF_VALUES_MAX	  200000 /* in one file, of what is looked at */
#define PDF_OBJECTS_MAX	  100000

enum pdf_kind {
	PDF_NULL,
	PDF_BOOL,
	PDF_INTEGER,
	PDF_REAL,
	PDF_STRING,
	PDF_HEX,
	PDF_NAME,
	PDF_ARRAY,
	PDF_DICT,
	PDF_REF
};

struct pdf_value {
	enum pdf_kind kind;
	size_t begin, end;	 /* its text in the file, delimiters included */
	int64_t number;		 /* of PDF_INTEGER; object number of PDF_REF */
	struct pdf_value *first; /* elements of an array; key, value, key, value of a dictionary */
	struct pdf_value *next;
};

struct pdf_object {
	uint32_t number;
	size_t begin, end; /* from its number to behind "endobj" and the line's end */
	struct pdf_value *value;
	bool is_stream;
	size_t data, data_size;
};

struct pdf_entry {
	uint32_t number;
	size_t offset;
};

struct pdf_revision {
	size_t begin, xref, end; /* end: behind "%%EOF" and its line end */
	struct pdf_value *trailer;
	struct pdf_entry *entries; /* ascending by number */
	size_t count;
	uint32_t size; /* one more than the greatest object number */
};

struct pdf_file {
	const char *bytes;
	size_t size;
	struct arena arena;
	size_t values; /* made so far */
	struct pdf_revision revision[PDF_REVISIONS_MAX];
	size_t count;
};

/* Reads the revisions of the first size bytes, which must end with one; false when they are not of our form. */
bool pdf_open(struct pdf_file *f, const char *bytes, size_t size);
void pdf_close(struct pdf_file *f);

/* The object as it stands at the end of a revision; NULL: there is none, or it is malformed. Lives in the file's arena. */
struct pdf_object *pdf_object(struct pdf_file *f, size_t revision, int64_t number);
/* The same in this revision alone. */
struct pdf_object *pdf_object_in(struct pdf_file *f, size_t revision, int64_t number);
bool pdf_has_entry(const struct pdf_file *f, size_t revision, int64_t number);

/* Value of a key such as "/V" of a dictionary; NULL when it is absent or v is no dictionary (or NULL). */
const struct pdf_value *pdf_get(const struct pdf_file *f, const struct pdf_value *v, const char *key);
/* The value, or what it refers to at that revision; NULL for neither. */
const struct pdf_value *pdf_resolve(struct pdf_file *f, size_t revision, const struct pdf_value *v);
bool pdf_is(const struct pdf_file *f, const struct pdf_value *v, const char *text); /* its text is exactly that */
bool pdf_same(const struct pdf_file *f, const struct pdf_value *a, const struct pdf_value *b);
/* Text of a string as UTF-8 (UTF-16 with BOM, UTF-8 with BOM, or ASCII), without control characters, cut to fit. */
void pdf_text(const struct pdf_file *f, const struct pdf_value *v, char *out, size_t size);

#endif
