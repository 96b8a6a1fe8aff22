/*
 * Threads that run what may take long: a connection stays with the thread of libmicrohttpd that accepted it, and whoever
 * waited there for the disk would hold up every other connection of that thread. So the connection is put to rest, a worker
 * runs the handler, and wakes it to take the reply along. It also lets the writer find many waiting, for one commit.
 */
#include <pthread.h>
#include <stdlib.h>

#include "server_internal.h"

#define WORKERS 32

struct workers {
	pthread_mutex_t lock;
	pthread_cond_t work;
	struct exchange *first, *last;
	bool stopping;
	void (*run)(struct exchange *x);
	pthread_t threads[WORKERS];
	int count;
};

static struct exchange *take(struct workers *w)
{
	struct exchange *x;

	pthread_mutex_lock(&w->lock);
	while (!w->first && !w->stopping)
		pthread_cond_wait(&w->work, &w->lock);
	x = w->first;
	if (x)
		w->first = *exchange_next(x);
	if (!w->first)
		w->last = NULL;
	pthread_mutex_unlock(&w->lock);
	return x;
}

static void *work(void *arg)
{
	struct workers *w = arg;
	struct exchange *x;

	while ((x = take(w)))
		w->run(x);
	return NULL;
}

bool workers_add(struct workers *w, struct exchange *x)
{
	bool taken;

	pthread_mutex_lock(&w->lock);
	taken = !w->stopping;
	if (taken) {
		*exchange_next(x) = NULL;
		if (w->last)
			*exchange_next(w->last) = x;
		else
			w->first = x;
		w->last = x;
		pthread_cond_signal(&w->work);
	}
	pthread_mutex_unlock(&w->lock);
	return taken;
}

void workers_stop(struct workers *w)
{
	pthread_mutex_lock(&w->lock);
	w->stopping = true;
	pthread_cond_broadcast(&w->work);
	pthread_mutex_unlock(&w->lock);
	for (int i = 0; i < w->count; i++)
		pthread_join(w->threads[i], NULL);
	w->count = 0;
}

void workers_free(struct workers *w)
{
	workers_stop(w);
	pthread_mutex_destroy(&w->lock);
	pthread_cond_destroy(&w->work);
	free(w);
}

struct workers *workers_new(void (*run)(struct exchange *x))
{
	struct workers *w = calloc(1, sizeof *w);

	if (!w)
		return NULL;
	pthread_mutex_init(&w->lock, NULL);
	pthread_cond_init(&w->work, NULL);
	w->run = run;
	while (w->count < WORKERS && !pthread_create(&w->threads[w->count], NULL, work, w))
		w->count++;
	if (w->count > 0)
		return w;
	workers_free(w);
	return NULL;
}
