/* compute: the same function as POST /api/v1/compute/{kind}, on standard input and output. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/compute.h"
#include "base/json.h"
#include "http/http.h"
#include "main.h"

#define DOCUMENT_MAX (16 << 20)

static enum status read_all(FILE *file, char **out, size_t *size, struct err *err)
{
	size_t room = 1 << 16, n = 0, got;
	char *text = malloc(room), *larger;

	while (text && (got = fread(text + n, 1, room - n, file)) > 0) {
		n += got;
		if (n < room)
			continue;
		larger = room < DOCUMENT_MAX ? realloc(text, 2 * room) : NULL;
		if (!larger) {
			free(text);
			return err_set(err, INVALID, "", "the document is too long");
		}
		text = larger;
		room *= 2;
	}
	*out = text;
	*size = n;
	return text ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

static enum status compute(const char *kind, json_t **result, struct err *err)
{
	char *text = NULL;
	json_t *document;
	size_t size = 0;
	enum status rc = read_all(stdin, &text, &size, err);

	if (rc)
		return rc;
	document = json_parse(text, size, err);
	rc = document ? compute_run(kind, document, result, err) : err->status;
	json_decref(document);
	free(text);
	return rc;
}

static void print(FILE *file, const json_t *json)
{
	struct arena a = {0};
	const char *text = json_text(json, &a);

	fprintf(file, "%s\n", text ? text : "");
	arena_clear(&a);
}

int main_compute(int n, const char **words)
{
	json_t *result = NULL, *problem;
	struct err err = {0};
	enum status rc = n == 1 ? compute(words[0], &result, &err) :
				  err_set(&err, INVALID, "", "compute needs one KIND");

	if (!rc) {
		print(stdout, result);
		json_decref(result);
		return fflush(stdout) ? EXIT_FAILURE : EXIT_SUCCESS;
	}
	problem = http_problem(http_status_of(rc), &err);
	print(stderr, problem);
	json_decref(problem);
	return rc == INVALID || rc == NOT_FOUND ? EXIT_USAGE : EXIT_FAILURE;
}
