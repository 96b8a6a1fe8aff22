/* Which inputs a judged step goes through on an instrument: the points of a run, and of the worked example. */
#include <math.h>
#include <string.h>
#include "domain/record.h"

static bool is_signal(const char *unit)
{
	return !strcmp(unit, "mA");
}

static size_t points(const struct step *step, const struct frozen_instrument *i, struct test_point out[READINGS_MAX])
{
	size_t n = points_generate(step->percent, step->n_percent, step->pattern, step->cycles, i->input, out,
				   READINGS_MAX);

	if (!step->within_signal)
		return n;
	return points_clip(out, n, i->input,
			   points_reach(&i->characteristic, i->input, i->output, is_signal(i->input_unit),
					is_signal(i->output_unit)));
}

static void put(const struct frozen_instrument *i, double set, enum direction d, int cycle, struct test_point *out)
{
	*out = (struct test_point){
		.percent = 100 * range_fraction(i->input, set), .set = set, .direction = d, .cycle = cycle};
}

/* Without a reset point the way back is told by where it starts: the set point. */
static size_t actuations(const struct step *step, const struct frozen_instrument *i,
			 struct test_point out[READINGS_MAX])
{
	const struct switch_points *s = &i->switch_points;
	size_t n = 0;

	if (!i->has_switch)
		return 0;
	for (int cycle = 1; cycle <= step->actuations; cycle++) {
		put(i, s->set, s->acts_on, cycle, &out[n++]);
		if (step->reads_reset)
			put(i, isnan(s->reset) ? s->set : s->reset, s->acts_on == RISING ? FALLING : RISING, cycle,
			    &out[n++]);
	}
	return n;
}

size_t step_points(const struct step *step, const struct frozen_instrument *i, struct test_point out[READINGS_MAX])
{
	return step->kind == STEP_SWITCH ? actuations(step, i, out) : points(step, i, out);
}

struct limits step_allowed_reset(const struct switch_points *s, double set)
{
	if (s->acts_on == RISING)
		return (struct limits){set - s->dead_band.high, set - s->dead_band.low};
	return (struct limits){set + s->dead_band.low, set + s->dead_band.high};
}
