/* The strict reader, member by member, and the canonical writer. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "fuzz.h"

static const char *const words[] = {"rising", "falling", NULL};

static void texts_read(struct json_in *in)
{
	const char *text = json_in_text_optional(in, "text", 20), *lines = json_in_lines_optional(in, "lines", 40);
	const char *date = json_in_date_optional(in, "date"), *id = json_in_id_optional(in, "id");

	promise(!text || in->rc || (*text && strlen(text) <= 4 * 20),
		"a text has 1 to as many characters as were asked for");
	promise(!lines || in->rc || strlen(lines) <= 4 * 40, "lines are no longer than was asked for");
	promise(!date || in->rc || strlen(date) == 10, "a date has ten characters");
	promise(!id || in->rc || strlen(id) == 36, "an id has 36 characters");
}

static void numbers_read(struct json_in *in)
{
	double number = json_in_number_optional(in, "number", -5, 1e12, 3);
	int integer = json_in_integer_optional(in, "integer", -7, 2000, 5);
	int word = json_in_word_optional(in, "word", words, -2);
	const char *typed = NULL;
	int decimals = -1;
	double decimal = 0;

	if (json_in_has(in, "decimal")) {
		struct arena a = {0};

		decimal = json_in_decimal(in, "decimal", -1e12, 1e12, &a, &typed, &decimals);
		promise(in->rc || (isfinite(decimal) && fabs(decimal) <= 1e12),
			"a decimal number is within its bounds");
		promise(in->rc || strtod(typed, NULL) == decimal, "the digits as typed say the number");
		promise(in->rc || decimals >= 0, "decimals are counted");
		arena_clear(&a);
	}
	json_in_bool_optional(in, "bool", false);
	promise(in->rc || (number >= -5 && number <= 1e12), "a number is within its bounds");
	promise(in->rc || (integer >= -7 && integer <= 2000), "an integer is within its bounds");
	promise(in->rc || (word >= -2 && word < 2), "a word is one of the list");
}

static void members_read(struct json_in *in, int depth)
{
	struct json_in child;
	size_t n;

	texts_read(in);
	numbers_read(in);
	if (depth < 3 && json_in_has(in, "object") && json_in_object(in, "object", &child)) {
		members_read(&child, depth + 1);
		json_in_end(&child);
		json_in_join(in, &child);
	}
	n = json_array_size(json_in_array_optional(in, "list", 5));
	promise(in->rc || n <= 5, "a list is no longer than was asked for");
	for (size_t i = 0; i < n && depth < 3; i++) {
		if (!json_in_element(in, "list", i, &child))
			return;
		members_read(&child, depth + 1);
		json_in_end(&child);
		json_in_join(in, &child);
	}
}

/* 15 digits are what people read; canonically written they stay what they are. */
static void written(const json_t *document)
{
	struct arena a = {0};
	struct err err = {0};
	const char *text = json_text(document, &a);
	json_t *back;

	promise(text != NULL, "every document can be written");
	back = json_parse(text, strlen(text), &err);
	/* The largest doubles are rounded up and away by 15 digits. */
	promise(back || strstr(err.message, "too large"), "what is written can be read");
	json_decref(back);
	arena_clear(&a);
}

void fuzz_json(const char *text, size_t size)
{
	struct err err = {0};
	json_t *document = json_parse(text, size, &err);
	struct json_in in;
	enum status rc;

	if (!document) {
		promise_refusal(err.status, &err, NULL);
		return;
	}
	free(promise_canonical(document));
	written(document);
	json_in_begin(&in, document, &err);
	members_read(&in, 0);
	rc = json_in_end(&in);
	if (rc)
		promise_refusal(rc, &err, document);
	json_decref(document);
}
