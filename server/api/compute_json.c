/* A judged run as JSON: every number with the text that people read, made once, by the core. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "api/compute.h"
#include "metrology/format.h"

#define SHOWN_SIZE (2 * NUMBER_TEXT_SIZE + 64)

static double percent_unit(const struct run_manner *m)
{
	return fabs(range_span(m->setup->output)) / 100;
}

/* NaN and infinities do not leave the server. */
static json_t *number(double v)
{
	return json_number_or_null(isfinite(v) ? v : NAN);
}

static int larger(int a, int b)
{
	return a > b ? a : b;
}

static json_t *shown(double v, int decimals, bool plus, const char *unit)
{
	char number_text[NUMBER_TEXT_SIZE], text[SHOWN_SIZE];

	if (!isfinite(v))
		return json_null();
	snprintf(text, sizeof text, "%s %s", format_number(v, decimals, plus, number_text), unit);
	return json_string(text);
}

static json_t *shown_limits(struct limits percent, int decimals)
{
	char low[NUMBER_TEXT_SIZE], high[NUMBER_TEXT_SIZE], text[SHOWN_SIZE];

	if (!isfinite(percent.low) || !isfinite(percent.high))
		return json_null();
	if (round_decimals(percent.high, decimals) == round_decimals(-percent.low, decimals))
		snprintf(text, sizeof text, "±%s %%", format_number(percent.high, decimals, false, high));
	else
		snprintf(text, sizeof text, "%s to %s %%", format_number(percent.low, decimals, true, low),
			 format_number(percent.high, decimals, true, high));
	return json_string(text);
}

json_t *judged_reading_to_json(const struct run_manner *m, const struct reading *r, const struct judged_reading *j)
{
	int decimals = m->error_decimals, percent = m->percent_decimals;
	struct limits limits_percent = {j->limits.low / percent_unit(m), j->limits.high / percent_unit(m)};
	char sentence[SENTENCE_SIZE];

	reading_sentence(m->setup, r, j, m->input_unit, m->output_unit, m->input_decimals, m->output_decimals,
			 sentence);
	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}",
			 "expected", number(j->expected), "error", number(j->error), "error_percent",
			 number(j->error_percent), "limit_low", number(j->limits.low), "limit_high",
			 number(j->limits.high), "acceptance_low", number(j->acceptance.low), "acceptance_high",
			 number(j->acceptance.high), "verdict", verdict_word(j->verdict), "sentence", sentence,
			 "shown_applied",
			 shown(isnan(r->applied) ? r->set : r->applied, m->input_decimals, false, m->input_unit),
			 "shown_observed", shown(r->observed, m->output_decimals, false, m->output_unit),
			 "shown_expected", shown(j->expected, decimals, false, m->output_unit), "shown_error",
			 shown(j->error, decimals, true, m->output_unit), "shown_error_percent",
			 shown(j->error_percent, percent, true, "%"), "shown_limit_low",
			 shown(j->limits.low, decimals, true, m->output_unit), "shown_limit_high",
			 shown(j->limits.high, decimals, true, m->output_unit), "shown_limits_percent",
			 shown_limits(limits_percent, percent), "shown_uncertainty",
			 r->u > 0 ? shown(2 * r->u, larger(decimals, decimals_for(2 * r->u)), false, m->output_unit) :
				    json_null());
}

json_t *quantity_to_json(const struct run_manner *m, double percent)
{
	double value = percent * percent_unit(m);

	if (!isfinite(percent))
		return json_null();
	return json_pack("{s:f, s:f, s:o, s:o}", "value", value, "percent_of_span", percent, "shown",
			 shown(value, m->error_decimals, false, m->output_unit), "shown_percent",
			 shown(percent, m->percent_decimals, false, "%"));
}

/* Zero, span and curvature have a sign, the others a size. */
static json_t *causes_to_json(const struct run_manner *m, const struct diagnosis *d)
{
	json_t *list = json_array();

	for (int i = 0; i < CAUSES; i++) {
		enum cause c = d->order[i];
		bool is_signed = c == CAUSE_ZERO || c == CAUSE_SPAN || c == CAUSE_CURVATURE;

		json_array_append_new(
			list, json_pack("{s:s, s:o, s:o, s:o, s:o, s:s, s:o, s:o}", "cause", cause_word(c), "share",
					number(d->share[c]), "shown_share", shown(100 * d->share[c], 0, false, "%"),
					"size_percent", number(d->size[c]), "shown_size",
					shown(d->size[c], m->percent_decimals, is_signed, "%"), "advice",
					cause_advice(c), "p_value", number(d->p_value[c]), "significant",
					isnan(d->p_value[c]) ? json_null() : json_boolean(d->significant[c])));
	}
	return list;
}

/* The same amount of the loop's signal, where the output is one or where the instrument is linear and the input is. */
static double in_milliamperes(const struct run_manner *m, double amount)
{
	double fraction = amount / range_span(m->setup->output);

	if (!strcmp(m->output_unit, "mA"))
		return amount;
	if (!strcmp(m->input_unit, "mA") && m->setup->characteristic.kind == CHARACTERISTIC_LINEAR)
		return fraction * range_span(m->setup->input);
	return NAN;
}

static json_t *adjustment_to_json(const struct run_manner *m, const struct diagnosis *d)
{
	char sentence[SENTENCE_SIZE];

	advice_sentence_with_input(d, m->setup, m->output_unit, m->output_decimals, m->input_unit, m->input_decimals,
				   sentence);
	return json_pack("{s:b, s:b, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:s}", "needed", d->adjust, "trim_helps",
			 d->trim_helps, "zero", number(d->zero_trim), "span", number(d->span_trim), "zero_percent",
			 number(d->zero_trim / percent_unit(m)), "span_percent", number(d->span_trim / percent_unit(m)),
			 "zero_ma", number(in_milliamperes(m, d->zero_trim)), "span_ma",
			 number(in_milliamperes(m, d->span_trim)), "predicted_max_error",
			 number(d->predicted_max_error), "sentence", sentence);
}

json_t *evaluation_to_json(const struct run_manner *m, const struct evaluation *e, const struct diagnosis *d)
{
	char sentence[SENTENCE_SIZE];

	diagnosis_sentence(d, e, sentence);
	return json_pack(
		"{s:s, s:i, s:i, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:{s:o, s:o, s:o, s:o}, s:s, s:o, s:o}",
		"verdict", verdict_word(e->verdict), "judged", e->judged, "failed", e->failed, "max_error",
		quantity_to_json(m, e->max_error), "max_error_plus", quantity_to_json(m, e->max_error_plus),
		"max_error_minus", quantity_to_json(m, e->max_error_minus), "max_mean_error",
		quantity_to_json(m, e->max_mean_error), "zero_error", quantity_to_json(m, e->zero_error), "span_error",
		quantity_to_json(m, e->span_error), "hysteresis", quantity_to_json(m, e->hysteresis),
		"hysteresis_cycle", quantity_to_json(m, e->hysteresis_cycle), "repeatability",
		quantity_to_json(m, e->repeatability), "linearity", "independent",
		quantity_to_json(m, e->linearity[LINE_INDEPENDENT]), "terminal",
		quantity_to_json(m, e->linearity[LINE_TERMINAL]), "zero", quantity_to_json(m, e->linearity[LINE_ZERO]),
		"least_squares", quantity_to_json(m, e->linearity[LINE_LEAST_SQUARES]), "sentence", sentence,
		"diagnosis", causes_to_json(m, d), "adjustment", adjustment_to_json(m, d));
}
