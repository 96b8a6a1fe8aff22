#include "base/status.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "text_internal.h"

/*
 * Sentences quote what came from outside and are cut at a fixed size, so they may hold a broken or a halved character.
 * Such bytes become '?': a JSON writer would refuse the whole reply because of one of them.
 */
static void make_clean(char *s)
{
	size_t length = strlen(s), at = 0;

	while (at < length) {
		uint32_t c;
		size_t n = utf8_decode(s + at, length - at, &c);

		if (n == 0 || utf8_is_control(c)) {
			n = n ? n : 1;
			memset(s + at, '?', n);
		}
		at += n;
	}
}

static void set_field(struct err *err, const char *prefix, const char *field)
{
	char joined[2 * sizeof err->field + 2];

	snprintf(joined, sizeof joined, "%s%.95s%s%.95s", *prefix && *prefix != '/' ? "/" : "", prefix,
		 *field && *field != '/' ? "/" : "", field);
	joined[sizeof err->field - 1] = '\0';
	make_clean(joined);
	memcpy(err->field, joined, sizeof err->field);
}

enum status err_set(struct err *err, enum status status, const char *field, const char *fmt, ...)
{
	char message[sizeof err->message]; /* the arguments may point into the old one */
	va_list ap;

	va_start(ap, fmt);
	vsnprintf(message, sizeof message, fmt, ap);
	va_end(ap);
	make_clean(message);
	err->status = status;
	set_field(err, "", field ? field : "");
	memcpy(err->message, message, sizeof message);
	return status;
}

void err_within(struct err *err, const char *prefix)
{
	set_field(err, prefix, err->field);
}
