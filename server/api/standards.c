#include "api/api.h"
#include "api/handlers.h"
#include "base/time.h"
#include "domain/record_summary.h"
#include "domain/standard.h"
#include "listing.h"

#define USES_MOST 50

enum status api_standard_list(struct request *req, struct reply *reply)
{
	char today[DATE_TEXT_SIZE];
	struct standard *list;
	json_t *items;
	size_t n;
	int limit;
	enum status rc = listing_limit(req, &limit, &reply->err);

	date_to_text(date_today(), today);
	if (!rc)
		rc = store_standard_list(api_db(req), listing_query(req, "q"), listing_query(req, "after"), limit,
					 today, &req->arena, &list, &n, &reply->err);
	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n && i < (size_t)limit; i++)
		json_array_append_new(items, standard_summary_to_json(&list[i], date_today()));
	return listing_reply(reply, items, n > (size_t)limit ? list[limit - 1].code : NULL);
}

static enum status add_calibrations(struct request *req, const char *id, json_t *json, struct err *err)
{
	struct standard_calibration *list;
	json_t *items;
	size_t n;
	enum status rc = store_standard_calibration_list(api_db(req), id, &req->arena, &list, &n, err);

	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, standard_calibration_to_json(&list[i]));
	json_object_set_new(json, "calibrations", items);
	return OK;
}

static enum status add_uses(struct request *req, const char *id, json_t *json, struct err *err)
{
	struct record_filter filter = {.standard_id = id, .limit = USES_MOST};
	struct record_summary *list;
	char next[RECORD_CURSOR_SIZE];
	size_t n;
	enum status rc = store_record_list(api_db(req), &filter, &req->arena, &list, &n, next, err);

	if (rc)
		return rc;
	json_object_set_new(json, "uses", record_summaries_to_json(list, n));
	return OK;
}

/* The standard with all its certificates and the tests that relied on it. */
static enum status reply_standard(struct request *req, struct reply *reply, int http_status, const struct standard *s)
{
	json_t *json = standard_to_json(s, date_today());
	enum status rc = json ? add_calibrations(req, s->id, json, &reply->err) : NO_MEMORY;

	if (!rc)
		rc = add_uses(req, s->id, json, &reply->err);
	if (rc) {
		json_decref(json);
		return rc;
	}
	return reply_row(reply, http_status, json, s->version, "standards", s->id);
}

static enum status reply_standard_by_id(struct request *req, struct reply *reply, int http_status, const char *id)
{
	char today[DATE_TEXT_SIZE];
	struct standard s;
	enum status rc;

	date_to_text(date_today(), today);
	rc = store_standard_get(api_db(req), id, today, &req->arena, &s, &reply->err);
	return rc ? rc : reply_standard(req, reply, http_status, &s);
}

enum status api_standard_add(struct request *req, struct reply *reply)
{
	struct standard s;
	enum status rc = standard_from_json(req->body, false, &s, &reply->err);

	if (!rc)
		rc = standard_add(api_db(req), api_actor(req), &s, &req->arena, &reply->err);
	return rc ? rc : reply_standard(req, reply, 201, &s);
}

enum status api_standard_get(struct request *req, struct reply *reply)
{
	return reply_standard_by_id(req, reply, 200, req->params[0]);
}

enum status api_standard_change(struct request *req, struct reply *reply)
{
	struct standard s;
	int version;
	enum status rc = http_if_match(req, &version, &reply->err);

	if (!rc)
		rc = standard_from_json(req->body, true, &s, &reply->err);
	if (rc)
		return rc;
	s.id = req->params[0];
	s.version = version;
	rc = standard_change(api_db(req), api_actor(req), &s, &req->arena, &reply->err);
	return rc ? rc : reply_standard(req, reply, 200, &s);
}

enum status api_standard_calibration_add(struct request *req, struct reply *reply)
{
	struct standard_calibration c;
	enum status rc = standard_calibration_from_json(req->body, &c, &reply->err);

	if (rc)
		return rc;
	c.standard_id = req->params[0];
	rc = standard_calibration_add(api_db(req), api_actor(req), &c, &req->arena, &reply->err);
	return rc ? rc : reply_standard_by_id(req, reply, 201, req->params[0]);
}
