/* Members of the exchange and where they lie: those that the module speaks of. tests/wasm asserts that of the whole none is missing. */
#include <stddef.h>
#include "exchange.h"

#define FIELD(OF, NAME, TYPE)                                           \
	{                                                               \
#OF, #NAME, TYPE, (int32_t)offsetof(struct OF, NAME), 1 \
	}
#define LIST(OF, NAME, TYPE)                                                                      \
	{                                                                                         \
#OF, #NAME, TYPE, (int32_t)offsetof(struct OF, NAME),                             \
			(int32_t)(sizeof((struct OF *)0)->NAME / sizeof((struct OF *)0)->NAME[0]) \
	}
#define SIZE(OF)                                           \
	{                                                  \
#OF, "", "", (int32_t)sizeof(struct OF), 0 \
	}

static const struct layout_field fields[] = {
	FIELD(range, low, "double"),
	FIELD(range, high, "double"),
	SIZE(range),

	FIELD(limits, low, "double"),
	FIELD(limits, high, "double"),
	SIZE(limits),

	FIELD(characteristic, kind, "int"),
	FIELD(characteristic, r0, "double"),
	FIELD(characteristic, type, "int"),
	FIELD(characteristic, a, "double"),
	FIELD(characteristic, b, "double"),
	FIELD(characteristic, c, "double"),
	FIELD(characteristic, cutoff, "double"),
	FIELD(characteristic, rangeability, "double"),
	FIELD(characteristic, linear_below, "double"),
	FIELD(characteristic, interpolation, "int"),
	FIELD(characteristic, n_points, "int"),
	LIST(characteristic, x, "double"),
	LIST(characteristic, y, "double"),
	FIELD(characteristic, n_coefficients, "int"),
	LIST(characteristic, coefficient, "double"),
	FIELD(characteristic, validity, "range"),
	SIZE(characteristic),

	FIELD(tolerance_term, kind, "int"),
	FIELD(tolerance_term, plus, "double"),
	FIELD(tolerance_term, minus, "double"),
	SIZE(tolerance_term),

	LIST(tolerance, terms, "tolerance_term"),
	FIELD(tolerance, n_terms, "int"),
	FIELD(tolerance, join, "int"),
	SIZE(tolerance),

	FIELD(decision_rule, kind, "int"),
	FIELD(decision_rule, guard_factor, "double"),
	SIZE(decision_rule),

	FIELD(test_setup, input, "range"),
	FIELD(test_setup, output, "range"),
	FIELD(test_setup, characteristic, "characteristic"),
	FIELD(test_setup, tolerance, "tolerance"),
	FIELD(test_setup, decision, "decision_rule"),
	FIELD(test_setup, error_at, "int"),
	SIZE(test_setup),

	FIELD(reading, set, "double"),
	FIELD(reading, applied, "double"),
	FIELD(reading, observed, "double"),
	FIELD(reading, direction, "int"),
	FIELD(reading, cycle, "int"),
	FIELD(reading, u, "double"),
	SIZE(reading),

	FIELD(judged_reading, expected, "double"),
	FIELD(judged_reading, error, "double"),
	FIELD(judged_reading, error_percent, "double"),
	FIELD(judged_reading, limits, "limits"),
	FIELD(judged_reading, acceptance, "limits"),
	FIELD(judged_reading, verdict, "int"),
	SIZE(judged_reading),

#ifdef CORE_WHOLE
	FIELD(evaluation, verdict, "int"),
	FIELD(evaluation, judged, "int"),
	FIELD(evaluation, failed, "int"),
	FIELD(evaluation, worst, "int"),
	FIELD(evaluation, worst_ratio, "double"),
	FIELD(evaluation, max_error, "double"),
	FIELD(evaluation, max_error_plus, "double"),
	FIELD(evaluation, max_error_minus, "double"),
	FIELD(evaluation, zero_error, "double"),
	FIELD(evaluation, span_error, "double"),
	FIELD(evaluation, hysteresis, "double"),
	FIELD(evaluation, hysteresis_cycle, "double"),
	FIELD(evaluation, repeatability, "double"),
	LIST(evaluation, linearity, "double"),
	FIELD(evaluation, line_a, "double"),
	FIELD(evaluation, line_b, "double"),
	FIELD(evaluation, max_mean_error, "double"),
	SIZE(evaluation),
#endif
#ifdef CORE_WHOLE
	LIST(diagnosis, share, "double"),
	LIST(diagnosis, size, "double"),
	LIST(diagnosis, order, "int"),
	FIELD(diagnosis, adjust, "bool"),
	FIELD(diagnosis, trim_helps, "bool"),
	FIELD(diagnosis, zero_trim, "double"),
	FIELD(diagnosis, span_trim, "double"),
	FIELD(diagnosis, predicted_max_error, "double"),
	FIELD(diagnosis, limits_set, "bool"),
	LIST(diagnosis, p_value, "double"),
	LIST(diagnosis, significant, "bool"),
	FIELD(diagnosis, noise_dof, "int"),
	FIELD(diagnosis, lowest, "double"),
	FIELD(diagnosis, highest, "double"),
	FIELD(diagnosis, mean, "double"),
	FIELD(diagnosis, bend, "double"),
	FIELD(diagnosis, call, "int"),
	SIZE(diagnosis),
#endif
#ifdef CORE_WHOLE
	FIELD(point_summary, set, "double"),
	FIELD(point_summary, rising, "double"),
	FIELD(point_summary, falling, "double"),
	FIELD(point_summary, mean, "double"),
	FIELD(point_summary, hysteresis, "double"),
	FIELD(point_summary, repeatability, "double"),
	FIELD(point_summary, readings, "int"),
	SIZE(point_summary),
#endif
	FIELD(reference, expanded, "double"),
	FIELD(reference, coverage_factor, "double"),
	SIZE(reference),

#ifdef CORE_WHOLE
	FIELD(test_point, percent, "double"),
	FIELD(test_point, set, "double"),
	FIELD(test_point, direction, "int"),
	FIELD(test_point, cycle, "int"),
	SIZE(test_point),
#endif
	FIELD(switch_spec, input, "range"),
	FIELD(switch_spec, set_point, "double"),
	FIELD(switch_spec, reset_point, "double"),
	FIELD(switch_spec, acts_on, "int"),
	FIELD(switch_spec, tolerance, "tolerance"),
	FIELD(switch_spec, dead_band, "limits"),
	FIELD(switch_spec, decision, "decision_rule"),
	FIELD(switch_spec, u, "double"),
	SIZE(switch_spec),

	FIELD(actuation, set, "double"),
	FIELD(actuation, reset, "double"),
	SIZE(actuation),

	FIELD(judged_actuation, set_error, "double"),
	FIELD(judged_actuation, reset_error, "double"),
	FIELD(judged_actuation, dead_band, "double"),
	FIELD(judged_actuation, set_verdict, "int"),
	FIELD(judged_actuation, reset_verdict, "int"),
	FIELD(judged_actuation, dead_band_verdict, "int"),
	SIZE(judged_actuation),

	FIELD(switch_summary, verdict, "int"),
	FIELD(switch_summary, set_verdict, "int"),
	FIELD(switch_summary, reset_verdict, "int"),
	FIELD(switch_summary, dead_band_verdict, "int"),
	FIELD(switch_summary, set, "double"),
	FIELD(switch_summary, reset, "double"),
	FIELD(switch_summary, dead_band, "double"),
	FIELD(switch_summary, set_error, "double"),
	FIELD(switch_summary, max_set_error, "double"),
	FIELD(switch_summary, set_repeatability, "double"),
	FIELD(switch_summary, reset_repeatability, "double"),
	FIELD(switch_summary, limits, "limits"),
	FIELD(switch_summary, reset_limits, "limits"),
	SIZE(switch_summary),

	FIELD(exchange, setup, "test_setup"),
#ifdef CORE_WHOLE
	FIELD(exchange, adjust, "tolerance"),
	FIELD(exchange, left, "tolerance"),
#endif
	LIST(exchange, input_unit, "char"),
	LIST(exchange, output_unit, "char"),
	FIELD(exchange, input_decimals, "int"),
	FIELD(exchange, output_decimals, "int"),
	LIST(exchange, readings, "reading"),
	LIST(exchange, judged, "judged_reading"),
#ifdef CORE_WHOLE
	FIELD(exchange, sum, "evaluation"),
	FIELD(exchange, diagnosis, "diagnosis"),
	LIST(exchange, sentence, "char"),
	LIST(exchange, advice, "char"),
	LIST(exchange, summaries, "point_summary"),
	FIELD(exchange, n_summaries, "int"),
#endif
	FIELD(exchange, input_reference, "reference"),
	FIELD(exchange, output_reference, "reference"),
#ifdef CORE_WHOLE
	LIST(exchange, percent, "double"),
	LIST(exchange, points, "test_point"),
#endif
	FIELD(exchange, spec, "switch_spec"),
	LIST(exchange, actuations, "actuation"),
	LIST(exchange, judged_actuations, "judged_actuation"),
	FIELD(exchange, switch_sum, "switch_summary"),
#ifdef CORE_WHOLE
	FIELD(exchange, range, "range"),
	FIELD(exchange, limits, "limits"),
	LIST(exchange, from, "char"),
	LIST(exchange, to, "char"),
#endif
	LIST(exchange, text, "char"),
	SIZE(exchange),

	{NULL, NULL, NULL, 0, 0},
};

const struct layout_field *core_layout(void)
{
	return fields;
}
