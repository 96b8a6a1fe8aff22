#include "metrology/uncertainty.h"
#include "support/check.h"

static const struct characteristic linear = {.kind = CHARACTERISTIC_LINEAR};
static const struct characteristic square_root = {.kind = CHARACTERISTIC_SQUARE_ROOT};
static const struct range ma = {4, 20}, travel = {0, 100}, dp = {0, 250};

/* U = 0.004 mA, k = 2: u = 0.002 mA, times 6.25 %/mA. */
static void input_reference_is_carried_over_by_the_slope(void **state)
{
	struct reference source = {0.004, 2};

	(void)state;
	assert_near(reading_uncertainty(&linear, ma, travel, 12, &source, NULL, -1, -1), 0.0125, 1e-15);
	assert_near(reading_uncertainty(&linear, ma, (struct range){100, 0}, 12, &source, NULL, -1, -1), 0.0125, 1e-15);
}

/* Half of 0.1 %, rectangular: 0.05 / sqrt(3) = 0.0288675134594813 (JCGM 100:2008, 4.3.7). */
static void resolution_enters_as_half_a_count(void **state)
{
	(void)state;
	assert_near(reading_uncertainty(&linear, ma, travel, 12, NULL, NULL, -1, 1), 0.0288675134594813, 1e-15);
	/* input read to 0.01 mA: 0.005 / sqrt(3) * 6.25 */
	assert_near(reading_uncertainty(&linear, ma, travel, 12, NULL, NULL, 2, -1), 0.0180421959121758, 1e-15);
}

/* sqrt(0.0125^2 + 0.0180421959^2 + 0.15^2 + 0.0288675135^2), by hand 0.1546 */
static void all_four_are_combined(void **state)
{
	struct reference source = {0.004, 2}, scale = {0.3, 2};
	double expected = sqrt(0.0125 * 0.0125 + 0.00032552083333 + 0.0225 + 0.00083333333333);

	(void)state;
	assert_near(reading_uncertainty(&linear, ma, travel, 12, &source, &scale, 2, 1), expected, 1e-12);
	assert_near(expected, 0.1543, 1e-4);
}

static void nothing_known_is_no_uncertainty(void **state)
{
	struct reference none = {0, 2}, unknown = {NAN, NAN};

	(void)state;
	assert_near(reading_uncertainty(&linear, ma, travel, 12, &none, &unknown, -1, -1), 0, 0);
	assert_near(reading_uncertainty(&linear, ma, travel, 12, NULL, NULL, -1, -1), 0, 0);
}

static void coverage_factor_that_is_missing_is_not_made_up(void **state)
{
	struct reference meter = {0.02, NAN};

	(void)state;
	assert_near(reading_uncertainty(&linear, ma, travel, 12, NULL, &meter, -1, -1), 0.02, 1e-15);
}

/* At 90 of 250 mbar the slope is 16 / 250 / (2 * 0.6) mA/mbar; at zero sqrt(u / 250) * 16 / 2. */
static void square_root_stays_finite_at_its_foot(void **state)
{
	struct reference gauge = {0.1, 2};

	(void)state;
	assert_near(reading_uncertainty(&square_root, dp, ma, 90, &gauge, NULL, -1, -1), 0.05 * 16 / 250 / 1.2, 1e-8);
	assert_near(reading_uncertainty(&square_root, dp, ma, 0, &gauge, NULL, -1, -1), 0.113137084989848, 1e-12);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(input_reference_is_carried_over_by_the_slope),
		cmocka_unit_test(resolution_enters_as_half_a_count),
		cmocka_unit_test(all_four_are_combined),
		cmocka_unit_test(nothing_known_is_no_uncertainty),
		cmocka_unit_test(coverage_factor_that_is_missing_is_not_made_up),
		cmocka_unit_test(square_root_stays_finite_at_its_foot),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
