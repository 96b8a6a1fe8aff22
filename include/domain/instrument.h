/* The register of instruments: reading one from JSON, writing it, and the rules it must keep. */
#ifndef DOMAIN_INSTRUMENT_H
#define DOMAIN_INSTRUMENT_H

#include "base/json.h"
#include "domain/actor.h"
#include "store/instrument.h"

/*
 * Reads the members of docs/api.md that a person may write. INVALID with the pointer of the first fault. Text is borrowed
 * from body or allocated from a.
 */
enum status instrument_from_json(json_t *body, struct arena *a, struct instrument *out, struct err *err);
/* As docs/api.md reads it back, without schedules and records. NULL for no memory. */
json_t *instrument_to_json(const struct instrument *in);
json_t *instrument_summary_to_json(const struct instrument_summary *in);

/* The same JSON of the instrument as it stands, to be frozen into a test record. *out is a new reference. NOT_FOUND. */
enum status instrument_freeze(struct db *db, const char *id, struct arena *a, json_t **out, struct err *err);

/* Adds a new one: sets id, version and times, and writes the ledger. */
enum status instrument_add(struct db *db, const struct actor *actor, struct instrument *in, struct arena *a,
			   struct err *err);
/* Changes the one named by in->id at in->version; afterwards *in is as stored. */
enum status instrument_change(struct db *db, const struct actor *actor, struct instrument *in, struct arena *a,
			      struct err *err);

#endif
