#include "metrology/budget.h"

#include <limits.h>
#include "correlation.h"
#include "metrology/format.h"
#include "metrology/statistics.h"
#include "number.h"

#define SQRT_2 1.4142135623730950488
#define SQRT_3 1.7320508075688772935
#define SQRT_6 2.4494897427831780982

double standard_of_half_width(enum distribution d, double half_width)
{
	if (d == DISTRIBUTION_RECTANGULAR)
		return half_width / SQRT_3;
	if (d == DISTRIBUTION_TRIANGULAR)
		return half_width / SQRT_6;
	return d == DISTRIBUTION_U_SHAPED ? half_width / SQRT_2 : NOT_A_NUMBER;
}

double budget_estimate(const struct budget *b, const struct model *m)
{
	double x[COMPONENTS_MAX], y = 0;

	for (int i = 0; i < b->n; i++) {
		x[i] = b->component[i].estimate;
		y += b->component[i].sensitivity * x[i];
	}
	if (m)
		m->values(m->context, x, 1, &y);
	return y;
}

/* ---- correlation ---- */

/*
 * Cholesky's factor of a matrix that may be singular (r = 1 or -1): a pivot that is nothing but rounding counts as
 * 0, and what stands below it must then be 0 too.
 */
bool correlation_factor(const struct budget *b, double factor[COMPONENTS_MAX][COMPONENTS_MAX])
{
	for (int j = 0; j < b->n; j++) {
		double pivot = b->correlation[j][j];

		for (int k = 0; k < j; k++)
			pivot -= factor[j][k] * factor[j][k];
		if (pivot < -1e-12)
			return false;
		factor[j][j] = pivot > 1e-12 ? sqrt(pivot) : 0;
		for (int i = j + 1; i < b->n; i++) {
			double rest = b->correlation[i][j];

			for (int k = 0; k < j; k++)
				rest -= factor[i][k] * factor[j][k];
			if (factor[j][j] == 0 && fabs(rest) > 1e-6)
				return false;
			factor[i][j] = factor[j][j] > 0 ? rest / factor[j][j] : 0;
			factor[j][i] = 0;
		}
	}
	return true;
}

bool budget_correlations_possible(const struct budget *b)
{
	double factor[COMPONENTS_MAX][COMPONENTS_MAX];

	return !b->correlated || correlation_factor(b, factor);
}

/* ---- combination ---- */

/* G.4.1 leaves it open whether 18.9987 means 18 or, as printed there, 19.0; one decimal settles it for both printed
 * examples. */
static double whole_dof(double dof)
{
	return is_finite(dof) ? larger(1, floor(floor(dof * 10 + 0.5) / 10)) : dof;
}

/* Components that hang together by correlations get the same number. */
static void find_groups(const struct budget *b, int group[COMPONENTS_MAX])
{
	for (int i = 0; i < b->n; i++)
		group[i] = i;
	for (int i = 0; b->correlated && i < b->n; i++)
		for (int j = 0; j < i; j++) {
			int from = group[i], to = group[j];

			for (int k = 0; b->correlation[i][j] != 0 && k < b->n; k++)
				group[k] = group[k] == from ? to : group[k];
		}
}

/*
 * The denominator of Welch and Satterthwaite (G.4.1), which is made for independent variances. Correlated components
 * therefore stand in it together, with the variance that they make and the smallest degrees of freedom among them:
 * quantities that were observed at the same time have those of one of them (H.2). share[] is not yet divided.
 */
static double over_dof(const struct budget *b, const struct budget_result *r)
{
	int group[COMPONENTS_MAX];
	double sum = 0;

	find_groups(b, group);
	for (int g = 0; g < b->n; g++) {
		double variance = 0, dof = INFINITE;

		for (int i = 0; i < b->n; i++) {
			if (group[i] != g)
				continue;
			variance += r->share[i];
			if (r->contribution[i] != 0 && b->component[i].dof < dof)
				dof = b->component[i].dof;
		}
		sum += is_finite(dof) ? variance * variance / dof : 0;
	}
	return sum;
}

void budget_combine(const struct budget *b, double coverage, struct budget_result *out)
{
	double variance = 0, fourth, largest = 0, scale;

	for (int i = 0; i < b->n; i++) {
		out->contribution[i] = b->component[i].sensitivity * b->component[i].standard;
		largest = larger(largest, fabs(out->contribution[i]));
	}
	scale = largest > 0 && is_finite(largest) ? largest : 1;
	for (int i = 0; i < b->n; i++) {
		double c = out->contribution[i] / scale, own = c * c;

		for (int j = 0; b->correlated && j < b->n; j++)
			if (j != i)
				own += c * b->correlation[i][j] * (out->contribution[j] / scale);
		out->share[i] = own;
		variance += own;
	}
	fourth = over_dof(b, out);
	variance = larger(variance, 0); /* full negative correlation leaves rounding */
	for (int i = 0; i < b->n; i++)
		out->share[i] = variance > 1e-30 ? out->share[i] / variance : 0;
	out->combined = scale * sqrt(variance);
	out->effective_dof = fourth > 0 && variance > 1e-30 ? variance * variance / fourth : INFINITE;
	out->dof_used = whole_dof(out->effective_dof);
	out->coverage_factor = t_coverage_factor(coverage, out->dof_used);
	out->expanded = out->coverage_factor * out->combined;
}

/* ---- dominance ---- */

double coverage_factor_rectangular(double coverage)
{
	return coverage * SQRT_3;
}

/* The limit lies on the sloping side of the trapezoid, or on its flat top when the ratio is large. */
double coverage_factor_trapezoidal(double coverage, double ratio)
{
	double deviation = sqrt((1 + ratio * ratio) / 6);

	if (!(coverage > 0 && coverage < 1 && ratio >= 0 && ratio <= 1))
		return NOT_A_NUMBER;
	if (coverage * (1 + ratio) <= 2 * ratio)
		return coverage * (1 + ratio) / 2 / deviation;
	return (1 - sqrt((1 - coverage) * (1 - ratio * ratio))) / deviation;
}

enum dominance budget_dominance(const struct budget *b, const struct budget_result *r, int *first, int *second)
{
	double size[2] = {0, 0}, all = 0, rest;
	int at[2] = {-1, -1};

	for (int i = 0; i < b->n; i++) {
		double c = r->combined > 0 ? fabs(r->contribution[i]) / r->combined : 0;

		all += c * c;
		if (b->component[i].distribution != DISTRIBUTION_RECTANGULAR)
			continue;
		if (c > size[0]) {
			size[1] = size[0];
			at[1] = at[0];
			size[0] = c;
			at[0] = i;
		} else if (c > size[1]) {
			size[1] = c;
			at[1] = i;
		}
	}
	*first = at[0];
	*second = at[1];
	if (b->correlated || at[0] < 0)
		return DOMINANCE_NONE;
	rest = all - size[0] * size[0];
	if (rest <= 0.09 * size[0] * size[0])
		return DOMINANCE_RECTANGULAR;
	rest -= size[1] * size[1];
	return at[1] >= 0 && rest <= 0.09 * (all - rest) ? DOMINANCE_TRAPEZOIDAL : DOMINANCE_NONE;
}

/* ---- reporting ---- */

/* Half away from zero at any place, on the nearest decimal where format.h reaches. */
static double round_place(double v, int decimals)
{
	double power = power_of_ten(decimals < 0 ? -decimals : decimals), magnitude = fabs(v);

	if (decimals >= 0 && decimals <= 9)
		return round_decimals(v, decimals);
	magnitude = decimals > 0 ? floor(magnitude * power + 0.5) / power : floor(magnitude / power + 0.5) * power;
	return v < 0 ? 0 - magnitude : magnitude;
}

/* The n with 10^n <= v < 10^(n+1); INT_MIN outside of 1e-30..1e30. */
static int decimal_exponent(double v)
{
	int n = decimal_ceiling(v);

	return n == INT_MIN || v >= power_of_ten(n) ? n : n - 1;
}

struct reported report_result(double value, double expanded, int digits)
{
	struct reported r = {value, expanded, 0, false};
	int exponent = decimal_exponent(expanded), next;

	if (digits < 1 || digits > 2 || !is_finite(value) || exponent < -28 || exponent > 28)
		return r;
	r.decimals = digits - 1 - exponent;
	r.expanded = round_place(expanded, r.decimals);
	if (r.expanded < 0.95 * expanded)
		r.expanded = round_place(expanded + power_of_ten(-r.decimals) / 2, r.decimals);
	next = decimal_exponent(r.expanded * (1 + 1e-12));
	if (next > exponent && next != INT_MIN)
		r.decimals--; /* 0.0996 became 0.10 */
	r.value = round_place(value, r.decimals);
	r.rounded = is_finite(r.value);
	return r.rounded ? r : (struct reported){value, expanded, 0, false};
}
