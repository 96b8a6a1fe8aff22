/* Tolerances, rules and figures in words. */
#include "support/check.h"
#include "metrology/format.h"
#include "report/words.h"
#include "unit/certificate_sample.h"

static int new_words(void **state)
{
	*state = calloc(1, sizeof(struct words));
	return *state ? 0 : -1;
}

static int free_words(void **state)
{
	struct words *w = *state;

	arena_clear(&w->arena);
	free(w);
	return 0;
}

static void symmetric_tolerance_is_one_figure(void **state)
{
	struct tolerance t = {.n_terms = 1, .terms = {{TOLERANCE_ABSOLUTE, 0.25, 0.25}}};

	assert_string_equal(words_tolerance(*state, &t, "mA"), "±0.25\u00a0mA");
}

static void asymmetric_tolerance_names_both_sides(void **state)
{
	struct tolerance t = {.n_terms = 1, .terms = {{TOLERANCE_PERCENT_OF_SPAN, 1, 0.5}}};

	assert_string_equal(words_tolerance(*state, &t, "mA"), "+1 / \u22120.5\u00a0% of span");
}

static void joined_terms_say_how_they_are_joined(void **state)
{
	struct tolerance t = {.n_terms = 2,
			      .join = JOIN_SUM,
			      .terms = {{TOLERANCE_ABSOLUTE, 0.1, 0.1}, {TOLERANCE_PERCENT_OF_READING, 0.05, 0.05}}};

	assert_string_equal(words_tolerance(*state, &t, "°C"), "the sum of ±0.1\u00a0°C and ±0.05\u00a0% of reading");
	t.join = JOIN_GREATEST;
	assert_string_equal(words_tolerance(*state, &t, "°C"),
			    "the greater of ±0.1\u00a0°C and ±0.05\u00a0% of reading");
	t.terms[2] = (struct tolerance_term){TOLERANCE_PERCENT_OF_SPAN, 1, 1};
	t.n_terms = 3;
	assert_string_equal(words_tolerance(*state, &t, "°C"),
			    "the greatest of ±0.1\u00a0°C, ±0.05\u00a0% of reading and ±1\u00a0% of span");
}

/* A line must not end between a figure and its unit (SI Brochure 2019, 5.4.3: both are one expression). */
static void a_figure_of_the_outcome_is_not_parted_from_its_unit(void **state)
{
	struct sample *s = sample_adjusted();

	assert_non_null(strstr(words_outcome(*state, &s->r, &s->r.runs[0]), "largest error +1.5\u00a0% of span"));
	free(s);
}

static void no_tolerance_is_said_in_words(void **state)
{
	struct tolerance none = {0}, one = sample_tolerance(1);

	assert_string_equal(words_tolerance(*state, &none, "%"), "none set");
	assert_string_equal(words_tolerance(*state, NULL, "%"), "none set");
	assert_true(words_tolerances_differ(*state, &none, &one));
	assert_false(words_tolerances_differ(*state, &one, &one));
}

/* ISO 14253-1 guard factor 0.83: ILAC-G8:09/2019 names a risk below 5 %; tables of the normal distribution: 1 - Phi(1.66) = 0.0485. */
static void guarded_rule_states_its_risk(void **state)
{
	const char *text = words_decision(*state, &(struct decision_rule){DECISION_GUARDED, 0.83});

	assert_non_null(strstr(text, "0.83"));
	assert_non_null(strstr(text, "4.8\u00a0%"));
}

static void simple_rule_states_its_risk(void **state)
{
	assert_non_null(strstr(words_decision(*state, &(struct decision_rule){DECISION_SIMPLE, 0}), "50\u00a0%"));
}

static void number_is_as_short_as_it_can_be(void **state)
{
	char out[NUMBER_TEXT_SIZE];

	(void)state;
	assert_string_equal(words_number(0.0040, 9, out), "0.004");
	assert_string_equal(words_number(-40, 6, out), "\u221240");
	assert_string_equal(words_number(138.5055, 6, out), "138.5055");
	assert_string_equal(words_number(1.0 / 3, 4, out), "0.3333");
	assert_string_equal(words_number(0, 4, out), "0");
}

static void time_carries_its_zone(void **state)
{
	char out[WHEN_SIZE];

	(void)state; /* date -u -d @1773478807 */
	assert_string_equal(words_time(1773478807000, out), "2026-03-14 09:00:07 UTC");
	assert_string_equal(words_date(1773478807000, out), "2026-03-14");
	assert_string_equal(words_time(0, out), "\u2013");
}

static void characteristic_and_ranges_are_named(void **state)
{
	struct frozen_instrument i = {
		.input = {0, 100}, .output = {100, 138.5055}, .input_unit = "°C", .output_unit = "Ω"};

	assert_string_equal(words_ranges(*state, &i), "0 to 100 °C \u2192 100 to 138.5055 Ω");
	assert_string_equal(
		words_characteristic(*state, &(struct characteristic){.kind = CHARACTERISTIC_RTD, .r0 = 100}),
		"Pt100 (IEC 60751)");
	assert_string_equal(words_characteristic(*state, &(struct characteristic){.kind = CHARACTERISTIC_SQUARE_ROOT}),
			    "square root");
}

/* Who reads "inside the adjust limits" finds what they are. */
static void limits_name_the_adjust_limits_too(void **state)
{
	struct record r = {.procedure = {.as_found = sample_tolerance(3),
					 .adjust = sample_tolerance(1.5),
					 .as_left = sample_tolerance(1)}};

	assert_string_equal(words_limits(*state, &r),
			    "Error permitted as found: ±3\u00a0% of span; as left: ±1\u00a0% of span. "
			    "Adjust limits: ±1.5\u00a0% of span.");
	r.procedure.adjust.n_terms = 0;
	assert_string_equal(words_limits(*state, &r),
			    "Error permitted as found: ±3\u00a0% of span; as left: ±1\u00a0% of span.");
}

static void run_that_calls_for_no_adjustment_says_so_first(void **state)
{
	struct record_run run = {.sentence = "The largest error is 0.30 % of span.",
				 .advice = "No adjustment: every error is inside the adjust limits.",
				 .diagnosis = {.limits_set = true},
				 .sum = {.verdict = VERDICT_PASS}};

	assert_string_equal(words_diagnosis(*state, &run), "No adjustment: every error is inside the adjust limits. "
							   "The largest error is 0.30 % of span.");
	run.diagnosis.adjust = true;
	assert_string_equal(words_diagnosis(*state, &run), "The largest error is 0.30 % of span.");
	run.diagnosis = (struct diagnosis){.limits_set = false};
	assert_string_equal(words_diagnosis(*state, &run), "The largest error is 0.30 % of span.");
}

/* Two digits of the tightest limit: 0.016 mA is written with 3 decimals, 0.1 % of span as 0.10, even where readings have 2. */
static void errors_have_enough_decimals_for_their_limits(void **state)
{
	struct record r = {.instrument = {.output = {4, 20}}, .output_decimals = 2};
	struct tolerance t = sample_tolerance(0.1);
	struct record_run run = {.tolerance = &t};

	(void)state;
	assert_int_equal(record_error_decimals(&r, &run), 3);
	assert_int_equal(record_percent_decimals(&r, &run), 2);
	r.output_decimals = 4;
	assert_int_equal(record_error_decimals(&r, &run), 4);
	run.tolerance = NULL;
	assert_int_equal(record_percent_decimals(&r, &run), 2);
}

/* -1.046 % of span against 1 %: as -1.0 it would stand inside the limit and beside a fail. */
static void error_just_outside_its_limit_is_written_so_that_it_looks_outside(void **state)
{
	struct record r = {.instrument = {.output = {4, 20}}, .output_decimals = 2};
	struct tolerance t = sample_tolerance(1);
	struct record_point point = {.read = true,
				     .judged = {NAN, -0.16736, -1.046, {-0.16, 0.16}, {-0.16, 0.16}, VERDICT_FAIL}};
	struct record_run run = {.tolerance = &t, .points = &point, .n_points = 1};

	(void)state;
	assert_int_equal(record_percent_decimals(&r, &run), 2);
	assert_int_equal(record_error_decimals(&r, &run), 2);
	point.judged.error = -0.1604;
	assert_int_equal(record_error_decimals(&r, &run), 4);
	point.judged.verdict = VERDICT_PASS;
	assert_int_equal(record_error_decimals(&r, &run), 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(a_figure_of_the_outcome_is_not_parted_from_its_unit, new_words,
						free_words),
		cmocka_unit_test_setup_teardown(symmetric_tolerance_is_one_figure, new_words, free_words),
		cmocka_unit_test_setup_teardown(asymmetric_tolerance_names_both_sides, new_words, free_words),
		cmocka_unit_test_setup_teardown(joined_terms_say_how_they_are_joined, new_words, free_words),
		cmocka_unit_test_setup_teardown(no_tolerance_is_said_in_words, new_words, free_words),
		cmocka_unit_test_setup_teardown(guarded_rule_states_its_risk, new_words, free_words),
		cmocka_unit_test_setup_teardown(simple_rule_states_its_risk, new_words, free_words),
		cmocka_unit_test(number_is_as_short_as_it_can_be),
		cmocka_unit_test(time_carries_its_zone),
		cmocka_unit_test_setup_teardown(characteristic_and_ranges_are_named, new_words, free_words),
		cmocka_unit_test_setup_teardown(limits_name_the_adjust_limits_too, new_words, free_words),
		cmocka_unit_test_setup_teardown(run_that_calls_for_no_adjustment_says_so_first, new_words, free_words),
		cmocka_unit_test(errors_have_enough_decimals_for_their_limits),
		cmocka_unit_test(error_just_outside_its_limit_is_written_so_that_it_looks_outside),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
