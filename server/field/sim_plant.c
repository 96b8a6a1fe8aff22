#include "sim_plant.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "field/source.h"

#define PI	       3.14159265358979323846
#define POWER_MIN_MA   3.6
#define SOURCE_MAX_MA  24.0
#define SIGNAL_LOW_MA  3.8 /* NAMUR NE 43: the measuring range goes from 3.8 to 20.5 mA */
#define SIGNAL_HIGH_MA 20.5
/* After so long without a question everything has settled: the rest of a pause is one step. */
#define PAUSE_STEPS 60000

struct first_order {
	double tau_s, state;
};

static void follow(struct first_order *f, double input, double dt_s)
{
	f->state = f->tau_s > 0 ? input + (f->state - input) * exp(-dt_s / f->tau_s) : input;
}

struct transmitter_state {
	bool held;
	double applied;
	struct first_order sensor;
};

struct sim_plant {
	struct sim_plant_model model;
	struct sim_transmitter transmitters[SIM_TRANSMITTERS];
	double speed;
	double (*clock)(void *);
	void *clock_arg;
	double begun_s; /* by the clock */
	int64_t steps;	/* done since */
	uint64_t chance;

	double set_ma;
	bool output, taken_over; /* taken_over: somebody has set the source, its own round is over */
	struct first_order current, shown;
	double delay[SIM_DELAY_STEPS + 1]; /* signal of the last steps, %; a ring */
	size_t delay_at, delay_steps;
	struct sim_stiction stem;
	struct first_order travel;
	struct transmitter_state state[SIM_TRANSMITTERS];
};

/* ---- chance: splitmix64, public domain ---- */

#ifdef __clang__
__attribute__((no_sanitize("integer")))
#endif
static uint64_t
next_bits(uint64_t *x)
{
	uint64_t z = *x += 0x9e3779b97f4a7c15u;

	z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
	z = (z ^ z >> 27) * 0x94d049bb133111ebu;
	return z ^ z >> 31;
}

static double uniform(struct sim_plant *p)
{
	return ((double)(next_bits(&p->chance) >> 12) + 0.5) * 0x1p-52;
}

/* Box and Muller, Annals of Mathematical Statistics 29 (1958) 610. */
static double normal(struct sim_plant *p)
{
	double radius = sqrt(-2 * log(uniform(p)));

	return radius * cos(2 * PI * uniform(p));
}

/* ---- stem ---- */

void sim_stiction_begin(struct sim_stiction *v, double s, double j, double signal)
{
	*v = (struct sim_stiction){
		.s = s, .j = j, .signal = signal, .stuck_at = signal, .travel = signal, .stuck = true};
}

static int sign(double v)
{
	return (v > 1e-9) - (v < -1e-9);
}

/*
 * Stuck, the stem waits: for J when the signal goes on the way it last moved, for S when it turns. Moving, it stays behind the
 * signal by (S - J) / 2, so that a reversal has it slip by J.
 */
double sim_stiction_move(struct sim_stiction *v, double signal)
{
	int heading = sign(signal - v->signal);
	double away;

	if (!v->stuck && heading != v->direction) {
		v->stuck = true;
		v->stuck_at = v->signal;
	}
	v->signal = signal;
	away = signal - v->stuck_at;
	if (v->stuck && sign(away) != 0 && fabs(away) >= (sign(away) == v->direction ? v->j : v->s)) {
		v->stuck = false;
		v->direction = sign(away);
	}
	if (!v->stuck)
		v->travel = signal - v->direction * (v->s - v->j) / 2;
	return v->travel;
}

/* ---- time ---- */

static double true_input(const struct sim_plant *p, size_t i, double t_s)
{
	const struct sim_transmitter *m = &p->transmitters[i];

	if (p->state[i].held)
		return p->state[i].applied;
	return m->level + (m->period_s > 0 ? m->swing * sin(2 * PI * t_s / m->period_s) : 0);
}

static double round_ma(double dwell_s, double t_s)
{
	static const double levels[] = {4, 8, 12, 16, 20, 16, 12, 8};

	return levels[(size_t)fmod(t_s / dwell_s, 8)];
}

static double wanted_ma(const struct sim_plant *p)
{
	return p->output ? p->model.source.gain * p->set_ma + p->model.source.offset : 0;
}

static double between(double v, double low, double high)
{
	return v < low ? low : v > high ? high : v;
}

static void step(struct sim_plant *p)
{
	const struct sim_valve *v = &p->model.valve;
	double signal, stem, t_s = (double)++p->steps * SIM_STEP_S;

	if (p->model.dwell_s > 0 && !p->taken_over)
		p->set_ma = round_ma(p->model.dwell_s, t_s);
	follow(&p->current, wanted_ma(p), SIM_STEP_S);
	follow(&p->shown, p->model.meter.gain * p->current.state + p->model.meter.offset, SIM_STEP_S);
	p->delay[p->delay_at] = (p->current.state - 4) / 16 * 100;
	p->delay_at = (p->delay_at + 1) % (p->delay_steps + 1);
	signal = p->delay[p->delay_at]; /* the oldest: written delay_steps ago */
	stem = sim_stiction_move(&p->stem, between(signal, -5, 105));
	follow(&p->travel, between(v->zero + (1 + v->span_error) * stem, 0, 100), SIM_STEP_S);
	for (size_t i = 0; i < p->model.transmitter_count; i++)
		follow(&p->state[i].sensor, true_input(p, i, t_s), SIM_STEP_S);
}

static void run(struct sim_plant *p)
{
	double now = (p->clock(p->clock_arg) - p->begun_s) * p->speed;
	int64_t due = now > 0 ? (int64_t)floor(now / SIM_STEP_S + 1e-6) : 0;

	if (due - p->steps > PAUSE_STEPS)
		p->steps = due - PAUSE_STEPS;
	while (p->steps < due)
		step(p);
}

/* ---- parts ---- */

static bool say(struct sim_value *out, double value, unsigned status, const char *unit)
{
	*out = (struct sim_value){.value = value, .status = status};
	strncpy(out->unit, unit, sizeof out->unit - 1);
	return true;
}

static bool read_positioner(struct sim_plant *p, const char *what, struct sim_value *out)
{
	double ma = p->current.state, signal = (ma - 4) / 16 * 100;
	bool power = ma >= POWER_MIN_MA;
	unsigned status = power ? 0 : FIELD_MALFUNCTION;

	if (power && (ma < SIGNAL_LOW_MA || ma > SIGNAL_HIGH_MA))
		status |= FIELD_OTHER_OUT_OF_LIMITS;
	if (!strcmp(what, "current"))
		return say(out, power ? ma : NAN, status, "mA");
	if (!strcmp(what, "percent") || !strcmp(what, "sv"))
		return say(out, power ? signal : NAN, status, "%");
	if (!strcmp(what, "pv"))
		return say(out, power ? p->travel.state + p->model.valve.noise * normal(p) : NAN, status, "%");
	return false;
}

static bool read_transmitter(struct sim_plant *p, size_t i, const char *what, struct sim_value *out)
{
	const struct sim_transmitter *m = &p->transmitters[i];
	double span = m->urv - m->lrv, fraction = (p->state[i].sensor.state - m->lrv) / span, ma;
	unsigned status = 0;

	fraction = fraction * (1 + m->span_error) + m->zero + m->noise * normal(p);
	ma = 4 + 16 * fraction;
	if (ma < SIGNAL_LOW_MA || ma > SIGNAL_HIGH_MA)
		status |= FIELD_SATURATED;
	if (!strcmp(what, "pv"))
		return say(out, m->lrv + fraction * span, status, m->unit);
	if (!strcmp(what, "percent"))
		return say(out, fraction * 100, status, "%");
	if (!strcmp(what, "current"))
		return say(out, between(ma, SIGNAL_LOW_MA, SIGNAL_HIGH_MA), status, "mA");
	return false;
}

static bool read_source(struct sim_plant *p, const char *what, struct sim_value *out)
{
	if (!strcmp(what, "current"))
		return say(out, p->current.state + p->model.source.noise * normal(p), 0, "mA");
	if (!strcmp(what, "set"))
		return say(out, p->set_ma, 0, "mA");
	if (!strcmp(what, "output"))
		return say(out, p->output, 0, "");
	return false;
}

bool sim_part_read(void *part, const char *what, struct sim_value *out)
{
	struct sim_part *a = part;
	struct sim_plant *p = a->plant;

	run(p);
	switch (a->kind) {
	case SIM_SOURCE:
		return read_source(p, what, out);
	case SIM_METER:
		return !strcmp(what, "current") && say(out, p->shown.state + p->model.meter.noise * normal(p), 0, "mA");
	case SIM_POSITIONER:
		return read_positioner(p, what, out);
	case SIM_TRANSMITTER:
		return read_transmitter(p, a->number, what, out);
	case SIM_PROCESS:
		return !strcmp(what, "pv") && say(out, true_input(p, a->number, (double)p->steps * SIM_STEP_S), 0,
						  p->transmitters[a->number].unit);
	}
	return false;
}

static bool set_source(struct sim_plant *p, const char *what, double value)
{
	if ((!strcmp(what, "current") || !strcmp(what, "set")) && value >= 0 && value <= SOURCE_MAX_MA) {
		p->set_ma = value;
		p->taken_over = true;
		return true;
	}
	if (!strcmp(what, "output") && (value == 0 || value == 1)) {
		p->output = value == 1;
		return true;
	}
	return false;
}

bool sim_part_set(void *part, const char *what, double value)
{
	struct sim_part *a = part;
	struct sim_plant *p = a->plant;
	struct transmitter_state *held = &p->state[a->number];

	run(p); /* up to now with what was asked for until now */
	if (a->kind == SIM_SOURCE)
		return set_source(p, what, value);
	if (a->kind != SIM_PROCESS || strcmp(what, "pv") != 0 || !isfinite(value))
		return false;
	held->held = true;
	held->applied = value;
	return true;
}

double sim_plant_current(struct sim_plant *p)
{
	run(p);
	return p->current.state;
}

double sim_plant_travel(struct sim_plant *p)
{
	run(p);
	return p->travel.state;
}

/* ---- beginning and end ---- */

/* At rest: the source gives 4 mA, the valve is closed. */
static void rest(struct sim_plant *p)
{
	const struct sim_plant_model *m = &p->model;

	p->set_ma = 4;
	p->output = true;
	p->current = (struct first_order){m->source.settle_s, wanted_ma(p)};
	p->shown = (struct first_order){m->meter.settle_s, m->meter.gain * p->current.state + m->meter.offset};
	p->delay_steps = (size_t)between(floor(m->valve.dead_time_s / SIM_STEP_S + 0.5), 0, SIM_DELAY_STEPS);
	for (size_t i = 0; i <= p->delay_steps; i++)
		p->delay[i] = (p->current.state - 4) / 16 * 100;
	sim_stiction_begin(&p->stem, m->valve.s, m->valve.j, p->delay[0]);
	p->travel = (struct first_order){m->valve.lag_s,
					 between(m->valve.zero + (1 + m->valve.span_error) * p->stem.travel, 0, 100)};
	for (size_t i = 0; i < m->transmitter_count; i++)
		p->state[i].sensor = (struct first_order){p->transmitters[i].lag_s, true_input(p, i, 0)};
}

struct sim_plant *sim_plant_new(const struct sim_plant_model *model, uint64_t seed, double speed,
				double (*clock)(void *clock_arg), void *clock_arg)
{
	struct sim_plant *p = model->transmitter_count <= SIM_TRANSMITTERS ? calloc(1, sizeof *p) : NULL;

	if (!p)
		return NULL;
	p->model = *model;
	for (size_t i = 0; i < model->transmitter_count; i++)
		p->transmitters[i] = model->transmitters[i];
	p->chance = seed;
	p->speed = speed;
	p->clock = clock;
	p->clock_arg = clock_arg;
	p->begun_s = clock(clock_arg);
	rest(p);
	return p;
}

void sim_plant_free(struct sim_plant *p)
{
	free(p);
}
