#include "api/api.h"
#include "api/handlers.h"
#include "domain/tolerance_rule.h"
#include "listing.h"

enum status api_tolerance_rule_list(struct request *req, struct reply *reply)
{
	struct tolerance_rule *list;
	json_t *items;
	size_t n;
	int limit;
	enum status rc = listing_limit(req, &limit, &reply->err);

	if (!rc)
		rc = store_tolerance_rule_list(api_db(req), listing_query(req, "after"), limit, &req->arena, &list, &n,
					       &reply->err);
	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n && i < (size_t)limit; i++)
		json_array_append_new(items, tolerance_rule_to_json(&list[i]));
	return listing_reply(reply, items, n > (size_t)limit ? list[limit - 1].name : NULL);
}

enum status api_tolerance_rule_add(struct request *req, struct reply *reply)
{
	struct tolerance_rule rule;
	enum status rc = tolerance_rule_from_json(req->body, &req->arena, &rule, &reply->err);

	if (!rc)
		rc = tolerance_rule_add(api_db(req), api_actor(req), &rule, &req->arena, &reply->err);
	return rc ? rc : reply_row(reply, 201, tolerance_rule_to_json(&rule), rule.version, NULL, NULL);
}

enum status api_tolerance_rule_change(struct request *req, struct reply *reply)
{
	struct tolerance_rule rule;
	int version;
	enum status rc = http_if_match(req, &version, &reply->err);

	if (!rc)
		rc = tolerance_rule_from_json(req->body, &req->arena, &rule, &reply->err);
	if (rc)
		return rc;
	rule.id = req->params[0];
	rule.version = version;
	rc = tolerance_rule_change(api_db(req), api_actor(req), &rule, &req->arena, &reply->err);
	return rc ? rc : reply_row(reply, 200, tolerance_rule_to_json(&rule), rule.version, NULL, NULL);
}
