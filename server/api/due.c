#include <stdlib.h>
#include <string.h>

#include "api/api.h"
#include "api/handlers.h"
#include "base/time.h"
#include "domain/due.h"
#include "listing.h"

#define WITHIN_ABSENT 30
#define WITHIN_MOST   366

static enum status read_within(struct request *req, int *within, struct err *err)
{
	const char *text = listing_query(req, "within");

	*within = WITHIN_ABSENT;
	if (!text)
		return OK;
	*within = strspn(text, "0123456789") == strlen(text) && strlen(text) <= 3 ? atoi(text) : WITHIN_MOST + 1;
	if (*within > WITHIN_MOST)
		return err_set(err, INVALID, "within", "within must be a whole number of days from 0 to %d",
			       WITHIN_MOST);
	return OK;
}

enum status api_due_get(struct request *req, struct reply *reply)
{
	const char *mine = listing_query(req, "mine");
	struct due_filter filter = {0};
	json_t *json;
	int within;
	enum status rc = read_within(req, &within, &reply->err);

	if (!rc)
		rc = listing_id(req, "area", &filter.area_id, &reply->err);
	if (mine && !strcmp(mine, "1"))
		filter.person_id = api_actor(req)->person_id;
	if (!rc)
		rc = due_to_json(api_db(req), &filter, within, date_today(), &req->arena, &json, &reply->err);
	return rc ? rc : reply_json(reply, json);
}
