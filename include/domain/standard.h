/* Reference standards: their certificates, and whether they may be relied on today. */
#ifndef DOMAIN_STANDARD_H
#define DOMAIN_STANDARD_H

#include "base/json.h"
#include "domain/actor.h"
#include "store/standard.h"

enum standard_state {
	STANDARD_VALID,
	STANDARD_DUE_SOON,
	STANDARD_EXPIRED,
	STANDARD_NONE,
	STANDARD_OUT_OF_USE,
	STANDARD_FAILED
};

/* today: days since 1970. Due soon: valid for at most 30 days more. The last day of validity still counts. */
enum standard_state standard_state(const struct standard *s, int32_t today);
const char *standard_state_word(enum standard_state s);

/* For a change with status and reason; for a new one with a first calibration, if there is one. */
enum status standard_from_json(json_t *body, bool change, struct standard *out, struct err *err);
enum status standard_calibration_from_json(json_t *body, struct standard_calibration *out, struct err *err);
json_t *standard_calibration_to_json(const struct standard_calibration *c);
json_t *standard_summary_to_json(const struct standard *s, int32_t today); /* as a list shows it */
json_t *standard_to_json(const struct standard *s, int32_t today); /* and maker, model, serial, reason, version */

/* Adds it, with s->calibration when that has a certificate number. Sets ids, times and version. */
enum status standard_add(struct db *db, const struct actor *actor, struct standard *s, struct arena *a,
			 struct err *err);
enum status standard_change(struct db *db, const struct actor *actor, struct standard *s, struct arena *a,
			    struct err *err);
enum status standard_calibration_add(struct db *db, const struct actor *actor, struct standard_calibration *c,
				     struct arena *a, struct err *err);

#endif
