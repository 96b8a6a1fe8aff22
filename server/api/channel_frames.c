/* Answers that a page's modem has received: pushed as they are, decoded and judged by the domain. */
#include "api/api.h"
#include "api/handlers.h"

#include <string.h>

#include "channel_json.h"
#include "domain/ledger.h"
#include "listing.h"

#define AGE_MOST_MS 60000

static int digit(char c)
{
	const char *digits = "0123456789abcdef",
		   *at = c ? strchr(digits, c >= 'A' && c <= 'F' ? c + 'a' - 'A' : c) : NULL;

	return at ? (int)(at - digits) : -1;
}

static void read_hex(struct json_in *in, struct live_answer *out)
{
	const char *hex = json_in_text(in, "hex", 2 * HART_ANSWER_MAX);
	size_t n = strlen(hex);

	for (size_t i = 0; i + 1 < n; i += 2) {
		int high = digit(hex[i]), low = digit(hex[i + 1]);

		if (high < 0 || low < 0)
			n = 1;
		else
			out->bytes[out->size++] = (uint8_t)(high << 4 | low);
	}
	if (n % 2)
		json_in_reject(in, "hex", "these are no bytes in hexadecimal");
}

struct pushed {
	struct live_answer answers[LIVE_ANSWERS_MAX];
	size_t n;
	struct live_channel *channel;
	struct live_state state;
};

static enum status read_body(json_t *body, struct pushed *out, struct err *err)
{
	struct json_in in, frame;
	json_t *frames;

	json_in_begin(&in, body, err);
	frames = json_in_array(&in, "frames", 1, LIVE_ANSWERS_MAX);
	for (; !in.rc && out->n < json_array_size(frames); out->n++) {
		if (!json_in_element(&in, "frames", out->n, &frame))
			break;
		read_hex(&frame, &out->answers[out->n]);
		out->answers[out->n].age_ms = json_in_integer(&frame, "age_ms", 0, AGE_MOST_MS);
		json_in_end(&frame);
		json_in_join(&in, &frame);
	}
	return json_in_end(&in);
}

/* Who has fed a channel, with which device, is for the ledger to say. */
static enum status note_attached(struct request *req, struct reply *reply, void *context)
{
	const struct pushed *p = context;
	const struct field_identity *d = &p->state.device;
	json_t *after = json_pack("{s:s, s:s, s:s}", "from", live_words(p->channel), "device_id", d->device_id,
				  "device_tag", d->tag);
	struct ledger_note note = {.action = "attach",
				   .thing = "channel",
				   .thing_id = live_id(p->channel),
				   .label = live_label(p->channel),
				   .after = after};
	enum status rc = ledger_add(api_db(req), api_actor(req), &note, &reply->err);

	json_decref(after);
	return rc;
}

static enum status push(struct request *req, struct reply *reply, struct pushed *p)
{
	bool began;
	enum status rc = live_push(p->channel, api_actor(req), p->answers, p->n, &began, &p->state, &reply->err);
	struct err ended;

	if (!rc && began) {
		rc = api_write(req, reply, note_attached, p);
		if (rc)
			live_push_end(p->channel, api_actor(req), &ended);
	}
	return rc ? rc : reply_json(reply, channel_state_json(p->channel, &p->state));
}

enum status api_channel_push(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct pushed p = {0};
	enum status rc = read_body(req->body, &p, &reply->err);

	if (!rc)
		rc = live_watch(app->live, req->params[0], &p.channel, &reply->err);
	if (rc)
		return rc;
	rc = push(req, reply, &p);
	live_unwatch(p.channel);
	return rc;
}

enum status api_channel_detach(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct live_channel *c;
	enum status rc = live_watch(app->live, req->params[0], &c, &reply->err);

	if (rc)
		return rc;
	rc = live_push_end(c, api_actor(req), &reply->err);
	live_unwatch(c);
	reply->http_status = 204;
	return rc;
}
