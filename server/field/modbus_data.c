#include "modbus_data.h"

#include <float.h>
#include <math.h>
#include <string.h>

struct format {
	const char *name;
	int words;
	char kind;	  /* 'f' float, 'i' signed, 'u' unsigned */
	uint8_t place[4]; /* where each byte, highest first, stands in the registers */
};

static const struct format formats[] = {
	{"f32-abcd", 2, 'f', {0, 1, 2, 3}}, {"f32-cdab", 2, 'f', {2, 3, 0, 1}}, {"f32-badc", 2, 'f', {1, 0, 3, 2}},
	{"f32-dcba", 2, 'f', {3, 2, 1, 0}}, {"i16", 1, 'i', {0, 1, 0, 0}},	{"u16", 1, 'u', {0, 1, 0, 0}},
	{"i32-abcd", 2, 'i', {0, 1, 2, 3}}, {"i32-cdab", 2, 'i', {2, 3, 0, 1}}, {"u32-abcd", 2, 'u', {0, 1, 2, 3}},
	{"u32-cdab", 2, 'u', {2, 3, 0, 1}},
};

static const struct format *find(const char *name)
{
	for (size_t i = 0; i < sizeof formats / sizeof *formats; i++) {
		if (!strcmp(formats[i].name, name))
			return &formats[i];
	}
	return NULL;
}

int modbus_words(const char *format)
{
	const struct format *f = find(format);

	return f ? f->words : 0;
}

static bool scaled(const struct field_config *c)
{
	return c->raw_low != 0 || c->raw_high != 0 || c->low != 0 || c->high != 0;
}

double modbus_decode(const struct field_config *c, const uint8_t *bytes)
{
	const struct format *f = find(c->format);
	uint32_t bits = 0;
	float single;
	double raw;

	for (int i = 0; i < f->words * 2; i++)
		bits = bits << 8 | bytes[f->place[i]];
	if (f->kind == 'f') {
		memcpy(&single, &bits, sizeof single);
		return isfinite(single) ? (double)single : (double)NAN;
	}
	raw = bits;
	if (f->kind == 'i' && bits >> (f->words * 16 - 1))
		raw -= f->words == 1 ? 65536.0 : 4294967296.0;
	if (!scaled(c))
		return raw;
	return c->low + (raw - c->raw_low) * (c->high - c->low) / (c->raw_high - c->raw_low);
}

bool modbus_encode(const struct field_config *c, double value, uint8_t bytes[4])
{
	const struct format *f = find(c->format);
	double span = f->words == 1 ? 65536.0 : 4294967296.0;
	double least = f->kind == 'i' ? -span / 2 : 0;
	uint32_t bits;
	float single;

	if (!isfinite(value))
		return false;
	if (f->kind == 'f') {
		if (fabs(value) > (double)FLT_MAX)
			return false;
		single = (float)value;
		memcpy(&bits, &single, sizeof bits);
	} else {
		if (scaled(c) && c->high == c->low)
			return false;
		if (scaled(c))
			value = c->raw_low + (value - c->low) * (c->raw_high - c->raw_low) / (c->high - c->low);
		value = floor(value + 0.5);
		if (!(value >= least && value < least + span))
			return false;
		bits = (uint32_t)(value < 0 ? value + span : value);
	}
	for (int i = 0; i < f->words * 2; i++)
		bytes[f->place[i]] = (uint8_t)(bits >> (8 * (f->words * 2 - 1 - i)));
	return true;
}
