/*
 * Whether a polynomial turns is told by its derivative in Bernstein form: it lies between the smallest and the
 * largest of its Bernstein coefficients, so when all have one sign it has no zero (Farouki and Rajan, Computer Aided
 * Geometric Design 4 (1987) 191). When they do not, the interval is halved (de Casteljau), where the bounds are four
 * times as tight.
 */
#include "polynomial.h"

#include "number.h"

#define HALVINGS_MAX 40

struct bernstein {
	double b[POLYNOMIAL_TERMS_MAX];
	size_t n;
};

/* Derivative over [low, high] as a polynomial of u = (x - low) / (high - low), then its Bernstein coefficients. */
static struct bernstein derivative_over(const double *c, size_t n, double low, double high)
{
	struct bernstein out = {{0}, n - 1};
	double a[POLYNOMIAL_TERMS_MAX] = {0}, scale = 1;

	for (size_t i = 0; i < out.n; i++)
		a[i] = (double)(i + 1) * c[i + 1];
	for (size_t i = 0; i + 1 < out.n; i++) /* shift to low by repeated division */
		for (size_t j = out.n - 1; j > i; j--)
			a[j - 1] += low * a[j];
	for (size_t i = 0; i < out.n; i++) {
		a[i] *= scale;
		scale *= high - low;
	}
	for (size_t j = 0; j < out.n; j++) {
		double weight = 1; /* C(j, i) / C(n - 1, i) */

		for (size_t i = 0; i <= j; i++) {
			out.b[j] += weight * a[i];
			weight *= (double)(j - i) / (double)(out.n - 1 > i ? out.n - 1 - i : 1);
		}
	}
	return out;
}

/* 1 no coefficient below 0, -1 none above, 0 both signs, 2 all are 0. */
static int sign_of(const struct bernstein *p)
{
	bool above = false, below = false;

	for (size_t i = 0; i < p->n; i++) {
		above = above || p->b[i] > 0;
		below = below || p->b[i] < 0;
	}
	if (above && below)
		return 0;
	return above ? 1 : below ? -1 : 2;
}

static void halve(const struct bernstein *p, struct bernstein *left, struct bernstein *right)
{
	struct bernstein work = *p;

	left->n = right->n = p->n;
	for (size_t i = 0; i < p->n; i++) {
		left->b[i] = work.b[0];
		right->b[p->n - 1 - i] = work.b[p->n - 1 - i];
		for (size_t j = 0; j + 1 < p->n - i; j++)
			work.b[j] = (work.b[j] + work.b[j + 1]) / 2;
	}
}

/* Goes through the halves that still have both signs, from left to right; a turn shows at an end of one of them. */
int polynomial_trend(const double *c, size_t n, double low, double high)
{
	struct bernstein stack[HALVINGS_MAX + 2];
	int depth[HALVINGS_MAX + 2], used = 1, trend = 0;

	if (n < 2 || n > POLYNOMIAL_TERMS_MAX || !(low < high))
		return 0;
	stack[0] = derivative_over(c, n, low, high);
	depth[0] = 0;
	while (used > 0) {
		struct bernstein p = stack[--used];
		int sign = sign_of(&p), level = depth[used];

		if (sign == 2 || (sign != 0 && trend != 0 && sign != trend))
			return 0;
		if (sign != 0) {
			trend = sign;
			continue;
		}
		if (level == HALVINGS_MAX || p.b[0] * p.b[p.n - 1] < 0)
			return 0;
		halve(&p, &stack[used + 1], &stack[used]);
		depth[used] = depth[used + 1] = level + 1;
		used += 2;
	}
	return trend;
}
