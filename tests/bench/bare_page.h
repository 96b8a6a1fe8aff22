/* The floor: about the words, figures and lines of a certificate, set the plain way, with no tags, tables or second pass. */
#ifndef BENCH_BARE_PAGE_H
#define BENCH_BARE_PAGE_H

#include "domain/record.h"

/* Two pages of A4; the PDF is malloc'ed, the caller frees it. */
char *bare_page(const struct record *r);

#endif
