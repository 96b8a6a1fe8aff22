/*
 * Distributions that budgets, conformity, fits and intervals need.
 *
 * _cdf is the probability at or below, _upper that above (with its own digits, however small), _quantile the inverse
 * of _cdf. p lies in 0..1; degrees of freedom are positive and need not be whole. What does not exist is NaN, and a
 * quantile beyond 1e-299 or 1e299 too (of t, beyond 1e149), which only heavy tails have at probabilities that small.
 * Relative agreement with two outside libraries: docs/metrology.md, tests/reference/test_reference_distributions.c.
 * Formulas: DLMF chapters 7 and 8.
 */
#ifndef METROLOGY_STATISTICS_H
#define METROLOGY_STATISTICS_H

#include <stdbool.h>

double normal_cdf(double z);
double normal_upper(double z);
double normal_quantile(double p);

/* Student's t. dof infinite (or beyond 1e8, by Abramowitz and Stegun 26.7.8): the normal distribution's form. */
double t_cdf(double t, double dof);
double t_upper(double t, double dof);
double t_quantile(double p, double dof);
/* The k with P(|t| < k) = coverage, 0 <= coverage < 1 (JCGM 100:2008, G.3.4): 2.000 for 0.9545 and infinite dof. */
double t_coverage_factor(double coverage, double dof);

double chi_squared_cdf(double x, double dof);
double chi_squared_upper(double x, double dof);
double chi_squared_quantile(double p, double dof);

/* F: ratio of two variances, dof of numerator and denominator. */
double f_cdf(double f, double dof1, double dof2);
double f_upper(double f, double dof1, double dof2);
double f_quantile(double p, double dof1, double dof2);

/* Gamma with shape a and scale 1; beta on 0..1 with shapes a, b. */
double gamma_cdf(double x, double a);
double gamma_upper(double x, double a);
double gamma_quantile(double p, double a);
double beta_cdf(double x, double a, double b);
double beta_upper(double x, double a, double b);
double beta_quantile(double p, double a, double b);

/* Lifetimes: 1 - exp(-(x / scale)^shape), shape and scale > 0. */
double weibull_cdf(double x, double shape, double scale);
double weibull_upper(double x, double shape, double scale);
double weibull_quantile(double p, double shape, double scale);

/* At most k, more than k, of n trials that succeed with probability p each; k < 0 and k >= n included. */
double binomial_cdf(int k, int n, double p);
double binomial_upper(int k, int n, double p);
/*
 * Two-sided Clopper-Pearson bounds of the probability when k of n succeeded (Biometrika 26, 1934, 404). 0 <= k <= n,
 * n >= 1, 0 < confidence < 1; false otherwise.
 */
bool clopper_pearson(int k, int n, double confidence, double *low, double *high);

#endif
