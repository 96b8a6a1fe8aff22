/*
 * One writer thread takes the jobs that wait and brings them to disk with one commit: a commit costs the same
 * milliseconds of flash for one change as for fifty. Nobody waits for company: a job that comes alone goes alone.
 */
#include "store/store.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/log.h"
#include "store_internal.h"

#define READERS_MAX 16
#define GROUP_MAX   64

/* Lives on the caller's stack while the caller waits. */
struct job {
	store_job run;
	void *context;
	struct err *err;
	enum status rc;
	bool done;
	pthread_cond_t answered;
	struct job *next;
};

struct store {
	char path[4096];
	char folder[64]; /* made for a file that lives only as long as the store; empty otherwise */
	int schema_version;
	unsigned char key[DB_KEY_SIZE];
	struct db *writer;
	struct db *idle[READERS_MAX]; /* readers nobody has borrowed */
	int readers, idle_count;
	pthread_t thread;
	bool started, closing;
	pthread_mutex_t lock; /* guards idle, closing and the queue */
	pthread_cond_t work, reader_back;
	struct job *first, *last;
	_Atomic int64_t commits, jobs;
};

/* A statement left open would hold its snapshot and block the commit: a bug, mended here so that one bad handler does
 * not stop the plant. */
static void put_in_order(struct db *db)
{
	const char *sql = db_reset_all(db);

	if (sql)
		log_error("a statement was left open: %s", sql);
	assert(!sql);
}

static void undo_job(struct db *db)
{
	struct err ignored;

	if (db_in_transaction(db))
		db_run(db, "ROLLBACK TO job", &ignored);
	if (db_in_transaction(db))
		db_run(db, "RELEASE job", &ignored);
}

static void run_job(struct db *db, struct job *j)
{
	j->rc = db_run(db, "SAVEPOINT job", j->err);
	if (j->rc)
		return;
	j->rc = j->run(db, j->context, j->err);
	put_in_order(db);
	if (!j->rc && db_in_transaction(db))
		j->rc = db_run(db, "RELEASE job", j->err);
	if (j->rc)
		undo_job(db);
}

/* The jobs from first up to, not including, end were undone with the whole transaction. */
static void fail_jobs(struct job *first, const struct job *end, enum status rc, const char *why)
{
	for (struct job *j = first; j != end; j = j->next) {
		if (!j->rc)
			j->rc = err_set(j->err, rc, "", "%s", why);
	}
}

static void commit(struct store *store, struct job *first, const struct job *end)
{
	struct err why, ignored;
	bool wrote = false;

	for (const struct job *j = first; j != end; j = j->next)
		wrote = wrote || !j->rc;
	if (!wrote) {
		db_run(store->writer, "ROLLBACK", &ignored);
		return;
	}
	if (!db_run(store->writer, "COMMIT", &why)) {
		atomic_fetch_add(&store->commits, 1);
		return;
	}
	log_error("a commit failed: %s", why.message);
	if (db_in_transaction(store->writer))
		db_run(store->writer, "ROLLBACK", &ignored);
	fail_jobs(first, end, FAILED, "the change could not be brought to disk and was not made");
}

/* One transaction from first on; returns the job that the next one begins with. A full disk or lack of memory can make
 * SQLite give up the whole transaction in the middle: what was done so far is then undone, and the rest starts anew. */
static struct job *run_transaction(struct store *store, struct job *first)
{
	struct err why;
	enum status rc = db_run(store->writer, "BEGIN IMMEDIATE", &why);
	struct job *j;

	if (rc) {
		fail_jobs(first, NULL, rc, why.message);
		return NULL;
	}
	for (j = first; j; j = j->next) {
		run_job(store->writer, j);
		if (!db_in_transaction(store->writer)) {
			fail_jobs(first, j->next, FAILED, "the change could not be written and was not made");
			return j->next;
		}
	}
	commit(store, first, NULL);
	return NULL;
}

static struct job *take_group(struct store *store)
{
	struct job *group = store->first, *j = group;

	for (int n = 1; n < GROUP_MAX && j->next; n++)
		j = j->next;
	store->first = j->next;
	if (!store->first)
		store->last = NULL;
	j->next = NULL;
	return group;
}

static void answer(struct store *store, struct job *group)
{
	while (group) {
		struct job *next = group->next; /* the job is gone as soon as its owner wakes */

		group->done = true;
		pthread_cond_signal(&group->answered);
		atomic_fetch_add(&store->jobs, 1);
		group = next;
	}
}

static void *write_loop(void *arg)
{
	struct store *store = arg;

	pthread_mutex_lock(&store->lock);
	for (;;) {
		struct job *group, *rest;

		while (!store->first && !store->closing)
			pthread_cond_wait(&store->work, &store->lock);
		if (!store->first)
			break;
		group = take_group(store);
		pthread_mutex_unlock(&store->lock);
		for (rest = group; rest;)
			rest = run_transaction(store, rest);
		pthread_mutex_lock(&store->lock);
		answer(store, group);
	}
	pthread_mutex_unlock(&store->lock);
	return NULL;
}

enum status store_write(struct store *store, store_job job, void *context, struct err *err)
{
	struct job j = {.run = job, .context = context, .err = err};

	if (pthread_equal(pthread_self(), store->thread)) {
		log_error("a job asked for another job, and would have waited for itself");
		return err_set(err, FAILED, "", "a write within a write");
	}
	pthread_cond_init(&j.answered, NULL);
	pthread_mutex_lock(&store->lock);
	if (store->closing) {
		j.rc = err_set(err, BUSY, "", "the program is stopping");
		j.done = true;
	} else {
		if (store->last)
			store->last->next = &j;
		else
			store->first = &j;
		store->last = &j;
		pthread_cond_signal(&store->work);
	}
	while (!j.done)
		pthread_cond_wait(&j.answered, &store->lock);
	pthread_mutex_unlock(&store->lock);
	pthread_cond_destroy(&j.answered);
	return j.rc;
}

struct db *store_read_begin(struct store *store)
{
	struct err err;
	struct db *db;

	pthread_mutex_lock(&store->lock);
	while (store->idle_count == 0)
		pthread_cond_wait(&store->reader_back, &store->lock);
	db = store->idle[--store->idle_count];
	pthread_mutex_unlock(&store->lock);
	if (db_run(db, "BEGIN", &err))
		log_error("a read could not begin: %s", err.message);
	return db;
}

void store_read_end(struct store *store, struct db *db)
{
	struct err err;

	put_in_order(db);
	if (db_in_transaction(db) && db_run(db, "COMMIT", &err))
		log_error("a read could not end: %s", err.message);
	pthread_mutex_lock(&store->lock);
	store->idle[store->idle_count++] = db;
	pthread_cond_signal(&store->reader_back);
	pthread_mutex_unlock(&store->lock);
}

int store_waiting(struct store *store)
{
	int n = 0;

	pthread_mutex_lock(&store->lock);
	for (const struct job *j = store->first; j; j = j->next)
		n++;
	pthread_mutex_unlock(&store->lock);
	return n;
}

void store_set_key(struct store *store, const unsigned char key[DB_KEY_SIZE])
{
	memcpy(store->key, key, sizeof store->key);
	db_set_key(store->writer, store->key);
	for (int i = 0; i < store->idle_count; i++)
		db_set_key(store->idle[i], store->key);
}

int store_schema_version(const struct store *store)
{
	return store->schema_version;
}

void store_counters(const struct store *store, int64_t *commits, int64_t *jobs)
{
	*commits = atomic_load(&store->commits);
	*jobs = atomic_load(&store->jobs);
}

enum status store_backup(struct store *store, const char *path, struct err *err)
{
	struct db *db = NULL;
	enum status rc = db_open(&db, store->path, DB_READ, err);

	if (!rc) /* the copy counts as a write, though of another file */
		rc = db_exec(db, "PRAGMA query_only=OFF", err);
	if (!rc)
		rc = store_copy(db, path, err);
	db_close(db);
	return rc;
}

/* Where the file lives. ":memory:" is a file of its own in /tmp, removed at close: readers and the writer are separate
 * connections, which memory databases do not share. */
static enum status settle(struct store *store, const char *path, struct err *err)
{
	int fd;

	if (!strcmp(path, ":memory:")) {
		snprintf(store->folder, sizeof store->folder, "/tmp/loopledger-XXXXXX");
		if (!mkdtemp(store->folder)) {
			store->folder[0] = '\0';
			return err_set(err, FAILED, "", "cannot make a folder in /tmp: %s", strerror(errno));
		}
		snprintf(store->path, sizeof store->path, "%s/plant", store->folder);
		return OK;
	}
	if (strlen(path) >= sizeof store->path)
		return err_set(err, INVALID, "", "the path of the file is too long");
	snprintf(store->path, sizeof store->path, "%s", path);
	fd = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600); /* a new file is the owner's alone */
	if (fd >= 0)
		close(fd);
	return OK;
}

static void remove_scratch(const struct store *store)
{
	static const char *const endings[] = {"", "-wal", "-shm"};
	char name[sizeof store->path + 8];

	for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
		snprintf(name, sizeof name, "%s%s", store->path, endings[i]);
		unlink(name);
	}
	rmdir(store->folder);
}

static enum status start(struct store *store, const struct migration *list, int count, int readers, struct err *err)
{
	enum status rc = db_open(&store->writer, store->path, *store->folder ? DB_SCRATCH : DB_WRITE, err);

	if (!rc)
		rc = store_migrate(store->writer, store->path, list, count, err);
	for (int i = 0; i < readers && !rc; i++) {
		rc = db_open(&store->idle[i], store->path, DB_READ, err);
		if (!rc)
			store->readers = store->idle_count = i + 1;
	}
	if (rc)
		return rc;
	store->schema_version = count;
	if (pthread_create(&store->thread, NULL, write_loop, store))
		return err_set(err, FAILED, "", "cannot start a thread");
	store->started = true;
	return OK;
}

enum status store_open_with(const struct migration *list, int count, struct store **out, const char *path, int readers,
			    struct err *err)
{
	struct store *store;
	enum status rc;

	if (readers < 1 || readers > READERS_MAX)
		return err_set(err, INVALID, "", "there must be 1 to %d readers", READERS_MAX);
	store = calloc(1, sizeof *store);
	if (!store)
		return err_set(err, NO_MEMORY, "", "out of memory");
	pthread_mutex_init(&store->lock, NULL);
	pthread_cond_init(&store->work, NULL);
	pthread_cond_init(&store->reader_back, NULL);
	rc = settle(store, path, err);
	if (!rc)
		rc = start(store, list, count, readers, err);
	if (rc) {
		store_close(store);
		return rc;
	}
	*out = store;
	return OK;
}

enum status store_open(struct store **out, const char *path, int readers, struct err *err)
{
	return store_open_with(migrations, migrations_count, out, path, readers, err);
}

void store_close(struct store *store)
{
	if (!store)
		return;
	pthread_mutex_lock(&store->lock);
	store->closing = true;
	pthread_cond_signal(&store->work);
	while (store->idle_count < store->readers)
		pthread_cond_wait(&store->reader_back, &store->lock);
	pthread_mutex_unlock(&store->lock);
	if (store->started)
		pthread_join(store->thread, NULL);
	for (int i = 0; i < store->readers; i++)
		db_close(store->idle[i]);
	db_close(store->writer); /* the last one out moves the write-ahead log into the file */
	if (*store->folder)
		remove_scratch(store);
	pthread_mutex_destroy(&store->lock);
	pthread_cond_destroy(&store->work);
	pthread_cond_destroy(&store->reader_back);
	free(store);
}
