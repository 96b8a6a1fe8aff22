/* Budgets from a document, and their simulation where it is asked for. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "compute_parts.h"
#include "compute_uncertainty.h"
#include "domain/model_expression.h"
#include "domain/spec_json.h"
#include "metrology/format.h"
#include "metrology/simulation.h"

#define NAME_CHARACTERS_MAX 60
#define SECONDS_MAX	    10	  /* a simulation may take */
#define RESULT_MAX	    1e300 /* beyond, differences of results would be no numbers */

static const char *const distribution_words[] = {"normal", "rectangular", "triangular", "u_shaped", NULL};

struct uncertainty_work {
	struct budget budget;
	const char *names[COMPONENTS_MAX]; /* borrowed from the document */
	struct model_expression *expression;
	struct model model;
	double slope_error[COMPONENTS_MAX];
	double coverage;
	int digits;
	bool simulate;
	struct simulation_plan plan;
	double *draws;
	struct simulation simulation;
	enum simulation_end end;
	struct budget_result result;
	double estimate;
};

/* ---- reading ---- */

static double standard_read(struct json_in *in, enum distribution d)
{
	bool standard = json_in_has(in, "standard"), half = json_in_has(in, "half_width"),
	     expanded = json_in_has(in, "expanded");
	double factor = NAN;

	if (standard + half + expanded != 1)
		json_in_reject(in, "standard",
			       "exactly one of standard, half_width and expanded says how uncertain it is");
	if (json_in_has(in, "coverage_factor") || expanded) {
		factor = json_in_number(in, "coverage_factor", 0.1, 20);
		if (!expanded)
			json_in_reject(in, "coverage_factor",
				       "a coverage factor goes with an expanded uncertainty only");
	}
	if (standard)
		return json_in_number(in, "standard", 0, QUANTITY_MAX);
	if (expanded)
		return json_in_number(in, "expanded", 0, QUANTITY_MAX) / factor;
	if (d == DISTRIBUTION_NORMAL)
		json_in_reject(in, "distribution",
			       "a half-width needs a distribution that has one: rectangular, triangular or u_shaped");
	return standard_of_half_width(d, json_in_number(in, "half_width", 0, QUANTITY_MAX));
}

/* Among the first n; -1 for none. */
static int component_at(const struct uncertainty_work *w, int n, const char *name)
{
	for (int i = 0; i < n; i++)
		if (w->names[i] && !strcmp(w->names[i], name))
			return i;
	return -1;
}

static void component_read(struct json_in *in, size_t index, struct uncertainty_work *w, bool with_model)
{
	struct component *c = &w->budget.component[index];
	struct json_in at;
	int word;

	if (!json_in_element(in, "components", index, &at))
		return;
	w->names[index] = json_in_text(&at, "name", NAME_CHARACTERS_MAX);
	if (with_model && !at.rc && !model_name_usable(w->names[index]))
		json_in_reject(
			&at, "name",
			"in a model a component is called by a letter followed by letters, digits and underscores, "
			"at most %d, and not by the name of a function",
			MODEL_NAME_MAX);
	if (!at.rc && component_at(w, (int)index, w->names[index]) >= 0)
		json_in_reject(&at, "name", "another component is called %s too", w->names[index]);
	c->estimate = json_in_number(&at, "estimate", -QUANTITY_MAX, QUANTITY_MAX);
	word = json_in_word_optional(&at, "distribution", distribution_words, DISTRIBUTION_NORMAL);
	c->distribution = word > 0 ? (enum distribution)word : DISTRIBUTION_NORMAL;
	c->standard = standard_read(&at, c->distribution);
	c->dof = json_in_number_optional(&at, "dof", 1, 1e9, INFINITY);
	c->sensitivity = json_in_number_optional(&at, "sensitivity", -QUANTITY_MAX, QUANTITY_MAX, 1);
	if (with_model && json_in_has(&at, "sensitivity"))
		json_in_reject(&at, "sensitivity", "the model says how sensitive the result is");
	json_in_end(&at);
	json_in_join(in, &at);
}

static int component_called(struct json_in *in, const char *member, const struct uncertainty_work *w)
{
	const char *name = json_in_text(in, member, NAME_CHARACTERS_MAX);
	int at = in->rc ? -1 : component_at(w, w->budget.n, name);

	if (at < 0)
		json_in_reject(in, member, "no component is called %s", name);
	return at < 0 ? 0 : at;
}

static void correlation_read(struct json_in *in, size_t index, struct uncertainty_work *w)
{
	struct json_in at;
	double r;
	int a, b;

	if (!json_in_element(in, "correlations", index, &at))
		return;
	a = component_called(&at, "a", w);
	b = component_called(&at, "b", w);
	r = json_in_number(&at, "r", -1, 1);
	if (a == b)
		json_in_reject(&at, "b", "a correlation is between two components");
	else if (w->budget.correlation[a][b] != 0)
		json_in_reject(&at, "b", "this correlation is given twice");
	w->budget.correlation[a][b] = w->budget.correlation[b][a] = r;
	json_in_end(&at);
	json_in_join(in, &at);
}

static void correlations_read(struct json_in *in, struct uncertainty_work *w)
{
	size_t n = json_array_size(
		json_in_array_optional(in, "correlations", COMPONENTS_MAX * (COMPONENTS_MAX - 1) / 2));

	for (size_t i = 0; i < n && !in->rc; i++)
		correlation_read(in, i, w);
	for (int i = 0; i < w->budget.n && !in->rc; i++) {
		w->budget.correlation[i][i] = 1;
		for (int j = 0; j < w->budget.n; j++)
			w->budget.correlated |= j != i && w->budget.correlation[i][j] != 0;
	}
	if (!in->rc && !budget_correlations_possible(&w->budget))
		json_in_reject(in, "correlations", "no quantities can be correlated like this all at once");
}

static bool time_left(void *context)
{
	const struct timespec *end = context;
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return now.tv_sec < end->tv_sec;
}

/* Correlated draws are those of normal quantities. */
static void check_correlated(struct json_in *in, const struct uncertainty_work *w)
{
	for (int i = 0; i < w->budget.n; i++)
		for (int j = 0; j < w->budget.n; j++)
			if (j != i && w->budget.correlation[i][j] != 0 &&
			    w->budget.component[i].distribution != DISTRIBUTION_NORMAL)
				json_in_reject(
					in, "correlations",
					"in a simulation only normal components are correlated, and %s is not one",
					w->names[i]);
}

static void simulation_read(struct json_in *in, struct uncertainty_work *w)
{
	struct json_in at;

	w->simulate = json_in_has(in, "simulation");
	if (!w->simulate || !json_in_object(in, "simulation", &at))
		return;
	w->plan = (struct simulation_plan){.budget = &w->budget, .coverage = w->coverage, .digits = w->digits};
	w->plan.trials = (size_t)json_in_integer(&at, "trials", SIMULATION_TRIALS_MIN, SIMULATION_TRIALS_MAX);
	w->plan.seed = (uint64_t)json_in_integer(&at, "seed", 0, 2147483647);
	w->plan.adaptive = json_in_bool_optional(&at, "adaptive", false);
	if (w->plan.adaptive && (double)w->plan.trials < fmax(20000, 200 / (1 - w->coverage)))
		json_in_reject(
			&at, "trials",
			"to see whether the result is stable, two blocks of trials are needed: %.0f at this coverage",
			fmax(20000, 2 * ceil(100 / (1 - w->coverage))));
	json_in_end(&at);
	json_in_join(in, &at);
	check_correlated(in, w);
}

static void model_read(struct json_in *in, struct uncertainty_work *w)
{
	const char *text = json_in_text(in, "model", MODEL_CHARACTERS_MAX);
	int at_fault;

	if (in->rc)
		return;
	in->rc = model_expression_new(text, w->names, w->budget.n, &w->expression, in->err);
	for (int i = 0; i < w->budget.n && !in->rc; i++)
		if (!model_expression_uses(w->expression, i))
			json_in_reject(in, "model", "the component %s does not stand in the model", w->names[i]);
	if (in->rc)
		return;
	w->model = model_expression_model(w->expression);
	w->plan.model = &w->model;
	if (budget_sensitivities(&w->budget, &w->model, w->slope_error, &at_fault))
		return;
	if (at_fault < 0)
		json_in_reject(in, "model", "with these estimates the model has no value");
	else
		json_in_reject(in, "model", "with these estimates the model has no slope along %s", w->names[at_fault]);
}

static enum status uncertainty_read(json_t *document, struct uncertainty_work *w, struct err *err)
{
	struct json_in in;
	bool with_model;

	json_in_begin(&in, document, err);
	with_model = json_in_has(&in, "model");
	w->budget.n = (int)json_array_size(json_in_array(&in, "components", 1, COMPONENTS_MAX));
	for (int i = 0; i < w->budget.n && !in.rc; i++)
		component_read(&in, (size_t)i, w, with_model);
	w->coverage = json_in_number(&in, "coverage", 0.5, 0.9999);
	w->digits = json_in_integer_optional(&in, "digits", 1, 2, 2);
	if (!in.rc)
		correlations_read(&in, w);
	simulation_read(&in, w);
	if (with_model && !in.rc)
		model_read(&in, w);
	return json_in_end(&in);
}

/* ---- computing ---- */

static enum status simulation_run(struct uncertainty_work *w, struct err *err)
{
	struct timespec end;

	w->draws = malloc(simulation_work(w->plan.trials) * sizeof *w->draws);
	if (!w->draws)
		return no_memory(err);
	clock_gettime(CLOCK_MONOTONIC, &end);
	end.tv_sec += SECONDS_MAX;
	w->plan.go_on = time_left;
	w->plan.context = &end;
	w->end = simulate(&w->plan, w->draws, &w->simulation);
	if (w->end == SIMULATION_STOPPED)
		return err_set(err, INVALID, "/simulation/trials",
			       "the simulation takes longer than %d seconds: ask for fewer trials", SECONDS_MAX);
	if (w->end == SIMULATION_NO_VALUE)
		return err_set(err, INVALID, "/model", "for some of the drawn values the result is no finite number");
	if (w->end == SIMULATION_IMPOSSIBLE)
		return err_set(err, INVALID, "/simulation", "this cannot be simulated");
	return OK;
}

static enum status uncertainty_compute(struct uncertainty_work *w, struct err *err)
{
	w->estimate = budget_estimate(&w->budget, w->expression ? &w->model : NULL);
	budget_combine(&w->budget, w->coverage, &w->result);
	if (!(fabs(w->estimate) + w->result.expanded < RESULT_MAX))
		return err_set(err, INVALID, "/components", "with these numbers the result is beyond all bounds");
	return w->simulate ? simulation_run(w, err) : OK;
}

/* ---- answering ---- */

static json_t *reported_to_json(double value, double expanded, int digits)
{
	struct reported r = report_result(value, expanded, digits);
	char first[NUMBER_TEXT_SIZE], second[NUMBER_TEXT_SIZE], text[2 * NUMBER_TEXT_SIZE + 8];
	int decimals = r.decimals < 0 ? 0 : r.decimals;

	if (!r.rounded)
		return json_null();
	snprintf(text, sizeof text, "%s ± %s", format_number(r.value, decimals, false, first),
		 format_number(r.expanded, decimals, false, second));
	return json_pack("{s:f, s:f, s:i, s:o}", "estimate", r.value, "expanded", r.expanded, "decimals", r.decimals,
			 "shown", decimals > 9 || fabs(r.value) > 1e15 ? json_null() : json_string(text));
}

static json_t *contribution_to_json(const struct uncertainty_work *w, int i)
{
	const struct component *c = &w->budget.component[i];

	return json_pack("{s:s, s:f, s:f, s:s, s:o, s:f, s:o, s:f, s:f}", "name", w->names[i], "estimate", c->estimate,
			 "standard", c->standard, "distribution", distribution_words[c->distribution], "dof",
			 finite_to_json(c->dof), "sensitivity", c->sensitivity, "sensitivity_error",
			 w->expression ? finite_to_json(w->slope_error[i]) : json_null(), "contribution",
			 w->result.contribution[i], "share", w->result.share[i]);
}

/* What EA-4/02 would report in place of t's coverage factor. */
static json_t *dominance_to_json(const struct uncertainty_work *w)
{
	int first, second;
	enum dominance d = budget_dominance(&w->budget, &w->result, &first, &second);
	double a, b, k;
	json_t *names;

	if (d == DOMINANCE_NONE || w->result.combined == 0)
		return json_null();
	names = json_array();
	json_array_append_new(names, json_string(w->names[first]));
	k = coverage_factor_rectangular(w->coverage);
	if (d == DOMINANCE_TRAPEZOIDAL) {
		json_array_append_new(names, json_string(w->names[second]));
		a = fabs(w->result.contribution[first]);
		b = fabs(w->result.contribution[second]);
		k = coverage_factor_trapezoidal(w->coverage, (a - b) / (a + b));
	}
	return json_pack("{s:s, s:o, s:f, s:f, s:o}", "shape",
			 d == DOMINANCE_RECTANGULAR ? "rectangular" : "trapezoidal", "components", names,
			 "coverage_factor", k, "expanded", k * w->result.combined, "reported",
			 reported_to_json(w->estimate, k * w->result.combined, w->digits));
}

static json_t *second_order_to_json(const struct uncertainty_work *w)
{
	double variance;

	if (!w->expression || w->budget.correlated)
		return json_null();
	variance = w->result.combined * w->result.combined + budget_second_order(&w->budget, &w->model);
	return variance >= 0 ? finite_to_json(sqrt(variance)) : json_null();
}

static json_t *interval_to_json(struct interval i)
{
	return json_pack("{s:f, s:f}", "low", i.low, "high", i.high);
}

static json_t *simulation_to_json(const struct uncertainty_work *w)
{
	const struct simulation *s = &w->simulation;
	struct validation v;

	if (!w->simulate)
		return json_null();
	v = validate_budget(w->estimate, &w->result, s, w->digits);
	return json_pack("{s:I, s:I, s:i, s:o, s:f, s:f, s:o, s:o, s:f, s:{s:i, s:f, s:f, s:f, s:b}}", "trials",
			 (json_int_t)s->trials, "seed", (json_int_t)w->plan.seed, "blocks", s->blocks, "stable",
			 w->plan.adaptive ? json_boolean(w->end == SIMULATION_DONE) : json_null(), "estimate",
			 s->estimate, "standard", s->standard, "symmetric", interval_to_json(s->symmetric), "shortest",
			 interval_to_json(s->shortest), "tolerance", s->tolerance, "validation", "digits", w->digits,
			 "tolerance", v.tolerance, "low_difference", v.low_difference, "high_difference",
			 v.high_difference, "valid", v.valid);
}

static json_t *uncertainty_to_json(const struct uncertainty_work *w)
{
	const struct budget_result *r = &w->result;
	json_t *contributions = json_array();

	for (int i = 0; i < w->budget.n; i++)
		json_array_append_new(contributions, contribution_to_json(w, i));
	return json_pack("{s:f, s:f, s:o, s:o, s:f, s:f, s:f, s:o, s:o, s:o, s:o, s:o}", "estimate", w->estimate,
			 "combined", r->combined, "effective_dof", finite_to_json(r->effective_dof), "dof_used",
			 finite_to_json(r->dof_used), "coverage", w->coverage, "coverage_factor", r->coverage_factor,
			 "expanded", r->expanded, "reported", reported_to_json(w->estimate, r->expanded, w->digits),
			 "contributions", contributions, "dominance", dominance_to_json(w), "combined_second_order",
			 second_order_to_json(w), "simulation", simulation_to_json(w));
}

enum status compute_uncertainty(json_t *document, json_t **result, struct err *err)
{
	struct uncertainty_work *w = calloc(1, sizeof *w);
	enum status rc;

	if (!w)
		return no_memory(err);
	rc = uncertainty_read(document, w, err);
	if (!rc)
		rc = uncertainty_compute(w, err);
	if (!rc) {
		*result = uncertainty_to_json(w);
		rc = *result ? OK : no_memory(err);
	}
	model_expression_free(w->expression);
	free(w->draws);
	free(w);
	return rc;
}
