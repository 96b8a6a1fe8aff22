/* The point in hand of a run that reads by itself, and what is written of it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/time.h"
#include "domain/channel.h"
#include "domain/ledger.h"
#include "domain/record_edit.h"
#include "live_run_internal.h"
#include "metrology/format.h"

static double half_width(const struct record *r, const struct record_point *p)
{
	double half = (p->allowed.high - p->allowed.low) / 2, span = fabs(range_span(r->instrument.output));

	return isfinite(half) && half > 0 ? half : span / 100;
}

static void fill_point(const struct record *r, const struct record_run *run, size_t index, struct live_point *out)
{
	const struct record_point *p = &run->points[index];
	double span_in = fabs(range_span(r->instrument.input)), span_out = fabs(range_span(r->instrument.output));
	char set[NUMBER_TEXT_SIZE];

	*out = (struct live_point){.any = true,
				   .run = run->kind,
				   .index = index,
				   .set = p->at.set,
				   .tolerance_out = half_width(r, p),
				   .hold_s = procedure_judged_step(&r->procedure)->settle_s};
	out->tolerance_in = fmax(out->tolerance_out / span_out, 0.001) * span_in;
	out->decimals_in = decimals_for(out->tolerance_in / 10);
	out->decimals_out = decimals_for(out->tolerance_out / 10);
	snprintf(out->words, sizeof out->words, "%s %s, %s", format_number(p->at.set, r->input_decimals, false, set),
		 r->instrument.input_unit, p->at.direction == RISING ? "rising" : "falling");
}

enum status live_point_read(struct live_run *r, struct live_point *out, struct err *err)
{
	struct db *db = store_read_begin(r->all->store);
	struct arena a = {0};
	struct record record;
	const struct record_run *run;
	enum status rc = record_load_for_edit(db, r->record_id, &a, &record, err);

	store_read_end(r->all->store, db);
	out->any = false;
	if (!rc)
		rc = record_must_be_open(&record, err);
	if (!rc) {
		run = record_run_in_hand(&record);
		for (size_t i = 0; i < run->n_points && !out->any; i++)
			if (!run->points[i].read)
				fill_point(&record, run, i, out);
		if (run->id)
			snprintf(r->run_id, sizeof r->run_id, "%s", run->id);
	}
	arena_clear(&a);
	return rc;
}

static json_t *side_json(const struct live_side *s, const struct steady_result *w, const char *unit)
{
	struct live_state state;

	live_look(s->channel, &state);
	return json_pack("{s:s, s:s, s:s, s:f, s:f, s:i, s:f, s:s, s:s, s:o}", "channel", live_id(s->channel), "from",
			 live_words(s->channel), "unit", unit, "mean", w->mean, "s", w->s, "n", w->n, "seconds",
			 w->to_s - w->from_s, "device", state.identified ? state.device.device_id : "", "raw",
			 state.last.raw, "warnings", channel_status_json(s->status));
}

struct recording {
	struct live_run *r;
	struct new_reading reading;
	struct arena a;
};

static enum status write_recording(struct db *db, void *context, struct err *err)
{
	struct recording *w = context;

	return record_add_reading(db, &w->r->actor, w->r->record_id, &w->reading, &w->a, err);
}

/* The window's means, written with two digits more than the tolerance asks for; their scatter enters as s / sqrt(n). */
enum status live_point_record(struct live_run *r, const struct steady_result *in, const struct steady_result *out,
			      struct err *err)
{
	struct recording w = {.r = r};
	json_t *captured = json_pack("{s:o, s:o}", "input", side_json(&r->in, in, r->input_unit), "output",
				     side_json(&r->out, out, r->output_unit));
	enum status rc;

	w.reading = (struct new_reading){.run = r->point.run,
					 .point = r->point.index,
					 .applied = round_decimals(in->mean, r->point.decimals_in),
					 .observed = round_decimals(out->mean, r->point.decimals_out),
					 .input_u = in->s / sqrt(in->n),
					 .output_u = out->s / sqrt(out->n)};
	w.reading.applied_text = arena_printf(&w.a, "%.*f", r->point.decimals_in, w.reading.applied);
	w.reading.observed_text = arena_printf(&w.a, "%.*f", r->point.decimals_out, w.reading.observed);
	w.reading.captured_json = captured ? json_canonical(captured, &w.a) : NULL;
	json_decref(captured);
	rc = w.reading.captured_json ? store_write(r->all->store, write_recording, &w, err) :
				       err_set(err, NO_MEMORY, "", "out of memory");
	arena_clear(&w.a);
	return rc;
}

struct noting {
	struct live_run *r;
	struct ledger_note note;
};

static enum status write_note(struct db *db, void *context, struct err *err)
{
	struct noting *n = context;

	return ledger_add(db, &n->r->actor, &n->note, err);
}

enum status live_note(struct live_run *r, const char *action, json_t *after, struct err *err)
{
	char label[120];
	struct noting n = {.r = r,
			   .note = {.action = action,
				    .thing = "test_record",
				    .thing_id = r->record_id,
				    .label = label,
				    .after = after}};
	enum status rc;

	snprintf(label, sizeof label, "%s %s", r->number, r->tag);
	rc = store_write(r->all->store, write_note, &n, err);
	json_decref(after);
	if (rc)
		log_error("%s of %s is not in the ledger: %s", action, r->number, err->message);
	return rc;
}
