/*
 * The compute documents of DESIGN.md section 5, the same behind HTTP and on the command line, and the JSON of a judged run,
 * which test records show too. docs/metrology.md describes the members.
 */
#ifndef API_COMPUTE_H
#define API_COMPUTE_H

#include "base/json.h"
#include "metrology/diagnosis.h"

/*
 * kind: "evaluation", "characteristic", "fit" or "conversion". *result is a new reference. INVALID with the pointer of the
 * member at fault; NOT_FOUND for another kind.
 */
enum status compute_run(const char *kind, json_t *document, json_t **result, struct err *err);

/* How the numbers of a run are written: units, and decimals as the readings were typed. */
struct run_manner {
	const struct test_setup *setup;
	const char *input_unit, *output_unit; /* symbols */
	int input_decimals, output_decimals;
	int error_decimals, percent_decimals; /* of errors and limits, in the output's unit and in % of span */
};

/*
 * {"expected", "error", "error_percent", "limit_low", "limit_high", "acceptance_low", "acceptance_high", "verdict",
 *  "sentence", "shown_applied", "shown_observed", "shown_expected", "shown_error", "shown_error_percent",
 *  "shown_limit_low", "shown_limit_high", "shown_limits_percent", "shown_uncertainty"}:
 * numbers in the output's unit but error_percent, limits of the error, texts with their unit ("0.19 mA", "±3.00 %");
 * shown_uncertainty is U with k = 2, null when u is 0. A new reference, NULL for no memory.
 */
json_t *judged_reading_to_json(const struct run_manner *m, const struct reading *r, const struct judged_reading *j);

/*
 * The evaluation summary of docs/api.md: verdict, counts, quantities {"value", "percent_of_span", "shown", "shown_percent"}
 * or null, sentence, diagnosis and adjustment (zero and span in the output's unit, predicted_max_error in % of span).
 */
json_t *evaluation_to_json(const struct run_manner *m, const struct evaluation *e, const struct diagnosis *d);

/* {"value", "percent_of_span", "shown", "shown_percent"} of an amount in % of output span; null when it is not finite. */
json_t *quantity_to_json(const struct run_manner *m, double percent);

#endif
