#include "field/hart_pushed.h"

#include "hart.h"

_Static_assert(HART_ANSWER_MAX >= HART_FRAME_MAX, "an answer fits");

static enum status parse(const uint8_t *bytes, size_t size, struct hart_frame *out, struct err *err)
{
	size_t taken;
	enum hart_result rc = hart_parse(bytes, size, out, &taken);

	if (rc == HART_INCOMPLETE)
		return err_set(err, INVALID, "", "this HART frame is not complete");
	if (rc == HART_CHECKSUM)
		return err_set(err, INVALID, "", "the checksum of this HART frame is wrong");
	if (rc == HART_BROKEN)
		return err_set(err, INVALID, "", "this is no HART frame from its delimiter to its checksum");
	if (taken != size)
		return err_set(err, INVALID, "", "something stands behind the HART frame");
	if (out->type != HART_ANSWER)
		return err_set(err, INVALID, "", "this HART frame is no answer of a device");
	if (!out->address.primary)
		return err_set(err, INVALID, "", "this HART frame answers another master");
	return OK;
}

static enum status decode(const struct hart_frame *frame, struct hart_data *out, struct err *err)
{
	if (frame->code && !hart_code_is_warning(frame->code))
		return err_set(err, INVALID, "", "the device refuses command %d: %s (%d)", frame->command,
			       hart_code_words(frame->code), frame->code);
	if (!hart_decode(frame, out))
		return err_set(err, INVALID, "", "the answer to command %d is too short", frame->command);
	return OK;
}

static enum status learn(struct hart_pushed *p, int poll, const struct hart_frame *frame,
			 const struct hart_device *device, struct err *err)
{
	struct hart_pushed now = {.known = true, .type = device->type, .id = device->id};
	const struct hart_address *a = &frame->address;

	if (!a->is_long && a->poll != poll)
		return err_set(err, INVALID, "", "the device answers at poll address %d, the channel is set to %d",
			       a->poll, poll);
	if (a->is_long && (a->device_type != (device->type & 0x3fff) || a->device_id != device->id))
		return err_set(err, INVALID, "", "the device calls itself by another number than it is addressed by");
	hart_identity(device, &now.device);
	*p = now;
	return OK;
}

static enum status is_known(const struct hart_pushed *p, const struct hart_address *a, struct err *err)
{
	if (!p->known)
		return err_set(err, CONFLICT, "", "who answers is not known: the answer to command 0 comes first");
	if (!a->is_long)
		return err_set(err, INVALID, "", "the device is asked by its long address, but for command 0");
	/* The two upper bits of the type stand in no address. */
	if (a->device_type != (p->type & 0x3fff) || a->device_id != p->id)
		return err_set(err, CONFLICT, "", "another device answers now: %04x-%06x instead of %s",
			       a->device_type | (p->type & 0xc000), (unsigned)a->device_id, p->device.device_id);
	return OK;
}

/* The long tag is the better one, whichever comes first. */
static void take_tag(struct hart_pushed *p, const struct hart_data *data)
{
	p->tagged = true;
	if (!p->long_tag && hart_tag(data, &p->device))
		p->long_tag = data->command == 20;
}

enum status hart_pushed_take(struct hart_pushed *p, const struct field_config *config, const uint8_t *bytes,
			     size_t size, struct field_reading *out, bool *holds, struct err *err)
{
	struct hart_frame frame = {0};
	struct hart_data data = {0};
	enum status rc = parse(bytes, size, &frame, err);
	bool tag = frame.command == 13 || frame.command == 20;

	*holds = false;
	if (!rc && frame.command != 0)
		rc = is_known(p, &frame.address, err);
	if (!rc && frame.command != 0 && !tag && !hart_holds(config->variable, frame.command))
		rc = err_set(err, INVALID, "", "an answer to command %d does not hold %s", frame.command,
			     config->variable);
	if (!rc)
		rc = decode(&frame, &data, err);
	if (rc)
		return rc;
	if (frame.command == 0)
		return learn(p, config->address, &frame, &data.device, err);
	if (tag) {
		take_tag(p, &data);
		return OK;
	}
	*out = (struct field_reading){0};
	hart_raw(bytes, size, out);
	*holds = true;
	return hart_value(config->variable, &frame, &data, out, err);
}
