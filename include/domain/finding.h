/* Findings: opened by a record whose as-found verdict is outside (domain/record_sign.h), closed here by signature. */
#ifndef DOMAIN_FINDING_H
#define DOMAIN_FINDING_H

#include "domain/actor.h"
#include "store/finding.h"

/*
 * Closes it with what was decided about what it touched; writes signature and ledger (the password has been checked).
 * FORBIDDEN without the permission to review, NOT_FOUND, CONFLICT when it is closed already.
 */
enum status finding_close(struct db *db, const struct actor *actor, const char *id, const char *disposition,
			  struct arena *a, struct err *err);

#endif
