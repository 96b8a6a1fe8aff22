#include "compute_parts.h"

#include <math.h>
#include <stdio.h>

#include "domain/spec_json.h"

size_t numbers_read(struct json_in *in, const char *name, size_t max, double *out)
{
	json_t *list = json_in_array(in, name, 1, max);
	size_t n = json_array_size(list);

	for (size_t i = 0; i < n; i++) {
		json_t *v = json_array_get(list, i);

		out[i] = json_number_value(v);
		if (!json_is_number(v))
			json_in_reject_element(in, name, i, "a number is needed");
		else if (!(fabs(out[i]) <= QUANTITY_MAX))
			json_in_reject_element(in, name, i, "the number must be between -1e+12 and 1e+12");
	}
	return n;
}

json_t *finite_to_json(double v)
{
	return json_number_or_null(isfinite(v) ? v : NAN);
}

enum status no_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

json_t *numbers_to_json(const double *v, size_t n)
{
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(list, finite_to_json(v[i]));
	return list;
}
