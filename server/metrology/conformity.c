#include "metrology/conformity.h"

#include "mathfn.h"
#include "number.h"

/* P(a < Z < b), a <= b, each from the side where it has digits; between neighbouring doubles the last bit of a tail could
 * fall either way, but no probability is below 0. */
static double between(double a, double b)
{
	if (a >= 0)
		return larger(0, normal_tails(a).upper - normal_tails(b).upper);
	if (b <= 0)
		return larger(0, normal_tails(b).lower - normal_tails(a).lower);
	return (normal_central(-a) + normal_central(b)) / 2;
}

static bool usable(double measured, double u, struct limits limits)
{
	return is_finite(measured) && u > 0 && is_finite(u) && limits.low < limits.high;
}

double probability_of_conformity(double measured, double u, struct limits limits)
{
	return usable(measured, u, limits) ? between((limits.low - measured) / u, (limits.high - measured) / u) :
					     NOT_A_NUMBER;
}

double probability_of_nonconformity(double measured, double u, struct limits limits)
{
	if (!usable(measured, u, limits))
		return NOT_A_NUMBER;
	return normal_tails((limits.low - measured) / u).lower + normal_tails((limits.high - measured) / u).upper;
}

double posterior_mean(struct prior prior, double measured, double *u)
{
	/* In units of the larger deviation, so that no square vanishes or grows beyond all bounds. */
	double scale = larger(prior.standard_deviation, *u), before = prior.standard_deviation / scale,
	       now = *u / scale;
	double sum = before * before + now * now;

	*u = smaller(prior.standard_deviation, *u) / sqrt(sum);
	return (prior.mean * (now * now) + measured * (before * before)) / sum;
}

struct limits acceptance_limits(struct limits limits, double w)
{
	return (struct limits){limits.low + w, limits.high - w};
}

double tolerance_ratio(struct limits limits, double accuracy)
{
	double width = limits.high - limits.low;

	return is_finite(width) && accuracy > 0 ? width / (2 * accuracy) : NOT_A_NUMBER;
}

/* ---- global risks ---- */

/* Nodes and weights of the 16-point Gauss-Legendre rule on -1..1, one side (zeros of P16; computed to 20 digits). */
static const double nodes[8][2] = {
	{0.095012509837637440185, 0.18945061045506849629}, {0.28160355077925891323, 0.18260341504492358887},
	{0.45801677765722738634, 0.16915651939500253819},  {0.61787624440264374845, 0.14959598881657673208},
	{0.7554044083550030339, 0.12462897125553387205},   {0.86563120238783174388, 0.09515851168249278481},
	{0.94457502307323257608, 0.062253523938647892863}, {0.9894009349916499326, 0.027152459411754094852},
};

/* One side of the acceptance interval, seen from an item of value x: in sigmas of the reading beyond it. */
struct risk_side {
	struct prior prior;
	double u;
	struct limits acceptance;
	bool accepted; /* of the reading inside; else beyond the upper limit */
};

static double risk_density(const struct risk_side *s, double x)
{
	double density = normal_density((x - s->prior.mean) / s->prior.standard_deviation);

	if (s->accepted)
		return density * between((s->acceptance.low - x) / s->u, (s->acceptance.high - x) / s->u);
	return density * normal_tails((s->acceptance.high - x) / s->u).upper;
}

#define PANELS_MAX 4000

static double integrate(const struct risk_side *s, double from, double to)
{
	double width = 1.5 * smaller(s->u, s->prior.standard_deviation), sum = 0;
	int panels;

	if (!(from < to))
		return 0;
	panels = (to - from) / width < PANELS_MAX ? (int)ceil((to - from) / width) : PANELS_MAX;
	width = (to - from) / panels;
	for (int p = 0; p < panels; p++) {
		double middle = from + (p + 0.5) * width;

		for (int k = 0; k < 8; k++)
			sum += nodes[k][1] * (risk_density(s, middle + nodes[k][0] * width / 2) +
					      risk_density(s, middle - nodes[k][0] * width / 2));
	}
	return sum * width / 2 / s->prior.standard_deviation;
}

static struct limits mirrored(struct limits l)
{
	return (struct limits){-l.high, -l.low};
}

/* Everything seen from the other side, so that the upper side is all there is to work out. */
static struct risk_side mirrored_side(struct risk_side s)
{
	s.prior.mean = -s.prior.mean;
	s.acceptance = mirrored(s.acceptance);
	return s;
}

/* Beyond 12 sigmas of either factor nothing is left; before a mean, 39 sigmas are where a density ends. */
static double consumer_above(struct risk_side s, double limit)
{
	double mean = s.prior.mean, sigma = s.prior.standard_deviation;

	s.accepted = true;
	return integrate(&s, larger(limit, mean - 39 * sigma),
			 smaller(larger(limit, mean) + 12 * sigma, limit + 12 * s.u));
}

static double producer_above(struct risk_side s, struct limits limits)
{
	double mean = s.prior.mean, sigma = s.prior.standard_deviation;
	double from = larger(limits.low, larger(mean - 39 * sigma, s.acceptance.high - 39 * s.u));

	s.accepted = false;
	return integrate(&s, from, smaller(limits.high, larger(from, mean) + 12 * sigma));
}

static double consumer_risk(const struct risk_side *s, struct limits limits)
{
	return s->acceptance.low < s->acceptance.high ?
		       consumer_above(*s, limits.high) + consumer_above(mirrored_side(*s), -limits.low) :
		       0;
}

struct global_risk global_risk(struct prior prior, double u, struct limits limits, struct limits acceptance)
{
	struct risk_side s = {prior, u, acceptance, true};
	struct global_risk r = {NOT_A_NUMBER, NOT_A_NUMBER};

	if (!usable(prior.mean, u, limits) || !(prior.standard_deviation > 0) || is_nan(acceptance.low) ||
	    is_nan(acceptance.high))
		return r;
	r.consumer = consumer_risk(&s, limits);
	if (acceptance.low < acceptance.high)
		r.producer = producer_above(s, limits) + producer_above(mirrored_side(s), mirrored(limits));
	else
		r.producer = probability_of_conformity(prior.mean, prior.standard_deviation, limits);
	return r;
}

/* ---- guard bands for a wanted risk ---- */

struct guard_search {
	struct risk_side side;
	struct limits limits;
	bool global;
};

static double risk_with_guard(const struct guard_search *g, double w)
{
	struct risk_side s = g->side;

	s.acceptance = acceptance_limits(g->limits, w);
	if (g->global)
		return consumer_risk(&s, g->limits);
	return probability_of_nonconformity(is_finite(g->limits.high) ? s.acceptance.high : s.acceptance.low, s.u,
					    g->limits);
}

/* The risk falls with w. Secant steps, and halves of the bracket in between so that it shrinks whatever the curve. */
static double least_guard(const struct guard_search *g, double wanted)
{
	double half = (g->limits.high - g->limits.low) / 2, low = 0, high = is_finite(half) ? half : 40 * g->side.u;
	double at_low = risk_with_guard(g, low) - wanted, at_high = risk_with_guard(g, high) - wanted;

	if (at_low <= 0)
		return 0;
	if (!(at_high <= 0))
		return NOT_A_NUMBER;
	for (int i = 0; i < 120 && high - low > 1e-14 * high; i++) {
		double w = i % 2 ? (low + high) / 2 : low + (high - low) * at_low / (at_low - at_high), at;

		w = smaller(larger(w, low + (high - low) * 1e-3), high - (high - low) * 1e-3);
		at = risk_with_guard(g, w) - wanted;
		if (at > 0) {
			low = w;
			at_low = at;
		} else {
			high = w;
			at_high = at;
		}
	}
	return high;
}

double guard_for_specific_risk(double u, struct limits limits, double wanted)
{
	struct guard_search g = {{{0, 1}, u, limits, true}, limits, false};

	if (!usable(0, u, limits) || !(wanted > 0 && wanted < 1) || (!is_finite(limits.low) && !is_finite(limits.high)))
		return NOT_A_NUMBER;
	return least_guard(&g, wanted);
}

double guard_for_global_risk(struct prior prior, double u, struct limits limits, double wanted)
{
	struct guard_search g = {{prior, u, limits, true}, limits, true};

	if (!usable(prior.mean, u, limits) || !(prior.standard_deviation > 0) || !(wanted > 0 && wanted < 1))
		return NOT_A_NUMBER;
	return least_guard(&g, wanted);
}
