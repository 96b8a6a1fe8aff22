/* Rows of table instrument. */
#ifndef STORE_INSTRUMENT_H
#define STORE_INSTRUMENT_H

#include "metrology/loop.h"
#include "metrology/range.h"
#include "metrology/switch.h"
#include "store/db.h"

struct instrument {
	const char *id;	     /* UUIDv7 */
	const char *tag;     /* as in ISA-5.1, unique regardless of case */
	const char *service; /* what it does, in words */
	const char *kind;    /* 'transmitter', ... as in docs/api.md */
	const char *area_id;
	const char *area;			       /* read only: name of the area */
	const char *location, *maker, *model, *serial; /* NULL when not given */
	const char *input_quantity, *input_unit, *output_quantity, *output_unit;
	struct range input, output; /* in those units */
	const char *characteristic_json;
	bool has_loop, hart;
	struct loop loop; /* device_v at 20 mA; only with has_loop */
	bool has_switch;
	struct switch_points switch_points; /* only with has_switch */
	const char *hazards_json;	    /* array of texts */
	const char *status;		    /* 'in_service', 'out_of_service', 'retired' */
	int version;
	int64_t created_at, updated_at;
};

enum status store_instrument_add(struct db *db, const struct instrument *in, struct err *err); /* CONFLICT /tag */
/* Everything but id and created_at, and raises the version; STALE when it is no longer in->version. */
enum status store_instrument_update(struct db *db, const struct instrument *in, struct err *err);
enum status store_instrument_get(struct db *db, const char *id, struct arena *a, struct instrument *out,
				 struct err *err);

/* What a list shows of one. */
struct instrument_summary {
	const char *id, *tag, *service, *kind, *area_id, *area, *status;
	const char *input_quantity, *input_unit, *output_quantity, *output_unit;
	struct range input, output;
	const char *due_on;	  /* earliest of its active schedules; NULL without, and when retired */
	const char *last_verdict; /* as found, of the newest signed test; NULL without */
};

struct instrument_filter {
	const char *q;		   /* part of tag or service, regardless of (ASCII) case; NULL or "": all */
	const char *area_id;	   /* this area and those in it; NULL: all */
	const char *kind, *status; /* NULL: all */
	const char *after;	   /* tag of the last one on the page before; NULL at the start */
	int limit;		   /* 1..200 */
};

/* By tag. *out holds up to limit + 1 rows, so that the caller sees whether there are more. */
enum status store_instrument_list(struct db *db, const struct instrument_filter *filter, struct arena *a,
				  struct instrument_summary **out, size_t *n, struct err *err);

#endif
