/*
 * From a reviewed record to its certificate, in two steps, because between them it is drawn and sealed outside the
 * writer: a number is reserved, and the finished files are taken in under it. When sealing fails the record stays reviewed and
 * the number stays reserved for it, so that no number is lost. Each runs inside the caller's write transaction.
 */
#ifndef DOMAIN_CERTIFICATE_H
#define DOMAIN_CERTIFICATE_H

#include "domain/record.h"
#include "store/certificate.h"

struct certificate_reservation {
	char number[64]; /* 'PREFIX-YYYY-NNNN'; of an amendment, the first number with '-A1', '-A2', ... */
	int version;	 /* of the record, which must still be so when it is issued */
};

/*
 * CONFLICT unless the record is reviewed (and approved, where the plant asks for that) and still what was signed;
 * FORBIDDEN when this person may not.
 */
enum status certificate_reserve(struct db *db, const struct actor *actor, const char *record_id, struct arena *a,
				struct certificate_reservation *out, struct err *err);
/*
 * Issues it: the record becomes certified, and the certificate that it amends amended. at is the time that stands on it. files
 * NULL: without a seal. CONFLICT when the record changed since it was reserved.
 */
enum status certificate_issue(struct db *db, const struct actor *actor, const char *record_id,
			      const struct certificate_reservation *reservation, int64_t at,
			      const struct certificate_file *files, struct arena *a, struct err *err);
/* Both at once, without a seal. */
enum status certificate_issue_unsealed(struct db *db, const struct actor *actor, const char *record_id, struct arena *a,
				       struct err *err);
/* Seals one that was issued without: takes its files in. CONFLICT when it has some. */
enum status certificate_seal(struct db *db, const struct actor *actor, const struct certificate_file *files,
			     struct arena *a, struct err *err);

#endif
