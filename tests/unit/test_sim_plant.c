#include "field/sim_plant.h"
#include "field/source.h"
#include "support/check.h"

#include <stdio.h>
#include <string.h>

static double now_s;

static double test_clock(void *arg)
{
	(void)arg;
	return now_s;
}

/* No errors, no noise, no lag: what each test changes is what it is about. */
static const struct sim_plant_model ideal = {.source = {.gain = 1}, .meter = {.gain = 1}};

static struct sim_plant *begin(const struct sim_plant_model *m, uint64_t seed)
{
	struct sim_plant *p;

	now_s = 1000;
	p = sim_plant_new(m, seed, 1, test_clock, NULL);
	assert_non_null(p);
	return p;
}

static struct sim_value ask(struct sim_plant *p, enum sim_part_kind kind, const char *what)
{
	struct sim_part part = {p, kind, 0};
	struct sim_value v;

	assert_true(sim_part_read(&part, what, &v));
	return v;
}

static bool tell(struct sim_plant *p, enum sim_part_kind kind, const char *what, double value)
{
	struct sim_part part = {p, kind, 0};

	return sim_part_set(&part, what, value);
}

/* ---- the stem ---- */

/*
 * Series of the two-parameter description with known S and J (tests/data/field/README.md). At the sample where the signal has just come to S, rounding in
 * the file decides; everywhere else the travel is the same to the file's last digit.
 */
static void sticking_valve_follows_a_ramp_as_the_two_parameter_description_says(void **state)
{
	static const struct {
		const char *name;
		double s, j;
	} files[] = {{"S3_J1", 3, 1}, {"S4_J0", 4, 0}, {"S4_J2", 4, 2}};

	(void)state;
	for (size_t f = 0; f < 3; f++) {
		struct sim_stiction v;
		char path[300];
		FILE *file;
		double signal, travel;
		int n = 0, apart = 0;

		snprintf(path, sizeof path, SOURCE_DIR "/tests/data/field/stiction_ramp_%s.csv", files[f].name);
		file = fopen(path, "r");
		assert_non_null(file);
		assert_int_equal(fscanf(file, "%*[^\n]"), 0);
		sim_stiction_begin(&v, files[f].s, files[f].j, 50);
		for (; fscanf(file, "%*d,%lf,%lf", &signal, &travel) == 2; n++)
			apart += fabs(sim_stiction_move(&v, signal) - travel) > 2e-5;
		fclose(file);
		assert_int_equal(n, 2397);
		assert_in_range(apart, 0, 6); /* at most one a turn: the ramp turns six times */
	}
}

static void standing_valve_needs_the_slip_jump_to_go_on_and_all_of_s_to_turn(void **state)
{
	struct sim_stiction v;

	(void)state;
	sim_stiction_begin(&v, 4, 1, 50);
	assert_near(sim_stiction_move(&v, 53.9), 50, 0);
	assert_near(sim_stiction_move(&v, 54.1), 54.1 - 1.5, 1e-12); /* behind by (S - J) / 2 */
	sim_stiction_move(&v, 54.1);				     /* it stands */
	assert_near(sim_stiction_move(&v, 55), 52.6, 1e-12);	     /* 0.9 on */
	assert_near(sim_stiction_move(&v, 55.2), 53.7, 1e-12);
	assert_near(sim_stiction_move(&v, 51.3), 53.7, 1e-12); /* 3.9 back */
	assert_near(sim_stiction_move(&v, 51.1), 52.6, 1e-12);
}

/* ---- the loop ---- */

/* First order with dead time, closed form: T63 = 1.69961 s, T86 = 2.90298 s for Td = 0.5 s and tau = 1.2 s; a step of the
 * simulation is 0.01 s. */
static void step_response_has_dead_time_and_lag_as_set(void **state)
{
	struct sim_plant_model m = ideal;
	struct sim_plant *p;
	double first = NAN, t63 = NAN, t86 = NAN;

	(void)state;
	m.valve = (struct sim_valve){.dead_time_s = 0.5, .lag_s = 1.2};
	p = begin(&m, 1);
	assert_near(sim_plant_travel(p), 0, 0);
	assert_true(tell(p, SIM_SOURCE, "current", 12));
	for (int i = 0; i < 2000; i++) {
		double x;

		now_s = 1000 + i * 0.005;
		x = sim_plant_travel(p) / 50;
		if (isnan(first) && x > 0)
			first = i * 0.005;
		if (isnan(t63) && x >= 0.632)
			t63 = i * 0.005;
		if (isnan(t86) && x >= 0.865)
			t86 = i * 0.005;
	}
	assert_near(first, 0.5, 0.021);
	assert_near(t63, 1.69961, 0.021);
	assert_near(t86, 2.90298, 0.021);
	assert_near(sim_plant_travel(p), 50, 50 * 0.0005); /* e^-7.9 of the step is left */
	sim_plant_free(p);
}

static double travel_at(struct sim_plant *p, double ma)
{
	assert_true(tell(p, SIM_SOURCE, "current", ma));
	now_s += 60;
	return sim_plant_travel(p);
}

/* Approached from below and from above the stem stands apart by S - J; zero and span errors are plain arithmetic. */
static void the_loop_shows_hysteresis_zero_and_span_of_its_valve(void **state)
{
	struct sim_plant_model m = ideal;
	struct sim_plant *p;
	double up, down;

	(void)state;
	m.source.settle_s = 0.2;
	m.valve = (struct sim_valve){.s = 2, .j = 0.5, .lag_s = 0.5};
	p = begin(&m, 1);
	up = travel_at(p, 12);
	travel_at(p, 20);
	down = travel_at(p, 12);
	assert_near(up, 49.25, 1e-6);
	assert_near(down, 50.75, 1e-6);
	sim_plant_free(p);

	m.valve = (struct sim_valve){.zero = 0.6, .span_error = -0.01};
	p = begin(&m, 1);
	assert_near(travel_at(p, 4), 0.6, 1e-9);
	assert_near(travel_at(p, 12), 50.1, 1e-9);
	assert_near(travel_at(p, 20), 99.6, 1e-9);
	assert_near(travel_at(p, 21.5), 100, 1e-9); /* the end of its travel */
	sim_plant_free(p);
}

static void source_and_meter_have_errors_and_settling_of_their_own(void **state)
{
	struct sim_plant_model m = ideal;
	struct sim_plant *p;

	(void)state;
	m.source = (struct sim_meter){.gain = 1.001, .offset = 0.002, .settle_s = 0.2};
	m.meter = (struct sim_meter){.gain = 1.00155, .offset = -0.01};
	p = begin(&m, 1);
	assert_true(tell(p, SIM_SOURCE, "current", 20));
	now_s += 0.2;
	/* from 4.006 to 20.022 mA, 1 - 1/e of the way after one time constant */
	assert_near(sim_plant_current(p), 4.006 + 16.016 * 0.6321205588, 1e-6);
	now_s += 10;
	assert_near(sim_plant_current(p), 20.022, 1e-9);
	assert_near(ask(p, SIM_METER, "current").value, 20.022 * 1.00155 - 0.01, 1e-9);
	assert_string_equal(ask(p, SIM_METER, "current").unit, "mA");
	assert_true(tell(p, SIM_SOURCE, "output", 0));
	now_s += 10;
	assert_near(sim_plant_current(p), 0, 1e-9);
	sim_plant_free(p);
}

static void positioner_without_power_has_no_number(void **state)
{
	struct sim_plant *p = begin(&ideal, 1);
	struct sim_value v;

	(void)state;
	assert_true(tell(p, SIM_SOURCE, "current", 3.5));
	now_s += 1;
	v = ask(p, SIM_POSITIONER, "pv");
	assert_true(0 != isnan(v.value));
	assert_int_equal(v.status, FIELD_MALFUNCTION);
	assert_true(tell(p, SIM_SOURCE, "current", 3.7));
	now_s += 1;
	assert_near(ask(p, SIM_POSITIONER, "current").value, 3.7, 1e-9);
	assert_int_equal(ask(p, SIM_POSITIONER, "current").status, FIELD_OTHER_OUT_OF_LIMITS);
	sim_plant_free(p);
}

static void what_a_device_does_not_take_it_refuses(void **state)
{
	struct sim_plant *p = begin(&ideal, 1);
	struct sim_part source = {p, SIM_SOURCE, 0};
	struct sim_value v;

	(void)state;
	assert_false(tell(p, SIM_SOURCE, "current", 24.1));
	assert_false(tell(p, SIM_SOURCE, "current", -0.1));
	assert_false(tell(p, SIM_SOURCE, "current", NAN));
	assert_false(tell(p, SIM_SOURCE, "output", 0.5));
	assert_false(tell(p, SIM_METER, "current", 12));
	assert_false(tell(p, SIM_POSITIONER, "pv", 50));
	assert_false(sim_part_read(&source, "pv", &v));
	now_s += 1;
	assert_near(sim_plant_current(p), 4, 1e-12); /* none of it had an effect */
	sim_plant_free(p);
}

/* From 4 mA up and down again, a minute each, until somebody takes over. */
static void source_that_nobody_sets_goes_round(void **state)
{
	static const double levels[] = {4, 8, 12, 16, 20, 16, 12, 8, 4, 8};
	struct sim_plant_model m = ideal;
	struct sim_plant *p;

	(void)state;
	m.dwell_s = 60;
	p = begin(&m, 1);
	for (int i = 0; i < 10; i++) {
		now_s = 1000 + 60 * i + 30;
		assert_near(sim_plant_current(p), levels[i], 1e-9);
	}
	assert_true(tell(p, SIM_SOURCE, "current", 5));
	now_s += 300;
	assert_near(sim_plant_current(p), 5, 1e-9);
	sim_plant_free(p);
}

/* ---- transmitters ---- */

static const struct sim_transmitter pt =
	{.tag = "PT-4101", .unit = "bar", .lrv = 0, .urv = 16, .level = 8, .swing = 2, .period_s = 40};

static void transmitter_shows_the_process_with_its_zero_and_span_errors(void **state)
{
	struct sim_transmitter t = pt;
	struct sim_plant_model m = ideal;
	struct sim_plant *p;

	(void)state;
	t.zero = 0.01;
	t.span_error = 0.02;
	m.transmitters = &t;
	m.transmitter_count = 1;
	p = begin(&m, 1);
	now_s += 10; /* a quarter of the period: 8 + 2 = 10 bar, 62.5 % */
	assert_near(ask(p, SIM_PROCESS, "pv").value, 10, 1e-9);
	assert_near(ask(p, SIM_TRANSMITTER, "percent").value, 62.5 * 1.02 + 1, 1e-9);
	assert_near(ask(p, SIM_TRANSMITTER, "current").value, 4 + 16 * 0.6475, 1e-9);
	assert_near(ask(p, SIM_TRANSMITTER, "pv").value, 16 * 0.6475, 1e-9);
	assert_true(tell(p, SIM_PROCESS, "pv", 4)); /* 25 % */
	now_s += 10;
	assert_near(ask(p, SIM_TRANSMITTER, "percent").value, 26.5, 1e-9);
	assert_int_equal(ask(p, SIM_TRANSMITTER, "percent").status, 0);
	assert_true(tell(p, SIM_PROCESS, "pv", 17));
	now_s += 1;
	assert_near(ask(p, SIM_TRANSMITTER, "current").value, 20.5, 0); /* NAMUR NE 43 */
	assert_int_equal(ask(p, SIM_TRANSMITTER, "current").status, FIELD_SATURATED);
	assert_true(tell(p, SIM_PROCESS, "pv", -2));
	now_s += 1;
	assert_near(ask(p, SIM_TRANSMITTER, "current").value, 3.8, 0);
	sim_plant_free(p);
}

/* 10,000 readings: the standard deviation of a standard deviation is 0.7 % of it, of the mean 1 %. */
static void noise_has_the_deviation_that_was_set_and_mean_nought(void **state)
{
	struct sim_transmitter t = pt;
	struct sim_plant_model m = ideal;
	struct sim_plant *p;
	double sum = 0, squares = 0;

	(void)state;
	t.swing = 0;
	t.noise = 0.001;
	m.transmitters = &t;
	m.transmitter_count = 1;
	p = begin(&m, 4101);
	for (int i = 0; i < 10000; i++) {
		double e = ask(p, SIM_TRANSMITTER, "percent").value - 50;

		sum += e;
		squares += e * e;
	}
	assert_near(sum / 10000, 0, 0.1 * 0.05);
	assert_near(sqrt(squares / 10000), 0.1, 0.1 * 0.035);
	sim_plant_free(p);
}

/* ---- repeating ---- */

static void record(uint64_t seed, double *out, int n)
{
	struct sim_plant_model m = ideal;
	struct sim_plant *p;

	m.valve = (struct sim_valve){.s = 1.2, .j = 0.4, .lag_s = 0.8, .dead_time_s = 0.3, .noise = 0.05};
	p = begin(&m, seed);
	assert_true(tell(p, SIM_SOURCE, "current", 14));
	for (int i = 0; i < n; i++) {
		now_s += 0.1;
		out[i] = ask(p, SIM_POSITIONER, "pv").value;
	}
	sim_plant_free(p);
}

static void same_seed_gives_the_same_run(void **state)
{
	double a[100], b[100], c[100];

	(void)state;
	record(7, a, 100);
	record(7, b, 100);
	record(8, c, 100);
	assert_memory_equal(a, b, sizeof a);
	assert_memory_not_equal(a, c, sizeof a);
}

static void the_valve_moves_the_same_however_often_it_is_asked(void **state)
{
	struct sim_plant_model m = ideal;
	struct sim_plant *often, *once;

	(void)state;
	m.source.settle_s = 0.2;
	m.valve = (struct sim_valve){.s = 1.2, .j = 0.4, .lag_s = 0.8, .dead_time_s = 0.3};
	often = begin(&m, 1);
	once = begin(&m, 1);
	assert_true(tell(often, SIM_SOURCE, "current", 14));
	assert_true(tell(once, SIM_SOURCE, "current", 14));
	for (int i = 0; i < 170; i++) {
		now_s += 0.01;
		sim_plant_travel(often);
	}
	assert_true(sim_plant_travel(often) > 10);
	assert_near(sim_plant_travel(once), sim_plant_travel(often), 0);
	now_s += 1e7; /* months without a question are made up for at once */
	/* behind by (S - J) / 2; slower than 1e-9 % a step the signal stands still, with 2e-8 % left to go */
	assert_near(sim_plant_travel(once), 62.5 - 0.4, 1e-7);
	sim_plant_free(often);
	sim_plant_free(once);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(sticking_valve_follows_a_ramp_as_the_two_parameter_description_says),
		cmocka_unit_test(standing_valve_needs_the_slip_jump_to_go_on_and_all_of_s_to_turn),
		cmocka_unit_test(step_response_has_dead_time_and_lag_as_set),
		cmocka_unit_test(the_loop_shows_hysteresis_zero_and_span_of_its_valve),
		cmocka_unit_test(source_and_meter_have_errors_and_settling_of_their_own),
		cmocka_unit_test(source_that_nobody_sets_goes_round),
		cmocka_unit_test(positioner_without_power_has_no_number),
		cmocka_unit_test(what_a_device_does_not_take_it_refuses),
		cmocka_unit_test(transmitter_shows_the_process_with_its_zero_and_span_errors),
		cmocka_unit_test(noise_has_the_deviation_that_was_set_and_mean_nought),
		cmocka_unit_test(same_seed_gives_the_same_run),
		cmocka_unit_test(the_valve_moves_the_same_however_often_it_is_asked),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
