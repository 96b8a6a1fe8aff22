#include "api/compute.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "domain/spec_json.h"
#include "metrology/fit.h"
#include "metrology/unit.h"

#define VALUES_MAX 400

static const char *const direction_words[] = {"rising", "falling", NULL};

/* Points at an element of a list of numbers, which is not an object and so has no reader of its own. */
static void reject_element(struct json_in *in, const char *name, size_t index, const char *sentence)
{
	char pointer[sizeof in->path + 64];

	if (in->rc)
		return;
	snprintf(pointer, sizeof pointer, "%s/%.20s/%zu", in->path, name, index);
	in->rc = err_set(in->err, INVALID, pointer, "%s", sentence);
}

static size_t numbers_read(struct json_in *in, const char *name, size_t max, double *out)
{
	json_t *list = json_in_array(in, name, 1, max);
	size_t n = json_array_size(list);

	for (size_t i = 0; i < n; i++) {
		json_t *v = json_array_get(list, i);

		out[i] = json_number_value(v);
		if (!json_is_number(v))
			reject_element(in, name, i, "a number is needed");
		else if (!(fabs(out[i]) <= QUANTITY_MAX))
			reject_element(in, name, i, "the number must be between -1e+12 and 1e+12");
	}
	return n;
}

static json_t *number(double v)
{
	return json_number_or_null(isfinite(v) ? v : NAN);
}

static enum status no_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

/* ---- evaluation ---- */

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
		json_in_reject(&at, isnan(r->applied) ? "set" : "applied", "the characteristic does not reach this temperature");
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
	characteristic_check(&in, &w->setup.characteristic, w->setup.input, w->manner.input_unit, w->manner.output_unit);
	tolerance_read(&in, "tolerance", &w->setup.tolerance);
	decision_read(&in, "decision", &w->setup.decision);
	w->u = json_in_number_optional(&in, "standard_uncertainty", 0, QUANTITY_MAX, NAN);
	if (!in.rc && isnan(w->u) && w->setup.decision.kind == DECISION_GUARDED)
		json_in_reject(&in, "standard_uncertainty", "the guarded rule needs the uncertainty that its guard band is made of");
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
		{"applied", "shown_applied"}, {"observed", "shown_observed"}, {"expected", "shown_expected"},
		{"error", "shown_error"}, {"error_percent_of_span", "shown_error_percent"}, {"limit_low", "shown_limit_low"},
		{"limit_high", "shown_limit_high"}, {"limits_percent", "shown_limits_percent"},
		{"uncertainty", "shown_uncertainty"},
	};
	static const char *const plain[][2] = {
		{"expected", "expected"}, {"error", "error"}, {"error_percent_of_span", "error_percent"},
		{"limit_low", "limit_low"}, {"limit_high", "limit_high"}, {"acceptance_low", "acceptance_low"},
		{"acceptance_high", "acceptance_high"}, {"verdict", "verdict"}, {"sentence", "sentence"},
	};
	const struct reading *r = &w->readings[index];
	json_t *judged = judged_reading_to_json(&w->manner, r, &w->judged[index]), *texts = json_object(), *point;

	point = json_pack("{s:f, s:f, s:f, s:s, s:i}", "set", r->set, "applied", isnan(r->applied) ? r->set : r->applied,
			  "observed", r->observed, "direction", direction_words[r->direction], "cycle", r->cycle);
	for (size_t i = 0; i < sizeof plain / sizeof plain[0]; i++)
		json_object_set(point, plain[i][0], json_object_get(judged, plain[i][1]));
	for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++)
		json_object_set(texts, shown[i][0], json_object_get(judged, shown[i][1]));
	json_object_set_new(point, "shown", texts);
	json_decref(judged);
	return point;
}

/* In a compute document there is one tolerance: it says both whether to adjust and what to meet afterwards. */
static enum status compute_evaluation(json_t *document, json_t **result, struct err *err)
{
	struct evaluation_work *w = calloc(1, sizeof *w);
	enum status rc = w ? evaluation_read(document, w, err) : no_memory(err);
	json_t *points, *summary;

	if (!rc && !evaluate(&w->setup, w->readings, w->n, w->judged, &w->sum))
		rc = err_set(err, INVALID, "input", "with these ranges and this characteristic nothing can be judged");
	if (!rc) {
		diagnose(&w->setup, &w->setup.tolerance, &w->setup.tolerance, w->readings, w->judged, w->n, &w->diagnosis);
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

/* ---- characteristic ---- */

static enum status compute_characteristic(json_t *document, json_t **result, struct err *err)
{
	static const char *const ways[] = {"forward", "inverse", NULL};
	double values[VALUES_MAX];
	struct characteristic c;
	struct range input, output;
	const char *input_unit, *output_unit;
	struct json_in in;
	json_t *list;
	size_t n;
	int way;

	json_in_begin(&in, document, err);
	characteristic_read(&in, "characteristic", &c);
	range_read(&in, "input", &input, &input_unit);
	range_read(&in, "output", &output, &output_unit);
	characteristic_check(&in, &c, input, input_unit, output_unit);
	way = json_in_word(&in, "direction", ways);
	n = numbers_read(&in, "values", VALUES_MAX, values);
	if (json_in_end(&in))
		return in.rc;
	list = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(list, number(way == 0 ? characteristic_forward(&c, input, output, values[i]) :
							      characteristic_inverse(&c, input, output, values[i])));
	*result = json_pack("{s:o}", "values", list);
	return *result ? OK : no_memory(err);
}

/* ---- fit ---- */

struct fit_work {
	double x[FIT_POINTS_MAX], y[FIT_POINTS_MAX], scratch[FIT_POINTS_MAX * (FIT_ORDER_MAX + 2)];
	size_t n;
	int order;
	bool through_zero;
	struct fit fit;
};

static enum status fit_read(json_t *document, struct fit_work *w, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, document, err);
	w->n = numbers_read(&in, "x", FIT_POINTS_MAX, w->x);
	if (numbers_read(&in, "y", FIT_POINTS_MAX, w->y) != w->n)
		json_in_reject(&in, "y", "x and y need the same number of values");
	w->through_zero = json_in_bool_optional(&in, "through_zero", false);
	w->order = json_in_integer(&in, "order", w->through_zero ? 1 : 0, FIT_ORDER_MAX);
	return json_in_end(&in);
}

static json_t *fit_to_json(const struct fit *f)
{
	json_t *coefficients = json_array(), *deviations = json_array();

	for (int i = 0; i < f->n_coefficients; i++) {
		json_array_append_new(coefficients, number(f->coefficient[i]));
		json_array_append_new(deviations, number(f->standard_deviation[i]));
	}
	return json_pack("{s:o, s:o, s:o, s:o}", "coefficients", coefficients, "standard_deviations", deviations,
			 "residual_sd", number(f->residual_sd), "r_squared", number(f->r_squared));
}

static enum status compute_fit(json_t *document, json_t **result, struct err *err)
{
	struct fit_work *w = calloc(1, sizeof *w);
	enum status rc = w ? fit_read(document, w, err) : no_memory(err);

	if (!rc && !fit_polynomial(w->x, w->y, w->n, w->order, w->through_zero, w->scratch, &w->fit))
		rc = err_set(err, INVALID, "x", "there are too few different values of x for a polynomial of order %d", w->order);
	if (!rc) {
		*result = fit_to_json(&w->fit);
		rc = *result ? OK : no_memory(err);
	}
	free(w);
	return rc;
}

/* ---- conversion ---- */

static enum status compute_conversion(json_t *document, json_t **result, struct err *err)
{
	const struct unit *from, *to;
	struct json_in in;
	double value, out = NAN;

	json_in_begin(&in, document, err);
	value = json_in_number(&in, "value", -QUANTITY_MAX, QUANTITY_MAX);
	from = unit_find(unit_read(&in, "from"));
	to = unit_find(unit_read(&in, "to"));
	if (from && to && !unit_convert(value, from, to, &out))
		json_in_reject(&in, "to", "%s measures %s, but %s measures %s", from->symbol, from->dimension, to->symbol,
			       to->dimension);
	if (from && !strcmp(from->dimension, "temperature") && value * from->factor + from->offset < -1e-9)
		json_in_reject(&in, "value", "no temperature lies below absolute zero");
	if (json_in_end(&in))
		return in.rc;
	*result = json_pack("{s:o}", "value", number(out));
	return *result ? OK : no_memory(err);
}

enum status compute_run(const char *kind, json_t *document, json_t **result, struct err *err)
{
	static const struct {
		const char *kind;
		enum status (*run)(json_t *document, json_t **result, struct err *err);
	} kinds[] = {
		{"evaluation", compute_evaluation},
		{"characteristic", compute_characteristic},
		{"fit", compute_fit},
		{"conversion", compute_conversion},
	};

	*result = NULL;
	for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
		if (!strcmp(kinds[i].kind, kind))
			return kinds[i].run(document, result, err);
	return err_set(err, NOT_FOUND, "", "no computation is called %.40s; there are evaluation, characteristic, fit and conversion",
		       kind);
}
