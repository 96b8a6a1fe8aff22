/*
 * The sum of the squared errors taken apart into parts that stand at right angles to each other, so that they add up:
 * a straight line, a bend, the difference of rising and falling, and the rest (docs/metrology.md, "What is wrong").
 */
#include "metrology/diagnosis.h"

#include "curve.h"
#include "judge.h"
#include "metrology/statistics.h"
#include "number.h"
#include "sample.h"

static double output_fraction(const struct test_setup *setup, double set)
{
	double t = range_fraction(setup->output,
				  characteristic_forward(&setup->characteristic, setup->input, setup->output, set));

	return is_finite(t) ? t : range_fraction(setup->input, set);
}

/* Keeps what has an error; left limits in % of span. */
static void take_sample(const struct test_setup *setup, const struct tolerance *left, const struct reading *readings,
			const struct judged_reading *judged, size_t n, struct sample *s)
{
	double unit = fabs(range_span(setup->output)) / 100;

	s->n = 0;
	for (size_t i = 0; i < n && i < READINGS_MAX; i++) {
		struct limits l = tolerance_limits(left, setup->output, judged[i].expected);

		if (!is_finite(judged[i].error_percent))
			continue;
		s->t[s->n] = output_fraction(setup, readings[i].set);
		s->e[s->n] = judged[i].error_percent;
		s->u[s->n] = readings[i].u / unit;
		s->left[s->n].low = l.low / unit;
		s->left[s->n].high = l.high / unit;
		s->n++;
	}
}

/* The straight part, about zero, shared out in proportion to what zero and span alone would leave. */
static void split_line(const struct sample *s, struct line l, double part[CAUSES])
{
	double sum = 0, zero = 0, span = 0;

	for (size_t i = 0; i < s->n; i++) {
		double fitted = l.a + l.b * s->t[i];

		sum += fitted * fitted;
		zero += l.a * l.a;
		span += l.b * s->t[i] * (l.b * s->t[i]);
	}
	part[CAUSE_ZERO] = zero + span > 0 ? sum * (zero / (zero + span)) : 0;
	part[CAUSE_SPAN] = zero + span > 0 ? sum * (span / (zero + span)) : 0;
}

/* What a quadratic term takes away beyond the line. size: how far the parabola's middle lies above its chord. */
static double split_bend(const struct sample *s, double *size)
{
	double squares[READINGS_MAX], sum_pp = 0, sum_pe = 0, low = s->t[0], high = s->t[0];
	struct line l;

	*size = 0;
	for (size_t i = 0; i < s->n; i++) {
		squares[i] = s->t[i] * s->t[i];
		low = smaller(low, s->t[i]);
		high = larger(high, s->t[i]);
	}
	l = least_squares_line(s->t, squares, s->n);
	for (size_t i = 0; i < s->n; i++) {
		double p = squares[i] - l.a - l.b * s->t[i];

		sum_pp += p * p;
		sum_pe += p * s->e[i];
	}
	if (sum_pp < 1e-12)
		return 0; /* fewer than three points */
	*size = -sum_pe / sum_pp * (high - low) * (high - low) / 4;
	return sum_pe / sum_pp * sum_pe;
}

/* pairs: how many points have both directions. */
static double split_hysteresis(const struct curve_point *points, size_t n, int *pairs)
{
	double sum = 0;

	*pairs = 0;
	for (size_t i = 0; i < n; i++) {
		const struct curve_point *p = &points[i];

		if (p->count_of[RISING] == 0 || p->count_of[FALLING] == 0)
			continue;
		(*pairs)++;
		for (int d = 0; d < 2; d++)
			sum += p->count_of[d] * (p->mean_of[d] - p->mean) * (p->mean_of[d] - p->mean);
	}
	return sum;
}

static void order_by_share(struct diagnosis *d)
{
	for (int i = 0; i < CAUSES; i++) {
		int j = i;

		for (; j > 0 && d->share[d->order[j - 1]] < d->share[i]; j--)
			d->order[j] = d->order[j - 1];
		d->order[j] = (enum cause)i;
	}
}

/* p of an F ratio; a part that is nothing but rounding is never more than noise, and any other is more than none at all. */
static double f_test(double part, int dof, double noise, int noise_dof, double total)
{
	if (dof <= 0 || noise_dof <= 0)
		return NOT_A_NUMBER;
	if (part <= 1e-20 * total || part == 0)
		return 1;
	if (noise <= 1e-20 * total)
		return 0;
	return f_upper(part / dof / (noise / noise_dof), dof, noise_dof);
}

/* What zero and span take away as parameters of the line: (z / its standard deviation)^2 in units of the scatter's variance. */
static void line_parts(const struct sample *s, struct line l, double *zero, double *span)
{
	double mean = 0, squares = 0, n = (double)s->n;

	for (size_t i = 0; i < s->n; i++)
		mean += s->t[i] / n;
	for (size_t i = 0; i < s->n; i++)
		squares += (s->t[i] - mean) * (s->t[i] - mean);
	*span = l.b * l.b * squares;
	*zero = squares > 1e-20 ? l.a * l.a / (1 / n + mean * mean / squares) : l.a * l.a * n;
}

/* The scatter against what the readings' own uncertainty lets expect. */
static double scatter_test(const struct sample *s, double part, int dof)
{
	double mean_square = 0;

	for (size_t i = 0; i < s->n; i++)
		mean_square += s->u[i] * s->u[i] / (double)s->n;
	return dof > 0 && mean_square > 0 ? chi_squared_upper(part / mean_square, dof) : NOT_A_NUMBER;
}

static void test_parts(const struct sample *s, struct line l, const double part[CAUSES], size_t n_points, int pairs,
		       struct diagnosis *out)
{
	double zero, span, total = 0, noise = part[CAUSE_SCATTER];
	int parameters = (n_points > 2 ? 3 : (int)n_points) + pairs, dof = (int)s->n - parameters;

	for (int i = 0; i < CAUSES; i++)
		total += part[i];
	line_parts(s, l, &zero, &span);
	out->noise_dof = dof > 0 ? dof : 0;
	out->p_value[CAUSE_ZERO] = f_test(zero, 1, noise, dof, total);
	out->p_value[CAUSE_SPAN] = f_test(span, n_points > 1 ? 1 : 0, noise, dof, total);
	out->p_value[CAUSE_CURVATURE] = f_test(part[CAUSE_CURVATURE], n_points > 2 ? 1 : 0, noise, dof, total);
	out->p_value[CAUSE_HYSTERESIS] = f_test(part[CAUSE_HYSTERESIS], pairs, noise, dof, total);
	out->p_value[CAUSE_SCATTER] = scatter_test(s, noise, dof);
	for (int i = 0; i < CAUSES; i++)
		out->significant[i] = out->p_value[i] < DIAGNOSIS_LEVEL;
}

static void split(const struct sample *s, const struct curve_point *points, size_t n_points, struct diagnosis *out)
{
	double part[CAUSES] = {0}, total = 0, sum = 0, hysteresis = 0;
	struct line l = least_squares_line(s->t, s->e, s->n);
	int pairs, parameters;

	for (size_t i = 0; i < s->n; i++)
		total += s->e[i] * s->e[i];
	split_line(s, l, part);
	part[CAUSE_CURVATURE] = split_bend(s, &out->size[CAUSE_CURVATURE]);
	part[CAUSE_HYSTERESIS] = split_hysteresis(points, n_points, &pairs);
	part[CAUSE_SCATTER] = larger(0, total - part[CAUSE_ZERO] - part[CAUSE_SPAN] - part[CAUSE_CURVATURE] -
						part[CAUSE_HYSTERESIS]);
	for (int i = 0; i < CAUSES; i++)
		sum += part[i];
	for (int i = 0; i < CAUSES; i++)
		out->share[i] = sum > 0 ? part[i] / sum : 0;
	for (size_t i = 0; i < n_points; i++)
		if (points[i].count_of[RISING] > 0 && points[i].count_of[FALLING] > 0)
			hysteresis = larger(hysteresis, fabs(points[i].mean_of[RISING] - points[i].mean_of[FALLING]));
	out->size[CAUSE_ZERO] = l.a;
	out->size[CAUSE_SPAN] = l.b;
	out->size[CAUSE_HYSTERESIS] = hysteresis;
	parameters = (n_points > 2 ? 3 : (int)n_points) + pairs;
	if ((int)s->n > parameters)
		out->size[CAUSE_SCATTER] = sqrt(part[CAUSE_SCATTER] / ((double)s->n - parameters));
	test_parts(s, l, part, n_points, pairs, out);
}

/* What can be read off the table of readings. */
static void note_extremes(const struct sample *s, const struct curve_point *points, size_t n_points,
			  struct diagnosis *out)
{
	const struct curve_point *first = &points[0], *last = &points[n_points - 1];

	out->lowest = out->highest = s->e[0];
	for (size_t i = 0; i < s->n; i++) {
		out->lowest = smaller(out->lowest, s->e[i]);
		out->highest = larger(out->highest, s->e[i]);
		out->mean += s->e[i] / (double)s->n;
	}
	for (size_t i = 1; i + 1 < n_points; i++) {
		double way = (points[i].x - first->x) / (last->x - first->x);
		double above = points[i].mean - first->mean - way * (last->mean - first->mean);

		if (fabs(above) > fabs(out->bend))
			out->bend = above;
	}
}

static bool any_outside(const struct tolerance *t, const struct test_setup *setup, const struct judged_reading *judged,
			size_t n)
{
	for (size_t i = 0; i < n; i++)
		if (!is_nan(judged[i].error) && !inside_tolerance(setup, t, &judged[i]))
			return true;
	return false;
}

void diagnose(const struct test_setup *setup, const struct tolerance *adjust_limits, const struct tolerance *left,
	      const struct reading *readings, const struct judged_reading *judged, size_t n, struct diagnosis *out)
{
	static const struct diagnosis nothing = {
		.order = {CAUSE_ZERO, CAUSE_SPAN, CAUSE_CURVATURE, CAUSE_HYSTERESIS, CAUSE_SCATTER}};
	const struct tolerance *call = adjust_limits->n_terms > 0 ? adjust_limits : left;
	const struct tolerance *meet = left->n_terms > 0 ? left : adjust_limits;
	struct curve_point points[READINGS_MAX];
	struct sample s;
	struct trim t;
	double unit = fabs(range_span(setup->output)) / 100;
	size_t n_points;

	*out = nothing;
	out->call = adjust_limits->n_terms > 0 ? CALL_ADJUST_LIMITS : CALL_LIMITS;
	out->lowest = out->highest = NOT_A_NUMBER;
	out->limits_set = call->n_terms > 0;
	out->adjust = out->limits_set && n <= READINGS_MAX && any_outside(call, setup, judged, n);
	out->predicted_max_error = NOT_A_NUMBER;
	for (int i = 0; i < CAUSES; i++)
		out->p_value[i] = NOT_A_NUMBER;
	take_sample(setup, meet, readings, judged, n, &s);
	if (s.n == 0 || n > READINGS_MAX)
		return;
	n_points = curve_from_readings(setup, readings, judged, n, points);
	split(&s, points, n_points, out);
	note_extremes(&s, points, n_points, out);
	order_by_share(out);
	t = best_trim(&s);
	out->trim_helps = t.inside;
	out->zero_trim = t.zero * unit;
	out->span_trim = t.span * unit;
	out->predicted_max_error = t.remaining;
}

const char *cause_word(enum cause c)
{
	static const char *const words[CAUSES] = {"zero", "span", "curvature", "hysteresis", "scatter"};

	return words[c];
}

const char *cause_advice(enum cause c)
{
	static const char *const words[CAUSES] = {
		"Trim the zero.",
		"Trim the span.",
		"Check the characteristic that is set; trimming zero and span only shares the bend out.",
		"Find the friction or play; trimming does not help against it.",
		"Find what makes the readings unsteady, or repeat the run.",
	};

	return words[c];
}
