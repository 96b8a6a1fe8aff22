#include "compute_parts.h"

#include <math.h>
#include <stdio.h>

#include "domain/spec_json.h"

void reject_element(struct json_in *in, const char *name, size_t index, const char *sentence)
{
	char pointer[sizeof in->path + 64];

	if (in->rc)
		return;
	snprintf(pointer, sizeof pointer, "%s/%.20s/%zu", in->path, name, index);
	in->rc = err_set(in->err, INVALID, pointer, "%s", sentence);
}

size_t numbers_read(struct json_in *in, const char *name, size_t max, double *out)
{
	json_t *list = json_in_array(in, name, 1, max);
	size_t n = json_array_size(list);

	for (size_t i = 0; i < n; i++) {
		json_t *v = json_array_get(list, i);

		out[i] = json_number_value(v);
		if (!json_is_number(v))
			reject_element(in, name, i, "a number is needed");
		else if (!(fabs(out[i]) <= QUANTITY_MAX))
			reject_element(in, name, i, "the number must be between -1e+12 and 1e+12");
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
