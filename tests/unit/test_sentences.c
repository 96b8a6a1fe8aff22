#include "metrology/diagnosis.h"
#include "support/check.h"

#include <string.h>

#define MINUS "\xe2\x88\x92"

static const struct test_setup positioner = {
	.input = {4, 20},
	.output = {0, 100},
	.characteristic = {.kind = CHARACTERISTIC_LINEAR},
	.tolerance = {{{TOLERANCE_PERCENT_OF_SPAN, 3, 3}}, 1, JOIN_SUM},
	.decision = {DECISION_SIMPLE, 0},
};
static const struct test_setup transmitter = {
	/* 0..250 mbar to 4..20 mA, 0.5 % of span */
	.input = {0, 250},
	.output = {4, 20},
	.characteristic = {.kind = CHARACTERISTIC_LINEAR},
	.tolerance = {{{TOLERANCE_PERCENT_OF_SPAN, 0.5, 0.5}}, 1, JOIN_SUM},
	.decision = {DECISION_SIMPLE, 0},
};

static const char *reading_says(const struct test_setup *s, double set, double observed, int decimals)
{
	static char text[SENTENCE_SIZE];
	struct reading r = {set, NAN, observed, RISING, 1, 0};
	struct judged_reading j;
	struct evaluation e;

	assert_true(evaluate(s, &r, 1, &j, &e));
	reading_sentence(s, &r, &j, s->input.high > 20 ? "mbar" : "mA", s->output.high > 20 ? "%" : "mA", 2, decimals,
			 text);
	return text;
}

static void reading_is_told_in_one_line(void **state)
{
	(void)state;
	assert_string_equal(reading_says(&positioner, 12, 51.2, 1),
			    "12.00 mA → 51.2 %: 1.2 % of span high, limit ±3.0 %: inside");
	assert_string_equal(reading_says(&positioner, 12, 46.4, 1),
			    "12.00 mA → 46.4 %: 3.6 % of span low, limit ±3.0 %: outside");
	assert_string_equal(reading_says(&positioner, 8, 25, 1), "8.00 mA → 25.0 %: right on, limit ±3.0 %: inside");
	assert_string_equal(reading_says(&transmitter, 125, 12.19, 2),
			    "125.00 mbar → 12.19 mA: 1.19 % of span high, limit ±0.50 %: outside");
}

static void reading_just_beyond_its_limit_is_seen_to_be(void **state)
{
	(void)state;
	assert_string_equal(reading_says(&positioner, 12, 53.04, 2),
			    "12.00 mA → 53.04 %: 3.04 % of span high, limit ±3.00 %: outside");
	assert_string_equal(reading_says(&positioner, 12, 53, 1),
			    "12.00 mA → 53.0 %: 3.0 % of span high, limit ±3.0 %: inside");
}

static void uneven_limits_are_told_from_low_to_high(void **state)
{
	struct test_setup s = positioner;

	(void)state;
	s.tolerance.terms[0].minus = 1;
	assert_string_equal(reading_says(&s, 12, 48.9, 1),
			    "12.00 mA → 48.9 %: 1.1 % of span low, limit " MINUS "1.0 to +3.0 %: outside");
}

static void reading_without_limits_is_not_judged(void **state)
{
	struct test_setup s = positioner;

	(void)state;
	s.tolerance.n_terms = 0;
	assert_string_equal(reading_says(&s, 12, 51.2, 1),
			    "12.00 mA → 51.2 %: 1.2 % of span high, no limit is set: not judged");
}

#define UP_DOWN 9
static const double fraction[UP_DOWN] = {0, 0.25, 0.5, 0.75, 1, 0.75, 0.5, 0.25, 0};

struct said {
	char what[SENTENCE_SIZE], advice[SENTENCE_SIZE];
};

/* Readings with these errors in % of span. */
static struct said said_of(const struct test_setup *s, const double errors[UP_DOWN])
{
	struct reading r[UP_DOWN];
	struct judged_reading j[UP_DOWN];
	struct evaluation e;
	struct diagnosis d;
	struct said said;

	for (int i = 0; i < UP_DOWN; i++)
		r[i] = (struct reading){
			range_at(s->input, fraction[i]),
			NAN,
			range_at(s->output, fraction[i]) + errors[i] * fabs(range_span(s->output)) / 100,
			i < 5 ? RISING : FALLING,
			1,
			0};
	assert_true(evaluate(s, r, UP_DOWN, j, &e));
	diagnose(s, &s->tolerance, &s->tolerance, r, j, UP_DOWN, &d);
	diagnosis_sentence(&d, &e, said.what);
	if (s->output.high == 100)
		advice_sentence_with_input(&d, s, "%", 1, "mA", 2, said.advice);
	else
		advice_sentence(&d, s, "mA", 3, said.advice);
	return said;
}

static void zero_shift_is_named_and_lowered(void **state)
{
	static const double errors[UP_DOWN] = {1.2, 1.2, 1.2, 1.2, 1.2, 1.2, 1.2, 1.2, 1.2};
	struct said said = said_of(&transmitter, errors);

	(void)state;
	assert_string_equal(said.what, "Mostly a zero shift: the output is 1.2 % of span high at every point.");
	assert_string_equal(
		said.advice,
		"Lower the zero by 0.192 mA (1.2 % of span), then run as left: the largest error should be about 0.0 % of span.");
}

static void span_error_is_named_and_trimmed(void **state)
{
	static const double errors[UP_DOWN] = {0, -1, -2, -3, -4, -3, -2, -1, 0};
	struct said said = said_of(&positioner, errors);

	(void)state;
	assert_string_equal(
		said.what,
		"Mostly a span error: the output is right at the lowest point and 4.0 % of span low at the highest.");
	assert_string_equal(said.advice, "Increase the span by 4.0 % of span (0.64 mA at the input), then run as left: "
					 "the largest error should be about 0.0 % of span.");
}

static void span_of_a_reverse_acting_output_is_trimmed_the_right_way(void **state)
{
	static const double errors[UP_DOWN] = {0, -1, -2, -3, -4, -3, -2, -1, 0};
	struct test_setup s = transmitter;
	struct said said;

	(void)state; /* 20 mA at the low end, 4 mA less 4 % at the high end: the span of 16 mA has become too long */
	s.output = (struct range){20, 4};
	said = said_of(&s, errors);
	assert_string_equal(said.advice, "Reduce the span by 0.640 mA (4.0 % of span), then run as left: "
					 "the largest error should be about 0.0 % of span.");
}

static void zero_and_span_are_named_together(void **state)
{
	double errors[UP_DOWN];
	struct said said;

	(void)state;
	for (int i = 0; i < UP_DOWN; i++)
		errors[i] = -1.5 + 4.5 * fraction[i]; /* zero 2.25 * 9 = 20.25, span 20.25 * 2.75 = 55.7 */
	said = said_of(&transmitter, errors);
	assert_string_equal(said.what,
			    "Span error and zero shift: the output is 1.5 % of span low at the lowest point and "
			    "3.0 % of span high at the highest.");
	assert_string_equal(
		said.advice,
		"Raise the zero by 0.240 mA (1.5 % of span) and reduce the span by 0.720 mA (4.5 % of span), "
		"then run as left: the largest error should be about 0.0 % of span.");
}

/* Zero +1.2 and span -0.8: 0.4 % at the top is high too, but not by 1.2 %. */
static void zero_shift_that_falls_along_the_range_is_told_with_the_span(void **state)
{
	double errors[UP_DOWN];

	(void)state;
	for (int i = 0; i < UP_DOWN; i++)
		errors[i] = 1.2 - 0.8 * fraction[i];
	assert_string_equal(said_of(&transmitter, errors).what,
			    "Zero shift and span error: the output is 1.20 % of span high at the lowest point and "
			    "0.40 % of span high at the highest.");
}

static void uneven_zero_shift_is_told_from_its_least_to_its_most(void **state)
{
	static const double errors[UP_DOWN] = {1.2, 1.1, 1.1, 1, 1, 1, 1.1, 1.2, 1.2};

	(void)state;
	assert_string_equal(said_of(&transmitter, errors).what,
			    "Mostly a zero shift: the output is 1.0 to 1.2 % of span high at every point.");
}

/* 0.009 beside 0.12 says more than the readings do. */
static void two_figures_side_by_side_have_the_same_decimals(void **state)
{
	double errors[UP_DOWN];

	(void)state;
	for (int i = 0; i < UP_DOWN; i++)
		errors[i] = -0.12 + 0.129 * fraction[i];
	assert_string_equal(said_of(&transmitter, errors).what,
			    "The largest error is 0.12 % of span; the output is 0.12 % of span low at the lowest point "
			    "and 0.01 % of span high at the highest.");
}

static void run_that_passes_is_spoken_of_quietly(void **state)
{
	static const double errors[UP_DOWN] = {-0.6, -0.6, -0.6, -0.6, 0, 0.6, 0.6, 0.6, 0.6};
	struct said said = said_of(&positioner, errors);

	(void)state; /* inside the limits of 3 % of span, which are the adjust limits too */
	assert_string_equal(said.advice, "No adjustment: every error is inside the adjust limits.");
	assert_string_equal(said.what, "The largest error is 0.60 % of span; rising and falling differ by up to "
				       "1.2 % of span.");
}

static void sticking_is_not_trimmed_away(void **state)
{
	static const double errors[UP_DOWN] = {-1.2, -1.2, -1.2, -1.2, 0, 1.2, 1.2, 1.2, 1.2};
	struct said said = said_of(&transmitter, errors);

	(void)state;
	assert_string_equal(said.what, "Mostly hysteresis: rising and falling differ by up to 2.4 % of span.");
	assert_string_equal(said.advice, "Trimming will not help: rising and falling differ by up to 2.4 % of span. "
					 "Find the friction or play before trimming.");
}

static void sticking_beside_a_zero_shift_comes_first(void **state)
{
	static const double errors[UP_DOWN] = {3.8, 3.8, 3.8, 3.8, 5, 6.2, 6.2, 6.2, 6.2};
	struct said said = said_of(&transmitter, errors);

	(void)state;
	assert_string_equal(
		said.advice,
		"Trimming alone will not do: rising and falling differ by up to 2.4 % of span. "
		"Find the friction or play before trimming, then lower the zero by 0.800 mA (5.0 % of span).");
}

static void small_errors_are_nothing_to_talk_about(void **state)
{
	static const double errors[UP_DOWN] = {0.04, 0.02, -0.03, 0.01, 0.02, 0.03, 0.01, 0, -0.02};
	struct said said = said_of(&transmitter, errors);

	(void)state;
	assert_string_equal(said.what, "Nothing stands out: the largest error is 0.04 % of span.");
	assert_string_equal(said.advice, "No adjustment: every error is inside the adjust limits.");
}

static void run_without_error_says_so(void **state)
{
	static const double errors[UP_DOWN] = {0};

	(void)state;
	assert_string_equal(said_of(&positioner, errors).what, "No error at any point.");
}

static void every_sentence_fits_its_buffer(void **state)
{
	static const char unit[] = "a-unit-with-a-long-symbol";
	unsigned seed = 12345;

	(void)state;
	for (int i = 0; i < 3000; i++) {
		struct reading r[UP_DOWN];
		struct judged_reading j[UP_DOWN];
		struct evaluation e;
		struct diagnosis d;
		char text[SENTENCE_SIZE + 1];

		for (int k = 0; k < UP_DOWN; k++) {
			seed = seed * 1103515245u + 12345u;
			r[k] = (struct reading){
				4 + 16 * fraction[k],	  NAN, ((double)(seed >> 8) - 8e6) * pow(10, i % 8),
				k < 5 ? RISING : FALLING, 1,   0};
		}
		assert_true(evaluate(&positioner, r, UP_DOWN, j, &e));
		diagnose(&positioner, &positioner.tolerance, &positioner.tolerance, r, j, UP_DOWN, &d);
		text[SENTENCE_SIZE] = 'x';
		diagnosis_sentence(&d, &e, text);
		assert_true(strlen(text) < SENTENCE_SIZE && text[SENTENCE_SIZE] == 'x');
		advice_sentence_with_input(&d, &positioner, unit, 9, unit, 9, text);
		assert_true(strlen(text) < SENTENCE_SIZE && text[SENTENCE_SIZE] == 'x');
		reading_sentence(&positioner, &r[0], &j[0], unit, unit, 9, 9, text);
		assert_true(strlen(text) < SENTENCE_SIZE && text[SENTENCE_SIZE] == 'x');
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(reading_is_told_in_one_line),
		cmocka_unit_test(reading_just_beyond_its_limit_is_seen_to_be),
		cmocka_unit_test(uneven_limits_are_told_from_low_to_high),
		cmocka_unit_test(reading_without_limits_is_not_judged),
		cmocka_unit_test(zero_shift_is_named_and_lowered),
		cmocka_unit_test(span_error_is_named_and_trimmed),
		cmocka_unit_test(span_of_a_reverse_acting_output_is_trimmed_the_right_way),
		cmocka_unit_test(zero_and_span_are_named_together),
		cmocka_unit_test(zero_shift_that_falls_along_the_range_is_told_with_the_span),
		cmocka_unit_test(uneven_zero_shift_is_told_from_its_least_to_its_most),
		cmocka_unit_test(two_figures_side_by_side_have_the_same_decimals),
		cmocka_unit_test(run_that_passes_is_spoken_of_quietly),
		cmocka_unit_test(sticking_is_not_trimmed_away),
		cmocka_unit_test(sticking_beside_a_zero_shift_comes_first),
		cmocka_unit_test(small_errors_are_nothing_to_talk_about),
		cmocka_unit_test(run_without_error_says_so),
		cmocka_unit_test(every_sentence_fits_its_buffer),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
