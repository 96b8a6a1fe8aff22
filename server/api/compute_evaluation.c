/* Judging a run of readings from a document. */
#include <math.h>
#include <stdlib.h>

#include "api/compute.h"
#include "compute_parts.h"
#include "domain/spec_json.h"

static const char *const direction_words[] = {"rising", "falling", NULL};
static const char *const error_at_words[] = {"applied", "set", NULL};

#define DEAD_BAND_READINGS_MAX 20

struct evaluation_work {
	struct test_setup setup;
	struct tolerance adjust, left; /* as the setup's where the document does not say */
	struct run_manner manner;
	double u; /* of an error, resolution included */
	struct dead_band_reading dead_band[DEAD_BAND_READINGS_MAX];
	size_t n_dead_band;
	struct point_summary points[READINGS_MAX];
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

static void optional_tolerance_read(struct json_in *in, const char *name, const struct tolerance *absent,
				    struct tolerance *out)
{
	*out = *absent;
	if (json_in_has(in, name))
		tolerance_read(in, name, out);
}

/* A count of the output's resolution is rectangular, a / sqrt(12) (JCGM 100:2008, 4.3.7), beside what is given. */
static void uncertainty_read(struct json_in *in, struct evaluation_work *w)
{
	double u = json_in_number_optional(in, "standard_uncertainty", 0, QUANTITY_MAX, NAN);
	double resolution = json_in_number_optional(in, "resolution", 0, QUANTITY_MAX, 0);

	if (!in->rc && isnan(u) && w->setup.decision.kind == DECISION_GUARDED)
		json_in_reject(in, "standard_uncertainty",
			       "the guarded rule needs the uncertainty that its guard band is made of");
	w->u = hypot(isnan(u) ? 0 : u, resolution / sqrt(12));
}

static void dead_band_read(struct json_in *in, struct evaluation_work *w)
{
	struct json_in at;

	w->n_dead_band = json_array_size(json_in_array_optional(in, "dead_band", DEAD_BAND_READINGS_MAX));
	for (size_t i = 0; i < w->n_dead_band; i++) {
		if (!json_in_element(in, "dead_band", i, &at))
			return;
		w->dead_band[i].rising = json_in_number(&at, "rising", -QUANTITY_MAX, QUANTITY_MAX);
		w->dead_band[i].falling = json_in_number(&at, "falling", -QUANTITY_MAX, QUANTITY_MAX);
		json_in_end(&at);
		json_in_join(in, &at);
	}
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
	optional_tolerance_read(&in, "tolerance_adjust", &w->setup.tolerance, &w->adjust);
	optional_tolerance_read(&in, "tolerance_as_left", &w->setup.tolerance, &w->left);
	uncertainty_read(&in, w);
	if (json_in_word_optional(&in, "error_at", error_at_words, ERROR_AT_APPLIED) == ERROR_AT_SET)
		w->setup.error_at = ERROR_AT_SET;
	dead_band_read(&in, w);
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

/* Where a reading keeps the limits of adjusting and of as left: counted, and said at the point. */
static int add_inside(const struct evaluation_work *w, const struct tolerance *t, size_t index, const char *name,
		      json_t *point)
{
	bool is_inside = inside_tolerance(&w->setup, t, &w->judged[index]);

	json_object_set_new(point, name, json_boolean(is_inside));
	return is_inside ? 0 : 1;
}

static json_t *points_to_json(const struct evaluation_work *w, int *outside_adjust, int *outside_left)
{
	json_t *points = json_array();

	for (size_t i = 0; i < w->n; i++) {
		json_t *point = point_to_json(w, i);

		*outside_adjust += add_inside(w, &w->adjust, i, "inside_adjust", point);
		*outside_left += add_inside(w, &w->left, i, "inside_as_left", point);
		json_array_append_new(points, point);
	}
	return points;
}

static json_t *averages_to_json(struct evaluation_work *w)
{
	size_t n = evaluation_points(&w->setup, w->readings, w->judged, w->n, w->points);
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++) {
		const struct point_summary *p = &w->points[i];

		json_array_append_new(list, json_pack("{s:f, s:i, s:o, s:o, s:o, s:o, s:o}", "set", p->set, "readings",
						      p->readings, "rising", finite_to_json(p->rising), "falling",
						      finite_to_json(p->falling), "mean", finite_to_json(p->mean),
						      "hysteresis", finite_to_json(p->hysteresis), "repeatability",
						      finite_to_json(p->repeatability)));
	}
	return list;
}

/* The dead band is one of the input; what is left of the hysteresis without it can be said where both are proportional. */
static void add_dead_band(const struct evaluation_work *w, json_t *summary)
{
	double band = dead_band(w->dead_band, w->n_dead_band, w->setup.input);
	double alone = fmax(0, w->sum.hysteresis_cycle - band);

	if (w->setup.characteristic.kind != CHARACTERISTIC_LINEAR || isnan(w->sum.hysteresis_cycle))
		alone = NAN;
	json_object_set_new(summary, "dead_band",
			    isnan(band) ?
				    json_null() :
				    json_pack("{s:f, s:f}", "value", band / 100 * fabs(range_span(w->setup.input)),
					      "percent_of_input_span", band));
	json_object_set_new(summary, "hysteresis_alone", quantity_to_json(&w->manner, alone));
}

static json_t *evaluated_to_json(struct evaluation_work *w)
{
	int outside_adjust = 0, outside_left = 0;
	json_t *points = points_to_json(w, &outside_adjust, &outside_left);
	json_t *summary = evaluation_to_json(&w->manner, &w->sum, &w->diagnosis);

	json_object_set(summary, "advice", json_object_get(json_object_get(summary, "adjustment"), "sentence"));
	json_object_set_new(summary, "outside_adjust", json_integer(outside_adjust));
	json_object_set_new(summary, "outside_as_left", json_integer(outside_left));
	json_object_set_new(summary, "averages", averages_to_json(w));
	add_dead_band(w, summary);
	return json_pack("{s:o, s:o}", "points", points, "summary", summary);
}

static void settle_decimals(struct evaluation_work *w)
{
	struct run_manner *m = &w->manner;

	m->error_decimals = tolerance_error_decimals(&w->setup.tolerance, w->setup.output, m->output_decimals);
	m->percent_decimals = tolerance_percent_decimals(&w->setup.tolerance, w->setup.output);
	for (size_t i = 0; i < w->n; i++) {
		const struct judged_reading *j = &w->judged[i];

		m->error_decimals = verdict_decimals(j->error, j->limits, j->verdict, m->error_decimals);
		m->percent_decimals = judged_percent_decimals(j, w->setup.output, m->percent_decimals);
	}
}

enum status compute_evaluation(json_t *document, json_t **result, struct err *err)
{
	struct evaluation_work *w;
	enum status rc;

	if (json_object_get(document, "switch"))
		return compute_switch(document, result, err);
	w = calloc(1, sizeof *w);
	if (!w)
		return no_memory(err);
	rc = evaluation_read(document, w, err);
	if (!rc && !evaluate(&w->setup, w->readings, w->n, w->judged, &w->sum))
		rc = err_set(err, INVALID, "input", "with these ranges and this characteristic nothing can be judged");
	if (!rc) {
		diagnose(&w->setup, &w->adjust, &w->left, w->readings, w->judged, w->n, &w->diagnosis);
		settle_decimals(w);
		*result = evaluated_to_json(w);
		rc = *result ? OK : no_memory(err);
	}
	free(w);
	return rc;
}
