/* Between the files of runs that read by themselves. */
#ifndef DOMAIN_LIVE_RUN_INTERNAL_H
#define DOMAIN_LIVE_RUN_INTERNAL_H

#include <pthread.h>
#include <sys/types.h>

#include "base/arena.h"
#include "domain/live_run.h"
#include "metrology/steady.h"
#include "metrology/unit.h"
#include "record_internal.h"

enum live_phase { LIVE_ARMED, LIVE_LEVEL, LIVE_SETTLE, LIVE_FINISHED, LIVE_STOPPED };

struct live_trace {
	double *pairs; /* seconds since the start, value */
	size_t n, room;
};

/* One side of the test: what its device says, in the instrument's unit. */
struct live_side {
	struct live_channel *channel;
	const struct unit *from, *to;
	unsigned long long seen; /* samples taken so far */
	struct steady steady;
	double last;	 /* NaN: none yet */
	unsigned status; /* of the last */
	double heard_s;	 /* when the last good one came */
	struct live_trace trace;
};

/* A channel that is only recorded. */
struct live_beside {
	struct live_channel *channel;
	unsigned long long seen;
	struct live_trace trace;
};

/* What is asked at the point in hand. */
struct live_point {
	bool any; /* false: the run is complete */
	enum run_kind run;
	size_t index;
	double set, tolerance_in, tolerance_out, hold_s;
	int decimals_in, decimals_out;
	char words[120]; /* "12.00 mA, rising" */
};

struct live_run {
	struct live_runs *all;
	struct live_run *next;
	char record_id[UUID_SIZE], number[40], tag[64], run_id[UUID_SIZE];
	struct live_wish wish;
	struct actor actor; /* text from arena */
	struct arena arena;
	struct live_side in, out;
	struct live_beside beside[LIVE_ALSO_MAX]; /* wish.n_also of them */
	char input_unit[16], output_unit[16], driven_id[UUID_SIZE];
	double span_in;
	pthread_t thread;
	bool has_thread;
	pid_t guard;
	int guard_pipe;

	/* Of the thread alone: */
	struct live_point point;
	double level, moved_s, began_s;
	struct live_trace set_trace;

	/* Under all->lock: */
	enum live_phase phase;
	bool stop, ended;
	char why[480];	    /* it ended */
	char sentence[560]; /* what it is doing */
	char trouble[480];  /* the source could not be brought to its safe value */
	char token[44];
	int64_t armed_at, alive_at, started_at;
	double shown_level;
	size_t shown_point;
	char shown_words[120];
};

struct live_runs {
	struct store *store;
	struct live *live;
	const char *guard;
	pthread_mutex_t lock;
	struct live_run *first;
};

double live_now_s(void); /* a clock that only goes forward */

/* live_run_point.c: what to do next, and the reading once it is there. */
enum status live_point_read(struct live_run *r, struct live_point *out, struct err *err);
enum status live_point_record(struct live_run *r, const struct steady_result *in, const struct steady_result *out,
			      struct err *err);
enum status live_note(struct live_run *r, const char *action, json_t *after, struct err *err); /* takes after over */

/* live_run_trace.c */
void live_trace_add(struct live_trace *t, double s, double value); /* value NaN: a gap begins */
void live_traces_store(struct live_run *r);			   /* and forgets them */
enum status live_beside_watch(struct live_run *r, struct err *err);
void live_beside_take(struct live_run *r);
void live_beside_unwatch(struct live_run *r);

/* live_run_thread.c */
void *live_run_loop(void *arg);

/* live_run_guard.c: the process that brings the source to its safe value when this program is gone. */
void live_guard_start(struct live_run *r);
void live_guard_dismiss(struct live_run *r);

#endif
