/* Looking units up and converting between them; the list with its sources is unit_list.c. */
#include "metrology/unit.h"

#include <stddef.h>
#include "unit_list.h"

static bool same(const char *a, const char *b)
{
	while (*a && *a == *b) {
		a++;
		b++;
	}
	return *a == *b;
}

const struct unit *unit_find(const char *symbol)
{
	for (int i = 0; i < unit_twins_count; i++)
		if (same(unit_twins[i].written, symbol))
			symbol = unit_twins[i].symbol;
	for (int i = 0; i < units_count; i++)
		if (same(units[i].symbol, symbol))
			return &units[i];
	return NULL;
}

const struct unit *unit_at(int index)
{
	return index >= 0 && index < units_count ? &units[index] : NULL;
}

bool unit_convert(double value, const struct unit *from, const struct unit *to, double *out)
{
	if (!same(from->dimension, to->dimension))
		return false;
	if (from == to)
		*out = value; /* not even the last bit changes */
	else
		*out = (value * from->factor + (from->offset - to->offset)) / to->factor;
	return true;
}

static const char *difference_dimension(const struct unit *u)
{
	if (same(u->dimension, "temperature"))
		return "temperature difference";
	if (same(u->dimension, "gauge pressure") || same(u->dimension, "absolute pressure"))
		return "pressure";
	return u->dimension;
}

bool unit_convert_difference(double value, const struct unit *from, const struct unit *to, double *out)
{
	if (!same(difference_dimension(from), difference_dimension(to)))
		return false;
	*out = from == to ? value : value * from->factor / to->factor;
	return true;
}
