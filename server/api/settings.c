#include "api/api.h"
#include "api/handlers.h"
#include "domain/setting.h"
#include "listing.h"

enum status api_settings_get(struct request *req, struct reply *reply)
{
	struct settings s;
	enum status rc = settings_get(api_db(req), &req->arena, &s, &reply->err);

	return rc ? rc : reply_json(reply, settings_to_json(&s));
}

enum status api_settings_change(struct request *req, struct reply *reply)
{
	struct settings s;
	enum status rc = settings_from_json(req->body, &s, &reply->err);

	if (!rc)
		rc = settings_change(api_db(req), api_actor(req), &s, &req->arena, &reply->err);
	return rc ? rc : reply_json(reply, settings_to_json(&s));
}
