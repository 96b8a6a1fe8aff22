/*
 * Reads an expression of the Digital SI format (\milli\ampere, \metre\tothe{3}\hour\tothe{-1}) and says what it is worth in
 * coherent SI units. Independent of the program: prefixes and definitions after the SI Brochure, 9th edition (2019), tables
 * 2, 4, 7 and 8; \bar and \mmHg after its 8th edition, table 8 (133.322 Pa); \percent and \ppm after section 5.4.7.
 * An exponent belongs to the prefixed unit before it; \kilogram and \one take no prefix.
 */
#ifndef TESTS_DSI_H
#define TESTS_DSI_H

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

struct dsi_name {
	const char *name;
	double factor;
};

static const struct dsi_name dsi_prefixes[] = {
	{"giga", 1e9},	 {"mega", 1e6},	  {"kilo", 1e3},   {"hecto", 1e2}, {"deca", 1e1},   {"deci", 1e-1},
	{"centi", 1e-2}, {"milli", 1e-3}, {"micro", 1e-6}, {"nano", 1e-9}, {"pico", 1e-12}, {NULL, 0},
};

static const struct dsi_name dsi_units[] = {
	{"metre", 1},	   {"kilogram", 1}, {"second", 1},  {"ampere", 1},     {"kelvin", 1},  {"mole", 1},
	{"candela", 1},	   {"one", 1},	    {"day", 86400}, {"hour", 3600},    {"minute", 60}, {"degree", M_PI / 180},
	{"gram", 1e-3},	   {"radian", 1},   {"hertz", 1},   {"newton", 1},     {"pascal", 1},  {"joule", 1},
	{"watt", 1},	   {"volt", 1},	    {"farad", 1},   {"ohm", 1},	       {"siemens", 1}, {"degreecelsius", 1},
	{"lux", 1},	   {"litre", 1e-3}, {"tonne", 1e3}, {"percent", 1e-2}, {"ppm", 1e-6},  {"bar", 1e5},
	{"mmHg", 133.322}, {NULL, 0},
};

static inline const struct dsi_name *dsi_find(const struct dsi_name *list, const char *name, size_t length)
{
	for (; list->name; list++)
		if (strlen(list->name) == length && strncmp(list->name, name, length) == 0)
			return list;
	return NULL;
}

/* False when it is no such expression. */
static inline bool dsi_read(const char *text, double *factor)
{
	double prefix = 0, last = 0;
	bool has_unit = false;

	*factor = 1;
	while (*text == '\\') {
		size_t length = strcspn(++text, "\\{");
		const struct dsi_name *found;

		if (length == 5 && strncmp(text, "tothe{", 6) == 0) {
			char *end;
			double power = strtod(text + 6, &end);

			if (!has_unit || prefix != 0 || last == 0 || *end != '}')
				return false;
			*factor *= pow(last, power - 1);
			last = 0;
			text = end + 1;
			continue;
		}
		found = dsi_find(dsi_prefixes, text, length);
		if (found) {
			if (prefix != 0)
				return false;
			prefix = found->factor;
		} else {
			found = dsi_find(dsi_units, text, length);
			if (!found ||
			    (prefix != 0 && (strcmp(found->name, "kilogram") == 0 || strcmp(found->name, "one") == 0)))
				return false;
			last = found->factor * (prefix != 0 ? prefix : 1);
			*factor *= last;
			prefix = 0;
			has_unit = true;
		}
		text += length;
	}
	return has_unit && prefix == 0 && *text == '\0';
}

/* In the SI Brochure's 9th edition, so that it may stand alone. */
static inline bool dsi_is_si(const char *text)
{
	double factor;

	return dsi_read(text, &factor) && !strstr(text, "\\bar") && !strstr(text, "\\mmHg") && !strstr(text, "\\ppm");
}

#endif
