/*
 * The canonical form of RFC 8785, over which the ledger's hashes are taken: two programs that agree on the data agree on
 * every byte.
 */
#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "json_internal.h"
#include "text_internal.h"

/* The last digit plus one; "99" becomes "10" with the exponent one higher. */
static void step_up(char *digits, int count, int *exponent)
{
	int i = count - 1;

	while (i >= 0 && digits[i] == '9')
		digits[i--] = '0';
	if (i >= 0) {
		digits[i]++;
	} else {
		digits[0] = '1';
		(*exponent)++;
	}
}

static bool reads_back(const char *digits, int exponent, double v)
{
	char text[40];

	snprintf(text, sizeof text, "0.%se%d", digits, exponent);
	return strtod(text, NULL) == v;
}

int json_number_digits(double v, char digits[18], int *exponent)
{
	/* Down to DBL_MIN every number of 15 digits survives a double, so fewer digits show as zeros at the end. */
	int count = fabs(v) < DBL_MIN ? 1 : 15;

	v = fabs(v);
	for (;; count++) {
		char text[40];

		snprintf(text, sizeof text, "%.*e", count - 1, v); /* d.ddde[+-]dd */
		digits[0] = text[0];
		memcpy(digits + 1, text + 2, (size_t)count - 1);
		digits[count] = '\0';
		*exponent = atoi(strchr(text, 'e') + 1) + 1;
		if (reads_back(digits, *exponent, v) || count == 17)
			break;
		/* Below a power of two doubles lie closer than above it, so the nearest number of this length can miss
		 * where the next one up still reads back: 2^-44 is 5.684341886080802e-14. */
		step_up(digits, count, exponent);
		if (reads_back(digits, *exponent, v))
			break;
	}
	while (count > 1 && digits[count - 1] == '0')
		digits[--count] = '\0';
	return count;
}

void json_number_shortest(double v, char out[JSON_NUMBER_SIZE])
{
	char digits[18];
	const char *sign = v < 0 ? "-" : "";
	int count, point;

	if (v == 0) { /* -0 as well */
		strcpy(out, "0");
		return;
	}
	count = json_number_digits(v, digits, &point);
	if (count <= point && point <= 21)
		snprintf(out, JSON_NUMBER_SIZE, "%s%s%s", sign, digits, &"00000000000000000000"[20 - (point - count)]);
	else if (0 < point && point <= 21)
		snprintf(out, JSON_NUMBER_SIZE, "%s%.*s.%s", sign, point, digits, digits + point);
	else if (-6 < point && point <= 0)
		snprintf(out, JSON_NUMBER_SIZE, "%s0.%.*s%s", sign, -point, "00000", digits);
	else
		snprintf(out, JSON_NUMBER_SIZE, "%s%c%s%se%+d", sign, digits[0], count > 1 ? "." : "", digits + 1,
			 point - 1);
}

struct writer {
	char *text;
	size_t length, room;
	bool out_of_memory;
};

static bool make_room(struct writer *w, size_t length)
{
	if (!w->out_of_memory && w->length + length > w->room) {
		size_t room = 2 * (w->length + length) + 256;
		char *grown = realloc(w->text, room);

		if (!grown) {
			w->out_of_memory = true;
			return false;
		}
		w->text = grown;
		w->room = room;
	}
	return w->text && !w->out_of_memory;
}

static void put(struct writer *w, const char *s, size_t length)
{
	if (length == 0 || !make_room(w, length))
		return;
	memcpy(w->text + w->length, s, length);
	w->length += length;
}

static char *put_escape(char *to, unsigned char c)
{
	static const char named[] = "btn?fr"; /* \b \t \n, nothing short for U+000B, \f \r */
	static const char digits[] = "0123456789abcdef";

	*to++ = '\\';
	if (c == '"' || c == '\\') {
		*to++ = (char)c;
	} else if (c >= 8 && c <= 13 && c != 11) {
		*to++ = named[c - 8];
	} else {
		to[0] = 'u';
		to[1] = to[2] = '0';
		to[3] = digits[c >> 4];
		to[4] = digits[c & 15];
		to += 5;
	}
	return to;
}

/* Room for 6 bytes each and the quotes. */
static char *put_characters(char *to, const char *s, size_t length)
{
	size_t plain = 0; /* where the run of characters that stand as they are begins */

	*to++ = '"';
	for (size_t i = 0; i <= length; i++) {
		unsigned char c = i < length ? (unsigned char)s[i] : 0;

		if (i < length && c >= 0x20 && c != '"' && c != '\\')
			continue;
		memcpy(to, s + plain, i - plain);
		to += i - plain;
		if (i < length)
			to = put_escape(to, c);
		plain = i + 1;
	}
	*to++ = '"';
	return to;
}

char *json_put_string(char *to, const char *s)
{
	if (s)
		return put_characters(to, s, strlen(s));
	return stpcpy(to, "null");
}

static void put_string(struct writer *w, const char *s, size_t length)
{
	if (make_room(w, 6 * length + 2))
		w->length = (size_t)(put_characters(w->text + w->length, s, length) - w->text);
}

/*
 * UTF-16 sorts characters above U+FFFF, which it writes as surrogates D800..DFFF, before U+E000..U+FFFF. Moving these out
 * of the way makes code points compare as their UTF-16 would.
 */
static uint32_t utf16_rank(uint32_t c)
{
	return c >= 0xe000 && c <= 0xffff ? c + 0x200000 : c;
}

static int by_utf16(const void *a, const void *b)
{
	const char *x = *(const char *const *)a, *y = *(const char *const *)b;

	while (*x && *y) {
		uint32_t cx = 0, cy = 0;

		x += utf8_decode(x, strlen(x), &cx);
		y += utf8_decode(y, strlen(y), &cy);
		if (cx != cy)
			return utf16_rank(cx) < utf16_rank(cy) ? -1 : 1;
	}
	return (*x != '\0') - (*y != '\0');
}

static void put_value(struct writer *w, const json_t *json);

static void put_object(struct writer *w, const json_t *object)
{
	size_t count = json_object_size(object), i = 0;
	const char **names = malloc((count + 1) * sizeof *names), *name;
	json_t *value;

	if (!names) {
		w->out_of_memory = true;
		return;
	}
	json_object_foreach((json_t *)object, name, value)
		names[i++] = name;
	qsort(names, count, sizeof *names, by_utf16);
	put(w, "{", 1);
	for (i = 0; i < count; i++) {
		if (i)
			put(w, ",", 1);
		put_string(w, names[i], strlen(names[i]));
		put(w, ":", 1);
		put_value(w, json_object_get(object, names[i]));
	}
	put(w, "}", 1);
	free(names);
}

static void put_value(struct writer *w, const json_t *json)
{
	char number[JSON_NUMBER_SIZE];

	switch (json_typeof(json)) {
	case JSON_OBJECT:
		put_object(w, json);
		break;
	case JSON_ARRAY:
		put(w, "[", 1);
		for (size_t i = 0; i < json_array_size(json); i++) {
			if (i)
				put(w, ",", 1);
			put_value(w, json_array_get(json, i));
		}
		put(w, "]", 1);
		break;
	case JSON_STRING:
		put_string(w, json_string_value(json), json_string_length(json));
		break;
	case JSON_INTEGER: /* a JSON number is a double to RFC 8785, large integers included */
	case JSON_REAL:
		json_number_shortest(json_number_value(json), number);
		put(w, number, strlen(number));
		break;
	case JSON_TRUE:
		put(w, "true", 4);
		break;
	case JSON_FALSE:
		put(w, "false", 5);
		break;
	case JSON_NULL:
		put(w, "null", 4);
		break;
	}
}

char *json_canonical(const json_t *json, struct arena *a)
{
	struct writer w = {0};
	char *copy = NULL;

	put_value(&w, json);
	put(&w, "", 1);
	if (!w.out_of_memory)
		copy = arena_copy(a, w.text, w.length);
	free(w.text);
	return copy;
}
