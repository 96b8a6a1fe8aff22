#include "domain/record_summary.h"
#include <math.h>
#include <stdio.h>
#include "base/json.h"
#include "metrology/format.h"

json_t *record_summary_to_json(const struct record_summary *s)
{
	char number[NUMBER_TEXT_SIZE], shown[NUMBER_TEXT_SIZE + 8];

	snprintf(shown, sizeof shown, "%s %%", format_number(s->worst_as_found, 2, true, number));
	return json_pack(
		"{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}",
		"id", s->id, "number", s->number, "instrument_id", s->instrument_id, "tag", s->tag, "service",
		s->service, "area", s->area, "procedure_code", s->procedure_code, "state", s->state, "verdict_as_found",
		json_text_or_null(s->verdict_as_found), "verdict_as_left", json_text_or_null(s->verdict_as_left),
		"worst_as_found", json_number_or_null(s->worst_as_found), "shown_worst_as_found",
		json_text_or_null(isnan(s->worst_as_found) ? NULL : shown), "adjusted",
		s->adjusted < 0 ? json_null() : json_boolean(s->adjusted), "opened_at", json_time_or_null(s->opened_at),
		"opened_by", json_text_or_null(s->opened_by), "performed_at", json_time_or_null(s->performed_at),
		"tested_at", json_time_or_null(s->tested_at), "performed_by", json_text_or_null(s->performed_by),
		"reviewed_by", json_text_or_null(s->reviewed_by), "certificate_number",
		json_text_or_null(s->certificate_number), "certificate_state", json_text_or_null(s->certificate_state));
}

json_t *record_summaries_to_json(const struct record_summary *s, size_t n)
{
	json_t *array = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(array, record_summary_to_json(&s[i]));
	return array;
}
