/* Judging a run of readings from a document. */
#include <math.h>
#include <stdlib.h>

#include "api/compute.h"
#include "compute_parts.h"
#include "domain/spec_json.h"

static const char *const direction_words[] = {"rising", "falling", NULL};

struct evaluation_work {
	struct test_setup setup;
	struct run_manner manner;
	double u;
	struct reading readings[READINGS_MAX];
	struct judged_reading judged[READINGS_MAX];
	size_t n;
	struct evaluation sum;
	struct diagnosis diagnosis;
};

static void keep_decimals(int *most, int decimals)
{
	if (decimals > *most)
		*most = decimals > 9 ? 9 : decimals;
}

static void reading_read(struct json_in *in, size_t index, struct evaluation_work *w)
{
	struct reading *r = &w->readings[index];
	char sentence[200];
	struct json_in at;
	int decimals;

	if (!json_in_element(in, "readings", index, &at))
		return;
	r->set = json_in_decimal(&at, "set", -QUANTITY_MAX, QUANTITY_MAX, NULL, NULL, &decimals);
	keep_decimals(&w->manner.input_decimals, decimals);
	r->applied = NAN;
	if (json_in_has(&at, "applied")) {
		r->applied = json_in_decimal(&at, "applied", -QUANTITY_MAX, QUANTITY_MAX, NULL, NULL, &decimals);
		keep_decimals(&w->manner.input_decimals, decimals);
	}
	r->observed = json_in_decimal(&at, "observed", -QUANTITY_MAX, QUANTITY_MAX, NULL, NULL, &decimals);
	keep_decimals(&w->manner.output_decimals, decimals);
	r->direction = json_in_word(&at, "direction", direction_words) == FALLING ? FALLING : RISING;
	r->cycle = json_in_integer_optional(&at, "cycle", 1, READINGS_MAX, 1);
	r->u = w->u;
	if (!at.rc && isnan(characteristic_forward(&w->setup.characteristic, w->setup.input, w->setup.output,
						   isnan(r->applied) ? r->set : r->applied)))
		json_in_reject(&at, isnan(r->applied) ? "set" : "applied", "%s",
			       characteristic_reach(&w->setup.characteristic, w->setup.input, false, w->setup.output,
						    w->manner.input_unit, sentence, sizeof sentence));
	json_in_end(&at);
	json_in_join(in, &at);
}

static enum status evaluation_read(json_t *document, struct evaluation_work *w, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, document, err);
	range_read(&in, "input", &w->setup.input, &w->manner.input_unit);
	range_read(&in, "output", &w->setup.output, &w->manner.output_unit);
	characteristic_read(&in, "characteristic", &w->setup.characteristic);
	characteristic_check(&in, &w->setup.characteristic, w->setup.input, w->manner.input_unit,
			     w->manner.output_unit);
	tolerance_read(&in, "tolerance", &w->setup.tolerance);
	decision_read(&in, "decision", &w->setup.decision);
	w->u = json_in_number_optional(&in, "standard_uncertainty", 0, QUANTITY_MAX, NAN);
	if (!in.rc && isnan(w->u) && w->setup.decision.kind == DECISION_GUARDED)
		json_in_reject(&in, "standard_uncertainty",
			       "the guarded rule needs the uncertainty that its guard band is made of");
	if (isnan(w->u))
		w->u = 0;
	w->n = json_array_size(json_in_array(&in, "readings", 1, READINGS_MAX));
	for (size_t i = 0; i < w->n && !in.rc; i++)
		reading_read(&in, i, w);
	w->manner.setup = &w->setup;
	return json_in_end(&in);
}

static json_t *point_to_json(const struct evaluation_work *w, size_t index)
{
	static const char *const shown[][2] = {
		{"applied", "shown_applied"},
		{"observed", "shown_observed"},
		{"expected", "shown_expected"},
		{"error", "shown_error"},
		{"error_percent_of_span", "shown_error_percent"},
		{"limit_low", "shown_limit_low"},
		{"limit_high", "shown_limit_high"},
		{"limits_percent", "shown_limits_percent"},
		{"uncertainty", "shown_uncertainty"},
	};
	static const char *const plain[][2] = {
		{"expected", "expected"},
		{"error", "error"},
		{"error_percent_of_span", "error_percent"},
		{"limit_low", "limit_low"},
		{"limit_high", "limit_high"},
		{"acceptance_low", "acceptance_low"},
		{"acceptance_high", "acceptance_high"},
		{"verdict", "verdict"},
		{"sentence", "sentence"},
	};
	const struct reading *r = &w->readings[index];
	json_t *judged = judged_reading_to_json(&w->manner, r, &w->judged[index]), *texts = json_object(), *point;

	point = json_pack("{s:f, s:f, s:f, s:s, s:i}", "set", r->set, "applied",
			  isnan(r->applied) ? r->set : r->applied, "observed", r->observed, "direction",
			  direction_words[r->direction], "cycle", r->cycle);
	for (size_t i = 0; i < sizeof plain / sizeof plain[0]; i++)
		json_object_set(point, plain[i][0], json_object_get(judged, plain[i][1]));
	for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++)
		json_object_set(texts, shown[i][0], json_object_get(judged, shown[i][1]));
	json_object_set_new(point, "shown", texts);
	json_decref(judged);
	return point;
}

/* In a compute document there is one tolerance: it says both whether to adjust and what to meet afterwards. */
enum status compute_evaluation(json_t *document, json_t **result, struct err *err)
{
	struct evaluation_work *w = calloc(1, sizeof *w);
	enum status rc = w ? evaluation_read(document, w, err) : no_memory(err);
	json_t *points, *summary;

	if (!rc && !evaluate(&w->setup, w->readings, w->n, w->judged, &w->sum))
		rc = err_set(err, INVALID, "input", "with these ranges and this characteristic nothing can be judged");
	if (!rc) {
		diagnose(&w->setup, &w->setup.tolerance, &w->setup.tolerance, w->readings, w->judged, w->n,
			 &w->diagnosis);
		points = json_array();
		for (size_t i = 0; i < w->n; i++)
			json_array_append_new(points, point_to_json(w, i));
		summary = evaluation_to_json(&w->manner, &w->sum, &w->diagnosis);
		json_object_set(summary, "advice", json_object_get(json_object_get(summary, "adjustment"), "sentence"));
		*result = json_pack("{s:o, s:o}", "points", points, "summary", summary);
		rc = *result ? OK : no_memory(err);
	}
	free(w);
	return rc;
}
