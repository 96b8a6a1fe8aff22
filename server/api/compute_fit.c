/* Polynomial least squares, and the line of Theil and Sen. */
#include <stdlib.h>

#include "compute_parts.h"
#include "metrology/fit.h"

static const char *const method_words[] = {"least_squares", "theil_sen", NULL};

struct fit_work {
	double x[FIT_POINTS_MAX], y[FIT_POINTS_MAX], weights[FIT_POINTS_MAX],
		scratch[FIT_POINTS_MAX * (FIT_ORDER_MAX + 2)];
	size_t n;
	double at[VALUES_MAX]; /* where the curve is asked for */
	size_t n_at;
	bool weighted, theil_sen;
	double confidence;
	int order;
	bool through_zero;
	struct fit fit;
};

static void least_squares_read(struct json_in *in, struct fit_work *w)
{
	w->weighted = json_in_has(in, "weights");
	if (w->weighted && numbers_read(in, "weights", FIT_POINTS_MAX, w->weights) != w->n)
		json_in_reject(in, "weights", "each point needs its weight");
	for (size_t i = 0; i < w->n && w->weighted; i++)
		if (!(w->weights[i] > 0))
			json_in_reject_element(in, "weights", i,
					       "a weight is above 0: leave out a point that should not count");
	w->through_zero = json_in_bool_optional(in, "through_zero", false);
	w->order = json_in_integer(in, "order", w->through_zero ? 1 : 0, FIT_ORDER_MAX);
}

static void theil_sen_read(struct json_in *in, struct fit_work *w)
{
	if (w->n > THEIL_SEN_POINTS_MAX)
		json_in_reject(in, "x", "the line of Theil and Sen takes at most %d points", THEIL_SEN_POINTS_MAX);
	w->order = json_in_integer_optional(in, "order", 1, 1, 1);
	w->confidence = json_in_number_optional(in, "confidence", 0.5, 0.9999, 0.95);
}

static enum status fit_read(json_t *document, struct fit_work *w, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, document, err);
	w->n = numbers_read(&in, "x", FIT_POINTS_MAX, w->x);
	if (numbers_read(&in, "y", FIT_POINTS_MAX, w->y) != w->n)
		json_in_reject(&in, "y", "x and y need the same number of values");
	w->theil_sen = json_in_word_optional(&in, "method", method_words, 0) == 1;
	if (w->theil_sen)
		theil_sen_read(&in, w);
	else
		least_squares_read(&in, w);
	if (json_in_has(&in, "at"))
		w->n_at = numbers_read(&in, "at", VALUES_MAX, w->at);
	return json_in_end(&in);
}

static json_t *residuals_to_json(const struct fit_work *w)
{
	json_t *list = json_array();

	for (size_t i = 0; i < w->n; i++)
		json_array_append_new(list, finite_to_json(w->y[i] - fit_value(&w->fit, w->x[i], NULL)));
	return list;
}

static json_t *at_to_json(const struct fit_work *w)
{
	json_t *list = json_array();

	for (size_t i = 0; i < w->n_at; i++) {
		double deviation, value = fit_value(&w->fit, w->at[i], &deviation);

		json_array_append_new(list, json_pack("{s:f, s:o, s:o}", "x", w->at[i], "value", finite_to_json(value),
						      "standard_deviation", finite_to_json(deviation)));
	}
	return list;
}

static json_t *fit_to_json(const struct fit_work *w)
{
	const struct fit *f = &w->fit;
	size_t n = (size_t)f->n_coefficients;

	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o}", "coefficients", numbers_to_json(f->coefficient, n),
			 "standard_deviations", numbers_to_json(f->standard_deviation, n), "residual_sd",
			 finite_to_json(f->residual_sd), "r_squared", finite_to_json(f->r_squared), "residuals",
			 residuals_to_json(w), "at", at_to_json(w));
}

static enum status theil_sen_run(struct fit_work *w, json_t **result, struct err *err)
{
	double *scratch = malloc(theil_sen_work(w->n) * sizeof *scratch), line[2];
	struct theil_sen t;

	if (!scratch)
		return no_memory(err);
	if (!theil_sen(w->x, w->y, w->n, w->confidence, scratch, &t)) {
		free(scratch);
		return err_set(err, INVALID, "x", "a line needs two different values of x");
	}
	free(scratch);
	line[0] = t.intercept;
	line[1] = t.slope;
	w->fit = fit_line(t.intercept, t.slope);
	*result = json_pack("{s:o, s:f, s:o, s:o, s:I, s:o, s:o}", "coefficients", numbers_to_json(line, 2),
			    "confidence", w->confidence, "slope_low", finite_to_json(t.slope_low), "slope_high",
			    finite_to_json(t.slope_high), "pairs", (json_int_t)t.pairs, "residuals",
			    residuals_to_json(w), "at", at_to_json(w));
	return *result ? OK : no_memory(err);
}

static enum status least_squares_run(struct fit_work *w, json_t **result, struct err *err)
{
	if (!fit_weighted(w->x, w->y, w->weighted ? w->weights : NULL, w->n, w->order, w->through_zero, w->scratch,
			  &w->fit))
		return err_set(err, INVALID, "x",
			       "there are too few different values of x for a polynomial of order %d", w->order);
	*result = fit_to_json(w);
	return *result ? OK : no_memory(err);
}

enum status compute_fit(json_t *document, json_t **result, struct err *err)
{
	struct fit_work *w = calloc(1, sizeof *w);
	enum status rc;

	if (!w)
		return no_memory(err);
	rc = fit_read(document, w, err);
	if (!rc)
		rc = w->theil_sen ? theil_sen_run(w, result, err) : least_squares_run(w, result, err);
	free(w);
	return rc;
}
