/*
 * What stands on the certificate: each item of DESIGN.md section 7, read back by pdftotext from the drawn page.
 *
 * Expected figures: errors are observed less expected, expected = (I - 4) / 16 * 100 for 4 to 20 mA over 0 to 100 %. U from
 * JCGM 100:2008: input standard U = 0.004 mA, k = 2, carried over by 6.25 %/mA: u = 0.0125 %; output standard U = 0.1 %, k = 2:
 * 0.05 %; resolution 0.01 mA: 0.01 / sqrt(12) * 6.25 = 0.0180 %; resolution 0.1 %: 0.1 / sqrt(12) = 0.0289 %; together
 * u = 0.0618 %, U = 0.124 %, printed 0.12.
 */
#include "unit/certificate_check.h"

static void title_number_and_page_of_pages_stand_on_every_page(void **state)
{
	char *text = text_of(sample_adjusted());

	(void)state;
	assert_says(text, "Calibration certificate");
	assert_says(text, "Page 1 of 2");
	assert_says(text, "Page 2 of 2");
	assert_int_equal(count_of(text, "Certificate BWW-2026-0017"), 4); /* head and foot of both pages */
	assert_int_equal(count_of(text, "reproduced only whole"), 2);
	assert_int_equal(count_of(text, "relate only to the instrument"), 2);
	assert_int_equal(count_of(text, SAMPLE_VERIFY), 2);
	assert_int_equal(count_of(text, "End of certificate"), 1);
	free(text);
}

static void unsealed_is_stated_on_the_face(void **state)
{
	char *text = text_of(sample_adjusted());

	(void)state;
	assert_says(text, "UNSEALED \u2013 printed without the plant\u2019s cryptographic seal");
	free(text);
}

static void instrument_procedure_and_dates_are_named(void **state)
{
	static const char *const wanted[] = {"FCV-2107",
					     "Filter 2 outlet flow control valve",
					     "Aldercote, DV-40",
					     "A-19-20773",
					     "Filter gallery, bay 2",
					     "4 to 20 mA \u2192 0 to 100 %",
					     "linear",
					     "Brackenholm Water Works Weir Lane 1, Brackenholm",
					     "Brackenholm Water Works, area Filters",
					     "P-VALVE version 3 Control valve: travel over signal, up and down",
					     "Ines Halloran, 2026-01-05",
					     "T-2026-0042",
					     "Clean, positioner cover tight, no leak at the stem.",
					     "17.5 °C, 61 % relative humidity",
					     "issued 2026-03-15"};
	char *text = flat_text_of(sample_adjusted());

	(void)state;
	for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++)
		assert_says(text, wanted[i]);
	free(text);
}

static void standards_stand_with_certificate_validity_uncertainty_and_traceability(void **state)
{
	static const char *const wanted[] = {"REF-011, input",
					     "HML-25-3381",
					     "2026-09-01",
					     "U = 0.004 mA (k = 2)",
					     "serial 40712",
					     "REF-027, output",
					     "HML-25-2904",
					     "2026-06-19",
					     "U = 0.1 % (k = 2)",
					     "national standard of length",
					     "Harrow Moor Metrology Laboratory"};
	char *text = flat_text_of(sample_adjusted());

	(void)state;
	for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++)
		assert_says(text, wanted[i]);
	assert_null(strstr(text, "expired"));
	free(text);
}

static void standard_past_its_date_on_the_day_of_the_test_is_called_expired(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->r.standards[0].valid_until = "2026-03-13"; /* tested on 2026-03-14 */
	text = flat_text_of(s);
	assert_says(text, "2026-03-13 expired on the day of the test");
	free(text);
}

static void standard_that_was_not_needed_is_said_to_be_missing(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->r.standards[1].chosen = false;
	text = flat_text_of(s);
	assert_says(text, "none for the output the procedure leaves it open");
	free(text);
}

/* The line of the table that begins with these cells. */
static void assert_row(const char *text, const char *cells[], size_t n)
{
	for (const char *line = text; line; line = strchr(line, '\n'), line = line ? line + 1 : NULL) {
		const char *at = line, *end = strchr(line, '\n');
		size_t i = 0;

		while (i < n && (at = strstr(at, cells[i])) && (!end || at < end)) {
			at += strlen(cells[i]);
			i++;
		}
		if (i == n)
			return;
	}
	print_error("no row with %s %s ... in:\n%s\n", cells[0], cells[1], text);
	fail();
}

/* As found at 12 mA rising the sample reads 51.1 %: expected 50, error 1.1. As left at 8 mA falling 25.2: error 0.2. */
static void readings_stand_as_typed_with_error_limits_and_uncertainty(void **state)
{
	const char *found[] = {"\u25b3", "12.00",     "12.00", "50.0", "51.1", "+1.1",
			       "+1.1",	 "\u22121.0", "+1.0",  "0.12", "fail"};
	const char *left[] = {"\u25bc", "8.00",	      "8.00",  "25.00", "25.2", "+0.20",
			      "+0.20",	"\u22120.50", "+0.50", "0.12",	"pass"};
	char *text = text_of(sample_adjusted());

	(void)state;
	assert_says(text, "Results as found");
	assert_says(text, "Results as left");
	assert_row(text, found, 11);
	assert_row(text, left, 11);
	assert_int_equal(count_of(text, "\u25b3"), 5); /* rising as found, falling as found, and as left */
	assert_int_equal(count_of(text, "\u25bd"), 4);
	assert_int_equal(count_of(text, "\u25b2"), 5);
	assert_int_equal(count_of(text, "\u25bc"), 4);
	free(text);
}

static void units_stand_in_the_head_of_the_table(void **state)
{
	const char *names[] = {"Set point", "Applied",	   "Expected",	  "Observed",  "Error",
			       "Error",	    "Lower limit", "Upper limit", "U (k = 2)", "Verdict"};
	const char *units[] = {"mA", "mA", "%", "%", "%", "% of span", "%", "%", "%"};
	char *text = text_of(sample_adjusted());

	(void)state;
	assert_row(text, names, 10);
	assert_row(text, units, 9);
	free(text);
}

static void conformity_is_stated_for_both_runs_with_the_limits_it_applies_to(void **state)
{
	char *text = flat_text_of(sample_adjusted());

	(void)state;
	assert_says(text,
		    "All 9 readings outside the limits; largest error +1.5 % of span. Limits as found: ±1 % of span.");
	assert_says(text,
		    "All 9 readings inside the limits; largest error +0.30 % of span. Limits as left: ±0.5 % of span.");
	assert_says(text, "It applies to the readings listed under Results");
	free(text);
}

static void uncertainty_is_stated_with_coverage_factor_and_probability(void **state)
{
	char *text = flat_text_of(sample_adjusted());

	(void)state;
	assert_says(text, "expanded uncertainty");
	assert_says(text, "coverage factor k = 2");
	assert_says(text, "about 95 %");
	free(text);
}

static void without_any_uncertainty_the_certificate_says_so(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	for (int k = 0; k < 2; k++)
		for (size_t i = 0; i < s->r.runs[k].n_points; i++)
			s->r.runs[k].points[i].reading.u = 0;
	text = flat_text_of(s);
	assert_says(text, "No uncertainty is stated");
	assert_null(strstr(text, "0.12"));
	free(text);
}

static void guarded_rule_gives_four_verdicts_with_a_word_each(void **state)
{
	/* limits ±0.50, U = 0.12: pass up to 0.38, conditional up to 0.62 */
	static const double error[] = {0.2, 0.4, 0.6, 0.7};
	struct sample *s = sample_new();
	char *text;

	(void)state;
	s->r.procedure.decision = (struct decision_rule){DECISION_GUARDED, 1};
	s->r.procedure.as_found = sample_tolerance(0.5);
	sample_run(s, RUN_AS_FOUND, 5, 1, 0.1, 0, 0);
	for (size_t i = 0; i < 4; i++)
		sample_read(s, 0, i, s->points[0][i].at.set, 25 * (double)i + error[i]);
	sample_judge(s, &s->r.runs[0]);
	text = flat_text_of(s);
	assert_says(text, "guard band w = 1 U");
	assert_says(text, "no more than 2.3 %"); /* 1 - Phi(2) = 0.02275, tables of the normal distribution */
	assert_says(text, "conditional pass");
	assert_says(text, "conditional fail");
	assert_says(text, "9 readings: 6 inside the limits, 1 inside the limits but within the guard band, "
			  "1 outside the limits but within the guard band, 1 outside the limits;");
	free(text);
}

static void summary_adjustment_and_remarks_stand_below_the_tables(void **state)
{
	static const char *const wanted[] = {
		"Hysteresis",
		"Linearity",
		"independent",
		"zero-based",
		"least squares",
		"Zero of the positioner lowered by 1.2 % of span. (Maren Oldfield, 2026-03-14 10:40:00 UTC)",
		"Mostly a zero shift",
		"Tested on the bypass with the consent of the control room.",
		"None recorded."};
	char *text = flat_text_of(sample_adjusted());

	(void)state;
	for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++)
		assert_says(text, wanted[i]);
	free(text);
}

static void check_answered_with_no_is_a_deviation(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->checks[0] = (struct record_check){.text = "The valve moves at 5 mA", .answer = "yes"};
	s->checks[1] = (struct record_check){.text = "250 ohm in the loop", .answer = "no", .note = "no modem used"};
	s->r.checks = s->checks;
	s->r.n_checks = 2;
	text = flat_text_of(s);
	assert_says(text, "\u201c250 ohm in the loop\u201d: no, no modem used.");
	assert_null(strstr(text, "5 mA"));
	free(text);
}

static void signatures_stand_with_name_meaning_role_and_time(void **state)
{
	const char *meaning[] = {"Performed the test", "Reviewed the record", "Issued the certificate"};
	const char *name[] = {"Maren Oldfield", "Ines Halloran", "Tomas Verrin"};
	const char *time[] = {"2026-03-14 11:40:07 UTC", "2026-03-15 09:50:31 UTC", "2026-03-15 10:00:00 UTC"};
	char *text = text_of(sample_adjusted());

	(void)state;
	assert_row(text, meaning, 3);
	assert_row(text, name, 3);
	assert_says(text, "metrology lead");
	for (int i = 0; i < 3; i++)
		assert_says(text, time[i]);
	free(text);
}

/* Who issues signs in, but is asked for no password then: 21 CFR 11.50 wants what was signed told from what was not. */
static void the_issue_is_not_printed_as_a_signature(void **state)
{
	struct sample *s = sample_adjusted();
	char *text = flat_text_of(s);

	(void)state;
	assert_null(strstr(text, "Approved for issue"));
	assert_says(text, "without a signature of its own");
	assert_says(text, "each by name and password, but for the issue;");
	assert_says(text, "2026-03-15, by Tomas Verrin");
	free(text);
}

/* The signatures of "approved" and the issue may be of two people. */
static void who_approved_and_who_issued_are_told_apart(void **state)
{
	const char *meaning[] = {"Performed the test", "Reviewed the record", "Approved for issue"};
	const char *name[] = {"Maren Oldfield", "Ines Halloran", "Edda Quill"};
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->signatures[2] = (struct record_signature){"approved", "Edda Quill", "quality manager",
						     "",	 "p9",	       SAMPLE_OPENED};
	s->r.n_signatures = 3;
	text = text_of(s);
	assert_row(text, meaning, 3);
	assert_row(text, name, 3);
	assert_says(text, "each by name and password;");
	assert_null(strstr(text, "without a signature"));
	assert_says(text, "by Tomas Verrin");
	free(text);
}

static void an_approval_from_before_a_return_is_not_printed(void **state)
{
	struct sample *s = sample_adjusted();
	struct record_signature later[5] = {
		{"performed", "Maren Oldfield", "technician", "", "p1", SAMPLE_OPENED},
		{"approved", "Edda Quill", "quality manager", "", "p9", SAMPLE_OPENED},
		{"returned", "Ines Halloran", "metrology lead", "wrong range", "p2", SAMPLE_OPENED},
		s->signatures[0],
		s->signatures[1]};
	char *text;

	(void)state;
	s->r.signatures = later;
	s->r.n_signatures = 5;
	text = text_of(s);
	assert_null(strstr(text, "Edda Quill"));
	assert_says(text, "2026-03-14 11:40:07 UTC");
	free(text);
}

static void after_a_return_the_later_signature_stands(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->signatures[2] = (struct record_signature){"performed", "Edda Quill", "technician", "", "p9", SAMPLE_OPENED};
	s->r.n_signatures = 3;
	text = text_of(s);
	assert_says(text, "Edda Quill");
	assert_null(strstr(text, "11:40:07"));
	free(text);
}

static void void_stands_in_words_on_every_page_with_its_reason(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->r.certificate_state = "void";
	s->signatures[2] = (struct record_signature){"voided", "Ines Halloran", "metrology lead", "wrong standard used",
						     "p2",     SAMPLE_OPENED};
	s->r.n_signatures = 3;
	text = flat_text_of(s);
	assert_int_equal(
		count_of(text,
			 "VOID \u2013 this certificate has been withdrawn and must not be used: wrong standard used"),
		2);
	free(text);
}

static void amended_stands_in_words_on_every_page(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->r.certificate_state = "amended";
	text = text_of(s);
	assert_int_equal(count_of(text, "AMENDED"), 2);
	free(text);
}

static void run_that_was_not_finished_says_so(void **state)
{
	struct sample *s = sample_new();
	char *text;

	(void)state;
	sample_run(s, RUN_AS_FOUND, 5, 1, 0.1, 0, 0.1);
	s->points[0][8].read = false;
	sample_judge(s, &s->r.runs[0]);
	text = flat_text_of(s);
	assert_says(text, "Not every point of the procedure was taken: 8 of 9.");
	assert_null(strstr(text, "Results as left"));
	free(text);
}

static void a_dead_band_stands_place_by_place_with_its_limit(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	sample_dead_band(s);
	text = text_of(s);
	assert_says(text, "Dead band, in the input, as found");
	assert_row(text, (const char *[]){"12.00", "12.02", "11.97", "0.05", "0.31", "0.25", "fail"}, 7);
	assert_row(text, (const char *[]){"5.60", "5.61", "5.60", "0.01", "0.06", "0.25", "pass"}, 7);
	assert_says(text, "dead band 0.31 % of the input span, outside its limit");
	free(text);
}

/* As the record has them: one point, 6 readings, errors in % of span. */
static void several_cycles_have_a_table_of_averages(void **state)
{
	static struct point_summary averages[] = {{12, 6.9, 7.3, 7.1, 0.4, 0.2, 6}};
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->r.runs[0].averages = averages;
	s->r.runs[0].n_averages = 1;
	text = text_of(s);
	assert_says(text, "Errors averaged over the cycles, as found");
	assert_int_equal(count_of(text, "Errors averaged over the cycles"), 1);
	assert_says(text, "+6.9");
	assert_says(text, "+7.3");
	free(text);
}

static void error_taken_at_the_set_point_is_stated(void **state)
{
	static struct step step = {.kind = STEP_POINTS, .error_at = ERROR_AT_SET};
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	text = flat_text_of(sample_adjusted());
	assert_null(strstr(text, "at the set point, not"));
	free(text);
	s->r.procedure.steps = &step;
	s->r.procedure.n_steps = 1;
	text = flat_text_of(s);
	assert_says(text, "The error is that of the output at the set point, not at the input as applied.");
	free(text);
}

static void no_interval_is_recommended(void **state)
{
	char *text = text_of(sample_adjusted());

	(void)state; /* ISO/IEC 17025:2017 7.8.4.3: not on a certificate unless agreed */
	assert_null(strstr(text, "next"));
	assert_null(strstr(text, "Due"));
	assert_null(strstr(text, "due"));
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(title_number_and_page_of_pages_stand_on_every_page),
		cmocka_unit_test(unsealed_is_stated_on_the_face),
		cmocka_unit_test(instrument_procedure_and_dates_are_named),
		cmocka_unit_test(standards_stand_with_certificate_validity_uncertainty_and_traceability),
		cmocka_unit_test(standard_past_its_date_on_the_day_of_the_test_is_called_expired),
		cmocka_unit_test(standard_that_was_not_needed_is_said_to_be_missing),
		cmocka_unit_test(readings_stand_as_typed_with_error_limits_and_uncertainty),
		cmocka_unit_test(units_stand_in_the_head_of_the_table),
		cmocka_unit_test(conformity_is_stated_for_both_runs_with_the_limits_it_applies_to),
		cmocka_unit_test(uncertainty_is_stated_with_coverage_factor_and_probability),
		cmocka_unit_test(without_any_uncertainty_the_certificate_says_so),
		cmocka_unit_test(guarded_rule_gives_four_verdicts_with_a_word_each),
		cmocka_unit_test(summary_adjustment_and_remarks_stand_below_the_tables),
		cmocka_unit_test(check_answered_with_no_is_a_deviation),
		cmocka_unit_test(signatures_stand_with_name_meaning_role_and_time),
		cmocka_unit_test(the_issue_is_not_printed_as_a_signature),
		cmocka_unit_test(who_approved_and_who_issued_are_told_apart),
		cmocka_unit_test(an_approval_from_before_a_return_is_not_printed),
		cmocka_unit_test(after_a_return_the_later_signature_stands),
		cmocka_unit_test(void_stands_in_words_on_every_page_with_its_reason),
		cmocka_unit_test(amended_stands_in_words_on_every_page),
		cmocka_unit_test(run_that_was_not_finished_says_so),
		cmocka_unit_test(several_cycles_have_a_table_of_averages),
		cmocka_unit_test(a_dead_band_stands_place_by_place_with_its_limit),
		cmocka_unit_test(error_taken_at_the_set_point_is_stated),
		cmocka_unit_test(no_interval_is_recommended),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
