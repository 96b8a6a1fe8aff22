/* What the rules of the register share. */
#ifndef DOMAIN_REGISTER_H
#define DOMAIN_REGISTER_H

#include "base/json.h"
#include "domain/ledger.h"

/* Writes the ledger and releases before and after (NULL without). action "add", "change", ... */
enum status register_note(struct db *db, const struct actor *actor, const char *action, const char *thing,
			  const char *thing_id, const char *label, json_t *before, json_t *after, struct err *err);

/* The JSON kept as text in a column: compact, sorted. NULL with err for no memory. */
const char *register_text(const json_t *json, struct arena *a, struct err *err);
/* The JSON of a column that we wrote ourselves; null when it cannot be read. New reference. */
json_t *register_json(const char *text);

/* Element i of a list of one-line texts, judged under its own pointer. Borrowed from the list; "" after a failure. */
const char *register_text_element(struct json_in *in, const char *name, size_t i, size_t max_characters);

#endif
