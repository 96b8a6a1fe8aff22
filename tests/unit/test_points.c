#include "metrology/loop.h"
#include "metrology/points.h"
#include "support/check.h"

static const double five[] = {0, 25, 50, 75, 100};
static const struct range ma = {4, 20};

static void one_cycle_reads_the_top_once(void **state)
{
	static const double sets[] = {4, 8, 12, 16, 20, 16, 12, 8, 4};
	struct test_point p[20];

	(void)state;
	assert_int_equal(points_generate(five, 5, PATTERN_UP_DOWN, 1, ma, p, 20), 9);
	for (int i = 0; i < 9; i++) {
		assert_near(p[i].set, sets[i], 0);
		assert_int_equal(p[i].direction, i < 5 ? RISING : FALLING);
		assert_int_equal(p[i].cycle, 1);
	}
	assert_near(p[5].percent, 75, 0);
}

static void cycles_follow_each_other(void **state)
{
	struct test_point p[30];

	(void)state;
	assert_int_equal(points_generate(five, 5, PATTERN_UP_DOWN, 3, ma, p, 30), 27);
	assert_int_equal(p[8].cycle, 1);
	assert_int_equal(p[9].cycle, 2);
	assert_near(p[9].percent, 0, 0);
	assert_int_equal(p[9].direction, RISING);
	assert_int_equal(points_generate(five, 5, PATTERN_UP, 2, ma, p, 30), 10);
	assert_int_equal(p[9].direction, RISING);
}

static void reverse_range_runs_from_its_low_end(void **state)
{
	static const double odd[] = {2.5, 33.3, 97.5};
	struct test_point p[3];

	(void)state;
	assert_int_equal(points_generate(odd, 3, PATTERN_UP, 1, (struct range){250, 10}, p, 3), 3);
	assert_near(p[0].set, 244, 1e-12);
	assert_near(p[1].set, 170.08, 1e-12);
	assert_near(p[2].set, 16, 1e-12);
}

static void list_that_cannot_be_run_gives_no_points(void **state)
{
	static const double falls[] = {0, 50, 50, 100};
	struct test_point p[9];

	(void)state;
	assert_int_equal(points_generate(five, 0, PATTERN_UP, 1, ma, p, 9), 0);
	assert_int_equal(points_generate(falls, 4, PATTERN_UP, 1, ma, p, 9), 0);
	assert_int_equal(points_generate(five, 5, PATTERN_UP_DOWN, 2, ma, p, 9), 0);
	assert_int_equal(points_generate(five, 5, PATTERN_UP_DOWN, 0, ma, p, 9), 0);
	assert_int_equal(points_generate((const double[]){0, NAN}, 2, PATTERN_UP, 1, ma, p, 9), 0);
	assert_int_equal(points_generate(five, 5, PATTERN_UP_DOWN, 1, ma, p, 9), 9);
}

static void patterns_from_the_top_and_with_both_tops(void **state)
{
	static const double down_up[] = {20, 12, 4, 12, 20}, up_all[] = {4, 12, 20, 20, 12, 4};
	static const double three[] = {0, 50, 100};
	struct test_point p[12];

	(void)state;
	assert_int_equal(points_generate(three, 3, PATTERN_DOWN_UP, 1, ma, p, 12), 5);
	for (int i = 0; i < 5; i++) {
		assert_near(p[i].set, down_up[i], 0);
		assert_int_equal(p[i].direction, i < 3 ? FALLING : RISING);
	}
	assert_int_equal(points_generate(three, 3, PATTERN_UP_ALL, 2, ma, p, 12), 12);
	for (int i = 0; i < 12; i++) {
		assert_near(p[i].set, up_all[i % 6], 0);
		assert_int_equal(p[i].direction, i % 6 < 3 ? RISING : FALLING);
		assert_int_equal(p[i].cycle, i < 6 ? 1 : 2);
	}
	assert_int_equal(points_generate(three, 3, PATTERN_DOWN, 1, ma, p, 12), 3);
	assert_near(p[0].set, 20, 0);
	assert_int_equal(points_generate(three, 3, PATTERN_UP_ALL, 2, ma, p, 11), 0);
}

static void percentages_are_laid_out(void **state)
{
	double percent[11];

	(void)state;
	assert_int_equal(points_even(5, percent, 11), 5);
	assert_true(percent[0] == 0 && percent[1] == 25 && percent[3] == 75 && percent[4] == 100);
	assert_int_equal(points_even(1, percent, 11), 1);
	assert_near(percent[0], 50, 0);
	assert_int_equal(points_even(12, percent, 11), 0);
	assert_int_equal(points_chosen(POINTS_11, percent, 11), 11);
	assert_near(percent[7], 70, 1e-12);
	assert_int_equal(points_chosen(POINTS_11, percent, 10), 0);
	assert_int_equal(points_chosen(POINTS_0_10_50_90_100, percent, 11), 5);
	assert_true(percent[1] == 10 && percent[2] == 50 && percent[3] == 90 && percent[4] == 100);
	assert_int_equal(points_chosen(POINTS_10_50_90, percent, 3), 3);
	assert_true(percent[0] == 10 && percent[2] == 90);
}

/* NAMUR NE 43 (2003): 3.8 to 20.5 mA measures, up to 3.6 and from 21 mA is a failure. */
static void signal_says_whether_it_measures(void **state)
{
	(void)state;
	assert_int_equal(signal_state(3.8), SIGNAL_MEASURES);
	assert_int_equal(signal_state(20.5), SIGNAL_MEASURES);
	assert_int_equal(signal_state(3.79), SIGNAL_BETWEEN);
	assert_int_equal(signal_state(20.51), SIGNAL_BETWEEN);
	assert_int_equal(signal_state(3.6), SIGNAL_FAILS_LOW);
	assert_int_equal(signal_state(0), SIGNAL_FAILS_LOW);
	assert_int_equal(signal_state(21), SIGNAL_FAILS_HIGH);
}

static void signal_points_stay_where_the_signal_measures(void **state)
{
	static const struct characteristic linear = {.kind = CHARACTERISTIC_LINEAR};
	static const double wide[] = {-5, -2, 0, 50, 100, 105};
	static const struct range valve = {0, 100};
	struct test_point p[12];
	size_t n = points_generate(wide, 6, PATTERN_UP_DOWN, 1, ma, p, 12);

	(void)state; /* -5 % is 3.2 mA and -2 % 3.68 mA: both become 3.8; 105 % is 20.8, which becomes 20.5 mA, 103.125 % */
	n = points_clip(p, n, ma, points_reach(&linear, ma, valve, true, false));
	assert_int_equal(n, 9);
	assert_near(p[0].set, 3.8, 0);
	assert_near(p[0].percent, -1.25, 1e-12);
	assert_near(p[1].set, 4, 0);
	assert_near(p[4].set, 20.5, 0);
	assert_near(p[4].percent, 103.125, 1e-12);
	assert_near(p[8].set, 3.8, 0);
	assert_int_equal(p[8].direction, FALLING);
}

/* 0..250 mbar to 4..20 mA: 3.8 mA is -3.125, 20.5 mA 257.8125 mbar; a square root gives no 3.8 mA, and 20.5 mA at 265.87 mbar. */
static void input_is_kept_where_the_output_measures(void **state)
{
	static const struct characteristic linear = {.kind = CHARACTERISTIC_LINEAR},
					   root = {.kind = CHARACTERISTIC_SQUARE_ROOT};
	static const struct range dp = {0, 250}, down = {20, 4};
	struct range r = points_reach(&linear, dp, ma, false, true);

	(void)state;
	assert_near(r.low, -3.125, 1e-12);
	assert_near(r.high, 257.8125, 1e-12);
	r = points_reach(&linear, dp, down, false, true);
	assert_near(r.low, -7.8125, 1e-12); /* 20.5 mA */
	assert_near(r.high, 253.125, 1e-12);
	r = points_reach(&root, dp, ma, false, true);
	assert_true(r.low == -INFINITY);
	assert_near(r.high, 250 * 1.03125 * 1.03125, 1e-12);
	r = points_reach(&linear, dp, (struct range){0, 100}, false, false);
	assert_true(r.low == -INFINITY && r.high == INFINITY);
}

/* Ohm's law: 24 V, 12.5 V at the instrument, 250 + 47 ohm, 20 mA. */
static void loop_that_drives_leaves_voltage(void **state)
{
	struct loop l = {24, 12.5, 250, 47};
	struct loop_budget b = loop_budget(&l, 20);

	(void)state;
	assert_near(b.resistance_ohm, 297, 1e-12);
	assert_near(b.drop_v, 5.94, 1e-12);
	assert_near(b.left_v, 5.56, 1e-12);
	assert_near(b.most_ma, 38.7205387205387, 1e-9);
	assert_true(b.drives && b.hart);
}

static void loop_that_does_not_drive_says_how_far_it_goes(void **state)
{
	struct loop l = {18, 12.5, 250, 47};
	struct loop_budget b = loop_budget(&l, 20);

	(void)state;
	assert_near(b.left_v, -0.44, 1e-12);
	assert_near(b.most_ma, 18.5185185185185, 1e-9);
	assert_false(b.drives);
	l.device_v = 19;
	b = loop_budget(&l, 20);
	assert_near(b.most_ma, 0, 0);
	assert_false(b.drives);
}

static void loop_that_just_reaches_drives(void **state)
{
	struct loop l = {24, 12, 250, 350};

	(void)state; /* 12 V over 600 ohm at 20 mA */
	assert_true(loop_budget(&l, 20).drives);
	l.cable_ohm = 350.1;
	assert_false(loop_budget(&l, 20).drives);
}

/* 230 to 600 ohm: from memory, unverified. */
static void modem_needs_resistance_in_the_loop(void **state)
{
	struct loop l = {24, 12, 0, 229};

	(void)state;
	assert_false(loop_budget(&l, 20).hart);
	l.cable_ohm = 230;
	assert_true(loop_budget(&l, 20).hart);
	l.cable_ohm = 600;
	assert_true(loop_budget(&l, 20).hart);
	l.cable_ohm = 601;
	assert_false(loop_budget(&l, 20).hart);
	l.cable_ohm = 0;
	assert_true(0 != isinf(loop_budget(&l, 20).most_ma));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(one_cycle_reads_the_top_once),
		cmocka_unit_test(cycles_follow_each_other),
		cmocka_unit_test(reverse_range_runs_from_its_low_end),
		cmocka_unit_test(list_that_cannot_be_run_gives_no_points),
		cmocka_unit_test(patterns_from_the_top_and_with_both_tops),
		cmocka_unit_test(percentages_are_laid_out),
		cmocka_unit_test(signal_says_whether_it_measures),
		cmocka_unit_test(signal_points_stay_where_the_signal_measures),
		cmocka_unit_test(input_is_kept_where_the_output_measures),
		cmocka_unit_test(loop_that_drives_leaves_voltage),
		cmocka_unit_test(loop_that_does_not_drive_says_how_far_it_goes),
		cmocka_unit_test(loop_that_just_reaches_drives),
		cmocka_unit_test(modem_needs_resistance_in_the_loop),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
