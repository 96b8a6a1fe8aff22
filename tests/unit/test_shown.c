/*
 * A shown error beside a verdict never contradicts it: of many runs by chance, with readings close to their limits, the
 * texts are read back and compared, and the verdict is worked out anew in whole counts of 10^-7 of the output's unit.
 */
#include "api/compute.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RUNS	 400
#define READINGS 12

struct scale {
	const char *unit;
	int low, high;
	long reading; /* counts of a reading's last digit */
};
/* A count is 10^-7 of the unit; limits are thousandths of a percent of span, so span / 10^5 of the unit. */
static const struct scale scales[] = {{"%", 0, 100, 10000},
				      {"mA", 4, 20, 10000},
				      {"mA", 4, 20, 1000},
				      {"bar", 0, 6, 10000}};

static unsigned seed = 20260314;

static long chance(long low, long high)
{
	seed = seed * 1664525u + 1013904223u;
	return low + (long)((double)(seed >> 8) / 16777216.0 * (double)(high - low + 1));
}

struct run {
	const struct scale *scale;
	long plus, minus; /* counts */
	long error[READINGS];
	json_t *answer;
};

static void make(struct run *r)
{
	json_t *readings = json_array(), *document;
	long thousandth, plus, minus;
	struct err err = {0};

	r->scale = &scales[chance(0, 3)];
	thousandth = (r->scale->high - r->scale->low) * 100L; /* of a percent of span, in counts: span * 10^7 / 10^5 */
	plus = chance(100, 3000);
	minus = chance(0, 2) ? plus : plus + chance(-3, 3);
	r->plus = plus * thousandth;
	r->minus = minus * thousandth;
	for (int i = 0; i < READINGS; i++) {
		long limit = chance(0, 1) ? r->plus : -r->minus, step = r->scale->reading;
		double set = (r->scale->high - r->scale->low) / 4.0 * (i % 5);

		r->error[i] = (limit / step + chance(-6, 6)) * step;
		json_array_append_new(
			readings,
			json_pack("{s:f, s:f, s:s}", "set", set, "observed",
				  ((double)(r->scale->low * 10000000L) + set * 1e7 + (double)r->error[i]) / 1e7,
				  "direction", "rising"));
	}
	document = json_pack(
		"{s:{s:i, s:f, s:s}, s:{s:i, s:i, s:s}, s:{s:s}, s:{s:[{s:s, s:f, s:f}], s:s}, s:{s:s}, s:o}", "input",
		"low", 0, "high", (double)(r->scale->high - r->scale->low), "unit", "bar", "output", "low",
		r->scale->low, "high", r->scale->high, "unit", r->scale->unit, "characteristic", "kind", "linear",
		"tolerance", "terms", "kind", "percent_of_span", "plus", (double)plus / 1000, "minus",
		(double)minus / 1000, "join", "sum", "decision", "rule", "simple", "readings", readings);
	assert_non_null(document);
	if (compute_run("evaluation", document, &r->answer, &err))
		fail_msg("%s: %s", err.field, err.message);
	json_decref(document);
}

/* "−1.046 %" at *at as a number; goes behind it. */
static double number(const char **at)
{
	double sign = 1, v;
	char *end;

	if (!strncmp(*at, "\u2212", 3)) {
		sign = -1;
		*at += 3;
	}
	v = strtod(*at, &end);
	assert_true(end > *at);
	*at = end;
	return sign * v;
}

static double number_of(json_t *shown, const char *member)
{
	const char *text = json_string_value(json_object_get(shown, member));

	assert_non_null(text);
	return number(&text);
}

static bool inside_limits_in_words(double error, const char *text)
{
	double low, high;

	if (!strncmp(text, "±", 2)) {
		text += 2;
		high = number(&text);
		return fabs(error) <= high;
	}
	low = number(&text);
	text = strstr(text, "to ") + 3;
	high = number(&text);
	return error >= low && error <= high;
}

static void check_reading(const struct run *r, size_t i)
{
	json_t *point = json_array_get(json_object_get(r->answer, "points"), i),
	       *shown = json_object_get(point, "shown");
	bool inside = r->error[i] <= r->plus && r->error[i] >= -r->minus;
	double error = number_of(shown, "error"), percent = number_of(shown, "error_percent_of_span");
	const char *limits = json_string_value(json_object_get(shown, "limits_percent"));
	bool seen = error >= number_of(shown, "limit_low") && error <= number_of(shown, "limit_high");

	assert_string_equal(json_string_value(json_object_get(point, "verdict")), inside ? "pass" : "fail");
	if (seen != inside || inside_limits_in_words(percent, limits) != inside) {
		char *text = json_dumps(shown, 0);

		print_error("%s, but %s\n", inside ? "inside" : "outside", text);
		free(text);
		fail();
	}
}

static void shown_error_never_contradicts_its_verdict(void **state)
{
	(void)state;
	for (int k = 0; k < RUNS; k++) {
		struct run r = {0};

		make(&r);
		for (size_t i = 0; i < READINGS; i++)
			check_reading(&r, i);
		json_decref(r.answer);
	}
}

static size_t decimals(json_t *shown, const char *member)
{
	const char *text = json_string_value(json_object_get(shown, member)), *dot = strchr(text, '.');

	return dot ? strspn(dot + 1, "0123456789") : 0;
}

static void readings_of_a_run_are_shown_with_the_same_decimals(void **state)
{
	static const char *const members[] = {"error", "limit_low", "error_percent_of_span", "limits_percent"};

	(void)state;
	for (int k = 0; k < RUNS / 10; k++) {
		struct run r = {0};
		json_t *points;

		make(&r);
		points = json_object_get(r.answer, "points");
		for (size_t m = 0; m < 4; m++)
			for (size_t i = 1; i < READINGS; i++)
				assert_int_equal(
					decimals(json_object_get(json_array_get(points, i), "shown"), members[m]),
					decimals(json_object_get(json_array_get(points, 0), "shown"), members[m]));
		json_decref(r.answer);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(shown_error_never_contradicts_its_verdict),
		cmocka_unit_test(readings_of_a_run_are_shown_with_the_same_decimals),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
