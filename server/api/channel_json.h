/* What several routes say of channels. */
#ifndef API_CHANNEL_JSON_H
#define API_CHANNEL_JSON_H

#include <jansson.h>
#include "domain/live.h"

json_t *channel_state_json(struct live_channel *c, const struct live_state *s);

#endif
