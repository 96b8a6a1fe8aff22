/* What the judging of a whole run shares with the judging of one error. */
#ifndef METROLOGY_JUDGE_H
#define METROLOGY_JUDGE_H

#include "metrology/evaluation.h"

/* The larger of |span| and the range's ends: readings far from zero carry more binary noise than the span tells. */
double judging_scale(struct range output);
/* The error in whole quanta of this scale, as a decimal: 78.1 - 75 is 3.1 and not 3.0999999999999943. */
double whole_quanta(double error, double scale);
/* w = guard_factor * 2 u under the guarded rule, else 0 (ILAC-G8:09/2019, U with k = 2). */
double guard_band(const struct decision_rule *rule, double u);
/* judge() with the guard band at hand and any scale. */
enum verdict judge_scaled(double error, struct limits limits, double scale, double guard);
/* Inside the limits themselves; false without limits. */
bool inside(double error, struct limits limits, double scale);

#endif
