/*
 * Modbus: a value is one or two registers, read by function 3 or 4. A source is driven by function 6 or 16 on the one register
 * of its configuration, which is read back. Nothing else is ever sent but the question who it is (43/14).
 */
#include "modbus.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "modbus_data.h"
#include "wire.h"

#define REGISTERS     65536
#define LEVEL_REGULAR 2
#define QUESTIONS_MAX 8 /* for one identification; a device that always has more is not asked for ever */

enum object { OBJECT_VENDOR, OBJECT_PRODUCT_CODE, OBJECT_REVISION, OBJECT_URL, OBJECT_PRODUCT_NAME, OBJECT_MODEL_NAME };

/* ---- configuration ---- */

static int words_of(const struct field_config *c)
{
	return modbus_words(c->format);
}

static bool is_float(const struct field_config *c)
{
	return c->format[0] == 'f';
}

static enum status check_scale(const struct field_config *c, struct err *err)
{
	if (c->raw_low == 0 && c->raw_high == 0 && c->low == 0 && c->high == 0)
		return OK;
	if (is_float(c))
		return err_set(err, INVALID, "/raw_high", "only whole numbers are scaled; %s is none", c->format);
	if (!isfinite(c->raw_low) || !isfinite(c->raw_high) || c->raw_low == c->raw_high)
		return err_set(err, INVALID, "/raw_high",
			       "a scale needs two different raw numbers, raw_low and raw_high");
	if (!isfinite(c->low) || !isfinite(c->high) || c->low == c->high)
		return err_set(err, INVALID, "/high", "a scale needs two different values, low and high");
	return OK;
}

static enum status check_drive(const struct field_config *c, struct err *err)
{
	uint8_t bytes[4];

	if (!c->drivable)
		return OK;
	if (c->set_reg < 0 || c->set_reg > REGISTERS - words_of(c))
		return err_set(err, INVALID, "/set_reg", "what drives is a register from 0 to %d",
			       REGISTERS - words_of(c));
	if (!modbus_encode(c, c->drive_low, bytes))
		return err_set(err, INVALID, "/drive_low", "%.6g does not fit in a register of %s", c->drive_low,
			       c->format);
	if (!modbus_encode(c, c->drive_high, bytes))
		return err_set(err, INVALID, "/drive_high", "%.6g does not fit in a register of %s", c->drive_high,
			       c->format);
	return OK;
}

enum status modbus_check(const struct field_config *c, struct err *err)
{
	enum status rc;

	if (c->address < 0 || c->address > 247)
		return err_set(err, INVALID, "/address", "a Modbus unit is 0 to 247");
	if (words_of(c) == 0)
		return err_set(
			err, INVALID, "/format",
			"one of: f32-abcd, f32-cdab, f32-badc, f32-dcba, i16, u16, i32-abcd, i32-cdab, u32-abcd, u32-cdab");
	if (c->function != 0 && c->function != MODBUS_READ_HOLDING && c->function != MODBUS_READ_INPUT)
		return err_set(err, INVALID, "/function", "registers are read by function 3 (holding) or 4 (input)");
	if (c->reg < 0 || c->reg > REGISTERS - words_of(c))
		return err_set(err, INVALID, "/reg", "the first register is 0 to %d", REGISTERS - words_of(c));
	rc = check_scale(c, err);
	return rc ? rc : check_drive(c, err);
}

enum status modbus_named(const struct field_source *source, enum status rc, struct err *err)
{
	const struct field_config *c = &source->config;
	struct err said;

	if (!rc || !err)
		return rc;
	said = *err;
	return err_set(err, rc, said.field, "Modbus device at %s, unit %d: %s", *c->device ? c->device : c->host,
		       c->address, said.message);
}

/* ---- exchanges ---- */

/* What only says "not now", from the device or from a gateway before it. */
static bool may_pass(int exception)
{
	return exception == MODBUS_ACKNOWLEDGE || exception == MODBUS_DEVICE_BUSY || exception == MODBUS_NO_TARGET;
}

static enum status ask(struct field_source *source, const struct modbus_pdu *question, struct modbus_pdu *answer,
		       int *exception, int64_t deadline, struct err *err)
{
	struct modbus_link *l = source->link;
	enum status rc = l->way->exchange(source, question, answer, deadline, err);

	*exception = rc ? 0 : modbus_exception(answer);
	if (*exception)
		rc = err_set(err, may_pass(*exception) ? BUSY : FAILED, NULL, "%s (function %d, exception %d)",
			     modbus_exception_words(*exception), question->bytes[0], *exception);
	return rc;
}

static int64_t deadline_of(const struct field_source *source)
{
	return wire_now_ms() + source->config.timeout_ms;
}

static enum status read_registers(struct field_source *source, int function, int reg, struct modbus_pdu *answer,
				  struct err *err)
{
	struct modbus_pdu question;
	int exception;

	modbus_ask_registers(&question, function, reg, words_of(&source->config));
	return ask(source, &question, answer, &exception, deadline_of(source), err);
}

static int function_of(const struct field_config *c)
{
	return c->function ? c->function : MODBUS_READ_HOLDING;
}

enum status modbus_read(struct field_source *source, struct field_reading *out, struct err *err)
{
	const struct field_config *c = &source->config;
	struct modbus_pdu answer;
	enum status rc = read_registers(source, function_of(c), c->reg, &answer, err);

	if (rc)
		return modbus_named(source, rc, err);
	out->value = modbus_decode(c, answer.bytes + 2);
	if (isnan(out->value))
		out->status = FIELD_BAD;
	out->at_ms = time_now_ms();
	snprintf(out->unit, sizeof out->unit, "%s", c->unit);
	for (size_t i = 0; i < answer.size && 2 * i + 2 < sizeof out->raw; i++)
		snprintf(out->raw + 2 * i, 3, "%02x", answer.bytes[i]);
	return OK;
}

/* ---- who is there ---- */

/* Readable characters, without spaces at the end. */
static void take_text(char *out, size_t size, const uint8_t *text, size_t length)
{
	size_t n = 0;

	for (size_t i = 0; i < length && n + 1 < size; i++)
		out[n++] = text[i] >= ' ' && text[i] < 0x7f ? (char)text[i] : '?';
	while (n > 0 && out[n - 1] == ' ')
		n--;
	out[n] = '\0';
}

static void take_object(struct field_identity *out, int object, const uint8_t *text, size_t size)
{
	if (object == OBJECT_VENDOR)
		take_text(out->maker, sizeof out->maker, text, size);
	else if (object == OBJECT_PRODUCT_CODE)
		take_text(out->device_id, sizeof out->device_id, text, size);
	else if (object == OBJECT_REVISION)
		take_text(out->revision, sizeof out->revision, text, size);
	else if (object == OBJECT_MODEL_NAME || (object == OBJECT_PRODUCT_NAME && !*out->model))
		take_text(out->model, sizeof out->model, text, size);
}

static void take_objects(struct field_identity *out, const struct modbus_pdu *answer)
{
	size_t at = 0, size;
	const uint8_t *text;
	int object;

	while (modbus_object(answer, &at, &object, &text, &size))
		take_object(out, object, text, size);
}

/* The protocol has no serial number: the product code is the most that tells one device from another. */
static enum status ask_identity(struct field_source *source, struct field_identity *out, int *exception,
				struct err *err)
{
	int64_t deadline = deadline_of(source);
	int object = 0;

	for (int i = 0; i < QUESTIONS_MAX && object >= 0; i++) {
		struct modbus_pdu question, answer;
		enum status rc;

		modbus_ask_identity(&question, LEVEL_REGULAR, object);
		rc = ask(source, &question, &answer, exception, deadline, err);
		if (rc)
			return rc;
		take_objects(out, &answer);
		object = modbus_next_object(&answer);
	}
	if (!*out->model)
		snprintf(out->model, sizeof out->model, "%s", out->device_id);
	return OK;
}

/* A device may refuse the question, or not answer what it does not know; it is there all the same if its register can be read. */
enum status modbus_identify(struct field_source *source, struct field_identity *out, struct err *err)
{
	const struct field_config *c = &source->config;
	struct modbus_link *l = source->link;
	struct modbus_pdu answer;
	int exception = 0;
	enum status rc = ask_identity(source, out, &exception, err);

	if (!rc) {
		snprintf(l->who, sizeof l->who, "%.*s", (int)sizeof l->who - 1, out->device_id);
		return OK;
	}
	*out = (struct field_identity){0};
	if (rc == FAILED && exception)
		return OK;
	if (rc == BUSY && !exception && !read_registers(source, function_of(c), c->reg, &answer, &(struct err){0}))
		return OK;
	return modbus_named(source, rc, err);
}

enum status modbus_same_device(struct field_source *source, struct err *err)
{
	const struct modbus_link *l = source->link;
	struct field_identity now = {0};
	int exception = 0;
	enum status rc = *l->who ? ask_identity(source, &now, &exception, err) : OK;

	if (rc == FAILED && exception)
		return err_set(err, BUSY, NULL, "another device answers, which does not say who it is");
	if (!rc && strcmp(now.device_id, l->who) != 0)
		rc = err_set(err, BUSY, NULL, "another device answers: %s", now.device_id);
	return rc;
}

/* ---- driving ---- */

static double one_count(const struct field_config *c)
{
	return c->raw_low == c->raw_high ? 1 : fabs((c->high - c->low) / (c->raw_high - c->raw_low));
}

/* Whole numbers are rounded, which must not carry a level over a limit. */
static bool encode_inside(const struct field_config *c, double value, uint8_t bytes[4])
{
	double back;

	if (!modbus_encode(c, value, bytes))
		return false;
	back = modbus_decode(c, bytes);
	if (is_float(c) || (back >= c->drive_low && back <= c->drive_high))
		return true;
	return modbus_encode(c, back > c->drive_high ? back - one_count(c) : back + one_count(c), bytes);
}

static enum status send_level(struct field_source *source, double value, struct err *err)
{
	const struct field_config *c = &source->config;
	const struct modbus_link *l = source->link;
	struct modbus_pdu question, answer;
	enum status rc = OK;
	uint8_t bytes[4];
	int exception;

	if (!encode_inside(c, value, bytes))
		return err_set(err, INVALID, "/value", "%.6g does not fit in a register of %s", value, c->format);
	if (l->way->may_echo)
		rc = read_registers(source, MODBUS_READ_HOLDING, c->set_reg, &answer, err);
	modbus_set_registers(&question, c->set_reg, words_of(c), bytes);
	if (!rc)
		rc = ask(source, &question, &answer, &exception, deadline_of(source), err);
	if (!rc)
		rc = read_registers(source, MODBUS_READ_HOLDING, c->set_reg, &answer, err);
	if (!rc && memcmp(answer.bytes + 2, bytes, (size_t)words_of(c) * 2) != 0)
		rc = err_set(err, FAILED, NULL, "register %d says %.6g after %.6g was written to it", c->set_reg,
			     modbus_decode(c, answer.bytes + 2), modbus_decode(c, bytes));
	return rc;
}

enum status modbus_drive(struct field_source *source, double value, struct err *err)
{
	return modbus_named(source, send_level(source, value, err), err);
}
