/*
 * Live values: each channel that somebody watches is read again and again by a thread of its own, and whoever listens is told.
 * Nothing here moves anything by itself; live_drive is for server/domain/live_run.c, which knows who has armed what.
 */
#ifndef DOMAIN_LIVE_H
#define DOMAIN_LIVE_H

#include "domain/actor.h"
#include "field/hart_pushed.h"
#include "store/store.h"

#define LIVE_KEPT 900 /* samples kept of each channel */

struct live;
struct live_channel;

struct live_sample {
	int64_t at_ms;
	double value; /* in the channel's unit; NaN: none */
	unsigned status;
};

/* What is known of a channel now. */
struct live_state {
	unsigned long long number; /* of looks so far; another number means news */
	bool good;		   /* last is the answer to the newest look */
	struct field_reading last; /* the newest value there was; value NaN before the first */
	char why[320];		   /* why the newest look brought no value; "" when it did */
	bool identified;
	struct field_identity device; /* who answered, when identified */
};

enum status live_new(struct live **out, struct store *store, struct err *err);
void live_free(struct live *live); /* every channel must have been let go; NULL is allowed */

/* Begins to read it, or joins who does. NOT_FOUND. Let it go with live_unwatch. */
enum status live_watch(struct live *live, const char *channel_id, struct live_channel **out, struct err *err);
void live_unwatch(struct live_channel *c);

void live_look(struct live_channel *c, struct live_state *out);
/* The newest samples after the given number, oldest first; at most room. */
size_t live_samples(struct live_channel *c, unsigned long long after, struct live_sample *out, size_t room);
unsigned long long live_number(struct live_channel *c); /* of looks so far */
const char *live_id(const struct live_channel *c);
double live_period_s(const struct live_channel *c);
const char *live_label(const struct live_channel *c); /* tag of the instrument, or code of the standard */
const char *live_unit(const struct live_channel *c);
const char *live_words(const struct live_channel *c); /* where it comes from */
const char *live_name(const struct live_channel *c);  /* what it is of: "TT-4111 output" */
const struct field_config *live_config(const struct live_channel *c);

/* Told after each look at any channel, and every few seconds with NULL besides. news must not call into live. */
struct live_listener {
	void (*news)(void *context, const struct live_channel *c);
	void *context;
	struct live_listener *next;
};
void live_listen(struct live *live, struct live_listener *listener); /* borrowed until live_unlisten */
void live_unlisten(struct live *live, struct live_listener *listener);

/*
 * Channels of FIELD_HART_BROWSER are not read but fed: the page of one session asks the device through its modem and pushes the
 * answers. It begins with the answers to command 0 and to 20 or 13, which say who answers; when nothing has come for three
 * seconds, or three periods if these are longer, the modem counts as gone, and who answers must be said again.
 */
struct live_answer {
	uint8_t bytes[HART_ANSWER_MAX]; /* without preambles */
	size_t size;
	int age_ms; /* how long ago it came in, by the clock of who pushes */
};

#define LIVE_ANSWERS_MAX 16
#define LIVE_AGE_MAX_MS	 3000 /* of an answer that holds a value */

/*
 * To a channel that the caller watches; oldest first, all or none. *began: this lot has said who answers. CONFLICT: another session
 * feeds the channel, the device is the wrong one, nobody has said who answers, the channel is none of these; INVALID with the
 * answer named ("/frames/0/hex").
 */
enum status live_push(struct live_channel *c, const struct actor *actor, const struct live_answer *answers, size_t n,
		      bool *began, struct live_state *out, struct err *err);
/* The modem is detached. OK also when none was; CONFLICT: it is another session's. */
enum status live_push_end(struct live_channel *c, const struct actor *actor, struct err *err);

/* As field_drive and field_safe, between two looks. */
enum status live_drive(struct live_channel *c, double value, struct err *err);
enum status live_safe(struct live_channel *c, struct err *err);

#endif
