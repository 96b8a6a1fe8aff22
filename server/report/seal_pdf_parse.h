/* Values and tokens of PDF text, for the reader of revisions. */
#ifndef REPORT_SEAL_PDF_PARSE_H
#define REPORT_SEAL_PDF_PARSE_H

#include "seal_pdf.h"

struct pdf_cursor {
	struct pdf_file *file;
	size_t at, end; /* never reads at or behind end */
};

bool pdf_space(struct pdf_cursor *c); /* skips white space; true when there was some */
bool pdf_take(struct pdf_cursor *c, const char *text);
bool pdf_take_number(struct pdf_cursor *c, int64_t *n);		   /* up to 10 digits, no sign */
struct pdf_value *pdf_take_value(struct pdf_cursor *c, int depth); /* NULL: malformed, or a maximum is reached */

#endif
