/* Which kind computes what; the formulas are in relation.c, rtd.c, thermocouple.c and table.c. */
#include "metrology/characteristic.h"

#include "number.h"
#include "polynomial.h"
#include "relation.h"
#include "rtd.h"
#include "solve.h"
#include "table.h"
#include "thermocouple.h"

static struct callendar own(const struct characteristic *c)
{
	struct callendar k = {c->a, c->b, c->c};

	return c->kind == CHARACTERISTIC_RTD ? iec_60751 : k;
}

static bool maps_ranges(const struct characteristic *c)
{
	return c->kind == CHARACTERISTIC_LINEAR || c->kind == CHARACTERISTIC_SQUARE_ROOT ||
	       c->kind == CHARACTERISTIC_EQUAL_PERCENTAGE;
}

static bool is_resistance(const struct characteristic *c)
{
	return c->kind == CHARACTERISTIC_RTD || c->kind == CHARACTERISTIC_CALLENDAR_VAN_DUSEN;
}

static bool valid_polynomial_at(const struct characteristic *c, double x)
{
	return c->n_coefficients >= 1 && c->n_coefficients <= CHARACTERISTIC_TERMS_MAX && x >= c->validity.low &&
	       x <= c->validity.high;
}

static double polynomial_of(const void *of, double x)
{
	const struct characteristic *c = of;

	return polynomial(c->coefficient, (size_t)c->n_coefficients, x);
}

static double polynomial_slope_of(const void *of, double x)
{
	const struct characteristic *c = of;

	return polynomial_slope(c->coefficient, (size_t)c->n_coefficients, x);
}

static double polynomial_and_slope_of(const void *of, double x, double *slope)
{
	if (slope)
		*slope = polynomial_slope_of(of, x);
	return polynomial_of(of, x);
}

static bool polynomial_inverts(const struct characteristic *c)
{
	return valid_polynomial_at(c, c->validity.low) &&
	       polynomial_trend(c->coefficient, (size_t)c->n_coefficients, c->validity.low, c->validity.high) != 0;
}

/* Fraction of the output for a fraction of the input. */
static double forward_fraction(const struct characteristic *c, double fraction)
{
	if (c->kind == CHARACTERISTIC_SQUARE_ROOT)
		return is_nan(fraction) ? fraction : square_root_flow(c->cutoff / 100, fraction);
	if (c->kind == CHARACTERISTIC_EQUAL_PERCENTAGE)
		return equal_percentage_flow(c->rangeability, c->linear_below / 100, fraction);
	return fraction;
}

static double inverse_fraction(const struct characteristic *c, double fraction)
{
	if (c->kind == CHARACTERISTIC_SQUARE_ROOT)
		return square_root_dp(c->cutoff / 100, fraction);
	if (c->kind == CHARACTERISTIC_EQUAL_PERCENTAGE)
		return equal_percentage_travel(c->rangeability, c->linear_below / 100, fraction);
	return fraction;
}

double characteristic_forward(const struct characteristic *c, struct range input, struct range output, double value)
{
	struct callendar k = own(c);

	if (maps_ranges(c))
		return range_at(output, forward_fraction(c, range_fraction(input, value)));
	if (is_resistance(c))
		return c->r0 > 0 ? c->r0 * rtd_ratio(&k, value) : NOT_A_NUMBER;
	if (c->kind == CHARACTERISTIC_THERMOCOUPLE)
		return thermocouple_emf(c->type, value);
	if (c->kind == CHARACTERISTIC_TABLE)
		return table_value(c, value);
	if (c->kind == CHARACTERISTIC_POLYNOMIAL && valid_polynomial_at(c, value))
		return polynomial_of(c, value);
	return NOT_A_NUMBER;
}

static double polynomial_inverse(const struct characteristic *c, double value)
{
	struct function f = {polynomial_and_slope_of, c};

	return polynomial_inverts(c) ? solve(&f, c->validity.low, c->validity.high, value) : NOT_A_NUMBER;
}

double characteristic_inverse(const struct characteristic *c, struct range input, struct range output, double value)
{
	struct callendar k = own(c);

	if (maps_ranges(c))
		return range_at(input, inverse_fraction(c, range_fraction(output, value)));
	if (is_resistance(c))
		return c->r0 > 0 ? rtd_temperature(&k, value / c->r0) : NOT_A_NUMBER;
	if (c->kind == CHARACTERISTIC_THERMOCOUPLE)
		return thermocouple_temperature(c->type, value);
	if (c->kind == CHARACTERISTIC_TABLE)
		return table_inverse(c, value);
	return c->kind == CHARACTERISTIC_POLYNOMIAL ? polynomial_inverse(c, value) : NOT_A_NUMBER;
}

static double slope_of_fraction(const struct characteristic *c, double fraction)
{
	if (c->kind == CHARACTERISTIC_SQUARE_ROOT)
		return square_root_slope(c->cutoff / 100, fraction);
	if (c->kind == CHARACTERISTIC_EQUAL_PERCENTAGE)
		return equal_percentage_slope(c->rangeability, c->linear_below / 100, fraction);
	return 1;
}

double characteristic_slope(const struct characteristic *c, struct range input, struct range output, double value)
{
	struct callendar k = own(c);

	if (maps_ranges(c))
		return range_span(input) != 0 && !is_nan(value) ?
			       range_span(output) / range_span(input) *
				       slope_of_fraction(c, range_fraction(input, value)) :
			       NOT_A_NUMBER;
	if (is_resistance(c))
		return c->r0 > 0 ? c->r0 * rtd_ratio_slope(&k, value) : NOT_A_NUMBER;
	if (c->kind == CHARACTERISTIC_THERMOCOUPLE)
		return thermocouple_slope(c->type, value);
	if (c->kind == CHARACTERISTIC_TABLE)
		return table_slope(c, value);
	if (c->kind == CHARACTERISTIC_POLYNOMIAL && valid_polynomial_at(c, value))
		return polynomial_slope_of(c, value);
	return NOT_A_NUMBER;
}

/* ---- limits ---- */

static struct range ordered(double a, double b)
{
	struct range r = {smaller(a, b), larger(a, b)};

	return r;
}

static struct range nothing(void)
{
	struct range r = {NOT_A_NUMBER, NOT_A_NUMBER};

	return r;
}

struct range characteristic_domain(const struct characteristic *c, struct range input)
{
	struct range endless = {-INFINITE, INFINITE};

	if (characteristic_fault(c))
		return nothing();
	switch (c->kind) {
	case CHARACTERISTIC_RTD:
	case CHARACTERISTIC_CALLENDAR_VAN_DUSEN:
		return rtd_domain;
	case CHARACTERISTIC_THERMOCOUPLE:
		return thermocouple_domain(c->type);
	case CHARACTERISTIC_EQUAL_PERCENTAGE:
		return ordered(range_at(input, TRAVEL_LOW), range_at(input, TRAVEL_HIGH));
	case CHARACTERISTIC_TABLE:
		return ordered(c->x[0], c->x[c->n_points - 1]);
	case CHARACTERISTIC_POLYNOMIAL:
		return c->validity;
	default:
		return endless;
	}
}

struct range characteristic_image(const struct characteristic *c, struct range input, struct range output)
{
	struct range domain = characteristic_domain(c, input), endless = {-INFINITE, INFINITE};

	if (characteristic_fault(c))
		return nothing();
	if (c->kind == CHARACTERISTIC_LINEAR)
		return endless;
	if (c->kind == CHARACTERISTIC_SQUARE_ROOT)
		return ordered(output.low, range_span(output) > 0 ? INFINITE : -INFINITE);
	if (c->kind == CHARACTERISTIC_THERMOCOUPLE)
		return thermocouple_image(c->type);
	if ((c->kind == CHARACTERISTIC_TABLE && table_trend(c) == 0) ||
	    (c->kind == CHARACTERISTIC_POLYNOMIAL && !polynomial_inverts(c)))
		return nothing();
	return ordered(characteristic_forward(c, input, output, domain.low),
		       characteristic_forward(c, input, output, domain.high));
}

static const char *table_fault(const struct characteristic *c)
{
	if (c->n_points < 2 || c->n_points > TABLE_POINTS_MAX)
		return "a table has 2 to 64 points";
	for (int i = 0; i < c->n_points; i++) {
		if (!is_finite(c->x[i]) || !is_finite(c->y[i]))
			return "the points must be numbers";
		if (i > 0 && !(c->x[i] > c->x[i - 1]))
			return "the points' inputs must ascend from one to the next";
	}
	return NULL;
}

static const char *polynomial_fault(const struct characteristic *c)
{
	if (c->n_coefficients < 1 || c->n_coefficients > CHARACTERISTIC_TERMS_MAX)
		return "a polynomial has 1 to 11 coefficients";
	for (int i = 0; i < c->n_coefficients; i++)
		if (!is_finite(c->coefficient[i]))
			return "the coefficients must be numbers";
	if (!(c->validity.low < c->validity.high) || !is_finite(c->validity.high - c->validity.low))
		return "the range that the polynomial holds for must not be empty: high is above low";
	return NULL;
}

static const char *resistance_fault(const struct characteristic *c)
{
	struct callendar k = own(c);

	if (!(c->r0 > 0) || !is_finite(c->r0))
		return "the resistance at 0 °C must be above 0";
	if (c->kind == CHARACTERISTIC_CALLENDAR_VAN_DUSEN && !rtd_rises(&k))
		return "with these coefficients the resistance does not rise from -200 to 850 °C";
	return NULL;
}

const char *characteristic_fault(const struct characteristic *c)
{
	switch (c->kind) {
	case CHARACTERISTIC_LINEAR:
		return NULL;
	case CHARACTERISTIC_SQUARE_ROOT:
		return c->cutoff >= 0 && c->cutoff < 100 ?
			       NULL :
			       "the cut-off must be at least 0 and below 100 % of the output span";
	case CHARACTERISTIC_RTD:
	case CHARACTERISTIC_CALLENDAR_VAN_DUSEN:
		return resistance_fault(c);
	case CHARACTERISTIC_THERMOCOUPLE:
		return (int)c->type >= 0 && c->type < THERMOCOUPLES ? NULL : "there is no thermocouple of this type";
	case CHARACTERISTIC_EQUAL_PERCENTAGE:
		if (!(c->rangeability > 1) || !is_finite(c->rangeability))
			return "the rangeability must be above 1";
		return c->linear_below >= 0 && c->linear_below < 100 ?
			       NULL :
			       "the straight part must end below 100 % of travel";
	case CHARACTERISTIC_TABLE:
		return table_fault(c);
	case CHARACTERISTIC_POLYNOMIAL:
		return polynomial_fault(c);
	default:
		return "there is no characteristic of this kind";
	}
}
