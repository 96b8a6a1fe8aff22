/* What is recorded against time beside a run: set point, input, output, and further channels that somebody wants to see with them. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "live_run_internal.h"
#include "store/trace.h"

#define SAMPLES_AT_ONCE 64

void live_trace_add(struct live_trace *t, double s, double value)
{
	if (!isfinite(value) && (t->n == 0 || !isfinite(t->pairs[2 * t->n - 1])))
		return; /* one mark is enough for a gap */
	if (t->n == t->room) {
		size_t room = t->room ? 2 * t->room : 256;
		double *grown = room > (1u << 20) ? NULL : realloc(t->pairs, room * 2 * sizeof *grown);

		if (!grown)
			return; /* an hour's trace is full: the readings do not rest on it */
		t->pairs = grown;
		t->room = room;
	}
	t->pairs[2 * t->n] = s;
	t->pairs[2 * t->n + 1] = value;
	t->n++;
}

/* ---- channels beside input and output ---- */

enum status live_beside_watch(struct live_run *r, struct err *err)
{
	for (size_t i = 0; i < r->wish.n_also; i++) {
		struct live_beside *b = &r->beside[i];
		enum status rc = live_watch(r->all->live, r->wish.also[i], &b->channel, err);

		if (rc == NOT_FOUND)
			return err_set(err, INVALID, "/also", "there is no channel %s", r->wish.also[i]);
		if (rc)
			return rc;
		b->seen = live_number(b->channel);
	}
	return OK;
}

void live_beside_unwatch(struct live_run *r)
{
	for (size_t i = 0; i < LIVE_ALSO_MAX; i++) {
		if (r->beside[i].channel)
			live_unwatch(r->beside[i].channel);
		r->beside[i].channel = NULL;
	}
}

void live_beside_take(struct live_run *r)
{
	struct live_sample samples[SAMPLES_AT_ONCE];

	for (size_t i = 0; i < r->wish.n_also; i++) {
		struct live_beside *b = &r->beside[i];
		size_t n = live_samples(b->channel, b->seen, samples, SAMPLES_AT_ONCE);

		b->seen = live_number(b->channel);
		for (size_t k = 0; k < n; k++)
			live_trace_add(&b->trace, (double)(samples[k].at_ms - r->started_at) / 1000, samples[k].value);
	}
}

/* ---- kept with the record ---- */

static enum status write_trace(struct db *db, const struct live_run *r, const char *channel, const char *unit,
			       const struct live_trace *trace, struct err *err)
{
	char id[UUID_SIZE];
	struct trace t = {.id = id,
			  .run_id = r->run_id,
			  .channel = channel,
			  .unit = unit,
			  .started_at = r->started_at,
			  .samples = trace->pairs,
			  .n = trace->n};

	uuid7(id);
	return t.n ? store_trace_add(db, &t, err) : OK;
}

static enum status write_traces(struct db *db, void *context, struct err *err)
{
	struct live_run *r = context;
	enum status rc = write_trace(db, r, "set", r->input_unit, &r->set_trace, err);

	if (!rc)
		rc = write_trace(db, r, "input", r->input_unit, &r->in.trace, err);
	if (!rc)
		rc = write_trace(db, r, "output", r->output_unit, &r->out.trace, err);
	for (size_t i = 0; !rc && i < r->wish.n_also; i++)
		rc = write_trace(db, r, live_name(r->beside[i].channel), live_unit(r->beside[i].channel),
				 &r->beside[i].trace, err);
	return rc;
}

static void drop(struct live_trace *t)
{
	free(t->pairs);
	*t = (struct live_trace){0};
}

/* A run without a reading has nothing that the trace could stand beside. */
void live_traces_store(struct live_run *r)
{
	struct err err = {0};

	if (*r->run_id && store_write(r->all->store, write_traces, r, &err))
		log_error("the trace of %s is not kept: %s", r->number, err.message);
	drop(&r->set_trace);
	drop(&r->in.trace);
	drop(&r->out.trace);
	for (size_t i = 0; i < LIVE_ALSO_MAX; i++)
		drop(&r->beside[i].trace);
}
