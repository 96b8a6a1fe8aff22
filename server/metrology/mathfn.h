/*
 * Elementary and special functions made of + - * / and sqrt alone, so that every build gives the same bits (number.h
 * says why). Their accuracy is tested against long double over millions of points, see tests/unit/test_mathfn.c.
 */
#ifndef METROLOGY_MATHFN_H
#define METROLOGY_MATHFN_H

double natural_log(double x);	/* x > 0, within 2 units in the last place; -infinite at 0, NaN below */
double log_one_plus(double x);	/* ln(1 + x) without losing a small x; x > -1 */
double exp_minus_one(double x); /* e^x - 1 without losing a small x */
/* base > 0 (0 for a positive exponent); error grows as |exponent ln base| */
double power(double base, double exponent);
/* ln of the gamma function, x > 0; keeps its digits beside its zeros at 1 and 2 */
double log_gamma(double x);

/* t - ln(1 + t) >= 0, t > -1, without cancellation. */
double log_excess(double t);
/* ln Gamma(z) - [(z - 1/2) ln z - z + ln(2 pi) / 2], z > 0: what Stirling's formula leaves (1/(12 z) for large z). */
double stirling_rest(double z);
/* a ln(a/m) + m - a for a, m > 0: half the deviance of a from m, 0 when they are equal. */
double half_deviance(double a, double m);

/* e^(-x^2/2) / sqrt(2 pi), to a few units in the last place however far out. */
double normal_density(double x);

/* Both sides of a probability: each has its own digits, however small it is. lower + upper = 1. */
struct tails {
	double lower, upper;
};

struct tails normal_tails(double z);
double normal_central(double z); /* P(|Z| < z), z >= 0 */

/* Regularised incomplete gamma functions P(a, x), Q(a, x); a > 0, x >= 0. */
struct tails gamma_tails(double a, double x);
/* Regularised incomplete beta function I_x(a, b) and its complement; a, b > 0, x + y = 1, both given since 1 - x may
 * lose all digits. */
struct tails beta_tails(double a, double b, double x, double y);

/*
 * Inverses. p in (0, 1) is the probability below, or above when upper. gamma: x. beta: ln(x / y), from which x, y
 * and x/y follow without loss. normal: z.
 */
double normal_at(double p, int upper);
double gamma_at(double a, double p, int upper);
double beta_logit_at(double a, double b, double p, int upper);

#endif
