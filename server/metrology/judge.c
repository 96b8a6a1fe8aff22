/*
 * Limits and verdicts. Readings are decimal but their difference in binary is not: 12.016 - 12.000 comes out a little above
 * 0.016. So an error is compared with its limit in whole counts of a quantum q, 10^-12 of the scale rounded up to a power of
 * ten: round((error - limit) / q) <= 0 is inside. The quantum lies far below any resolution and far above the noise of the
 * subtraction (at most a few 10^-16 of the scale).
 */
#include "judge.h"

#include <limits.h>
#include "metrology/format.h"
#include "number.h"

#define DECIMALS_MAX 9

static double magnitude_of_reach(struct range r)
{
	return larger(fabs(r.low), fabs(r.high));
}

struct limits tolerance_limits(const struct tolerance *t, struct range output, double expected)
{
	struct limits l = {NOT_A_NUMBER, NOT_A_NUMBER};
	double plus = 0, minus = 0;

	if (t->n_terms <= 0)
		return l;
	for (int i = 0; i < t->n_terms && i < TOLERANCE_TERMS_MAX; i++) {
		const struct tolerance_term *term = &t->terms[i];
		double unit = 1;

		if (term->kind == TOLERANCE_PERCENT_OF_SPAN)
			unit = fabs(range_span(output)) / 100;
		else if (term->kind == TOLERANCE_PERCENT_OF_READING)
			unit = fabs(expected) / 100;
		else if (term->kind == TOLERANCE_PERCENT_OF_HIGH)
			unit = magnitude_of_reach(output) / 100;
		if (t->join == JOIN_SUM) {
			plus += term->plus * unit;
			minus += term->minus * unit;
		} else {
			plus = larger(plus, term->plus * unit);
			minus = larger(minus, term->minus * unit);
		}
	}
	l.low = 0 - minus;
	l.high = plus;
	return l;
}

/* The smaller side of the limits at the end of the range where they are tightest; 0 when none is set or none allowed. */
static double tightest_limit(const struct tolerance *t, struct range output)
{
	double tightest = 0;

	for (int end = 0; t && end < 2; end++) {
		struct limits l = tolerance_limits(t, output, end ? output.high : output.low);
		double side[2] = {l.high, -l.low};

		for (int k = 0; k < 2; k++)
			if (side[k] > 0 && (tightest == 0 || side[k] < tightest))
				tightest = side[k];
	}
	return tightest;
}

int tolerance_error_decimals(const struct tolerance *t, struct range output, int output_decimals)
{
	double limit = tightest_limit(t, output);
	int needed = limit > 0 ? decimals_for(limit) : 0;

	return needed > output_decimals ? needed : output_decimals;
}

int tolerance_percent_decimals(const struct tolerance *t, struct range output)
{
	double limit = tightest_limit(t, output), span = fabs(range_span(output));
	int needed = limit > 0 && span > 0 ? decimals_for(limit / span * 100) : 2;

	return needed > 1 ? needed : 1;
}

int verdict_decimals(double amount, struct limits limits, enum verdict verdict, int least)
{
	bool is_inside = verdict < VERDICT_CONDITIONAL_FAIL;
	int decimals = least;

	if (verdict == VERDICT_NOT_JUDGED)
		return least;
	for (; decimals < DECIMALS_MAX; decimals++) {
		double shown = round_decimals(amount, decimals);
		bool above = shown > round_decimals(limits.high, decimals);
		bool below = shown < round_decimals(limits.low, decimals);

		if (is_inside != (above || below))
			break;
	}
	return decimals;
}

int judged_percent_decimals(const struct judged_reading *j, struct range output, int least)
{
	double unit = fabs(range_span(output)) / 100;

	if (unit == 0)
		return least;
	return verdict_decimals(j->error_percent, (struct limits){j->limits.low / unit, j->limits.high / unit},
				j->verdict, least);
}

double judging_scale(struct range output)
{
	return larger(fabs(range_span(output)), magnitude_of_reach(output));
}

static double quantum_of(double scale)
{
	int exponent = decimal_ceiling(scale);

	return exponent == INT_MIN || exponent < -18 ? scale * 1e-12 : power_of_ten(exponent - 12);
}

double whole_quanta(double error, double scale)
{
	int exponent = decimal_ceiling(scale);
	double power, quanta;

	if (exponent < -10 || exponent > 12)
		return error;
	power = power_of_ten(12 - exponent); /* exact, so the quotient is the double nearest to the decimal */
	quanta = floor(fabs(error) * power + 0.5);
	if (!(quanta < 0x1p53))
		return error;
	return error < 0 ? 0 - quanta / power : quanta / power;
}

/* round(excess / q) <= 0, written without the division so that nothing overflows. */
static bool within(double excess, double quantum)
{
	return excess < quantum / 2;
}

static bool between(double error, double low, double high, double quantum)
{
	return within(error - high, quantum) && within(low - error, quantum);
}

double guard_band(const struct decision_rule *rule, double u)
{
	return rule->kind == DECISION_GUARDED ? rule->guard_factor * (2 * u) : 0;
}

enum verdict judge_scaled(double error, struct limits limits, double scale, double guard)
{
	double quantum = quantum_of(fabs(scale));

	if (is_nan(error) || is_nan(limits.low) || is_nan(limits.high) || !(guard >= 0) || !(quantum > 0) ||
	    !is_finite(quantum))
		return VERDICT_NOT_JUDGED;
	if (between(error, limits.low + guard, limits.high - guard, quantum))
		return VERDICT_PASS;
	if (between(error, limits.low, limits.high, quantum))
		return VERDICT_CONDITIONAL_PASS;
	if (guard > 0 && between(error, limits.low - guard, limits.high + guard, quantum))
		return VERDICT_CONDITIONAL_FAIL;
	return VERDICT_FAIL;
}

enum verdict judge(double error, struct limits limits, double span, const struct decision_rule *rule, double u)
{
	return judge_scaled(error, limits, span, guard_band(rule, u));
}

bool inside(double error, struct limits limits, double scale)
{
	return judge_scaled(error, limits, scale, 0) == VERDICT_PASS;
}
