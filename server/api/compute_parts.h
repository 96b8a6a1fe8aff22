/* What the compute kinds share, and the kinds that compute.c lists. */
#ifndef API_COMPUTE_PARTS_H
#define API_COMPUTE_PARTS_H

#include "base/json.h"

#define VALUES_MAX 400 /* numbers in a list of a compute document */

/*
 * A list of 1..max numbers within +-QUANTITY_MAX into out; returns how many there are. A failure stays in the reader and
 * points at the element.
 */
size_t numbers_read(struct json_in *in, const char *name, size_t max, double *out);
json_t *finite_to_json(double v); /* null when it is not finite: NaN and infinities do not leave the server */
json_t *numbers_to_json(const double *v, size_t n);
enum status no_memory(struct err *err);

/* Each takes a document (borrowed) and gives a new reference in *result, or leaves it NULL with err. */
enum status compute_evaluation(json_t *document, json_t **result, struct err *err);
enum status compute_switch(json_t *document, json_t **result, struct err *err); /* an evaluation with a switch */
enum status compute_characteristic(json_t *document, json_t **result, struct err *err);
enum status compute_points(json_t *document, json_t **result, struct err *err);
enum status compute_fit(json_t *document, json_t **result, struct err *err);
enum status compute_conversion(json_t *document, json_t **result, struct err *err);
enum status compute_tolerance_class(json_t *document, json_t **result, struct err *err);

#endif
