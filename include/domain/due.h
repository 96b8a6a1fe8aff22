/* What is due: counts, the list by area, the load of the coming months, tests in progress and waiting for review. */
#ifndef DOMAIN_DUE_H
#define DOMAIN_DUE_H

#include "base/json.h"
#include "store/schedule.h"

/* The document of GET /due. within: days, 0..366. *out is a new reference. */
enum status due_to_json(struct db *db, const struct due_filter *filter, int within, int32_t today, struct arena *a,
			json_t **out, struct err *err);

#endif
