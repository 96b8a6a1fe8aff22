/* What must hold of every characteristic, on random arguments: there and back, and nothing beyond the ends. */
#include "characteristic_samples.h"
#include "metrology/random.h"
#include "support/check.h"

#define TIMES 3000

static struct random r;

static double between(double low, double high)
{
	return low + (high - low) * random_uniform(&r);
}

static const char *name_of(const struct characteristic_sample *s)
{
	static char text[CHARACTERISTIC_TEXT_SIZE];

	return characteristic_text(&s->c, text);
}

/* Where the output does not say the input: below the cut-off, and beside the foot of a root, where the output rests. */
static bool rests(const struct characteristic_sample *s, double input)
{
	return s->c.kind == CHARACTERISTIC_SQUARE_ROOT &&
	       range_fraction(s->input, input) < (s->c.cutoff > 0 ? s->c.cutoff * s->c.cutoff / 1e4 : 1e-6);
}

static void every_input_comes_back_from_its_output(void **state)
{
	(void)state;
	random_seed(&r, 11);
	for (size_t k = 0; k < SAMPLES; k++) {
		const struct characteristic_sample *s = &samples[k];

		for (int i = 0; i < TIMES; i++) {
			double x = between(s->input.low, s->input.high), y, back;

			if (rests(s, x))
				continue;
			y = characteristic_forward(&s->c, s->input, s->output, x);
			back = characteristic_inverse(&s->c, s->input, s->output, y);
			if (!(fabs(back - x) <= s->back * fabs(range_span(s->input)) + 1e-14 * fabs(x)))
				fail_msg("%s: %.17g gives %.17g and comes back as %.17g", name_of(s), x, y, back);
		}
	}
}

/* The outputs that the inverse says it answers, ends included. */
static void every_output_comes_back_from_its_input(void **state)
{
	(void)state;
	random_seed(&r, 12);
	for (size_t k = 0; k < SAMPLES; k++) {
		const struct characteristic_sample *s = &samples[k];
		struct range image = characteristic_image(&s->c, s->input, s->output);
		double low = fmax(image.low, fmin(s->output.low, s->output.high)),
		       high = fmin(image.high, fmax(s->output.low, s->output.high)), span = high - low;

		for (int i = 0; i <= TIMES; i++) {
			double y = i == 0 ? low : i == TIMES ? high : between(low, high), x, back;

			if (s->c.cutoff > 0 && y < s->output.low + s->c.cutoff / 100 * range_span(s->output))
				continue; /* answered by the foot alone */
			x = characteristic_inverse(&s->c, s->input, s->output, y);
			back = characteristic_forward(&s->c, s->input, s->output, x);
			/* The published pieces of a thermocouple meet to some 1e-6 mV. */
			if (!(fabs(back - y) <= (s->c.kind == CHARACTERISTIC_THERMOCOUPLE ? 1e-6 : 1e-13 * span)))
				fail_msg("%s: %.17g is given by %.17g, which gives %.17g", name_of(s), y, x, back);
		}
	}
}

/* The next step of 1e-9 beyond an end. */
static double beyond(double end, double way)
{
	return end + way * 1e-9 * fmax(1, fabs(end));
}

static int ends_held;

static void ends_hold(const struct characteristic_sample *s, struct range ends,
		      double (*f)(const struct characteristic *, struct range, struct range, double))
{
	for (int upper = 0; upper < 2; upper++) {
		double end = upper ? ends.high : ends.low, way = upper ? 1 : -1;

		if (isinf(end))
			continue;
		if (isnan(f(&s->c, s->input, s->output, end)))
			fail_msg("%s has no value at its end %.17g", name_of(s), end);
		for (double step = 1; step < 1e15; step *= 1e3)
			if (!isnan(f(&s->c, s->input, s->output, beyond(end, way * step))))
				fail_msg("%s goes on beyond its end %.17g", name_of(s), end);
		ends_held++;
	}
}

static void no_characteristic_goes_on_beyond_its_ends(void **state)
{
	(void)state;
	ends_held = 0;
	for (size_t k = 0; k < SAMPLES; k++) {
		const struct characteristic_sample *s = &samples[k];

		ends_hold(s, characteristic_domain(&s->c, s->input), characteristic_forward);
		ends_hold(s, characteristic_domain(&s->c, s->input), characteristic_slope);
		ends_hold(s, characteristic_image(&s->c, s->input, s->output), characteristic_inverse);
	}
	/* All but linear, and the root, whose foot alone is an end of its inverse: 16 kinds by 3 functions by 2 ends, 2 feet. */
	assert_int_equal(ends_held, 16 * 6 + 2);
}

static void without_a_number_there_is_no_answer(void **state)
{
	(void)state;
	for (size_t k = 0; k < SAMPLES; k++) {
		const struct characteristic_sample *s = &samples[k];

		assert_true(0 != isnan(characteristic_forward(&s->c, s->input, s->output, NAN)));
		assert_true(0 != isnan(characteristic_inverse(&s->c, s->input, s->output, NAN)));
		assert_true(0 != isnan(characteristic_slope(&s->c, s->input, s->output, NAN)));
	}
}

static void an_empty_range_gives_no_number(void **state)
{
	static const struct range empty = {4, 4}, full = {0, 100};
	static const struct characteristic linear = {.kind = CHARACTERISTIC_LINEAR};

	(void)state;
	assert_true(0 != isnan(characteristic_forward(&linear, empty, full, 4)));
	assert_true(0 != isnan(characteristic_slope(&linear, empty, full, 4)));
	assert_true(0 != isnan(characteristic_inverse(&linear, full, empty, 4)));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_input_comes_back_from_its_output),
		cmocka_unit_test(every_output_comes_back_from_its_input),
		cmocka_unit_test(no_characteristic_goes_on_beyond_its_ends),
		cmocka_unit_test(without_a_number_there_is_no_answer),
		cmocka_unit_test(an_empty_range_gives_no_number),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
