/* Polynomial least squares. */
#include <stdlib.h>

#include "compute_parts.h"
#include "metrology/fit.h"

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
	size_t n = (size_t)f->n_coefficients;

	return json_pack("{s:o, s:o, s:o, s:o}", "coefficients", numbers_to_json(f->coefficient, n),
			 "standard_deviations", numbers_to_json(f->standard_deviation, n),
			 "residual_sd", finite_to_json(f->residual_sd), "r_squared", finite_to_json(f->r_squared));
}

enum status compute_fit(json_t *document, json_t **result, struct err *err)
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
