/* Between issuer.c and issue.c. */
#ifndef SERVER_REPORT_ISSUER_INTERNAL_H
#define SERVER_REPORT_ISSUER_INTERNAL_H

#include <pthread.h>
#include "report/issue.h"
#include "report/seal_note.h"

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
};

#endif
