/*
 * A measurement model as people write it: 1000 * V / R + d_drift. Numbers, the names of the components, pi, + - * /
 * ^ ( ) and the functions sqrt exp ln log10 abs sin cos tan asin acos atan sinh cosh tanh min max; angles in radian.
 * Nothing is assigned, and the decimal sign is the point whatever the locale.
 */
#ifndef DOMAIN_MODEL_EXPRESSION_H
#define DOMAIN_MODEL_EXPRESSION_H

#include "base/status.h"
#include "metrology/budget.h"

#define MODEL_CHARACTERS_MAX 500
#define MODEL_NAME_MAX	     32

struct model_expression;

/* A letter, then letters, digits and underscores, and none of the words that the expression itself knows. */
bool model_name_usable(const char *name);

/*
 * The n names (usable, all different) are the components in their order. INVALID with a sentence that says what is
 * wrong at which character (counted from 1); err's field is "model". Owned by the caller.
 */
enum status model_expression_new(const char *text, const char *const *names, int n, struct model_expression **out,
				 struct err *err);
void model_expression_free(struct model_expression *m);

bool model_expression_uses(const struct model_expression *m, int component);

/* For metrology/budget.h; borrows m, which one thread at a time may ask. */
struct model model_expression_model(struct model_expression *m);

#endif
