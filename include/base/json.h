/*
 * JSON at the door: strict reading of a document member by member, and canonical writing.
 *
 * A reader collects the first thing wrong with an object, as a JSON pointer (RFC 6901) from the document's root. Reading
 * goes on after a failure with harmless values, so callers check once, at the end. A member nobody asked for is an error.
 */
#ifndef BASE_JSON_H
#define BASE_JSON_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include "base/arena.h"
#include "base/status.h"

struct json_in {
	json_t *object; /* borrowed */
	struct err *err;
	enum status rc;
	char path[64];		/* pointer of this object from the root, "" for the root */
	unsigned char seen[16]; /* which members were asked for, by position in the object */
};

/* Strict parse: UTF-8, no duplicate members, nesting limited, NUL refused. NULL with err (INVALID, with line and column). */
json_t *json_parse(const char *text, size_t size, struct err *err);

void json_in_begin(struct json_in *in, json_t *object, struct err *err);
/* An object member (or element index of an array) of another; false and rc set when it is missing or of another type. */
bool json_in_object(struct json_in *parent, const char *name, struct json_in *child);
bool json_in_element(struct json_in *parent, const char *name, size_t index, struct json_in *child);
enum status json_in_end(struct json_in *in); /* INVALID also when the object has members nobody asked for, naming one */
/* Carries a child's failure into its parent; call after json_in_end(child). */
void json_in_join(struct json_in *parent, const struct json_in *child);

bool json_in_has(struct json_in *in, const char *name); /* present and not null; marks it as asked for */

/* Text of 1..max_characters (0.. for _optional, which gives NULL when absent, null or empty). Trimmed copies are not made:
 * leading or trailing space is refused, as are control characters. Borrowed from the JSON. */
const char *json_in_text(struct json_in *in, const char *name, size_t max_characters);
const char *json_in_text_optional(struct json_in *in, const char *name, size_t max_characters);
/* The same, but lines and tabs inside are welcome: remarks, reasons, addresses. */
const char *json_in_lines(struct json_in *in, const char *name, size_t max_characters);
const char *json_in_lines_optional(struct json_in *in, const char *name, size_t max_characters);

double json_in_number(struct json_in *in, const char *name, double low, double high); /* finite, within low..high */
double json_in_number_optional(struct json_in *in, const char *name, double low, double high, double absent);
int json_in_integer(struct json_in *in, const char *name, int low, int high);
int json_in_integer_optional(struct json_in *in, const char *name, int low, int high, int absent);
bool json_in_bool(struct json_in *in, const char *name);
bool json_in_bool_optional(struct json_in *in, const char *name, bool absent);
/* Index of the text in a NULL-terminated list of allowed words; -1 and the list in the message otherwise. */
int json_in_word(struct json_in *in, const char *name, const char *const words[]);
int json_in_word_optional(struct json_in *in, const char *name, const char *const words[], int absent);
const char *json_in_date(struct json_in *in, const char *name); /* "2026-11-25", checked against the calendar */
const char *json_in_date_optional(struct json_in *in, const char *name);
const char *json_in_id(struct json_in *in, const char *name); /* a UUID */
const char *json_in_id_optional(struct json_in *in, const char *name);
json_t *json_in_array(struct json_in *in, const char *name, size_t min,
		      size_t max); /* borrowed; NULL after a failure */
json_t *json_in_array_optional(struct json_in *in, const char *name, size_t max);

/*
 * A decimal number as typed: a JSON number, or text such as "12.00" that keeps its trailing zeros. Returns the value;
 * text (if not NULL) receives the digits as typed, allocated from a, and decimals how many stand after the sign.
 */
double json_in_decimal(struct json_in *in, const char *name, double low, double high, struct arena *a,
		       const char **text, int *decimals);

/* Notes a failure of a member that was read fine but breaks a rule. The first failure stays. */
void json_in_reject(struct json_in *in, const char *name, const char *fmt, ...) __attribute__((format(printf, 3, 4)));
/* The same for an element of the list name: of plain values, which are no objects and so have no reader of their own. */
void json_in_reject_element(struct json_in *in, const char *name, size_t index, const char *fmt, ...)
	__attribute__((format(printf, 4, 5)));

/* Canonical form (RFC 8785: members sorted by UTF-16 code units, shortest numbers). Allocated from a; NULL for no memory. */
char *json_canonical(const json_t *json, struct arena *a);
/*
 * Writes one text as a JSON string in canonical form, quotes included, NULL as null; returns the end, where nothing is put. to
 * has room for JSON_STRING_ROOM(s) bytes.
 */
#define JSON_STRING_ROOM(s) ((s) ? 6 * strlen(s) + 2 : 5)
char *json_put_string(char *to, const char *s);
/* Compact text with 15 significant digits, allocated from a. */
char *json_text(const json_t *json, struct arena *a);

/* NaN becomes null, on purpose. */
json_t *json_number_or_null(double v);
json_t *json_text_or_null(const char *s);
json_t *json_time_or_null(int64_t ms); /* ISO 8601; null for 0 */

#endif
