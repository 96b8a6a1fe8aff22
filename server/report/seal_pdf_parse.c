#include "seal_pdf_parse.h"

#include <string.h>

static bool is_space(char c)
{
	return c == ' ' || c == '\n' || c == '\r' || c == '\t' || c == '\f' || c == '\0';
}

static bool is_delimiter(char c)
{
	return c == '\0' || strchr("()<>[]{}/%", c);
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static char peek(const struct pdf_cursor *c)
{
	return c->at < c->end ? c->file->bytes[c->at] : ' ';
}

bool pdf_space(struct pdf_cursor *c)
{
	size_t from = c->at;

	while (c->at < c->end && is_space(c->file->bytes[c->at]))
		c->at++;
	return c->at > from;
}

bool pdf_take(struct pdf_cursor *c, const char *text)
{
	size_t n = strlen(text);

	if (c->end - c->at < n || memcmp(c->file->bytes + c->at, text, n) != 0)
		return false;
	c->at += n;
	return true;
}

bool pdf_take_number(struct pdf_cursor *c, int64_t *n)
{
	size_t digits = 0;

	for (*n = 0; c->at < c->end && is_digit(c->file->bytes[c->at]); c->at++) {
		if (++digits > 10)
			return false;
		*n = *n * 10 + (c->file->bytes[c->at] - '0');
	}
	return digits > 0;
}

static struct pdf_value *new_value(struct pdf_cursor *c, enum pdf_kind kind)
{
	struct pdf_value *v;

	if (c->file->values >= PDF_VALUES_MAX)
		return NULL;
	v = arena_alloc(&c->file->arena, sizeof *v);
	if (!v)
		return NULL;
	c->file->values++;
	v->kind = kind;
	v->begin = c->at;
	return v;
}

/* Ends a token: what follows must not belong to it. */
static struct pdf_value *close_token(struct pdf_cursor *c, struct pdf_value *v)
{
	if (c->at < c->end && !is_space(peek(c)) && !is_delimiter(peek(c)))
		return NULL;
	v->end = c->at;
	return v;
}

static struct pdf_value *take_string(struct pdf_cursor *c, struct pdf_value *v)
{
	int depth = 0;

	for (; c->at < c->end; c->at++) {
		char b = c->file->bytes[c->at];

		if (b == '\\')
			c->at++;
		else if (b == '(')
			depth++;
		else if (b == ')' && --depth == 0) {
			v->end = ++c->at;
			return v;
		}
	}
	return NULL;
}

static bool is_hex(char c)
{
	return is_digit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}

/* Without white space inside: nothing that we write has any, and it would be a place to hide changes. */
static struct pdf_value *take_hex(struct pdf_cursor *c, struct pdf_value *v)
{
	c->at++;
	while (c->at < c->end && is_hex(c->file->bytes[c->at]))
		c->at++;
	if (!pdf_take(c, ">"))
		return NULL;
	v->end = c->at;
	return v;
}

static struct pdf_value *take_name(struct pdf_cursor *c, struct pdf_value *v)
{
	c->at++;
	while (c->at < c->end && !is_space(peek(c)) && !is_delimiter(peek(c)))
		c->at++;
	v->end = c->at;
	return v->end - v->begin > 1 && v->end - v->begin <= 128 ? v : NULL;
}

/* "12 0 R" behind the 12 that was read as a number. */
static bool take_reference(struct pdf_cursor *c)
{
	struct pdf_cursor look = *c;

	if (!pdf_take(&look, " 0 R") || (look.at < look.end && !is_space(peek(&look)) && !is_delimiter(peek(&look))))
		return false;
	c->at = look.at;
	return true;
}

static struct pdf_value *take_numeric(struct pdf_cursor *c, struct pdf_value *v)
{
	bool negative = pdf_take(c, "-"), whole;

	whole = pdf_take_number(c, &v->number);
	if (!negative && whole && v->number < PDF_OBJECTS_MAX && take_reference(c)) {
		v->kind = PDF_REF;
		return close_token(c, v);
	}
	if (negative)
		v->number = -v->number;
	if (pdf_take(c, ".")) {
		v->kind = PDF_REAL;
		while (is_digit(peek(c)))
			c->at++, whole = true;
	}
	return whole ? close_token(c, v) : NULL;
}

static struct pdf_value *take_word(struct pdf_cursor *c, struct pdf_value *v)
{
	if (pdf_take(c, "null"))
		v->kind = PDF_NULL;
	else if (pdf_take(c, "true") || pdf_take(c, "false"))
		v->kind = PDF_BOOL;
	else
		return NULL;
	return close_token(c, v);
}

static struct pdf_value *take_array(struct pdf_cursor *c, struct pdf_value *v, int depth)
{
	struct pdf_value **last = &v->first;

	c->at++;
	for (;;) {
		pdf_space(c);
		if (pdf_take(c, "]")) {
			v->end = c->at;
			return v;
		}
		*last = pdf_take_value(c, depth + 1);
		if (!*last)
			return NULL;
		last = &(*last)->next;
	}
}

/* A key twice would mean one thing to us and another to somebody else; so would one written with #. */
static bool key_is_new(const struct pdf_file *f, const struct pdf_value *dict, const struct pdf_value *key)
{
	if (memchr(f->bytes + key->begin, '#', key->end - key->begin))
		return false;
	for (const struct pdf_value *k = dict->first; k && k != key; k = k->next ? k->next->next : NULL)
		if (pdf_same(f, k, key))
			return false;
	return true;
}

static struct pdf_value *take_dict(struct pdf_cursor *c, struct pdf_value *v, int depth)
{
	struct pdf_value **last = &v->first, *key;

	c->at += 2;
	for (int keys = 0; keys <= PDF_KEYS_MAX; keys++) {
		pdf_space(c);
		if (pdf_take(c, ">>")) {
			v->end = c->at;
			return v;
		}
		key = *last = peek(c) == '/' ? pdf_take_value(c, depth + 1) : NULL;
		if (!key || !key_is_new(c->file, v, key))
			return NULL;
		pdf_space(c);
		key->next = pdf_take_value(c, depth + 1);
		if (!key->next)
			return NULL;
		last = &key->next->next;
	}
	return NULL;
}

struct pdf_value *pdf_take_value(struct pdf_cursor *c, int depth)
{
	struct pdf_value *v = depth <= PDF_DEPTH_MAX && c->at < c->end ? new_value(c, PDF_INTEGER) : NULL;
	char b = peek(c);

	if (!v)
		return NULL;
	if (is_digit(b) || b == '-' || b == '.')
		return take_numeric(c, v);
	if (b == '/') {
		v->kind = PDF_NAME;
		return take_name(c, v);
	}
	if (b == '(') {
		v->kind = PDF_STRING;
		return take_string(c, v);
	}
	if (b == '[') {
		v->kind = PDF_ARRAY;
		return take_array(c, v, depth);
	}
	if (b == '<' && c->end - c->at > 1 && c->file->bytes[c->at + 1] == '<') {
		v->kind = PDF_DICT;
		return take_dict(c, v, depth);
	}
	if (b == '<') {
		v->kind = PDF_HEX;
		return take_hex(c, v);
	}
	return take_word(c, v);
}
