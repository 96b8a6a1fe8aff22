/*
 * Measurement results: what holds for all of them, then one for each run that has readings, as found and as left apart.
 * Each run is a list of parts; of a switch dcc_switch.c has another part in the place of readings.
 */
#include "dcc_internal.h"

#include <math.h>
#include <stdlib.h>
#include "certificate_internal.h"
#include "metrology/format.h"

const char *dcc_conformity(enum verdict v)
{
	static const char *const word[] = {"pass", "conditionalPass", "conditionalFail", "fail"};

	return v == VERDICT_NOT_JUDGED ? NULL : word[v];
}

static void methods(struct dcc *d, xmlNodePtr all)
{
	const struct record *r = d->r;
	xmlNodePtr list = dcc_add(d, all, "usedMethods", NULL), node = dcc_add(d, list, "usedMethod", NULL), text;
	char when[WHEN_SIZE];

	dcc_attribute(d, node, "id", ID_PROCEDURE);
	dcc_name(d, node, "name", words_joined(d->w, r->procedure_code, ", ", r->procedure.title));
	text = dcc_words(d, node, "description",
			 words_say(d->w, "Procedure %s, version %d", r->procedure_code, r->procedure_number));
	if (r->procedure_approved_by)
		dcc_content(d, text,
			    words_say(d->w, "Approved by %s, %s", r->procedure_approved_by,
				      words_date(r->procedure_approved_at, when)));
	dcc_token(d, node, "reference", words_say(d->w, "%s version %d", r->procedure_code, r->procedure_number));
	node = dcc_add(d, list, "usedMethod", NULL);
	dcc_attribute(d, node, "id", ID_UNCERTAINTY);
	dcc_attribute(d, node, "refType", "basic_uncertainty");
	dcc_words(d, node, "name", "Expanded uncertainty");
	dcc_words(d, node, "description", words_uncertainty(r));
	dcc_add(d, node, "norm", "JCGM 100:2008");
	node = dcc_add(d, list, "usedMethod", NULL);
	dcc_attribute(d, node, "id", ID_DECISION);
	dcc_attribute(d, node, "refType", TERM("decisionRule"));
	dcc_words(d, node, "name", "Decision rule");
	dcc_words(d, node, "description", words_decision(d->w, &r->procedure.decision));
	dcc_add(d, node, "norm", "ILAC-G8:09/2019");
}

static void condition(struct dcc *d, xmlNodePtr *list, xmlNodePtr all, const char *name, const char *ref_type,
		      const char *of, const char *unit, double value)
{
	struct dcc_value what = {.name = name, .of = of, .unit = unit};
	xmlNodePtr node;

	if (!isfinite(value))
		return;
	if (!*list)
		*list = dcc_add(d, all, "influenceConditions", NULL);
	node = dcc_add(d, *list, "influenceCondition", NULL);
	dcc_attribute(d, node, "refType", ref_type);
	dcc_words(d, node, "name", name);
	dcc_one(d, dcc_add(d, node, "data", NULL), "quantity", &what, value, words_decimals(value, 2));
}

static void environment(struct dcc *d, xmlNodePtr all)
{
	xmlNodePtr list = NULL;

	if (!d->r->has_environment)
		return;
	condition(d, &list, all, "Ambient temperature", "basic_temperature", "temperature", "°C", d->r->temperature_c);
	condition(d, &list, all, "Ambient relative humidity", "basic_humidityRelative", "relative humidity", "%RH",
		  d->r->humidity_percent);
	condition(d, &list, all, "Ambient pressure", NULL, "absolute pressure", "hPa(a)", d->r->pressure_hpa);
}

/* A column of the readings of a run, as far as they were taken. */
struct cell {
	double value;
	int decimals;
};
typedef struct cell cell_of(const struct record *r, const struct record_run *run, const struct record_point *q);

static struct cell cell_set(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	(void)run;
	return (struct cell){q->reading.set, r->input_decimals};
}

static struct cell cell_applied(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	const struct reading *g = &q->reading;

	(void)run;
	return (struct cell){isnan(g->applied) ? g->set : g->applied,
			     words_typed_decimals(q->applied_text, r->input_decimals)};
}

static struct cell cell_observed(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	(void)run;
	return (struct cell){q->reading.observed, words_typed_decimals(q->observed_text, r->output_decimals)};
}

static struct cell cell_expected(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	return (struct cell){q->judged.expected, record_error_decimals(r, run)};
}

static struct cell cell_error(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	return (struct cell){q->judged.error, record_error_decimals(r, run)};
}

static struct cell cell_percent(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	return (struct cell){q->judged.error_percent, record_percent_decimals(r, run)};
}

static struct cell cell_uncertainty(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	double expanded = q->reading.u > 0 ? 2 * q->reading.u : NAN;

	return (struct cell){expanded,
			     isnan(expanded) ? 0 : words_uncertainty_decimals(expanded, record_error_decimals(r, run))};
}

static struct cell cell_low(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	return (struct cell){q->judged.limits.low, record_error_decimals(r, run)};
}

static struct cell cell_high(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	return (struct cell){q->judged.limits.high, record_error_decimals(r, run)};
}

static struct cell cell_accept_low(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	return (struct cell){q->judged.acceptance.low, record_error_decimals(r, run)};
}

static struct cell cell_accept_high(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	return (struct cell){q->judged.acceptance.high, record_error_decimals(r, run)};
}

static struct cell cell_cycle(const struct record *r, const struct record_run *run, const struct record_point *q)
{
	(void)r;
	(void)run;
	return (struct cell){q->at.cycle, 0};
}

/* False when not one of the readings has a value here. */
static bool fill(const struct record *r, const struct record_run *run, cell_of *of, const struct dcc_value *what,
		 struct dcc_column *out)
{
	bool any = false;

	out->what = *what;
	out->n = 0;
	for (size_t i = 0; i < run->n_points && out->n < READINGS_MAX; i++) {
		struct cell cell;

		if (!run->points[i].read)
			continue;
		cell = of(r, run, &run->points[i]);
		any = any || isfinite(cell.value);
		out->value[out->n] = cell.value;
		out->decimals[out->n++] = cell.decimals;
	}
	return any;
}

/* NULL when there is nothing to say. */
static xmlNodePtr column(struct dcc *d, xmlNodePtr list, const struct record_run *run, cell_of *of, cell_of *u_of,
			 const struct dcc_value *what)
{
	struct dcc_column c, u;
	bool has_u = u_of && fill(d->r, run, u_of, what, &u);

	return fill(d->r, run, of, what, &c) ? dcc_column(d, list, &c, has_u ? &u : NULL) : NULL;
}

static const char *directions(struct dcc *d, const struct record_run *run)
{
	const char *out = "";

	for (size_t i = 0; i < run->n_points; i++)
		if (run->points[i].read)
			out = words_joined(d->w, out, " ",
					   run->points[i].at.direction == RISING ? "rising" : "falling");
	return out;
}

/* Point by point; NULL when there is one that is not judged. */
static const char *verdicts(struct dcc *d, const struct record_run *run)
{
	const char *out = "";

	for (size_t i = 0; i < run->n_points; i++) {
		const char *word = dcc_conformity(run->points[i].judged.verdict);

		if (!run->points[i].read)
			continue;
		if (!word)
			return NULL;
		out = words_joined(d->w, out, " ", word);
	}
	return out;
}

static void times(struct dcc *d, xmlNodePtr list, const struct record_run *run)
{
	const char *out = "";
	char when[WHEN_SIZE];

	for (size_t i = 0; i < run->n_points; i++)
		if (run->points[i].read)
			out = words_joined(d->w, out, " ", dcc_time(run->points[i].taken_at, when));
	dcc_add(d, list, "dateTimeXMLList", out);
}

/* What the verdicts on the errors rest on: the limits, and those drawn in by the guard band. */
static void conformity(struct dcc *d, xmlNodePtr error, const struct record_run *run, struct dcc_value what)
{
	static const struct {
		const char *name, *ref_type;
		cell_of *of;
	} columns[] = {
		{"Lower limit of the error", TERM("toleranceLimitLower"), cell_low},
		{"Upper limit of the error", TERM("toleranceLimitUpper"), cell_high},
		{"Lower acceptance limit", "basic_acceptanceLimitLower", cell_accept_low},
		{"Upper acceptance limit", "basic_acceptanceLimitUpper", cell_accept_high},
	};
	const char *words = verdicts(d, run);
	xmlNodePtr meta, list = NULL;

	if (!run->tolerance || run->tolerance->n_terms == 0)
		return;
	meta = dcc_meta(d, error, "basic_conformity");
	dcc_words(d, meta, "declaration",
		  words_say(d->w, "Limits %s: %s.%s", words_run(run->kind),
			    words_tolerance(d->w, run->tolerance, d->r->instrument.output_unit),
			    words ? "" : " Not every reading could be judged."));
	if (words)
		dcc_add(d, meta, "conformityXMLList", words);
	list = dcc_add(d, dcc_add(d, meta, "data", NULL), "list", NULL);
	what.ref_id = NULL;
	for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++) {
		what.name = columns[i].name;
		what.ref_type = columns[i].ref_type;
		column(d, list, run, columns[i].of, NULL, &what);
	}
}

static xmlNodePtr result(struct dcc *d, xmlNodePtr results, const char *name, const char *ref_type)
{
	xmlNodePtr node = dcc_add(d, results, "result", NULL);

	dcc_attribute(d, node, "refType", ref_type);
	dcc_words(d, node, "name", name);
	return dcc_add(d, node, "data", NULL);
}

static void readings(struct dcc *d, xmlNodePtr results, const struct record_run *run)
{
	const struct frozen_instrument *i = &d->r->instrument;
	const char *input = dcc_standard(d->r, STANDARD_INPUT) ? ID_STANDARD_INPUT : NULL,
		   *output = dcc_standard(d->r, STANDARD_OUTPUT) ? ID_STANDARD_OUTPUT : NULL;
	struct dcc_value what = {.unit = i->input_unit, .of = i->input_quantity};
	xmlNodePtr list = dcc_add(d, result(d, results, "Readings", TERM("readings")), "list", NULL), error;

	times(d, list, run);
	dcc_column_words(d, list, "Direction of the input", TERM("direction"), directions(d, run));
	column(d, list, run, cell_cycle, NULL,
	       &(struct dcc_value){.name = "Cycle", .ref_type = TERM("cycle"), .of = "count", .unit = "1"});
	what.name = "Set point";
	what.ref_type = TERM("setPoint");
	column(d, list, run, cell_set, NULL, &what);
	what.name = "Applied input";
	what.ref_type = TERM("appliedInput");
	what.ref_id = input;
	column(d, list, run, cell_applied, NULL, &what);
	what = (struct dcc_value){.name = "Expected output",
				  .ref_type = "basic_referenceValue",
				  .of = i->output_quantity,
				  .unit = i->output_unit};
	column(d, list, run, cell_expected, NULL, &what);
	what.name = "Observed output";
	what.ref_type = "basic_measuredValue";
	what.ref_id = output;
	column(d, list, run, cell_observed, NULL, &what);
	what.name = "Error";
	what.ref_type = "basic_measurementError";
	what.ref_id = NULL;
	what.difference = true;
	error = column(d, list, run, cell_error, cell_uncertainty, &what);
	if (error)
		conformity(d, error, run, what);
	column(d, list, run, cell_percent, NULL,
	       &(struct dcc_value){.name = "Error in percent of the output span",
				   .ref_type = TERM("errorOfSpan"),
				   .of = "part of the output span",
				   .unit = "%"});
}

static void summary(struct dcc *d, xmlNodePtr results, const struct record_run *run)
{
	const struct evaluation *e = &run->sum;
	const struct {
		const char *name, *ref_type;
		double value;
	} line[] = {
		{"Greatest positive error", TERM("greatestErrorPositive"), e->max_error_plus},
		{"Greatest negative error", TERM("greatestErrorNegative"), e->max_error_minus},
		{"Zero error", TERM("zeroError"), e->zero_error},
		{"Span error", TERM("spanError"), e->span_error},
		{"Hysteresis", TERM("hysteresis"), e->hysteresis},
		{"Repeatability", TERM("repeatability"), e->repeatability},
		{"Independent linearity", TERM("linearityIndependent"), e->linearity[LINE_INDEPENDENT]},
		{"Terminal-based linearity", TERM("linearityTerminal"), e->linearity[LINE_TERMINAL]},
		{"Zero-based linearity", TERM("linearityZero"), e->linearity[LINE_ZERO]},
		{"Linearity by least squares", TERM("linearityLeastSquares"), e->linearity[LINE_LEAST_SQUARES]},
	};
	int decimals = summary_decimals(d->r);
	xmlNodePtr list = NULL;

	for (size_t i = 0; i < sizeof line / sizeof line[0]; i++) {
		if (!isfinite(line[i].value))
			continue;
		if (!list)
			list = dcc_add(d, result(d, results, "What the readings say together", TERM("summary")), "list",
				       NULL);
		dcc_one(d, list, "quantity",
			&(struct dcc_value){.name = line[i].name,
					    .ref_type = line[i].ref_type,
					    .of = "part of the output span",
					    .unit = "%"},
			line[i].value, decimals);
	}
}

/* Whether the run was made before or after an adjustment; the schema says so of a condition. */
static void adjustment(struct dcc *d, xmlNodePtr node, const struct record_run *run)
{
	xmlNodePtr part;

	if (d->r->adjusted != 1)
		return;
	part = dcc_add(d, dcc_add(d, node, "influenceConditions", NULL), "influenceCondition", NULL);
	dcc_attribute(d, part, "refType", "basic_adjustment");
	dcc_words(d, part, "name", "Adjustment");
	dcc_add(d, part, "status", run->kind == RUN_AS_FOUND ? "beforeAdjustment" : "afterAdjustment");
	dcc_words(d, dcc_add(d, part, "data", NULL), "text", words_adjustment(d->w, d->r));
}

void dcc_run(struct dcc *d, xmlNodePtr measurements, const struct record_run *run)
{
	xmlNodePtr node = dcc_add(d, measurements, "measurementResult", NULL), results, meta;
	bool found = run->kind == RUN_AS_FOUND;
	const char *name = found ? "Results as found" : "Results as left", *word = dcc_conformity(run->sum.verdict);
	char captured[CAPTURED_SIZE];

	dcc_attribute(d, node, "refType", found ? TERM("asFound") : TERM("asLeft"));
	dcc_attribute(d, node, "refId", ID_ITEM " " ID_PROCEDURE " " ID_UNCERTAINTY " " ID_DECISION);
	dcc_words(d, node, "name", run->attempt > 1 ? words_say(d->w, "%s, run %d", name, run->attempt) : name);
	adjustment(d, node, run);
	results = dcc_add(d, node, "results", NULL);
	if (run->switched) {
		dcc_actuations(d, results, run);
	} else {
		readings(d, results, run);
		summary(d, results, run);
		dcc_dead_band(d, results, run);
	}
	meta = dcc_meta(d, node, "basic_conformity");
	dcc_words(d, meta, "declaration", words_outcome(d->w, d->r, run));
	if (word)
		dcc_add(d, meta, "conformity", word);
	if (run->sentence[0])
		dcc_words(d, dcc_meta(d, node, TERM("interpretation")), "declaration", words_diagnosis(d->w, run));
	record_captured_sentence(run, captured);
	if (captured[0])
		dcc_words(d, dcc_meta(d, node, TERM("originOfReadings")), "declaration", captured);
}

void dcc_measurements(struct dcc *d, xmlNodePtr root)
{
	xmlNodePtr all = dcc_add(d, root, "measurementResults", NULL), node;
	bool any = false;

	methods(d, all);
	dcc_equipment(d, all);
	environment(d, all);
	for (size_t k = 0; k < d->r->n_runs; k++)
		if (run_stands(&d->r->runs[k])) {
			dcc_run(d, all, &d->r->runs[k]);
			any = true;
		}
	if (any)
		return;
	node = dcc_add(d, all, "measurementResult", NULL);
	dcc_words(d, node, "name", "Results");
	dcc_words(d, result(d, dcc_add(d, node, "results", NULL), "Results", NULL), "text", "No reading was taken.");
}
