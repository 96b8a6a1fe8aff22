#include <string.h>

#include "api/api.h"
#include "api/handlers.h"
#include "domain/procedure.h"
#include "listing.h"

enum status api_procedure_list(struct request *req, struct reply *reply)
{
	struct procedure_summary *list;
	json_t *items;
	size_t n;
	int limit;
	enum status rc = listing_limit(req, &limit, &reply->err);

	if (!rc)
		rc = store_procedure_list(api_db(req), listing_query(req, "q"), listing_query(req, "after"), limit,
					  &req->arena, &list, &n, &reply->err);
	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n && i < (size_t)limit; i++)
		json_array_append_new(items, procedure_summary_to_json(&list[i]));
	return listing_reply(reply, items, n > (size_t)limit ? list[limit - 1].code : NULL);
}

/* The ETag is the draft's, since that is what can be edited. */
static enum status reply_procedure(struct request *req, struct reply *reply, int http_status, const char *id)
{
	json_t *json, *draft;
	enum status rc = procedure_to_json(api_db(req), id, &req->arena, &json, &reply->err);

	if (rc)
		return rc;
	draft = json_object_get(json, "draft");
	if (!json_is_object(draft)) {
		reply->http_status = http_status;
		return reply_json(reply, json);
	}
	return reply_row(reply, http_status, json, (int)json_integer_value(json_object_get(draft, "version")),
			 "procedures", id);
}

static enum status reply_version(struct request *req, struct reply *reply, int http_status,
				 const struct procedure_version *v)
{
	json_t *json;
	enum status rc = procedure_version_to_json(v, &req->arena, &json, &reply->err);

	return rc ? rc : reply_row(reply, http_status, json, v->version, "procedure-versions", v->id);
}

enum status api_procedure_add(struct request *req, struct reply *reply)
{
	const char *id;
	enum status rc = procedure_add(api_db(req), api_actor(req), req->body, &req->arena, &id, &reply->err);

	return rc ? rc : reply_procedure(req, reply, 201, id);
}

enum status api_procedure_get(struct request *req, struct reply *reply)
{
	return reply_procedure(req, reply, 200, req->params[0]);
}

enum status api_procedure_version_get(struct request *req, struct reply *reply)
{
	struct procedure_version v;
	enum status rc = store_procedure_version_get(api_db(req), req->params[0], &req->arena, &v, &reply->err);

	return rc ? rc : reply_version(req, reply, 200, &v);
}

enum status api_procedure_draft_start(struct request *req, struct reply *reply)
{
	struct procedure_version v;
	enum status rc = procedure_draft_start(api_db(req), api_actor(req), req->params[0], &req->arena, &v,
					       &reply->err);

	return rc ? rc : reply_version(req, reply, 201, &v);
}

enum status api_procedure_draft_change(struct request *req, struct reply *reply)
{
	struct procedure_version v;
	struct json_in in, at;
	int version;
	enum status rc = http_if_match(req, &version, &reply->err);

	if (rc)
		return rc;
	json_in_begin(&in, req->body, &reply->err);
	json_in_object(&in, "document", &at);
	rc = json_in_end(&in);
	if (!rc)
		rc = procedure_draft_change(api_db(req), api_actor(req), req->params[0],
					    json_object_get(req->body, "document"), version, &req->arena, &v,
					    &reply->err);
	return rc ? rc : reply_version(req, reply, 200, &v);
}

enum status api_procedure_draft_remove(struct request *req, struct reply *reply)
{
	enum status rc = procedure_draft_remove(api_db(req), api_actor(req), req->params[0], &req->arena, &reply->err);

	reply->http_status = 204;
	return rc;
}

enum status api_procedure_approve(struct request *req, struct reply *reply)
{
	struct procedure_version v;
	const char *hash;
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	json_in_has(&in, "password"); /* judged before the handler */
	hash = json_in_text(&in, "content_sha256", SHA256_HEX_SIZE - 1);
	rc = json_in_end(&in);
	if (!rc)
		rc = procedure_approve(api_db(req), api_actor(req), req->params[0], hash, &req->arena, &v, &reply->err);
	return rc ? rc : reply_version(req, reply, 200, &v);
}

enum status api_procedure_example(struct request *req, struct reply *reply)
{
	const char *instrument_id;
	struct json_in in, at;
	json_t *json;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	json_in_object(&in, "document", &at);
	instrument_id = json_in_id_optional(&in, "instrument_id");
	rc = json_in_end(&in);
	if (!rc)
		rc = procedure_example(api_db(req), json_object_get(req->body, "document"), instrument_id, &req->arena,
				       &json, &reply->err);
	return rc ? rc : reply_json(reply, json);
}
