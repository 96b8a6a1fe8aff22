#include "metrology/switch.h"

#include "judge.h"
#include "number.h"

/* A dead band keeps its limits when it lies between them; a side without limit is open. */
static enum verdict judge_dead_band(const struct switch_spec *s, double width)
{
	struct limits l = {is_nan(s->dead_band.low) ? -INFINITE : s->dead_band.low,
			   is_nan(s->dead_band.high) ? INFINITE : s->dead_band.high};

	if (is_nan(width) || (is_nan(s->dead_band.low) && is_nan(s->dead_band.high)))
		return VERDICT_NOT_JUDGED;
	return judge_scaled(width, l, judging_scale(s->input), 0);
}

static void worse(enum verdict *worst, enum verdict v)
{
	if (v != VERDICT_NOT_JUDGED && (*worst == VERDICT_NOT_JUDGED || v > *worst))
		*worst = v;
}

void switch_points_take(const struct switch_points *p, struct switch_spec *s)
{
	s->set_point = p->set;
	s->reset_point = p->reset;
	s->acts_on = p->acts_on;
	s->dead_band = p->dead_band;
}

bool switch_goes_back(enum direction acts_on, double acted, double back)
{
	return !(acts_on == FALLING ? back < acted : back > acted);
}

static void judge_one(const struct switch_spec *s, const struct actuation *a, const struct switch_summary *sum,
		      struct judged_actuation *j)
{
	double guard = guard_band(&s->decision, s->u), scale = judging_scale(s->input);

	j->set_error = whole_quanta(a->set - s->set_point, scale);
	j->reset_error = whole_quanta(a->reset - s->reset_point, scale);
	j->dead_band = whole_quanta(s->acts_on == FALLING ? a->reset - a->set : a->set - a->reset, scale);
	j->set_verdict = judge_scaled(j->set_error, sum->limits, scale, guard);
	j->reset_verdict = judge_scaled(j->reset_error, sum->reset_limits, scale, guard);
	j->dead_band_verdict = judge_dead_band(s, j->dead_band);
}

/* Mean and range of what is a number. */
struct spread {
	double sum, low, high;
	int count;
};

static void spread_take(struct spread *s, double v)
{
	if (is_nan(v))
		return;
	s->low = s->count ? smaller(s->low, v) : v;
	s->high = s->count ? larger(s->high, v) : v;
	s->sum += v;
	s->count++;
}

static double spread_mean(const struct spread *s)
{
	return s->count > 0 ? s->sum / s->count : NOT_A_NUMBER;
}

static double spread_range(const struct spread *s, double scale)
{
	return s->count > 1 ? whole_quanta(s->high - s->low, scale) : NOT_A_NUMBER;
}

bool switch_evaluate(const struct switch_spec *s, const struct actuation *actuations, size_t n,
		     struct judged_actuation *out, struct switch_summary *sum)
{
	struct spread set = {0, 0, 0, 0}, reset = set, width = set;
	double scale = judging_scale(s->input);

	if (n == 0 || n > ACTUATIONS_MAX || !is_finite(range_span(s->input)) || range_span(s->input) == 0)
		return false;
	sum->verdict = sum->set_verdict = sum->reset_verdict = sum->dead_band_verdict = VERDICT_NOT_JUDGED;
	sum->limits = tolerance_limits(&s->tolerance, s->input, s->set_point);
	sum->reset_limits = tolerance_limits(&s->tolerance, s->input, s->reset_point);
	sum->max_set_error = NOT_A_NUMBER;
	for (size_t i = 0; i < n; i++) {
		judge_one(s, &actuations[i], sum, &out[i]);
		spread_take(&set, actuations[i].set);
		spread_take(&reset, actuations[i].reset);
		spread_take(&width, out[i].dead_band);
		if (!(fabs(out[i].set_error) <= fabs(sum->max_set_error)))
			sum->max_set_error = out[i].set_error;
		worse(&sum->set_verdict, out[i].set_verdict);
		worse(&sum->reset_verdict, out[i].reset_verdict);
		worse(&sum->dead_band_verdict, out[i].dead_band_verdict);
	}
	worse(&sum->verdict, sum->set_verdict);
	worse(&sum->verdict, sum->reset_verdict);
	worse(&sum->verdict, sum->dead_band_verdict);
	sum->set = spread_mean(&set);
	sum->reset = spread_mean(&reset);
	sum->dead_band = spread_mean(&width);
	sum->set_error = whole_quanta(sum->set - s->set_point, scale);
	sum->set_repeatability = spread_range(&set, scale);
	sum->reset_repeatability = spread_range(&reset, scale);
	return true;
}

enum verdict switch_back_verdict(const struct judged_actuation *j)
{
	enum verdict v = j->reset_verdict;

	worse(&v, j->dead_band_verdict);
	return v;
}

int switch_error_decimals(const struct switch_spec *s, const struct judged_actuation *judged, size_t n,
			  const struct switch_summary *sum, int decimals)
{
	decimals = tolerance_error_decimals(&s->tolerance, s->input, decimals);
	for (size_t i = 0; i < n; i++) {
		const struct judged_actuation *j = &judged[i];

		decimals = verdict_decimals(j->set_error, sum->limits, j->set_verdict, decimals);
		decimals = verdict_decimals(j->reset_error, sum->reset_limits, j->reset_verdict, decimals);
		decimals = verdict_decimals(j->dead_band, s->dead_band, j->dead_band_verdict, decimals);
	}
	return decimals;
}

/* |error| against its limit on that side: 1 on the limit, infinite where no error is allowed, NaN without a limit. */
static double ratio(double error, struct limits l)
{
	double limit = error < 0 ? -l.low : l.high;

	if (is_nan(error) || is_nan(limit))
		return NOT_A_NUMBER;
	if (error == 0)
		return 0;
	return limit > 0 ? fabs(error) / limit : INFINITE;
}

/* The worst by its limit; without limits by its size. */
static void take_worst(struct switch_diagnosis *d, double *most, double error, struct limits l, size_t i, bool is_reset)
{
	double r = ratio(error, l);

	if (is_nan(r))
		r = fabs(error);
	if (is_nan(r) || !(is_nan(*most) || r > *most))
		return;
	*most = r;
	d->worst_error = error;
	d->worst = i;
	d->worst_is_reset = is_reset;
}

/* Every error, moved by shift, inside the limits of set and reset point, and every dead band inside its own. */
static bool all_inside(const struct switch_spec *s, const struct tolerance *t, const struct judged_actuation *judged,
		       size_t n, double shift)
{
	struct limits set = tolerance_limits(t, s->input, s->set_point),
		      reset = tolerance_limits(t, s->input, s->reset_point);
	double scale = judging_scale(s->input);

	for (size_t i = 0; i < n; i++) {
		if (!inside(whole_quanta(judged[i].set_error + shift, scale), set, scale))
			return false;
		if (!is_nan(judged[i].reset_error) &&
		    !inside(whole_quanta(judged[i].reset_error + shift, scale), reset, scale))
			return false;
		if (judged[i].dead_band_verdict == VERDICT_FAIL)
			return false;
	}
	return true;
}

void switch_diagnose(const struct switch_spec *s, const struct tolerance *adjust, const struct tolerance *left,
		     const struct judged_actuation *judged, size_t n, struct switch_diagnosis *out)
{
	const struct tolerance *call = adjust->n_terms > 0 ? adjust : left, *meet = left->n_terms > 0 ? left : adjust;
	double scale = judging_scale(s->input), sum = 0, most = NOT_A_NUMBER;
	struct limits set = tolerance_limits(call, s->input, s->set_point),
		      reset = tolerance_limits(call, s->input, s->reset_point);

	*out = (struct switch_diagnosis){.limits_set = call->n_terms > 0,
					 .call = adjust->n_terms > 0 ? CALL_ADJUST_LIMITS : CALL_LIMITS,
					 .shift = NOT_A_NUMBER,
					 .remaining = NOT_A_NUMBER,
					 .worst_error = NOT_A_NUMBER};
	if (n == 0)
		return;
	for (size_t i = 0; i < n; i++) {
		sum += judged[i].set_error;
		take_worst(out, &most, judged[i].set_error, set, i, false);
		take_worst(out, &most, judged[i].reset_error, reset, i, true);
	}
	out->shift = 0 - whole_quanta(sum / (double)n, scale);
	out->remaining = 0;
	for (size_t i = 0; i < n; i++)
		out->remaining = larger(out->remaining, fabs(whole_quanta(judged[i].set_error + out->shift, scale)));
	out->adjust = out->limits_set && !all_inside(s, call, judged, n, 0);
	out->shift_helps = out->limits_set && all_inside(s, meet, judged, n, out->shift);
}
