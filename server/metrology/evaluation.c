#include "metrology/evaluation.h"

#include "curve.h"
#include "judge.h"
#include "number.h"

static void blank(struct judged_reading *j)
{
	j->expected = j->error = j->error_percent = NOT_A_NUMBER;
	j->limits.low = j->limits.high = j->acceptance.low = j->acceptance.high = NOT_A_NUMBER;
	j->verdict = VERDICT_NOT_JUDGED;
}

static void blank_summary(struct evaluation *e)
{
	e->verdict = VERDICT_NOT_JUDGED;
	e->judged = e->failed = 0;
	e->worst = -1;
	e->worst_ratio = NOT_A_NUMBER;
	e->max_error = e->max_error_plus = e->max_error_minus = NOT_A_NUMBER;
	e->zero_error = e->span_error = e->hysteresis = e->hysteresis_cycle = e->repeatability = NOT_A_NUMBER;
	for (int i = 0; i < LINE_KINDS; i++)
		e->linearity[i] = NOT_A_NUMBER;
	e->line_a = e->line_b = e->max_mean_error = NOT_A_NUMBER;
}

static double judged_input(const struct test_setup *s, const struct reading *r)
{
	return s->error_at == ERROR_AT_SET || is_nan(r->applied) ? r->set : r->applied;
}

static bool usable(struct range r)
{
	double span = range_span(r);

	return is_finite(span) && span != 0;
}

static bool setup_is_possible(const struct test_setup *s, const struct reading *readings, size_t n)
{
	if (n > READINGS_MAX || !usable(s->input) || !usable(s->output))
		return false;
	if (is_nan(characteristic_forward(&s->characteristic, s->input, s->output, s->input.low)) ||
	    is_nan(characteristic_forward(&s->characteristic, s->input, s->output, s->input.high)))
		return false;
	for (size_t i = 0; i < n; i++)
		if (!is_finite(characteristic_forward(&s->characteristic, s->input, s->output,
						      judged_input(s, &readings[i]))))
			return false;
	return true;
}

static void judge_reading(const struct test_setup *s, const struct reading *r, struct judged_reading *j)
{
	double guard = guard_band(&s->decision, r->u), scale = judging_scale(s->output);

	j->expected = characteristic_forward(&s->characteristic, s->input, s->output, judged_input(s, r));
	j->error = whole_quanta(r->observed - j->expected, scale);
	j->error_percent = j->error / fabs(range_span(s->output)) * 100;
	j->limits = tolerance_limits(&s->tolerance, s->output, j->expected);
	j->acceptance.low = j->limits.low + guard;
	j->acceptance.high = j->limits.high - guard;
	j->verdict = judge_scaled(j->error, j->limits, scale, guard);
}

bool evaluate_reading(const struct test_setup *setup, const struct reading *reading, struct judged_reading *out)
{
	if (!setup_is_possible(setup, reading, 1))
		return false;
	judge_reading(setup, reading, out);
	return true;
}

static double ratio_to_limit(const struct judged_reading *j)
{
	double limit = j->error > 0 ? j->limits.high : -j->limits.low;

	if (j->error == 0)
		return 0;
	return limit > 0 ? fabs(j->error) / limit : INFINITE;
}

static void sum_up_reading(const struct judged_reading *j, int index, struct evaluation *e)
{
	double percent = j->error_percent;

	if (is_nan(percent))
		return;
	if (is_nan(e->max_error)) {
		e->max_error = percent;
		e->max_error_plus = e->max_error_minus = 0;
	}
	if (fabs(percent) > fabs(e->max_error))
		e->max_error = percent;
	e->max_error_plus = larger(e->max_error_plus, percent);
	e->max_error_minus = smaller(e->max_error_minus, percent);
	if (j->verdict == VERDICT_NOT_JUDGED)
		return;
	if (e->judged++ == 0 || j->verdict > e->verdict)
		e->verdict = j->verdict;
	if (j->verdict >= VERDICT_CONDITIONAL_FAIL)
		e->failed++;
	if (e->worst < 0 || ratio_to_limit(j) > e->worst_ratio) {
		e->worst = index;
		e->worst_ratio = ratio_to_limit(j);
	}
}

static double larger_known(double known, double v)
{
	return is_nan(known) || v > known ? v : known;
}

/* Largest difference of the rising and the falling mean of one point within one cycle. */
static double hysteresis_within_cycle(const struct reading *readings, const struct judged_reading *judged, size_t n)
{
	double largest = NOT_A_NUMBER;

	for (size_t i = 0; i < n; i++) {
		double sum[2] = {0, 0};
		int count[2] = {0, 0};

		for (size_t j = 0; j < n; j++) {
			enum direction d = readings[j].direction == FALLING ? FALLING : RISING;

			if (readings[j].set != readings[i].set || readings[j].cycle != readings[i].cycle ||
			    is_nan(judged[j].error_percent))
				continue;
			sum[d] += judged[j].error_percent;
			count[d]++;
		}
		if (count[RISING] > 0 && count[FALLING] > 0)
			largest = larger_known(largest,
					       fabs(sum[RISING] / count[RISING] - sum[FALLING] / count[FALLING]));
	}
	return largest;
}

static void sum_up_directions(const struct curve_point *points, size_t n, struct evaluation *e)
{
	for (size_t i = 0; i < n; i++) {
		const struct curve_point *p = &points[i];

		for (int d = 0; d < 2; d++)
			if (p->count_of[d] > 0 && !(fabs(p->mean_of[d]) <= fabs(e->max_mean_error)))
				e->max_mean_error = p->mean_of[d];
		if (p->count_of[RISING] > 0 && p->count_of[FALLING] > 0)
			e->hysteresis = larger_known(e->hysteresis, fabs(p->mean_of[RISING] - p->mean_of[FALLING]));
		for (int d = 0; d < 2; d++)
			if (p->count_of[d] > 1)
				e->repeatability = larger_known(e->repeatability, p->high[d] - p->low[d]);
	}
}

static void sum_up_lines(const double *x, const double *y, size_t n, struct evaluation *e)
{
	struct line l, terminal;
	double deviation;

	if (n < 2)
		return;
	l = minimax_line(x, y, n, &deviation);
	e->line_a = l.a;
	e->line_b = l.b;
	if (n < 3)
		return; /* two points lie on a line whatever they say */
	terminal.b = (y[n - 1] - y[0]) / (x[n - 1] - x[0]);
	terminal.a = y[0] - terminal.b * x[0];
	e->linearity[LINE_INDEPENDENT] = deviation;
	e->linearity[LINE_TERMINAL] = largest_deviation(x, y, n, terminal);
	e->linearity[LINE_ZERO] = minimax_through_first(x, y, n);
	e->linearity[LINE_LEAST_SQUARES] = largest_deviation(x, y, n, least_squares_line(x, y, n));
}

bool evaluate(const struct test_setup *setup, const struct reading *readings, size_t n, struct judged_reading *out,
	      struct evaluation *sum)
{
	struct curve_point points[READINGS_MAX];
	double x[READINGS_MAX], y[READINGS_MAX];
	size_t count;

	blank_summary(sum);
	for (size_t i = 0; i < n; i++)
		blank(&out[i]);
	if (!setup_is_possible(setup, readings, n))
		return false;
	for (size_t i = 0; i < n; i++) {
		judge_reading(setup, &readings[i], &out[i]);
		sum_up_reading(&out[i], (int)i, sum);
	}
	count = curve_from_readings(setup, readings, out, n, points);
	for (size_t i = 0; i < count; i++) {
		x[i] = points[i].x;
		y[i] = points[i].mean;
	}
	if (count > 0)
		sum->zero_error = y[0];
	if (count > 1)
		sum->span_error = y[count - 1] - y[0];
	sum_up_directions(points, count, sum);
	sum->hysteresis_cycle = hysteresis_within_cycle(readings, out, n);
	sum_up_lines(x, y, count, sum);
	return true;
}

bool inside_tolerance(const struct test_setup *setup, const struct tolerance *t, const struct judged_reading *j)
{
	return inside(j->error, tolerance_limits(t, setup->output, j->expected), judging_scale(setup->output));
}

size_t evaluation_points(const struct test_setup *setup, const struct reading *readings,
			 const struct judged_reading *judged, size_t n, struct point_summary *out)
{
	struct curve_point points[READINGS_MAX];
	size_t count = n <= READINGS_MAX ? curve_from_readings(setup, readings, judged, n, points) : 0;

	for (size_t i = 0; i < count; i++) {
		const struct curve_point *p = &points[i];

		out[i].set = p->set;
		out[i].rising = p->mean_of[RISING];
		out[i].falling = p->mean_of[FALLING];
		out[i].mean = p->mean;
		out[i].hysteresis = fabs(p->mean_of[RISING] - p->mean_of[FALLING]);
		out[i].repeatability = NOT_A_NUMBER;
		for (int d = 0; d < 2; d++)
			if (p->count_of[d] > 1)
				out[i].repeatability = larger_known(out[i].repeatability, p->high[d] - p->low[d]);
		out[i].readings = p->count;
	}
	return count;
}

double dead_band(const struct dead_band_reading *readings, size_t n, struct range input)
{
	double largest = NOT_A_NUMBER;

	for (size_t i = 0; i < n; i++)
		largest = larger_known(largest, fabs(readings[i].rising - readings[i].falling));
	return largest / fabs(range_span(input)) * 100;
}
