/* Budgets, conformity and robust lines as compute documents, read back by another JSON library. */
#include "api/compute.h"
#include "api/handlers.h"
#include "support/check.h"

#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static enum status run(const char *kind, json_t *document, cJSON **out, struct err *err)
{
	json_t *result = NULL;
	enum status rc;
	char *dumped;

	*err = (struct err){0};
	*out = NULL;
	rc = compute_run(kind, document, &result, err);
	if (!rc) {
		dumped = json_dumps(result, JSON_REAL_PRECISION(17));
		assert_non_null(dumped);
		*out = cJSON_Parse(dumped);
		free(dumped);
		assert_non_null(*out);
	} else {
		assert_null(result);
	}
	json_decref(result);
	json_decref(document);
	return rc;
}

static json_t *parsed(const char *text)
{
	json_error_t fault;
	json_t *document = json_loads(text, 0, &fault);

	if (!document)
		fail_msg("the test's own JSON is wrong at line %d: %s", fault.line, fault.text);
	return document;
}

static cJSON *computed(const char *kind, const char *text)
{
	struct err err;
	cJSON *out;

	if (run(kind, parsed(text), &out, &err))
		fail_msg("%s: %s", err.field, err.message);
	return out;
}

static void refused(const char *kind, const char *text, const char *pointer)
{
	struct err err;
	cJSON *out;
	enum status rc = run(kind, parsed(text), &out, &err);

	cJSON_Delete(out);
	if (rc != INVALID || strcmp(err.field, pointer))
		fail_msg("%s: expected a refusal at %s, got status %d at \"%s\" (%s)", text, pointer, (int)rc,
			 err.field, err.message);
	assert_true(strlen(err.message) > 5);
}

static const cJSON *member(const cJSON *json, const char *path)
{
	char step[64];

	while (json && *path) {
		size_t n = strcspn(path, "/");

		snprintf(step, sizeof step, "%.*s", (int)n, path);
		json = cJSON_IsArray(json) ? cJSON_GetArrayItem(json, atoi(step)) :
					     cJSON_GetObjectItemCaseSensitive(json, step);
		path += n + (path[n] == '/');
	}
	if (!json)
		fail_msg("the answer lacks a member of that path");
	return json;
}

static double number_at(const cJSON *json, const char *path)
{
	const cJSON *v = member(json, path);

	if (!cJSON_IsNumber(v))
		fail_msg("%s is no number", path);
	return v->valuedouble;
}

static const char *text_at(const cJSON *json, const char *path)
{
	assert_true(cJSON_IsString(member(json, path)));
	return member(json, path)->valuestring;
}

static bool null_at(const cJSON *json, const char *path)
{
	return cJSON_IsNull(member(json, path));
}

/* Expanded 0.02 with k = 2: 0.01; half-width 0.0173205 rectangular: 0.01; standard 0.02: root of 0.0006 = 0.0244949;
 * k 2. */
static void a_sum_of_three_in_three_ways_of_giving_them(void **state)
{
	cJSON *out = computed(
		"uncertainty",
		"{\"components\":[{\"name\":\"standard\",\"estimate\":10.01,\"expanded\":0.02,\"coverage_factor\":2},"
		"{\"name\":\"resolution\",\"estimate\":0,\"half_width\":0.017320508075688773,\"distribution\":\"rectangular\"},"
		"{\"name\":\"repeatability\",\"estimate\":-2,\"standard\":0.01,\"sensitivity\":-2}],\"coverage\":0.9545}");

	(void)state;
	assert_near(number_at(out, "estimate"), 14.01, 1e-12);
	assert_near(number_at(out, "combined"), sqrt(0.0006), 1e-12);
	assert_near(number_at(out, "coverage_factor"), 2, 1e-5);
	assert_true(null_at(out, "effective_dof") && null_at(out, "dof_used"));
	assert_near(number_at(out, "contributions/0/standard"), 0.01, 1e-15);
	assert_near(number_at(out, "contributions/1/standard"), 0.01, 1e-15);
	assert_near(number_at(out, "contributions/2/contribution"), -0.02, 1e-15);
	assert_near(number_at(out, "contributions/2/share"), 4.0 / 6, 1e-12);
	assert_string_equal(text_at(out, "contributions/1/distribution"), "rectangular");
	assert_string_equal(text_at(out, "reported/shown"), "14.010 ± 0.049"); /* 0.04899 */
	assert_true(null_at(out, "dominance") && null_at(out, "combined_second_order") && null_at(out, "simulation"));
	cJSON_Delete(out);
}

/* Current through 250 ohm: dI/dV = 4, dI/dR = -0.048 at 3 V; the voltage's 5 readings give 4 dof:
 * 0.002^4/(0.002^4/4) times (1.09)^2. */
static void a_model_finds_its_sensitivities(void **state)
{
	cJSON *out = computed(
		"uncertainty",
		"{\"model\":\"1000 * V / R\",\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":0.0005,\"dof\":4},"
		"{\"name\":\"R\",\"estimate\":250,\"standard\":0.0125}],\"coverage\":0.95,\"digits\":1}");

	(void)state;
	assert_near(number_at(out, "estimate"), 12, 1e-12);
	assert_near(number_at(out, "contributions/0/sensitivity"), 4, 1e-9);
	assert_near(number_at(out, "contributions/1/sensitivity"), -0.048, 1e-11);
	assert_near(number_at(out, "effective_dof"), 4 * 1.09 * 1.09, 1e-9);
	assert_near(number_at(out, "dof_used"), 4, 0);
	assert_near(number_at(out, "coverage_factor"), 2.776, 0.0005);
	assert_near(number_at(out, "combined_second_order"), number_at(out, "combined"), 1e-9); /* nearly straight */
	assert_string_equal(text_at(out, "reported/shown"), "12.000 ± 0.006"); /* 2.776 * 0.002088 = 0.0058 */
	cJSON_Delete(out);
}

/* Two readings of one meter, r = 1, their difference: nothing of the meter is left, u = 0.3 alone. */
static void correlations_are_given_by_name(void **state)
{
	cJSON *out = computed(
		"uncertainty",
		"{\"components\":[{\"name\":\"a\",\"estimate\":5,\"standard\":1},{\"name\":\"b\",\"estimate\":4,\"standard\":1,\"sensitivity\":-1},"
		"{\"name\":\"c\",\"estimate\":0,\"standard\":0.3}],\"correlations\":[{\"a\":\"a\",\"b\":\"b\",\"r\":1}],\"coverage\":0.95}");

	(void)state;
	assert_near(number_at(out, "combined"), 0.3, 1e-12);
	cJSON_Delete(out);
}

/* One rectangular component outweighs the rest: 1.65 in place of 2 (EA-4/02, S9). */
static void dominance_is_named(void **state)
{
	cJSON *out = computed(
		"uncertainty",
		"{\"components\":[{\"name\":\"count\",\"estimate\":0.1,\"half_width\":0.05,\"distribution\":\"rectangular\"},"
		"{\"name\":\"source\",\"estimate\":0,\"standard\":0.001}],\"coverage\":0.95,\"digits\":1}");

	(void)state;
	assert_string_equal(text_at(out, "dominance/shape"), "rectangular");
	assert_string_equal(text_at(out, "dominance/components/0"), "count");
	assert_near(number_at(out, "dominance/coverage_factor"), 1.645, 0.001);
	assert_string_equal(text_at(out, "dominance/reported/shown"), "0.10 ± 0.05");
	assert_string_equal(text_at(out, "reported/shown"), "0.10 ± 0.06");
	cJSON_Delete(out);
}

#define FOUR_RECTANGULAR                                                                                                   \
	"{\"model\":\"a + b + c + d\",\"components\":["                                                                    \
	"{\"name\":\"a\",\"estimate\":0,\"standard\":1,\"distribution\":\"rectangular\"},"                                 \
	"{\"name\":\"b\",\"estimate\":0,\"standard\":1,\"distribution\":\"rectangular\"},"                                 \
	"{\"name\":\"c\",\"estimate\":0,\"standard\":1,\"distribution\":\"rectangular\"},"                                 \
	"{\"name\":\"d\",\"estimate\":0,\"standard\":1,\"distribution\":\"rectangular\"}],\"coverage\":0.95,\"digits\":1," \
	"\"simulation\":{\"trials\":200000,\"seed\":42%s}}"

/* Four rectangular of u = 1: 3.88 by simulation, 3.92 by the law of propagation (JCGM 101:2008, 9.2.3; from memory). */
static void simulation_is_answered_beside_the_budget(void **state)
{
	char document[1024];
	cJSON *out, *again;

	(void)state;
	snprintf(document, sizeof document, FOUR_RECTANGULAR, "");
	out = computed("uncertainty", document);
	again = computed("uncertainty", document);
	assert_near(number_at(out, "simulation/standard"), 2, 0.015);
	assert_near(number_at(out, "simulation/symmetric/high"), 3.88, 0.04);
	assert_near(number_at(out, "simulation/shortest/high") - number_at(out, "simulation/shortest/low"), 7.76, 0.07);
	assert_near(number_at(out, "simulation/trials"), 200000, 0);
	assert_near(number_at(out, "simulation/validation/tolerance"), 0.5, 1e-12);
	assert_true(cJSON_IsTrue(member(out, "simulation/validation/valid")));
	assert_true(null_at(out, "simulation/stable"));
	assert_true(number_at(out, "simulation/symmetric/low") == number_at(again, "simulation/symmetric/low"));
	cJSON_Delete(out);
	cJSON_Delete(again);
	snprintf(document, sizeof document, FOUR_RECTANGULAR, ",\"adaptive\":true");
	out = computed("uncertainty", document);
	assert_true(cJSON_IsTrue(member(out, "simulation/stable")));
	assert_near(number_at(out, "simulation/trials"), 10000 * number_at(out, "simulation/blocks"), 0);
	cJSON_Delete(out);
}

#define V "{\"name\":\"V\",\"estimate\":3,\"standard\":0.1}"

static void uncertainty_names_the_member_at_fault(void **state)
{
	(void)state;
	refused("uncertainty", "{\"components\":[" V "]}", "/coverage");
	refused("uncertainty", "{\"components\":[],\"coverage\":0.95}", "/components");
	refused("uncertainty", "{\"components\":[" V "],\"coverage\":95}", "/coverage");
	refused("uncertainty", "{\"components\":[" V "],\"coverage\":0.95,\"note\":1}", "/note");
	refused("uncertainty", "{\"components\":[" V "," V "],\"coverage\":0.95}", "/components/1/name");
	refused("uncertainty", "{\"components\":[{\"name\":\"V\",\"estimate\":3}],\"coverage\":0.95}",
		"/components/0/standard");
	refused("uncertainty",
		"{\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":1,\"half_width\":1}],\"coverage\":0.95}",
		"/components/0/standard");
	refused("uncertainty", "{\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":-1}],\"coverage\":0.95}",
		"/components/0/standard");
	refused("uncertainty", "{\"components\":[{\"name\":\"V\",\"estimate\":3,\"half_width\":1}],\"coverage\":0.95}",
		"/components/0/distribution");
	refused("uncertainty", "{\"components\":[{\"name\":\"V\",\"estimate\":3,\"expanded\":1}],\"coverage\":0.95}",
		"/components/0/coverage_factor");
	refused("uncertainty",
		"{\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":1,\"coverage_factor\":2}],\"coverage\":0.95}",
		"/components/0/coverage_factor");
	refused("uncertainty",
		"{\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":1,\"dof\":0.5}],\"coverage\":0.95}",
		"/components/0/dof");
	refused("uncertainty",
		"{\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":1,\"distribution\":\"bell\"}],\"coverage\":0.95}",
		"/components/0/distribution");
	refused("uncertainty",
		"{\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":1,\"unit\":\"V\"}],\"coverage\":0.95}",
		"/components/0/unit");
	refused("uncertainty",
		"{\"components\":[" V "],\"coverage\":0.95,\"correlations\":[{\"a\":\"V\",\"b\":\"W\",\"r\":0.5}]}",
		"/correlations/0/b");
	refused("uncertainty",
		"{\"components\":[" V "],\"coverage\":0.95,\"correlations\":[{\"a\":\"V\",\"b\":\"V\",\"r\":0.5}]}",
		"/correlations/0/b");
	refused("uncertainty",
		"{\"components\":[" V ",{\"name\":\"W\",\"estimate\":0,\"standard\":1}],\"coverage\":0.95,"
		"\"correlations\":[{\"a\":\"V\",\"b\":\"W\",\"r\":1.5}]}",
		"/correlations/0/r");
	refused("uncertainty",
		"{\"components\":[" V ",{\"name\":\"W\",\"estimate\":0,\"standard\":1}],\"coverage\":0.95,"
		"\"correlations\":[{\"a\":\"V\",\"b\":\"W\",\"r\":0.5},{\"a\":\"W\",\"b\":\"V\",\"r\":0.5}]}",
		"/correlations/1/b");
	refused("uncertainty",
		"{\"components\":[" V
		",{\"name\":\"W\",\"estimate\":0,\"standard\":1},{\"name\":\"X\",\"estimate\":0,\"standard\":1}],"
		"\"coverage\":0.95,\"correlations\":[{\"a\":\"V\",\"b\":\"W\",\"r\":0.9},{\"a\":\"W\",\"b\":\"X\",\"r\":0.9},"
		"{\"a\":\"V\",\"b\":\"X\",\"r\":-0.9}]}",
		"/correlations");
}

static void model_and_simulation_name_the_member_at_fault(void **state)
{
	(void)state;
	refused("uncertainty", "{\"model\":\"V + W\",\"components\":[" V "],\"coverage\":0.95}", "/model");
	refused("uncertainty", "{\"model\":\"V +\",\"components\":[" V "],\"coverage\":0.95}", "/model");
	refused("uncertainty", "{\"model\":\"3\",\"components\":[" V "],\"coverage\":0.95}", "/model");
	refused("uncertainty", "{\"model\":\"ln(V - 3)\",\"components\":[" V "],\"coverage\":0.95}", "/model");
	refused("uncertainty", "{\"model\":\"sqrt(V - 3)\",\"components\":[" V "],\"coverage\":0.95}", "/model");
	refused("uncertainty",
		"{\"model\":\"V\",\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":1,\"sensitivity\":2}],\"coverage\":0.95}",
		"/components/0/sensitivity");
	refused("uncertainty",
		"{\"model\":\"V\",\"components\":[{\"name\":\"V 1\",\"estimate\":3,\"standard\":1}],\"coverage\":0.95}",
		"/components/0/name");
	refused("uncertainty",
		"{\"model\":\"ln(V)\",\"components\":[{\"name\":\"V\",\"estimate\":3,\"standard\":1}],\"coverage\":0.95,"
		"\"simulation\":{\"trials\":100000,\"seed\":1}}",
		"/model");     /* three sigmas below lies 0 */
	refused("uncertainty", /* about e^500, whose square is beyond all bounds */
		"{\"model\":\"exp(V)\",\"components\":[{\"name\":\"V\",\"estimate\":500,\"standard\":0.1}],"
		"\"coverage\":0.95,\"simulation\":{\"trials\":1000,\"seed\":1}}",
		"/model");
	refused("uncertainty", "{\"components\":[" V "],\"coverage\":0.95,\"simulation\":{\"trials\":100,\"seed\":1}}",
		"/simulation/trials");
	refused("uncertainty",
		"{\"components\":[" V "],\"coverage\":0.95,\"simulation\":{\"trials\":3000000,\"seed\":1}}",
		"/simulation/trials");
	refused("uncertainty", "{\"components\":[" V "],\"coverage\":0.95,\"simulation\":{\"trials\":10000}}",
		"/simulation/seed");
	refused("uncertainty",
		"{\"components\":[" V
		"],\"coverage\":0.999,\"simulation\":{\"trials\":100000,\"seed\":1,\"adaptive\":true}}",
		"/simulation/trials");
	refused("uncertainty",
		"{\"components\":[" V
		",{\"name\":\"W\",\"estimate\":0,\"half_width\":1,\"distribution\":\"triangular\"}],"
		"\"coverage\":0.95,\"correlations\":[{\"a\":\"V\",\"b\":\"W\",\"r\":0.5}],\"simulation\":{\"trials\":10000,\"seed\":1}}",
		"/correlations");
}

/* Upper limit 10, u 0.2, read 9.7: 1.5 u below: 0.9332 (normal table); w = U = 0.4: acceptance up to 9.6, so
 * conditional. */
static void conformity_with_one_limit(void **state)
{
	cJSON *out = computed("conformity",
			      "{\"measured\":9.7,\"standard_uncertainty\":0.2,\"high\":10,\"rule\":\"guarded\"}");

	(void)state;
	assert_string_equal(text_at(out, "verdict"), "conditional_pass");
	assert_true(cJSON_IsFalse(member(out, "accepted")));
	assert_near(number_at(out, "probability_of_conformity"), 0.9332, 0.00005);
	assert_near(number_at(out, "specific_producer_risk"), 0.9332, 0.00005);
	assert_near(number_at(out, "acceptance_high"), 9.6, 1e-12);
	assert_near(number_at(out, "risk_at_acceptance_limit"), 0.02275, 0.00001);
	assert_true(null_at(out, "acceptance_low") && null_at(out, "consumer_risk") && null_at(out, "tur") &&
		    null_at(out, "wanted"));
	assert_true(null_at(out, "specific_consumer_risk"));
	cJSON_Delete(out);
}

/* On the limit is inside: 0.1 + 0.2 against 0.3. */
static void conformity_on_the_limit_is_inside(void **state)
{
	cJSON *out = computed(
		"conformity",
		"{\"measured\":0.30000000000000004,\"standard_uncertainty\":0.01,\"high\":0.3,\"rule\":\"simple\"}");

	(void)state;
	assert_string_equal(text_at(out, "verdict"), "pass");
	assert_near(number_at(out, "specific_consumer_risk"), 0.5, 1e-9);
	cJSON_Delete(out);
}

/* Prior as wide as the reading's uncertainty: the posterior lies half way, with u / sqrt(2). TUR 2/(2*2*0.25) ... =
 * 1/0.5 = 2. */
static void conformity_with_a_prior(void **state)
{
	cJSON *out = computed(
		"conformity",
		"{\"measured\":0.8,\"standard_uncertainty\":0.25,\"low\":-1,\"high\":1,\"rule\":\"simple\","
		"\"prior\":{\"mean\":0,\"standard_deviation\":0.25},\"wanted_risk\":0.02275013194817921,\"reference_accuracy\":0.1}");
	double u = 0.25 / sqrt(2);

	(void)state;
	assert_near(number_at(out, "probability_of_nonconformity"),
		    0.5 * erfc(0.6 / u / sqrt(2)) + 0.5 * erfc(1.4 / u / sqrt(2)), 1e-12);
	assert_near(number_at(out, "tur"), 2, 1e-12);
	assert_near(number_at(out, "tar"), 10, 1e-12);
	assert_near(number_at(out, "wanted/specific_guard_factor"), 1, 1e-7); /* the other limit is 6 sigmas away */
	assert_near(number_at(out, "wanted/global_guard_factor"), 0, 0);      /* four sigmas of the items fit in */
	assert_true(number_at(out, "consumer_risk") < 1e-4 && number_at(out, "consumer_risk") > 0);
	assert_true(number_at(out, "producer_risk") > number_at(out, "consumer_risk"));
	cJSON_Delete(out);
}

static void conformity_names_the_member_at_fault(void **state)
{
	(void)state;
	refused("conformity", "{\"measured\":1,\"standard_uncertainty\":0.1,\"rule\":\"simple\"}", "/high");
	refused("conformity", "{\"measured\":1,\"standard_uncertainty\":0.1,\"low\":2,\"high\":2,\"rule\":\"simple\"}",
		"/high");
	refused("conformity", "{\"measured\":1,\"standard_uncertainty\":0,\"high\":2,\"rule\":\"simple\"}",
		"/standard_uncertainty");
	refused("conformity", "{\"measured\":1,\"standard_uncertainty\":0.1,\"high\":2}", "/rule");
	refused("conformity",
		"{\"measured\":1,\"standard_uncertainty\":0.1,\"high\":2,\"rule\":\"simple\",\"guard_factor\":1}",
		"/guard_factor");
	refused("conformity",
		"{\"measured\":1,\"standard_uncertainty\":0.1,\"high\":2,\"rule\":\"guarded\",\"guard_factor\":4}",
		"/guard_factor");
	refused("conformity",
		"{\"measured\":1,\"standard_uncertainty\":0.1,\"high\":2,\"rule\":\"simple\",\"prior\":{\"mean\":0}}",
		"/prior/standard_deviation");
	refused("conformity",
		"{\"measured\":1,\"standard_uncertainty\":0.1,\"high\":2,\"rule\":\"simple\",\"prior\":{\"mean\":0,"
		"\"standard_deviation\":0}}",
		"/prior/standard_deviation");
	refused("conformity",
		"{\"measured\":1,\"standard_uncertainty\":0.1,\"high\":2,\"rule\":\"simple\",\"wanted_risk\":0.7}",
		"/wanted_risk");
	refused("conformity", "{\"measured\":1,\"standard_uncertainty\":0.1,\"high\":2,\"rule\":\"simple\",\"u\":0.7}",
		"/u");
}

/* By hand in test_fit.c. */
static void fit_takes_weights_and_the_robust_line(void **state)
{
	cJSON *out = computed("fit", "{\"x\":[0,1,2],\"y\":[1,2,5],\"weights\":[4,1,1],\"order\":1}");

	(void)state;
	assert_near(number_at(out, "coefficients/1"), 39.0 / 21, 1e-12);
	assert_near(number_at(out, "residual_sd"), sqrt(16.0 / 21), 1e-12);
	cJSON_Delete(out);
	out = computed("fit", "{\"x\":[1,2,3,4,5,6,7],\"y\":[1,2,3,4,5,16,7],\"method\":\"theil_sen\"}");
	assert_near(number_at(out, "coefficients/1"), 1, 1e-12);
	assert_near(number_at(out, "coefficients/0"), 0, 1e-12);
	assert_near(number_at(out, "slope_high"), 13.0 / 3, 1e-12);
	assert_near(number_at(out, "pairs"), 21, 0);
	assert_near(number_at(out, "residuals/5"), 10, 1e-12);
	cJSON_Delete(out);
	out = computed("fit", "{\"x\":[1,2,3,4,5,6,7],\"y\":[1,2,3,4,5,16,7],\"method\":\"theil_sen\",\"at\":[20]}");
	assert_near(number_at(out, "at/0/value"), 20, 1e-12);
	assert_true(cJSON_IsNull(member(cJSON_GetArrayItem(member(out, "at"), 0), "standard_deviation")));
	cJSON_Delete(out);
	refused("fit", "{\"x\":[0,1,2],\"y\":[1,2,5],\"weights\":[4,1],\"order\":1}", "/weights");
	refused("fit", "{\"x\":[0,1,2],\"y\":[1,2,5],\"weights\":[4,1,0],\"order\":1}", "/weights/2");
	refused("fit", "{\"x\":[0,1,2],\"y\":[1,2,5],\"order\":1,\"confidence\":0.9}", "/confidence");
	refused("fit", "{\"x\":[0,1,2],\"y\":[1,2,5],\"method\":\"theil_sen\",\"order\":2}", "/order");
	refused("fit", "{\"x\":[0,1,2],\"y\":[1,2,5],\"method\":\"theil_sen\",\"weights\":[1,1,1]}", "/weights");
	refused("fit", "{\"x\":[1,1,1],\"y\":[1,2,5],\"method\":\"theil_sen\"}", "/x");
}

/* What each example must come to, by hand. */
static const struct {
	const char *code;
	double estimate;
} expected[] = {
	{"pressure_transmitter_gauge", 12.006 - 12},
	{"temperature_transmitter_simulator", 11.997 - 12},
	{"temperature_transmitter_dry_block", 15.984 - 16},
	{"rtd_bath", (138.531 - 138.5055) / 0.3793},
	{"loop_shunt", 3001.2 / 250.01},
	{"valve_position", 50.6 - 50},
};

/* Root of the sum of squares by hand, distributions by their half-widths. */
static double combined_by_hand(size_t i)
{
	const double s = 16.0 / 10, t = 16.0 / 100, b = 16.0 / 120;

	switch (i) {
	case 0:
		return sqrt(0.0012 * 0.0012 + 0.0008 * 0.0008 + 0.0005 * 0.0005 / 3 +
			    s * s * (0.001 * 0.001 + (0.0015 * 0.0015 + 2 * 0.0005 * 0.0005) / 3));
	case 1:
		return sqrt(0.0008 * 0.0008 + 0.0008 * 0.0008 + 0.0005 * 0.0005 / 3 +
			    t * t * (0.05 * 0.05 + (0.05 * 0.05 + 0.08 * 0.08) / 3));
	case 2:
		return sqrt(0.0015 * 0.0015 + 0.0008 * 0.0008 +
			    b * b *
				    (0.025 * 0.025 +
				     (0.03 * 0.03 + 0.1 * 0.1 + 0.03 * 0.03 + 0.02 * 0.02 + 0.06 * 0.06) / 3));
	case 3:
		return sqrt((0.0015 * 0.0015 + 0.002 * 0.002 + 0.002 * 0.002 / 3) / (0.3793 * 0.3793) + 0.006 * 0.006 +
			    (0.005 * 0.005 + 0.006 * 0.006 + 0.003 * 0.003) / 3);
	case 4: /* relative terms times the current; alpha by its half-width times 4 degrees, d_T by alpha = 0 not at all */
		return 3001.2 / 250.01 *
		       sqrt((0.00004 * 0.00004 + 0.00006 * 0.00006 + 0.00001 * 0.00001 / 3) / (3.0012 * 3.0012) +
			    0.01 * 0.01 / (250.01 * 250.01) + 0.00005 * 0.00005 / 3 + 16 * 0.000015 * 0.000015 / 3);
	default:
		return sqrt(0.12 * 0.12 + (0.3 * 0.3 + 0.2 * 0.2) / 3 + 0.5 * 0.5 / 6 + 6.25 * 6.25 * 0.002 * 0.002);
	}
}

static void ready_models_have_examples_that_compute(void **state)
{
	struct reply reply = {0};
	json_t *items;

	(void)state;
	assert_int_equal(api_uncertainty_models(NULL, &reply), OK);
	items = json_object_get(reply.json, "items");
	assert_int_equal(json_array_size(items), sizeof expected / sizeof expected[0]);
	for (size_t i = 0; i < json_array_size(items); i++) {
		json_t *item = json_array_get(items, i);
		struct err err;
		cJSON *out;

		assert_string_equal(json_string_value(json_object_get(item, "code")), expected[i].code);
		if (run("uncertainty", json_incref(json_object_get(item, "example")), &out, &err))
			fail_msg("%s: %s %s", expected[i].code, err.field, err.message);
		assert_near(number_at(out, "estimate"), expected[i].estimate, 1e-9);
		assert_near(number_at(out, "combined") / combined_by_hand(i), 1, 1e-9);
		assert_int_equal(cJSON_GetArraySize(member(out, "contributions")),
				 json_array_size(json_object_get(item, "components")));
		cJSON_Delete(out);
	}
	json_decref(reply.json);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_sum_of_three_in_three_ways_of_giving_them),
		cmocka_unit_test(a_model_finds_its_sensitivities),
		cmocka_unit_test(correlations_are_given_by_name),
		cmocka_unit_test(dominance_is_named),
		cmocka_unit_test(simulation_is_answered_beside_the_budget),
		cmocka_unit_test(uncertainty_names_the_member_at_fault),
		cmocka_unit_test(model_and_simulation_name_the_member_at_fault),
		cmocka_unit_test(conformity_with_one_limit),
		cmocka_unit_test(conformity_on_the_limit_is_inside),
		cmocka_unit_test(conformity_with_a_prior),
		cmocka_unit_test(conformity_names_the_member_at_fault),
		cmocka_unit_test(fit_takes_weights_and_the_robust_line),
		cmocka_unit_test(ready_models_have_examples_that_compute),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
