/* Reads the reference documents. */
#ifndef TESTS_REFERENCE_JSON_DATA_H
#define TESTS_REFERENCE_JSON_DATA_H

#include <cjson/cJSON.h>
#include <stdio.h>
#include "support/check.h"

/* To be given to cJSON_Delete. */
static inline cJSON *json_of(const char *name)
{
	static char text[65536];
	char path[512];
	FILE *f;
	size_t n;
	cJSON *json;

	snprintf(path, sizeof path, "%s/tests/reference/data/%s", SOURCE_DIR, name);
	f = fopen(path, "r");
	if (!f)
		fail_msg("%s cannot be read", path);
	n = fread(text, 1, sizeof text - 1, f);
	fclose(f);
	text[n] = '\0';
	json = cJSON_Parse(text);
	assert_non_null(json);
	return json;
}

#endif
