/* Rows of table channel: what an input or output of an instrument or a standard is read from. */
#ifndef STORE_CHANNEL_H
#define STORE_CHANNEL_H

#include "store/db.h"

struct channel {
	const char *id;
	const char *instrument_id, *standard_id; /* one of them, the other NULL */
	const char *side;			 /* "input", "output" */
	const char *source_json;
	int period_ms;	       /* 100..60000 */
	const char *device_id; /* what the device called itself when it was confirmed; NULL before */
	const char *device_tag;
	int version;
	int64_t created_at, updated_at;
	/* Read only, joined: */
	const char *label; /* tag of the instrument or code of the standard */
	const char *about; /* service of the instrument or name of the standard */
	const char *model; /* maker and model of the instrument or standard; "" when neither is known */
	const char *area;  /* where the instrument is; NULL of a standard */
};

/* CONFLICT /side when there is one already; INVALID never: references are the caller's to check. */
enum status store_channel_add(struct db *db, const struct channel *c, struct err *err);
/* source_json, period, device: STALE when the version is no longer c->version. */
enum status store_channel_update(struct db *db, const struct channel *c, struct err *err);
enum status store_channel_remove(struct db *db, const char *id, struct err *err);
enum status store_channel_get(struct db *db, const char *id, struct arena *a, struct channel *out, struct err *err);
/* Of the instrument or the standard (the other NULL) on that side. NOT_FOUND without a sentence when there is none. */
enum status store_channel_of(struct db *db, const char *instrument_id, const char *standard_id, const char *side,
			     struct arena *a, struct channel *out, struct err *err);
/* By label and side; of one instrument or one standard when named. */
enum status store_channel_list(struct db *db, const char *instrument_id, const char *standard_id, struct arena *a,
			       struct channel **out, size_t *n, struct err *err);

#endif
