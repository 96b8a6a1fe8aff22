/* Judging a switch from a document of kind evaluation. */
#include <math.h>

#include "compute_parts.h"
#include "domain/spec_json.h"
#include "metrology/diagnosis.h"
#include "metrology/switch.h"

struct switch_work {
	struct switch_spec spec;
	const char *unit;
	struct actuation actuations[ACTUATIONS_MAX];
	struct judged_actuation judged[ACTUATIONS_MAX];
	size_t n;
	struct switch_summary sum;
};

static void actuations_read(struct json_in *in, struct switch_work *w)
{
	struct json_in at;

	w->n = json_array_size(json_in_array(in, "actuations", 1, ACTUATIONS_MAX));
	for (size_t i = 0; i < w->n; i++) {
		struct actuation *a = &w->actuations[i];

		if (!json_in_element(in, "actuations", i, &at))
			return;
		a->set = json_in_decimal(&at, "set", -QUANTITY_MAX, QUANTITY_MAX, NULL, NULL, NULL);
		a->reset = NAN;
		if (json_in_has(&at, "reset"))
			a->reset = json_in_decimal(&at, "reset", -QUANTITY_MAX, QUANTITY_MAX, NULL, NULL, NULL);
		if (!switch_goes_back(w->spec.acts_on, a->set, a->reset))
			json_in_reject(&at, "reset", "a switch that acts on %s goes back %s where it acted",
				       direction_word(w->spec.acts_on), w->spec.acts_on == FALLING ? "above" : "below");
		json_in_end(&at);
		json_in_join(in, &at);
	}
}

static void must_lie_in_range(struct json_in *in, const char *name, double v, struct range r)
{
	if (v < fmin(r.low, r.high) || v > fmax(r.low, r.high))
		json_in_reject(in, name, "%s must lie in the input's range", name);
}

static enum status switch_read(json_t *document, struct switch_work *w, struct err *err)
{
	struct switch_points points;
	struct json_in in, at;

	json_in_begin(&in, document, err);
	range_read(&in, "input", &w->spec.input, &w->unit);
	tolerance_read(&in, "tolerance", &w->spec.tolerance);
	decision_read(&in, "decision", &w->spec.decision);
	w->spec.u = json_in_number_optional(&in, "standard_uncertainty", 0, QUANTITY_MAX, NAN);
	if (!in.rc && isnan(w->spec.u) && w->spec.decision.kind == DECISION_GUARDED)
		json_in_reject(&in, "standard_uncertainty",
			       "the guarded rule needs the uncertainty that its guard band is made of");
	if (isnan(w->spec.u))
		w->spec.u = 0;
	if (json_in_object(&in, "switch", &at)) {
		switch_points_read(&at, &points);
		switch_points_take(&points, &w->spec);
		must_lie_in_range(&at, "set_point", points.set, w->spec.input);
		must_lie_in_range(&at, "reset_point", points.reset, w->spec.input);
		actuations_read(&at, w);
		json_in_end(&at);
		json_in_join(&in, &at);
	}
	return json_in_end(&in);
}

static json_t *actuation_to_json(const struct switch_work *w, size_t i)
{
	const struct judged_actuation *j = &w->judged[i];
	double span = fabs(range_span(w->spec.input));

	return json_pack("{s:f, s:o, s:f, s:f, s:o, s:o, s:s, s:s, s:s}", "set", w->actuations[i].set, "reset",
			 finite_to_json(w->actuations[i].reset), "set_error", j->set_error, "set_error_percent_of_span",
			 j->set_error / span * 100, "reset_error", finite_to_json(j->reset_error), "dead_band",
			 finite_to_json(j->dead_band), "set_verdict", verdict_word(j->set_verdict), "reset_verdict",
			 verdict_word(j->reset_verdict), "dead_band_verdict", verdict_word(j->dead_band_verdict));
}

/* {"value", "percent_of_span"} of the input's span. */
static json_t *amount_to_json(const struct switch_work *w, double v)
{
	if (!isfinite(v))
		return json_null();
	return json_pack("{s:f, s:f}", "value", v, "percent_of_span", v / fabs(range_span(w->spec.input)) * 100);
}

static json_t *summary_to_json(const struct switch_work *w)
{
	const struct switch_summary *s = &w->sum;

	return json_pack("{s:s, s:s, s:s, s:s, s:s, s:f, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "verdict",
			 verdict_word(s->verdict), "set_verdict", verdict_word(s->set_verdict), "reset_verdict",
			 verdict_word(s->reset_verdict), "dead_band_verdict", verdict_word(s->dead_band_verdict),
			 "unit", w->unit, "set", s->set, "reset", finite_to_json(s->reset), "set_error",
			 amount_to_json(w, s->set_error), "max_set_error", amount_to_json(w, s->max_set_error),
			 "dead_band", amount_to_json(w, s->dead_band), "set_repeatability",
			 amount_to_json(w, s->set_repeatability), "reset_repeatability",
			 amount_to_json(w, s->reset_repeatability), "limit_low", finite_to_json(s->limits.low),
			 "limit_high", finite_to_json(s->limits.high), "reset_limit_low",
			 finite_to_json(s->reset_limits.low), "reset_limit_high", finite_to_json(s->reset_limits.high));
}

enum status compute_switch(json_t *document, json_t **result, struct err *err)
{
	struct switch_work w = {0};
	enum status rc = switch_read(document, &w, err);
	json_t *list;

	if (!rc && !switch_evaluate(&w.spec, w.actuations, w.n, w.judged, &w.sum))
		rc = err_set(err, INVALID, "input", "with this range nothing can be judged");
	if (rc)
		return rc;
	list = json_array();
	for (size_t i = 0; i < w.n; i++)
		json_array_append_new(list, actuation_to_json(&w, i));
	*result = json_pack("{s:o, s:o}", "actuations", list, "summary", summary_to_json(&w));
	return *result ? OK : no_memory(err);
}
