#include "hart_data.h"

static uint32_t u24(const uint8_t *p)
{
	return (uint32_t)p[0] << 16 | (uint32_t)p[1] << 8 | p[2];
}

static uint16_t u16(const uint8_t *p)
{
	return (uint16_t)(p[0] << 8 | p[1]);
}

static uint32_t u32(const uint8_t *p)
{
	return (uint32_t)p[0] << 24 | u24(p + 1);
}

/* Judged on its bits: a signalling NaN, 7F A0 00 00 here, must not pass through arithmetic. */
double hart_float(const uint8_t bytes[4])
{
	union {
		uint32_t bits;
		float value;
	} u = {.bits = u32(bytes)};

	if ((u.bits & 0x7f800000) == 0x7f800000)
		return (double)__builtin_nanf("");
	return (double)u.value;
}

void hart_float_write(uint8_t out[4], double value)
{
	union {
		uint32_t bits;
		float value;
	} u = {.bits = 0x7fa00000};

	if (value >= -3.4e38 && value <= 3.4e38)
		u.value = (float)value;
	for (int i = 0; i < 4; i++)
		out[i] = (uint8_t)(u.bits >> (24 - 8 * i));
}

void hart_unpack(const uint8_t *bytes, size_t count, char *out)
{
	for (size_t i = 0; i < count; i++) {
		uint32_t three = u24(bytes + i / 4 * 3);
		uint8_t c = three >> (18 - 6 * (i % 4)) & 0x3f;

		out[i] = (char)(c & 0x20 ? c : c + 64);
	}
	out[count] = 0;
}

void hart_pack(const char *text, size_t count, uint8_t *out)
{
	for (size_t i = 0; i < count; i += 4) {
		uint32_t three = 0;

		for (int k = 0; k < 4; k++) {
			char c = *text ? *text++ : ' ';

			if (c >= 'a' && c <= 'z')
				c = (char)(c - 'a' + 'A');
			if (c < ' ' || c > '_')
				c = '?';
			three = three << 6 | ((uint32_t)c & 0x3f);
		}
		*out++ = (uint8_t)(three >> 16);
		*out++ = (uint8_t)(three >> 8);
		*out++ = (uint8_t)three;
	}
}

static void trim(char *text)
{
	size_t n = 0;

	while (text[n])
		n++;
	while (n > 0 && text[n - 1] == ' ')
		text[--n] = 0;
}

/* Latin-1 to UTF-8; ends at a 0. */
static void latin1(const uint8_t *bytes, size_t size, char *out)
{
	for (size_t i = 0; i < size && bytes[i]; i++) {
		uint8_t c = bytes[i];

		if (c >= 0xa0) {
			*out++ = (char)(0xc0 | c >> 6);
			*out++ = (char)(0x80 | (c & 0x3f));
		} else {
			*out++ = c >= ' ' && c < 0x7f ? (char)c : '?';
		}
	}
	*out = 0;
}

/* 12 bytes up to revision 5; each later revision appended some. */
static bool decode_device(const uint8_t *p, size_t n, struct hart_device *out)
{
	if (n < 12 || p[0] != 254)
		return false;
	*out = (struct hart_device){.type = u16(p + 1),
				    .preambles = p[3],
				    .universal = p[4],
				    .revision = p[5],
				    .software = p[6],
				    .hardware = p[7] >> 3,
				    .signalling = p[7] & 7,
				    .flags = p[8],
				    .id = u24(p + 9),
				    .maker = p[1]};
	if (n >= 14) {
		out->preambles_back = p[12];
		out->variables = p[13];
	}
	if (n >= 17) {
		out->changes = u16(p + 14);
		out->extended = p[16];
	}
	if (n >= 21) {
		out->maker = u16(p + 17);
		out->label = u16(p + 19);
	}
	if (n >= 22)
		out->profile = p[21];
	return true;
}

static void add_variable(struct hart_values *v, const uint8_t *p)
{
	/* Commands 1 and 3 know no status of a single value: good, unless the device's own status says otherwise. */
	v->variables[v->count++] = (struct hart_variable){.unit = p[0], .value = hart_float(p + 1), .status = 0xc0};
}

/* Up to four, as many as the device has. */
static bool decode_dynamic(const uint8_t *p, size_t n, struct hart_values *out)
{
	if (n < 4)
		return false;
	out->current = hart_float(p);
	for (size_t i = 4; i + 5 <= n && out->count < 4; i += 5)
		add_variable(out, p + i);
	return out->count > 0;
}

/* The extended status, slots of 8 bytes, and since revision 7 a time of 4. */
static bool decode_slots(const uint8_t *p, size_t n, struct hart_values *out)
{
	size_t i = 1;

	if (n < 1 + 8)
		return false;
	out->extended = p[0];
	for (; i + 8 <= n && out->count < 8; i += 8)
		out->variables[out->count++] = (struct hart_variable){.code = p[i],
								      .classification = p[i + 1],
								      .unit = p[i + 2],
								      .value = hart_float(p + i + 3),
								      .status = p[i + 7]};
	if (i + 4 <= n) {
		out->has_time = true;
		out->time_32 = u32(p + i);
	}
	return true;
}

static bool decode_values(uint8_t command, const uint8_t *p, size_t n, struct hart_values *out)
{
	out->current = out->percent = (double)__builtin_nanf("");
	if (command == 3)
		return decode_dynamic(p, n, out);
	if (command == 9)
		return decode_slots(p, n, out);
	if (command == 1 && n >= 5)
		add_variable(out, p);
	if (command == 2 && n >= 8) {
		out->current = hart_float(p);
		out->percent = hart_float(p + 4);
	}
	return n >= (command == 1 ? 5 : 8);
}

static bool decode_tag(const uint8_t *p, size_t n, struct hart_data *out)
{
	if (n < 21)
		return false;
	hart_unpack(p, 8, out->tag);
	hart_unpack(p + 6, 16, out->descriptor);
	trim(out->tag);
	trim(out->descriptor);
	out->day = p[18];
	out->month = p[19];
	out->year = 1900 + p[20];
	return true;
}

static bool decode_sensor(const uint8_t *p, size_t n, struct hart_range *out)
{
	if (n < 16)
		return false;
	*out = (struct hart_range){.serial = u24(p),
				   .unit = p[3],
				   .upper = hart_float(p + 4),
				   .lower = hart_float(p + 8),
				   .span = hart_float(p + 12)};
	return true;
}

static bool decode_output(const uint8_t *p, size_t n, struct hart_range *out)
{
	if (n < 16)
		return false;
	*out = (struct hart_range){.alarm = p[0],
				   .transfer = p[1],
				   .unit = p[2],
				   .upper = hart_float(p + 3),
				   .lower = hart_float(p + 7),
				   .damping_s = hart_float(p + 11),
				   .protect = p[15]};
	return true;
}

static bool decode_bytes(uint8_t command, const uint8_t *p, size_t n, struct hart_data *out)
{
	if (command == 7) {
		out->poll = n > 0 ? p[0] : 0;
		out->loop_current = n > 1 ? p[1] : 1;
		return n >= 1;
	}
	if (command == 8) {
		for (size_t i = 0; i < 4 && i < n; i++)
			out->classification[i] = p[i];
		return n >= 4;
	}
	if (command == 16) {
		out->assembly = n >= 3 ? u24(p) : 0;
		return n >= 3;
	}
	for (; out->more_count < n && out->more_count < sizeof out->more; out->more_count++)
		out->more[out->more_count] = p[out->more_count];
	return n >= 6;
}

bool hart_decode(const struct hart_frame *answer, struct hart_data *out)
{
	const uint8_t *p = answer->data;
	size_t n = answer->size;

	*out = (struct hart_data){.command = answer->command};
	switch (answer->command) {
	case 0:
		return decode_device(p, n, &out->device);
	case 1:
	case 2:
	case 3:
	case 9:
		return decode_values(answer->command, p, n, &out->values);
	case 12:
		if (n >= 24) {
			hart_unpack(p, 32, out->text);
			trim(out->text);
		}
		return n >= 24;
	case 13:
		return decode_tag(p, n, out);
	case 14:
		return decode_sensor(p, n, &out->range);
	case 15:
		return decode_output(p, n, &out->range);
	case 20:
		if (n >= 32) {
			latin1(p, 32, out->text);
			trim(out->text);
		}
		return n >= 32;
	case 7:
	case 8:
	case 16:
	case 48:
		return decode_bytes(answer->command, p, n, out);
	}
	return false;
}

/* From memory, but 64, which was seen; a device's own meanings (6 and such) are not known here. */
const char *hart_code_words(uint8_t code)
{
	if (code & 0x80)
		return "it received the request damaged";
	switch (code) {
	case 2:
		return "it does not have what was asked for";
	case 5:
		return "it wants more data";
	case 6:
		return "a reason of its own";
	case 16:
		return "access is restricted";
	case 32:
		return "it is busy";
	case 33:
	case 34:
	case 35:
	case 36:
		return "its answer is delayed";
	case 64:
		return "it does not know this command";
	}
	return "a reason that is not known here";
}

/* 8 (values may be old or simulated), 14 (other variables given), 30 (answer cut): from memory. */
bool hart_code_is_warning(uint8_t code)
{
	return code == 8 || code == 14 || code == 30;
}
