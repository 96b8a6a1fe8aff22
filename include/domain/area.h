/* Areas of the plant; they nest, never in a circle. */
#ifndef DOMAIN_AREA_H
#define DOMAIN_AREA_H

#include "base/json.h"
#include "domain/actor.h"
#include "store/area.h"

#define AREA_DEPTH_MAX 6

/* position is -1 when absent. */
enum status area_from_json(json_t *body, bool change, struct area *out, struct err *err);
json_t *area_to_json(const struct area *area);
/* All areas in the order of a round: an area, then those in it. */
enum status area_list(struct db *db, struct arena *a, struct area **out, size_t *n, struct err *err);
enum status area_add(struct db *db, const struct actor *actor, struct area *area, struct arena *a, struct err *err);
enum status area_change(struct db *db, const struct actor *actor, struct area *area, struct arena *a, struct err *err);

#endif
