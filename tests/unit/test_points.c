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

	(void)state;	/* 12 V over 600 ohm at 20 mA */
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
		cmocka_unit_test(loop_that_drives_leaves_voltage),
		cmocka_unit_test(loop_that_does_not_drive_says_how_far_it_goes),
		cmocka_unit_test(loop_that_just_reaches_drives),
		cmocka_unit_test(modem_needs_resistance_in_the_loop),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
