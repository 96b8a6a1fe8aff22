/* Channels: what inputs and outputs are read from, and whether the right device answers there. */
#include "api/api.h"
#include "api/handlers.h"

#include <math.h>
#include <string.h>

#include "base/time.h"
#include "domain/channel.h"
#include "channel_json.h"
#include "listing.h"

static enum status row_reply(struct reply *reply, int http_status, const struct channel *c)
{
	return reply_row(reply, http_status, channel_to_json(c), c->version, NULL, NULL);
}

enum status api_channel_list(struct request *req, struct reply *reply)
{
	const char *instrument, *standard;
	struct channel *list = NULL;
	json_t *items;
	size_t n;
	enum status rc = listing_id(req, "instrument", &instrument, &reply->err);

	if (!rc)
		rc = listing_id(req, "standard", &standard, &reply->err);
	if (!rc)
		rc = store_channel_list(api_db(req), instrument, standard, &req->arena, &list, &n, &reply->err);
	if (rc)
		return rc;
	items = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, channel_to_json(&list[i]));
	return listing_reply(reply, items, NULL);
}

enum status api_channel_add(struct request *req, struct reply *reply)
{
	struct channel c;
	enum status rc = channel_from_json(req->body, false, &req->arena, &c, &reply->err);

	if (!rc)
		rc = channel_add(api_db(req), api_actor(req), &c, &req->arena, &reply->err);
	return rc ? rc : row_reply(reply, 201, &c);
}

enum status api_channel_change(struct request *req, struct reply *reply)
{
	struct channel c;
	int version;
	enum status rc = http_if_match(req, &version, &reply->err);

	if (!rc)
		rc = channel_from_json(req->body, true, &req->arena, &c, &reply->err);
	if (rc)
		return rc;
	c.id = req->params[0];
	c.version = version;
	rc = channel_change(api_db(req), api_actor(req), &c, &req->arena, &reply->err);
	return rc ? rc : row_reply(reply, 200, &c);
}

enum status api_channel_remove(struct request *req, struct reply *reply)
{
	int version;
	enum status rc = http_if_match(req, &version, &reply->err);

	if (rc)
		return rc;
	reply->http_status = 204;
	return channel_remove(api_db(req), api_actor(req), req->params[0], version, &req->arena, &reply->err);
}

static json_t *identity_json(const struct field_identity *d)
{
	return json_pack("{s:s, s:s, s:s, s:s, s:s, s:s}", "maker", d->maker, "model", d->model, "serial", d->serial,
			 "revision", d->revision, "tag", d->tag, "device_id", d->device_id);
}

struct asked {
	struct channel row;
	struct field_identity device;
	struct field_reading reading;
	bool identified, read;
	struct err identity_err, read_err;
};

/* A modem at a browser: what it has brought. */
static enum status ask_fed(struct live *live, struct asked *q, struct err *err)
{
	struct live_channel *c;
	struct live_state state;
	enum status rc = live_watch(live, q->row.id, &c, err);

	if (rc)
		return rc;
	live_look(c, &state);
	live_unwatch(c);
	q->identified = state.identified;
	q->device = state.device;
	q->read = state.identified && state.good;
	q->reading = state.last;
	err_set(&q->read_err, BUSY, "", "%s", state.why);
	q->identity_err = q->read_err;
	return OK;
}

/* One connection: who is there, and one value. Not reaching it is an answer too. */
static enum status ask_device(struct live *live, struct asked *q, struct err *err)
{
	struct field_source *source = NULL;
	struct field_config config;
	enum status rc = channel_config(&q->row, &config, err);

	if (rc)
		return rc;
	if (config.protocol == FIELD_HART_BROWSER)
		return ask_fed(live, q, err);
	rc = field_open(&source, &config, err);
	if (rc)
		return rc;
	q->identified = !field_identify(source, &q->device, &q->identity_err);
	q->read = !field_read(source, &q->reading, &q->read_err);
	field_close(source);
	return OK;
}

static enum status read_row(struct request *req, struct channel *out, struct err *err)
{
	const struct app *app = req->app;
	struct db *db = store_read_begin(app->store);
	enum status rc = store_channel_get(db, req->params[0], &req->arena, out, err);

	store_read_end(app->store, db);
	return rc;
}

static json_t *asked_json(const struct asked *q)
{
	struct err misfit = {0};
	bool fits = q->identified && !channel_fits_device(&q->row, &q->device, &misfit);

	return json_pack("{s:o, s:o, s:b, s:s, s:o, s:s, s:o, s:s, s:s}", "channel", channel_to_json(&q->row), "device",
			 q->identified ? identity_json(&q->device) : json_null(), "fits", fits, "why",
			 q->identified ? misfit.message : q->identity_err.message, "value",
			 q->read ? json_number_or_null(q->reading.value) : json_null(), "unit",
			 q->read ? q->reading.unit : "", "status", channel_status_json(q->read ? q->reading.status : 0),
			 "raw", q->read ? q->reading.raw : "", "trouble", q->read ? "" : q->read_err.message);
}

/* Asks the device outside any transaction: it may take a second. */
enum status api_channel_ask(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct asked q = {0};
	struct json_in in;
	enum status rc = OK;

	if (req->body) {
		json_in_begin(&in, req->body, &reply->err);
		rc = json_in_end(&in);
	}
	if (!rc)
		rc = read_row(req, &q.row, &reply->err);
	if (!rc)
		rc = ask_device(app->live, &q, &reply->err);
	return rc ? rc : reply_json(reply, asked_json(&q));
}

static enum status write_confirmed(struct request *req, struct reply *reply, void *context)
{
	struct asked *q = context;
	struct channel c;
	enum status rc = channel_confirm(api_db(req), api_actor(req), q->row.id, q->row.version, &q->device,
					 &req->arena, &c, &reply->err);

	return rc ? rc : row_reply(reply, 200, &c);
}

/* The device that answers now is the right one: its own word for itself is kept. */
enum status api_channel_confirm(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct asked q = {0};
	const char *device_id;
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	device_id = json_in_text(&in, "device_id", sizeof q.device.device_id - 1);
	rc = json_in_end(&in);
	if (!rc)
		rc = read_row(req, &q.row, &reply->err);
	if (!rc)
		rc = ask_device(app->live, &q, &reply->err);
	if (!rc && !q.identified)
		rc = err_set(&reply->err, CONFLICT, "", "the device does not say who it is: %s",
			     q.identity_err.message);
	if (!rc && strcmp(device_id, q.device.device_id) != 0)
		rc = err_set(&reply->err, CONFLICT, "/device_id", "another device answers now: %s", q.device.device_id);
	return rc ? rc : api_write(req, reply, write_confirmed, &q);
}
