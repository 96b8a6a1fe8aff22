/* The rule of metrology/steady.h on the simulated valve and transmitters: what a crew sees, in the time of the simulation. */
#include "field/sim_plant.h"
#include "metrology/steady.h"
#include "support/check.h"

#include <stdio.h>

static double now_s;

static double test_clock(void *arg)
{
	(void)arg;
	return now_s;
}

static struct steady_result watch(struct sim_part *part, struct steady *s, double most_s, double *took_s)
{
	double begun = now_s;
	struct sim_value v;
	struct steady_result r = {0};

	steady_clear(s);
	for (*took_s = 0; *took_s < most_s; now_s += 0.5) {
		assert_true(sim_part_read(part, "pv", &v));
		steady_add(s, now_s, v.value, false);
		r = steady_judge(s);
		*took_s = now_s - begun;
		if (r.reason == STEADY_ACCEPTED)
			return r;
	}
	return r;
}

/*
 * 200 valves with other stiction, dead time, lag and noise each step through their travel, T = 1 %. Where the stem comes to rest the
 * plant itself tells, a long time later. Off by at most T/4, by the window's being longer than any lag, and the mean's noise: 5 s / sqrt(n).
 */
static void a_valve_is_recorded_where_it_comes_to_rest(void **state)
{
	static const double levels[] = {8, 12, 16, 20, 16, 12, 8, 4};
	int accepted = 0;

	(void)state;
	for (unsigned seed = 1; seed <= 200; seed++) {
		struct sim_plant_model m = {.source = {.gain = 1, .settle_s = 0.2}, .meter = {.gain = 1}};
		struct sim_plant *p;
		struct steady s;

		m.valve = (struct sim_valve){.s = 0.02 * (seed % 100),
					     .j = 0.005 * (seed % 100),
					     .dead_time_s = 0.01 * (seed % 70),
					     .lag_s = 0.1 + 0.04 * seed,
					     .noise = 0.0005 * (seed % 120)};
		now_s = 0;
		p = sim_plant_new(&m, seed, 1, test_clock, NULL);
		assert_non_null(p);
		assert_true(steady_begin(&s, &(struct steady_rule){.tolerance = 1, .sample_s = 0.5}));
		for (size_t i = 0; i < 8; i++) {
			struct sim_part source = {p, SIM_SOURCE, 0}, positioner = {p, SIM_POSITIONER, 0};
			struct steady_result r;
			double took;

			assert_true(sim_part_set(&source, "current", levels[i]));
			r = watch(&positioner, &s, 300, &took);
			assert_int_equal(r.reason, STEADY_ACCEPTED);
			assert_true(took >= 10 - 1e-6);
			now_s += 200; /* more than 24 of the longest lag */
			assert_near(r.mean, sim_plant_travel(p), 0.25 + 5 * m.valve.noise / sqrt(r.n));
			accepted++;
		}
		sim_plant_free(p);
	}
	assert_int_equal(accepted, 1600);
}

/* 3 bar up and down in 40 s against T = 0.016 bar; held still by the crew it is accepted. */
static void a_process_that_swings_is_recorded_only_once_it_is_held(void **state)
{
	static const struct sim_transmitter pt = {"PT-4101", "bar", 0, 16, 8, 3, 40, 0.4, 0, 0, 0.00005};
	const struct sim_plant_model m = {
		.source = {.gain = 1}, .meter = {.gain = 1}, .transmitters = &pt, .transmitter_count = 1};
	struct sim_plant *p;
	struct sim_part transmitter, process;
	struct steady s;
	double took;

	(void)state;
	now_s = 0;
	p = sim_plant_new(&m, 4101, 1, test_clock, NULL);
	assert_non_null(p);
	transmitter = (struct sim_part){p, SIM_TRANSMITTER, 0};
	process = (struct sim_part){p, SIM_PROCESS, 0};
	assert_true(steady_begin(&s, &(struct steady_rule){.tolerance = 0.016, .sample_s = 0.5}));
	assert_int_not_equal(watch(&transmitter, &s, 3600, &took).reason, STEADY_ACCEPTED);
	assert_true(sim_part_set(&process, "pv", 12));
	assert_int_equal(watch(&transmitter, &s, 60, &took).reason, STEADY_ACCEPTED);
	assert_near(steady_judge(&s).mean, 12, 0.004 + 5 * 0.0008 / sqrt(20));
	sim_plant_free(p);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_valve_is_recorded_where_it_comes_to_rest),
		cmocka_unit_test(a_process_that_swings_is_recorded_only_once_it_is_held),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
