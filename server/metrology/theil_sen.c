#include "metrology/fit.h"

#include "mathfn.h"
#include "number.h"
#include "sorting.h"

size_t theil_sen_work(size_t n)
{
	return n < 3 ? 4 : n * (n - 1); /* the slopes of all pairs, and as much again to sort them */
}

static double median(const double *sorted, size_t n)
{
	return n % 2 ? sorted[n / 2] : sorted[n / 2 - 1] + (sorted[n / 2] - sorted[n / 2 - 1]) / 2;
}

/* Sums over groups of t equal values: t (t-1) (2t+5), t (t-1) (t-2), t (t-1). */
struct ties {
	double variance, triples, pairs;
};

static struct ties ties_of(const double *v, size_t n, double *work)
{
	struct ties sum = {0, 0, 0};

	for (size_t i = 0; i < n; i++)
		work[i] = v[i];
	sort_numbers(work, work + n, n);
	for (size_t i = 0, end; i < n; i = end) {
		double t;

		for (end = i + 1; end < n && work[end] == work[i]; end++)
			;
		t = (double)(end - i);
		sum.variance += t * (t - 1) * (2 * t + 5);
		sum.triples += t * (t - 1) * (t - 2);
		sum.pairs += t * (t - 1);
	}
	return sum;
}

/* Variance of Kendall's S with ties in both (Kendall, Rank Correlation Methods, 4th edition, chapter 5; from
 * memory). */
static double variance_of_s(const double *x, const double *y, size_t points, double *work)
{
	double n = (double)points;
	struct ties a = ties_of(x, points, work), b = ties_of(y, points, work);
	double v = (n * (n - 1) * (2 * n + 5) - a.variance - b.variance) / 18;

	v += a.pairs * b.pairs / (2 * n * (n - 1));
	return points > 2 ? v + a.triples * b.triples / (9 * n * (n - 1) * (n - 2)) : v;
}

/* -1 when a value is no number. */
static double slopes_of_pairs(const double *x, const double *y, size_t n, double *slopes)
{
	size_t pairs = 0;

	for (size_t i = 0; i < n; i++) {
		if (!is_finite(x[i]) || !is_finite(y[i]))
			return -1;
		for (size_t j = 0; j < i; j++)
			if (x[i] != x[j])
				slopes[pairs++] = (y[i] - y[j]) / (x[i] - x[j]);
	}
	return (double)pairs;
}

bool theil_sen(const double *x, const double *y, size_t n, double confidence, double *work, struct theil_sen *out)
{
	double pairs, half, low, high;

	if (n < 2 || n > THEIL_SEN_POINTS_MAX || !(confidence > 0 && confidence < 1))
		return false;
	half = normal_at((1 - confidence) / 2, true) * sqrt(larger(variance_of_s(x, y, n, work), 0));
	pairs = slopes_of_pairs(x, y, n, work);
	if (!(pairs > 0))
		return false;
	out->pairs = (size_t)pairs;
	sort_numbers(work, work + out->pairs, out->pairs);
	out->slope = median(work, out->pairs);
	low = floor((pairs - half) / 2);
	high = ceil((pairs + half) / 2) + 1;
	out->slope_low = low >= 1 ? work[(size_t)low - 1] : NOT_A_NUMBER;
	out->slope_high = high <= pairs ? work[(size_t)high - 1] : NOT_A_NUMBER;
	for (size_t i = 0; i < n; i++)
		work[i] = y[i] - out->slope * x[i];
	sort_numbers(work, work + n, n);
	out->intercept = median(work, n);
	return true;
}
