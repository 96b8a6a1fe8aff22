/* The hub of live.c, and channels that are fed instead of read (live_feed.c). */
#ifndef DOMAIN_LIVE_INTERNAL_H
#define DOMAIN_LIVE_INTERNAL_H

#include "domain/live.h"

#include <pthread.h>

#include "base/text.h"
#include "domain/channel.h"
#include "field/hart_pushed.h"

/* A page whose modem feeds a channel; as long as it is on, it watches the channel. */
struct live_feed {
	bool on;
	char session[SHA256_HEX_SIZE], who[128];
	double heard_s;		   /* when something last came, on the steady clock */
	struct hart_pushed device; /* who answers there */
};

/*
 * Two locks: `io` is held over an exchange with the device, `lock` over what is known. Who listens is kept under the hub's
 * `ears`, which is never held together with a channel's lock.
 */
struct live_channel {
	struct live *live;
	struct live_channel *next;
	int watchers; /* under live->lock */
	char id[UUID_SIZE], words[256], name[64];
	struct channel row; /* text from arena */
	struct arena arena;
	struct field_config config;
	int period_ms;

	pthread_mutex_t io;
	struct field_source *source; /* NULL while there is no connection */

	pthread_mutex_t lock;
	pthread_cond_t wake;
	bool stop;
	struct live_state state;
	struct live_sample kept[LIVE_KEPT]; /* ring, by state.number */
	struct live_feed feed;		    /* FIELD_HART_BROWSER */
};

struct live {
	struct store *store;
	pthread_mutex_t lock;
	pthread_cond_t gone;
	struct live_channel *first;
	int threads;
	bool stop;
	pthread_t ticker;
	pthread_cond_t tick;
	pthread_mutex_t ears;
	struct live_listener *listeners;
};

void live_tell(struct live *live, const struct live_channel *c); /* NULL: nothing new, but still there */
void live_watch_too(struct live_channel *c);			 /* once more, by who watches it already */
/* Under the channel's lock. The answer to a look, or why there is none. */
void live_keep(struct live_channel *c, enum status rc, const struct field_reading *reading, const struct err *err);
/* FAILED when the device answers in another unit than the channel is set to. */
enum status live_unit_fits(const struct live_channel *c, const struct field_reading *reading, struct err *err);

/* The look of a channel that is fed: is its page still there? */
void live_feed_look(struct live_channel *c);
void live_feeds_end(struct live *live); /* at the end of the program */

#endif
