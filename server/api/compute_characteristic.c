/* Characteristics forward and inverse, and conversion of units. */
#include <math.h>
#include <string.h>

#include "compute_parts.h"
#include "domain/spec_json.h"
#include "metrology/unit.h"

enum status compute_characteristic(json_t *document, json_t **result, struct err *err)
{
	static const char *const ways[] = {"forward", "inverse", NULL};
	char sentence[200];
	double values[VALUES_MAX];
	struct characteristic c;
	struct range input, output;
	const char *input_unit, *output_unit;
	struct json_in in;
	size_t n;
	int way;

	json_in_begin(&in, document, err);
	characteristic_read(&in, "characteristic", &c);
	range_read(&in, "input", &input, &input_unit);
	range_read(&in, "output", &output, &output_unit);
	characteristic_check(&in, &c, input, input_unit, output_unit);
	way = json_in_word(&in, "direction", ways);
	n = numbers_read(&in, "values", VALUES_MAX, values);
	characteristic_reach(&c, input, way == 1, output, way == 1 ? output_unit : input_unit, sentence,
			     sizeof sentence);
	for (size_t i = 0; i < n && !in.rc; i++) {
		values[i] = way == 0 ? characteristic_forward(&c, input, output, values[i]) :
				       characteristic_inverse(&c, input, output, values[i]);
		if (!isfinite(values[i]))
			json_in_reject_element(&in, "values", i, "%s", sentence);
	}
	if (json_in_end(&in))
		return in.rc;
	*result = json_pack("{s:o}", "values", numbers_to_json(values, n));
	return *result ? OK : no_memory(err);
}

enum status compute_conversion(json_t *document, json_t **result, struct err *err)
{
	const struct unit *from, *to;
	struct json_in in;
	double value, out = NAN;

	json_in_begin(&in, document, err);
	value = json_in_number(&in, "value", -QUANTITY_MAX, QUANTITY_MAX);
	from = unit_find(unit_read(&in, "from"));
	to = unit_find(unit_read(&in, "to"));
	if (from && to && !unit_convert(value, from, to, &out))
		json_in_reject(&in, "to", "%s measures %s, but %s measures %s", from->symbol, from->dimension,
			       to->symbol, to->dimension);
	if (from && !strcmp(from->dimension, "temperature") && value * from->factor + from->offset < -1e-9)
		json_in_reject(&in, "value", "no temperature lies below absolute zero");
	if (from && !strcmp(from->dimension, "absolute pressure") && value < 0)
		json_in_reject(&in, "value", "no absolute pressure lies below zero");
	if (json_in_end(&in))
		return in.rc;
	*result = json_pack("{s:o}", "value", finite_to_json(out));
	return *result ? OK : no_memory(err);
}
