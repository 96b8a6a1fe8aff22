/*
 * From the technician's signature to the certificate. As in record_edit.h, each runs inside the caller's write
 * transaction; the password has been checked. FORBIDDEN when this person may not.
 */
#ifndef DOMAIN_RECORD_SIGN_H
#define DOMAIN_RECORD_SIGN_H

#include "domain/record.h"

/*
 * "Performed": fixes the verdicts, moves the schedule's due date when the instrument was left inside its limits, opens a
 * finding when it was found outside. content_sha256: of what was shown; CONFLICT when that is no longer the record.
 */
enum status record_sign_performed(struct db *db, const struct actor *actor, const char *id, const char *content_sha256,
				  const char *remark, struct arena *a, struct err *err);
/* "Reviewed", by another person than the one who performed it. */
enum status record_sign_reviewed(struct db *db, const struct actor *actor, const char *id, const char *content_sha256,
				 const char *remark, struct arena *a, struct err *err);
/* "Approved", by a third person, after the review and before the certificate; the plant's settings say whether it is asked for. */
enum status record_sign_approved(struct db *db, const struct actor *actor, const char *id, const char *content_sha256,
				 const char *remark, struct arena *a, struct err *err);
/* Back to the technician with a reason; the due date and an open finding are taken back until it is signed again. */
enum status record_return(struct db *db, const struct actor *actor, const char *id, const char *reason, struct arena *a,
			  struct err *err);
/*
 * States what the instrument may be used for only, from this test on: its label says so. 1..LIMITATION_CHARACTERS_MAX
 * characters. CONFLICT without a certificate that stands.
 */
enum status record_limit(struct db *db, const struct actor *actor, const char *id, const char *text, struct arena *a,
			 struct err *err);
/* Its label is an ordinary one again; who said so, and why, stands in the ledger. CONFLICT where there is no limitation. */
enum status record_lift_limitation(struct db *db, const struct actor *actor, const char *id, const char *reason,
				   struct arena *a, struct err *err);
/*
 * Opens an amendment of a certified record: the same test with its readings, to be corrected, signed and reviewed anew under its
 * number with "-A1" added. The certificate stands until the amendment's is issued. CONFLICT unless it is certified and stands,
 * and while another amendment is in hand. *amendment is the new record's id, from a.
 */
enum status record_amend(struct db *db, const struct actor *actor, const char *id, const char *reason, struct arena *a,
			 const char **amendment, struct err *err);
/*
 * Out of the record, with a reason; its certificate becomes void, and the due date and an open finding are taken back. CONFLICT
 * when it was amended: then the amendment is what stands.
 */
enum status record_void(struct db *db, const struct actor *actor, const char *id, const char *reason, struct arena *a,
			struct err *err);
#endif
