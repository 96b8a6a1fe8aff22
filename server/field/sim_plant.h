/*
 * How simulated devices behave: the loop of a control valve (source, positioner with a valve that sticks, meter) and
 * transmitters, each with errors of its own. Runs on a clock of the caller's, in steps of 10 ms, and repeats: the same seed,
 * the same calls at the same times, the same values.
 *
 * The valve sticks by the two-parameter description of Choudhury, Thornhill and Shah, Control Engineering Practice 13 (2005)
 * 641: S is the signal it takes to move it after a reversal (dead band and stick band), J the jump when it slips. Behind it stand dead
 * time, a lag of first order and the positioner's zero and span errors. Figures of the models: chosen, not measured.
 */
#ifndef FIELD_SIM_PLANT_H
#define FIELD_SIM_PLANT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "sim.h"

#define SIM_STEP_S	 0.01
#define SIM_DELAY_STEPS	 500
#define SIM_TRANSMITTERS 6

/* ---- the valve's stem alone ---- */

struct sim_stiction {
	double s, j; /* % of signal; 0 <= j <= s */
	/* its state */
	double signal, stuck_at, travel;
	int direction; /* of the last movement: 1 opening, -1 closing, 0 none yet */
	bool stuck;
};

/* At rest at this signal, travel equal to it. */
void sim_stiction_begin(struct sim_stiction *v, double s, double j, double signal);
/* The signal is now this; returns the travel. Moves slower than 1e-9 % a call are a standstill. */
double sim_stiction_move(struct sim_stiction *v, double signal);

/* ---- the plant ---- */

struct sim_valve {
	double s, j;		 /* % of signal */
	double dead_time_s;	 /* 0..5 */
	double lag_s;		 /* time constant, 0 for none */
	double zero, span_error; /* travel = zero + (1 + span_error) * stem, both in %, /1 */
	double noise;		 /* standard deviation of the travel as reported, % */
};

struct sim_meter {
	double gain, offset; /* reading = gain * true + offset */
	double settle_s;     /* time constant */
	double noise;	     /* standard deviation */
};

struct sim_transmitter {
	const char *tag, *unit;
	double lrv, urv;
	double level, swing, period_s; /* process: level + swing * sin(2 pi t / period), until it is set */
	double lag_s;
	double zero, span_error; /* of the output: fractions of the span, at 0 % and what 100 % has besides */
	double noise;		 /* standard deviation, fraction of the span */
};

struct sim_plant_model {
	struct sim_meter source; /* level asked for -> true current of the loop, mA; noise is that of its own reading */
	struct sim_meter meter;	 /* true current -> what the meter shows */
	struct sim_valve valve;
	const struct sim_transmitter *transmitters;
	size_t transmitter_count; /* at most SIM_TRANSMITTERS */
	double dwell_s; /* until somebody sets the source it goes 4 8 12 16 20 16 12 8 mA, so long at each; 0: stays at 4 */
};

struct sim_plant;

/* clock(clock_arg) is the time in seconds, never going back; speed 2 lets the plant run twice as fast. NULL for no memory. */
struct sim_plant *sim_plant_new(const struct sim_plant_model *model, uint64_t seed, double speed,
				double (*clock)(void *clock_arg), void *clock_arg);
void sim_plant_free(struct sim_plant *p);

/* What each device of it knows; hand one of these to struct sim_device as plant, with sim_part_read and sim_part_set. */
enum sim_part_kind { SIM_SOURCE, SIM_METER, SIM_POSITIONER, SIM_TRANSMITTER, SIM_PROCESS };
struct sim_part {
	struct sim_plant *plant;
	enum sim_part_kind kind;
	size_t number; /* SIM_TRANSMITTER and SIM_PROCESS: which transmitter */
};

/*
 * source: "current" (set: 0..24 mA), "set" (what was asked for; set: the same), "output" (set: 0 or 1). meter: "current". positioner: "pv" travel, "sv" signal, "percent",
 * "current"; below 3.6 mA it has no power: no number and a malfunction. transmitter: "pv", "percent", "current"
 * (3.8..20.5 mA, NAMUR NE 43; at an end it says so). process: "pv", what is applied to the transmitter (set: holds it there).
 */
bool sim_part_read(void *part, const char *what, struct sim_value *out);
bool sim_part_set(void *part, const char *what, double value);

/* Without noise and device errors, for tests: true loop current mA, true travel %. */
double sim_plant_current(struct sim_plant *p);
double sim_plant_travel(struct sim_plant *p);

#endif
