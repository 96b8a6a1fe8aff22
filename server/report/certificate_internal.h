/* The parts of the certificate, in their order on the page. */
#ifndef REPORT_CERTIFICATE_INTERNAL_H
#define REPORT_CERTIFICATE_INTERNAL_H

#include "page.h"
#include "words.h"

#define HEADING_SPACE 12.0 /* above a heading */
#define LABEL_WIDTH   78.0 /* the column of labels, throughout */

struct certificate {
	const struct record *r;
	const struct certificate_options *options;
	struct words *w;
};

/* Runs that stand on the certificate: those with a reading. */
bool run_stands(const struct record_run *run);
/* Times of the first and last reading, UTC ms; false when nothing was read. */
bool tested_between(const struct record *r, int64_t *first, int64_t *last);
/* Whether the standard's validity had run out on the last day of the test. */
bool standard_expired(const struct record *r, const struct record_standard *s);
/* Decimals of what the readings say together, the same for both runs. */
int summary_decimals(const struct record *r);

void certificate_heading(struct page *p, const char *text, double keep);
/* A label and its text, which may go on over pages; nothing for NULL or "". */
void certificate_entry(struct page *p, const char *label, const char *text);
double certificate_entry_height(struct page *p, const char *text);

void certificate_title(struct page *p, const struct certificate *c);
void certificate_conformity(struct page *p, const struct certificate *c);
void certificate_identity(struct page *p, const struct certificate *c);
void certificate_standards(struct page *p, const struct certificate *c);
void certificate_basis(struct page *p, const struct certificate *c);
void certificate_signatures(struct page *p, const struct certificate *c);

void certificate_tables(struct page *p, const struct certificate *c);
void certificate_summary(struct page *p, const struct certificate *c);
/* certificate_switch.c: in their place for a switch. */
void certificate_actuations(struct page *p, const struct certificate *c, const struct record_run *run);
void certificate_switch_summary(struct page *p, const struct certificate *c);
void certificate_words(struct page *p, const struct certificate *c);
double certificate_words_height(struct page *p, const struct certificate *c);

#endif
