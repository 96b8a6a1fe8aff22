#include "hart.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "wire.h"

enum { TRIES = 3 }; /* of a request that arrived damaged; common practice, no source */

static const struct {
	const char *name;
	uint8_t code; /* for command 9 */
	uint8_t command;
	size_t place; /* in commands 1 and 3 */
} variables[] = {
	{"current", HART_VARIABLE_CURRENT, 2, 0}, {"percent", HART_VARIABLE_PERCENT, 2, 0},
	{"pv", HART_VARIABLE_PV, 1, 0},		  {"sv", HART_VARIABLE_SV, 3, 1},
	{"tv", HART_VARIABLE_TV, 3, 2},		  {"qv", HART_VARIABLE_QV, 3, 3},
};

static int find_variable(const char *name)
{
	for (size_t i = 0; i < sizeof variables / sizeof *variables; i++) {
		if (!strcmp(variables[i].name, name))
			return (int)i;
	}
	return -1;
}

enum status hart_check(const struct field_config *config, struct err *err)
{
	if (config->address < 0 || config->address > 63)
		return err_set(err, INVALID, "/address", "a HART poll address is 0 to 63");
	if (find_variable(config->variable) < 0)
		return err_set(err, INVALID, "/variable", "one of: current, percent, pv, sv, tv, qv");
	return OK;
}

enum status hart_named(const struct field_source *source, enum status rc, struct err *err)
{
	const struct hart_state *h = source->link;
	const struct field_config *c = &source->config;
	struct err said;

	if (!rc || !err)
		return rc;
	said = *err;
	return err_set(err, rc, said.field, "%s at %s: %s", h->way->name, *c->device ? c->device : c->host,
		       said.message);
}

/* The way's exchange, and the frame that came. */
static enum status once(struct field_source *source, const uint8_t *request, size_t size, struct hart_frame *frame,
			int64_t deadline, struct err *err)
{
	struct hart_state *h = source->link;
	enum status rc = h->way->exchange(source, request, size, h->answer, &h->answer_size, deadline, err);
	size_t taken;

	if (rc) {
		h->up = false;
		return rc;
	}
	if (hart_parse(h->answer, h->answer_size, frame, &taken))
		return err_set(err, FAILED, NULL, "the answer is no HART frame");
	return OK;
}

/* *status: device status byte; *code: response code, 0 or a warning. */
static enum status ask(struct field_source *source, uint8_t command, const uint8_t *data, size_t size,
		       struct hart_data *out, struct hart_frame *frame, struct err *err)
{
	struct hart_state *h = source->link;
	uint8_t request[HART_FRAME_MAX];
	size_t length = hart_request(request, sizeof request, &h->address, command, data, size);
	int64_t deadline = wire_now_ms() + source->config.timeout_ms;
	enum status rc = OK;

	*frame = (struct hart_frame){0};
	*out = (struct hart_data){0};
	for (int i = 0; i < TRIES && !rc; i++) {
		rc = once(source, request, length, frame, deadline, err);
		if (!rc && !(frame->code & 0x80))
			break;
	}
	if (rc)
		return rc;
	if (frame->code && !hart_code_is_warning(frame->code))
		return err_set(err, frame->code >= 32 && frame->code <= 36 ? BUSY : FAILED, NULL,
			       "the device refuses command %d: %s (%d)", command, hart_code_words(frame->code),
			       frame->code);
	if (!hart_decode(frame, out))
		return err_set(err, FAILED, NULL, "the answer to command %d is too short", command);
	return OK;
}

static enum status learn(struct field_source *source, const struct hart_device *device, struct err *err)
{
	struct hart_state *h = source->link;

	if (h->known && (h->device.type != device->type || h->device.id != device->id))
		return err_set(err, FAILED, NULL, "another device answers now: %04x-%06x instead of %04x-%06x",
			       device->type, (unsigned)device->id, h->device.type, (unsigned)h->device.id);
	h->device = *device;
	h->known = h->up = true;
	h->address = (struct hart_address){
		.is_long = true, .primary = true, .device_type = device->type & 0x3fff, .device_id = device->id};
	return OK;
}

/* Connected, and the device behind it the one that was there at first. */
static enum status ready(struct field_source *source, struct err *err)
{
	struct hart_state *h = source->link;
	struct hart_frame frame = {0};
	struct hart_data data = {0};
	enum status rc;

	if (h->up && !(h->way->is_stale && h->way->is_stale(source)))
		return OK;
	h->up = false;
	rc = h->way->connect(source, wire_now_ms() + source->config.timeout_ms, err);
	if (rc)
		return rc;
	h->address = (struct hart_address){.poll = (uint8_t)source->config.address, .primary = true};
	rc = ask(source, 0, NULL, 0, &data, &frame, err);
	return rc ? rc : learn(source, &data.device, err);
}

enum status hart_open(struct field_source *source, struct err *err)
{
	return hart_named(source, ready(source, err), err);
}

static unsigned device_status(uint8_t status)
{
	static const struct {
		uint8_t hart;
		unsigned field;
	} bits[] = {
		{HART_MALFUNCTION, FIELD_MALFUNCTION},
		{HART_CONFIG_CHANGED, FIELD_CONFIG_CHANGED},
		{HART_COLD_START, FIELD_COLD_START},
		{HART_MORE, FIELD_MORE},
		{HART_FIXED, FIELD_FIXED},
		{HART_SATURATED, FIELD_SATURATED},
		{HART_OTHER_OUT_OF_LIMITS, FIELD_OTHER_OUT_OF_LIMITS},
		{HART_OUT_OF_LIMITS, FIELD_OUT_OF_LIMITS},
	};
	unsigned out = 0;

	for (size_t i = 0; i < sizeof bits / sizeof *bits; i++)
		out |= status & bits[i].hart ? bits[i].field : 0;
	return out;
}

static unsigned value_status(uint8_t status)
{
	static const unsigned quality[] = {FIELD_BAD, FIELD_POOR, FIELD_FIXED, 0};

	return quality[status >> 6];
}

static void set_value(struct field_reading *out, const struct hart_variable *v)
{
	const char *symbol = hart_unit_symbol(v->unit);

	out->value = v->value;
	out->status |= value_status(v->status);
	if (symbol)
		snprintf(out->unit, sizeof out->unit, "%s", symbol);
	else
		snprintf(out->unit, sizeof out->unit, "code %d", v->unit);
}

static enum status take(struct field_reading *out, int which, const struct hart_data *data, struct err *err)
{
	const struct hart_values *v = &data->values;
	size_t place = data->command == 9 ? 0 : variables[which].place;

	if (data->command == 2) {
		bool current = variables[which].code == HART_VARIABLE_CURRENT;

		set_value(out, &(struct hart_variable){.unit = current ? HART_UNIT_MA : HART_UNIT_PERCENT,
						       .value = current ? v->current : v->percent,
						       .status = 0xc0});
		return OK;
	}
	if (place >= v->count)
		return err_set(err, FAILED, "/variable", "the device has no %s", variables[which].name);
	if (data->command == 9 && v->variables[0].code != variables[which].code)
		return err_set(err, FAILED, NULL, "the device answers with variable %d instead of %d",
			       v->variables[0].code, variables[which].code);
	set_value(out, &v->variables[place]);
	return OK;
}

bool hart_holds(const char *variable, uint8_t command)
{
	int which = find_variable(variable);

	if (which < 0)
		return false;
	return command == 9 || command == variables[which].command || (command == 3 && variables[which].command == 1);
}

enum status hart_value(const char *variable, const struct hart_frame *frame, const struct hart_data *data,
		       struct field_reading *out, struct err *err)
{
	enum status rc;

	out->status = device_status(frame->status) | (frame->code == 8 ? FIELD_POOR : 0);
	rc = take(out, find_variable(variable), data, err);
	if (isnan(out->value))
		out->status |= FIELD_BAD;
	return rc;
}

void hart_raw(const uint8_t *answer, size_t size, struct field_reading *out)
{
	for (size_t i = 0; i < size && 2 * i + 2 < sizeof out->raw; i++)
		snprintf(out->raw + 2 * i, 3, "%02x", answer[i]);
}

static enum status read_value(struct field_source *source, struct field_reading *out, struct err *err)
{
	struct hart_state *h = source->link;
	int which = find_variable(source->config.variable);
	enum status rc = ready(source, err);
	struct hart_frame frame = {0};
	struct hart_data data = {0};
	bool slots;

	if (rc)
		return rc;
	/* Command 9 gives the status of the single value as well; its codes for pv to qv are there since revision 7. */
	slots = variables[which].command != 2 && h->device.universal >= 7 && !h->without_slots;
	if (slots) {
		rc = ask(source, 9, &variables[which].code, 1, &data, &frame, err);
		if (rc == FAILED && h->up && frame.code && !(frame.code & 0x80)) {
			h->without_slots = true;
			slots = false;
		}
	}
	if (!slots)
		rc = ask(source, variables[which].command, NULL, 0, &data, &frame, err);
	if (rc)
		return rc;
	out->at_ms = time_now_ms();
	rc = hart_value(source->config.variable, &frame, &data, out, err);
	hart_raw(h->answer, h->answer_size, out);
	return rc;
}

enum status hart_read(struct field_source *source, struct field_reading *out, struct err *err)
{
	return hart_named(source, read_value(source, out, err), err);
}

/* A tag that nobody has written is all zero or all ones: "@@@@@@@@", "????????". */
static bool is_written(const char *tag)
{
	return tag[strspn(tag, "@")] && tag[strspn(tag, "?")];
}

/* As many whole characters as fit. */
static void set_text(char *out, size_t size, const char *text)
{
	size_t n = strlen(text);

	if (n >= size) {
		n = size - 1;
		while (n > 0 && (text[n] & 0xc0) == 0x80)
			n--;
	}
	memcpy(out, text, n);
	out[n] = 0;
}

bool hart_tag(const struct hart_data *data, struct field_identity *out)
{
	const char *tag = data->command == 20 ? data->text : data->tag;

	if (!*tag || !is_written(tag))
		return false;
	set_text(out->tag, sizeof out->tag, tag);
	return true;
}

static enum status read_tag(struct field_source *source, struct field_identity *out, struct err *err)
{
	struct hart_state *h = source->link;
	struct hart_frame frame = {0};
	struct hart_data data = {0};
	enum status rc;

	/* The long tag came with revision 6 (from memory). A device may lack either. */
	rc = h->device.universal >= 6 ? ask(source, 20, NULL, 0, &data, &frame, err) : FAILED;
	if (!rc && hart_tag(&data, out))
		return OK;
	if (rc && !h->up)
		return rc;
	rc = ask(source, 13, NULL, 0, &data, &frame, err);
	if (!rc)
		hart_tag(&data, out);
	return rc && (rc != FAILED || !h->up) ? rc : OK;
}

void hart_identity(const struct hart_device *d, struct field_identity *out)
{
	snprintf(out->maker, sizeof out->maker, "code %d", d->maker);
	snprintf(out->model, sizeof out->model, "type %04x", d->type);
	snprintf(out->serial, sizeof out->serial, "%u", (unsigned)d->id);
	snprintf(out->revision, sizeof out->revision, "HART %d, device %d, software %d", d->universal, d->revision,
		 d->software);
	snprintf(out->device_id, sizeof out->device_id, "%04x-%06x", d->type, (unsigned)d->id);
}

enum status hart_identify(struct field_source *source, struct field_identity *out, struct err *err)
{
	const struct hart_state *h = source->link;
	enum status rc = ready(source, err);

	if (!rc)
		rc = read_tag(source, out, err);
	if (rc)
		return hart_named(source, rc, err);
	hart_identity(&h->device, out);
	return OK;
}
