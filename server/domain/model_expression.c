/*
 * Behind this file sits muParser. It would also take assignments, comparisons and lists, so the text is first read
 * here, word by word: only what the header names gets through, and most faults are found with a sentence of our own.
 */
#include "domain/model_expression.h"

#include <math.h>
#include <muParserDLL.h>
#include <stdlib.h>
#include <string.h>

#define DEPTH_MAX 50

struct model_expression {
	muParserHandle_t parser;
	int n;
	double value[COMPONENTS_MAX]; /* muParser reads the variables here */
	bool used[COMPONENTS_MAX];
};

static const char *const functions[] = {
	"sqrt", "exp",	"ln",	"log10", "abs",	 "sin", "cos", "tan", "asin",
	"acos", "atan", "sinh", "cosh",	 "tanh", "min", "max", NULL,
};

static bool is_letter(char c)
{
	return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static bool in_word(char c)
{
	return is_letter(c) || is_digit(c) || c == '_';
}

static bool same(const char *word, size_t length, const char *name)
{
	return strlen(name) == length && !strncmp(word, name, length);
}

static bool is_function(const char *word, size_t length)
{
	for (int i = 0; functions[i]; i++)
		if (same(word, length, functions[i]))
			return true;
	return false;
}

bool model_name_usable(const char *name)
{
	size_t length = strlen(name);

	if (!is_letter(name[0]) || length > MODEL_NAME_MAX || is_function(name, length) || !strcmp(name, "pi"))
		return false;
	for (size_t i = 0; i < length; i++)
		if (!in_word(name[i]))
			return false;
	return true;
}

/* ---- reading the text ---- */

struct reader {
	const char *text, *at;
	const char *const *names;
	struct model_expression *model;
	bool call[DEPTH_MAX]; /* which open parentheses belong to a function */
	int depth;
	struct err *err;
};

static int place(const struct reader *r, const char *at)
{
	return (int)(at - r->text) + 1;
}

static enum status read_word(struct reader *r)
{
	const char *word = r->at, *after;
	size_t length;

	while (in_word(*r->at))
		r->at++;
	length = (size_t)(r->at - word);
	for (after = r->at; *after == ' '; after++)
		;
	if (is_function(word, length)) {
		if (*after == '(')
			return OK;
		return err_set(r->err, INVALID, "model", "at character %d: after %.*s a parenthesis is needed",
			       place(r, word), (int)length, word);
	}
	for (int i = 0; i < r->model->n; i++)
		if (same(word, length, r->names[i])) {
			r->model->used[i] = true;
			return OK;
		}
	if (same(word, length, "pi"))
		return OK;
	if (same(word, length, "log"))
		return err_set(r->err, INVALID, "model", "at character %d: write ln or log10 in place of log",
			       place(r, word));
	return err_set(r->err, INVALID, "model", "at character %d: %.*s is neither a component nor a function",
		       place(r, word), length < MODEL_NAME_MAX ? (int)length : MODEL_NAME_MAX, word);
}

/* Digits, a point, an exponent; what comes after must not be a word. */
static enum status read_number(struct reader *r)
{
	const char *number = r->at;
	int digits = 0;

	for (; is_digit(*r->at); r->at++)
		digits++;
	if (*r->at == '.')
		for (r->at++; is_digit(*r->at); r->at++)
			digits++;
	if (digits > 0 && (*r->at == 'e' || *r->at == 'E')) {
		const char *exponent = r->at + 1 + (r->at[1] == '+' || r->at[1] == '-');

		if (is_digit(*exponent))
			for (r->at = exponent; is_digit(*r->at); r->at++)
				;
	}
	if (digits == 0 || in_word(*r->at) || *r->at == '.')
		return err_set(r->err, INVALID, "model", "at character %d: this is no number", place(r, number));
	return OK;
}

static bool before_is_function(const struct reader *r)
{
	const char *end = r->at, *start;

	while (end > r->text && end[-1] == ' ')
		end--;
	for (start = end; start > r->text && in_word(start[-1]); start--)
		;
	return is_function(start, (size_t)(end - start));
}

static enum status read_sign(struct reader *r)
{
	char c = *r->at;

	if (c == '(') {
		if (r->depth == DEPTH_MAX)
			return err_set(r->err, INVALID, "model", "at character %d: more than %d parentheses are open",
				       place(r, r->at), DEPTH_MAX);
		r->call[r->depth++] = before_is_function(r);
	} else if (c == ')' && r->depth-- == 0) {
		return err_set(r->err, INVALID, "model", "at character %d: this parenthesis was never opened",
			       place(r, r->at));
	} else if (c == ',' && (r->depth == 0 || !r->call[r->depth - 1])) {
		return err_set(r->err, INVALID, "model",
			       "at character %d: a comma stands between arguments only; the decimal sign is a point",
			       place(r, r->at));
	} else if (!strchr("()+-*/^, ", c)) {
		if (c > ' ' && c < 127)
			return err_set(r->err, INVALID, "model", "at character %d: %c has no meaning here",
				       place(r, r->at), c);
		return err_set(r->err, INVALID, "model", "at character %d: this character has no meaning here",
			       place(r, r->at));
	}
	r->at++;
	return OK;
}

static enum status read_all(struct reader *r)
{
	enum status rc = OK;

	while (*r->at && !rc) {
		if (is_letter(*r->at) || *r->at == '_')
			rc = read_word(r);
		else if (is_digit(*r->at) || *r->at == '.')
			rc = read_number(r);
		else
			rc = read_sign(r);
	}
	if (!rc && r->depth > 0)
		rc = err_set(r->err, INVALID, "model", "%d parenthes%s not closed at the end", r->depth,
			     r->depth == 1 ? "is is" : "es are");
	return rc;
}

/* ---- muParser ---- */

static void keep_quiet(muParserHandle_t parser)
{
	(void)parser; /* the error is asked for afterwards; without a handler it would be thrown */
}

/* Codes of muParserError.h that can still come up. */
static const char *sentence_of(int code)
{
	switch (code) {
	case 2:
	case 3:
	case 25:
		return "something is missing here";
	case 14:
		return "the function has too many arguments";
	case 15:
		return "the function has too few arguments";
	default:
		return "two parts have no sign between them, or a sign stands where a number should";
	}
}

static enum status compile(struct model_expression *m, const char *text, struct err *err)
{
	int code, at;

	mupSetExpr(m->parser, text);
	mupEval(m->parser);
	if (!mupError(m->parser))
		return OK;
	code = mupGetErrorCode(m->parser);
	at = mupGetErrorPos(m->parser);
	if (at < 0 || (size_t)at > strlen(text))
		at = (int)strlen(text);
	return err_set(err, INVALID, "model", "at character %d: %s", at + 1, sentence_of(code));
}

enum status model_expression_new(const char *text, const char *const *names, int n, struct model_expression **out,
				 struct err *err)
{
	struct model_expression *m;
	struct reader r = {.text = text, .at = text, .names = names, .err = err};
	enum status rc;

	*out = NULL;
	if (strlen(text) > MODEL_CHARACTERS_MAX)
		return err_set(err, INVALID, "model", "the model is longer than %d characters", MODEL_CHARACTERS_MAX);
	m = calloc(1, sizeof *m);
	if (!m)
		return err_set(err, NO_MEMORY, "", "out of memory");
	m->n = n;
	r.model = m;
	rc = read_all(&r);
	if (!rc) {
		m->parser = mupCreate(muBASETYPE_FLOAT);
		mupSetErrorHandler(m->parser, keep_quiet);
		for (int i = 0; i < n; i++)
			mupDefineVar(m->parser, names[i], &m->value[i]);
		mupDefineConst(m->parser, "pi", acos(-1));
		rc = compile(m, text, err);
	}
	if (rc) {
		model_expression_free(m);
		return rc;
	}
	*out = m;
	return OK;
}

void model_expression_free(struct model_expression *m)
{
	if (!m)
		return;
	if (m->parser)
		mupRelease(m->parser);
	free(m);
}

bool model_expression_uses(const struct model_expression *m, int component)
{
	return m->used[component];
}

static void values(void *context, const double *x, size_t n, double *y)
{
	struct model_expression *m = context;

	for (size_t j = 0; j < n; j++) {
		for (int i = 0; i < m->n; i++)
			m->value[i] = x[(size_t)i * n + j];
		y[j] = mupEval(m->parser);
	}
}

struct model model_expression_model(struct model_expression *m)
{
	return (struct model){values, m};
}
