/* Schedules: when which instrument is due for which procedure, and on what evidence. */
#ifndef DOMAIN_SCHEDULE_H
#define DOMAIN_SCHEDULE_H

#include "base/json.h"
#include "domain/actor.h"
#include "store/schedule.h"

json_t *schedule_to_json(const struct schedule *s, int32_t today);

/* body as in docs/api.md; for a change without instrument_id and procedure_id, and with active. */
enum status schedule_from_json(json_t *body, bool change, struct schedule *out, struct err *err);
enum status schedule_add(struct db *db, const struct actor *actor, struct schedule *s, struct arena *a,
			 struct err *err);
enum status schedule_change(struct db *db, const struct actor *actor, struct schedule *s, struct arena *a,
			    struct err *err);

/*
 * A test of this schedule has been signed: the next due date is its day (days since 1970) plus the interval. Writes the
 * ledger. Called in the transaction of the signature.
 */
enum status schedule_tested(struct db *db, const struct actor *actor, const char *id, int32_t day,
			    const char *record_number, struct arena *a, struct err *err);
/*
 * The test of that day no longer counts: the due date that it had moved goes back to the day of the test, due at once. A date
 * that somebody has set since, or a later test, is left alone. reason for the ledger. In the caller's transaction.
 */
enum status schedule_taken_back(struct db *db, const struct actor *actor, const char *id, int32_t day,
				const char *reason, struct arena *a, struct err *err);
/* The test of that day counts after all, as its amendment says: as schedule_tested, but a later due date is left alone. */
enum status schedule_tested_after_all(struct db *db, const struct actor *actor, const char *id, int32_t day,
				      const char *record_number, struct arena *a, struct err *err);

#endif
