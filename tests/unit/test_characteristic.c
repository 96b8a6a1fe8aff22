#include "metrology/characteristic.h"
#include "support/check.h"

#include <stdbool.h>

static const struct characteristic linear = {.kind = CHARACTERISTIC_LINEAR};
static const struct characteristic square_root = {.kind = CHARACTERISTIC_SQUARE_ROOT};
static const struct characteristic pt100 = {.kind = CHARACTERISTIC_RTD, .r0 = 100};
static const struct characteristic type_k = {.kind = CHARACTERISTIC_THERMOCOUPLE, .type = THERMOCOUPLE_K};
static const struct range ma = {4, 20}, dp = {0, 250}, none = {0, 1};

static bool is_none(double v)
{
	return isnan(v);
}

static double central_slope(const struct characteristic *c, struct range in, struct range out, double at, double h)
{
	return (characteristic_forward(c, in, out, at + h) - characteristic_forward(c, in, out, at - h)) / (2 * h);
}

static void ranges_keep_their_ends(void **state)
{
	struct range r = {-3.7, 11.9};

	(void)state;
	assert_true(range_at(r, 1) == 11.9 && range_at(r, 0) == -3.7);
	assert_near(range_fraction(r, 0.2), 0.25, 1e-15);
	assert_near(range_span((struct range){20, 4}), -16, 0);
	assert_near(range_fraction((struct range){20, 4}, 8), 0.75, 1e-15);
	assert_true(is_none(range_fraction((struct range){5, 5}, 5)));
}

static void linear_goes_both_ways_also_in_reverse(void **state)
{
	(void)state;
	assert_near(characteristic_forward(&linear, ma, dp, 8.6), 71.875, 1e-12); /* 4.6 / 16 * 250 */
	assert_near(characteristic_inverse(&linear, ma, dp, 71.875), 8.6, 1e-12);
	assert_near(characteristic_forward(&linear, ma, (struct range){100, 0}, 8.6), 71.25, 1e-12);
	assert_near(characteristic_slope(&linear, ma, (struct range){100, 0}, 8.6), -6.25, 1e-12);
	assert_near(characteristic_forward(&linear, ma, dp, 3.6), -6.25, 1e-12);
}

static void square_root_of_flow(void **state)
{
	(void)state;
	assert_near(characteristic_forward(&square_root, dp, ma, 90), 13.6, 1e-12); /* sqrt(0.36) = 0.6 */
	assert_near(characteristic_inverse(&square_root, dp, ma, 13.6), 90, 1e-12);
	assert_near(characteristic_slope(&square_root, dp, ma, 90), 16.0 / 250 / 1.2, 1e-12);
	assert_near(characteristic_forward(&square_root, dp, ma, 0), 4, 0);
	assert_near(characteristic_forward(&square_root, dp, ma, -1), 4, 0);
	assert_true(is_none(characteristic_inverse(&square_root, dp, ma, 3.9)));
	assert_true(0 != isinf(characteristic_slope(&square_root, dp, ma, 0)));
	assert_near(characteristic_slope(&square_root, dp, ma, -1), 0, 0);
}

static void reference_functions_end_where_they_are_valid(void **state)
{
	(void)state;
	assert_false(is_none(characteristic_forward(&pt100, none, none, -200)));
	assert_false(is_none(characteristic_forward(&pt100, none, none, 850)));
	assert_true(is_none(characteristic_forward(&pt100, none, none, -200.001)));
	assert_true(is_none(characteristic_forward(&pt100, none, none, 850.001)));
	assert_true(is_none(characteristic_inverse(&pt100, none, none, 18.5)));
	assert_true(is_none(characteristic_inverse(&pt100, none, none, 390.49)));
	assert_false(is_none(characteristic_forward(&type_k, none, none, -270)));
	assert_false(is_none(characteristic_forward(&type_k, none, none, 1372)));
	assert_true(is_none(characteristic_forward(&type_k, none, none, -270.001)));
	assert_true(is_none(characteristic_forward(&type_k, none, none, 1372.001)));
	assert_true(is_none(characteristic_inverse(&type_k, none, none, -6.46)));
	assert_true(is_none(characteristic_inverse(&type_k, none, none, 54.89)));
	assert_true(is_none(characteristic_inverse(&type_k, none, none, NAN)));
	assert_true(
		is_none(characteristic_forward(&(struct characteristic){.kind = CHARACTERISTIC_RTD}, none, none, 20)));
}

static void temperature_comes_back_from_resistance_to_a_nanokelvin(void **state)
{
	double worst = 0;

	(void)state;
	for (double t = -200; t <= 850; t += 0.0173)
		worst = fmax(worst, fabs(characteristic_inverse(&pt100, none, none,
								characteristic_forward(&pt100, none, none, t)) -
					 t));
	assert_near(worst, 0, 1e-9);
	assert_near(characteristic_inverse(&pt100, none, none, characteristic_forward(&pt100, none, none, 850)), 850,
		    1e-9);
}

static void temperature_comes_back_from_emf_to_a_nanokelvin(void **state)
{
	double worst = 0;

	(void)state;
	for (double t = -270; t <= 1372; t += 0.0271)
		worst = fmax(worst, fabs(characteristic_inverse(&type_k, none, none,
								characteristic_forward(&type_k, none, none, t)) -
					 t));
	assert_near(worst, 0, 1e-9);
	assert_near(characteristic_inverse(&type_k, none, none, characteristic_forward(&type_k, none, none, 1372)),
		    1372, 1e-9);
	assert_near(characteristic_inverse(&type_k, none, none, characteristic_forward(&type_k, none, none, -270)),
		    -270, 1e-9);
}

static void emf_rises_over_the_whole_range(void **state)
{
	(void)state;
	for (double t = -270; t < 1371.9; t += 0.1)
		assert_true(characteristic_forward(&type_k, none, none, t + 0.1) >
			    characteristic_forward(&type_k, none, none, t));
}

static void slopes_are_those_of_the_functions(void **state)
{
	(void)state;
	for (double t = -195; t < 845; t += 7.3)
		assert_near(characteristic_slope(&pt100, none, none, t), central_slope(&pt100, none, none, t, 1e-3),
			    1e-8);
	for (double t = -265; t < 1370; t += 7.3)
		assert_near(characteristic_slope(&type_k, none, none, t), central_slope(&type_k, none, none, t, 1e-3),
			    1e-9);
	for (double p = 5; p < 250; p += 3.1)
		assert_near(characteristic_slope(&square_root, dp, ma, p), central_slope(&square_root, dp, ma, p, 1e-4),
			    1e-8);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(ranges_keep_their_ends),
		cmocka_unit_test(linear_goes_both_ways_also_in_reverse),
		cmocka_unit_test(square_root_of_flow),
		cmocka_unit_test(reference_functions_end_where_they_are_valid),
		cmocka_unit_test(temperature_comes_back_from_resistance_to_a_nanokelvin),
		cmocka_unit_test(temperature_comes_back_from_emf_to_a_nanokelvin),
		cmocka_unit_test(emf_rises_over_the_whole_range),
		cmocka_unit_test(slopes_are_those_of_the_functions),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
