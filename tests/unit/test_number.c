/* The core's own exp and log against the 80-bit ones of the machine, which carry 11 bits more. */
#include "support/check.h"
#include "metrology/number.h"

#include <float.h>

static unsigned long long seed = 0x2545f4914f6cdd1du;

static double random_between(double low, double high)
{
	seed ^= seed << 13;
	seed ^= seed >> 7;
	seed ^= seed << 17;
	return low + (high - low) * ((double)(seed >> 11) * 0x1p-53);
}

/* Distance in units of the last place of the expected value. */
static double units_off(double ours, long double expected)
{
	int exponent;

	frexp((double)expected, &exponent);
	return (double)(fabsl((long double)ours - expected) / ldexpl(1, exponent - DBL_MANT_DIG));
}

static void exponential_is_right_to_two_units_of_the_last_place(void **state)
{
	double worst = 0;

	(void)state;
	for (int i = 0; i < 1000000; i++) {
		double x = i % 2 ? random_between(-40, 40) : random_between(-700, 700);

		worst = fmax(worst, units_off(exponential(x), expl((long double)x)));
	}
	print_message("exponential: at most %.2f units of the last place off\n", worst);
	assert_true(worst < 2);
	assert_near(exponential(0), 1, 0);
	assert_near(exponential(-701), 0, 0);
	assert_true(0 != isinf(exponential(701)));
	assert_true(0 != isnan(exponential(NAN)));
}

static void logarithm_is_right_to_two_units_of_the_last_place(void **state)
{
	double worst = 0;

	(void)state;
	for (int i = 0; i < 1000000; i++) {
		double x = i % 3 == 0 ? random_between(0.5, 2) :
			   i % 3 == 1 ? random_between(0, 1e4) :
					ldexp(random_between(0.5, 1), (int)random_between(-1021, 1023));

		worst = fmax(worst, units_off(logarithm(x), logl((long double)x)));
	}
	for (int i = -1000; i <= 1000; i++) {
		double x = 1 + i * DBL_EPSILON;

		if (i)
			worst = fmax(worst, units_off(logarithm(x), logl((long double)x)));
	}
	print_message("logarithm: at most %.2f units of the last place off\n", worst);
	assert_true(worst < 2);
	assert_near(logarithm(1), 0, 0);
	assert_true(logarithm(0) == -INFINITY && logarithm(INFINITY) == INFINITY);
	assert_true(0 != isnan(logarithm(-1)) && 0 != isnan(logarithm(NAN)));
	assert_true(units_off(logarithm(0x1p-1060), logl(0x1p-1060L)) < 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(exponential_is_right_to_two_units_of_the_last_place),
		cmocka_unit_test(logarithm_is_right_to_two_units_of_the_last_place),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
