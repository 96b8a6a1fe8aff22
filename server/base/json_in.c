#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/text.h"
#include "base/time.h"
#include "json_internal.h"
#include "text_internal.h"

#define MEMBERS_MAX (8 * sizeof((struct json_in *)0)->seen)

/* Appends /name to a pointer, with ~ and / escaped (RFC 6901 section 3). */
static void append(char *pointer, size_t size, const char *name)
{
	size_t at = strlen(pointer);

	if (at + 1 < size)
		pointer[at++] = '/';
	for (; *name && at + 2 < size; name++) {
		if (*name == '~' || *name == '/') {
			pointer[at++] = '~';
			pointer[at++] = *name == '~' ? '0' : '1';
		} else {
			pointer[at++] = *name;
		}
	}
	pointer[at] = '\0';
}

static void reject(struct json_in *in, const char *name, const char *sentence)
{
	char pointer[sizeof in->err->field];

	if (in->rc)
		return;
	snprintf(pointer, sizeof pointer, "%s", in->path);
	if (*name)
		append(pointer, sizeof pointer, name);
	in->rc = err_set(in->err, INVALID, pointer, "%s", sentence);
}

void json_in_reject(struct json_in *in, const char *name, const char *fmt, ...)
{
	char sentence[sizeof in->err->message];
	va_list ap;

	va_start(ap, fmt);
	vsnprintf(sentence, sizeof sentence, fmt, ap);
	va_end(ap);
	reject(in, name, sentence);
}

void json_in_reject_element(struct json_in *in, const char *name, size_t index, const char *fmt, ...)
{
	char sentence[sizeof in->err->message], place[24];
	struct json_in list = *in;
	va_list ap;

	va_start(ap, fmt);
	vsnprintf(sentence, sizeof sentence, fmt, ap);
	va_end(ap);
	append(list.path, sizeof list.path, name);
	snprintf(place, sizeof place, "%zu", index);
	reject(&list, place, sentence);
	in->rc = list.rc;
}

/* Our own sentences begin with the member's name, so that they also read well away from its field. */
static void refuse(struct json_in *in, const char *name, const char *fmt, ...) __attribute__((format(printf, 3, 4)));

static void refuse(struct json_in *in, const char *name, const char *fmt, ...)
{
	char sentence[sizeof in->err->message];
	size_t at;
	va_list ap;

	snprintf(sentence, sizeof sentence, "%.80s ", name);
	at = strlen(sentence);
	va_start(ap, fmt);
	vsnprintf(sentence + at, sizeof sentence - at, fmt, ap);
	va_end(ap);
	reject(in, name, sentence);
}

static void begin(struct json_in *in, json_t *object)
{
	in->object = object;
	if (json_object_size(object) > MEMBERS_MAX)
		json_in_reject(in, "", "an object has at most %zu members here", MEMBERS_MAX);
}

void json_in_begin(struct json_in *in, json_t *object, struct err *err)
{
	*in = (struct json_in){.err = err};
	if (json_is_object(object))
		begin(in, object);
	else
		json_in_reject(in, "", "a JSON object is expected");
}

/* The member, or NULL when it is absent or null; either way it has been asked for. */
static json_t *look(struct json_in *in, const char *name)
{
	json_t *v = json_object_get(in->object, name);
	size_t at = 0;

	if (!v)
		return NULL;
	for (void *i = json_object_iter(in->object); i; i = json_object_iter_next(in->object, i), at++) {
		if (json_object_iter_value(i) == v && !strcmp(json_object_iter_key(i), name) && at < MEMBERS_MAX)
			in->seen[at / 8] |= (unsigned char)(1U << at % 8);
	}
	return json_is_null(v) ? NULL : v;
}

static json_t *need(struct json_in *in, const char *name)
{
	json_t *v = look(in, name);

	if (!v)
		refuse(in, name, "is missing");
	return v;
}

bool json_in_has(struct json_in *in, const char *name)
{
	return look(in, name) != NULL;
}

/* A child begins with its parent's failure, so that it leaves the first one alone. */
static void adopt(struct json_in *child, const struct json_in *parent, const char *name)
{
	*child = (struct json_in){.err = parent->err, .rc = parent->rc};
	memcpy(child->path, parent->path, sizeof child->path);
	append(child->path, sizeof child->path, name);
}

bool json_in_object(struct json_in *parent, const char *name, struct json_in *child)
{
	json_t *v = need(parent, name);

	if (v && !json_is_object(v))
		refuse(parent, name, "must be an object");
	adopt(child, parent, name);
	if (!json_is_object(v))
		return false;
	begin(child, v);
	return true;
}

bool json_in_element(struct json_in *parent, const char *name, size_t index, struct json_in *child)
{
	json_t *v = need(parent, name), *element = json_array_get(v, index);
	char place[24];

	snprintf(place, sizeof place, "%zu", index);
	if (v && !json_is_array(v))
		refuse(parent, name, "must be a list");
	adopt(child, parent, name);
	append(child->path, sizeof child->path, place);
	if (json_is_object(element)) {
		begin(child, element);
		return true;
	}
	if (element)
		json_in_reject(child, "", "%s must hold objects", name);
	else
		json_in_reject(child, "", "%s has no element %zu", name, index);
	json_in_join(parent, child);
	return false;
}

enum status json_in_end(struct json_in *in)
{
	size_t at = 0;

	for (void *i = json_object_iter(in->object); i && !in->rc; i = json_object_iter_next(in->object, i), at++) {
		if (!(in->seen[at / 8] & 1U << at % 8))
			json_in_reject(in, json_object_iter_key(i), "%.80s is not known here", json_object_iter_key(i));
	}
	return in->rc;
}

void json_in_join(struct json_in *parent, const struct json_in *child)
{
	if (!parent->rc)
		parent->rc = child->rc;
}

enum text_kind { ONE_LINE, LINES };

/* What is wrong with the text, as the end of a sentence; NULL when nothing is. */
static const char *fault_of(const char *s, size_t length, enum text_kind kind)
{
	uint32_t c = 0, first = 0;

	for (size_t at = 0, n; at < length; at += n) {
		n = utf8_decode(s + at, length - at, &c);
		if (n == 0)
			return "must be UTF-8";
		if (utf8_is_control(c) && !(kind == LINES && (c == '\n' || c == '\t')))
			return kind == LINES ? "must not hold control characters" :
					       "must be one line without control characters";
		if (at == 0)
			first = c;
	}
	if (length && (utf8_is_space(first) || utf8_is_space(c)))
		return "must not begin or end with a space";
	return NULL;
}

static const char *text(struct json_in *in, const char *name, json_t *v, size_t max, enum text_kind kind)
{
	const char *s = json_string_value(v), *fault;

	if (!v)
		return NULL;
	if (!s) {
		refuse(in, name, "must be text of at most %zu characters", max);
		return NULL;
	}
	fault = fault_of(s, json_string_length(v), kind);
	if (fault)
		refuse(in, name, "%s", fault);
	else if (text_characters(s) > max)
		refuse(in, name, "must be text of at most %zu characters", max);
	else
		return s;
	return NULL;
}

static const char *text_needed(struct json_in *in, const char *name, size_t max, enum text_kind kind)
{
	const char *s = text(in, name, need(in, name), max, kind);

	if (s && !*s)
		refuse(in, name, "must not be empty");
	return s ? s : "";
}

static const char *text_or_null(struct json_in *in, const char *name, size_t max, enum text_kind kind)
{
	const char *s = text(in, name, look(in, name), max, kind);

	return s && *s ? s : NULL;
}

const char *json_in_text(struct json_in *in, const char *name, size_t max_characters)
{
	return text_needed(in, name, max_characters, ONE_LINE);
}

const char *json_in_text_optional(struct json_in *in, const char *name, size_t max_characters)
{
	return text_or_null(in, name, max_characters, ONE_LINE);
}

const char *json_in_lines(struct json_in *in, const char *name, size_t max_characters)
{
	return text_needed(in, name, max_characters, LINES);
}

const char *json_in_lines_optional(struct json_in *in, const char *name, size_t max_characters)
{
	return text_or_null(in, name, max_characters, LINES);
}

static void refuse_range(struct json_in *in, const char *name, double low, double high)
{
	if (isfinite(low) && isfinite(high))
		refuse(in, name, "must be between %.10g and %.10g", low, high);
	else if (isfinite(low))
		refuse(in, name, "must be at least %.10g", low);
	else
		refuse(in, name, "must be at most %.10g", high);
}

static double number(struct json_in *in, const char *name, json_t *v, double low, double high)
{
	double x = json_number_value(v);

	if (!v)
		return NAN;
	if (!json_is_number(v) || !isfinite(x))
		refuse(in, name, "must be a number");
	else if (!(x >= low && x <= high))
		refuse_range(in, name, low, high);
	else
		return x;
	return NAN;
}

double json_in_number(struct json_in *in, const char *name, double low, double high)
{
	return number(in, name, need(in, name), low, high);
}

double json_in_number_optional(struct json_in *in, const char *name, double low, double high, double absent)
{
	json_t *v = look(in, name);

	return v ? number(in, name, v, low, high) : absent;
}

static int integer(struct json_in *in, const char *name, json_t *v, int low, int high)
{
	double x = json_number_value(v); /* 4.0 is 4 */

	if (!v)
		return low;
	if (!json_is_number(v) || x != floor(x))
		refuse(in, name, "must be a whole number");
	else if (x < low || x > high)
		refuse(in, name, "must be between %d and %d", low, high);
	else
		return (int)x;
	return low;
}

int json_in_integer(struct json_in *in, const char *name, int low, int high)
{
	return integer(in, name, need(in, name), low, high);
}

int json_in_integer_optional(struct json_in *in, const char *name, int low, int high, int absent)
{
	json_t *v = look(in, name);

	return v ? integer(in, name, v, low, high) : absent;
}

static bool truth(struct json_in *in, const char *name, const json_t *v)
{
	if (v && !json_is_boolean(v))
		refuse(in, name, "must be true or false");
	return json_is_true(v);
}

bool json_in_bool(struct json_in *in, const char *name)
{
	return truth(in, name, need(in, name));
}

bool json_in_bool_optional(struct json_in *in, const char *name, bool absent)
{
	json_t *v = look(in, name);

	return v ? truth(in, name, v) : absent;
}

static int word(struct json_in *in, const char *name, const json_t *v, const char *const words[])
{
	const char *s = json_string_value(v);
	char list[240] = "";

	if (!v)
		return -1;
	for (int i = 0; words[i]; i++) {
		if (s && !strcmp(s, words[i]))
			return i;
		if (strlen(list) + strlen(words[i]) + 3 < sizeof list) {
			strcat(list, i ? ", " : "");
			strcat(list, words[i]);
		}
	}
	refuse(in, name, "must be one of %s", list);
	return -1;
}

int json_in_word(struct json_in *in, const char *name, const char *const words[])
{
	return word(in, name, need(in, name), words);
}

int json_in_word_optional(struct json_in *in, const char *name, const char *const words[], int absent)
{
	json_t *v = look(in, name);

	return v ? word(in, name, v, words) : absent;
}

/* Figures and hyphens where a date has them, whatever day that makes. */
static bool is_written_as_date(const char *s)
{
	for (size_t i = 0; i < 10; i++)
		if (i == 4 || i == 7 ? s[i] != '-' : s[i] < '0' || s[i] > '9')
			return false;
	return s[10] == '\0';
}

static const char *date(struct json_in *in, const char *name, const json_t *v)
{
	const char *s = json_string_value(v);
	int32_t days;

	if (!v || (s && date_from_text(s, &days)))
		return s;
	if (s && is_written_as_date(s))
		refuse(in, name, "must be a day of the calendar, which %s is not", s);
	else
		refuse(in, name, "must be a date such as 2026-11-25");
	return NULL;
}

const char *json_in_date(struct json_in *in, const char *name)
{
	const char *s = date(in, name, need(in, name));

	return s ? s : "1970-01-01";
}

const char *json_in_date_optional(struct json_in *in, const char *name)
{
	return date(in, name, look(in, name));
}

static const char *id(struct json_in *in, const char *name, const json_t *v)
{
	const char *s = json_string_value(v);

	if (!v || (s && uuid_is_valid(s)))
		return s;
	refuse(in, name, "must be an id (UUID in lower case)");
	return NULL;
}

const char *json_in_id(struct json_in *in, const char *name)
{
	const char *s = id(in, name, need(in, name));

	return s ? s : "";
}

const char *json_in_id_optional(struct json_in *in, const char *name)
{
	return id(in, name, look(in, name));
}

static json_t *array(struct json_in *in, const char *name, json_t *v, size_t min, size_t max)
{
	size_t size = json_array_size(v);

	if (!v)
		return NULL;
	if (!json_is_array(v))
		refuse(in, name, "must be a list");
	else if (size < min)
		refuse(in, name, "must have at least %zu element%s", min, min == 1 ? "" : "s");
	else if (size > max)
		refuse(in, name, "must have at most %zu element%s", max, max == 1 ? "" : "s");
	else
		return v;
	return NULL;
}

json_t *json_in_array(struct json_in *in, const char *name, size_t min, size_t max)
{
	return array(in, name, need(in, name), min, max);
}

json_t *json_in_array_optional(struct json_in *in, const char *name, size_t max)
{
	return array(in, name, look(in, name), 0, max);
}

/* -?digits[.digits], at most 32 characters. *decimals receives the digits after the sign. */
static bool is_decimal(const char *s, int *decimals)
{
	size_t length = strlen(s), at = *s == '-', whole = strspn(s + at, "0123456789"), part = 0;

	at += whole;
	if (s[at] == '.') {
		part = strspn(s + at + 1, "0123456789");
		at += 1 + part;
		if (part == 0)
			return false;
	}
	*decimals = (int)part;
	return whole > 0 && at == length && length <= 32;
}

/* The shortest digits of a JSON number, without an exponent: as many decimals as it needs. */
static void plain_digits(double x, char *out, size_t size, int *decimals)
{
	char digits[18];
	int exponent, count;

	*decimals = 0;
	if (x != 0) {
		count = json_number_digits(x, digits, &exponent);
		if (count > exponent)
			*decimals = count - exponent;
	}
	snprintf(out, size, "%.*f", *decimals, x == 0 ? 0.0 : x);
}

double json_in_decimal(struct json_in *in, const char *name, double low, double high, struct arena *a,
		       const char **text_out, int *decimals)
{
	json_t *v = need(in, name);
	const char *typed = json_string_value(v);
	char plain[400];
	double x = NAN;
	int places = 0;

	if (typed && is_decimal(typed, &places)) {
		x = strtod(typed, NULL);
		if (!(x >= low && x <= high))
			refuse_range(in, name, low, high), x = NAN;
	} else if (typed) {
		refuse(in, name, "must be a number such as 12.00");
	} else {
		x = number(in, name, v, low, high);
	}
	if (isnan(x)) {
		typed = "";
		places = 0;
	} else if (!typed) {
		plain_digits(x, plain, sizeof plain, &places);
		typed = plain;
	}
	if (decimals)
		*decimals = places;
	if (text_out) {
		*text_out = arena_strdup(a, typed);
		if (!*text_out) {
			*text_out = "";
			if (!in->rc)
				in->rc = err_set(in->err, NO_MEMORY, "", "out of memory");
		}
	}
	return x;
}
