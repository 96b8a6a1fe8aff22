#include "domain/channel.h"

#include <ctype.h>
#include <string.h>

#include "base/text.h"
#include "base/time.h"
#include "register.h"
#include "store/instrument.h"
#include "store/standard.h"

#define FED_PERIOD_LEAST 500

static const char *const side_words[] = {"input", "output", NULL};

enum status channel_config(const struct channel *c, struct field_config *out, struct err *err)
{
	json_t *json = json_parse(c->source_json, strlen(c->source_json), err);
	struct json_in in;

	if (!json)
		return FAILED;
	json_in_begin(&in, json, err);
	channel_source_read(&in, out);
	json_decref(json);
	return in.rc ? FAILED : OK;
}

json_t *channel_to_json(const struct channel *c)
{
	struct field_config config;
	struct err err;
	char words[256] = "";
	bool drivable = false;

	if (!channel_config(c, &config, &err)) {
		channel_words(&config, words, sizeof words);
		drivable = config.drivable;
	}
	return json_pack("{s:s, s:s?, s:s?, s:s, s:s, s:s, s:s?, s:s, s:o, s:s, s:b, s:i, s:s?, s:s?, s:i}", "id",
			 c->id, "instrument_id", c->instrument_id, "standard_id", c->standard_id, "label", c->label,
			 "about", c->about, "model", c->model, "area", c->area, "side", c->side, "source",
			 register_json(c->source_json), "words", words, "drivable", drivable, "period_ms", c->period_ms,
			 "device_id", c->device_id, "device_tag", c->device_tag, "version", c->version);
}

enum status channel_from_json(json_t *body, bool change, struct arena *a, struct channel *out, struct err *err)
{
	struct field_config config;
	struct json_in in, source;
	int side;

	*out = (struct channel){0};
	json_in_begin(&in, body, err);
	if (!change) {
		out->instrument_id = json_in_id_optional(&in, "instrument_id");
		out->standard_id = json_in_id_optional(&in, "standard_id");
		if (!out->instrument_id == !out->standard_id)
			json_in_reject(&in, "instrument_id", "a channel is of an instrument or of a standard");
		side = json_in_word(&in, "side", side_words);
		out->side = side_words[side < 0 ? 0 : side];
	}
	out->period_ms = json_in_integer_optional(&in, "period_ms", 100, 60000, 1000);
	if (json_in_object(&in, "source", &source)) {
		channel_source_read(&source, &config);
		json_in_end(&source);
		json_in_join(&in, &source);
		if (config.protocol == FIELD_HART_BROWSER && out->period_ms < FED_PERIOD_LEAST)
			json_in_reject(&in, "period_ms",
				       "a HART modem brings two values a second at most: %d ms or more",
				       FED_PERIOD_LEAST);
	}
	json_in_end(&in);
	if (in.rc)
		return in.rc;
	out->source_json = register_text(json_object_get(body, "source"), a, err);
	return out->source_json ? OK : NO_MEMORY;
}

static enum status owner_exists(struct db *db, const struct channel *c, struct arena *a, struct err *err)
{
	struct instrument instrument;
	struct standard standard;
	char today[DATE_TEXT_SIZE];
	enum status rc;

	date_to_text(date_today(), today);
	rc = c->instrument_id ? store_instrument_get(db, c->instrument_id, a, &instrument, err) :
				store_standard_get(db, c->standard_id, today, a, &standard, err);

	if (rc == NOT_FOUND)
		return c->instrument_id ? err_set(err, INVALID, "instrument_id", "there is no such instrument") :
					  err_set(err, INVALID, "standard_id", "there is no such standard");
	return rc;
}

enum status channel_add(struct db *db, const struct actor *actor, struct channel *c, struct arena *a, struct err *err)
{
	char id[UUID_SIZE];
	enum status rc = owner_exists(db, c, a, err);

	if (rc)
		return rc;
	uuid7(id);
	c->id = id;
	c->created_at = time_now_ms();
	rc = store_channel_add(db, c, err);
	if (!rc)
		rc = store_channel_get(db, id, a, c, err);
	return rc ? rc : register_note(db, actor, "add", "channel", c->id, c->label, NULL, channel_to_json(c), err);
}

/* The row as it is, with its version. */
static enum status before_change(struct db *db, const char *id, int version, struct arena *a, struct channel *out,
				 struct err *err)
{
	enum status rc = store_channel_get(db, id, a, out, err);

	if (!rc && out->version != version)
		return err_set(err, STALE, "", "somebody else has changed this channel; look at it again");
	return rc;
}

static enum status write_change(struct db *db, const struct actor *actor, const char *action, const struct channel *was,
				struct channel *c, struct arena *a, struct err *err)
{
	enum status rc;

	c->updated_at = time_now_ms();
	rc = store_channel_update(db, c, err);
	if (!rc)
		rc = store_channel_get(db, was->id, a, c, err);
	return rc ? rc :
		    register_note(db, actor, action, "channel", was->id, was->label, channel_to_json(was),
				  channel_to_json(c), err);
}

enum status channel_change(struct db *db, const struct actor *actor, struct channel *c, struct arena *a,
			   struct err *err)
{
	struct channel was;
	enum status rc = before_change(db, c->id, c->version, a, &was, err);

	if (rc)
		return rc;
	if (!strcmp(was.source_json, c->source_json)) {
		c->device_id = was.device_id;
		c->device_tag = was.device_tag;
	}
	return write_change(db, actor, "change", &was, c, a, err);
}

enum status channel_remove(struct db *db, const struct actor *actor, const char *id, int version, struct arena *a,
			   struct err *err)
{
	struct channel was;
	enum status rc = before_change(db, id, version, a, &was, err);

	if (!rc)
		rc = store_channel_remove(db, id, err);
	return rc ? rc :
		    register_note(db, actor, "remove", "channel", was.id, was.label, channel_to_json(&was), NULL, err);
}

/* Letters and digits alone, in capitals. */
static void plain_tag(const char *tag, char out[64])
{
	size_t n = 0;

	for (; tag && *tag && n < 63; tag++)
		if (isalnum((unsigned char)*tag))
			out[n++] = (char)toupper((unsigned char)*tag);
	out[n] = '\0';
}

static bool same_tag(const char *label, const char *device_tag)
{
	char ours[64], theirs[64];
	size_t n, all;

	plain_tag(label, ours);
	plain_tag(device_tag, theirs);
	n = strlen(theirs);
	all = strlen(ours);
	if (!strcmp(ours, theirs) || n == 0)
		return true;
	return n >= 6 && strlen(device_tag) == 8 && n < all &&
	       (!strncmp(ours, theirs, n) || !strcmp(ours + all - n, theirs));
}

enum status channel_fits_device(const struct channel *c, const struct field_identity *device, struct err *err)
{
	if (c->device_id && *c->device_id && strcmp(c->device_id, device->device_id) != 0)
		return err_set(err, CONFLICT, "",
			       "this is another device than the one confirmed for %s: %s%s%s answers, %s was confirmed",
			       c->label, device->device_id, device->tag[0] ? ", tag " : "", device->tag, c->device_id);
	if (c->instrument_id && !same_tag(c->label, device->tag))
		return err_set(err, CONFLICT, "", "the device that answers calls itself %s, not %s", device->tag,
			       c->label);
	return OK;
}

enum status channel_confirm(struct db *db, const struct actor *actor, const char *id, int version,
			    const struct field_identity *device, struct arena *a, struct channel *out, struct err *err)
{
	struct channel was, unbound;
	enum status rc = before_change(db, id, version, a, &was, err);

	if (rc)
		return rc;
	unbound = was;
	unbound.device_id = NULL; /* another device may take the place of the old one; its tag must still be right */
	rc = channel_fits_device(&unbound, device, err);
	if (rc)
		return rc;
	*out = was;
	out->device_id = device->device_id;
	out->device_tag = device->tag;
	return write_change(db, actor, "confirm", &was, out, a, err);
}
