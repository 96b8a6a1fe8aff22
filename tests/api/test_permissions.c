/*
 * Who may do what, tried on every route by everybody; and the three descriptions of the routes held together: the table in
 * server/api/routes.c, docs/openapi.json and docs/api.md.
 */
#include "support/api_fixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/openapi.h"

#define SOME_ID "019a0000-0000-7000-8000-000000000000"

/* docs/api.md, "Who may": written down by hand, apart from the table the server uses. */
static const struct {
	enum caller who;
	const char *rights; /* with a space before and after each */
} rights[] = {
	{NOBODY, " public "},
	{TECHNICIAN, " public verify signed_in view test "},
	{LEAD, " public verify signed_in view test review manage "},
	{AUDITOR, " public verify signed_in view "},
	{ADMINISTRATOR, " public verify signed_in view administer "},
	{LEAD_ADMINISTRATOR, " public verify signed_in view test review manage administer "},
};

static bool holds(const char *list, const char *right)
{
	char word[40];

	snprintf(word, sizeof word, " %s ", right);
	return strstr(list, word) != NULL;
}

/* "/people/{id}/password" with something that looks right, and is nowhere, at each {..}. */
static void fill_path(const char *template, char out[300])
{
	size_t n = (size_t)snprintf(out, 300, "/api/v1");

	for (const char *p = template; *p; p++) {
		if (*p == '{') {
			n += (size_t)snprintf(out + n, 300 - n, "%s", SOME_ID);
			p += strcspn(p, "}");
		} else {
			out[n++] = *p;
			out[n] = '\0';
		}
	}
}

static const char *upper(const char *method, char out[12])
{
	size_t i = 0;

	for (; method[i] && i < 11; i++)
		out[i] = (char)(method[i] & ~0x20);
	out[i] = '\0';
	return out;
}

static void try(struct fixture *f, const cJSON *operation, const char *path, size_t who)
{
	const char *right = text_at(operation, "/x-permission");
	bool may = holds(rights[who].rights, right);
	int refusal = may ? 0 : rights[who].who == NOBODY ? 401 : 403;
	const char *body = at(operation, "/x-confirms") ? "{\"password\": \"" FIXTURE_PASSWORD "\"}" : "{}";
	char method[12];

	upper(operation->string, method);
	call_as(f, rights[who].who, method, path, at(operation, "/requestBody") ? body : NULL);
	if (may ? f->status == 401 || f->status == 403 || f->status >= 500 : f->status != refusal)
		print_error("%s %s (%s) by %d: %d %s\n", method, path, right, (int)rights[who].who, f->status, f->text);
	if (may)
		assert_true(f->status != 401 && f->status != 403 && f->status < 500);
	else
		assert_int_equal(f->status, refusal);
}

static void every_route_lets_in_whom_it_should_and_nobody_else(void **state)
{
	struct fixture *f = *state;
	const cJSON *item, *operation;
	char path[300];

	cJSON_ArrayForEach(item, at(openapi(), "/paths"))
	{
		fill_path(item->string, path);
		cJSON_ArrayForEach(operation, item)
		{
			for (size_t who = 0; who < sizeof rights / sizeof *rights; who++) {
				if (rights[who].who != NOBODY)
					fixture_sign_in(f, rights[who].who);
				try(f, operation, path, who);
			}
		}
	}
}

/* A role alone is not enough where the route confirms: the person's own password, each time. */
static void a_route_that_confirms_does_nothing_without_the_password(void **state)
{
	struct fixture *f = *state;
	const cJSON *item, *operation;
	char path[300], method[12];
	int tried = 0;

	cJSON_ArrayForEach(item, at(openapi(), "/paths"))
	{
		fill_path(item->string, path);
		cJSON_ArrayForEach(operation, item)
		{
			if (!at(operation, "/x-confirms"))
				continue;
			upper(operation->string, method);
			call_as(f, LEAD_ADMINISTRATOR, method, path, "{}");
			expect_refusal(f, 422, "/password");
			if (tried++ < 4) { /* the fifth would be throttled */
				call(f, method, path, "{\"password\": \"not the password\"}");
				expect_refusal(f, 401, "/password");
			}
		}
	}
	assert_true(tried >= 4);
}

/* ---- the three descriptions ---- */

static int operations(void)
{
	const cJSON *item, *operation;
	int n = 0;

	cJSON_ArrayForEach(item, at(openapi(), "/paths"))
	{
		cJSON_ArrayForEach(operation, item) n++;
	}
	return n;
}

/* cJSON pointers cannot hold a path's slashes, so the path's object is looked up by hand. */
static const cJSON *described(const struct route *r)
{
	const cJSON *item = cJSON_GetObjectItemCaseSensitive(at(openapi(), "/paths"), r->pattern + strlen("/api/v1"));
	char lower[12] = "";

	for (size_t i = 0; r->method[i] && i < 11; i++)
		lower[i] = (char)(r->method[i] | 0x20);
	return cJSON_GetObjectItemCaseSensitive(item, lower);
}

static void every_route_is_described_and_nothing_else(void **state)
{
	int routes = 0;

	(void)state;
	for (const struct route *r = api_routes; r->method; r++) {
		const cJSON *operation;

		if (!strcmp(r->pattern, "*"))
			continue;
		routes++;
		operation = described(r);
		if (!operation)
			print_error("docs/openapi.json lacks %s %s\n", r->method, r->pattern);
		assert_non_null(operation);
		assert_string_equal(text_at(operation, "/x-permission"), permission_word((enum permission)r->needs));
		assert_int_equal(at(operation, "/x-confirms") != NULL, r->confirms);
		assert_true(*text_at(operation, "/summary"));
		assert_non_null(at(operation, "/responses/default"));
	}
	assert_int_equal(operations(), routes);
}

/* Copies text with whatever stands between { and } left out. */
static void without_names(const char *from, char *to)
{
	while (*from) {
		*to++ = *from;
		if (*from == '{')
			from += strcspn(from, "}\n\"");
		else
			from++;
	}
	*to = '\0';
}

static char *read_text(const char *path)
{
	FILE *file = fopen(path, "r");
	char *text = calloc(1, 1 << 18);

	assert_non_null(file);
	assert_non_null(text);
	assert_true(fread(text, 1, (1 << 18) - 1, file) > 0);
	fclose(file);
	return text;
}

/* `GET /people/{id}` or `GET /ledger?thing=…` */
static void every_route_stands_in_the_contract(void **state)
{
	char *text = read_text(SOURCE_DIR "/docs/api.md"), *plain = calloc(1, 1 << 18), want[240], pattern[200];

	(void)state;
	without_names(text, plain);
	for (const struct route *r = api_routes; r->method; r++) {
		const char *found;
		bool there = false;

		if (!strcmp(r->pattern, "*"))
			continue;
		without_names(r->pattern + strlen("/api/v1"), pattern);
		snprintf(want, sizeof want, "`%s %s", r->method, pattern);
		for (found = strstr(plain, want); found && !there; found = strstr(found + 1, want))
			there = found[strlen(want)] == '`' || found[strlen(want)] == '?';
		if (!there)
			print_error("docs/api.md lacks %s %s\n", r->method, r->pattern);
		assert_true(there);
	}
	free(text);
	free(plain);
}

static void count_references(const cJSON *json, int *n)
{
	const cJSON *child;

	cJSON_ArrayForEach(child, json)
	{
		if (child->string && !strcmp(child->string, "$ref")) {
			if (!at(openapi(), child->valuestring + 1))
				print_error("docs/openapi.json names %s, which is not there\n", child->valuestring);
			assert_non_null(at(openapi(), child->valuestring + 1));
			++*n;
		}
		count_references(child, n);
	}
}

static void every_reference_leads_somewhere(void **state)
{
	int n = 0;

	(void)state;
	count_references(openapi(), &n);
	assert_true(n > 100);
}

static void the_description_is_served(void **state)
{
	struct fixture *f = *state;
	cJSON *served;

	call(f, "GET", "/api/v1/openapi.json", NULL);
	expect_status(f, 200);
	assert_string_equal(f->content_type, "application/json");
	served = cJSON_ParseWithLength(f->text, f->size);
	assert_true(cJSON_Compare(served, openapi(), true));
	cJSON_Delete(served);
}

#define T(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(every_route_lets_in_whom_it_should_and_nobody_else),
		T(a_route_that_confirms_does_nothing_without_the_password),
		cmocka_unit_test(every_route_is_described_and_nothing_else),
		cmocka_unit_test(every_route_stands_in_the_contract),
		cmocka_unit_test(every_reference_leads_somewhere),
		T(the_description_is_served),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
