#include "domain/live_run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/time.h"
#include "domain/channel.h"
#include "domain/ledger.h"
#include "live_run_internal.h"
#include "store/trace.h"

static const char *const mode_words[] = {"follow", "driven"};
static const char *const phase_words[] = {"armed", "level", "settle", "finished", "stopped"};

/* ---- which channels ---- */

static enum status channel_of(struct db *db, const char *instrument, const char *standard, const char *side,
			      struct arena *a, struct channel *out, struct err *err)
{
	enum status rc = store_channel_of(db, instrument, standard, side, a, out, err);

	return rc == NOT_FOUND ? OK : rc;
}

static const char *chosen(const struct record *r, enum standard_role role)
{
	for (size_t i = 0; i < r->n_standards; i++)
		if (r->standards[i].role == role && r->standards[i].chosen)
			return r->standards[i].id;
	return NULL;
}

/* The standard's word goes before the instrument's own: what it gives is the input, what it reads the output. */
enum status live_channels_of(struct db *db, const struct record *r, struct arena *a, struct channel *input,
			     struct channel *output, bool *drivable, struct err *err)
{
	const char *source = chosen(r, STANDARD_INPUT), *meter = chosen(r, STANDARD_OUTPUT);
	struct field_config config;
	enum status rc = OK;

	*input = *output = (struct channel){0};
	*drivable = false;
	if (source)
		rc = channel_of(db, NULL, source, "output", a, input, err);
	if (!rc && !input->id)
		rc = channel_of(db, r->instrument.id, NULL, "input", a, input, err);
	if (!rc && meter)
		rc = channel_of(db, NULL, meter, "input", a, output, err);
	if (!rc && !output->id)
		rc = channel_of(db, r->instrument.id, NULL, "output", a, output, err);
	if (!rc && input->id && source && !channel_config(input, &config, err))
		*drivable = config.drivable;
	return rc;
}

/* ---- a run and its making ---- */

static void run_free(struct live_run *r)
{
	arena_clear(&r->arena);
	free(r);
}

static struct live_run *find(const struct live_runs *all, const char *record_id)
{
	for (struct live_run *r = all->first; r; r = r->next)
		if (!strcmp(r->record_id, record_id))
			return r;
	return NULL;
}

static enum status side_units(struct live_side *s, const char *unit, const char *what, struct err *err)
{
	double ignored;

	s->last = NAN;
	s->from = unit_find(live_unit(s->channel));
	s->to = unit_find(unit);
	if (!s->from || !s->to || !unit_convert(0, s->from, s->to, &ignored))
		return err_set(err, CONFLICT, "", "the %s is read in %s, the instrument's is in %s", what,
			       live_unit(s->channel), unit);
	return OK;
}

static enum status must_be_at_readings(const struct record *r, struct err *err)
{
	enum status rc = record_must_be_open(r, err);

	if (!rc && record_is_switch(r))
		return err_set(err, CONFLICT, "", "a switch is read by hand: only the person sees it act");
	return rc ? rc : record_must_have_done(r, PHASE_AS_FOUND, err);
}

/* Limits in the input's unit, within those of the source. */
static enum status settle_limits(struct live_run *r, const struct record *record, struct err *err)
{
	const struct field_config *c = live_config(r->in.channel);
	double low = NAN, high = NAN, safe = NAN;

	unit_convert(c->drive_low, r->in.from, r->in.to, &low);
	unit_convert(c->drive_high, r->in.from, r->in.to, &high);
	unit_convert(c->safe, r->in.from, r->in.to, &safe);
	if (isnan(r->wish.low))
		r->wish.low = low;
	if (isnan(r->wish.high))
		r->wish.high = high;
	if (isnan(r->wish.rate))
		r->wish.rate = r->span_in / 10;
	if (r->wish.low < low || r->wish.low > high)
		return err_set(err, INVALID, "/low", "the source may be driven from %g to %g %s", low, high,
			       r->input_unit);
	if (r->wish.high <= r->wish.low || r->wish.high > high)
		return err_set(err, INVALID, "/high", "the source may be driven from %g to %g %s", low, high,
			       r->input_unit);
	if (r->wish.rate <= 0 || r->wish.rate > r->span_in)
		return err_set(err, INVALID, "/rate", "the rate is above 0 and at most the input span in a second");
	for (size_t i = 0; i < record->runs[0].n_points; i++) {
		double set = record->runs[0].points[i].at.set;

		if (set < r->wish.low || set > r->wish.high)
			return err_set(err, INVALID, set < r->wish.low ? "/low" : "/high",
				       "the test has a point at %g %s, beyond this limit", set, r->input_unit);
	}
	r->level = safe;
	return OK;
}

static enum status read_record(struct live_run *r, struct channel *in, struct channel *out, struct arena *a,
			       struct err *err)
{
	struct db *db = store_read_begin(r->all->store);
	bool drivable = false;
	struct record record;
	enum status rc = record_load_for_edit(db, r->record_id, a, &record, err);

	if (!rc)
		rc = must_be_at_readings(&record, err);
	if (!rc)
		rc = live_channels_of(db, &record, a, in, out, &drivable, err);
	store_read_end(r->all->store, db);
	if (rc)
		return rc;
	if (!in->id || !out->id)
		return err_set(err, CONFLICT, "",
			       "there is no channel for the %s of %s: enter where it is read from first",
			       in->id ? "output" : "input", record.instrument.tag);
	if (r->wish.mode == LIVE_DRIVEN && !drivable)
		return err_set(err, CONFLICT, "", "this source may not be driven: %s", in->label);
	snprintf(r->number, sizeof r->number, "%s", record.number);
	snprintf(r->tag, sizeof r->tag, "%s", record.instrument.tag);
	snprintf(r->input_unit, sizeof r->input_unit, "%s", record.instrument.input_unit);
	snprintf(r->output_unit, sizeof r->output_unit, "%s", record.instrument.output_unit);
	snprintf(r->driven_id, sizeof r->driven_id, "%s", in->id);
	r->span_in = fabs(range_span(record.instrument.input));
	rc = live_watch(r->all->live, in->id, &r->in.channel, err);
	if (!rc)
		rc = live_watch(r->all->live, out->id, &r->out.channel, err);
	if (!rc)
		rc = live_beside_watch(r, err);
	if (!rc)
		rc = side_units(&r->in, r->input_unit, "input", err);
	if (!rc)
		rc = side_units(&r->out, r->output_unit, "output", err);
	if (!rc && r->wish.mode == LIVE_DRIVEN)
		rc = settle_limits(r, &record, err);
	return rc;
}

static struct live_run *run_new(struct live_runs *all, const struct actor *actor, const char *record_id,
				const struct live_wish *wish)
{
	struct live_run *r = calloc(1, sizeof *r);

	if (!r)
		return NULL;
	r->all = all;
	r->wish = *wish;
	r->guard_pipe = -1;
	r->level = NAN;
	snprintf(r->record_id, sizeof r->record_id, "%s", record_id);
	r->actor = (struct actor){.person_id = arena_strdup(&r->arena, actor->person_id),
				  .name = arena_strdup(&r->arena, actor->name),
				  .sign_in = arena_strdup(&r->arena, actor->sign_in),
				  .roles = actor->roles};
	return r;
}

static void unwatch(struct live_run *r)
{
	if (r->in.channel)
		live_unwatch(r->in.channel);
	if (r->out.channel)
		live_unwatch(r->out.channel);
	live_beside_unwatch(r);
}

/* Under the lock: an ended run makes room, so does one that was armed and never started. */
static enum status make_room(struct live_runs *all, const char *record_id, struct live_run **old, struct err *err)
{
	struct live_run *r = find(all, record_id);

	*old = NULL;
	if (!r)
		return OK;
	if (!r->ended && !(r->phase == LIVE_ARMED && time_now_ms() - r->armed_at > LIVE_ARMED_S * 1000))
		return err_set(err, CONFLICT, "", "a run is on already: %s", r->actor.name);
	for (struct live_run **at = &all->first; *at; at = &(*at)->next) {
		if (*at == r) {
			*at = r->next;
			break;
		}
	}
	*old = r;
	return OK;
}

static void drop(struct live_run *old)
{
	if (!old)
		return;
	if (old->has_thread)
		pthread_join(old->thread, NULL);
	else
		unwatch(old);
	run_free(old);
}

static enum status launch(struct live_run *r, struct err *err)
{
	r->started_at = r->alive_at = time_now_ms();
	r->phase = LIVE_LEVEL;
	if (pthread_create(&r->thread, NULL, live_run_loop, r))
		return err_set(err, BUSY, "", "no thread can be started");
	r->has_thread = true;
	return OK;
}

enum status live_run_begin(struct live_runs *all, const struct actor *actor, const char *record_id,
			   const struct live_wish *wish, char token[44], struct err *err)
{
	struct live_run *r = run_new(all, actor, record_id, wish), *old = NULL;
	struct channel in, out;
	struct arena a = {0};
	enum status rc;

	if (!r)
		return err_set(err, NO_MEMORY, "", "out of memory");
	rc = read_record(r, &in, &out, &a, err);
	arena_clear(&a);
	pthread_mutex_lock(&all->lock);
	if (!rc)
		rc = make_room(all, record_id, &old, err);
	if (!rc && wish->mode == LIVE_DRIVEN) {
		random_token(r->token, sizeof r->token, 24);
		r->armed_at = time_now_ms();
		r->phase = LIVE_ARMED;
		snprintf(r->sentence, sizeof r->sentence, "armed: nothing moves yet");
	} else if (!rc) {
		rc = launch(r, err);
	}
	if (!rc) {
		memcpy(token, r->token, sizeof r->token);
		r->next = all->first;
		all->first = r;
	}
	pthread_mutex_unlock(&all->lock);
	drop(old);
	if (rc) {
		unwatch(r);
		run_free(r);
		return rc;
	}
	if (wish->mode == LIVE_DRIVEN)
		live_note(r, "arm",
			  json_pack("{s:f, s:f, s:f, s:s, s:i}", "low", r->wish.low, "high", r->wish.high, "rate_per_s",
				    r->wish.rate, "unit", r->input_unit, "minutes", r->wish.minutes),
			  err);
	return OK;
}

static enum status add_driven(struct db *db, void *context, struct err *err)
{
	const struct live_run *r = context;

	return store_driven_add(db, &(struct driven){r->driven_id, r->record_id, r->actor.person_id, time_now_ms()},
				err);
}

static enum status must_be_ready(struct live_run *r, const struct actor *actor, const char *token, struct err *err)
{
	int64_t since = time_now_ms() - r->armed_at;
	struct live_state in, out;

	if (r->phase != LIVE_ARMED || !text_equal_secret(token, r->token))
		return err_set(err, CONFLICT, "", "it is not armed: arm it again");
	if (strcmp(r->actor.person_id, actor->person_id) != 0)
		return err_set(err, CONFLICT, "", "%s has armed it, and starts it", r->actor.name);
	if (since > LIVE_ARMED_S * 1000)
		return err_set(err, CONFLICT, "", "it was armed too long ago: arm it again");
	if (since < LIVE_HELD_MS)
		return err_set(err, CONFLICT, "", "hold the button: it was let go too early");
	live_look(r->in.channel, &in);
	live_look(r->out.channel, &out);
	if (!in.good)
		return err_set(err, CONFLICT, "", "the source brings no value: %s", in.why);
	if (!out.good)
		return err_set(err, CONFLICT, "", "the instrument brings no value: %s", out.why);
	unit_convert(in.last.value, r->in.from, r->in.to, &r->level); /* from where it stands, no jump */
	return OK;
}

enum status live_run_start(struct live_runs *all, const struct actor *actor, const char *record_id, const char *token,
			   struct err *err)
{
	struct live_run *r;
	enum status rc;

	pthread_mutex_lock(&all->lock);
	r = find(all, record_id);
	rc = r ? must_be_ready(r, actor, token, err) : err_set(err, CONFLICT, "", "it is not armed: arm it again");
	if (!rc && r) {
		r->phase = LIVE_LEVEL; /* nobody starts it a second time */
		r->token[0] = '\0';
	}
	pthread_mutex_unlock(&all->lock);
	if (rc || !r)
		return rc;
	rc = store_write(all->store, add_driven, r, err);
	if (rc)
		return rc;
	live_guard_start(r);
	live_note(r, "start", NULL, err);
	pthread_mutex_lock(&all->lock);
	rc = launch(r, err);
	pthread_mutex_unlock(&all->lock);
	return rc;
}

enum status live_run_alive(struct live_runs *all, const struct actor *actor, const char *record_id, struct err *err)
{
	struct live_run *r;

	pthread_mutex_lock(&all->lock);
	r = find(all, record_id);
	if (r && !strcmp(r->actor.person_id, actor->person_id))
		r->alive_at = time_now_ms();
	pthread_mutex_unlock(&all->lock);
	return r ? OK : err_set(err, NOT_FOUND, "", "no run is on");
}

enum status live_run_stop(struct live_runs *all, const struct actor *actor, const char *record_id, struct err *err)
{
	(void)err;
	pthread_mutex_lock(&all->lock);
	for (struct live_run *r = all->first; r; r = r->next) {
		if (r->ended || r->stop || (record_id && strcmp(r->record_id, record_id) != 0))
			continue;
		snprintf(r->why, sizeof r->why, "%s stopped it", actor ? actor->name : "the program");
		r->stop = true;
		if (!r->has_thread) { /* armed only */
			r->ended = true;
			r->phase = LIVE_STOPPED;
			snprintf(r->sentence, sizeof r->sentence, "disarmed");
		}
	}
	pthread_mutex_unlock(&all->lock);
	return OK;
}

static json_t *run_json(const struct live_run *r)
{
	bool driven = r->wish.mode == LIVE_DRIVEN;

	return json_pack(
		"{s:s, s:s, s:s, s:s, s:s, s:b, s:s, s:s, s:s, s:o, s:s, s:s, s:o, s:o, s:o, s:s, s:s, s:s}",
		"record_id", r->record_id, "number", r->number, "tag", r->tag, "mode", mode_words[r->wish.mode],
		"phase", phase_words[r->phase], "ended", r->ended, "sentence", r->sentence, "trouble", r->trouble,
		"point", r->shown_words, "level", driven ? json_number_or_null(r->shown_level) : json_null(), "unit",
		r->input_unit, "by", r->actor.name, "low", driven ? json_number_or_null(r->wish.low) : json_null(),
		"high", driven ? json_number_or_null(r->wish.high) : json_null(), "ends_at",
		driven && r->started_at ? json_time_or_null(r->started_at + r->wish.minutes * 60000LL) : json_null(),
		"input_channel", r->ended ? "" : live_id(r->in.channel), "output_channel",
		r->ended ? "" : live_id(r->out.channel), "person_id", r->actor.person_id);
}

json_t *live_run_json(struct live_runs *all, const char *record_id)
{
	const struct live_run *r;
	json_t *json;

	pthread_mutex_lock(&all->lock);
	r = find(all, record_id);
	json = r ? run_json(r) : json_null();
	pthread_mutex_unlock(&all->lock);
	return json;
}

json_t *live_runs_json(struct live_runs *all)
{
	json_t *list = json_array();

	pthread_mutex_lock(&all->lock);
	for (const struct live_run *r = all->first; r; r = r->next)
		if (!r->ended || r->trouble[0])
			json_array_append_new(list, run_json(r));
	pthread_mutex_unlock(&all->lock);
	return list;
}

/* ---- all of them ---- */

enum status live_runs_new(struct live_runs **out, struct store *store, struct live *live, const char *guard,
			  struct err *err)
{
	struct live_runs *all = calloc(1, sizeof *all);

	if (!all)
		return err_set(err, NO_MEMORY, "", "out of memory");
	all->store = store;
	all->live = live;
	all->guard = guard;
	pthread_mutex_init(&all->lock, NULL);
	*out = all;
	return OK;
}

void live_runs_free(struct live_runs *all)
{
	struct err err;

	if (!all)
		return;
	live_run_stop(all, NULL, NULL, &err);
	while (all->first) {
		struct live_run *r = all->first;

		all->first = r->next;
		drop(r);
	}
	pthread_mutex_destroy(&all->lock);
	free(all);
}

static enum status forget(struct db *db, void *context, struct err *err)
{
	const struct driven *d = context;
	struct ledger_note note = {.action = "safe",
				   .thing = "test_record",
				   .thing_id = d->test_record_id,
				   .label = "after the program had ended",
				   .after = json_pack("{s:s, s:b}", "channel_id", d->channel_id, "reached", 1)};
	enum status rc = ledger_add(db, NULL, &note, err);

	json_decref(note.after);
	return rc ? rc : store_driven_remove(db, d->channel_id, err);
}

static enum status recover_one(struct live_runs *all, const struct driven *d, struct arena *a, struct err *err)
{
	struct db *db = store_read_begin(all->store);
	struct field_source *source = NULL;
	struct field_config config;
	struct channel c;
	enum status rc = store_channel_get(db, d->channel_id, a, &c, err);

	store_read_end(all->store, db);
	if (!rc)
		rc = channel_config(&c, &config, err);
	if (!rc)
		rc = field_open(&source, &config, err);
	if (!rc)
		rc = field_safe(source, err);
	field_close(source);
	return rc ? rc : store_write(all->store, forget, (void *)(uintptr_t)d, err);
}

void live_runs_recover(struct live_runs *all)
{
	struct db *db = store_read_begin(all->store);
	struct driven *list = NULL;
	struct arena a = {0};
	struct err err = {0};
	size_t n = 0;
	enum status rc = store_driven_list(db, &a, &list, &n, &err);

	store_read_end(all->store, db);
	for (size_t i = 0; !rc && i < n; i++)
		if (recover_one(all, &list[i], &a, &err))
			log_error("a source was being driven when the program ended, and does not answer now: %s",
				  err.message);
	arena_clear(&a);
}
