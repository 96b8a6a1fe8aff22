/*
 * The seal on a certificate's PDF. Three steps, all in memory:
 *
 *   seal_finish   makes the drawn pages a complete file: PDF/A-3 level U, the record attached, an empty signature field for
 *                 every signature that may come
 *   seal_sign     fills one field: an appended revision with a PAdES baseline signature (ETSI EN 319 142-1 B-B; with a time
 *                 stamp B-T). Once for each step; nothing that was written before changes
 *   seal_verify   (report/seal_verify.h) says what a file is worth
 *
 * After seal_finish the bytes are only ever appended to; a file that any other program rewrites has lost its seal.
 * Every function may be called from any thread. *out is malloc'ed, the caller frees it; nothing is given on failure.
 */
#ifndef REPORT_SEAL_H
#define REPORT_SEAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/status.h"
#include "report/seal_key.h"
#include "report/seal_stamp.h"

#define SEAL_FIELDS_MAX	  16
#define SEAL_PDF_SIZE_MAX (64u << 20)
#define SEAL_CONTENTS_ROOM \
	12000u /* bytes kept free for a signature: chain and time stamp of usual size fit three times */

/* An empty field for a signature. */
struct seal_field {
	const char *name; /* ASCII letters, digits and _, up to 32: "performed"; unique in the file */
	const char *hint; /* read aloud and shown on hovering: "Signature of the technician"; 1..200 characters */
	int page;	  /* from 1 */
	double x, y, width, height; /* points from the page's top left; width and height 0: not visible */
};

struct seal_attachment {
	const char *name;	 /* file name, 1..100 ASCII letters, digits, ".-_": "BWW-2026-0017.xml" */
	const char *mime;	 /* "text/xml" */
	const char *description; /* 1..200 characters */
	const void *bytes;
	size_t size;
	int64_t modified_ms;
};

struct seal_finish_options {
	const char *language;		 /* BCP 47, "en" */
	const struct seal_field *fields; /* 1..SEAL_FIELDS_MAX */
	size_t field_count;
	const struct seal_attachment *attachments; /* 0..8 */
	size_t attachment_count;
	const char *const *alternatives; /* what each figure shows, in words, in the order of reading */
	size_t alternative_count;
};

/*
 * pdf is what cairo wrote, with a title and both dates. Equal input gives equal bytes. INVALID: no title, no dates, a field
 * or attachment that breaks a rule (err->field: "/fields/0/page"), a PDF that is damaged or encrypted, figures
 * without a text (/alternatives).
 */
enum status seal_finish(const void *pdf, size_t size, const struct seal_finish_options *options, char **out,
			size_t *out_size, struct err *err);

struct seal_sign_options {
	const char *field;			  /* which to fill */
	const char *name, *reason, *location;	  /* who, what it means, where; each NULL or 1..200 characters */
	int64_t at_ms;				  /* written as the time of signing: claimed, not proven */
	const char *const *lines;		  /* text drawn into a visible field; NULL: the field stays blank */
	size_t line_count;			  /* 0..8 */
	const struct seal_stamp_authority *stamp; /* NULL: no time stamp */
	size_t contents_room;			  /* bytes; 0: SEAL_CONTENTS_ROOM */
};

/*
 * NOT_FOUND: no such field. CONFLICT: the field is signed already, or the file has been changed since the last signature.
 * INVALID: not a file of seal_finish; certificate expired at at_ms; a character without a glyph. FAILED: the signature does
 * not fit into contents_room. BUSY: no time stamp; the sentence says why (seal_stamp.h), the caller may sign without one.
 */
enum status seal_sign(struct seal_key *key, const void *pdf, size_t size, const struct seal_sign_options *options,
		      char **out, size_t *out_size, struct err *err);

#endif
