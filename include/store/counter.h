/* Numbered series without gaps: 'record-2026', 'certificate-2026'. */
#ifndef STORE_COUNTER_H
#define STORE_COUNTER_H

#include "store/db.h"

enum status store_counter_next(struct db *db, const char *series, int64_t *number, struct err *err);

#endif
