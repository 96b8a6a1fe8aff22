/*
 * Issuing: from a reviewed record to a sealed certificate that never changes. The pages are drawn, the record for machines is
 * written and sealed, both become one file, and each signature is set; only then is the certificate issued. When a step
 * fails, the record stays reviewed, its number stays reserved, and issuing again goes on from there.
 *
 * The seal key is opened at its first use: a plant's own authority is made then, under the plant's name. Everything here may be
 * called from any thread.
 */
#ifndef REPORT_ISSUE_H
#define REPORT_ISSUE_H

#include "base/text.h"
#include "domain/certificate.h"
#include "domain/ledger.h"
#include "report/certificate.h"
#include "report/seal_key.h"

#define ISSUE_SENTENCE_SIZE 320 /* as struct err has */

struct issuer;

/* Text is copied. */
struct issuer_config {
	const char *folder;	 /* of the own authority, "…/seal"; made at first use */
	const char *passphrase;	 /* of the key, NULL without */
	const char *pkcs12;	 /* the company's file in place of the own authority; NULL without */
	struct seal_token token; /* a device in place of both; module NULL without */
	const char *stamp_roots; /* PEM file of those whose time stamps are believed; NULL without */
	const char
		*seal_roots;  /* PEM file of more roots whose seals are the plant's, such as a former company's; NULL */
	bool unsealed;	      /* the plant issues without a seal, and each certificate says so */
	int64_t own_since_ms; /* from when the own authority holds; 0: from now. A demo plant has a past */
	const char *program;  /* "Loopledger 0.1.0" */
};

/* NULL when memory is exhausted. */
struct issuer *issuer_new(const struct issuer_config *config);
void issuer_free(struct issuer *issuer);		    /* NULL is allowed */
void issuer_set_port(struct issuer *issuer, unsigned port); /* printed while no public address is set */

/* The key, opened if it was not; borrowed. The sentence of a failure says what stands in the way; trying again later works. */
enum status issuer_key(struct issuer *issuer, struct store *store, struct seal_key **key, struct err *err);
/* Those whose seals are this plant's own, borrowed; NULL and OK when the plant has no key yet. */
enum status issuer_roots(struct issuer *issuer, struct store *store, const struct seal_roots **roots, struct err *err);
const struct seal_roots *issuer_stamp_roots(struct issuer *issuer); /* NULL without */

/* What a certificate says of the plant; text from a. CONFLICT while the record has no certificate number. */
enum status issuer_options(struct issuer *issuer, struct db *db, const struct record *r, struct arena *a,
			   struct certificate_options *options, struct err *err);

/*
 * Issues the certificate of a reviewed record and makes a checkpoint of the ledger. Not inside a write transaction. What
 * certificate_reserve refuses, and: INVALID for a key that cannot be used, a certificate out of its dates, a character
 * without a glyph; BUSY without an answer of the time stamp authority; FAILED when the disk is full.
 */
enum status issuer_issue(struct issuer *issuer, struct store *store, const struct actor *actor, const char *record_id,
			 struct err *err);

/*
 * For who does not keep the server: takes the places of its files and of its device out of a sentence, and leaves a file its
 * name. Returns what to answer with: a key that is missing or unguarded (NOT_FOUND, FORBIDDEN) is CONFLICT to whoever asked
 * for something else.
 */
enum status issuer_hide_places(const struct issuer *issuer, struct err *err);

/* Why the certificate of a record was not issued when it was last tried. */
struct issue_failure {
	char record_id[UUID_SIZE];
	int64_t at;			    /* ms */
	char sentence[ISSUE_SENTENCE_SIZE]; /* what stood in the way, with places: see issuer_hide_places */
	const char *advice;		    /* what to do, and who; constant */
};

/* false: nothing stands in the way of this record as far as is known. Forgotten when the program ends. */
bool issuer_failure(struct issuer *issuer, const char *record_id, struct issue_failure *out);

/* Seals what was issued without a seal so far, as of its own dates. *n is how many. actor NULL: the program. */
enum status issuer_seal_all(struct issuer *issuer, struct store *store, const struct actor *actor, size_t *n,
			    struct err *err);

/* For ledger_check and ledger_checkpoint; lives as long as the issuer. The store is kept. */
const struct ledger_seal *issuer_ledger_seal(struct issuer *issuer, struct store *store);

#endif
