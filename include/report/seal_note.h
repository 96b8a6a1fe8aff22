/* The plant's seal on a short text, apart from any file: on a checkpoint of the ledger. */
#ifndef REPORT_SEAL_NOTE_H
#define REPORT_SEAL_NOTE_H

#include <stdbool.h>
#include "report/seal_key.h"

/*
 * *signature: base64 of the signature over the text's SHA-256 (seal_key_sign); *certificate: PEM of the seal certificate and
 * its chain. Both malloc'ed.
 */
enum status seal_note_sign(struct seal_key *key, const char *text, char **signature, char **certificate,
			   struct err *err);
/* The signature is over this text, by this certificate, and that is under one of the roots. Dates are not judged: the text is
 * old as a rule. */
bool seal_note_fits(const struct seal_roots *roots, const char *text, const char *signature, const char *certificate);

#endif
