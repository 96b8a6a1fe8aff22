/* Every compute kind, from the bytes of a document to the JSON of its answer. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "api/compute.h"
#include "base/json.h"
#include "fuzz.h"
#include "http/http.h"
#include "metrology/simulation.h"

#define ADAPTIVE_TRIALS 20000 /* the least that adaptive simulation takes */

/* NaN and infinities, as numbers or as the text of one. */
static void promise_finite(const json_t *json)
{
	const char *name, *text;
	json_t *value;
	size_t i;

	if (json_is_real(json))
		promise(isfinite(json_real_value(json)), "every number of an answer is finite");
	text = json_string_value(json);
	if (text)
		promise(!strstr(text, "nan") && !strstr(text, "inf "),
			"no text of an answer shows a number that is none");
	json_array_foreach((json_t *)json, i, value)
		promise_finite(value);
	json_object_foreach((json_t *)json, name, value)
		if (strcmp(name, "name") && strcmp(name, "components")) /* the document's own words */
			promise_finite(value);
}

static size_t length(const json_t *json, const char *name)
{
	return json_array_size(json_object_get(json, name));
}

/* As many answers as were asked for. */
static void promise_complete(const char *kind, const json_t *document, const json_t *answer)
{
	const json_t *a_switch = json_object_get(document, "switch");

	promise(json_is_object(answer) && json_object_size(answer) > 0, "an answer is an object with members");
	if (!strcmp(kind, "characteristic"))
		promise(length(answer, "values") == length(document, "values"), "each value has its answer");
	if (!strcmp(kind, "tolerance_class"))
		promise(length(answer, "values") == length(document, "temperatures"), "each temperature has its limit");
	if (!strcmp(kind, "uncertainty"))
		promise(length(answer, "contributions") == length(document, "components"),
			"each component has its contribution");
	if (strcmp(kind, "evaluation"))
		return;
	promise(length(answer, "points") == length(document, "readings"), "each reading has its verdict");
	promise(length(answer, "actuations") == length(a_switch, "actuations"), "each actuation has its verdict");
	promise(json_is_object(json_object_get(answer, "summary")), "a run has its summary");
}

/* The time of a target goes into many documents, not into many trials of one. */
static void keep_short(json_t *document)
{
	json_t *simulation = json_object_get(document, "simulation"), *trials = json_object_get(simulation, "trials");
	json_int_t most = json_is_true(json_object_get(simulation, "adaptive")) ? ADAPTIVE_TRIALS :
										  SIMULATION_TRIALS_MIN;

	if (json_number_value(trials) > (double)most)
		json_object_set_new(simulation, "trials", json_integer(most));
}

static void promise_problem(enum status rc, const struct err *err)
{
	json_t *problem = http_problem(http_status_of(rc), err);

	promise(problem != NULL, "a refusal has its problem document");
	free(promise_canonical(problem));
	json_decref(problem);
}

/* The same document written canonically gets the same answer. */
static void promise_same(const char *kind, const json_t *document, const char *expected)
{
	char *text = promise_canonical(document), *answer;
	struct err err = {0};
	json_t *again = json_parse(text, strlen(text), &err), *result = NULL;

	promise(again && compute_run(kind, again, &result, &err) == OK,
		"a document is taken in its canonical form too");
	answer = promise_canonical(result);
	promise(!strcmp(answer, expected), "a document in canonical form gets the same answer");
	free(answer);
	free(text);
	json_decref(result);
	json_decref(again);
}

static void answer(const char *kind, json_t *document)
{
	json_t *result = NULL;
	struct err err = {0};
	enum status rc;
	char *canonical;

	keep_short(document);
	rc = compute_run(kind, document, &result, &err);
	if (rc) {
		promise(result == NULL, "a refusal comes without an answer");
		promise_refusal(rc, &err, document);
		promise_problem(rc, &err);
		return;
	}
	promise(result != NULL, "what is not refused is answered");
	promise_finite(result);
	promise_complete(kind, document, result);
	promise_of_kind(kind, result);
	canonical = promise_canonical(result);
	promise_same(kind, document, canonical);
	free(canonical);
	json_decref(result);
}

static void compute(const char *kind, const char *text, size_t size)
{
	struct err err = {0};
	json_t *document = json_parse(text, size, &err);

	if (document)
		answer(kind, document);
	else
		promise_refusal(err.status, &err, NULL);
	json_decref(document);
}

static void characteristic(const char *text, size_t size)
{
	compute("characteristic", text, size);
}

static void conformity(const char *text, size_t size)
{
	compute("conformity", text, size);
}

static void tolerance_class(const char *text, size_t size)
{
	compute("tolerance_class", text, size);
}

static void conversion(const char *text, size_t size)
{
	compute("conversion", text, size);
}

static void evaluation(const char *text, size_t size)
{
	compute("evaluation", text, size);
}

static void fit(const char *text, size_t size)
{
	compute("fit", text, size);
}

static void points(const char *text, size_t size)
{
	compute("points", text, size);
}

static void uncertainty(const char *text, size_t size)
{
	compute("uncertainty", text, size);
}

const struct fuzz_target fuzz_targets[] = {
	{"certificate_file", fuzz_certificate_file},
	{"characteristic", characteristic},
	{"conformity", conformity},
	{"conversion", conversion},
	{"tolerance_class", tolerance_class},
	{"evaluation", evaluation},
	{"fit", fit},
	{"hart", fuzz_hart},
	{"modbus", fuzz_modbus},
	{"points", points},
	{"scpi", fuzz_scpi},
	{"json", fuzz_json},
	{"uncertainty", uncertainty},
	{0},
};

const struct fuzz_target *fuzz_target_find(const char *name)
{
	for (const struct fuzz_target *t = fuzz_targets; t->name; t++)
		if (!strcmp(t->name, name))
			return t;
	return NULL;
}
