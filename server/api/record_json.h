/* The test record of docs/api.md as JSON: shown texts made once, here, from the judged record. */
#ifndef API_RECORD_JSON_H
#define API_RECORD_JSON_H

#include <jansson.h>
#include "domain/actor.h"
#include "domain/record.h"
#include "domain/record_view.h"

/* What actor sees of r. db is read for the standards that could be chosen. *out is a new reference. */
enum status record_to_json(struct db *db, const struct record *r, const struct actor *actor, struct arena *a,
			   json_t **out, struct err *err);
/* run_json.c: one run with its points, band and summary; NULL for no memory. */
json_t *run_to_json(const struct record *r, const struct record_run *run);

/* switch_json.c: the member "switch" of a run; null for points. */
json_t *run_switch_to_json(const struct record *r, const struct record_run *run);

/* dead_band_json.c: the member "dead_band" of a run; null where the procedure asks for none. */
json_t *run_dead_band_to_json(const struct record *r, const struct record_run *run);

/* "12.00 mA"; null for a number that is none. */
json_t *shown_quantity(double v, int decimals, const char *unit);
/* Text as typed, with the true minus and the unit. */
json_t *shown_typed(const char *typed, const char *unit);

#endif
