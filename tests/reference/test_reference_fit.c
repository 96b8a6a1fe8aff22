/*
 * Fits and global risks against another's arithmetic: the GNU Scientific Library's least squares (singular values, where ours
 * reflects) and its adaptive quadrature (where ours takes panels), on random questions.
 */
#include <math.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_statistics.h>

#include "metrology/conformity.h"
#include "metrology/fit.h"
#include "metrology/random.h"
#include "support/check.h"

#define FITS  2000
#define RISKS 2000
#define MOST  60

static struct random r;
static double work[FIT_POINTS_MAX * (FIT_ORDER_MAX + 2)];

static double between(double low, double high)
{
	return low + (high - low) * random_uniform(&r);
}

struct question {
	double x[MOST], y[MOST], weight[MOST];
	size_t n;
	int order;
	bool through_zero, weighted;
};

/* A polynomial with scatter, over a range of any place and width. */
static struct question any_question(void)
{
	struct question q = {.order = 1 + (int)between(0, FIT_ORDER_MAX), .through_zero = random_uniform(&r) < 0.3};
	double from = between(-3, 3), width = pow(10, between(-1, 1)), c[FIT_ORDER_MAX + 1],
	       scatter = pow(10, between(-6, 0));

	q.weighted = random_uniform(&r) < 0.5;
	q.n = (size_t)(q.order + 3) + (size_t)between(0, MOST - FIT_ORDER_MAX - 3);
	for (int k = 0; k <= q.order; k++)
		c[k] = between(-2, 2);
	for (size_t i = 0; i < q.n; i++) {
		double y = 0;

		q.x[i] = from + width * between(0, 1);
		for (int k = q.order; k >= 0; k--)
			y = y * q.x[i] + c[k];
		q.y[i] = y + scatter * random_normal(&r);
		q.weight[i] = q.weighted ? between(0.1, 10) : 1;
	}
	return q;
}

static void agrees(const char *what, double ours, double other, double tolerance)
{
	if (!(fabs(ours - other) <= tolerance))
		fail_msg("%s: ours %.17g, GSL %.17g, allowed %.2g", what, ours, other, tolerance);
}

/* Sum of squares about the (weighted) mean, or about zero. */
static double total(const struct question *q)
{
	double sum = 0, mean = q->through_zero ? 0 : gsl_stats_wmean(q->weight, 1, q->y, 1, q->n);

	for (size_t i = 0; i < q->n; i++)
		sum += q->weight[i] * (q->y[i] - mean) * (q->y[i] - mean);
	return sum;
}

/* y's own last digits are lost in a residual: of its deviation s they are some 1e-14 |y| / s. */
static double largest(const struct question *q)
{
	double most = 0;

	for (size_t i = 0; i < q->n; i++)
		most = fmax(most, fabs(q->y[i]));
	return most;
}

/* Points that hardly determine the coefficients have no two answers alike: their reciprocal condition is below this. */
#define DETERMINED 1e-6

/* Other than ours: the matrix is decomposed into singular values. Whether it was compared. How far two good answers may lie
 * apart follows from how well the points determine a coefficient: a millionth of its own standard deviation, and ten digits. Of
 * the residuals even the library has five digits left where they hardly do: of 39 points of order 5, reciprocal condition
 * 1.5e-11, exact fractions give 0.0134229587014, ours 6e-8 and the library 2e-7 off. */
static bool compare(const struct question *q)
{
	size_t p = (size_t)q->order + (q->through_zero ? 0 : 1);
	gsl_matrix *x = gsl_matrix_alloc(q->n, p), *cov = gsl_matrix_alloc(p, p);
	gsl_vector *c = gsl_vector_alloc(p);
	gsl_vector_const_view y = gsl_vector_const_view_array(q->y, q->n),
			      w = gsl_vector_const_view_array(q->weight, q->n);
	gsl_multifit_linear_workspace *space = gsl_multifit_linear_alloc(q->n, p);
	double chisq, s;
	struct fit f;
	bool determined;

	for (size_t i = 0; i < q->n; i++)
		for (size_t k = 0; k < p; k++)
			gsl_matrix_set(x, i, k, gsl_pow_int(q->x[i], (int)k + (q->through_zero ? 1 : 0)));
	gsl_multifit_wlinear(x, &w.vector, &y.vector, c, cov, &chisq, space);
	determined = gsl_multifit_linear_rcond(space) > DETERMINED;
	s = sqrt(chisq / (double)(q->n - p));
	assert_true(
		fit_weighted(q->x, q->y, q->weighted ? q->weight : NULL, q->n, q->order, q->through_zero, work, &f));
	for (size_t k = 0; k < p && determined; k++) {
		size_t at = k + (q->through_zero ? 1 : 0);
		double sd = s * sqrt(gsl_matrix_get(cov, k, k)), value = gsl_vector_get(c, k);

		agrees("coefficient", f.coefficient[at], value,
		       (1e-6 + 1e-13 * largest(q) / s) * sd + 1e-10 * fabs(value));
		agrees("its standard deviation", f.standard_deviation[at], sd, (1e-6 + 1e-13 * largest(q) / s) * sd);
	}
	agrees("standard deviation of the residuals", f.residual_sd, s,
	       (determined ? 1e-9 : 1e-5) * s + 1e-14 * largest(q));
	agrees("R squared", f.r_squared, 1 - chisq / total(q), determined ? 1e-9 : 1e-9 + 2e-5 * chisq / total(q));
	gsl_multifit_linear_free(space);
	gsl_vector_free(c);
	gsl_matrix_free(cov);
	gsl_matrix_free(x);
	return determined;
}

static void fits_agree_with_the_library_s(void **state)
{
	int compared = 0;

	(void)state;
	random_seed(&r, 2611);
	for (int i = 0; i < FITS; i++) {
		struct question q = any_question();

		compared += compare(&q);
	}
	print_message("%d of %d fits compared coefficient by coefficient\n", compared, FITS);
	assert_true(compared > FITS / 2);
}

struct items {
	struct prior prior;
	double u;
	struct limits limits, acceptance;
};

/* Probability that an item of this true value is accepted, from whichever tail has the digits. */
static double accepted(const struct items *q, double x)
{
	double low = (q->acceptance.low - x) / q->u, high = (q->acceptance.high - x) / q->u;

	return low > 0 ? gsl_cdf_ugaussian_Q(low) - gsl_cdf_ugaussian_Q(high) :
			 gsl_cdf_ugaussian_P(high) - gsl_cdf_ugaussian_P(low);
}

static double wrongly_accepted(double x, void *context)
{
	const struct items *q = context;

	return gsl_ran_gaussian_pdf(x - q->prior.mean, q->prior.standard_deviation) * accepted(q, x);
}

static double wrongly_rejected(double x, void *context)
{
	const struct items *q = context;
	double low = (q->acceptance.low - x) / q->u, high = (q->acceptance.high - x) / q->u;

	return gsl_ran_gaussian_pdf(x - q->prior.mean, q->prior.standard_deviation) *
	       (gsl_cdf_ugaussian_P(low) + gsl_cdf_ugaussian_Q(high));
}

static double integral(double (*f)(double, void *), struct items *q, double low, double high)
{
	static gsl_integration_workspace *space;
	gsl_function function = {f, q};
	double pieces = 0, part, error;

	if (!space)
		space = gsl_integration_workspace_alloc(2000);
	for (int i = 0; i < 8; i++) { /* in pieces, so that no narrow peak is missed */
		gsl_integration_qag(&function, low + (high - low) * i / 8, low + (high - low) * (i + 1) / 8, 1e-16,
				    1e-11, 2000, GSL_INTEG_GAUSS61, space, &part, &error);
		pieces += part;
	}
	return pieces;
}

/* JCGM 106:2012, 9.5: the joint probability of a true value beyond the limits and a reading within acceptance, and the reverse;
 * beyond 10 standard deviations of the items lie 10^-23 of them. */
static void global_risks_agree_with_adaptive_quadrature(void **state)
{
	int compared = 0;

	(void)state;
	random_seed(&r, 106);
	gsl_set_error_handler_off();
	for (int i = 0; i < RISKS; i++) {
		struct items q = {
			.prior = {between(-0.8, 0.8), between(0.2, 1)}, .u = between(0.02, 0.5), .limits = {-1, 1}};
		double guard = between(0, 0.9), reach_low = q.prior.mean - 10 * q.prior.standard_deviation,
		       reach_high = q.prior.mean + 10 * q.prior.standard_deviation, consumer, producer;
		struct global_risk ours;

		q.acceptance = acceptance_limits(q.limits, guard);
		ours = global_risk(q.prior, q.u, q.limits, q.acceptance);
		consumer = integral(wrongly_accepted, &q, reach_low, -1) +
			   integral(wrongly_accepted, &q, 1, reach_high);
		producer = integral(wrongly_rejected, &q, -1, 1);
		agrees("consumer's risk", ours.consumer, consumer, 1e-9 * consumer + 1e-14);
		agrees("producer's risk", ours.producer, producer, 1e-9 * producer + 1e-14);
		compared += consumer > 1e-6;
	}
	assert_true(compared > RISKS / 2); /* not a comparison of nothings */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(fits_agree_with_the_library_s),
		cmocka_unit_test(global_risks_agree_with_adaptive_quadrature),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
