/* One reading against its tolerance: verdict, probabilities, risks and the guard band for a wanted risk. */
#include <math.h>

#include "compute_parts.h"
#include "compute_uncertainty.h"
#include "domain/spec_json.h"
#include "metrology/conformity.h"
#include "metrology/diagnosis.h"

static const char *const rule_words[] = {"simple", "guarded", NULL};

struct conformity_work {
	double measured, u, wanted_risk, reference_accuracy; /* NaN: not asked for, not known */
	struct limits limits;
	struct decision_rule rule;
	bool has_prior;
	struct prior prior;
};

static void prior_read(struct json_in *in, struct conformity_work *w)
{
	struct json_in at;

	w->has_prior = json_in_has(in, "prior");
	if (!w->has_prior || !json_in_object(in, "prior", &at))
		return;
	w->prior.mean = json_in_number(&at, "mean", -QUANTITY_MAX, QUANTITY_MAX);
	w->prior.standard_deviation = json_in_number(&at, "standard_deviation", 0, QUANTITY_MAX);
	if (!(w->prior.standard_deviation > 0))
		json_in_reject(&at, "standard_deviation",
			       "items that are all the same need no measuring: give more than 0");
	json_in_end(&at);
	json_in_join(in, &at);
}

static enum status conformity_read(json_t *document, struct conformity_work *w, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, document, err);
	w->measured = json_in_number(&in, "measured", -QUANTITY_MAX, QUANTITY_MAX);
	w->u = json_in_number(&in, "standard_uncertainty", 0, QUANTITY_MAX);
	if (!(w->u > 0))
		json_in_reject(&in, "standard_uncertainty",
			       "a reading without uncertainty leaves no probability: give more than 0");
	w->limits.low = json_in_number_optional(&in, "low", -QUANTITY_MAX, QUANTITY_MAX, -INFINITY);
	w->limits.high = json_in_number_optional(&in, "high", -QUANTITY_MAX, QUANTITY_MAX, INFINITY);
	if (isinf(w->limits.low) && isinf(w->limits.high))
		json_in_reject(&in, "high", "there is neither a low nor a high limit to judge by");
	else if (!(w->limits.low < w->limits.high))
		json_in_reject(&in, "high", "the high limit must lie above the low one");
	w->rule.kind = json_in_word(&in, "rule", rule_words) == DECISION_GUARDED ? DECISION_GUARDED : DECISION_SIMPLE;
	w->rule.guard_factor = json_in_number_optional(&in, "guard_factor", 0, 3, 1);
	if (w->rule.kind == DECISION_SIMPLE && json_in_has(&in, "guard_factor"))
		json_in_reject(&in, "guard_factor", "the simple rule has no guard band");
	prior_read(&in, w);
	w->wanted_risk = json_in_number_optional(&in, "wanted_risk", 1e-9, 0.5, NAN);
	w->reference_accuracy = json_in_number_optional(&in, "reference_accuracy", 1e-12, QUANTITY_MAX, NAN);
	return json_in_end(&in);
}

/* Guard factors r, w = r U; null where no guard band is enough. */
static json_t *wanted_to_json(const struct conformity_work *w)
{
	double specific, global = NAN;

	if (isnan(w->wanted_risk))
		return json_null();
	specific = guard_for_specific_risk(w->u, w->limits, w->wanted_risk);
	if (w->has_prior)
		global = guard_for_global_risk(w->prior, w->u, w->limits, w->wanted_risk);
	return json_pack("{s:f, s:o, s:o}", "risk", w->wanted_risk, "specific_guard_factor",
			 finite_to_json(specific / (2 * w->u)), "global_guard_factor",
			 finite_to_json(global / (2 * w->u)));
}

/* Of a reading that lies on the nearer acceptance limit, without a prior. */
static double risk_at_acceptance(const struct conformity_work *w, struct limits acceptance)
{
	bool upper = fabs(w->limits.high - w->measured) <= fabs(w->measured - w->limits.low);

	if (!(acceptance.low <= acceptance.high))
		return NAN;
	return probability_of_nonconformity(upper ? acceptance.high : acceptance.low, w->u, w->limits);
}

enum status compute_conformity(json_t *document, json_t **result, struct err *err)
{
	struct conformity_work w = {0};
	struct global_risk global = {NAN, NAN};
	struct limits acceptance;
	double guard, scale, mean, u, good, bad;
	enum verdict verdict;
	enum status rc = conformity_read(document, &w, err);

	if (rc)
		return rc;
	guard = w.rule.kind == DECISION_GUARDED ? w.rule.guard_factor * 2 * w.u : 0;
	acceptance = acceptance_limits(w.limits, guard);
	scale = fmax(fabs(w.measured), fmax(isinf(w.limits.low) ? 0 : fabs(w.limits.low),
					    isinf(w.limits.high) ? 0 : fabs(w.limits.high)));
	verdict = judge(w.measured, w.limits, scale > 0 ? scale : w.u, &w.rule, w.u);
	mean = w.measured;
	u = w.u;
	if (w.has_prior) {
		mean = posterior_mean(w.prior, w.measured, &u);
		global = global_risk(w.prior, w.u, w.limits, acceptance);
	}
	good = probability_of_conformity(mean, u, w.limits);
	bad = probability_of_nonconformity(mean, u, w.limits);
	*result = json_pack(
		"{s:s, s:b, s:o, s:o, s:o, s:o, s:f, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "verdict",
		verdict_word(verdict), "accepted", verdict == VERDICT_PASS, "probability_of_conformity",
		finite_to_json(good), "probability_of_nonconformity", finite_to_json(bad), "acceptance_low",
		finite_to_json(acceptance.low), "acceptance_high", finite_to_json(acceptance.high), "guard_band", guard,
		"specific_consumer_risk", finite_to_json(verdict == VERDICT_PASS ? bad : NAN), "specific_producer_risk",
		finite_to_json(verdict == VERDICT_PASS ? NAN : good), "risk_at_acceptance_limit",
		finite_to_json(risk_at_acceptance(&w, acceptance)), "consumer_risk", finite_to_json(global.consumer),
		"producer_risk", finite_to_json(global.producer), "tur",
		finite_to_json(tolerance_ratio(w.limits, 2 * w.u)), "tar",
		finite_to_json(tolerance_ratio(w.limits, w.reference_accuracy)), "wanted", wanted_to_json(&w));
	return *result ? OK : no_memory(err);
}
