/* Counts of test records for the list of what is due. */
#ifndef STORE_DUE_H
#define STORE_DUE_H

#include "store/db.h"

/* Records open or returned, and records that wait for a review. */
enum status store_records_in_hand(struct db *db, int64_t *in_progress, int64_t *waiting, struct err *err);

/* Ids of the records that are open or returned (in hand), or that wait for a review: newest first, at most limit. */
enum status store_record_ids_in_hand(struct db *db, bool waiting, int limit, struct arena *a, const char ***ids,
				     size_t *n, struct err *err);

/* Tests signed as performed from the first day to the last, both included (days since 1970, in the plant's time zone). */
enum status store_records_performed(struct db *db, int32_t first_day, int32_t last_day, int64_t *count,
				    struct err *err);

#endif
