/* What budgets and their simulation share about correlated components. */
#ifndef METROLOGY_CORRELATION_H
#define METROLOGY_CORRELATION_H

#include "metrology/budget.h"

/* Lower triangle L with L L' = correlation; false when there is none. */
bool correlation_factor(const struct budget *b, double factor[COMPONENTS_MAX][COMPONENTS_MAX]);

#endif
