/*
 * Runs that read by themselves. In a follow run a person sets the source; the program sees the new level, waits until input and
 * output are steady, records, and says what is next. In a driven run it sets the source too, and then more is asked: somebody at
 * the instrument arms it, within limits of level, rate and time, and starts it by a held button; it goes to the source's safe
 * value when it ends, when anybody stops it, and when the page that watches it, the source or the instrument no longer answers.
 * Should the program itself end, a guard process that it started beforehand does so. Every command is in the ledger.
 */
#ifndef DOMAIN_LIVE_RUN_H
#define DOMAIN_LIVE_RUN_H

#include <jansson.h>
#include "base/text.h"
#include "domain/actor.h"
#include "domain/live.h"
#include "domain/record.h"
#include "store/channel.h"

#define LIVE_ALIVE_S	 6    /* a driven run whose page says nothing for so long ends */
#define LIVE_ARMED_S	 30   /* an armed run that is not started by then is disarmed */
#define LIVE_HELD_MS	 1500 /* between arming and starting: the button was held on purpose */
#define LIVE_MINUTES_MAX 120

#define LIVE_ALSO_MAX 4

enum live_mode { LIVE_FOLLOW, LIVE_DRIVEN };

struct live_wish {
	enum live_mode mode;
	double low, high; /* driven: nothing beyond is sent, in the input's unit; NaN: the source's own limits */
	double rate;	  /* driven: input units a second; NaN: the input span in 10 s */
	int minutes;	  /* driven: after so long it ends; 1..LIVE_MINUTES_MAX */
	double window_s;  /* that must be steady; 2..60 */
	char also[LIVE_ALSO_MAX][UUID_SIZE]; /* channels that are recorded against time beside input and output */
	size_t n_also;
};

struct live_runs;

/* Both are borrowed. guard: the program to start as guard ("/proc/self/exe"); NULL for none. */
enum status live_runs_new(struct live_runs **out, struct store *store, struct live *live, const char *guard,
			  struct err *err);
/* Ends every run, sources at their safe values; NULL is allowed. */
void live_runs_free(struct live_runs *all);
/* At start: whatever the last program left driven goes to its safe value, and the ledger says so. */
void live_runs_recover(struct live_runs *all);

/*
 * A follow run begins at once; a driven one is armed, and *token starts it. CONFLICT: not at its readings, a switch step, no
 * channel to read from, the wrong device, a source that may not be driven or is driven already; INVALID at /low, /high, /rate, /also.
 * Watches the channels from here on.
 */
enum status live_run_begin(struct live_runs *all, const struct actor *actor, const char *record_id,
			   const struct live_wish *wish, char token[44], struct err *err);
/* CONFLICT when it was not held, too late, or a channel brings no value. */
enum status live_run_start(struct live_runs *all, const struct actor *actor, const char *record_id, const char *token,
			   struct err *err);
/* The page is there. NOT_FOUND without a run. */
enum status live_run_alive(struct live_runs *all, const struct actor *actor, const char *record_id, struct err *err);
/* By anybody who is signed in. record_id NULL: all. OK also when there is none. Returns once the source is on its way. */
enum status live_run_stop(struct live_runs *all, const struct actor *actor, const char *record_id, struct err *err);

/* What the run of a record is doing; null when there is none. New reference. */
json_t *live_run_json(struct live_runs *all, const char *record_id);
json_t *live_runs_json(struct live_runs *all); /* all of them, for a stop button on every page */

/* The channels that a record's input and output are read from, *input and *output with id NULL where there is none; *drivable:
 * the input's source may be driven. */
enum status live_channels_of(struct db *db, const struct record *r, struct arena *a, struct channel *input,
			     struct channel *output, bool *drivable, struct err *err);

#endif
