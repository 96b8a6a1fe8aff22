/* What happens by the clock while the program serves: the ledger's checkpoint of the day. */
#include <errno.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/log.h"
#include "main.h"

#define LOOK_EVERY_S 60

struct main_clock {
	struct store *store;
	struct issuer *issuer;
	pthread_t thread;
	pthread_mutex_t lock;
	pthread_cond_t stopped;
	bool stop;
	char said[320]; /* the last failure that was logged: each is said once, not every minute */
};

static enum status make_checkpoint(struct main_clock *c, struct err *err)
{
	struct db *db = store_read_begin(c->store);
	bool due = false;
	enum status rc = ledger_checkpoint_due(db, &due, err);

	store_read_end(c->store, db);
	if (!rc && due)
		rc = ledger_checkpoint(c->store, issuer_ledger_seal(c->issuer, c->store), "day", NULL, err);
	return rc;
}

static void look(struct main_clock *c)
{
	struct err err = {0};

	if (!make_checkpoint(c, &err)) {
		c->said[0] = '\0';
	} else if (strcmp(c->said, err.message) != 0) {
		log_warn("the ledger's checkpoint of the day could not be made: %s", err.message);
		memcpy(c->said, err.message, sizeof c->said);
	}
}

static void *run(void *arg)
{
	struct main_clock *c = arg;
	struct timespec until;

	pthread_mutex_lock(&c->lock);
	while (!c->stop) {
		pthread_mutex_unlock(&c->lock);
		look(c);
		clock_gettime(CLOCK_REALTIME, &until);
		until.tv_sec += LOOK_EVERY_S;
		pthread_mutex_lock(&c->lock);
		while (!c->stop && pthread_cond_timedwait(&c->stopped, &c->lock, &until) != ETIMEDOUT)
			;
	}
	pthread_mutex_unlock(&c->lock);
	return NULL;
}

struct main_clock *main_clock_start(struct store *store, struct issuer *issuer)
{
	struct main_clock *c = calloc(1, sizeof *c);

	if (!c)
		return NULL;
	c->store = store;
	c->issuer = issuer;
	pthread_mutex_init(&c->lock, NULL);
	pthread_cond_init(&c->stopped, NULL);
	if (!pthread_create(&c->thread, NULL, run, c))
		return c;
	log_error("no thread for the clock: the ledger gets no checkpoint of the day");
	free(c);
	return NULL;
}

void main_clock_stop(struct main_clock *c)
{
	if (!c)
		return;
	pthread_mutex_lock(&c->lock);
	c->stop = true;
	pthread_cond_signal(&c->stopped);
	pthread_mutex_unlock(&c->lock);
	pthread_join(c->thread, NULL);
	pthread_mutex_destroy(&c->lock);
	pthread_cond_destroy(&c->stopped);
	free(c);
}
