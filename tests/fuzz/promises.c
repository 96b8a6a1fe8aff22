#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/json.h"
#include "fuzz.h"

void promise(int holds, const char *sentence)
{
	if (holds)
		return;
	fprintf(stderr, "broken promise: %s\n", sentence);
	abort();
}

/* ~1 and ~0 undone in place (RFC 6901, 4); anything else after ~ is wrong. */
static void unescape(char *token)
{
	char *to = token;

	for (const char *from = token; *from; from++) {
		if (*from == '~') {
			from++;
			promise(*from == '0' || *from == '1', "~ in a pointer is followed by 0 or 1");
			*to++ = *from == '0' ? '~' : '/';
		} else {
			*to++ = *from;
		}
	}
	*to = '\0';
}

static json_t *step(json_t *at, const char *token)
{
	char *end = NULL;
	unsigned long index;

	if (json_is_object(at))
		return json_object_get(at, token);
	promise(json_is_array(at), "a pointer leads through objects and lists");
	index = strtoul(token, &end, 10);
	promise(*token && !*end && (token[0] != '0' || !token[1]), "an element is pointed at by its number");
	return json_array_get(at, index);
}

/*
 * The last token may be missing from its parent: that is what "is missing" points at. err_set cuts long pointers and
 * writes ? for what it cannot show, so such a token is held against nothing.
 */
static void promise_pointer(const struct err *err, json_t *document)
{
	char copy[sizeof err->field], *token, *next;
	json_t *at = document;
	int whole = strlen(err->field) + 1 < sizeof err->field;

	promise(err->field[0] == '/', "a pointer begins with /");
	memcpy(copy, err->field, sizeof copy);
	for (token = copy + 1; token; token = next) {
		next = strchr(token, '/');
		if (next)
			*next++ = '\0';
		else if (!whole || strchr(token, '?'))
			return;
		unescape(token);
		at = step(at, token);
		promise(!next || at, "what a pointer leads through is in the document");
	}
}

void promise_refusal(enum status rc, const struct err *err, json_t *document)
{
	json_t *sentence = json_string(err->message);

	promise(rc == INVALID && err->status == rc, "a document is refused as invalid, for no other reason");
	promise(err->message[0] != '\0', "a refusal says why");
	promise(sentence != NULL, "the sentence of a refusal is UTF-8");
	for (const char *s = err->message; *s; s++)
		promise((unsigned char)*s >= ' ', "the sentence of a refusal is one line");
	json_decref(sentence);
	if (err->field[0])
		promise_pointer(err, document);
}

char *promise_canonical(const json_t *json)
{
	struct arena a = {0};
	struct err err = {0};
	char *once = json_canonical(json, &a), *again, *copy;
	json_t *back;

	promise(once != NULL, "every document has a canonical form");
	back = json_parse(once, strlen(once), &err);
	promise(back != NULL, "the canonical form is JSON");
	again = json_canonical(back, &a);
	promise(again && !strcmp(once, again), "the canonical form of the canonical form is itself");
	copy = strdup(once);
	json_decref(back);
	arena_clear(&a);
	return copy;
}
