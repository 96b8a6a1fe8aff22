/* Looking units up and converting between them; the list with its sources is unit_list.c. */
#include "metrology/unit.h"

#include <math.h>
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

/*
 * Two scales of temperature meet in zero points that are whole hundredths of the finer one's degrees (273.15, 459.67,
 * 491.67, 32), though not of the coarser one's. So the value is shifted on the finer scale, by exactly that, and no
 * digit is lost: 0 degC is 32 degF and not 31.9999999999999.
 */
static double convert_scale(double value, const struct unit *from, const struct unit *to)
{
	bool from_finer = from->factor < to->factor;
	double finer = from_finer ? from->factor : to->factor;
	double shift = floor((from->offset - to->offset) / finer * 100 + 0.5) / 100;

	return from_finer ? (value + shift) * from->factor / to->factor : value * from->factor / to->factor + shift;
}

bool unit_convert(double value, const struct unit *from, const struct unit *to, double *out)
{
	if (!same(from->dimension, to->dimension))
		return false;
	if (from == to)
		*out = value; /* not even the last bit changes */
	else if (from->offset != to->offset)
		*out = convert_scale(value, from, to);
	else
		*out = value * from->factor / to->factor;
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
