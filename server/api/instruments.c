#include "api/api.h"
#include "api/handlers.h"
#include "base/time.h"
#include "domain/instrument.h"
#include "domain/record_summary.h"
#include "domain/schedule.h"
#include "listing.h"

#define RECORDS_MOST 50

enum status api_instrument_list(struct request *req, struct reply *reply)
{
	static const char *const kinds[] = {"transmitter", "sensing_element", "indicator", "switch",
					    "analyser",	   "control_valve",   NULL};
	static const char *const statuses[] = {"in_service", "out_of_service", "retired", NULL};
	struct instrument_filter filter = {.q = listing_query(req, "q"), .after = listing_query(req, "after")};
	struct instrument_summary *list;
	json_t *items;
	size_t n;
	enum status rc = listing_limit(req, &filter.limit, &reply->err);

	if (!rc)
		rc = listing_id(req, "area", &filter.area_id, &reply->err);
	if (!rc)
		rc = listing_word(req, "kind", kinds, &filter.kind, &reply->err);
	if (!rc)
		rc = listing_word(req, "status", statuses, &filter.status, &reply->err);
	if (!rc)
		rc = store_instrument_list(api_db(req), &filter, &req->arena, &list, &n, &reply->err);
	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n && i < (size_t)filter.limit; i++)
		json_array_append_new(items, instrument_summary_to_json(&list[i]));
	return listing_reply(reply, items, n > (size_t)filter.limit ? list[filter.limit - 1].tag : NULL);
}

static enum status add_schedules(struct request *req, const char *id, json_t *json, struct err *err)
{
	struct schedule *list;
	json_t *items;
	size_t n;
	enum status rc = store_schedule_of_instrument(api_db(req), id, &req->arena, &list, &n, err);

	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, schedule_to_json(&list[i], date_today()));
	json_object_set_new(json, "schedules", items);
	return OK;
}

static enum status add_records(struct request *req, const char *id, json_t *json, struct err *err)
{
	struct record_filter filter = {.instrument_id = id, .limit = RECORDS_MOST};
	struct record_summary *list;
	char next[RECORD_CURSOR_SIZE];
	size_t n;
	enum status rc = store_record_list(api_db(req), &filter, &req->arena, &list, &n, next, err);

	if (rc)
		return rc;
	json_object_set_new(json, "records", record_summaries_to_json(list, n));
	return OK;
}

/* The instrument with its schedules and its newest records. */
static enum status reply_instrument(struct request *req, struct reply *reply, int http_status,
				    const struct instrument *in)
{
	json_t *json = instrument_to_json(in);
	enum status rc = json ? add_schedules(req, in->id, json, &reply->err) : NO_MEMORY;

	if (!rc)
		rc = add_records(req, in->id, json, &reply->err);
	if (rc) {
		json_decref(json);
		return rc;
	}
	return reply_row(reply, http_status, json, in->version, "instruments", in->id);
}

enum status api_instrument_add(struct request *req, struct reply *reply)
{
	struct instrument in;
	enum status rc = instrument_from_json(req->body, &req->arena, &in, &reply->err);

	if (!rc)
		rc = instrument_add(api_db(req), api_actor(req), &in, &req->arena, &reply->err);
	return rc ? rc : reply_instrument(req, reply, 201, &in);
}

enum status api_instrument_get(struct request *req, struct reply *reply)
{
	struct instrument in;
	enum status rc = store_instrument_get(api_db(req), req->params[0], &req->arena, &in, &reply->err);

	return rc ? rc : reply_instrument(req, reply, 200, &in);
}

enum status api_instrument_change(struct request *req, struct reply *reply)
{
	struct instrument in;
	int version;
	enum status rc = http_if_match(req, &version, &reply->err);

	if (!rc)
		rc = instrument_from_json(req->body, &req->arena, &in, &reply->err);
	if (rc)
		return rc;
	in.id = req->params[0];
	in.version = version;
	rc = instrument_change(api_db(req), api_actor(req), &in, &req->arena, &reply->err);
	return rc ? rc : reply_instrument(req, reply, 200, &in);
}
