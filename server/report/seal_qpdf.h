/* libqpdf, as far as the seal uses it: reading what cairo wrote, mending its fonts, writing it as one plain revision. */
#ifndef REPORT_SEAL_QPDF_H
#define REPORT_SEAL_QPDF_H

#include <qpdf/qpdf-c.h>
#include "base/status.h"

/* Reads without repairing. *out is closed with qpdf_cleanup; the bytes must stay until then. */
enum status seal_qpdf_open(const void *pdf, size_t size, qpdf_data *out, struct err *err);
/* Objects not compressed, cross references as a table, the same bytes for the same content. *out is malloc'ed. */
enum status seal_qpdf_write(qpdf_data q, char **out, size_t *size, struct err *err);
/* FAILED with libqpdf's sentence when it has noted an error since it was last asked. */
enum status seal_qpdf_judge(qpdf_data q, struct err *err);

/* cairo leaves out /CIDToGIDMap, which PDF/A asks for in every CIDFontType2 (ISO 19005-3 6.2.11.3.2). */
void seal_qpdf_mend_fonts(qpdf_data q);

#endif
