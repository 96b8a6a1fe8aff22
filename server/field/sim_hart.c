/*
 * A HART device, as its bytes say: revision 7, one to four variables, commands that read. It knows no command that writes, so
 * it cannot be set over HART either.
 */
#include <math.h>
#include <string.h>

#include "field/source.h"
#include "hart_data.h"
#include "sim.h"

enum { NOT_KNOWN = 64, BAD_CHOICE = 2, TOO_FEW = 5, TIMER_MIN_MS = 1000, TIMER_MAX_MS = 600000 };

static const char *const names[] = {"pv", "sv", "tv", "qv"};

/* What the device says of one variable; false: it has none of that name. */
static bool get(struct sim_device *device, const char *what, struct sim_value *out)
{
	memset(out, 0, sizeof *out);
	return device->read && device->read(device->plant, what, out);
}

static uint8_t status_byte(unsigned status)
{
	return (uint8_t)((status & FIELD_MALFUNCTION ? HART_MALFUNCTION : 0) |
			 (status & FIELD_CONFIG_CHANGED ? HART_CONFIG_CHANGED : 0) |
			 (status & FIELD_COLD_START ? HART_COLD_START : 0) | (status & FIELD_MORE ? HART_MORE : 0) |
			 (status & FIELD_FIXED ? HART_FIXED : 0) | (status & FIELD_SATURATED ? HART_SATURATED : 0) |
			 (status & FIELD_OTHER_OUT_OF_LIMITS ? HART_OTHER_OUT_OF_LIMITS : 0) |
			 (status & FIELD_OUT_OF_LIMITS ? HART_OUT_OF_LIMITS : 0));
}

static uint8_t slot_status(const struct sim_value *v)
{
	if (isnan(v->value) || v->status & FIELD_BAD)
		return 0x00;
	if (v->status & FIELD_POOR)
		return 0x40;
	return 0xc0;
}

static void u24(uint8_t *out, unsigned value)
{
	out[0] = (uint8_t)(value >> 16);
	out[1] = (uint8_t)(value >> 8);
	out[2] = (uint8_t)value;
}

static size_t say_identity(const struct sim_device *d, uint8_t *out)
{
	const uint8_t bytes[22] = {254,
				   (uint8_t)(d->hart_type >> 8),
				   (uint8_t)d->hart_type,
				   HART_PREAMBLES,
				   7,
				   1,
				   1,
				   1 << 3,
				   0,
				   0,
				   0,
				   0,
				   HART_PREAMBLES,
				   4,
				   0,
				   0,
				   0,
				   0,
				   (uint8_t)(d->hart_type >> 8),
				   0,
				   (uint8_t)(d->hart_type >> 8),
				   0};

	memcpy(out, bytes, sizeof bytes);
	u24(out + 9, d->hart_id);
	return sizeof bytes;
}

static void say_value(const struct sim_value *v, uint8_t *out)
{
	out[0] = hart_unit_code(v->unit);
	hart_float_write(out + 1, v->value);
}

/* The current, then as many variables as it has, without a gap. */
static size_t say_dynamic(struct sim_device *d, uint8_t *out)
{
	struct sim_value v;
	size_t n = 4;

	hart_float_write(out, get(d, "current", &v) ? v.value : (double)NAN);
	for (size_t i = 0; i < 4 && get(d, names[i], &v); i++, n += 5)
		say_value(&v, out + n);
	return n;
}

static const char *name_of(uint8_t code)
{
	if (code < 4)
		return names[code];
	if (code == HART_VARIABLE_PERCENT)
		return "percent";
	if (code == HART_VARIABLE_CURRENT)
		return "current";
	return code >= HART_VARIABLE_PV && code <= HART_VARIABLE_QV ? names[code - HART_VARIABLE_PV] : "";
}

static size_t say_slots(struct sim_device *d, const struct hart_frame *asked, uint8_t *out, uint8_t *code)
{
	size_t n = 1, count = asked->size < 8 ? asked->size : 8;

	*code = count > 0 ? 0 : TOO_FEW;
	out[0] = 0;
	for (size_t i = 0; i < count; i++, n += 8) {
		struct sim_value v = {.value = (double)NAN};
		bool there = get(d, name_of(asked->data[i]), &v);

		out[n] = asked->data[i];
		out[n + 1] = 0;
		out[n + 2] = there ? hart_unit_code(v.unit) : HART_NOT_USED;
		hart_float_write(out + n + 3, there ? v.value : (double)NAN);
		out[n + 7] = there ? slot_status(&v) : 0x30; /* bad, constant: there is no such variable */
	}
	memset(out + n, 0, 4); /* time: it has no clock */
	return n + 4;
}

static size_t say_tag(const struct sim_device *d, uint8_t *out)
{
	hart_pack(d->tag ? d->tag : "", 8, out);
	hart_pack(d->descriptor ? d->descriptor : "", 16, out + 6);
	out[18] = 1;
	out[19] = 1;
	out[20] = 126; /* 1 January 2026 */
	return 21;
}

static size_t say_sensor(const struct sim_device *d, uint8_t *out)
{
	u24(out, d->hart_id);
	out[3] = hart_unit_code(d->unit ? d->unit : "");
	hart_float_write(out + 4, d->sensor_high);
	hart_float_write(out + 8, d->sensor_low);
	hart_float_write(out + 12, d->span_min);
	return 16;
}

static size_t say_output(const struct sim_device *d, uint8_t *out)
{
	out[0] = 0; /* alarm high */
	out[1] = 0; /* linear */
	out[2] = hart_unit_code(d->unit ? d->unit : "");
	hart_float_write(out + 3, d->urv);
	hart_float_write(out + 7, d->lrv);
	hart_float_write(out + 11, d->damping_s);
	out[15] = 251; /* no write protection, as it knows no writing */
	out[16] = 250;
	out[17] = 0;
	return 18;
}

static size_t say_long_tag(const struct sim_device *d, uint8_t *out)
{
	memset(out, 0, 32);
	if (d->long_tag)
		memcpy(out, d->long_tag, strnlen(d->long_tag, 32));
	return 32;
}

/* The data of the answer, and its response code. room: 80 bytes, four of command 9's slots and more. */
static size_t say(struct sim_device *d, const struct hart_frame *asked, uint8_t *out, uint8_t *code)
{
	struct sim_value v;

	*code = 0;
	switch (asked->command) {
	case 0:
		return say_identity(d, out);
	case 1:
		if (!get(d, "pv", &v))
			break;
		say_value(&v, out);
		return 5;
	case 2:
		hart_float_write(out, get(d, "current", &v) ? v.value : (double)NAN);
		hart_float_write(out + 4, get(d, "percent", &v) ? v.value : (double)NAN);
		return 8;
	case 3:
		return say_dynamic(d, out);
	case 7:
		out[0] = (uint8_t)(d->address & 0x3f);
		out[1] = 1; /* the loop current follows */
		return 2;
	case 8:
		memset(out, 0, 4);
		return 4;
	case 9:
		return say_slots(d, asked, out, code);
	case 12:
		hart_pack("", 32, out);
		return 24;
	case 13:
		return say_tag(d, out);
	case 14:
		return say_sensor(d, out);
	case 15:
		return say_output(d, out);
	case 16:
		u24(out, 0);
		return 3;
	case 20:
		return say_long_tag(d, out);
	case 48:
		memset(out, 0, 9);
		return 9;
	default:
		*code = NOT_KNOWN;
		return 0;
	}
	*code = BAD_CHOICE;
	return 0;
}

static bool is_for(const struct sim_device *d, const struct hart_address *to)
{
	if (to->is_long)
		return to->device_type == (d->hart_type & 0x3fff) && to->device_id == (d->hart_id & 0xffffff);
	return to->poll == (d->address & 0x3f);
}

/* 0: the request is for somebody else. */
static size_t answer(struct sim_device *d, const struct hart_frame *asked, uint8_t *out, size_t room)
{
	struct hart_frame reply = {.type = HART_ANSWER, .address = asked->address, .command = asked->command};
	struct sim_value v;
	uint8_t data[100];

	if (asked->type != HART_REQUEST || !is_for(d, &asked->address))
		return 0;
	/* By its short address a device of revision 5 and later says who it is, and no more. */
	if (!asked->address.is_long && asked->command != 0)
		return 0;
	reply.size = say(d, asked, data, &reply.code);
	if (reply.code)
		reply.size = 0;
	reply.data = data;
	reply.status = get(d, "pv", &v) ? status_byte(v.status) : 0;
	if (get(d, "current", &v))
		reply.status |= status_byte(v.status);
	return hart_answer(out, room, &reply);
}

static size_t message(const struct hart_ip_head *asked, uint8_t type, uint8_t status, size_t body, uint8_t *out)
{
	struct hart_ip_head head = {.version = 1,
				    .type = type,
				    .id = asked->id,
				    .status = status,
				    .sequence = asked->sequence,
				    .length = (uint16_t)(HART_IP_HEAD + body)};

	hart_ip_head_write(out, &head);
	return HART_IP_HEAD + body;
}

static size_t initiate(const struct hart_ip_head *head, struct sim_session *session, const uint8_t *body, size_t size,
		       uint8_t *out)
{
	unsigned asked, given;

	if (size < 5)
		return message(head, HART_IP_RESPONSE, 5, 0, out);
	if (body[0] > 1)
		return message(head, HART_IP_RESPONSE, 2, 0, out);
	asked = given = (unsigned)body[1] << 24 | (unsigned)body[2] << 16 | (unsigned)body[3] << 8 | body[4];
	if (given < TIMER_MIN_MS)
		given = TIMER_MIN_MS;
	if (given > TIMER_MAX_MS)
		given = TIMER_MAX_MS;
	session->open = true;
	session->timer_ms = given;
	out[HART_IP_HEAD] = body[0];
	for (int i = 0; i < 4; i++)
		out[HART_IP_HEAD + 1 + i] = (uint8_t)(given >> (24 - 8 * i));
	return message(head, HART_IP_RESPONSE, given == asked ? 0 : 8, 5, out);
}

static size_t pass(struct sim_device *device, const struct hart_ip_head *head, const uint8_t *body, size_t size,
		   uint8_t *out, size_t room)
{
	struct hart_frame asked;
	size_t taken, n;

	if (hart_parse(body, size, &asked, &taken) || taken != size)
		return 0;
	n = answer(device, &asked, out + HART_IP_HEAD, room - HART_IP_HEAD);
	return n ? message(head, HART_IP_RESPONSE, 0, n, out) : 0;
}

long sim_hart_ip_answer(struct sim_device *device, struct sim_session *session, const uint8_t *in, size_t size,
			uint8_t *out, size_t room, size_t *out_size)
{
	struct hart_ip_head head;
	const uint8_t *body = in + HART_IP_HEAD;

	*out_size = 0;
	if (size < HART_IP_HEAD)
		return 0;
	if (!hart_ip_head_parse(in, size, &head))
		return -1;
	if (size < head.length)
		return 0;
	size = (size_t)head.length - HART_IP_HEAD;
	if (head.type != HART_IP_REQUEST)
		return head.length;
	if (head.version != 1)
		*out_size = message(&head, HART_IP_RESPONSE, 14, 0, out);
	else if (head.id == HART_IP_INITIATE)
		*out_size = initiate(&head, session, body, size, out);
	else if (!session->open)
		return head.length;
	else if (head.id == HART_IP_PDU)
		*out_size = pass(device, &head, body, size, out, room);
	else if (head.id == HART_IP_KEEP_ALIVE || head.id == HART_IP_CLOSE)
		*out_size = message(&head, HART_IP_RESPONSE, 0, 0, out);
	else
		*out_size = message(&head, HART_IP_NAK, 0, 0, out);
	if (head.id == HART_IP_CLOSE)
		session->open = false;
	return head.length;
}

long sim_hart_answer(struct sim_device *device, struct sim_session *session, const uint8_t *in, size_t size,
		     uint8_t *out, size_t room, size_t *out_size)
{
	struct hart_frame asked;
	size_t taken;
	enum hart_result rc = hart_find(in, size, false, &asked, &taken);

	(void)session;
	*out_size = 0;
	if (rc == HART_OK && room > HART_PREAMBLES) {
		size_t n = answer(device, &asked, out + HART_PREAMBLES, room - HART_PREAMBLES);

		memset(out, 0xff, HART_PREAMBLES);
		*out_size = n ? HART_PREAMBLES + n : 0;
	}
	return (long)taken;
}
