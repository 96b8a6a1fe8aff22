/* What a tolerance class allows over temperature, in degC and in what the element gives. */
#include <stdio.h>

#include "compute_parts.h"
#include "metrology/format.h"
#include "metrology/tolerance_class.h"

#define DEGREE_DECIMALS 2 /* as the tables of IEC 60751 print it */
#define OUTPUT_DECIMALS 3 /* ohm and mV */

static json_t *value_to_json(const struct tolerance_class *c, double r0, double t)
{
	static const struct range any = {0, 1};
	char limit[NUMBER_TEXT_SIZE], output[NUMBER_TEXT_SIZE], output_limit[NUMBER_TEXT_SIZE];
	struct characteristic element = c->element;
	double in_degrees = tolerance_class_limit(c, t), in_output = tolerance_class_limit_output(c, r0, t), exact;

	element.r0 = r0; /* not looked at by a thermocouple */
	exact = characteristic_forward(&element, any, any, t);
	return json_pack("{s:f, s:f, s:f, s:f, s:s, s:s, s:s}", "temperature", t, "limit", in_degrees, "output", exact,
			 "output_limit", in_output, "shown_limit",
			 format_number(in_degrees, DEGREE_DECIMALS, false, limit), "shown_output",
			 format_number(exact, OUTPUT_DECIMALS, false, output), "shown_output_limit",
			 format_number(in_output, OUTPUT_DECIMALS, false, output_limit));
}

enum status compute_tolerance_class(json_t *document, json_t **result, struct err *err)
{
	double values[VALUES_MAX], r0;
	const struct tolerance_class *c;
	const char *code;
	struct json_in in;
	char reach[120];
	json_t *list;
	size_t n;

	json_in_begin(&in, document, err);
	code = json_in_text(&in, "code", 40);
	r0 = json_in_number_optional(&in, "r0", 1, 10000, 100);
	n = numbers_read(&in, "temperatures", VALUES_MAX, values);
	c = code ? tolerance_class_find(code) : NULL;
	if (code && !c)
		json_in_reject(&in, "code", "there is no tolerance class of this code");
	if (c)
		snprintf(reach, sizeof reach, "the class holds from %g to %g °C", c->low, c->high);
	for (size_t i = 0; c && i < n && !in.rc; i++)
		if (values[i] < c->low || values[i] > c->high)
			json_in_reject_element(&in, "temperatures", i, "%s", reach);
	if (json_in_end(&in))
		return in.rc;
	if (!c)
		return no_memory(err); /* cannot be: a reader without a failure has found one */
	list = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(list, value_to_json(c, r0, values[i]));
	*result = json_pack("{s:s, s:o}", "output_unit", c->element.kind == CHARACTERISTIC_RTD ? "ohm" : "mV", "values",
			    list);
	return *result ? OK : no_memory(err);
}
