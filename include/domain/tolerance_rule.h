/* Named tolerance rules that procedures start from. */
#ifndef DOMAIN_TOLERANCE_RULE_H
#define DOMAIN_TOLERANCE_RULE_H

#include "base/json.h"
#include "domain/actor.h"
#include "store/tolerance_rule.h"

enum status tolerance_rule_from_json(json_t *body, struct arena *a, struct tolerance_rule *out, struct err *err);
json_t *tolerance_rule_to_json(const struct tolerance_rule *rule);
enum status tolerance_rule_add(struct db *db, const struct actor *actor, struct tolerance_rule *rule, struct arena *a,
			       struct err *err);
enum status tolerance_rule_change(struct db *db, const struct actor *actor, struct tolerance_rule *rule,
				  struct arena *a, struct err *err);

#endif
