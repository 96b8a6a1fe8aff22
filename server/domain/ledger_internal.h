/* Between the files of the ledger. */
#ifndef SERVER_DOMAIN_LEDGER_INTERNAL_H
#define SERVER_DOMAIN_LEDGER_INTERNAL_H

#include "base/text.h"
#include "domain/ledger.h"

/* The entry as canonical JSON, from a; NULL for no memory. Every byte that is stored is a byte in it. */
const char *ledger_canonical(const struct ledger_entry *e, struct arena *a);
enum status ledger_hash(const struct ledger_entry *e, struct arena *a, char hash[SHA256_HEX_SIZE], struct err *err);

/* What the head's mac must be; "" without a key. */
void ledger_mac(const struct db *db, const struct ledger_head *head, char mac[SHA256_HEX_SIZE]);

/* What a checkpoint's signature covers, from a; NULL for no memory. */
const char *ledger_checkpoint_text(const struct ledger_checkpoint *c, struct arena *a);

#endif
