#include "support/check.h"

#include <stdlib.h>
#include <string.h>

#include "base/time.h"

static const char *text_of(int64_t ms)
{
	static char text[TIME_TEXT_SIZE];

	time_to_text(ms, text);
	return text;
}

/* The instants of RFC 3339 5.8 (from memory), turned to seconds by GNU date -u -d TEXT +%s. */
static void the_examples_of_rfc_3339_are_read(void **state)
{
	int64_t ms;

	(void)state;
	assert_true(time_from_text("1985-04-12T23:20:50.52Z", &ms));
	assert_int_equal(ms, 482196050520);
	assert_true(time_from_text("1996-12-19T16:39:57-08:00", &ms));
	assert_int_equal(ms, 851042397000);
	assert_true(time_from_text("1937-01-01T12:00:27.87+00:20", &ms));
	assert_int_equal(ms, -1041337172130);
}

static void a_time_is_written_in_utc_with_milliseconds(void **state)
{
	(void)state;
	assert_string_equal(text_of(0), "1970-01-01T00:00:00.000Z");
	assert_string_equal(text_of(851042397000), "1996-12-20T00:39:57.000Z");
	assert_string_equal(text_of(482196050520), "1985-04-12T23:20:50.520Z");
	assert_string_equal(text_of(-1), "1969-12-31T23:59:59.999Z");
	assert_string_equal(text_of(951782400000), "2000-02-29T00:00:00.000Z"); /* date -u -d 2000-02-29 +%s */
}

static void a_time_beyond_four_digits_of_year_is_held_at_the_edge(void **state)
{
	(void)state;
	assert_string_equal(text_of(INT64_MAX), "9999-12-31T23:59:59.999Z");
	assert_string_equal(text_of(INT64_MIN), "0000-01-01T00:00:00.000Z");
}

static void what_is_no_time_is_refused(void **state)
{
	static const char *const bad[] = {
		"",
		"2026-11-25",
		"2026-11-25T12:30:11",
		"2026-11-25 12:30:11Z",
		"2026-11-25T24:00:00Z",
		"2026-11-25T12:60:00Z",
		"2026-11-25T12:00:60Z",
		"2026-02-29T12:00:00Z",
		"2026-11-25T12:00:00.Z",
		"2026-11-25T12:00:00+1:00",
		"2026-11-25T12:00:00+24:00",
		"2026-11-25T12:00:00Z ",
		"x",
	};
	int64_t ms;

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		if (time_from_text(bad[i], &ms))
			fail_msg("%s passes as a time", bad[i]);
	}
}

/* Days by GNU date: echo $(( $(date -u -d TEXT +%s) / 86400 )). */
static void dates_count_days_since_1970(void **state)
{
	static const struct {
		const char *text;
		int32_t days;
	} rows[] = {
		{"1970-01-01", 0},     {"1969-12-31", -1},    {"2000-02-29", 11016},
		{"2000-03-01", 11017}, {"2026-11-25", 20782}, {"1900-03-01", -25508},
		{"2100-02-28", 47540}, {"2100-03-01", 47541}, {"0001-01-01", -719162},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char back[DATE_TEXT_SIZE];
		int32_t days = 0;

		assert_true(date_from_text(rows[i].text, &days));
		if (days != rows[i].days)
			fail_msg("%s is day %d, expected %d", rows[i].text, days, rows[i].days);
		date_to_text(rows[i].days, back);
		assert_string_equal(back, rows[i].text);
	}
}

static void every_day_of_ten_thousand_years_is_found_again(void **state)
{
	int32_t first, last, back;
	char text[DATE_TEXT_SIZE];

	(void)state;
	assert_true(date_from_text("0000-01-01", &first));
	assert_true(date_from_text("9999-12-31", &last));
	assert_int_equal(last - first + 1, 3652425); /* 10000 years of 365.2425 days */
	for (int32_t day = first; day <= last; day++) {
		date_to_text(day, text);
		if (!date_from_text(text, &back) || back != day)
			fail_msg("day %d is written %s and read as %d", day, text, back);
	}
}

static void days_that_no_calendar_has_are_refused(void **state)
{
	static const char *const bad[] = {
		"2026-02-30", "2026-02-29", "1900-02-29",  "2026-04-31", "2026-13-01", "2026-00-10", "2026-01-00",
		"2026-1-01",  "26-01-01",   "2026-01-01 ", "2026/01/01", "",	       "2026-01",    "+026-01-01",
	};
	int32_t days;

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		if (date_from_text(bad[i], &days))
			fail_msg("%s passes as a date", bad[i]);
	}
}

static void a_due_date_falls_on_the_last_day_of_a_shorter_month(void **state)
{
	static const struct {
		const char *from;
		int months;
		const char *to;
	} rows[] = {
		{"2026-01-31", 1, "2026-02-28"},  {"2024-01-31", 1, "2024-02-29"},  {"2026-11-25", 12, "2027-11-25"},
		{"2026-11-25", 2, "2027-01-25"},  {"2024-02-29", 12, "2025-02-28"}, {"2026-03-31", -1, "2026-02-28"},
		{"2026-01-15", -1, "2025-12-15"}, {"2026-01-15", 0, "2026-01-15"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char text[DATE_TEXT_SIZE];
		int32_t days;

		assert_true(date_from_text(rows[i].from, &days));
		date_to_text(date_add_months(days, rows[i].months), text);
		if (strcmp(text, rows[i].to) != 0)
			fail_msg("%s plus %d months is %s, expected %s", rows[i].from, rows[i].months, text,
				 rows[i].to);
	}
}

/* The plant of this test lies three hours east: its day begins at 21:00 UTC. */
static void the_date_of_a_time_is_that_of_the_plant(void **state)
{
	int64_t before, after;
	int32_t day;

	(void)state;
	assert_true(time_from_text("2026-11-24T20:59:59.999Z", &before));
	assert_true(time_from_text("2026-11-24T21:00:00Z", &after));
	assert_true(date_from_text("2026-11-25", &day));
	assert_int_equal(date_of_time(before), day - 1);
	assert_int_equal(date_of_time(after), day);
}

static void the_clock_can_be_shifted(void **state)
{
	int64_t real = time_now_ms(), shifted;

	(void)state;
	time_set_offset_ms(-3LL * 365 * 86400000);
	shifted = time_now_ms();
	time_set_offset_ms(0);
	assert_true(shifted - real + 3LL * 365 * 86400000 < 10000);
	assert_true(real > 1735689600000); /* 2025-01-01, by date -u -d 2025-01-01 +%s */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_examples_of_rfc_3339_are_read),
		cmocka_unit_test(a_time_is_written_in_utc_with_milliseconds),
		cmocka_unit_test(a_time_beyond_four_digits_of_year_is_held_at_the_edge),
		cmocka_unit_test(what_is_no_time_is_refused),
		cmocka_unit_test(dates_count_days_since_1970),
		cmocka_unit_test(every_day_of_ten_thousand_years_is_found_again),
		cmocka_unit_test(days_that_no_calendar_has_are_refused),
		cmocka_unit_test(a_due_date_falls_on_the_last_day_of_a_shorter_month),
		cmocka_unit_test(the_date_of_a_time_is_that_of_the_plant),
		cmocka_unit_test(the_clock_can_be_shifted),
	};

	setenv("TZ", "PLANT-3", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
