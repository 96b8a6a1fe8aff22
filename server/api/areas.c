#include "api/api.h"
#include "api/handlers.h"
#include "domain/area.h"
#include "listing.h"

enum status api_area_list(struct request *req, struct reply *reply)
{
	struct area *areas;
	json_t *items;
	size_t n;
	enum status rc = area_list(api_db(req), &req->arena, &areas, &n, &reply->err);

	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, area_to_json(&areas[i]));
	return listing_reply(reply, items, NULL);
}

enum status api_area_add(struct request *req, struct reply *reply)
{
	struct area area;
	enum status rc = area_from_json(req->body, false, &area, &reply->err);

	if (!rc)
		rc = area_add(api_db(req), api_actor(req), &area, &req->arena, &reply->err);
	return rc ? rc : reply_row(reply, 201, area_to_json(&area), area.version, NULL, NULL);
}

enum status api_area_change(struct request *req, struct reply *reply)
{
	struct area area;
	int version;
	enum status rc = http_if_match(req, &version, &reply->err);

	if (!rc)
		rc = area_from_json(req->body, true, &area, &reply->err);
	if (rc)
		return rc;
	area.id = req->params[0];
	area.version = version;
	rc = area_change(api_db(req), api_actor(req), &area, &req->arena, &reply->err);
	return rc ? rc : reply_row(reply, 200, area_to_json(&area), area.version, NULL, NULL);
}
