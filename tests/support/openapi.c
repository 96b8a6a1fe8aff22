/* The part of JSON Schema that docs/openapi.json uses. */
#include "support/openapi.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PREFIX "/api/v1"

static cJSON *whole;

static void forget(void)
{
	cJSON_Delete(whole);
}

static cJSON *read_file(const char *path)
{
	FILE *file = fopen(path, "r");
	char *text = calloc(1, 1 << 20);
	cJSON *json;

	if (!file || !text || fread(text, 1, (1 << 20) - 1, file) == 0)
		abort();
	fclose(file);
	json = cJSON_Parse(text);
	free(text);
	if (!json)
		abort();
	return json;
}

const cJSON *openapi(void)
{
	if (!whole) {
		whole = read_file(SOURCE_DIR "/docs/openapi.json");
		atexit(forget);
	}
	return whole;
}

static const cJSON *get(const cJSON *o, const char *name)
{
	return cJSON_GetObjectItemCaseSensitive(o, name);
}

/* "#/components/schemas/Area" */
static const cJSON *resolve(const cJSON *schema)
{
	const cJSON *ref = get(schema, "$ref");
	const char *p = cJSON_IsString(ref) ? ref->valuestring + 1 : "";
	const cJSON *found = schema;

	if (*p)
		found = openapi();
	while (found && *p == '/') {
		char name[96];
		size_t length = strcspn(p + 1, "/");

		snprintf(name, sizeof name, "%.*s", (int)length, p + 1);
		found = get(found, name);
		p += 1 + length;
	}
	return found;
}

/* How well a template fits a path: 0 not at all, else 1 and 1 for each segment that is literally the same. */
static int fits_path(const char *template, const char *path)
{
	int same = 1;

	while (*template == '/' && *path == '/') {
		size_t t = strcspn(++template, "/"), p = strcspn(++path, "/");

		if (*template != '{') {
			if (t != p || memcmp(template, path, t) != 0)
				return 0;
			same++;
		}
		template += t;
		path += p;
	}
	return *template || *path ? 0 : same;
}

const cJSON *openapi_operation(const char *method, const char *path)
{
	const cJSON *best = NULL, *item;
	char lower[12] = "";
	int best_fit = 0;

	if (strncmp(path, PREFIX "/", strlen(PREFIX) + 1) != 0)
		return NULL;
	for (size_t i = 0; method[i] && i + 1 < sizeof lower; i++)
		lower[i] = (char)(method[i] | 0x20);
	cJSON_ArrayForEach(item, get(openapi(), "paths"))
	{
		int fit = fits_path(item->string, path + strlen(PREFIX));

		if (fit > best_fit && get(item, lower)) {
			best_fit = fit;
			best = get(item, lower);
		}
	}
	return best;
}

static const cJSON *json_content(const cJSON *holder)
{
	return get(get(get(resolve(holder), "content"), "application/json"), "schema");
}

const cJSON *openapi_answer(const cJSON *operation, int status)
{
	char code[12];

	snprintf(code, sizeof code, "%d", status);
	return json_content(get(get(operation, "responses"), code));
}

const cJSON *openapi_body(const cJSON *operation)
{
	return json_content(get(operation, "requestBody"));
}

/* ---- fitting ---- */

struct place {
	char at[256];
	char *fault;
	size_t size;
};

static bool fits(const cJSON *schema, const cJSON *value, struct place *p);

static bool fail(struct place *p, const char *what, const char *detail)
{
	snprintf(p->fault, p->size, "%s: %s%s", *p->at ? p->at : "the document", what, detail);
	return false;
}

static bool is_of_type(const char *type, const cJSON *v)
{
	if (!strcmp(type, "object"))
		return cJSON_IsObject(v);
	if (!strcmp(type, "array"))
		return cJSON_IsArray(v);
	if (!strcmp(type, "string"))
		return cJSON_IsString(v);
	if (!strcmp(type, "number"))
		return cJSON_IsNumber(v);
	if (!strcmp(type, "integer"))
		return cJSON_IsNumber(v) && v->valuedouble == (double)(long long)v->valuedouble;
	if (!strcmp(type, "boolean"))
		return cJSON_IsBool(v);
	return !strcmp(type, "null") && cJSON_IsNull(v);
}

static bool fits_type(const cJSON *type, const cJSON *v, struct place *p)
{
	const cJSON *one;

	if (cJSON_IsString(type))
		return is_of_type(type->valuestring, v) || fail(p, "must be ", type->valuestring);
	cJSON_ArrayForEach(one, type)
	{
		if (is_of_type(one->valuestring, v))
			return true;
	}
	return fail(p, "is of another type", "");
}

static bool fits_enum(const cJSON *words, const cJSON *v, struct place *p)
{
	const cJSON *word;

	cJSON_ArrayForEach(word, words)
	{
		if (cJSON_Compare(word, v, true))
			return true;
	}
	return fail(p, "is none of the known words: ", cJSON_IsString(v) ? v->valuestring : "");
}

static bool fits_one(const cJSON *choices, const cJSON *v, struct place *p)
{
	char last[256] = "";
	const cJSON *choice;

	cJSON_ArrayForEach(choice, choices)
	{
		struct place inner = *p;
		char fault[256];

		inner.fault = fault;
		inner.size = sizeof fault;
		if (fits(choice, v, &inner))
			return true;
		if (!*last)
			snprintf(last, sizeof last, "%s", fault);
	}
	return fail(p, "fits no choice: ", last);
}

static bool fits_child(const cJSON *schema, const cJSON *v, const char *name, struct place *p)
{
	size_t length = strlen(p->at);
	bool ok;

	snprintf(p->at + length, sizeof p->at - length, "/%s", name);
	ok = fits(schema, v, p);
	p->at[length] = '\0';
	return ok;
}

static bool fits_members(const cJSON *schema, const cJSON *v, struct place *p)
{
	const cJSON *properties = get(schema, "properties"), *name, *member;

	if (!cJSON_IsObject(v))
		return true;
	cJSON_ArrayForEach(name, get(schema, "required"))
	{
		if (!get(v, name->valuestring))
			return fail(p, "lacks ", name->valuestring);
	}
	cJSON_ArrayForEach(member, v)
	{
		const cJSON *s = get(properties, member->string);

		if (s && !fits_child(s, member, member->string, p))
			return false;
		if (!s && cJSON_IsFalse(get(schema, "additionalProperties")))
			return fail(p, "is not described: ", member->string);
	}
	return true;
}

static bool fits_items(const cJSON *schema, const cJSON *v, struct place *p)
{
	const cJSON *items = get(schema, "items"), *element;
	char index[24];
	int i = 0;

	if (!cJSON_IsArray(v) || !items)
		return true;
	cJSON_ArrayForEach(element, v)
	{
		snprintf(index, sizeof index, "%d", i++);
		if (!fits_child(items, element, index, p))
			return false;
	}
	return true;
}

static bool fits(const cJSON *schema, const cJSON *v, struct place *p)
{
	schema = resolve(schema);
	if (!schema)
		return fail(p, "the schema names something that is not there", "");
	if (get(schema, "type") && !fits_type(get(schema, "type"), v, p))
		return false;
	if (get(schema, "enum") && !fits_enum(get(schema, "enum"), v, p))
		return false;
	if (get(schema, "const") && !cJSON_Compare(get(schema, "const"), v, true))
		return fail(p, "is another word than ", get(schema, "const")->valuestring);
	if (get(schema, "anyOf") && !fits_one(get(schema, "anyOf"), v, p))
		return false;
	if (get(schema, "oneOf") && !fits_one(get(schema, "oneOf"), v, p))
		return false;
	return fits_members(schema, v, p) && fits_items(schema, v, p);
}

bool openapi_fits(const cJSON *schema, const cJSON *value, char *fault, size_t size)
{
	struct place p = {.fault = fault, .size = size};

	return fits(schema, value, &p);
}
