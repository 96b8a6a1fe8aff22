/* Findings: listed, and closed by signature. */
#include "api/api.h"
#include "api/handlers.h"

#include "domain/finding.h"
#include "domain/record_summary.h"
#include "listing.h"

static enum status finding_to_json(struct db *db, const struct finding *f, struct arena *a, json_t **out,
				   struct err *err)
{
	struct record_summary summary;
	enum status rc = store_record_summary(db, f->test_record_id, a, &summary, err);

	if (rc)
		return rc;
	*out = json_pack("{s:s, s:o, s:s, s:s, s:s, s:o, s:o, s:s?}", "id", f->id, "record",
			 record_summary_to_json(&summary), "sentence", f->sentence, "state", f->state, "disposition",
			 f->disposition, "opened_at", json_time_or_null(f->opened_at), "closed_at",
			 json_time_or_null(f->closed_at), "closed_by", f->closed_by_name);
	return *out ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

enum status api_finding_list(struct request *req, struct reply *reply)
{
	static const char *const states[] = {"open", "closed", NULL};
	const char *state, *after;
	struct finding *list;
	json_t *items, *item;
	size_t n;
	int limit;
	enum status rc = listing_limit(req, &limit, &reply->err);

	if (!rc)
		rc = listing_word(req, "state", states, &state, &reply->err);
	if (!rc)
		rc = listing_id(req, "after", &after, &reply->err);
	if (!rc)
		rc = store_finding_list(api_db(req), state, after, limit, &req->arena, &list, &n, &reply->err);
	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; !rc && i < n && i < (size_t)limit; i++) {
		rc = finding_to_json(api_db(req), &list[i], &req->arena, &item, &reply->err);
		if (!rc)
			json_array_append_new(items, item);
	}
	if (!rc)
		return listing_reply(reply, items, n > (size_t)limit ? list[limit - 1].id : NULL);
	json_decref(items);
	return rc;
}

static enum status reply_finding(struct request *req, struct reply *reply)
{
	struct finding f;
	enum status rc = store_finding_get(api_db(req), req->params[0], &req->arena, &f, &reply->err);

	if (!rc)
		rc = finding_to_json(api_db(req), &f, &req->arena, &reply->json, &reply->err);
	if (!rc)
		http_etag(reply, f.version);
	return rc;
}

enum status api_finding_close(struct request *req, struct reply *reply)
{
	const char *disposition;
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	disposition = json_in_lines(&in, "disposition", 1000);
	json_in_has(&in, "password");
	json_in_has(&in, "sign_in");
	rc = json_in_end(&in);
	if (!rc)
		rc = finding_close(api_db(req), api_actor(req), req->params[0], disposition, &req->arena, &reply->err);
	return rc ? rc : reply_finding(req, reply);
}
