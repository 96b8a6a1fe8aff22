/* Test records: signatures, return, void, certificate. The password in the body has been checked before. */
#include "api/api.h"
#include "api/handlers.h"

#include <stdio.h>

#include "base/log.h"
#include "domain/record_sign.h"
#include "record_reply.h"
#include "store/limitation.h"

/* What the confirmation has read already: asked for here so that it counts as known. */
static void confirmed(struct json_in *in)
{
	json_in_has(in, "password");
	json_in_has(in, "sign_in");
}

enum status api_record_sign(struct request *req, struct reply *reply)
{
	static const char *const meanings[] = {"performed", "reviewed", "approved", NULL};
	const char *hash, *remark;
	struct json_in in;
	enum status rc;
	int meaning;

	json_in_begin(&in, req->body, &reply->err);
	meaning = json_in_word(&in, "meaning", meanings);
	hash = json_in_text(&in, "content_sha256", 64);
	remark = json_in_lines_optional(&in, "remark", 500);
	confirmed(&in);
	rc = json_in_end(&in);
	if (rc)
		return rc;
	if (meaning == 0)
		rc = record_sign_performed(api_db(req), api_actor(req), req->params[0], hash, remark, &req->arena,
					   &reply->err);
	else if (meaning == 1)
		rc = record_sign_reviewed(api_db(req), api_actor(req), req->params[0], hash, remark, &req->arena,
					  &reply->err);
	else
		rc = record_sign_approved(api_db(req), api_actor(req), req->params[0], hash, remark, &req->arena,
					  &reply->err);
	return record_reply_after(reply, 200, rc);
}

static enum status reason_from_json(struct request *req, const char **reason, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, req->body, err);
	*reason = json_in_lines(&in, "reason", 500);
	confirmed(&in);
	return json_in_end(&in);
}

enum status api_record_return(struct request *req, struct reply *reply)
{
	const char *reason;
	enum status rc = reason_from_json(req, &reason, &reply->err);

	if (!rc)
		rc = record_return(api_db(req), api_actor(req), req->params[0], reason, &req->arena, &reply->err);
	return record_reply_after(reply, 200, rc);
}

enum status api_record_void(struct request *req, struct reply *reply)
{
	const char *reason;
	enum status rc = reason_from_json(req, &reason, &reply->err);

	if (!rc)
		rc = record_void(api_db(req), api_actor(req), req->params[0], reason, &req->arena, &reply->err);
	return record_reply_after(reply, 200, rc);
}

enum status api_record_limit(struct request *req, struct reply *reply)
{
	struct json_in in;
	const char *text;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	text = json_in_text(&in, "text", LIMITATION_CHARACTERS_MAX);
	rc = json_in_end(&in);
	if (!rc)
		rc = record_limit(api_db(req), api_actor(req), req->params[0], text, &req->arena, &reply->err);
	return record_reply_after(reply, 201, rc);
}

enum status api_record_lift_limitation(struct request *req, struct reply *reply)
{
	struct json_in in;
	const char *reason;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	reason = json_in_lines(&in, "reason", 500);
	rc = json_in_end(&in);
	if (!rc)
		rc = record_lift_limitation(api_db(req), api_actor(req), req->params[0], reason, &req->arena,
					    &reply->err);
	return record_reply_after(reply, 200, rc);
}

/* Answered with the amendment: from here on the request is about that. */
enum status api_record_amend(struct request *req, struct reply *reply)
{
	const char *reason, *id;
	enum status rc = reason_from_json(req, &reason, &reply->err);

	if (!rc)
		rc = record_amend(api_db(req), api_actor(req), req->params[0], reason, &req->arena, &id, &reply->err);
	if (rc)
		return rc;
	req->params[0] = id;
	snprintf(reply->location, sizeof reply->location, "/api/v1/test-records/%s", id);
	return record_reply_after(reply, 201, OK);
}

/* A device that gives no signature, a file that cannot be read: who issues must hear which, for nobody else can have it mended. */
static enum status say_failure(const struct request *req, struct reply *reply)
{
	log_error("issuing the certificate of %s: %s", req->params[0], reply->err.message);
	reply->err.status = BUSY;
	return BUSY;
}

/* Drawing and sealing happen outside the writer, so the route is plain. */
enum status api_record_issue(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	enum status rc = no_members(req, &reply->err);

	if (!rc)
		rc = issuer_issue(app->issuer, app->store, api_actor(req), req->params[0], &reply->err);
	if (rc == FAILED)
		return say_failure(req, reply);
	if (rc)
		return rc;
	reply->http_status = 201;
	req->db = store_read_begin(app->store);
	rc = record_reply(req, reply);
	store_read_end(app->store, req->db);
	req->db = NULL;
	return rc;
}
