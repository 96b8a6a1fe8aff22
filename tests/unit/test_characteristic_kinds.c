/* The kinds beside linear, Pt100 and type K: what they give, that both ways agree, and where they end. */
#include "metrology/characteristic.h"
#include "support/check.h"

#include <stdbool.h>
#include <string.h>

static const struct range ma = {4, 20}, dp = {0, 250}, travel = {0, 100}, none = {0, 1};

static bool is_none(double v)
{
	return isnan(v);
}

static double there(const struct characteristic *c, double v)
{
	return characteristic_forward(c, ma, travel, v);
}

static double back(const struct characteristic *c, double v)
{
	return characteristic_inverse(c, ma, travel, v);
}

static double central_slope(const struct characteristic *c, double at, double h)
{
	return (there(c, at + h) - there(c, at - h)) / (2 * h);
}

/* ---- thermocouples ---- */

/* The ranges of NIST Monograph 175. Type B answers emf from 0 mV on, which is from 42.1 degC. */
static void temperature_comes_back_from_every_emf(void **state)
{
	static const struct {
		enum thermocouple_type type;
		double low, high;
	} types[] = {
		{THERMOCOUPLE_B, 42.2, 1820},  {THERMOCOUPLE_E, -270, 1000}, {THERMOCOUPLE_J, -210, 1200},
		{THERMOCOUPLE_K, -270, 1372},  {THERMOCOUPLE_N, -270, 1300}, {THERMOCOUPLE_R, -50, 1768.1},
		{THERMOCOUPLE_S, -50, 1768.1}, {THERMOCOUPLE_T, -270, 400},
	};

	(void)state;
	for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
		struct characteristic c = {.kind = CHARACTERISTIC_THERMOCOUPLE, .type = types[i].type};
		double worst = 0;

		for (double t = types[i].low; t <= types[i].high; t += 0.0137)
			worst = fmax(worst, fabs(back(&c, there(&c, t)) - t));
		worst = fmax(worst, fabs(back(&c, there(&c, types[i].high)) - types[i].high));
		print_message("type %s: back to %.1e degC over %g to %g degC\n", thermocouple_letter(c.type), worst,
			      types[i].low, types[i].high);
		assert_true(worst < 1e-4);
		assert_near(characteristic_domain(&c, ma).high, types[i].high, 0);
		assert_true(is_none(there(&c, types[i].high + 0.001)) &&
			    is_none(there(&c, characteristic_domain(&c, ma).low - 0.001)));
		assert_true(is_none(back(&c, characteristic_image(&c, ma, travel).high + 1e-6)));
		assert_true(is_none(back(&c, characteristic_image(&c, ma, travel).low - 1e-6)));
	}
}

static void emf_of_type_b_below_zero_tells_no_temperature(void **state)
{
	static const struct characteristic b = {.kind = CHARACTERISTIC_THERMOCOUPLE, .type = THERMOCOUPLE_B};

	(void)state; /* -0.0026 mV near 21 degC, NIST SRD 60 */
	assert_near(there(&b, 21), -0.0026, 0.00005);
	assert_true(is_none(back(&b, -0.001)));
	assert_true(back(&b, 0) > 42 && back(&b, 0) < 42.2);
	assert_near(back(&b, there(&b, 60)), 60, 1e-6);
}

static void slopes_of_thermocouples_are_those_of_the_functions(void **state)
{
	(void)state;
	for (int type = 0; type < THERMOCOUPLES; type++) {
		struct characteristic c = {.kind = CHARACTERISTIC_THERMOCOUPLE, .type = (enum thermocouple_type)type};
		struct range r = characteristic_domain(&c, ma);

		for (double t = r.low + 1.37; t < r.high - 1; t += 5.91)
			assert_near(characteristic_slope(&c, ma, travel, t), central_slope(&c, t, 1e-3), 2e-8);
	}
}

/* ---- resistance ---- */

static void own_coefficients_of_iec_60751_give_its_resistance(void **state)
{
	static const struct characteristic own = {.kind = CHARACTERISTIC_CALLENDAR_VAN_DUSEN,
						  .r0 = 1000,
						  .a = 3.9083e-3,
						  .b = -5.775e-7,
						  .c = -4.183e-12};
	static const struct characteristic pt1000 = {.kind = CHARACTERISTIC_RTD, .r0 = 1000};

	(void)state;
	for (double t = -200; t <= 850; t += 0.7) {
		assert_near(there(&own, t), there(&pt1000, t), 0);
		assert_near(back(&own, there(&own, t)), t, 1e-9);
	}
	assert_near(there(&pt1000, 100), 1385.055, 1e-9); /* 1000 (1 + 0.39083 - 0.005775) */
}

/* By hand: 99.96 (1 + 3.92e-3 * 150 - 6.2e-7 * 22500) = 99.96 * 1.57405; at -80 with c = -3.5e-12:
 * 99.96 (1 - 0.3136 - 0.003968 - 3.5e-12 * -180 * -512000) = 99.96 * 0.68210944. */
static void calibrated_thermometer_uses_its_own_coefficients(void **state)
{
	static const struct characteristic own = {
		.kind = CHARACTERISTIC_CALLENDAR_VAN_DUSEN, .r0 = 99.96, .a = 3.92e-3, .b = -6.2e-7, .c = -3.5e-12};
	struct characteristic turning = own;

	(void)state;
	assert_near(there(&own, 150), 157.342038, 1e-9);
	assert_near(there(&own, -80), 68.1836596224, 1e-9);
	for (double t = -200; t <= 850; t += 0.31)
		assert_near(back(&own, there(&own, t)), t, 1e-9);
	turning.b = -3e-6; /* 3.92e-3 - 6e-6 t is 0 at 653 degC */
	assert_non_null(characteristic_fault(&turning));
	assert_null(characteristic_fault(&own));
}

/* ---- square root and equal percentage ---- */

static void flow_below_the_cut_off_reads_as_none(void **state)
{
	static const struct characteristic c = {.kind = CHARACTERISTIC_SQUARE_ROOT, .cutoff = 5};

	(void)state; /* 5 % of flow is 0.25 % of differential pressure: 0.625 of 250 */
	assert_near(characteristic_forward(&c, dp, ma, 0.62), 4, 0);
	assert_near(characteristic_forward(&c, dp, ma, 0.63), 4 + 16 * sqrt(0.63 / 250), 1e-12);
	assert_near(characteristic_forward(&c, dp, ma, 90), 13.6, 1e-12);
	assert_near(characteristic_inverse(&c, dp, ma, 4), 0, 0);
	assert_true(is_none(characteristic_inverse(&c, dp, ma, 4.5)));
	assert_near(characteristic_inverse(&c, dp, ma, 13.6), 90, 1e-12);
	assert_near(characteristic_slope(&c, dp, ma, 0.3), 0, 0);
	assert_near(characteristic_slope(&c, dp, ma, 90), 16.0 / 250 / 1.2, 1e-12);
	for (double p = 0.63; p <= 250; p += 0.0713)
		assert_near(characteristic_inverse(&c, dp, ma, characteristic_forward(&c, dp, ma, p)), p, 1e-11);
}

/* sqrt(50) / 50 = 0.1414213562373095 at half travel; ends 0.02 and 1. */
static void equal_percentage_valve(void **state)
{
	static const struct characteristic c = {.kind = CHARACTERISTIC_EQUAL_PERCENTAGE, .rangeability = 50};

	(void)state;
	assert_near(there(&c, 12), 14.14213562373095, 1e-12);
	assert_near(there(&c, 4), 2, 1e-13);
	assert_near(there(&c, 20), 100, 0);
	for (double i = 3.2; i <= 20.8; i += 0.0171)
		assert_near(back(&c, there(&c, i)), i, 1e-12);
	assert_near(back(&c, there(&c, 20.8)), 20.8, 1e-9);
	assert_true(is_none(there(&c, 20.81)) && is_none(there(&c, 3.19)));
	for (double i = 3.3; i < 20.7; i += 0.37)
		assert_near(characteristic_slope(&c, ma, travel, i), central_slope(&c, i, 1e-4), 1e-6);
	assert_near(characteristic_domain(&c, ma).low, 3.2, 1e-12);
	assert_near(characteristic_domain(&c, (struct range){20, 4}).low, 3.2, 1e-12);
}

/* Straight up to 10 % of travel, where it is 30^-0.9 = 0.0468371942161; at 5 % half of that. */
static void modified_equal_percentage_closes(void **state)
{
	static const struct characteristic c = {
		.kind = CHARACTERISTIC_EQUAL_PERCENTAGE, .rangeability = 30, .linear_below = 10};

	(void)state;
	assert_near(there(&c, 4), 0, 0);
	assert_near(there(&c, 5.6), 4.68371942161, 1e-10);
	assert_near(there(&c, 4.8), 4.68371942161 / 2, 1e-10);
	for (double i = 3.2; i <= 20.8; i += 0.0171)
		assert_near(back(&c, there(&c, i)), i, 1e-12);
	assert_near(back(&c, 0), 4, 1e-12);
}

/* ---- tables ---- */

static const struct characteristic tank = {.kind = CHARACTERISTIC_TABLE,
					   .n_points = 4,
					   .x = {0, 1, 3, 4},
					   .y = {0, 2, 3, 7}};

static void table_is_straight_between_its_points(void **state)
{
	(void)state;
	assert_near(there(&tank, 0.25), 0.5, 1e-15);
	assert_near(there(&tank, 2.5), 2.75, 1e-15);
	assert_near(there(&tank, 4), 7, 0);
	assert_near(back(&tank, 5), 3.5, 1e-15);
	assert_near(characteristic_slope(&tank, ma, travel, 1), 0.5, 0);
	assert_true(is_none(there(&tank, -0.001)) && is_none(there(&tank, 4.001)) && is_none(back(&tank, 7.001)));
	for (double x = 0; x <= 4; x += 0.0031)
		assert_near(back(&tank, there(&tank, x)), x, 1e-14);
}

/*
 * Fritsch and Carlson by hand. Chords 2, 0.5, 4; slopes first 2, 1.25, 2.25, 4.
 * Piece 0: alpha 1, beta 0.625: stays. Piece 1: alpha 2.5, beta 4.5, root of the sum of squares sqrt(26.5) = 5.1478150705: drawn in to
 * 3 * 2.5 / 5.14781507 * 0.5 = 0.7284643, 3 * 4.5 / 5.14781507 * 0.5 = 1.3112357. Piece 2: 0.3278, 1: stays.
 * Middle of a piece: (y0 + y1) / 2 + h (m0 - m1) / 8.
 */
static void monotone_cubic_of_a_worked_table(void **state)
{
	struct characteristic c = tank;

	(void)state;
	c.interpolation = INTERPOLATION_MONOTONE_CUBIC;
	assert_near(there(&c, 0.5), 1 + (2 - 0.7284643) / 8, 1e-7);
	assert_near(there(&c, 2), 2.5 + 2 * (0.7284643 - 1.3112357) / 8, 1e-7);
	assert_near(there(&c, 3.5), 5 + (1.3112357 - 4) / 8, 1e-7);
	assert_near(characteristic_slope(&c, ma, travel, 1), 0.7284643, 1e-7);
	assert_near(characteristic_slope(&c, ma, travel, 4), 4, 1e-12);
	for (int i = 0; i < 4; i++)
		assert_near(there(&c, c.x[i]), c.y[i], 0);
	for (double x = 0.01; x < 3.99; x += 0.0031) {
		assert_near(back(&c, there(&c, x)), x, 1e-11);
		if (fabs(x - 1) > 1e-3 && fabs(x - 3) > 1e-3)
			assert_near(characteristic_slope(&c, ma, travel, x), central_slope(&c, x, 1e-5), 1e-4);
	}
}

static unsigned long long seed = 0x9e3779b97f4a7c15u;

static double random_unit(void)
{
	seed ^= seed << 13;
	seed ^= seed >> 7;
	seed ^= seed << 17;
	return (double)(seed >> 11) * 0x1p-53;
}

/* Steps from a millionth to a thousand; falling tables too. */
static void monotone_cubic_turns_nowhere_and_comes_back(void **state)
{
	(void)state;
	for (int run = 0; run < 500; run++) {
		struct characteristic c = {.kind = CHARACTERISTIC_TABLE, .interpolation = INTERPOLATION_MONOTONE_CUBIC};
		double x = -100 * random_unit(), y = 1000 * random_unit(), sign = run % 2 ? 1 : -1, before;

		c.n_points = 2 + (int)(random_unit() * 62.99);
		for (int i = 0; i < c.n_points; i++) {
			c.x[i] = x += pow(10, -2 + 4 * random_unit());
			c.y[i] = y += sign * pow(10, -6 + 9 * random_unit());
		}
		assert_null(characteristic_fault(&c));
		before = there(&c, c.x[0]);
		for (int i = 1; i <= 400; i++) {
			double at = c.x[0] + (c.x[c.n_points - 1] - c.x[0]) * i / 400,
			       now = there(&c, fmin(at, c.x[c.n_points - 1]));

			assert_true(sign * (now - before) >= -1e-12 * (fabs(now) + 1000));
			before = now;
			/* where it is flat the way back is as coarse as the numbers themselves */
			assert_near(there(&c, back(&c, now)), now, 1e-11 * (fabs(now) + 1000));
		}
	}
}

static void table_that_turns_has_no_way_back(void **state)
{
	struct characteristic c = tank;

	(void)state;
	c.y[2] = 1.5;
	assert_true(is_none(back(&c, 1.7)) && is_none(characteristic_image(&c, ma, travel).low));
	c.interpolation = INTERPOLATION_MONOTONE_CUBIC;
	assert_near(characteristic_slope(&c, ma, travel, 1), 0, 0); /* the top of the bump stays at the point */
	assert_true(there(&c, 0.99) < 2 && there(&c, 1.01) < 2);
	c = tank;
	c.x[2] = 1;
	assert_string_equal(characteristic_fault(&c), "the points' inputs must ascend from one to the next");
	c.n_points = 1;
	assert_non_null(characteristic_fault(&c));
}

/* ---- polynomial ---- */

/* 2 - x + 0.5 x^2 turns at x = 1. */
static void polynomial_holds_in_its_range_alone(void **state)
{
	struct characteristic c = {.kind = CHARACTERISTIC_POLYNOMIAL,
				   .n_coefficients = 3,
				   .coefficient = {2, -1, 0.5},
				   .validity = {1, 5}};

	(void)state;
	assert_near(there(&c, 3), 3.5, 1e-15);
	assert_near(characteristic_slope(&c, ma, travel, 3), 2, 1e-15);
	assert_near(back(&c, 3.5), 3, 1e-12);
	assert_true(is_none(there(&c, 5.001)) && is_none(there(&c, 0.999)) && is_none(back(&c, 9.51)));
	for (double x = 1.001; x <= 5; x += 0.0013)
		assert_near(back(&c, there(&c, x)), x, 1e-10);
	c.validity.low = 0.9;
	assert_true(is_none(back(&c, 3.5))); /* over its range it falls and rises */
	assert_near(there(&c, 0.95), 1.50125, 1e-15);
	c.validity = (struct range){-3, 1};
	assert_near(back(&c, 5.3125 + 0.78125), -2.0307, 1e-2);
	c.validity.high = -3;
	assert_non_null(characteristic_fault(&c));
}

/* Products of quadratics without a real zero, integrated, rise everywhere; with one more zero inside they do not. */
static void polynomial_that_turns_is_told_from_one_that_does_not(void **state)
{
	int inverted = 0;

	(void)state;
	for (int run = 0; run < 2000; run++) {
		struct characteristic c = {.kind = CHARACTERISTIC_POLYNOMIAL, .validity = {-1, 1}};
		double d[CHARACTERISTIC_TERMS_MAX] = {1}, root = 1.9 * random_unit() - 0.95;
		int n = 1, quadratics = 1 + run % 4;

		for (int q = 0; q < quadratics; q++) {
			double middle = 2 * random_unit() - 1, height = 0.05 + random_unit(),
			       next[CHARACTERISTIC_TERMS_MAX] = {0};

			for (int i = 0; i < n; i++) { /* times (x - middle)^2 + height */
				next[i] += d[i] * (middle * middle + height);
				next[i + 1] -= 2 * middle * d[i];
				next[i + 2] += d[i];
			}
			n += 2;
			memcpy(d, next, sizeof d);
		}
		if (run % 2) {
			for (int i = n; i > 0; i--)
				d[i] = d[i - 1] - root * d[i];
			d[0] *= -root;
			n++;
		}
		c.n_coefficients = n + 1;
		for (int i = 0; i < n; i++)
			c.coefficient[i + 1] = d[i] / (i + 1);
		if (run % 2) {
			assert_true(is_none(characteristic_image(&c, ma, travel).low));
			continue;
		}
		inverted++;
		for (double x = -1; x <= 1; x += 0.05)
			assert_near(back(&c, there(&c, x)), x, 1e-10);
	}
	assert_int_equal(inverted, 1000);
}

static void flat_polynomial_has_no_way_back(void **state)
{
	struct characteristic c = {
		.kind = CHARACTERISTIC_POLYNOMIAL, .n_coefficients = 1, .coefficient = {7}, .validity = {0, 1}};

	(void)state;
	assert_near(there(&c, 0.3), 7, 0);
	assert_true(is_none(back(&c, 7)));
	c.n_coefficients = 4;
	c.coefficient[0] = 0;
	c.coefficient[3] = 1;
	c.validity.low = -1; /* x^3: level at 0 and yet rising */
	assert_near(back(&c, -0.125), -0.5, 1e-12);
}

/* ---- words and faults ---- */

static void characteristic_is_named_in_words(void **state)
{
	char out[CHARACTERISTIC_TEXT_SIZE];
	struct characteristic c = {.kind = CHARACTERISTIC_THERMOCOUPLE, .type = THERMOCOUPLE_N};

	(void)state;
	assert_string_equal(characteristic_text(&c, out), "thermocouple type N (IEC 60584-1)");
	c = (struct characteristic){.kind = CHARACTERISTIC_RTD, .r0 = 100};
	assert_string_equal(characteristic_text(&c, out), "Pt100 (IEC 60751)");
	c = (struct characteristic){.kind = CHARACTERISTIC_EQUAL_PERCENTAGE, .rangeability = 50, .linear_below = 7.5};
	assert_string_equal(characteristic_text(&c, out),
			    "modified equal percentage, rangeability 50, straight below 7.5 % of travel");
	c = (struct characteristic){.kind = CHARACTERISTIC_SQUARE_ROOT};
	assert_string_equal(characteristic_text(&c, out), "square root");
	c = tank;
	assert_string_equal(characteristic_text(&c, out), "table of 4 points, straight between them");
}

static void what_is_not_well_formed_gives_no_number(void **state)
{
	static const struct characteristic broken[] = {
		{.kind = CHARACTERISTIC_RTD},
		{.kind = CHARACTERISTIC_THERMOCOUPLE, .type = THERMOCOUPLES},
		{.kind = CHARACTERISTIC_TABLE},
		{.kind = CHARACTERISTIC_POLYNOMIAL},
		{.kind = CHARACTERISTIC_EQUAL_PERCENTAGE, .rangeability = 0.5},
		{.kind = CHARACTERISTICS},
		{.kind = CHARACTERISTIC_CALLENDAR_VAN_DUSEN, .r0 = 100},
	};

	(void)state;
	for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
		assert_non_null(characteristic_fault(&broken[i]));
		assert_true(is_none(characteristic_domain(&broken[i], none).low) &&
			    is_none(characteristic_image(&broken[i], none, none).low));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(temperature_comes_back_from_every_emf),
		cmocka_unit_test(emf_of_type_b_below_zero_tells_no_temperature),
		cmocka_unit_test(slopes_of_thermocouples_are_those_of_the_functions),
		cmocka_unit_test(own_coefficients_of_iec_60751_give_its_resistance),
		cmocka_unit_test(calibrated_thermometer_uses_its_own_coefficients),
		cmocka_unit_test(flow_below_the_cut_off_reads_as_none),
		cmocka_unit_test(equal_percentage_valve),
		cmocka_unit_test(modified_equal_percentage_closes),
		cmocka_unit_test(table_is_straight_between_its_points),
		cmocka_unit_test(monotone_cubic_of_a_worked_table),
		cmocka_unit_test(monotone_cubic_turns_nowhere_and_comes_back),
		cmocka_unit_test(table_that_turns_has_no_way_back),
		cmocka_unit_test(polynomial_holds_in_its_range_alone),
		cmocka_unit_test(polynomial_that_turns_is_told_from_one_that_does_not),
		cmocka_unit_test(flat_polynomial_has_no_way_back),
		cmocka_unit_test(characteristic_is_named_in_words),
		cmocka_unit_test(what_is_not_well_formed_gives_no_number),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
