/* Instrument labels as PDF: on sheets of 3 x 9 to cut out, or one to a page for a label printer. */
#ifndef REPORT_LABEL_H
#define REPORT_LABEL_H

#include <stddef.h>
#include <stdint.h>
#include "base/status.h"

#define LABELS_PER_SHEET 27

enum label_kind { LABEL_ORDINARY, LABEL_DO_NOT_USE, LABEL_LIMITED };
enum label_paper { LABEL_A4, LABEL_LETTER, LABEL_ROLL_62X29, LABEL_ROLL_89X36 };

struct label {
	enum label_kind kind;
	const char *tag, *service, *certificate, *verify_address;
	const char *tested_on, *due_on, *by; /* dates "2026-11-25"; due_on and by may be NULL */
	const char *limitation;		     /* of LABEL_LIMITED */
	int64_t at;			     /* of the certificate: dates the file */
};

/*
 * start: the first free label of the first sheet, 1 to LABELS_PER_SHEET; 1 for a roll. n at least 1. Text that is too long is set
 * smaller, then cut with an ellipsis. *bytes is malloc'ed, the caller frees it. INVALID for a character without a glyph.
 */
enum status label_pdf(const struct label *labels, size_t n, enum label_paper paper, int start, const char *author,
		      const char *program, char **bytes, size_t *size, struct err *err);

#endif
