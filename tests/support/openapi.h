/* docs/openapi.json as the tests read it: find an operation, and hold a document against its schema. */
#ifndef TESTS_OPENAPI_H
#define TESTS_OPENAPI_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>

/* The whole description; read once, kept while the test runs. */
const cJSON *openapi(void);

/* The operation that a real path ("/api/v1/areas/0190…") and method belong to; NULL when none is described. */
const cJSON *openapi_operation(const char *method, const char *path);
/* Schema of the answer with this status, and of the request's body; NULL when there is none to hold against. */
const cJSON *openapi_answer(const cJSON *operation, int status);
const cJSON *openapi_body(const cJSON *operation);

/* True when the value fits; otherwise fault says where and what. */
bool openapi_fits(const cJSON *schema, const cJSON *value, char *fault, size_t size);

#endif
