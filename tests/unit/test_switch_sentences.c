/* What is said of a switch: each figure from the actuations beside it, by hand. */
#include "metrology/diagnosis.h"
#include "metrology/switch.h"
#include "support/check.h"

#include <string.h>

/* Delivery pressure high: 0 to 20 bar, acts at 16 bar rising, dead band 0.5 to 2 bar; ±2 % of span is ±0.40 bar. */
static const struct switch_spec delivery = {
	.input = {0, 20},
	.set_point = 16,
	.reset_point = NAN,
	.acts_on = RISING,
	.tolerance = {{{TOLERANCE_PERCENT_OF_SPAN, 2, 2}}, 1, JOIN_SUM},
	.dead_band = {0.5, 2},
	.decision = {DECISION_SIMPLE, 0},
};
static const struct tolerance one_percent = {{{TOLERANCE_PERCENT_OF_SPAN, 1, 1}}, 1, JOIN_SUM}, none;

struct said {
	struct judged_actuation judged[5];
	struct switch_summary sum;
	struct switch_diagnosis diagnosis;
	struct switch_manner manner;
	char what[SENTENCE_SIZE], advice[SENTENCE_SIZE];
};

static void tell(const struct switch_spec *spec, const struct actuation *a, size_t n, struct said *s)
{
	s->manner = (struct switch_manner){spec, "bar", 2, 2};
	assert_true(switch_evaluate(spec, a, n, s->judged, &s->sum));
	switch_diagnose(spec, &spec->tolerance, &one_percent, s->judged, n, &s->diagnosis);
	switch_sentence(&s->manner, &s->sum, n, s->what);
	switch_advice(&s->manner, &s->diagnosis, &s->sum, s->advice);
}

/* Means 16.60 and 15.46: 0.60 late; 16.62 - 16.58 = 0.04; dead bands 1.21, 1.08, 1.13. 0.60 of 20 bar is 3 %. */
static void a_late_switch_is_told_how_far_to_turn(void **state)
{
	static const struct actuation a[] = {{16.62, 15.41}, {16.58, 15.50}, {16.60, 15.47}};
	struct said s;

	(void)state;
	tell(&delivery, a, 3, &s);
	assert_string_equal(s.what, "Acts 0.60 bar late, repeats within 0.04 bar, and goes back after 1.14 bar.");
	assert_string_equal(
		s.advice,
		"Set it 0.60 bar lower (3.0 % of span), then run as left: the error should be at most 0.02 bar.");
	assert_true(s.diagnosis.adjust && s.diagnosis.shift_helps);
	assert_near(s.diagnosis.shift, -0.6, 1e-9);
	assert_near(s.diagnosis.remaining, 0.02, 1e-9);
	assert_near(s.diagnosis.worst_error, 0.62, 1e-9);
	assert_int_equal(s.diagnosis.worst, 0);
}

/* Falling, it acts early above its set point: 0.32 against 0.30. */
static void early_and_late_follow_the_way_the_input_goes(void **state)
{
	static const struct actuation early = {0.32, 0.37}, late = {0.28, 0.33};
	struct switch_spec suction = delivery;
	struct said s;

	(void)state;
	suction.input = (struct range){0, 1};
	suction.set_point = 0.3;
	suction.acts_on = FALLING;
	tell(&suction, &early, 1, &s);
	assert_string_equal(s.what, "Acts 0.02 bar early and goes back after 0.05 bar (allowed 0.50 to 2.00 bar).");
	tell(&suction, &late, 1, &s);
	assert_non_null(strstr(s.what, "Acts 0.02 bar late"));
}

static void a_switch_on_its_set_point_needs_nothing(void **state)
{
	static const struct actuation a[] = {{16.01, 15.0}, {15.99, 15.0}};
	struct said s;

	(void)state;
	tell(&delivery, a, 2, &s);
	assert_string_equal(s.what, "Acts at its set point, repeats within 0.02 bar, and goes back after 1.00 bar.");
	assert_string_equal(s.advice, "No adjustment: every actuation is inside the adjust limits.");
	s.diagnosis.call = CALL_AS_LEFT_LIMITS;
	switch_advice(&s.manner, &s.diagnosis, &s.sum, s.advice);
	assert_string_equal(s.advice, "No further adjustment: every actuation is inside the as-left limits.");
}

/* 15.5, 16.0 and 16.5: right on in the mean, and 0.50 off whatever the set screw does; as left ±0.20 is allowed. */
static void turning_the_screw_is_no_cure_for_scatter(void **state)
{
	static const struct actuation a[] = {{15.5, NAN}, {16, NAN}, {16.5, NAN}};
	struct said s;

	(void)state;
	tell(&delivery, a, 3, &s);
	assert_string_equal(s.what, "Acts at its set point and repeats within 1.00 bar.");
	assert_false(s.diagnosis.shift_helps);
	assert_string_equal(
		s.advice,
		"It does not repeat well enough: set right on the mean, the error would still be up to 0.50 bar. "
		"Look for dirt, wear or a loose screw; replace it if that does not help.");
}

static void a_wide_dead_band_is_named_with_what_is_allowed(void **state)
{
	static const struct actuation a[] = {{16, 13.5}, {16.1, 13.6}};
	struct said s;

	(void)state;
	tell(&delivery, a, 2, &s);
	assert_int_equal(s.sum.verdict, VERDICT_FAIL);
	assert_string_equal(s.what, "Acts 0.05 bar late, repeats within 0.10 bar, and goes back after 2.50 bar "
				    "(allowed 0.50 to 2.00 bar).");
	assert_string_equal(
		s.advice,
		"The dead band is too wide: set it where it can be set, otherwise replace the switch. Set it 0.05 bar "
		"lower (0.25 % of span).");
}

static void without_limits_nothing_is_advised(void **state)
{
	static const struct actuation a = {17, 15.5};
	struct switch_spec spec = delivery;
	struct said s;

	(void)state;
	spec.tolerance = none;
	assert_true(switch_evaluate(&spec, &a, 1, s.judged, &s.sum));
	switch_diagnose(&spec, &none, &none, s.judged, 1, &s.diagnosis);
	s.manner = (struct switch_manner){&spec, "bar", 2, 2};
	switch_advice(&s.manner, &s.diagnosis, &s.sum, s.advice);
	assert_string_equal(s.advice, "No limits are set, so nothing says whether to adjust.");
	switch_set_sentence(&s.manner, &a, &s.judged[0], &s.sum, s.what);
	assert_string_equal(s.what, "Acted at 17.00 bar: 1.00 bar late, no limit is set: not judged");
}

static void a_switch_that_has_not_acted_says_so(void **state)
{
	struct switch_manner m = {&delivery, "bar", 2, 2};
	struct switch_summary sum = {0};
	struct switch_diagnosis d;
	char out[SENTENCE_SIZE];

	(void)state;
	switch_sentence(&m, &sum, 0, out);
	assert_string_equal(out, "It has not acted yet.");
	switch_diagnose(&delivery, &delivery.tolerance, &one_percent, NULL, 0, &d);
	assert_false(d.adjust);
	assert_true(isnan(d.shift));
	switch_advice(&m, &d, &sum, out);
	assert_string_equal(out, "It has not acted yet.");
}

static void each_reading_has_its_sentence(void **state)
{
	static const struct actuation a = {15.9, 15.6};
	struct switch_spec spec = delivery;
	struct said s;
	char out[SENTENCE_SIZE];

	(void)state;
	tell(&spec, &a, 1, &s);
	switch_set_sentence(&s.manner, &a, &s.judged[0], &s.sum, out);
	assert_string_equal(out, "Acted at 15.90 bar: 0.10 bar early, limit ±0.40 bar: inside");
	switch_reset_sentence(&s.manner, &a, &s.judged[0], &s.sum, out);
	assert_string_equal(out, "Went back at 15.60 bar: dead band 0.30 bar, allowed 0.50 to 2.00 bar: outside");
	spec.reset_point = 15;
	spec.dead_band = (struct limits){NAN, 2};
	tell(&spec, &a, 1, &s);
	switch_reset_sentence(&s.manner, &a, &s.judged[0], &s.sum, out);
	assert_string_equal(out, "Went back at 15.60 bar: 0.60 bar above its reset point, limit ±0.40 bar; "
				 "dead band 0.30 bar, allowed at most 2.00 bar: outside");
}

/* Limits that differ: 1 % up, 0.5 % down of 20 bar. */
static void limits_that_differ_are_both_said(void **state)
{
	static const struct actuation a = {16.15, 15};
	struct switch_spec spec = delivery;
	struct said s;
	char out[SENTENCE_SIZE];

	(void)state;
	spec.tolerance = (struct tolerance){{{TOLERANCE_PERCENT_OF_SPAN, 1, 0.5}}, 1, JOIN_SUM};
	tell(&spec, &a, 1, &s);
	switch_set_sentence(&s.manner, &a, &s.judged[0], &s.sum, out);
	assert_string_equal(out, "Acted at 16.15 bar: 0.15 bar late, limit \u22120.10 to +0.20 bar: inside");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_late_switch_is_told_how_far_to_turn),
		cmocka_unit_test(early_and_late_follow_the_way_the_input_goes),
		cmocka_unit_test(a_switch_on_its_set_point_needs_nothing),
		cmocka_unit_test(turning_the_screw_is_no_cure_for_scatter),
		cmocka_unit_test(a_wide_dead_band_is_named_with_what_is_allowed),
		cmocka_unit_test(without_limits_nothing_is_advised),
		cmocka_unit_test(a_switch_that_has_not_acted_says_so),
		cmocka_unit_test(each_reading_has_its_sentence),
		cmocka_unit_test(limits_that_differ_are_both_said),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
