/*
 * Ranges, characteristics, tolerances and decision rules as JSON: the one reader and the one writer of each, shared
 * by the register, the frozen documents of test records and the compute documents (DESIGN.md section 5,
 * docs/metrology.md).
 *
 * Each x_read reads a member that must be there and leaves its failure in the reader; *out is then harmless. For a
 * member that may be absent or null ask json_in_has first.
 */
#ifndef DOMAIN_SPEC_JSON_H
#define DOMAIN_SPEC_JSON_H

#include "base/json.h"
#include "metrology/evaluation.h"
#include "metrology/switch.h"

#define QUANTITY_MAX	    1e12  /* no number of an instrument is larger in magnitude, in whatever unit */
#define SPAN_MIN	    1e-12 /* no span is smaller, nor than a billionth of the range's larger end */
#define UNIT_CHARACTERS_MAX 24

/* "unit": a symbol that metrology/unit.h knows. Borrowed from its list; "" after a failure. */
const char *unit_read(struct json_in *object, const char *name);

/* {"low", "high", "unit"}: finite, and high differs from low by a span (the failure points at high). */
void range_read(struct json_in *in, const char *name, struct range *out, const char **unit);
/* The same three members of an object that has others too. */
void range_members_read(struct json_in *object, struct range *out, const char **unit);
json_t *range_to_json(struct range r, const char *unit);

/*
 * {"kind", ...}: "linear"; "square_root", "cutoff"? in % of output span; "rtd", "r0" in ohm, 1..100000;
 * "callendar_van_dusen", "r0", "a", "b", "c"; "thermocouple", "type": "B" "E" "J" "K" "N" "R" "S" "T";
 * "equal_percentage", "rangeability", "linear_below"? in % of travel; "table", "points": [[input, output], ...]
 * (2..64, inputs ascending), "interpolation"?: "linear" | "monotone_cubic"; "polynomial", "coefficients": [of 1, x,
 * x^2, ...] (1..11), "validity": {"low", "high"}.
 */
void characteristic_read(struct json_in *in, const char *name, struct characteristic *out);
json_t *characteristic_to_json(const struct characteristic *c);
/*
 * What a characteristic asks of the ranges it stands beside: a resistance thermometer or thermocouple reads in
 * degrees Celsius and gives ohm or mV, and every kind covers the input's range. The failure points into the members
 * "input" and "output" of in.
 */
void characteristic_check(struct json_in *in, const struct characteristic *c, struct range input,
			  const char *input_unit, const char *output_unit);

/*
 * "thermocouple type K (IEC 60584-1) reaches from -270 °C to 1372 °C": the inputs it is defined for, or with inverse
 * the outputs that the inverse answers. Returns out.
 */
char *characteristic_reach(const struct characteristic *c, struct range input, bool inverse, struct range output,
			   const char *unit, char *out, size_t size);

/* {"terms": [{"kind", "plus", "minus"?}], "join"}; 1..TOLERANCE_TERMS_MAX terms; minus is as plus when absent. */
void tolerance_read(struct json_in *in, const char *name, struct tolerance *out);
json_t *tolerance_to_json(const struct tolerance *t); /* null without terms */

/* {"rule": "simple" | "guarded", "guard_factor"?: 0..3, 1 when absent}. */
void decision_read(struct json_in *in, const char *name, struct decision_rule *out);
json_t *decision_to_json(const struct decision_rule *d);

/*
 * A switch's data: the members "set_point", "reset_point"?, "acts_on": "rising" | "falling", "dead_band"?: {"low"?, "high"?}
 * of an object, all in the input's unit. The reset point lies on the side that the input comes back to.
 */
void switch_points_read(struct json_in *object, struct switch_points *out);
json_t *switch_points_to_json(const struct switch_points *p);
extern const char *const point_pattern_words[]; /* by enum point_pattern, then NULL */
const char *direction_word(enum direction d);	/* "rising", "falling" */

#endif
