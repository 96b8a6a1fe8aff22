/*
 * The device side of Modbus TCP: registers as sim.h describes them, read by functions 3 and 4, written by 6 and 16, and who it is
 * by 43/14. A device stands behind a gateway: for another unit the gateway answers that nobody is there.
 */
#include <math.h>
#include <string.h>

#include "field/source.h"
#include "modbus_data.h"
#include "modbus_frame.h"
#include "sim.h"

#define WRITES_MAX	 123
#define LEVEL_REGULAR	 2 /* what it conforms to: streams of the basic and the regular objects */
#define LEVEL_INDIVIDUAL 4
#define OBJECTS		 7

struct place {
	const struct sim_register *reg;
	int word; /* of its words, the first is 0 */
};

static struct field_config config_of(const struct sim_register *r)
{
	struct field_config c = {.raw_low = r->raw_low, .raw_high = r->raw_high, .low = r->low, .high = r->high};

	strncpy(c.format, r->format, sizeof c.format - 1);
	return c;
}

static bool find(const struct sim_device *d, int function, int reg, struct place *out)
{
	for (size_t i = 0; i < d->register_count; i++) {
		const struct sim_register *r = &d->registers[i];

		if (r->function == function && reg >= r->reg && reg < r->reg + modbus_words(r->format)) {
			*out = (struct place){r, reg - r->reg};
			return true;
		}
	}
	return false;
}

/* No number: as IEEE 754 writes it, in the order of the format. 1.5 is 3f c0 00 00; with all of its exponent set it is none. */
static bool encode(const struct field_config *c, double value, uint8_t bytes[4])
{
	if (!isnan(value) || c->format[0] != 'f')
		return modbus_encode(c, value, bytes);
	modbus_encode(c, 1.5, bytes);
	for (int i = 0; i < 4; i++) {
		if (bytes[i] == 0x3f)
			bytes[i] = 0x7f;
	}
	return true;
}

static int value_of(struct sim_device *d, const struct sim_register *r, uint8_t bytes[4])
{
	struct field_config c = config_of(r);
	struct sim_value v = {.value = NAN};

	if (!d->read(d->plant, r->what, &v) || !encode(&c, v.value, bytes))
		return MODBUS_DEVICE_FAILURE;
	return 0;
}

static int get(const uint8_t *at)
{
	return at[0] << 8 | at[1];
}

/* Each value is asked for once, so that its words are of one moment. Returns 0 or an exception, like all that follow. */
static int read_registers(struct sim_device *d, const struct modbus_pdu *q, struct modbus_pdu *a)
{
	int reg = get(q->bytes + 1), count = get(q->bytes + 3), fault;
	const struct sim_register *last = NULL;
	uint8_t bytes[4];

	if (q->size != 5 || count < 1 || count > MODBUS_WORDS_MAX)
		return MODBUS_ILLEGAL_VALUE;
	for (int i = 0; i < count; i++) {
		struct place p;

		if (!find(d, q->bytes[0], reg + i, &p))
			return MODBUS_ILLEGAL_ADDRESS;
		fault = p.reg == last ? 0 : value_of(d, p.reg, bytes);
		if (fault)
			return fault;
		last = p.reg;
		memcpy(a->bytes + 2 + (size_t)i * 2, bytes + (size_t)p.word * 2, 2);
	}
	a->bytes[1] = (uint8_t)(count * 2);
	a->size = 2 + (size_t)count * 2;
	return 0;
}

/* Whole values only. All are looked at before the first is set. */
static int write_registers(struct sim_device *d, int reg, int count, const uint8_t *bytes, bool set)
{
	for (int i = 0; i < count;) {
		struct field_config c;
		struct place p;
		int words;

		if (!find(d, MODBUS_READ_HOLDING, reg + i, &p) || !p.reg->writable || p.word != 0)
			return MODBUS_ILLEGAL_ADDRESS;
		words = modbus_words(p.reg->format);
		if (i + words > count)
			return MODBUS_ILLEGAL_ADDRESS;
		c = config_of(p.reg);
		if (set && !d->set(d->plant, p.reg->what, modbus_decode(&c, bytes + (size_t)i * 2)))
			return MODBUS_ILLEGAL_VALUE;
		i += words;
	}
	return 0;
}

static int write_checked(struct sim_device *d, int reg, int count, const uint8_t *bytes)
{
	int fault = write_registers(d, reg, count, bytes, false);

	return fault ? fault : write_registers(d, reg, count, bytes, true);
}

static int write_some(struct sim_device *d, const struct modbus_pdu *q, struct modbus_pdu *a)
{
	int count = q->bytes[0] == MODBUS_WRITE_ONE ? 1 : get(q->bytes + 3);
	const uint8_t *values = q->bytes + (q->bytes[0] == MODBUS_WRITE_ONE ? 3 : 6);

	if (q->size < 5 || (q->bytes[0] == MODBUS_WRITE_ONE && q->size != 5))
		return MODBUS_ILLEGAL_VALUE;
	if (q->bytes[0] == MODBUS_WRITE_SEVERAL && (count < 1 || count > WRITES_MAX || q->size < 6 ||
						    q->bytes[5] != count * 2 || q->size != 6 + (size_t)count * 2))
		return MODBUS_ILLEGAL_VALUE;
	memcpy(a->bytes, q->bytes, 5);
	a->size = 5;
	return write_checked(d, get(q->bytes + 1), count, values);
}

/* ---- who it is ---- */

static const char *object_of(const struct sim_device *d, int object)
{
	const char *const objects[OBJECTS] = {d->maker, d->model, d->revision, NULL, d->model, d->model, d->long_tag};

	return object < OBJECTS ? objects[object] : NULL;
}

/* False: no room; the rest is for the next question. */
static bool add_object(const struct sim_device *d, int object, struct modbus_pdu *a)
{
	const char *text = object_of(d, object);
	size_t length = text ? strlen(text) : 0;

	if (a->size + 2 + length > MODBUS_PDU_MAX) {
		a->bytes[4] = 0xff;
		a->bytes[5] = (uint8_t)object;
		return false;
	}
	a->bytes[a->size++] = (uint8_t)object;
	a->bytes[a->size++] = (uint8_t)length;
	if (length > 0)
		memcpy(a->bytes + a->size, text, length);
	a->size += length;
	a->bytes[6]++;
	return true;
}

static int identify(const struct sim_device *d, const struct modbus_pdu *q, struct modbus_pdu *a)
{
	int level = q->bytes[2], object = q->bytes[3], last = level == 1 ? 2 : OBJECTS - 1;

	if (q->size != 4 || q->bytes[1] != MODBUS_IDENTIFY_TYPE || level < 1 || level > LEVEL_INDIVIDUAL)
		return MODBUS_ILLEGAL_VALUE;
	if (level == LEVEL_INDIVIDUAL && object >= OBJECTS)
		return MODBUS_ILLEGAL_ADDRESS;
	if (object > last)
		object = 0; /* a stream that is begun nowhere begins at its beginning */
	if (level == LEVEL_INDIVIDUAL)
		last = object;
	*a = (struct modbus_pdu){7,
				 {MODBUS_IDENTIFY, MODBUS_IDENTIFY_TYPE, (uint8_t)(level == 3 ? LEVEL_REGULAR : level),
				  0x80 | LEVEL_REGULAR}};
	while (object <= last && add_object(d, object, a))
		object++;
	return 0;
}

/* ---- messages ---- */

static int answer(struct sim_device *d, const struct modbus_pdu *q, struct modbus_pdu *a)
{
	a->bytes[0] = q->bytes[0];
	switch (q->bytes[0]) {
	case MODBUS_READ_HOLDING:
	case MODBUS_READ_INPUT:
		return read_registers(d, q, a);
	case MODBUS_WRITE_ONE:
	case MODBUS_WRITE_SEVERAL:
		return write_some(d, q, a);
	case MODBUS_IDENTIFY:
		return identify(d, q, a);
	default:
		return MODBUS_ILLEGAL_FUNCTION;
	}
}

long sim_modbus_answer(struct sim_device *device, struct sim_session *session, const uint8_t *in, size_t size,
		       uint8_t *out, size_t room, size_t *out_size)
{
	struct modbus_message m = {0};
	struct modbus_pdu a;
	size_t taken;
	int exception;

	(void)session;
	(void)room; /* SIM_MESSAGE holds any message */
	*out_size = 0;
	switch (modbus_tcp_parse(in, size, &m, &taken)) {
	case MODBUS_MORE:
		return 0;
	case MODBUS_BROKEN:
		return -1;
	default:
		break;
	}
	exception = m.unit == device->address ? answer(device, &m.pdu, &a) : MODBUS_NO_TARGET;
	if (exception)
		a = (struct modbus_pdu){2, {m.pdu.bytes[0] | 0x80, (uint8_t)exception}};
	*out_size = modbus_tcp_frame(out, m.transaction, m.unit, &a);
	return (long)taken;
}
