/* The compute kinds uncertainty and conformity. Each takes a document (borrowed) and gives a new reference in
 * *result, or err. */
#ifndef API_COMPUTE_UNCERTAINTY_H
#define API_COMPUTE_UNCERTAINTY_H

#include "base/json.h"

enum status compute_uncertainty(json_t *document, json_t **result, struct err *err);
enum status compute_conformity(json_t *document, json_t **result, struct err *err);

#endif
