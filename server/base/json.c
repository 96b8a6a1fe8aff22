#include "base/json.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/time.h"
#include "json_internal.h"

/* Deep nesting costs stack in everything that walks the document later. Brackets inside text do not count. */
static bool too_deep(const char *text, size_t size)
{
	int depth = 0;
	bool in_text = false;

	for (size_t i = 0; i < size; i++) {
		char c = text[i];

		if (in_text) {
			if (c == '\\')
				i++;
			else if (c == '"')
				in_text = false;
		} else if (c == '"') {
			in_text = true;
		} else if (c == '[' || c == '{') {
			if (++depth > JSON_DEPTH_MAX)
				return true;
		} else if (c == ']' || c == '}') {
			depth--;
		}
	}
	return false;
}

static enum status explain(const json_error_t *why, struct err *err)
{
	const char *sentence;

	switch (json_error_code(why)) {
	case json_error_out_of_memory:
		return err_set(err, NO_MEMORY, "", "out of memory");
	case json_error_numeric_overflow:
		sentence = "a number is too large";
		break;
	case json_error_invalid_utf8:
		sentence = "the text is not UTF-8";
		break;
	case json_error_null_character:
		sentence = "a text holds the character NUL";
		break;
	case json_error_premature_end_of_input:
		sentence = "the document ends too early";
		break;
	case json_error_end_of_input_expected:
		sentence = "something follows the end of the document";
		break;
	case json_error_duplicate_key:
		sentence = "a member stands twice";
		break;
	default:
		return err_set(err, INVALID, "", "this is not JSON: %s (line %d, column %d)", why->text, why->line,
			       why->column);
	}
	return err_set(err, INVALID, "", "%s (line %d, column %d)", sentence, why->line, why->column);
}

json_t *json_parse(const char *text, size_t size, struct err *err)
{
	json_error_t why;
	json_t *json;

	if (size == 0) {
		err_set(err, INVALID, "", "the document is empty");
		return NULL;
	}
	if (memchr(text, '\0', size)) {
		err_set(err, INVALID, "", "the document holds a NUL byte");
		return NULL;
	}
	if (too_deep(text, size)) {
		err_set(err, INVALID, "", "the document is nested deeper than %d levels", JSON_DEPTH_MAX);
		return NULL;
	}
	json = json_loadb(text, size, JSON_REJECT_DUPLICATES, &why);
	/* Canonically 5e20 is written 500000000000000000000, more than an integer of Jansson's holds: a double does. */
	if (!json && json_error_code(&why) == json_error_numeric_overflow)
		json = json_loadb(text, size, JSON_REJECT_DUPLICATES | JSON_DECODE_INT_AS_REAL, &why);
	if (!json)
		explain(&why, err);
	return json;
}

/* 15 digits print 0.1 as 0.1; the default 17 of Jansson 2.14 prints 0.10000000000000001. */
char *json_text(const json_t *json, struct arena *a)
{
	char *text = json_dumps(json, JSON_COMPACT | JSON_REAL_PRECISION(15) | JSON_ENCODE_ANY);
	char *copy = arena_strdup(a, text);

	free(text);
	return copy;
}

json_t *json_number_or_null(double v)
{
	return isfinite(v) ? json_real(v) : json_null();
}

json_t *json_text_or_null(const char *s)
{
	return s ? json_string(s) : json_null();
}

json_t *json_time_or_null(int64_t ms)
{
	char text[TIME_TEXT_SIZE];

	if (ms == 0)
		return json_null();
	time_to_text(ms, text);
	return json_string(text);
}
