/*
 * What a file that somebody holds in his hand is worth: sealed by the plant or not, changed or not, the one that was issued or
 * not, and whether its certificate still stands. For the verification page and the command `verify`.
 */
#ifndef REPORT_CHECK_H
#define REPORT_CHECK_H

#include <jansson.h>
#include "report/dcc.h"
#include "report/seal_verify.h"
#include "store/certificate.h"

#define CHECK_FILE_MAX (8u << 20) /* bytes; a certificate has some 100,000 */

enum check_verdict {
	CHECK_GENUINE,	  /* byte for byte a file that was issued, and its seal is the plant's */
	CHECK_SEALED,	  /* sealed by the plant and unchanged, but not a file on record here */
	CHECK_CHANGED,	  /* carries a seal, and was changed after it */
	CHECK_FOREIGN,	  /* sealed, unchanged, but not by the plant */
	CHECK_UNSEALED,	  /* carries no seal */
	CHECK_UNREADABLE, /* neither a PDF nor an XML certificate of our form */
	CHECK_VERDICTS
};

const char *check_verdict_word(enum check_verdict v); /* "genuine", ...; NULL for a number that is none */

struct file_check {
	enum check_verdict verdict;
	bool xml;			/* judged as an XML document; otherwise as a PDF */
	bool on_file;			/* certificate is the one that was issued with these bytes */
	struct certificate certificate; /* when on_file; text from the arena */
	struct seal_report pdf;		/* of a PDF */
	struct dcc_report document;	/* of an XML document */
	char sha256[SHA256_HEX_SIZE];
};

/* Those whose seals and time stamps are trusted; each may be NULL. */
struct check_roots {
	const struct seal_roots *seal, *stamp;
};

/*
 * Any bytes, also hostile ones; a bad file is an answer, not a failure. db NULL: nothing on file to compare with. INVALID when
 * there are no bytes or more than CHECK_FILE_MAX; NO_MEMORY.
 */
enum status check_file(struct db *db, const struct check_roots *roots, const void *bytes, size_t size, struct arena *a,
		       struct file_check *out, struct err *err);

/* The result in sentences, the most important first: the seal, the comparison with the file on record, the certificate's state. */
#define CHECK_SENTENCES	    4
#define CHECK_SENTENCE_SIZE 2400 /* a reason has up to 500 characters, of up to four bytes each */
size_t check_sentences(const struct file_check *c, bool compared, char out[CHECK_SENTENCES][CHECK_SENTENCE_SIZE]);

/* "BWW-2026-0017 stands." or how it was replaced or made void, in one sentence. */
void certificate_state_sentence(const struct certificate *c, char *out, size_t size);

#endif
