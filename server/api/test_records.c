/* Test records: listing, opening, preparing and proving. */
#include "api/api.h"
#include "api/handlers.h"

#include <math.h>
#include <stdio.h>

#include "base/json.h"
#include "domain/permission.h"
#include "domain/record_edit.h"
#include "domain/record_summary.h"
#include "domain/record_view.h"
#include "listing.h"
#include "record_json.h"
#include "record_reply.h"

/* What stood in the way of its certificate, since it was reviewed; where the server has its files is said to who keeps it. */
static json_t *issue_failure_json(const struct app *app, const struct actor *actor, const struct record *r)
{
	const struct record_signature *reviewed = record_reviewer(r);
	struct err said = {0};
	struct issue_failure f;

	if (r->state != RECORD_REVIEWED || !reviewed || !issuer_failure(app->issuer, r->id, &f) || f.at < reviewed->at)
		return json_null();
	snprintf(said.message, sizeof said.message, "%s", f.sentence);
	if (!permission_granted(actor->roles, PERM_ADMINISTER))
		issuer_hide_places(app->issuer, &said);
	return json_pack("{s:o, s:s, s:s}", "at", json_time_or_null(f.at), "sentence", said.message, "advice",
			 f.advice);
}

enum status record_reply(struct request *req, struct reply *reply)
{
	struct record r;
	enum status rc = record_load(api_db(req), req->params[0], &req->arena, &r, &reply->err);

	if (rc)
		return rc;
	rc = record_to_json(api_db(req), &r, api_actor(req), &req->arena, &reply->json, &reply->err);
	if (!rc && json_object_set_new(reply->json, "issue_failure", issue_failure_json(req->app, api_actor(req), &r)))
		rc = err_set(&reply->err, NO_MEMORY, "", "out of memory");
	if (!rc)
		http_etag(reply, r.version);
	return rc;
}

enum status record_reply_after(struct reply *reply, int http_status, enum status rc)
{
	if (rc)
		return rc;
	reply->http_status = http_status;
	reply->after = record_reply;
	return OK;
}

enum status no_members(struct request *req, struct err *err)
{
	struct json_in in;

	if (!req->body)
		return OK;
	json_in_begin(&in, req->body, err);
	return json_in_end(&in);
}

enum status api_record_list(struct request *req, struct reply *reply)
{
	static const char *const states[] = {"open",	 "performed", "reviewed",    "certified",
					     "returned", "void",      "in_progress", NULL};
	static const char *const verdicts[] = {"pass", "conditional_pass", "conditional_fail",
					       "fail", "not_judged",	   NULL};
	struct record_filter filter = {.q = listing_query(req, "q"), .after = listing_query(req, "after")};
	struct record_summary *list;
	char next[RECORD_CURSOR_SIZE];
	size_t n;
	enum status rc = listing_limit(req, &filter.limit, &reply->err);

	if (!rc)
		rc = listing_word(req, "state", states, &filter.state, &reply->err);
	if (!rc)
		rc = listing_word(req, "verdict", verdicts, &filter.verdict, &reply->err);
	if (!rc)
		rc = listing_id(req, "instrument", &filter.instrument_id, &reply->err);
	if (!rc)
		rc = listing_id(req, "standard", &filter.standard_id, &reply->err);
	if (!rc)
		rc = store_record_list(api_db(req), &filter, &req->arena, &list, &n, next, &reply->err);
	if (rc)
		return rc;
	return listing_reply(reply, record_summaries_to_json(list, n), *next ? next : NULL);
}

enum status api_record_get(struct request *req, struct reply *reply)
{
	return record_reply(req, reply);
}

static enum status opening_from_json(json_t *body, struct record_opening *out, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, body, err);
	out->schedule_id = json_in_id_optional(&in, "schedule_id");
	if (!out->schedule_id) {
		out->instrument_id = json_in_id(&in, "instrument_id");
		out->procedure_id = json_in_id(&in, "procedure_id");
	}
	return json_in_end(&in);
}

enum status api_record_open(struct request *req, struct reply *reply)
{
	struct record_opening opening = {0};
	bool was_open = false;
	const char *id;
	enum status rc = opening_from_json(req->body, &opening, &reply->err);

	if (!rc)
		rc = record_open(api_db(req), api_actor(req), &opening, &req->arena, &id, &was_open, &reply->err);
	if (rc)
		return rc;
	req->params[0] = id;
	if (!was_open)
		snprintf(reply->location, sizeof reply->location, "/api/v1/test-records/%s", id);
	return record_reply_after(reply, was_open ? 200 : 201, OK);
}

enum status api_record_acknowledge(struct request *req, struct reply *reply)
{
	enum status rc = no_members(req, &reply->err);

	if (!rc)
		rc = record_acknowledge(api_db(req), api_actor(req), req->params[0], req->params[1], &req->arena,
					&reply->err);
	return record_reply_after(reply, 200, rc);
}

static enum status choices_from_json(json_t *body, struct standard_choice out[STANDARD_ROLES], size_t *n,
				     struct err *err)
{
	static const char *const roles[] = {"input", "output", NULL};
	struct json_in in, at;
	json_t *list;

	json_in_begin(&in, body, err);
	list = json_in_array(&in, "standards", 0, STANDARD_ROLES);
	*n = json_array_size(list);
	for (size_t i = 0; i < *n; i++) {
		if (!json_in_element(&in, "standards", i, &at))
			break;
		out[i].role = json_in_word(&at, "role", roles) == 1 ? STANDARD_OUTPUT : STANDARD_INPUT;
		out[i].standard_id = json_in_id(&at, "standard_id");
		json_in_end(&at);
		json_in_join(&in, &at);
	}
	return json_in_end(&in);
}

enum status api_record_standards(struct request *req, struct reply *reply)
{
	struct standard_choice choices[STANDARD_ROLES];
	size_t n = 0;
	enum status rc = choices_from_json(req->body, choices, &n, &reply->err);

	if (!rc)
		rc = record_choose_standards(api_db(req), api_actor(req), req->params[0], choices, n, &req->arena,
					     &reply->err);
	return record_reply_after(reply, 200, rc);
}

enum status api_record_environment(struct request *req, struct reply *reply)
{
	struct ambient ambient;
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	ambient.temperature_c = json_in_number(&in, "temperature_c", -60, 100);
	ambient.humidity_percent = json_in_number_optional(&in, "humidity_percent", 0, 100, NAN);
	ambient.pressure_hpa = json_in_number_optional(&in, "pressure_hpa", 300, 1200, NAN);
	rc = json_in_end(&in);
	if (!rc)
		rc = record_set_environment(api_db(req), api_actor(req), req->params[0], &ambient, &req->arena,
					    &reply->err);
	return record_reply_after(reply, 200, rc);
}

/* Absent leaves a note as it is; "" or null empties it. */
static const char *note(struct json_in *in, json_t *body, const char *name)
{
	const char *text = json_in_lines_optional(in, name, 2000);

	return text || !json_object_get(body, name) ? text : "";
}

enum status api_record_notes(struct request *req, struct reply *reply)
{
	const char *condition, *remarks;
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	condition = note(&in, req->body, "condition");
	remarks = note(&in, req->body, "remarks");
	rc = json_in_end(&in);
	if (!rc)
		rc = record_set_notes(api_db(req), api_actor(req), req->params[0], condition, remarks, &req->arena,
				      &reply->err);
	return record_reply_after(reply, 200, rc);
}

enum status api_record_check(struct request *req, struct reply *reply)
{
	static const char *const words[] = {"yes", "no", "not_applicable", NULL};
	struct check_answer answer = {0};
	struct json_in in;
	enum status rc;
	int word;

	json_in_begin(&in, req->body, &reply->err);
	word = json_in_word(&in, "answer", words);
	answer.observed = json_in_text_optional(&in, "observed", 120);
	answer.note = json_in_lines_optional(&in, "note", 500);
	rc = json_in_end(&in);
	if (rc)
		return rc;
	answer.answer = words[word];
	rc = record_answer_check(api_db(req), api_actor(req), req->params[0], req->params[1], &answer, &req->arena,
				 &reply->err);
	return record_reply_after(reply, 200, rc);
}
