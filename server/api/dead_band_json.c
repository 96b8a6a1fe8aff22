/* The dead band of a run: the inputs that moved the output, place by place, and the largest. */
#include <math.h>
#include "api/compute.h"
#include "base/json.h"
#include "metrology/format.h"
#include "record_json.h"

static json_t *percent(double v, int decimals)
{
	char text[NUMBER_TEXT_SIZE];

	return isfinite(v) ? json_sprintf("%s %%", format_number(v, decimals, false, text)) : json_null();
}

static json_t *place_json(const struct record *r, const struct record_dead_place *p, int decimals)
{
	const char *unit = r->instrument.input_unit;

	return json_pack("{s:f, s:f, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:s, s:o, s:o}", "percent", p->percent, "set",
			 p->set, "shown_set", shown_quantity(p->set, r->input_decimals, unit), "shown_rising",
			 p->read ? shown_typed(p->rising_text, unit) : json_null(), "shown_falling",
			 p->read ? shown_typed(p->falling_text, unit) : json_null(), "value",
			 json_number_or_null(p->value), "percent_of_input_span", json_number_or_null(p->value_percent),
			 "shown", shown_quantity(p->value, p->decimals, unit), "shown_percent",
			 percent(p->value_percent, decimals), "verdict", verdict_word(p->verdict), "by",
			 json_text_or_null(p->by), "at", json_time_or_null(p->at));
}

json_t *run_dead_band_to_json(const struct record *r, const struct record_run *run)
{
	const struct record_dead_band *d = run->dead_band;
	json_t *places;
	int decimals;

	if (!d)
		return json_null();
	decimals = record_dead_band_decimals(run);
	places = json_array();
	for (size_t i = 0; i < d->n; i++)
		json_array_append_new(places, place_json(r, &d->places[i], decimals));
	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:s, s:o, s:o}", "places", places, "limit_percent",
			 json_number_or_null(d->limit_percent), "shown_limit", percent(d->limit_percent, decimals),
			 "percent_of_input_span", d->worst ? json_number_or_null(d->worst->value_percent) : json_null(),
			 "shown", d->worst ? percent(d->worst->value_percent, decimals) : json_null(), "verdict",
			 verdict_word(d->verdict), "hysteresis_alone", json_number_or_null(d->hysteresis_alone),
			 "shown_hysteresis_alone", percent(d->hysteresis_alone, decimals));
}
