#include "rtd.h"

#include "number.h"
#include "polynomial.h"
#include "solve.h"

const struct callendar iec_60751 = {3.9083e-3, -5.775e-7, -4.183e-12};
const struct range rtd_domain = {-200, 850};

static double ratio_at(const void *of, double t)
{
	const struct callendar *k = of;
	double cubic = t < 0 ? k->c * (t - 100) * t * t * t : 0;

	return 1 + k->a * t + k->b * t * t + cubic;
}

static double slope_at(const void *of, double t)
{
	const struct callendar *k = of;
	double cubic = t < 0 ? k->c * (4 * t - 300) * t * t : 0;

	return k->a + 2 * k->b * t + cubic;
}

static double ratio_and_slope(const void *of, double t, double *slope)
{
	if (slope)
		*slope = slope_at(of, t);
	return ratio_at(of, t);
}

static bool covers(double t)
{
	return t >= rtd_domain.low && t <= rtd_domain.high;
}

double rtd_ratio(const struct callendar *k, double t)
{
	return covers(t) ? ratio_at(k, t) : NOT_A_NUMBER;
}

double rtd_ratio_slope(const struct callendar *k, double t)
{
	return covers(t) ? slope_at(k, t) : NOT_A_NUMBER;
}

bool rtd_rises(const struct callendar *k)
{
	const double below[] = {1, k->a, k->b, -100 * k->c, k->c};

	return polynomial_trend(below, 5, rtd_domain.low, 0) == 1 &&
	       polynomial_trend(below, 3, 0, rtd_domain.high) == 1;
}

double rtd_temperature(const struct callendar *k, double ratio)
{
	struct function f = {ratio_and_slope, k};

	if (ratio < 1)
		return solve(&f, rtd_domain.low, 0, ratio);
	if (!(ratio <= ratio_at(k, rtd_domain.high)))
		return NOT_A_NUMBER;
	/* The smaller root of B t^2 + A t + 1 - ratio = 0, written so that nothing cancels near 0 degC. */
	return smaller(rtd_domain.high, 2 * (ratio - 1) / (k->a + sqrt(k->a * k->a - 4 * k->b * (1 - ratio))));
}
