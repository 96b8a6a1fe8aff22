#include "metrology/steady.h"
#include "metrology/random.h"
#include "support/check.h"

#include <stdio.h>

/* 0.1 % of 16 mA, a window of 10 s, two samples a second: the rule that tests/data/field was judged with. */
static const struct steady_rule rule = {.tolerance = 0.016, .window_s = 10, .sample_s = 0.5, .least = 10};

struct series {
	double t[200], value[200];
	int n;
};

static void load(struct series *s, const char *name)
{
	char path[300];
	FILE *file;

	snprintf(path, sizeof path, SOURCE_DIR "/tests/data/field/%s.csv", name);
	file = fopen(path, "r");
	assert_non_null(file);
	assert_int_equal(fscanf(file, "%*[^\n]"), 0);
	for (s->n = 0; s->n < 200 && fscanf(file, "%lf,%lf", &s->t[s->n], &s->value[s->n]) == 2;)
		s->n++;
	fclose(file);
	assert_int_equal(s->n, 120);
}

static enum steady_reason feed(struct steady *s, double t, double value)
{
	steady_add(s, t, value, false);
	return steady_judge(s).reason;
}

/* 49.0 s: the same rule computed in another language, tests/data/field/README.md. Before, the value really moves. */
static void settling_value_is_accepted_when_it_has_settled(void **state)
{
	struct steady s;
	struct series in;
	double first = NAN;
	struct steady_result r;

	(void)state;
	load(&in, "settle_exp");
	assert_true(steady_begin(&s, &rule));
	for (int i = 0; i < in.n; i++) {
		if (feed(&s, in.t[i], in.value[i]) == STEADY_ACCEPTED && isnan(first))
			first = in.t[i];
		if (in.t[i] >= 10 && in.t[i] <= 40)
			assert_int_equal(steady_judge(&s).reason, STEADY_MOVING);
	}
	assert_near(first, 49, 1e-9);
	r = steady_judge(&s);
	assert_int_equal(r.n, 21); /* 49.5 to 59.5 s, both included */
	assert_near(r.from_s, 49.5, 1e-9);
	assert_near(r.mean, 12, 0.016 / 4); /* the approach ends at 12 mA */
}

static void drifting_value_is_never_accepted(void **state)
{
	struct steady s;
	struct series in;

	(void)state;
	load(&in, "settle_drift");
	assert_true(steady_begin(&s, &rule));
	for (int i = 0; i < in.n; i++)
		assert_int_not_equal(feed(&s, in.t[i], in.value[i]), STEADY_ACCEPTED);
	assert_int_equal(steady_judge(&s).reason, STEADY_MOVING);
}

static void no_accepted_window_spans_a_step(void **state)
{
	struct steady s;
	struct series in;
	int before = 0, after = 0;

	(void)state;
	load(&in, "settle_step");
	assert_true(steady_begin(&s, &rule));
	for (int i = 0; i < in.n; i++) {
		struct steady_result r;

		if (feed(&s, in.t[i], in.value[i]) != STEADY_ACCEPTED)
			continue;
		r = steady_judge(&s);
		assert_true(r.to_s < 30 || r.from_s >= 30);
		before += r.to_s < 30;
		after += r.from_s >= 30;
	}
	assert_int_equal(before, 40); /* 10.0 to 29.5 s, every 0.5 s */
	assert_int_equal(after, 40);  /* 40.0 to 59.5 s */
}

/* How far the mean is off the end of an exponential approach of 8 mA when it is first accepted; NaN: never. */
static double left_over(double tau_s)
{
	struct steady s;

	assert_true(steady_begin(&s, &(struct steady_rule){.tolerance = 0.016, .window_s = 10, .sample_s = 0.1}));
	for (int i = 0; i < 20000; i++) {
		if (feed(&s, i * 0.1, 12 - 8 * exp(-i * 0.1 / tau_s)) == STEADY_ACCEPTED)
			return fabs(steady_judge(&s).mean - 12);
	}
	return NAN;
}

/*
 * For e^-x on 0..h: mean (1 - e^-h)/h, slope times h by least squares 12/h^2 (integral of (x - h/2) e^-x) in magnitude. h = W/tau = 1: 0.63212 / 0.62183
 * = 1.0165 quarters of T; h = 1/3: 0.85041 / 0.28295 = 3.0056. A sample of 0.1 s more or less is 1 % and 0.3 %.
 */
static void window_as_long_as_the_time_constant_leaves_a_quarter_of_the_tolerance(void **state)
{
	(void)state;
	assert_near(left_over(10), 1.0165 * 0.004, 0.02 * 0.004);
	assert_near(left_over(30), 3.0056 * 0.004, 0.03 * 0.004); /* which is why the window is to be no shorter */
	assert_true(left_over(2) < 0.004);
}

/* Plain arithmetic: 1, 2, 3, 4 at 0, 1, 2, 3 s has slope 1, mean 2.5, s = sqrt(5/3), no scatter. */
static void the_window_is_told_in_numbers(void **state)
{
	struct steady s;
	struct steady_result r;

	(void)state;
	assert_true(steady_begin(&s, &(struct steady_rule){.tolerance = 100, .window_s = 3, .least = 3}));
	for (int i = 0; i < 4; i++)
		steady_add(&s, 1e9 + i, 1e6 + 1 + i, false);
	r = steady_judge(&s);
	assert_int_equal(r.reason, STEADY_ACCEPTED);
	assert_int_equal(r.n, 4);
	assert_near(r.mean, 1e6 + 2.5, 1e-9);
	assert_near(r.s, 1.290994448735806, 1e-12); /* sqrt(5/3) */
	assert_near(r.slope, 1, 1e-12);
	assert_near(r.scatter, 0, 1e-7);
	assert_near(r.range, 3, 0);
}

/* T = 4: a slope of 0.1 a second moves by 1 = T/4 in 10 s. */
static void each_limit_has_two_sides(void **state)
{
	static const struct {
		double slope, spike, zigzag;
		enum steady_reason reason;
	} cases[] = {
		{0.0999, 0, 0, STEADY_ACCEPTED},
		{0.1001, 0, 0, STEADY_MOVING},
		{-0.1001, 0, 0, STEADY_MOVING},
		/* 11 values of +a and -a in turn: scatter a sqrt(120/11 / 9) = 1.101 a, limit 1 at a = 0.9083 */
		{0, 0, 0.90, STEADY_ACCEPTED},
		{0, 0, 0.92, STEADY_NOISY},
		/* one value in the middle: scatter h sqrt((1 - 1/11) / 9) = 0.318 h, below 1 up to 3.14; range h */
		{0, 3.10, 0, STEADY_ACCEPTED},
		{0, 3.20, 0, STEADY_NOISY}};

	(void)state;
	for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
		struct steady s;

		assert_true(steady_begin(&s, &(struct steady_rule){.tolerance = 4}));
		for (int i = 0; i < 11; i++)
			steady_add(&s, i,
				   cases[k].slope * i + (i % 2 ? -1 : 1) * cases[k].zigzag +
					   (i == 5 ? cases[k].spike : 0),
				   false);
		if (steady_judge(&s).reason != cases[k].reason)
			print_error("case %zu\n", k);
		assert_int_equal(steady_judge(&s).reason, cases[k].reason);
	}
}

/* 101 samples: one value 4.1 off gives a scatter of 0.41 only, but the range is beyond T. */
static void a_single_value_beyond_the_tolerance_is_noise(void **state)
{
	struct steady s;

	(void)state;
	assert_true(steady_begin(&s, &(struct steady_rule){.tolerance = 4, .sample_s = 0.1}));
	for (int i = 0; i <= 100; i++)
		steady_add(&s, i * 0.1, i == 50 ? 4.1 : 0, false);
	assert_int_equal(steady_judge(&s).reason, STEADY_NOISY);
	assert_true(steady_judge(&s).scatter < 1);
}

static void the_words_say_why_it_waits(void **state)
{
	char words[STEADY_WORDS_SIZE];
	struct steady s;
	struct steady_result r;

	(void)state;
	assert_true(steady_begin(&s, &(struct steady_rule){.tolerance = 1, .hold_s = 15}));
	r = steady_judge(&s);
	steady_words(&r, words);
	assert_string_equal(words, "no value yet");
	for (int i = 0; i <= 6; i++)
		steady_add(&s, i, 5, false);
	r = steady_judge(&s);
	steady_words(&r, words);
	assert_string_equal(words, "held 6 of 15 s");
	for (int i = 7; i <= 14; i++)
		assert_int_equal(feed(&s, i, 5), STEADY_HOLDING); /* the window is full at 10 s, the hold is not over */
	assert_int_equal(feed(&s, 15, 5), STEADY_ACCEPTED);
	r = steady_judge(&s);
	steady_words(&r, words);
	assert_string_equal(words, "steady");
	feed(&s, 18, 5); /* 3 s without a value, where there should be one a second */
	feed(&s, 19, 5);
	r = steady_judge(&s);
	steady_words(&r, words);
	assert_string_equal(words, "values were missing; held 1 of 10 s");
	steady_add(&s, 20, 5, true);
	r = steady_judge(&s);
	steady_words(&r, words);
	assert_string_equal(words, "the device's status forbids it");
	assert_int_equal(feed(&s, 21, 5), STEADY_HOLDING);
	steady_clear(&s);
	assert_int_equal(steady_judge(&s).reason, STEADY_NONE);
}

static void rule_that_is_none_is_refused(void **state)
{
	static const struct steady_rule bad[] = {{.tolerance = 0},
						 {.tolerance = -1},
						 {.tolerance = NAN},
						 {.tolerance = INFINITY},
						 {.tolerance = 1, .window_s = 1},
						 {.tolerance = 1, .window_s = 600},
						 {.tolerance = 1, .window_s = NAN},
						 {.tolerance = 1, .sample_s = -1},
						 {.tolerance = 1, .hold_s = -1},
						 {.tolerance = 1, .least = 2}};
	struct steady s;

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(steady_begin(&s, &bad[i]));
}

/* ---- whatever the signal ---- */

struct truth {
	double t, value;
	bool barred;
};

/*
 * Random signals of steps, drifts, noise, gaps and bad status. The claims are checked on the samples themselves, looked up
 * by the accepted window's ends: none is barred, no two are further apart than two sample times, highest - lowest <= T, the
 * mean is theirs.
 */
static void check_window(const struct truth *truth, int last, const struct steady_result *r, double tolerance)
{
	double sum = 0, low = INFINITY, high = -INFINITY;
	int n = 0;

	for (int i = last; i >= 0 && truth[i].t >= r->from_s; i--, n++) {
		assert_false(truth[i].barred);
		if (truth[i].t > r->from_s)
			assert_true(truth[i].t - truth[i - 1].t <= 1 + 2e-6);
		sum += truth[i].value;
		low = fmin(low, truth[i].value);
		high = fmax(high, truth[i].value);
	}
	assert_int_equal(n, r->n);
	assert_true(n >= 10);
	assert_true(r->to_s - r->from_s >= 10 - 2e-6);
	assert_true(high - low <= tolerance);
	assert_near(r->mean, sum / n, 1e-9 * (1 + fabs(sum)));
}

static void one_signal(struct random *chance, int *accepted)
{
	struct truth truth[400];
	struct steady s;
	double t = random_uniform(chance) * 1e6, level = 4 + 16 * random_uniform(chance), drift = 0,
	       noise = 0.004 * random_uniform(chance), since_clear = t;

	assert_true(steady_begin(&s, &(struct steady_rule){.tolerance = 0.016, .sample_s = 0.5, .hold_s = 12}));
	for (int i = 0; i < 400; i++) {
		double event = random_uniform(chance);

		t += 0.4 + 0.2 * random_uniform(chance) + (event < 0.01 ? 3 : 0);
		if (event > 0.01 && event < 0.02)
			level += 0.05 * random_normal(chance);
		if (event > 0.02 && event < 0.03)
			drift = random_uniform(chance) < 0.5 ? 0 : 0.002 * random_normal(chance);
		if (event > 0.03 && event < 0.033) {
			steady_clear(&s);
			since_clear = t;
		}
		level += drift * 0.5;
		truth[i] = (struct truth){t, level + noise * random_normal(chance), event > 0.995};
		steady_add(&s, t, truth[i].value, truth[i].barred);
		if (steady_judge(&s).reason == STEADY_ACCEPTED) {
			struct steady_result r = steady_judge(&s);

			assert_true(t - since_clear >= 12 - 2e-6);
			check_window(truth, i, &r, 0.016);
			(*accepted)++;
		}
	}
}

static void an_accepted_window_is_always_whole_good_and_within_the_tolerance(void **state)
{
	struct random chance;
	int accepted = 0;

	(void)state;
	random_seed(&chance, 2107);
	for (int i = 0; i < 2000; i++)
		one_signal(&chance, &accepted);
	assert_true(accepted > 10000); /* the claim is about something */
}

/* Noise of 0.05 mA against T = 0.016 mA; a drift of T a window, whatever noise lies on it. */
static void noise_and_drift_are_never_accepted(void **state)
{
	struct random chance;

	(void)state;
	random_seed(&chance, 7);
	for (int k = 0; k < 200; k++) {
		struct steady noisy, drifting;
		double noise = 0.003 * random_uniform(&chance);

		assert_true(steady_begin(&noisy, &rule));
		assert_true(steady_begin(&drifting, &rule));
		for (int i = 0; i < 400; i++) {
			assert_int_not_equal(feed(&noisy, i * 0.5, 12 + 0.05 * random_normal(&chance)),
					     STEADY_ACCEPTED);
			assert_int_not_equal(feed(&drifting, i * 0.5, 12 + 0.0008 * i + noise * random_normal(&chance)),
					     STEADY_ACCEPTED);
		}
	}
}

/* Every step beyond T, at every place of the window. */
static void a_window_with_a_step_in_it_is_never_accepted(void **state)
{
	(void)state;
	for (int height = 17; height < 200; height += 3) {
		struct steady s;

		assert_true(steady_begin(&s, &rule));
		for (int i = 0; i < 80; i++) {
			steady_add(&s, i * 0.5, i < 40 ? 12 : 12 + height * 0.001, false);
			if (i >= 40 && i < 60)
				assert_int_not_equal(steady_judge(&s).reason, STEADY_ACCEPTED);
		}
		assert_int_equal(steady_judge(&s).reason, STEADY_ACCEPTED);
	}
}

static void a_clock_that_goes_back_begins_the_window_again(void **state)
{
	struct steady s;

	(void)state;
	assert_true(steady_begin(&s, &rule));
	for (int i = 0; i <= 30; i++)
		steady_add(&s, i * 0.5, 12, false);
	assert_int_equal(steady_judge(&s).reason, STEADY_ACCEPTED);
	assert_int_not_equal(feed(&s, 3, 12), STEADY_ACCEPTED);
	assert_int_not_equal(feed(&s, 3, 12), STEADY_ACCEPTED);
	assert_int_not_equal(feed(&s, NAN, 12), STEADY_ACCEPTED);
	assert_int_not_equal(feed(&s, 3.5, NAN), STEADY_ACCEPTED);
	assert_int_equal(steady_judge(&s).reason, STEADY_STATUS);
}

/* A coarse clock gives two samples the same time: both count, and nothing begins again. */
static void samples_of_the_same_moment_all_count(void **state)
{
	struct steady s;

	(void)state;
	assert_true(steady_begin(&s, &rule));
	for (int i = 0; i <= 40; i++)
		steady_add(&s, i / 2 * 0.5, 12, false); /* 0 0 0.5 0.5 ... 10 s */
	assert_int_equal(steady_judge(&s).reason, STEADY_ACCEPTED);
	/* the shortest tail of 10 s: one at 0 s, two each at 0.5 to 9.5 s, one at 10 s */
	assert_int_equal(steady_judge(&s).n, 1 + 2 * 19 + 1);
}

static void too_many_samples_are_told_and_nothing_overflows(void **state)
{
	struct steady s;

	(void)state;
	assert_true(steady_begin(&s, &rule));
	for (int i = 0; i < 5000; i++)
		steady_add(&s, i * 0.001, 12, false);
	assert_int_equal(steady_judge(&s).reason, STEADY_CROWDED);
	assert_int_equal(steady_judge(&s).n, STEADY_SAMPLES);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(settling_value_is_accepted_when_it_has_settled),
		cmocka_unit_test(drifting_value_is_never_accepted),
		cmocka_unit_test(no_accepted_window_spans_a_step),
		cmocka_unit_test(window_as_long_as_the_time_constant_leaves_a_quarter_of_the_tolerance),
		cmocka_unit_test(the_window_is_told_in_numbers),
		cmocka_unit_test(each_limit_has_two_sides),
		cmocka_unit_test(a_single_value_beyond_the_tolerance_is_noise),
		cmocka_unit_test(the_words_say_why_it_waits),
		cmocka_unit_test(rule_that_is_none_is_refused),
		cmocka_unit_test(an_accepted_window_is_always_whole_good_and_within_the_tolerance),
		cmocka_unit_test(noise_and_drift_are_never_accepted),
		cmocka_unit_test(a_window_with_a_step_in_it_is_never_accepted),
		cmocka_unit_test(a_clock_that_goes_back_begins_the_window_again),
		cmocka_unit_test(samples_of_the_same_moment_all_count),
		cmocka_unit_test(too_many_samples_are_told_and_nothing_overflows),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
