/* Elementary functions against long double (64 bits of mantissa) over millions of points, in units in the last
 * place. */
#include "metrology/mathfn.h"
#include "metrology/number.h"
#include "support/check.h"

#include <float.h>

#define POINTS 2000000

static uint64_t state;

static double uniform(double low, double high)
{
	uint64_t z = state += 0x9e3779b97f4a7c15u;

	z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
	z = (z ^ z >> 27) * 0x94d049bb133111ebu;
	return low + (high - low) * ((double)((z ^ z >> 31) >> 11) * 0x1p-53);
}

static double magnitude(double low, double high)
{
	return (double)expl(uniform(log(low), log(high)));
}

static double ulps(double ours, long double exact)
{
	double place = nextafter(fabs((double)exact), INFINITY) - fabs((double)exact);

	return (double)(fabsl((long double)ours - exact) / (long double)place);
}

static void report(const char *what, double worst, double allowed)
{
	print_message("%s: at worst %.2f units in the last place over %d points\n", what, worst, POINTS);
	assert_true(worst <= allowed);
}

static void exponential_is_right_to_two_last_places(void **unused)
{
	double worst = 0;

	(void)unused;
	state = 1;
	for (int i = 0; i < POINTS; i++) {
		double x = i % 2 ? uniform(-700, 700) : uniform(-2, 2);

		worst = fmax(worst, ulps(exponential(x), expl(x)));
	}
	report("exponential", worst, 2);
}

static void logarithm_is_right_to_two_last_places(void **unused)
{
	double worst = 0;

	(void)unused;
	state = 2;
	for (int i = 0; i < POINTS; i++) {
		double x = i % 2 ? magnitude(1e-300, 1e300) : uniform(0.5, 2);

		worst = fmax(worst, ulps(natural_log(x), logl(x)));
	}
	report("natural_log", worst, 2);
	assert_near(natural_log(0x1p-1074), -1074 * log(2), 1e-12);
	assert_true(isinf(natural_log(0)) && natural_log(0) < 0);
	assert_true(0 != isnan(natural_log(-1)));
	assert_true(0 != isinf(natural_log(INFINITY)));
}

static void logarithm_and_exponential_beside_zero_keep_their_digits(void **unused)
{
	double worst_log = 0, worst_exp = 0;

	(void)unused;
	state = 3;
	for (int i = 0; i < POINTS; i++) {
		double x = (i % 2 ? -1 : 1) * magnitude(1e-18, i % 2 ? 0.999 : 1e6),
		       y = (i % 2 ? -1 : 1) * magnitude(1e-18, 30);

		worst_log = fmax(worst_log, ulps(log_one_plus(x), log1pl(x)));
		worst_exp = fmax(worst_exp, ulps(exp_minus_one(y), expm1l(y)));
	}
	report("log_one_plus", worst_log, 3);
	report("exp_minus_one", worst_exp, 3);
}

/* t - ln(1 + t) by long double loses half its digits at 1e-4, so the comparison starts there with what is left. */
static void excess_of_the_logarithm_does_not_cancel(void **unused)
{
	double worst = 0;

	(void)unused;
	state = 4;
	for (int i = 0; i < POINTS; i++) {
		double t = (i % 2 ? -1 : 1) * magnitude(0.01, i % 2 ? 0.99 : 100);
		long double exact = (long double)t - log1pl(t);

		worst = fmax(worst, (double)(fabsl(log_excess(t) - exact) / exact));
	}
	print_message("log_excess: at worst %.1e relative over %d points\n", worst, POINTS);
	assert_true(worst <= 2e-15);
	assert_near(log_excess(1e-9) / 5e-19, 1 - 2e-9 / 3, 1e-15); /* t^2/2 - t^3/3 */
}

static void power_is_as_good_as_its_exponent_is_small(void **unused)
{
	double worst = 0;

	(void)unused;
	state = 5;
	for (int i = 0; i < POINTS; i++) {
		double base = magnitude(1e-3, 1e3), exponent = uniform(-5, 5);
		long double exact = powl(base, exponent);

		worst = fmax(worst, (double)(fabsl(power(base, exponent) - exact) / exact));
	}
	print_message("power: at worst %.1e relative over %d points\n", worst, POINTS);
	assert_true(worst <= 1e-14);
	assert_near(power(0, 2.5), 0, 0);
}

/* lgammal of the C library, long double. */
static void log_gamma_keeps_its_digits_beside_its_zeros(void **unused)
{
	double worst = 0;

	(void)unused;
	state = 6;
	for (int i = 0; i < POINTS / 4; i++) {
		double x = i % 3 == 0 ? magnitude(1e-8, 1) : i % 3 == 1 ? uniform(0.9, 2.6) : magnitude(2.5, 1e7);
		long double exact = lgammal(x);

		worst = fmax(worst, (double)fabsl((log_gamma(x) - exact) / exact));
	}
	print_message("log_gamma: at worst %.1e relative over %d points\n", worst, POINTS / 4);
	assert_true(worst <= 1e-14);
	assert_near(log_gamma(1), 0, 0);
	assert_near(log_gamma(2), 0, 0);
	assert_near(log_gamma(0.5), 0.5 * log(acos(-1)), 1e-15);
	assert_true(0 != isnan(log_gamma(0)));
}

static void normal_integral_keeps_its_digits_in_the_tail(void **unused)
{
	double worst = 0, worst_central = 0;

	(void)unused;
	state = 7;
	for (int i = 0; i < POINTS / 4; i++) {
		double z = uniform(0, 37);
		long double tail = 0.5L * erfcl((long double)z / sqrtl(2)), central = erfl((long double)z / sqrtl(2));

		worst = fmax(worst, (double)(fabsl(normal_tails(z).upper - tail) / tail));
		worst_central = fmax(worst_central, (double)(fabsl(normal_central(z) - central) / central));
	}
	print_message("normal tail: at worst %.1e relative, central part %.1e\n", worst, worst_central);
	assert_true(worst <= 5e-14);
	assert_true(worst_central <= 5e-15);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(exponential_is_right_to_two_last_places),
		cmocka_unit_test(logarithm_is_right_to_two_last_places),
		cmocka_unit_test(logarithm_and_exponential_beside_zero_keep_their_digits),
		cmocka_unit_test(excess_of_the_logarithm_does_not_cancel),
		cmocka_unit_test(power_is_as_good_as_its_exponent_is_small),
		cmocka_unit_test(log_gamma_keeps_its_digits_beside_its_zeros),
		cmocka_unit_test(normal_integral_keeps_its_digits_in_the_tail),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
