/* The actuations of a switch: one column each for where it acted, where it went back, and what lies between. */
#include "dcc_internal.h"

#include <math.h>
#include <stdlib.h>
#include "metrology/format.h"

struct actuations {
	struct dcc *d;
	const struct record_run *run;
	const struct record_switch *s;
	struct switch_manner manner;
	struct dcc_column column, u; /* as last filled */
};

static const struct record_point *point(const struct actuations *a, size_t i, bool reset)
{
	return &a->run->points[i * (size_t)a->s->per_cycle + (reset ? 1 : 0)];
}

enum figure {
	FIGURE_SET_POINT,
	FIGURE_SET,
	FIGURE_SET_ERROR,
	FIGURE_RESET_POINT,
	FIGURE_RESET,
	FIGURE_RESET_ERROR,
	FIGURE_DEAD_BAND
};

static double value_of(const struct actuations *a, enum figure f, size_t i)
{
	const double all[] = {
		[FIGURE_SET_POINT] = a->s->spec.set_point,	[FIGURE_SET] = a->s->actuations[i].set,
		[FIGURE_SET_ERROR] = a->s->judged[i].set_error, [FIGURE_RESET_POINT] = a->s->spec.reset_point,
		[FIGURE_RESET] = a->s->actuations[i].reset,	[FIGURE_RESET_ERROR] = a->s->judged[i].reset_error,
		[FIGURE_DEAD_BAND] = a->s->judged[i].dead_band,
	};

	return all[f];
}

static int decimals_of(const struct actuations *a, enum figure f, size_t i)
{
	if (f == FIGURE_SET || f == FIGURE_RESET)
		return words_typed_decimals(point(a, i, f == FIGURE_RESET)->observed_text, a->manner.decimals);
	return f == FIGURE_SET_POINT || f == FIGURE_RESET_POINT ? a->manner.decimals : a->manner.error_decimals;
}

/* False when not one of the actuations has a value here. */
static bool fill(struct actuations *a, enum figure f)
{
	bool any = false;

	a->column.n = a->s->n;
	for (size_t i = 0; i < a->s->n; i++) {
		a->column.value[i] = value_of(a, f, i);
		a->column.decimals[i] = isfinite(a->column.value[i]) ? decimals_of(a, f, i) : 0;
		any = any || isfinite(a->column.value[i]);
	}
	return any;
}

/* U of each reading; false when none states one. */
static bool fill_uncertainty(struct actuations *a, bool reset)
{
	bool any = false;

	a->u.n = a->s->n;
	for (size_t i = 0; i < a->s->n; i++) {
		double u = 2 * point(a, i, reset)->reading.u;

		a->u.value[i] = u > 0 ? u : NAN;
		a->u.decimals[i] = u > 0 ? words_uncertainty_decimals(u, a->manner.error_decimals) : 0;
		any = any || u > 0;
	}
	return any;
}

static enum verdict verdict_of(const struct actuations *a, enum figure f, size_t i)
{
	const struct judged_actuation *j = &a->s->judged[i];

	return f == FIGURE_SET_ERROR   ? j->set_verdict :
	       f == FIGURE_RESET_ERROR ? j->reset_verdict :
	       f == FIGURE_DEAD_BAND   ? j->dead_band_verdict :
					 VERDICT_NOT_JUDGED;
}

static struct limits limits_of(const struct actuations *a, enum figure f)
{
	return f == FIGURE_SET_ERROR   ? a->s->sum.limits :
	       f == FIGURE_RESET_ERROR ? a->s->sum.reset_limits :
					 a->s->spec.dead_band;
}

/* Actuation by actuation; NULL when there is one that is not judged. */
static const char *verdicts(const struct actuations *a, enum figure f)
{
	const char *out = "";

	for (size_t i = 0; i < a->s->n; i++) {
		const char *word = dcc_conformity(verdict_of(a, f, i));

		if (!word)
			return NULL;
		out = words_joined(a->d->w, out, " ", word);
	}
	return out;
}

static void limit(struct actuations *a, xmlNodePtr list, const char *name, const char *ref_type, double value)
{
	if (!isfinite(value))
		return;
	a->column.what.name = name;
	a->column.what.ref_type = ref_type;
	a->column.what.ref_id = NULL;
	for (size_t i = 0; i < a->s->n; i++) {
		a->column.value[i] = value;
		a->column.decimals[i] = a->manner.error_decimals;
	}
	dcc_column(a->d, list, &a->column, NULL);
}

/* The limits drawn in by the guard band, which is the same for all actuations. */
static struct limits acceptance_of(const struct actuations *a)
{
	return a->s->n > 0 ? point(a, 0, false)->judged.acceptance : (struct limits){NAN, NAN};
}

static void conformity(struct actuations *a, xmlNodePtr quantity, enum figure f)
{
	struct limits l = limits_of(a, f);
	const char *words = verdicts(a, f), *basis = "Limits of the dead band, from the data sheet of the switch.";
	bool band = f == FIGURE_DEAD_BAND;
	xmlNodePtr meta, list;

	if (!isfinite(l.low) && !isfinite(l.high))
		return;
	if (!band)
		basis = words_say(a->d->w, "Limits %s: %s.", words_run(a->run->kind),
				  words_tolerance(a->d->w, a->run->tolerance, a->manner.unit));
	meta = dcc_meta(a->d, quantity, "basic_conformity");
	dcc_words(a->d, meta, "declaration",
		  words_joined(a->d->w, basis, " ", words ? NULL : "Not every actuation could be judged."));
	if (words)
		dcc_add(a->d, meta, "conformityXMLList", words);
	list = dcc_add(a->d, dcc_add(a->d, meta, "data", NULL), "list", NULL);
	limit(a, list, "Lower limit", band ? TERM("deadBandLeast") : TERM("toleranceLimitLower"), l.low);
	limit(a, list, "Upper limit", band ? TERM("deadBandGreatest") : TERM("toleranceLimitUpper"), l.high);
	if (f != FIGURE_SET_ERROR)
		return;
	limit(a, list, "Lower acceptance limit", "basic_acceptanceLimitLower", acceptance_of(a).low);
	limit(a, list, "Upper acceptance limit", "basic_acceptanceLimitUpper", acceptance_of(a).high);
}

static void column(struct actuations *a, xmlNodePtr list, enum figure f, const char *name, const char *ref_type)
{
	bool error = f == FIGURE_SET_ERROR || f == FIGURE_RESET_ERROR, measured = f == FIGURE_SET || f == FIGURE_RESET,
	     has_u;
	xmlNodePtr node;

	a->column.what = (struct dcc_value){
		.name = name,
		.ref_type = ref_type,
		.ref_id = measured && dcc_standard(a->d->r, STANDARD_INPUT) ? ID_STANDARD_INPUT : NULL,
		.of = a->d->r->instrument.input_quantity,
		.unit = a->d->r->instrument.input_unit,
		.difference = error || f == FIGURE_DEAD_BAND};
	if (!fill(a, f))
		return;
	has_u = error && fill_uncertainty(a, f == FIGURE_RESET_ERROR);
	a->u.what = a->column.what;
	node = dcc_column(a->d, list, &a->column, has_u ? &a->u : NULL);
	if (error || f == FIGURE_DEAD_BAND)
		conformity(a, node, f);
}

static xmlNodePtr result(struct dcc *d, xmlNodePtr results, const char *name, const char *ref_type)
{
	xmlNodePtr node = dcc_add(d, results, "result", NULL);

	dcc_attribute(d, node, "refType", ref_type);
	dcc_words(d, node, "name", name);
	return dcc_add(d, dcc_add(d, node, "data", NULL), "list", NULL);
}

static void summary(const struct actuations *a, xmlNodePtr results)
{
	const struct switch_summary *s = &a->s->sum;
	const struct {
		const char *name, *ref_type;
		double value;
		bool difference;
	} line[] = {
		{"Acts at, mean", TERM("meanSwitchPoint"), s->set, false},
		{"Error of the set point, mean", TERM("setErrorMean"), s->set_error, true},
		{"Greatest error of the set point", TERM("setErrorGreatest"), s->max_set_error, true},
		{"Repeatability of acting", TERM("repeatability"), s->set_repeatability, true},
		{"Goes back at, mean", TERM("resetValue"), s->reset, false},
		{"Repeatability of going back", TERM("repeatability"), s->reset_repeatability, true},
		{"Dead band, mean", TERM("deadBand"), s->dead_band, true},
	};
	xmlNodePtr list = result(a->d, results, "What the actuations say together", TERM("actuationSummary"));

	for (size_t i = 0; i < sizeof line / sizeof line[0]; i++)
		dcc_one(a->d, list, "quantity",
			&(struct dcc_value){.name = line[i].name,
					    .ref_type = line[i].ref_type,
					    .of = a->d->r->instrument.input_quantity,
					    .unit = a->d->r->instrument.input_unit,
					    .difference = line[i].difference},
			line[i].value, a->manner.error_decimals);
}

static void times(const struct actuations *a, xmlNodePtr list)
{
	const char *out = "";
	char when[WHEN_SIZE];

	for (size_t i = 0; i < a->s->n; i++)
		out = words_joined(a->d->w, out, " ", dcc_time(point(a, i, false)->taken_at, when));
	dcc_add(a->d, list, "dateTimeXMLList", out);
}

void dcc_actuations(struct dcc *d, xmlNodePtr results, const struct record_run *run)
{
	struct actuations *a = calloc(1, sizeof *a);
	xmlNodePtr list;

	if (!a) {
		d->w->failed = true;
		return;
	}
	*a = (struct actuations){.d = d, .run = run, .s = run->switched, .manner = record_switch_manner(d->r, run)};
	list = result(d, results, "Actuations", TERM("actuations"));
	times(a, list);
	column(a, list, FIGURE_SET_POINT, "Set point of the switch", TERM("switchPoint"));
	column(a, list, FIGURE_SET, "Acted at", "basic_measuredValue");
	column(a, list, FIGURE_SET_ERROR, "Error of the set point", "basic_measurementError");
	column(a, list, FIGURE_RESET_POINT, "Reset point", TERM("resetPoint"));
	column(a, list, FIGURE_RESET, "Went back at", TERM("resetValue"));
	column(a, list, FIGURE_RESET_ERROR, "Error of the reset point", TERM("resetError"));
	column(a, list, FIGURE_DEAD_BAND, "Dead band", TERM("deadBand"));
	summary(a, results);
	free(a);
}

void dcc_switch_points(struct dcc *d, xmlNodePtr quantities)
{
	const struct frozen_instrument *i = &d->r->instrument;
	const struct switch_points *s = &i->switch_points;
	const struct {
		const char *name, *ref_type;
		double value;
		bool difference;
	} line[] = {
		{"Set point of the switch", TERM("switchPoint"), s->set, false},
		{"Reset point", TERM("resetPoint"), s->reset, false},
		{"Least dead band", TERM("deadBandLeast"), s->dead_band.low, true},
		{"Greatest dead band", TERM("deadBandGreatest"), s->dead_band.high, true},
	};

	for (size_t k = 0; k < sizeof line / sizeof line[0]; k++)
		dcc_one(d, quantities, "itemQuantity",
			&(struct dcc_value){.name = line[k].name,
					    .ref_type = line[k].ref_type,
					    .of = i->input_quantity,
					    .unit = i->input_unit,
					    .difference = line[k].difference},
			line[k].value, isfinite(line[k].value) ? words_decimals(line[k].value, 6) : 0);
}
