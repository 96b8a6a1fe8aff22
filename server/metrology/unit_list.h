/* The units themselves, and the other ways in which their symbols are written. */
#ifndef METROLOGY_UNIT_LIST_H
#define METROLOGY_UNIT_LIST_H

#include "metrology/unit.h"

struct unit_twin {
	const char *written, *symbol;
};

extern const struct unit units[];
extern const int units_count;
extern const struct unit_twin unit_twins[];
extern const int unit_twins_count;

#endif
