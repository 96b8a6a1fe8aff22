#include "domain/tolerance_rule.h"

#include "base/text.h"
#include "base/time.h"
#include "domain/spec_json.h"
#include "register.h"

enum status tolerance_rule_from_json(json_t *body, struct arena *a, struct tolerance_rule *out, struct err *err)
{
	struct tolerance rule;
	struct json_in in;
	json_t *json;

	json_in_begin(&in, body, err);
	*out = (struct tolerance_rule){.name = json_in_text(&in, "name", 80)};
	tolerance_read(&in, "rule", &rule);
	if (json_in_end(&in))
		return in.rc;
	json = tolerance_to_json(&rule);
	out->rule_json = register_text(json, a, err);
	json_decref(json);
	return out->rule_json ? OK : NO_MEMORY;
}

json_t *tolerance_rule_to_json(const struct tolerance_rule *rule)
{
	return json_pack("{s:s, s:s, s:o, s:i}", "id", rule->id, "name", rule->name, "rule",
			 register_json(rule->rule_json), "version", rule->version);
}

enum status tolerance_rule_add(struct db *db, const struct actor *actor, struct tolerance_rule *rule, struct arena *a,
			       struct err *err)
{
	char id[UUID_SIZE];
	enum status rc;

	uuid7(id);
	rule->id = arena_strdup(a, id);
	rule->created_at = time_now_ms();
	rule->version = 1;
	rc = store_tolerance_rule_add(db, rule, err);
	if (rc)
		return rc;
	return register_note(db, actor, "add", "tolerance_rule", rule->id, rule->name, NULL,
			     tolerance_rule_to_json(rule), err);
}

enum status tolerance_rule_change(struct db *db, const struct actor *actor, struct tolerance_rule *rule,
				  struct arena *a, struct err *err)
{
	struct tolerance_rule before;
	enum status rc = store_tolerance_rule_get(db, rule->id, a, &before, err);

	if (!rc)
		rc = store_tolerance_rule_update(db, rule, err);
	if (rc)
		return rc;
	rule->version++;
	return register_note(db, actor, "change", "tolerance_rule", rule->id, rule->name,
			     tolerance_rule_to_json(&before), tolerance_rule_to_json(rule), err);
}
