/*
 * What the sentences claim, held against the readings: many error curves by chance, and each claim in words worked out anew
 * from the numbers, with arithmetic of its own (normal equations and averages, written here). A figure in words counts as
 * right when it is the value within half of its last digit.
 */
#include "metrology/diagnosis.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CASES	  3000
#define POINTS	  5
#define MOST	  (POINTS * 4)
#define PARTS	  5
#define HALF_MORE 1.0001 /* a half digit and the noise of binary */

static const struct test_setup frame = {
	/* so that an error in the output's unit is one in % of span */
	.input = {0, 100},
	.output = {0, 100},
	.characteristic = {.kind = CHARACTERISTIC_LINEAR},
	.decision = {DECISION_SIMPLE, 0},
};

struct curve {
	struct test_setup setup;
	struct tolerance adjust;
	struct reading r[MOST];
	struct judged_reading j[MOST];
	double e[MOST], t[MOST]; /* error in %, place 0..1 */
	int n, points, directions;
	struct evaluation sum;
	struct diagnosis d;
	char what[SENTENCE_SIZE], advice[SENTENCE_SIZE];
	char text[600]; /* for messages: the sentences and the errors */
};

static double chance(unsigned *seed, double low, double high)
{
	*seed = *seed * 1664525u + 1013904223u;
	return low + (high - low) * (*seed >> 8) / 16777216.0;
}

static double often_zero(unsigned *seed, double reach)
{
	double v = chance(seed, -reach, reach);

	return chance(seed, 0, 1) < 0.5 ? 0 : v;
}

static void describe(struct curve *c)
{
	int used = snprintf(c->text, sizeof c->text, "\"%s\" \"%s\"", c->what, c->advice);

	for (int i = 0; i < c->n && used > 0 && used < (int)sizeof c->text; i++)
		used += snprintf(c->text + used, sizeof c->text - (size_t)used, " %.3g:%.4g", c->t[i], c->e[i]);
}

static void make(struct curve *c, unsigned *seed)
{
	double zero = often_zero(seed, 2), span = often_zero(seed, 2), bend = often_zero(seed, 2),
	       loop = often_zero(seed, 2), noise = often_zero(seed, 1), limit = chance(seed, 0.2, 6);
	int cycles = chance(seed, 0, 1) < 0.3 ? 2 : 1;

	*c = (struct curve){.setup = frame,
			    .points = 1 + (int)chance(seed, 0, POINTS - 0.001),
			    .directions = chance(seed, 0, 1) < 0.3 ? 1 : 2};
	c->setup.tolerance = (struct tolerance){
		{{TOLERANCE_PERCENT_OF_SPAN, limit, chance(seed, 0.5, 1.5) * limit}}, 1, JOIN_SUM};
	if (chance(seed, 0, 1) < 0.1)
		c->setup.tolerance.n_terms = 0;
	c->adjust = c->setup.tolerance;
	c->adjust.terms[0].plus *= chance(seed, 0.4, 1);
	for (int cycle = 1; cycle <= cycles; cycle++)
		for (int way = 0; way < c->directions; way++)
			for (int p = 0; p < c->points; p++) {
				double t = c->points == 1 ? 0.5 : (double)p / (c->points - 1);
				double e = zero + span * t + 4 * bend * t * (1 - t) +
					   (way ? loop : -loop) / 2 * 4 * t * (1 - t) + chance(seed, -noise, noise);

				c->r[c->n] = (struct reading){
					100 * t, NAN, round((100 * t + e) * 1000) / 1000, way ? FALLING : RISING,
					cycle,	 0};
				c->t[c->n] = t;
				c->e[c->n] = c->r[c->n].observed - 100 * t;
				c->n++;
			}
	assert_true(evaluate(&c->setup, c->r, (size_t)c->n, c->j, &c->sum));
	diagnose(&c->setup, &c->adjust, &c->setup.tolerance, c->r, c->j, (size_t)c->n, &c->d);
	diagnosis_sentence(&c->d, &c->sum, c->what);
	advice_sentence(&c->d, &c->setup, "%", 2, c->advice);
	describe(c);
}

/* Each case of its own by its own seed. */
static void of_each(void (*check)(const struct curve *c, int *found), int least)
{
	static struct curve c;
	int found = 0;

	for (unsigned i = 1; i <= CASES; i++) {
		unsigned seed = i * 2654435761u;

		make(&c, &seed);
		check(&c, &found);
	}
	if (found < least)
		print_error("only %d of %d curves were spoken of so\n", found, CASES);
	assert_true(found >= least);
}

static void claim(const struct curve *c, bool is_true, const char *what)
{
	if (is_true)
		return;
	print_error("not true: %s\n%s\n", what, c->text);
	fail();
}

/* The number that stands at p, and what half of its last digit is worth; *p goes behind it. */
static double figure(const char **p, double *half)
{
	char *end;
	double v = strtod(*p, &end);
	const char *dot = memchr(*p, '.', (size_t)(end - *p));

	assert_true(end > *p);
	*half = 0.5 * pow(10, dot ? -(double)(end - dot - 1) : 0) * HALF_MORE;
	*p = end;
	return v;
}

static void claim_figure(const struct curve *c, const char *at, double value, const char *what)
{
	double half, said = figure(&at, &half);

	if (fabs(said - value) > half)
		print_error("%g is said, %.6g is true\n", said, value);
	claim(c, fabs(said - value) <= half, what);
}

/* "1.2 % of span high" at p: the signed value, or "right". Goes behind it. */
static void claim_sided(const struct curve *c, const char *at, double value, const char *what)
{
	const char *of_span;

	if (!strncmp(at, "right", 5)) {
		claim(c, fabs(value) < 0.005 * HALF_MORE, what);
		return;
	}
	claim_figure(c, at, fabs(value), what);
	of_span = strstr(at, " % of span ");
	assert_non_null(of_span);
	if (fabs(value) > 1e-9)
		claim(c, !strncmp(of_span + 11, value < 0 ? "low" : "high", 3), what);
}

static double average(const struct curve *c, double t, int direction)
{
	double sum = 0;
	int n = 0;

	for (int i = 0; i < c->n; i++)
		if (fabs(c->t[i] - t) < 1e-9 && (direction < 0 || (int)c->r[i].direction == direction)) {
			sum += c->e[i];
			n++;
		}
	return sum / n;
}

static void every_point(const struct curve *c, int *found)
{
	const char *at = strstr(c->what, "the output is "), *end = strstr(c->what, " at every point"), *to;
	double least = INFINITY, most = 0, half;
	bool high;

	if (!end)
		return;
	++*found;
	assert_non_null(at);
	at += 14;
	high = !strncmp(end - 4, "high", 4);
	claim(c, high || !strncmp(end - 3, "low", 3), "a side is named");
	for (int i = 0; i < c->n; i++) {
		claim(c, high ? c->e[i] > 0 : c->e[i] < 0, "every reading lies on the side that is named");
		least = fmin(least, fabs(c->e[i]));
		most = fmax(most, fabs(c->e[i]));
	}
	to = strstr(at, " to ");
	claim_figure(c, at, least, "the least of the errors");
	if (to && to < end)
		at = to + 4;
	claim_figure(c, at, most, "the most of the errors");
	figure(&at, &half);
}

static void every_point_is_said_only_when_it_holds_for_every_reading(void **state)
{
	(void)state;
	of_each(every_point, 100);
}

static void on_average(const struct curve *c, int *found)
{
	double sum = 0;

	if (!strstr(c->what, " on average"))
		return;
	++*found;
	for (int i = 0; i < c->n; i++)
		sum += c->e[i];
	claim_sided(c, strstr(c->what, "the output is ") + 14, sum / c->n, "the average");
}

static void average_is_that_of_all_readings(void **state)
{
	(void)state;
	of_each(on_average, 25);
}

static void at_the_ends(const struct curve *c, int *found)
{
	const char *and = strstr(c->what, " at the lowest point and ");

	if (!and)
		return;
	++*found;
	claim(c, c->points > 1, "there are two ends");
	claim_sided(c, strstr(c->what, "the output is ") + 14, average(c, 0, -1), "the lowest point");
	claim_sided(c, and+25, average(c, 1, -1), "the highest point");
}

static void ends_are_told_as_they_were_read(void **state)
{
	(void)state;
	of_each(at_the_ends, 250);
}

static void hysteresis(const struct curve *c, int *found)
{
	const char *const texts[] = {c->what, c->advice};
	double most = 0;

	for (int p = 0; p < c->points && c->directions > 1; p++) {
		double t = c->points == 1 ? 0.5 : (double)p / (c->points - 1);

		most = fmax(most, fabs(average(c, t, RISING) - average(c, t, FALLING)));
	}
	for (int i = 0; i < 2; i++) {
		const char *at = strstr(texts[i], "rising and falling differ by up to ");

		if (!at)
			continue;
		++*found;
		claim_figure(c, at + 35, most, "the hysteresis");
	}
}

static void hysteresis_is_the_largest_difference_of_rising_and_falling(void **state)
{
	(void)state;
	of_each(hysteresis, 250);
}

static void bend(const struct curve *c, int *found)
{
	const char *at = strstr(c->what, "in between it lies up to ");
	double above = 0, below = 0;

	if (!at)
		return;
	++*found;
	claim(c, c->points > 2, "there is something in between");
	for (int p = 1; p + 1 < c->points; p++) {
		double t = (double)p / (c->points - 1);
		double v = average(c, t, -1) - (1 - t) * average(c, 0, -1) - t * average(c, 1, -1);

		above = fmax(above, v);
		below = fmax(below, -v);
	}
	if (strstr(at, "% of span above the line"))
		claim_figure(c, at + 25, above, "the bend above the line");
	else
		claim_figure(c, at + 25, below, "the bend below the line");
	claim(c, fmax(above, below) == (strstr(at, "% of span above the line") ? above : below), "the larger bend");
}

static void bend_is_the_largest_distance_from_the_line_between_the_ends(void **state)
{
	(void)state;
	of_each(bend, 150);
}

/* Least squares by normal equations of 1, t, t^2 up to the order; coefficients to k, returns the sum of squares that is left. */
static double left_by(const struct curve *c, int order, double k[3])
{
	double m[3][4] = {{0}}, left = 0;
	int size = order + 1;

	for (int i = 0; i < c->n; i++)
		for (int a = 0; a < size; a++) {
			for (int b = 0; b < size; b++)
				m[a][b] += pow(c->t[i], a + b);
			m[a][3] += pow(c->t[i], a) * c->e[i];
		}
	for (int a = 0; a < size; a++)
		for (int b = 0; b < size; b++) {
			double f = b == a ? 0 : m[b][a] / m[a][a];

			for (int q = 0; q < 4; q++)
				m[b][q] -= f * m[a][q];
		}
	for (int a = 0; a < 3; a++)
		k[a] = a < size ? m[a][3] / m[a][a] : 0;
	for (int i = 0; i < c->n; i++)
		left += pow(c->e[i] - k[0] - k[1] * c->t[i] - k[2] * c->t[i] * c->t[i], 2);
	return left;
}

/* docs/metrology.md, "What is wrong" */
static void shares_of(const struct curve *c, double share[PARTS])
{
	double k[3], all = 0, zero = 0, span = 0, line, parabola, pairs = 0;

	for (int i = 0; i < c->n; i++)
		all += c->e[i] * c->e[i];
	parabola = left_by(c, c->points > 2 ? 2 : c->points > 1 ? 1 : 0, k);
	line = left_by(c, c->points > 1 ? 1 : 0, k);
	for (int i = 0; i < c->n; i++) {
		double own = average(c, c->t[i], (int)c->r[i].direction) - average(c, c->t[i], -1);

		zero += k[0] * k[0];
		span += k[1] * c->t[i] * (k[1] * c->t[i]);
		pairs += own * own;
	}
	share[CAUSE_ZERO] = zero + span > 0 ? (all - line) / all * zero / (zero + span) : 0;
	share[CAUSE_SPAN] = zero + span > 0 ? (all - line) / all * span / (zero + span) : 0;
	share[CAUSE_CURVATURE] = (line - parabola) / all;
	share[CAUSE_HYSTERESIS] = pairs / all;
	share[CAUSE_SCATTER] = (parabola - pairs) / all;
}

static void mostly(const struct curve *c, int *found)
{
	static const char *const words[PARTS] = {"ostly a zero shift", "ostly a span error", "ostly curvature",
						 "ostly hysteresis", "ostly scatter"};
	double share[PARTS];

	if (!strstr(c->what, "ostly"))
		return;
	++*found;
	shares_of(c, share);
	for (int i = 0; i < PARTS; i++)
		if (strstr(c->what, words[i]))
			claim(c, share[i] > 0.499, "mostly is at least half");
}

static void mostly_is_said_of_what_makes_at_least_half_of_the_error(void **state)
{
	(void)state;
	of_each(mostly, 300);
}

/* A zero shift that differs from end to end is not told as one alone. */
static void zero_alone(const struct curve *c, int *found)
{
	double k[3];

	if (!strstr(c->what, "ostly a zero shift") && !strstr(c->what, "ostly a span error"))
		return;
	++*found;
	left_by(c, c->points > 1 ? 1 : 0, k);
	claim(c, fmin(fabs(k[0]), fabs(k[1])) < 0.34 * fmax(fabs(k[0]), fabs(k[1])), "one alone");
}

static void zero_and_span_are_told_together_when_neither_is_small(void **state)
{
	(void)state;
	of_each(zero_alone, 150);
}

static void spread(const struct curve *c, int *found)
{
	const char *at = strstr(c->what, "the readings spread by ");
	double share[PARTS], all = 0;
	int parameters = (c->points > 2 ? 3 : c->points) + (c->directions > 1 ? c->points : 0);

	if (!at)
		return;
	++*found;
	shares_of(c, share);
	for (int i = 0; i < c->n; i++)
		all += c->e[i] * c->e[i];
	claim(c, c->n > parameters, "there are readings to tell it from");
	claim_figure(c, at + 23, sqrt(share[CAUSE_SCATTER] * all / (c->n - parameters)), "the standard deviation");
}

static void spread_is_the_standard_deviation_of_the_rest(void **state)
{
	(void)state;
	of_each(spread, 60);
}

static void largest(const struct curve *c, int *found)
{
	const char *at = strstr(c->what, "he largest error is ");
	double most = 0;

	if (!at)
		return;
	++*found;
	for (int i = 0; i < c->n; i++)
		most = fmax(most, fabs(c->e[i]));
	claim_figure(c, at + 20, most, "the largest error");
}

static void largest_error_is_the_largest(void **state)
{
	(void)state;
	of_each(largest, 250);
}

static bool keeps(const struct curve *c, const struct tolerance *t)
{
	for (int i = 0; i < c->n; i++)
		if (c->e[i] > t->terms[0].plus + 1e-9 || c->e[i] < -t->terms[0].minus - 1e-9)
			return false;
	return true;
}

static void no_adjustment(const struct curve *c, int *found)
{
	bool said = strstr(c->advice, "No adjustment: every error is inside the adjust limits.") != NULL;

	if (c->setup.tolerance.n_terms == 0) {
		claim(c, !strncmp(c->advice, "No limits are set", 17), "no limits are set");
		return;
	}
	++*found;
	claim(c, said == keeps(c, &c->adjust), "no adjustment exactly when every error is inside");
	claim(c, !said || !strstr(c->what, "Mostly"), "a run to be left alone is spoken of quietly");
	claim(c, !said || strstr(c->what, "argest error is") || strstr(c->what, "No error"),
	      "how small it is comes first");
}

static void no_adjustment_is_said_exactly_when_every_error_is_inside(void **state)
{
	(void)state;
	of_each(no_adjustment, 2000);
}

static void trimming(const struct curve *c, int *found)
{
	const char *at = strstr(c->advice, "the largest error should be about ");
	double share[PARTS], most = 0;

	if (strstr(c->advice, "rimming")) {
		shares_of(c, share);
		claim(c, !strstr(c->advice, "Trimming will not help") || share[CAUSE_ZERO] + share[CAUSE_SPAN] < 0.151,
		      "trimming takes nothing of note away");
		return;
	}
	if (!at)
		return;
	++*found;
	claim(c, (strstr(c->advice, "aise the zero") != NULL) == (c->d.zero_trim > 0), "raise adds to the output");
	claim(c, (strstr(c->advice, "ower the zero") != NULL) == (c->d.zero_trim < 0), "lower takes from the output");
	claim(c, (strstr(c->advice, "ncrease the span") != NULL) == (c->d.span_trim > 0), "increase adds to the span");
	claim(c, (strstr(c->advice, "educe the span") != NULL) == (c->d.span_trim < 0), "reduce takes from the span");
	for (int i = 0; i < c->n; i++)
		most = fmax(most, fabs(c->e[i] + c->d.zero_trim + c->d.span_trim * c->t[i]));
	claim_figure(c, at + 34, most, "what the trim leaves");
}

static void trim_is_told_with_its_direction_and_what_it_leaves(void **state)
{
	(void)state;
	of_each(trimming, 500);
}

static void one_reading(const struct curve *c, int *found)
{
	char text[SENTENCE_SIZE];

	for (int i = 0; i < c->n && c->setup.tolerance.n_terms; i++) {
		const char *error, *limit;
		double half, e, low, high;
		bool inside;

		reading_sentence(&c->setup, &c->r[i], &c->j[i], "%", "%", 1, 3, text);
		++*found;
		error = strstr(text, " %: ") + 4;
		limit = strstr(text, ", limit ") + 8;
		inside = strstr(limit, ": inside") != NULL;
		claim(c, inside == (c->j[i].verdict == VERDICT_PASS), "the verdict in words");
		e = strncmp(error, "right on", 8) ? figure(&error, &half) : 0;
		if (strstr(error, " low,"))
			e = -e;
		claim(c, fabs(e - c->e[i]) < 0.0501, "the error");
		if (!strncmp(limit, "±", 2)) {
			limit += 2;
			high = figure(&limit, &half);
			low = -high;
		} else {
			limit += 3; /* the true minus sign */
			low = -figure(&limit, &half);
			limit = strstr(limit, "+") + 1;
			high = figure(&limit, &half);
		}
		claim(c, inside == (e <= high && e >= low), text);
	}
}

static void reading_is_told_on_the_side_of_its_limit_where_it_lies(void **state)
{
	(void)state;
	of_each(one_reading, 10000);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_point_is_said_only_when_it_holds_for_every_reading),
		cmocka_unit_test(average_is_that_of_all_readings),
		cmocka_unit_test(ends_are_told_as_they_were_read),
		cmocka_unit_test(hysteresis_is_the_largest_difference_of_rising_and_falling),
		cmocka_unit_test(bend_is_the_largest_distance_from_the_line_between_the_ends),
		cmocka_unit_test(mostly_is_said_of_what_makes_at_least_half_of_the_error),
		cmocka_unit_test(zero_and_span_are_told_together_when_neither_is_small),
		cmocka_unit_test(spread_is_the_standard_deviation_of_the_rest),
		cmocka_unit_test(largest_error_is_the_largest),
		cmocka_unit_test(no_adjustment_is_said_exactly_when_every_error_is_inside),
		cmocka_unit_test(trim_is_told_with_its_direction_and_what_it_leaves),
		cmocka_unit_test(reading_is_told_on_the_side_of_its_limit_where_it_lies),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
