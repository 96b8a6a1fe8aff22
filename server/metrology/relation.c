/*
 * Square root: flow through a primary element goes with the root of its differential pressure (ISO 5167-1). Below
 * the cut-off, where a small error of pressure is a large one of flow, a transmitter gives 0.
 * Equal percentage: phi = phi0 e^(n h) with n = ln R, so that equal steps of travel change the flow by equal
 * percentages of itself (IEC 60534-1 and IEC 60534-2-4, from memory). Modified, so that it closes: straight from
 * nothing up to a travel.
 */
#include "relation.h"

#include "number.h"

double square_root_flow(double cutoff, double dp)
{
	double flow = dp <= 0 ? 0 : sqrt(dp);

	return flow < cutoff ? 0 : flow;
}

double square_root_dp(double cutoff, double flow)
{
	if (flow < 0 || (flow > 0 && flow < cutoff))
		return NOT_A_NUMBER;
	return flow * flow;
}

double square_root_slope(double cutoff, double dp)
{
	if (dp < 0 || sqrt(dp) < cutoff)
		return 0;
	return dp > 0 ? 1 / (2 * sqrt(dp)) : INFINITE;
}

/* The slack lets the ends in, whose fraction of a decimal range is not exact. */
static bool travels(double h)
{
	return h >= TRAVEL_LOW - 1e-12 && h <= TRAVEL_HIGH + 1e-12;
}

static double exponent_flow(double rangeability, double h)
{
	return exponential((h - 1) * logarithm(rangeability));
}

double equal_percentage_flow(double rangeability, double straight, double h)
{
	if (!travels(h))
		return NOT_A_NUMBER;
	if (straight > 0 && h < straight)
		return h / straight * exponent_flow(rangeability, straight);
	return h == 1 ? 1 : exponent_flow(rangeability, h);
}

double equal_percentage_travel(double rangeability, double straight, double flow)
{
	double bend = exponent_flow(rangeability, straight), h;

	if (!(rangeability > 1))
		return NOT_A_NUMBER;
	if (straight > 0 && bend > 0 && flow < bend)
		h = flow / bend * straight;
	else
		h = flow > 0 ? 1 + logarithm(flow) / logarithm(rangeability) : NOT_A_NUMBER;
	return travels(h) ? h : NOT_A_NUMBER;
}

double equal_percentage_slope(double rangeability, double straight, double h)
{
	if (!travels(h))
		return NOT_A_NUMBER;
	if (straight > 0 && h < straight)
		return exponent_flow(rangeability, straight) / straight;
	return logarithm(rangeability) * exponent_flow(rangeability, h);
}
