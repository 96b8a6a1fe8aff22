#include "api/compute.h"

#include <stdio.h>
#include <string.h>

#include "compute_parts.h"
#include "compute_uncertainty.h"

static const struct {
	const char *kind;
	enum status (*run)(json_t *document, json_t **result, struct err *err);
} kinds[] = {
	{"evaluation", compute_evaluation},   {"characteristic", compute_characteristic},
	{"points", compute_points},	      {"fit", compute_fit},
	{"uncertainty", compute_uncertainty}, {"conformity", compute_conformity},
	{"conversion", compute_conversion},   {"tolerance_class", compute_tolerance_class},
};

#define KINDS (sizeof kinds / sizeof kinds[0])

/* "evaluation, characteristic, fit and conversion" */
static void name_kinds(char *out, size_t size)
{
	size_t used = 0;

	*out = '\0';
	for (size_t i = 0; i < KINDS && used < size; i++)
		used += (size_t)snprintf(out + used, size - used, "%s%s",
					 i == 0		? "" :
					 i == KINDS - 1 ? " and " :
							  ", ",
					 kinds[i].kind);
}

enum status compute_run(const char *kind, json_t *document, json_t **result, struct err *err)
{
	char names[240];

	*result = NULL;
	for (size_t i = 0; i < KINDS; i++)
		if (!strcmp(kinds[i].kind, kind))
			return kinds[i].run(document, result, err);
	name_kinds(names, sizeof names);
	return err_set(err, NOT_FOUND, "", "no computation is called %.40s; there are %s", kind, names);
}
