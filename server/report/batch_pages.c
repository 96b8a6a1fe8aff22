/* The print file of a batch: the pages of many certificates in one PDF, put together by libqpdf. */
#include <stdlib.h>

#include "batch_internal.h"
#include "seal_qpdf.h"

struct batch_pages {
	qpdf_data whole;
	struct part {
		qpdf_data q;
		char *bytes;
	} parts[BATCH_PRINT_MAX]; /* libqpdf copies when it writes: each stays until then */
	size_t n;
};

struct batch_pages *batch_pages_new(void)
{
	struct batch_pages *b = calloc(1, sizeof *b);

	if (!b)
		return NULL;
	b->whole = qpdf_init();
	if (!b->whole || (qpdf_empty_pdf(b->whole) & QPDF_ERRORS)) {
		batch_pages_free(b);
		return NULL;
	}
	return b;
}

enum status batch_pages_add(struct batch_pages *b, char *pdf, size_t size, struct err *err)
{
	struct part *part = &b->parts[b->n];
	enum status rc;
	int pages;

	if (b->n == BATCH_PRINT_MAX) {
		free(pdf);
		return err_set(err, INVALID, "records", "at most %d certificates are printed at once", BATCH_PRINT_MAX);
	}
	rc = seal_qpdf_open(pdf, size, &part->q, err);
	if (rc) {
		free(pdf);
		return rc;
	}
	part->bytes = pdf;
	b->n++;
	pages = qpdf_get_num_pages(part->q);
	for (int i = 0; i < pages; i++)
		if (qpdf_add_page(b->whole, part->q, qpdf_get_page_n(part->q, (size_t)i), QPDF_FALSE) & QPDF_ERRORS)
			break;
	return seal_qpdf_judge(b->whole, err);
}

enum status batch_pages_end(struct batch_pages *b, FILE *out, struct err *err)
{
	char *bytes = NULL;
	size_t size;
	enum status rc = seal_qpdf_write(b->whole, &bytes, &size, err);

	if (!rc && fwrite(bytes, 1, size, out) != size)
		rc = err_set(err, FAILED, "", "the pages cannot be written: the disk may be full");
	free(bytes);
	return rc;
}

void batch_pages_free(struct batch_pages *b)
{
	if (!b)
		return;
	if (b->whole)
		qpdf_cleanup(&b->whole);
	for (size_t i = 0; i < b->n; i++) {
		qpdf_cleanup(&b->parts[i].q);
		free(b->parts[i].bytes);
	}
	free(b);
}
