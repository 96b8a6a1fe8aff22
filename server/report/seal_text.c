#include "seal_text.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "base/time.h"

void bytes_add(struct bytes *b, const void *data, size_t size)
{
	if (b->failed || size > BYTES_MAX - b->size) {
		b->failed = true;
		return;
	}
	if (b->size + size > b->room) {
		size_t room = (b->room + size) * 2 + 256;
		char *grown = realloc(b->data, room);

		if (!grown) {
			b->failed = true;
			return;
		}
		b->data = grown;
		b->room = room;
	}
	if (size > 0)
		memcpy(b->data + b->size, data, size);
	b->size += size;
}

void bytes_print(struct bytes *b, const char *fmt, ...)
{
	char text[512];
	va_list ap;
	int n;

	va_start(ap, fmt);
	n = vsnprintf(text, sizeof text, fmt, ap);
	va_end(ap);
	if (n < 0 || (size_t)n >= sizeof text)
		b->failed = true;
	else
		bytes_add(b, text, (size_t)n);
}

void bytes_free(struct bytes *b)
{
	free(b->data);
	*b = (struct bytes){0};
}

/* One character of well-formed UTF-8 (callers have checked it). */
static uint32_t next_character(const unsigned char **s)
{
	const unsigned char *p = *s;
	uint32_t c = *p++;
	int more = c < 0x80 ? 0 : c < 0xe0 ? 1 : c < 0xf0 ? 2 : 3;

	if (more)
		c &= 0x3fU >> more;
	for (; more > 0 && *p; more--)
		c = c << 6 | (*p++ & 0x3fU);
	*s = p;
	return c;
}

void bytes_text(struct bytes *b, const char *utf8)
{
	const unsigned char *s = (const unsigned char *)utf8;

	bytes_print(b, "<feff");
	while (*s) {
		uint32_t c = next_character(&s);

		if (c > 0xffff)
			bytes_print(b, "%04x%04x", 0xd800 + ((c - 0x10000) >> 10), 0xdc00 + ((c - 0x10000) & 0x3ff));
		else
			bytes_print(b, "%04x", c);
	}
	bytes_print(b, ">");
}

void bytes_date(struct bytes *b, int64_t ms)
{
	char t[TIME_TEXT_SIZE];

	time_to_text(ms, t);
	bytes_print(b, "(D:%.4s%.2s%.2s%.2s%.2s%.2sZ)", t, t + 5, t + 8, t + 11, t + 14, t + 17);
}

/* A character as UTF-8; '?' for what must not be shown. False when it does not fit. */
static bool put_character(char *out, size_t size, size_t *n, uint32_t c)
{
	char u[4];
	size_t k = 0;

	if (c < 0x20 || (c >= 0x7f && c < 0xa0) || (c >= 0x2028 && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069) ||
	    (c >= 0xd800 && c < 0xe000) || c == 0xfeff || (c & 0xfffe) == 0xfffe || c > 0x10ffff)
		c = '?';
	if (c < 0x80) {
		u[k++] = (char)c;
	} else if (c < 0x800) {
		u[k++] = (char)(0xc0 | c >> 6);
	} else if (c < 0x10000) {
		u[k++] = (char)(0xe0 | c >> 12);
		u[k++] = (char)(0x80 | (c >> 6 & 0x3f));
	} else {
		u[k++] = (char)(0xf0 | c >> 18);
		u[k++] = (char)(0x80 | (c >> 12 & 0x3f));
		u[k++] = (char)(0x80 | (c >> 6 & 0x3f));
	}
	if (c >= 0x80)
		u[k++] = (char)(0x80 | (c & 0x3f));
	if (*n + k >= size)
		return false;
	memcpy(out + *n, u, k);
	*n += k;
	out[*n] = '\0';
	return true;
}

static unsigned int hex_value(char c)
{
	return (unsigned int)(c <= '9' ? c - '0' : (c | 0x20) - 'a' + 10);
}

/* Raw bytes of the string; escapes of literal strings are only those that we and libqpdf write. */
static size_t raw_bytes(const char *s, size_t length, unsigned char *out, size_t room)
{
	size_t n = 0;

	if (s[0] == '<') {
		for (size_t i = 1; i + 2 < length && n < room; i += 2)
			out[n++] = (unsigned char)(hex_value(s[i]) << 4 | hex_value(s[i + 1]));
		return n;
	}
	for (size_t i = 1; i + 1 < length && n < room; i++) {
		if (s[i] == '\\' && i + 2 < length)
			i++;
		out[n++] = (unsigned char)s[i];
	}
	return n;
}

void seal_text_decode(const char *string, size_t length, char *out, size_t size)
{
	unsigned char raw[1024];
	size_t n = length >= 2 ? raw_bytes(string, length, raw, sizeof raw) : 0, at = 0;

	out[0] = '\0';
	if (n >= 2 && raw[0] == 0xfe && raw[1] == 0xff) {
		for (size_t i = 2; i + 1 < n; i += 2) {
			uint32_t c = (uint32_t)raw[i] << 8 | raw[i + 1];

			if (c >= 0xd800 && c < 0xdc00 && i + 3 < n) {
				uint32_t low = (uint32_t)raw[i + 2] << 8 | raw[i + 3];

				if (low >= 0xdc00 && low < 0xe000) {
					c = 0x10000 + ((c - 0xd800) << 10) + (low - 0xdc00);
					i += 2;
				}
			}
			if (!put_character(out, size, &at, c))
				return;
		}
		return;
	}
	for (size_t i = 0; i < n; i++)
		if (!put_character(out, size, &at, raw[i] < 0x80 ? raw[i] : '?'))
			return;
}

static bool two(const char *s, int *v)
{
	if (s[0] < '0' || s[0] > '9' || s[1] < '0' || s[1] > '9')
		return false;
	*v = (s[0] - '0') * 10 + (s[1] - '0');
	return true;
}

bool seal_date_decode(const char *text, int64_t *ms)
{
	char iso[40];
	int digits[7], hours = 0, minutes = 0;
	size_t length;
	const char *zone;

	if (strncmp(text, "D:", 2) == 0)
		text += 2;
	length = strlen(text);
	zone = text + 14;
	if (length < 14)
		return false;
	for (int i = 0; i < 7; i++)
		if (!two(text + 2 * i, &digits[i]))
			return false;
	if (*zone == '+' || *zone == '-') {
		if (length < 17 || !two(zone + 1, &hours) || (length >= 20 && !two(zone + 4, &minutes)))
			return false;
	} else if (*zone && *zone != 'Z') {
		return false;
	}
	snprintf(iso, sizeof iso, "%02d%02d-%02d-%02dT%02d:%02d:%02d%c%02d:%02d", digits[0], digits[1], digits[2],
		 digits[3], digits[4], digits[5], digits[6], *zone == '-' ? '-' : '+', hours, minutes);
	return time_from_text(iso, ms);
}
