#include "metrology/format.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MINUS "\xe2\x88\x92"

static void shows(double value, int decimals, const char *expected)
{
	char text[NUMBER_TEXT_SIZE];

	assert_string_equal(format_number(value, decimals, false, text), expected);
}

/* ISO 80000-1:2009, B.3 rule B: of two equally near, the one farther from zero. */
static void half_goes_away_from_zero(void **state)
{
	(void)state;
	shows(0.125, 2, "0.13");
	shows(-0.125, 2, MINUS "0.13");
	shows(2.5, 0, "3");
	shows(-0.5, 0, MINUS "1");
	shows(0.124999, 2, "0.12");
}

/* In binary 1.005 is 1.00499999999999989..., 8.575 is 8.57499999999999929...: printf makes 1.00 and 8.57 of them. */
static void typed_decimal_is_rounded_as_typed(void **state)
{
	(void)state;
	shows(1.005, 2, "1.01");
	shows(8.575, 2, "8.58");
	shows(-1.005, 2, MINUS "1.01");
	shows(0.1 + 0.2, 1, "0.3");
	shows(1.0049999, 2, "1.00");
}

static void nothing_shows_as_minus_zero(void **state)
{
	char text[NUMBER_TEXT_SIZE];

	(void)state;
	shows(-0.004, 2, "0.00");
	shows(-0.0, 1, "0.0");
	assert_string_equal(format_number(-0.004, 2, true, text), "0.00");
	shows(-0.005, 2, MINUS "0.01");
}

static void plus_is_written_when_asked_for(void **state)
{
	char text[NUMBER_TEXT_SIZE];

	(void)state;
	assert_string_equal(format_number(0.19, 2, true, text), "+0.19");
	assert_string_equal(format_number(-0.35, 2, true, text), MINUS "0.35");
	assert_string_equal(format_number(0.001, 2, true, text), "0.00");
}

static void trailing_zeros_state_the_resolution(void **state)
{
	(void)state;
	shows(12, 2, "12.00");
	shows(12, 0, "12");
	shows(1372.5, 9, "1372.500000000");
	shows(0.000000001, 9, "0.000000001");
	shows(0.0000000004, 9, "0.000000000");
}

static void numbers_up_to_1e15_keep_their_digits(void **state)
{
	(void)state;
	shows(123456789012345, 0, "123456789012345");
	shows(1e15, 0, "1000000000000000");
	shows(99999999999999.5, 0, "100000000000000");
	shows(1.0000001e15, 0, "\xe2\x80\x93");
}

static void what_is_no_number_shows_as_a_dash(void **state)
{
	(void)state;
	shows(NAN, 2, "\xe2\x80\x93");
	shows(INFINITY, 2, "\xe2\x80\x93");
	shows(-INFINITY, 2, "\xe2\x80\x93");
}

/* The C library prints the nearest decimal; well away from a tie both must say the same. */
static void agrees_with_the_c_library_away_from_ties(void **state)
{
	char ours[NUMBER_TEXT_SIZE], theirs[64], wide[64];
	unsigned long long seed = 88172645463325252u;
	int compared = 0;

	(void)state;
	for (int i = 0; i < 200000; i++) {
		double value;
		int decimals;

		seed ^= seed << 13, seed ^= seed >> 7, seed ^= seed << 17;
		value = (double)(seed >> 11) * 0x1p-53;
		for (int k = (int)(seed % 7); k > 0; k--)
			value *= 7.3;
		decimals = (int)(seed / 17 % 7);
		snprintf(wide, sizeof wide, "%.*f", decimals + 3, value);
		if (value > 1e5 || !strcmp(wide + strlen(wide) - 3, "500") || !strcmp(wide + strlen(wide) - 3, "499"))
			continue;
		snprintf(theirs, sizeof theirs, "%.*f", decimals, value);
		assert_string_equal(format_number(value, decimals, false, ours), theirs);
		compared++;
	}
	assert_true(compared > 100000);
}

static void decimals_are_counted_as_typed(void **state)
{
	(void)state;
	assert_int_equal(decimals_of_text("12.00"), 2);
	assert_int_equal(decimals_of_text("12,0"), 1);
	assert_int_equal(decimals_of_text("-0.350"), 3);
	assert_int_equal(decimals_of_text("+7"), 0);
	assert_int_equal(decimals_of_text(".5"), 1);
}

static void text_that_is_no_decimal_number_has_no_decimals(void **state)
{
	static const char *const wrong[] = {"",	   "-",	  ".",	    "12.", "1.2.3", "1e3", "0x10",
					    " 12", "12 ", "12,3.4", "nan", "--1",   "1-"};

	(void)state;
	for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
		if (decimals_of_text(wrong[i]) != -1)
			fail_msg("\"%s\" is taken for a number", wrong[i]);
}

static void rounding_gives_the_number_that_is_shown(void **state)
{
	(void)state;
	assert_true(round_decimals(1.005, 2) == 1.01);
	assert_true(round_decimals(-0.125, 2) == -0.13);
	assert_true(round_decimals(0.1 + 0.2, 9) == 0.3);
	assert_true(round_decimals(12.3456789, 4) == 12.3457);
	assert_false(0 != signbit(round_decimals(-0.004, 2)));
	assert_true(0 != isnan(round_decimals(NAN, 2)));
	assert_true(round_decimals(1e300, 2) == 1e300);
}

static void rounded_value_and_text_are_the_same_number(void **state)
{
	char text[NUMBER_TEXT_SIZE];

	(void)state;
	for (int i = 0; i < 20000; i++) {
		double value = i * 0.0173 + i % 7 * 0.0005;

		for (int decimals = 0; decimals <= 5; decimals++)
			assert_true(strtod(format_number(value, decimals, false, text), NULL) ==
				    round_decimals(value, decimals));
	}
}

static void decimals_show_a_step_with_two_digits(void **state)
{
	(void)state;
	assert_int_equal(decimals_for(0.048), 3);
	assert_int_equal(decimals_for(3), 1);
	assert_int_equal(decimals_for(120), 0);
	assert_int_equal(decimals_for(10), 0);
	assert_int_equal(decimals_for(9.99), 1);
	assert_int_equal(decimals_for(0.1), 2);
	assert_int_equal(decimals_for(-0.16), 2);
	assert_int_equal(decimals_for(1e-12), 9);
	assert_int_equal(decimals_for(0), 0);
	assert_int_equal(decimals_for(NAN), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(half_goes_away_from_zero),
		cmocka_unit_test(typed_decimal_is_rounded_as_typed),
		cmocka_unit_test(nothing_shows_as_minus_zero),
		cmocka_unit_test(plus_is_written_when_asked_for),
		cmocka_unit_test(trailing_zeros_state_the_resolution),
		cmocka_unit_test(numbers_up_to_1e15_keep_their_digits),
		cmocka_unit_test(what_is_no_number_shows_as_a_dash),
		cmocka_unit_test(agrees_with_the_c_library_away_from_ties),
		cmocka_unit_test(decimals_are_counted_as_typed),
		cmocka_unit_test(text_that_is_no_decimal_number_has_no_decimals),
		cmocka_unit_test(rounding_gives_the_number_that_is_shown),
		cmocka_unit_test(rounded_value_and_text_are_the_same_number),
		cmocka_unit_test(decimals_show_a_step_with_two_digits),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
