/* Runs that read by themselves: begin, arm, start, stop, and what was recorded against time. */
#include "api/api.h"
#include "api/handlers.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "domain/channel.h"
#include "domain/live_run.h"
#include "listing.h"
#include "store/trace.h"

static json_t *channel_or_null(const struct channel *c)
{
	return c->id ? channel_to_json(c) : json_null();
}

/* The run of the record, if any, and the channels that one would have. */
static enum status describe(struct request *req, struct db *db, json_t **out, struct err *err)
{
	const struct app *app = req->app;
	struct channel input, output;
	bool drivable = false;
	struct record r;
	enum status rc = record_load(db, req->params[0], &req->arena, &r, err);

	if (!rc)
		rc = live_channels_of(db, &r, &req->arena, &input, &output, &drivable, err);
	if (rc)
		return rc;
	*out = json_pack("{s:o, s:o, s:o, s:b, s:i}", "run", live_run_json(app->live_runs, r.id), "input",
			 channel_or_null(&input), "output", channel_or_null(&output), "drivable", drivable, "version",
			 r.version);
	return *out ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

enum status api_live_run_get(struct request *req, struct reply *reply)
{
	return describe(req, api_db(req), &reply->json, &reply->err);
}

static enum status reply_described(struct request *req, struct reply *reply, enum status rc, const char *token)
{
	const struct app *app = req->app;
	struct db *db;

	if (rc)
		return rc;
	db = store_read_begin(app->store);
	rc = describe(req, db, &reply->json, &reply->err);
	store_read_end(app->store, db);
	if (!rc && token && *token)
		json_object_set_new(reply->json, "token", json_string(token));
	return rc;
}

static void read_also(struct json_in *in, struct live_wish *wish)
{
	json_t *list = json_in_array_optional(in, "also", LIVE_ALSO_MAX);

	for (size_t i = 0; i < json_array_size(list); i++) {
		const char *id = json_string_value(json_array_get(list, i));

		if (!id || !uuid_is_valid(id)) {
			json_in_reject(in, "also", "channels are named by their ids");
			return;
		}
		snprintf(wish->also[wish->n_also++], UUID_SIZE, "%s", id);
	}
}

enum status api_live_run_begin(struct request *req, struct reply *reply)
{
	static const char *const modes[] = {"follow", "driven", NULL};
	const struct app *app = req->app;
	struct live_wish wish = {0};
	char token[44] = "";
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	wish.mode = json_in_word(&in, "mode", modes) == 1 ? LIVE_DRIVEN : LIVE_FOLLOW;
	wish.window_s = json_in_number_optional(&in, "window_s", 1, 60, 10);
	wish.low = json_in_number_optional(&in, "low", -1e9, 1e9, NAN);
	wish.high = json_in_number_optional(&in, "high", -1e9, 1e9, NAN);
	wish.rate = json_in_number_optional(&in, "rate", 1e-9, 1e9, NAN);
	wish.minutes = json_in_integer_optional(&in, "minutes", 1, LIVE_MINUTES_MAX, 30);
	read_also(&in, &wish);
	rc = json_in_end(&in);
	if (!rc)
		rc = live_run_begin(app->live_runs, api_actor(req), req->params[0], &wish, token, &reply->err);
	return reply_described(req, reply, rc, token);
}

enum status api_live_run_start(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	const char *token;
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	token = json_in_text(&in, "token", 43);
	rc = json_in_end(&in);
	if (!rc)
		rc = live_run_start(app->live_runs, api_actor(req), req->params[0], token, &reply->err);
	return reply_described(req, reply, rc, NULL);
}

static enum status empty_body(struct request *req, struct err *err)
{
	struct json_in in;

	if (!req->body)
		return OK;
	json_in_begin(&in, req->body, err);
	return json_in_end(&in);
}

/* The page says that it is there, twice a second, and hears how it stands. */
enum status api_live_run_alive(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	enum status rc = empty_body(req, &reply->err);

	if (!rc)
		rc = live_run_alive(app->live_runs, api_actor(req), req->params[0], &reply->err);
	return rc ? rc : reply_json(reply, json_pack("{s:o}", "run", live_run_json(app->live_runs, req->params[0])));
}

enum status api_live_run_stop(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	enum status rc = empty_body(req, &reply->err);

	if (!rc)
		rc = live_run_stop(app->live_runs, api_actor(req), req->params[0], &reply->err);
	return rc ? rc : reply_json(reply, json_pack("{s:o}", "run", live_run_json(app->live_runs, req->params[0])));
}

enum status api_live_runs_list(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;

	return reply_json(reply, json_pack("{s:o}", "items", live_runs_json(app->live_runs)));
}

enum status api_live_runs_stop(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	enum status rc = empty_body(req, &reply->err);

	if (!rc)
		rc = live_run_stop(app->live_runs, api_actor(req), NULL, &reply->err);
	return rc ? rc : api_live_runs_list(req, reply);
}

/* ---- traces ---- */

static json_t *trace_json(const struct trace *t)
{
	json_t *samples = json_array();

	for (size_t i = 0; i < t->n; i++)
		json_array_append_new(
			samples, json_pack("[f, o]", t->samples[2 * i], json_number_or_null(t->samples[2 * i + 1])));
	return json_pack("{s:s, s:s, s:i, s:s, s:s, s:o, s:o}", "id", t->id, "run", t->run_kind, "attempt", t->attempt,
			 "channel", t->channel, "unit", t->unit, "started_at", json_time_or_null(t->started_at),
			 "samples", samples);
}

enum status api_trace_list(struct request *req, struct reply *reply)
{
	struct trace *list = NULL;
	json_t *items;
	size_t n = 0;
	enum status rc = store_trace_list(api_db(req), req->params[0], &req->arena, &list, &n, &reply->err);

	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, trace_json(&list[i]));
	return listing_reply(reply, items, NULL);
}

/* RFC 4180: one line a sample, in the order of the traces. */
enum status api_trace_csv(struct request *req, struct reply *reply)
{
	struct trace *list = NULL;
	char start[TIME_TEXT_SIZE];
	size_t n = 0;
	enum status rc = store_trace_list(api_db(req), req->params[0], &req->arena, &list, &n, &reply->err);
	FILE *out;

	if (rc)
		return rc;
	out = open_memstream(&reply->bytes, &reply->size);
	if (!out)
		return err_set(&reply->err, NO_MEMORY, "", "out of memory");
	fputs("run,attempt,channel,unit,started_at,seconds,value\r\n", out);
	for (size_t i = 0; i < n; i++) {
		time_to_text(list[i].started_at, start);
		for (size_t k = 0; k < list[i].n; k++) {
			fprintf(out, "%s,%d,\"%s\",\"%s\",%s,%.3f,", list[i].run_kind, list[i].attempt, list[i].channel,
				list[i].unit, start, list[i].samples[2 * k]);
			if (isfinite(list[i].samples[2 * k + 1]))
				fprintf(out, "%.9g", list[i].samples[2 * k + 1]);
			fputs("\r\n", out);
		}
	}
	if (fclose(out))
		return err_set(&reply->err, NO_MEMORY, "", "out of memory");
	reply->content_type = "text/csv; charset=utf-8";
	strcpy(reply->file_name, "traces.csv");
	return OK;
}
