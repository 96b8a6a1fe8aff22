/* What cairo leaves out of the structure: texts for figures, what a head of a table is the head of, the order of fields. */
#ifndef REPORT_SEAL_TAGS_H
#define REPORT_SEAL_TAGS_H

#include <qpdf/qpdf-c.h>
#include "base/status.h"

/* texts: one for each Figure, in the order of reading. INVALID /alternatives when there are more or fewer figures. */
enum status seal_tags_complete(qpdf_data q, qpdf_oh root, const char *const *texts, size_t n_texts, struct err *err);

#endif
