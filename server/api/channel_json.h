/* What several routes say of channels. */
#ifndef API_CHANNEL_JSON_H
#define API_CHANNEL_JSON_H

#include <jansson.h>
#include "domain/live.h"

json_t *field_words_json(unsigned status); /* of enum field_status, a list of words */
json_t *channel_state_json(struct live_channel *c, const struct live_state *s);

#endif
