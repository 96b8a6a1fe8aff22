/*
 * A fresh plant with one person per role, and calls through the real route table and hooks, without a socket. The answer is read
 * back from the text that would go out, by another JSON library than the one that wrote it, and held against docs/openapi.json.
 *
 *	cJSON *a = call(f, "POST", "/api/v1/areas", "{\"name\": \"Filters\"}");
 *	assert_int_equal(f->status, 201);
 *	assert_string_equal(text_at(a, "/name"), "Filters");
 */
#ifndef TESTS_API_FIXTURE_H
#define TESTS_API_FIXTURE_H

#include "support/check.h"
#include <cjson/cJSON.h>
#include "api/api.h"

#define FIXTURE_PASSWORD "brass fitting 42" /* of everybody in it */

/* Two technicians and two leads: whoever tested does not review. LEAD_ADMINISTRATOR holds two roles. */
enum caller { NOBODY, TECHNICIAN, TECHNICIAN_2, LEAD, LEAD_2, AUDITOR, ADMINISTRATOR, LEAD_ADMINISTRATOR, CALLERS };

struct fixture {
	struct app app;
	char folder[64], path[96]; /* of the plant's file; path may be opened beside the store */
	struct {
		char id[37];
		char cookie[48], token[48]; /* of the session; empty when signed out */
	} people[CALLERS];
	enum caller as; /* who makes the calls; starts as NOBODY */

	/* Headers of the next calls; NULL leaves one out. X-Session-Token is the session's own unless it is set here. */
	const char *origin, *host, *token, *if_match, *idempotency_key, *prefer;
	bool without_token; /* sends neither */
	const char *cookie; /* in place of the caller's */
	const char *remote;
	bool secure;

	/* The last answer. */
	int status;
	cJSON *answer; /* NULL when it has no JSON */
	char *text;    /* the bytes, terminated */
	size_t size;
	char content_type[96], etag[64], location[160], set_cookie[256], cache[64], allow[64];
	int retry_after_s; /* of a refusal; 0 when nobody knows */
};

/* For cmocka_unit_test_setup_teardown; *state is a struct fixture. */
int fixture_setup(void **state);
int fixture_teardown(void **state);

/* body is JSON text or NULL. path may carry a query, "?q=LT%20101". The answer belongs to the fixture until the next call. */
cJSON *call(struct fixture *f, const char *method, const char *path, const char *body);
cJSON *call_as(struct fixture *f, enum caller as, const char *method, const char *path, const char *body);
/* POST of a file, as it is. */
cJSON *call_file(struct fixture *f, const char *path, const void *bytes, size_t size);
/* The same with the body made by printf. */
cJSON *callf(struct fixture *f, const char *method, const char *path, const char *body, ...)
	__attribute__((format(printf, 4, 5)));
/* With If-Match as the version names it: "v3". */
cJSON *call_version(struct fixture *f, int version, const char *method, const char *path, const char *body);

/* Opens a new session for the caller, directly in the store. */
void fixture_sign_in(struct fixture *f, enum caller who);

/* What stands at a JSON pointer ("/items/0/name"); NULL when there is nothing. text_at and number_at fail the test then. */
const cJSON *at(const cJSON *json, const char *pointer);
const char *text_at(const cJSON *json, const char *pointer);
double number_at(const cJSON *json, const char *pointer);
bool is_null_at(const cJSON *json, const char *pointer); /* there, and null */

/* Fails the test unless the last answer was this status, and for a refusal that names a member, this pointer. */
void expect_status(const struct fixture *f, int status);
void expect_refusal(const struct fixture *f, int status, const char *pointer); /* pointer NULL: names none */

/* Runs SQL straight on the plant's file, past every rule; triggers included unless the SQL drops them. */
void fixture_sql(const struct fixture *f, const char *sql);
/* One integer from the file. */
long long fixture_sql_int(const struct fixture *f, const char *sql);

#endif
