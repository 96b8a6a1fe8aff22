/* The description of a file in XMP (ISO 16684-1), as PDF/A-3 level U wants it (ISO 19005-3 6.6). */
#ifndef REPORT_SEAL_XMP_H
#define REPORT_SEAL_XMP_H

#include "seal_text.h"

struct xmp_facts { /* UTF-8; equal to the document's own information, "" when it has none */
	char title[512], author[512], subject[512], creator[256], producer[256];
	const char *language;
	int64_t created_ms, modified_ms;
};

void xmp_write(struct bytes *out, const struct xmp_facts *facts);

#endif
