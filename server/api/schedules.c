#include <stdio.h>
#include <string.h>

#include "api/api.h"
#include "api/handlers.h"
#include "base/text.h"
#include "base/time.h"
#include "domain/schedule.h"
#include "listing.h"

#define CURSOR_SIZE 64

/* "2026-11-25.<id>": due date and id of the last one shown. */
static enum status read_cursor(struct request *req, const char **due, const char **id, struct err *err)
{
	const char *after = listing_query(req, "after");
	char *copy;
	int32_t days;

	*due = *id = NULL;
	if (!after)
		return OK;
	copy = arena_strdup(&req->arena, after);
	if (copy && strlen(copy) == 10 + 1 + UUID_SIZE - 1 && copy[10] == '.') {
		copy[10] = '\0';
		if (date_from_text(copy, &days) && uuid_is_valid(copy + 11)) {
			*due = copy;
			*id = copy + 11;
			return OK;
		}
	}
	return err_set(err, INVALID, "after", "this is no cursor of this list");
}

static json_t *schedules_to_json(const struct schedule *list, size_t n)
{
	json_t *items = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, schedule_to_json(&list[i], date_today()));
	return items;
}

enum status api_schedule_list(struct request *req, struct reply *reply)
{
	const char *instrument, *due, *id;
	char next[CURSOR_SIZE];
	struct schedule *list;
	size_t n;
	int limit;
	enum status rc = listing_limit(req, &limit, &reply->err);

	if (!rc)
		rc = listing_id(req, "instrument", &instrument, &reply->err);
	if (!rc)
		rc = read_cursor(req, &due, &id, &reply->err);
	if (rc)
		return rc;
	if (instrument) {
		rc = store_schedule_of_instrument(api_db(req), instrument, &req->arena, &list, &n, &reply->err);
		return rc ? rc : listing_reply(reply, schedules_to_json(list, n), NULL);
	}
	rc = store_schedule_list(api_db(req), due, id, limit, &req->arena, &list, &n, &reply->err);
	if (rc)
		return rc;
	if (n <= (size_t)limit)
		return listing_reply(reply, schedules_to_json(list, n), NULL);
	snprintf(next, sizeof next, "%s.%s", list[limit - 1].due_on, list[limit - 1].id);
	return listing_reply(reply, schedules_to_json(list, (size_t)limit), next);
}

enum status api_schedule_add(struct request *req, struct reply *reply)
{
	struct schedule s;
	enum status rc = schedule_from_json(req->body, false, &s, &reply->err);

	if (!rc)
		rc = schedule_add(api_db(req), api_actor(req), &s, &req->arena, &reply->err);
	return rc ? rc : reply_row(reply, 201, schedule_to_json(&s, date_today()), s.version, NULL, NULL);
}

enum status api_schedule_change(struct request *req, struct reply *reply)
{
	struct schedule s;
	int version;
	enum status rc = http_if_match(req, &version, &reply->err);

	if (!rc)
		rc = schedule_from_json(req->body, true, &s, &reply->err);
	if (rc)
		return rc;
	s.id = req->params[0];
	s.version = version;
	rc = schedule_change(api_db(req), api_actor(req), &s, &req->arena, &reply->err);
	return rc ? rc : reply_row(reply, 200, schedule_to_json(&s, date_today()), s.version, NULL, NULL);
}
