/* Test records: readings, adjustment, as-left runs. */
#include <stdlib.h>
#include <string.h>

#include "api/api.h"
#include "api/handlers.h"

#include "base/text.h"
#include "base/time.h"
#include "domain/record_edit.h"
#include "record_reply.h"

#define READING_MOST	1e12 /* whatever the unit; the record narrows it to the instrument's range */
#define CHARACTERS_MOST 24

static int64_t time_member(struct json_in *in, const char *name)
{
	const char *text = json_in_text_optional(in, name, 40);
	int64_t ms = 0;

	if (text && !time_from_text(text, &ms))
		json_in_reject(in, name, "%s must be a time such as 2026-11-25T12:30:11Z", name);
	return ms;
}

/* A typed number must have few enough digits to be kept as typed. */
static double typed(struct json_in *in, const char *name, struct arena *a, const char **text)
{
	int decimals;
	double v = json_in_decimal(in, name, -READING_MOST, READING_MOST, a, text, &decimals);

	if (!in->rc && (decimals > 9 || text_characters(*text) > CHARACTERS_MOST))
		json_in_reject(in, name, "%s has more than 9 decimals", name);
	return v;
}

static enum status reading_from_json(json_t *body, struct arena *a, struct new_reading *out, struct err *err)
{
	static const char *const runs[] = {"as_found", "as_left", NULL};
	static const char *const verdicts[] = {"pass", "conditional_pass", "conditional_fail",
					       "fail", "not_judged",	   NULL};
	struct json_in in;
	int verdict;

	json_in_begin(&in, body, err);
	out->run = json_in_word(&in, "run", runs) == 1 ? RUN_AS_LEFT : RUN_AS_FOUND;
	out->point = (size_t)json_in_integer(&in, "point", 0, READINGS_MAX - 1);
	if (json_in_has(&in, "applied"))
		out->applied = typed(&in, "applied", a, &out->applied_text);
	out->observed = typed(&in, "observed", a, &out->observed_text);
	out->taken_at = time_member(&in, "taken_at");
	verdict = json_in_word_optional(&in, "client_verdict", verdicts, -1);
	out->client_verdict = verdict < 0 ? NULL : verdicts[verdict];
	return json_in_end(&in);
}

/* RFC 7240: whoever only records, and looks at the record later, is spared the whole of it. Other preferences may stand beside. */
static bool wants_minimal(struct request *req)
{
	const char *prefer = req->header(req, "Prefer");

	return prefer && strstr(prefer, "return=minimal");
}

struct reading_request {
	struct new_reading reading;
	struct prepared_reading prepared;
	bool is_prepared;
};

/* Somebody else's change in between is rare; then everything is done again here, where nothing can come between. */
static enum status write_reading(struct request *req, struct reply *reply, void *context)
{
	struct reading_request *q = context;
	enum status rc = STALE;

	if (q->is_prepared)
		rc = record_write_reading(api_db(req), api_actor(req), &q->prepared, &reply->err);
	if (rc == STALE)
		rc = record_add_reading(api_db(req), api_actor(req), req->params[0], &q->reading, &req->arena,
					&reply->err);
	if (rc || !wants_minimal(req))
		return record_reply_after(reply, 201, rc);
	reply->http_status = 201;
	reply->json = json_pack("{s:s, s:s, s:i}", "id", req->params[0], "run", run_kind_word(q->reading.run), "point",
				(int)q->reading.point);
	return reply->json ? OK : err_set(&reply->err, NO_MEMORY, "", "out of memory");
}

/* What is refused on this snapshot is judged again by the writer: it may be the same request a second time. */
static void prepare_reading(struct request *req, struct reading_request *q)
{
	const struct app *app = req->app;
	struct db *db = store_read_begin(app->store);
	struct err ignored = {0};

	q->is_prepared = !record_prepare_reading(db, api_actor(req), req->params[0], &q->reading, &req->arena,
						 &q->prepared, &ignored);
	store_read_end(app->store, db);
}

enum status api_reading_add(struct request *req, struct reply *reply)
{
	struct reading_request q = {0};
	enum status rc = reading_from_json(req->body, &req->arena, &q.reading, &reply->err);

	if (rc)
		return rc;
	prepare_reading(req, &q);
	rc = api_write(req, reply, write_reading, &q);
	if (q.is_prepared)
		record_drop_reading(&q.prepared);
	return rc;
}

enum status api_reading_undo(struct request *req, struct reply *reply)
{
	enum status rc = no_members(req, &reply->err);

	if (!rc)
		rc = record_undo_reading(api_db(req), api_actor(req), req->params[0], req->params[1], &req->arena,
					 &reply->err);
	return record_reply_after(reply, 200, rc);
}

static enum status dead_band_from_json(struct request *req, struct new_dead_band *out, struct err *err)
{
	static const char *const runs[] = {"as_found", "as_left", NULL};
	const char *place = req->params[1];
	struct json_in in;

	if (strspn(place, "0123456789") != strlen(place) || strlen(place) > 3)
		return err_set(err, NOT_FOUND, "", "a place of the dead band is a number from 0");
	out->place = strtoul(place, NULL, 10);
	json_in_begin(&in, req->body, err);
	out->run = json_in_word(&in, "run", runs) == 1 ? RUN_AS_LEFT : RUN_AS_FOUND;
	out->rising = typed(&in, "rising", &req->arena, &out->rising_text);
	out->falling = typed(&in, "falling", &req->arena, &out->falling_text);
	return json_in_end(&in);
}

enum status api_record_dead_band(struct request *req, struct reply *reply)
{
	struct new_dead_band taken = {0};
	enum status rc = dead_band_from_json(req, &taken, &reply->err);

	if (!rc)
		rc = record_put_dead_band(api_db(req), api_actor(req), req->params[0], &taken, &req->arena,
					  &reply->err);
	return record_reply_after(reply, 200, rc);
}

enum status api_record_adjustment(struct request *req, struct reply *reply)
{
	const char *text;
	struct json_in in;
	enum status rc;
	bool made;

	json_in_begin(&in, req->body, &reply->err);
	made = json_in_bool(&in, "made");
	text = json_in_lines_optional(&in, "text", 1000);
	rc = json_in_end(&in);
	if (!rc)
		rc = record_set_adjustment(api_db(req), api_actor(req), req->params[0], made, text, &req->arena,
					   &reply->err);
	return record_reply_after(reply, 200, rc);
}

enum status api_record_as_left(struct request *req, struct reply *reply)
{
	enum status rc = no_members(req, &reply->err);

	if (!rc)
		rc = record_start_as_left(api_db(req), api_actor(req), req->params[0], &req->arena, &reply->err);
	return record_reply_after(reply, 201, rc);
}
