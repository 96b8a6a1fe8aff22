/* What the tests of compute documents share: a document computed, its answer read back by another JSON library, a refusal expected. */
#ifndef TESTS_UNIT_COMPUTE_CHECK_H
#define TESTS_UNIT_COMPUTE_CHECK_H

#include "api/compute.h"
#include "support/check.h"

#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static inline char *file_text(const char *name)
{
	static char text[16384];
	char path[512];
	FILE *f;
	size_t n;

	snprintf(path, sizeof path, "%s/tests/data/compute/%s", SOURCE_DIR, name);
	f = fopen(path, "r");
	if (!f)
		fail_msg("%s cannot be read", path);
	n = fread(text, 1, sizeof text - 1, f);
	fclose(f);
	text[n] = '\0';
	return text;
}

static inline enum status run_text(const char *kind, const char *text, cJSON **out, struct err *err)
{
	json_error_t fault;
	json_t *document = json_loads(text, 0, &fault), *result = NULL;
	enum status rc;
	char *dumped;

	if (!document)
		fail_msg("the test's own JSON is wrong at line %d: %s", fault.line, fault.text);
	*err = (struct err){0};
	rc = compute_run(kind, document, &result, err);
	*out = NULL;
	if (!rc) {
		dumped = json_dumps(result, JSON_REAL_PRECISION(17));
		assert_non_null(dumped);
		*out = cJSON_Parse(dumped);
		assert_non_null(*out);
		free(dumped);
	} else {
		assert_null(result);
	}
	json_decref(result);
	json_decref(document);
	return rc;
}

static inline cJSON *computed(const char *kind, const char *text)
{
	struct err err;
	cJSON *out;

	if (run_text(kind, text, &out, &err))
		fail_msg("%s: %s", err.field, err.message);
	return out;
}

/* "summary/hysteresis/value", "points/3/verdict" */
static inline const cJSON *member(const cJSON *json, const char *path)
{
	char step[64];

	while (json && *path) {
		size_t n = strcspn(path, "/");

		snprintf(step, sizeof step, "%.*s", (int)n, path);
		json = cJSON_IsArray(json) ? cJSON_GetArrayItem(json, atoi(step)) :
					     cJSON_GetObjectItemCaseSensitive(json, step);
		path += n + (path[n] == '/');
	}
	if (!json)
		fail_msg("the answer lacks a member of that path");
	return json;
}

static inline double number_at(const cJSON *json, const char *path)
{
	const cJSON *v = member(json, path);

	assert_true(cJSON_IsNumber(v));
	return v->valuedouble;
}

static inline const char *text_at(const cJSON *json, const char *path)
{
	const cJSON *v = member(json, path);

	assert_true(cJSON_IsString(v));
	return v->valuestring;
}

/* The sound evaluation with further members before its readings. */
static inline const char *evaluation_with(const char *members)
{
	static char text[32768];
	const char *sound = file_text("evaluation.json"), *place = strstr(sound, "\"readings\"");

	assert_non_null(place);
	snprintf(text, sizeof text, "%.*s%s, %s", (int)(place - sound), sound, members, place);
	return text;
}

#define PERCENT_RULE(plus) "{\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": " plus "}], \"join\": \"sum\"}"

static inline const char *switch_document(const char *extra)
{
	static char text[4096];

	snprintf(
		text, sizeof text,
		"{\"input\": {\"low\": 0, \"high\": 10, \"unit\": \"bar\"}, \"tolerance\": " PERCENT_RULE(
			"1") ", \"decision\": {\"rule\": \"simple\"}, \"switch\": {\"set_point\": 6, \"reset_point\": 5.5, \"acts_on\": \"rising\", "
			     "\"dead_band\": {\"low\": 0.3, \"high\": 0.7}, \"actuations\": [{\"set\": \"6.05\", \"reset\": \"5.52\"}, "
			     "{\"set\": \"6.08\", \"reset\": \"5.55\"}, {\"set\": \"6.02\", \"reset\": \"5.48\"}]%s}}",
		extra);
	return text;
}

static inline void refused(const char *kind, const char *text, const char *pointer)
{
	struct err err;
	cJSON *out;
	enum status rc = run_text(kind, text, &out, &err);

	cJSON_Delete(out);
	if (rc != INVALID || strcmp(err.field, pointer))
		fail_msg("%s: expected a refusal at %s, got status %d at \"%s\" (%s)", kind, pointer, (int)rc,
			 err.field, err.message);
	assert_true(strlen(err.message) > 5);
}

static inline void refused_saying(const char *kind, const char *text, const char *pointer, const char *sentence)
{
	struct err err;
	cJSON *out;

	assert_int_equal(run_text(kind, text, &out, &err), INVALID);
	assert_string_equal(err.field, pointer);
	assert_string_equal(err.message, sentence);
}

#endif
