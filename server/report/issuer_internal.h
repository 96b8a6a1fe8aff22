/* Between issuer.c and issue.c. */
#ifndef SERVER_REPORT_ISSUER_INTERNAL_H
#define SERVER_REPORT_ISSUER_INTERNAL_H

#include <pthread.h>
#include "report/issue.h"
#include "report/seal_note.h"

#define ISSUE_FAILURES_MAX 100

/* Where issuing stands; what to do about a failure depends on it. */
enum issue_step { ISSUE_RESERVE, ISSUE_KEY, ISSUE_DATES, ISSUE_DRAW, ISSUE_STAMP, ISSUE_KEEP };

struct issuer {
	pthread_mutex_t lock; /* guards what is opened at the first use */
	struct seal_key *key;
	struct seal_roots *roots, *stamp_roots;
	char *folder, *passphrase, *pkcs12, *module, *uri, *pin, *token_certificate, *stamp_roots_file,
		*seal_roots_file, *program;
	bool unsealed;
	int64_t own_since_ms;
	unsigned port;
	struct store *store; /* of ledger_seal */
	struct ledger_seal ledger_seal;
	pthread_mutex_t failures_lock;
	struct issue_failure failures[ISSUE_FAILURES_MAX]; /* record_id "" where there is none */
	size_t next_failure;
};

/* Keeps what came of issuing: a failure until it is issued, rc OK forgets it, a refusal changes nothing. */
void issuer_note(struct issuer *issuer, const char *record_id, enum issue_step step, enum status rc,
		 const struct err *err);

#endif
