/* Batches: who asked for what, one thread that does it, and how far it is. */
#include "report/batch.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/time.h"
#include "batch_internal.h"
#include "store/test_record.h"

#define IN_HAND_MAX  8 /* batches that wait or run */
#define PERSON_MAX   2
#define KEPT_MS	     (30 * 60000LL) /* a finished one is kept so long */
#define LOOK_SECONDS 60

enum state { WAITING, RUNNING, DONE, CANCELLED, FAILED_WHOLE };

struct failure {
	char record_id[UUID_SIZE], label[120];
	char sentence[sizeof((struct err *)0)->message];
};

struct batch {
	struct batch *next;
	char id[UUID_SIZE];
	enum batch_what what;
	enum state state;
	bool cancel;
	struct actor actor; /* text from arena */
	struct arena arena;
	char (*ids)[UUID_SIZE];
	size_t total, done, failed, n_failures;
	struct failure *failures; /* room for each record, and one of the whole */
	FILE *file;		  /* of a finished one */
	int64_t ended_at;
};

struct batches {
	struct store *store;
	struct issuer *issuer;
	pthread_mutex_t lock;
	pthread_cond_t work;
	pthread_t thread;
	bool started, stop;
	struct batch *first; /* oldest first */
};

static void batch_free(struct batch *b)
{
	if (b->file)
		fclose(b->file);
	arena_clear(&b->arena);
	free(b->ids);
	free(b->failures);
	free(b);
}

/* ---- one record ---- */

static enum status read_item(struct batches *all, const char *id, struct arena *a, struct record *r,
			     struct batch_item *item, struct certificate_options *options, struct err *err)
{
	struct db *db = store_read_begin(all->store);
	struct certificate_file files = {0};
	struct certificate c;
	enum status rc = record_load(db, id, a, r, err);

	if (!rc && !r->certificate_number)
		rc = err_set(err, CONFLICT, "", "%s has no certificate yet", r->number);
	if (!rc)
		rc = store_certificate_get(db, r->certificate_number, a, &c, err);
	if (!rc) {
		rc = store_certificate_file_get(db, c.number, a, &files, err);
		rc = rc == NOT_FOUND ? OK : rc;
	}
	if (!rc && options)
		rc = issuer_options(all->issuer, db, r, a, options, err);
	store_read_end(all->store, db);
	if (!rc)
		*item = (struct batch_item){.certificate = c.number,
					    .record = r->number,
					    .tag = r->instrument.tag,
					    .state = c.state,
					    .reason = c.reason,
					    .replaced_by = c.replaced_by,
					    .issued_at = c.issued_at,
					    .performed_at = r->performed_at,
					    .pdf = files.pdf,
					    .xml = files.xml,
					    .pdf_size = files.pdf_size,
					    .xml_size = files.xml_size,
					    .pdf_sha256 = c.pdf_sha256,
					    .xml_sha256 = c.xml_sha256};
	return rc;
}

/* What the records of one batch go into. */
struct making {
	struct batch_archive *archive;
	struct batch_pages *pages;
};

static enum status do_one(struct batches *all, const struct batch *b, struct making *m, const char *id, struct arena *a,
			  const char **label, struct err *err)
{
	struct certificate_options options;
	struct record r = {0};
	struct batch_item item;
	char *pdf = NULL;
	size_t size;
	enum status rc;

	if (b->what == BATCH_ISSUE)
		return issuer_issue(all->issuer, all->store, &b->actor, id, err);
	rc = read_item(all, id, a, &r, &item, b->what == BATCH_PRINT ? &options : NULL, err);
	if (r.number)
		*label = arena_printf(a, "%s %s", r.number, r.instrument.tag ? r.instrument.tag : "");
	if (rc)
		return rc;
	if (b->what == BATCH_ARCHIVE)
		return batch_archive_add(m->archive, &item, err);
	options.copy = true;
	rc = certificate_pdf(&r, &options, &pdf, &size, err);
	return rc ? rc : batch_pages_add(m->pages, pdf, size, err);
}

/* Of a record that cannot be read the name is all there is. */
static const char *label_of(struct batches *all, const char *id, struct arena *a)
{
	struct db *db = store_read_begin(all->store);
	struct record_summary s;
	struct err err;
	const char *label = store_record_summary(db, id, a, &s, &err) ? "" : arena_printf(a, "%s %s", s.number, s.tag);

	store_read_end(all->store, db);
	return label;
}

static void note_failure(struct batches *all, struct batch *b, const char *id, const char *label, const struct err *err)
{
	pthread_mutex_lock(&all->lock);
	b->failed++;
	if (b->n_failures <= b->total) {
		struct failure *f = &b->failures[b->n_failures++];

		snprintf(f->record_id, sizeof f->record_id, "%s", id);
		snprintf(f->label, sizeof f->label, "%s", label ? label : "");
		snprintf(f->sentence, sizeof f->sentence, "%s", err->message);
	}
	pthread_mutex_unlock(&all->lock);
}

static bool go_on(struct batches *all, struct batch *b, bool count)
{
	bool on;

	pthread_mutex_lock(&all->lock);
	b->done += count;
	on = !b->cancel && !all->stop;
	pthread_mutex_unlock(&all->lock);
	return on;
}

/* False when it was cancelled. */
static bool do_all(struct batches *all, struct batch *b, struct making *m)
{
	for (size_t i = 0; i < b->total; i++) {
		struct arena a = {0};
		struct err err = {0};
		const char *label = NULL;

		if (do_one(all, b, m, b->ids[i], &a, &label, &err))
			note_failure(all, b, b->ids[i], label ? label : label_of(all, b->ids[i], &a), &err);
		arena_clear(&a);
		if (!go_on(all, b, true))
			return i + 1 == b->total;
	}
	return true;
}

/* ---- a whole batch ---- */

static enum status begin(struct making *m, enum batch_what what, FILE *file, struct err *err)
{
	if (what == BATCH_ARCHIVE)
		m->archive = batch_archive_new(file, err);
	if (what == BATCH_PRINT)
		m->pages = batch_pages_new();
	return what == BATCH_ISSUE || m->archive || m->pages ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

static enum status end(struct making *m, size_t made, FILE *file, struct err *err)
{
	if (!file)
		return OK;
	if (made == 0)
		return err_set(err, CONFLICT, "", "there is nothing to put together");
	return m->archive ? batch_archive_end(m->archive, err) : batch_pages_end(m->pages, file, err);
}

static void run(struct batches *all, struct batch *b)
{
	FILE *file = b->what == BATCH_ISSUE ? NULL : tmpfile();
	struct making m = {0};
	struct err err = {0};
	bool whole = false, keep;
	enum status rc = b->what != BATCH_ISSUE && !file ?
				 err_set(&err, FAILED, "", "no temporary file can be made: the disk may be full") :
				 begin(&m, b->what, file, &err);

	if (!rc) {
		whole = do_all(all, b, &m);
		rc = whole ? end(&m, b->total - b->failed, file, &err) : OK;
	}
	batch_archive_free(m.archive);
	batch_pages_free(m.pages);
	if (file && (fflush(file) || ferror(file)) && !rc)
		rc = err_set(&err, FAILED, "", "the file cannot be written: the disk may be full");
	if (rc)
		note_failure(all, b, "", "", &err);
	pthread_mutex_lock(&all->lock);
	b->state = rc ? FAILED_WHOLE : whole ? DONE : CANCELLED;
	b->ended_at = time_now_ms();
	keep = b->state == DONE;
	if (keep)
		b->file = file;
	pthread_mutex_unlock(&all->lock); /* from here on it may be dropped */
	if (file && !keep)
		fclose(file);
}

/* The finished ones of the same person that came after it. */
static int newer_finished(const struct batch *b)
{
	int n = 0;

	for (const struct batch *at = b->next; at; at = at->next)
		n += at->state >= DONE && !strcmp(at->actor.person_id, b->actor.person_id);
	return n;
}

/* Under the lock: those whose time is over go, and of one person's the oldest. */
static void drop_old(struct batches *all)
{
	int64_t now = time_now_ms();

	for (struct batch **at = &all->first; *at;) {
		struct batch *b = *at;

		if (b->state >= DONE && (now - b->ended_at > KEPT_MS || newer_finished(b) >= BATCH_KEPT)) {
			*at = b->next;
			batch_free(b);
		} else {
			at = &b->next;
		}
	}
}

static struct batch *next_waiting(struct batches *all)
{
	for (struct batch *b = all->first; b; b = b->next)
		if (b->state == WAITING)
			return b;
	return NULL;
}

/* Until there is work, or files may have to go though nobody asks. */
static void rest(struct batches *all)
{
	struct timespec until;

	clock_gettime(CLOCK_REALTIME, &until);
	until.tv_sec += LOOK_SECONDS;
	pthread_cond_timedwait(&all->work, &all->lock, &until);
}

static void *work(void *arg)
{
	struct batches *all = arg;

	pthread_mutex_lock(&all->lock);
	while (!all->stop) {
		struct batch *b;

		drop_old(all);
		b = next_waiting(all);
		if (!b) {
			rest(all);
			continue;
		}
		b->state = RUNNING;
		pthread_mutex_unlock(&all->lock);
		run(all, b);
		pthread_mutex_lock(&all->lock);
	}
	pthread_mutex_unlock(&all->lock);
	return NULL;
}

struct batches *batches_new(struct store *store, struct issuer *issuer)
{
	struct batches *all = calloc(1, sizeof *all);

	if (!all)
		return NULL;
	all->store = store;
	all->issuer = issuer;
	pthread_mutex_init(&all->lock, NULL);
	pthread_cond_init(&all->work, NULL);
	all->started = !pthread_create(&all->thread, NULL, work, all);
	if (all->started)
		return all;
	batches_free(all);
	return NULL;
}

void batches_free(struct batches *all)
{
	if (!all)
		return;
	pthread_mutex_lock(&all->lock);
	all->stop = true;
	pthread_cond_signal(&all->work);
	pthread_mutex_unlock(&all->lock);
	if (all->started)
		pthread_join(all->thread, NULL);
	while (all->first) {
		struct batch *b = all->first;

		all->first = b->next;
		batch_free(b);
	}
	pthread_mutex_destroy(&all->lock);
	pthread_cond_destroy(&all->work);
	free(all);
}

/* ---- from outside ---- */

static struct batch *batch_new(const struct actor *actor, enum batch_what what, const char *const *ids, size_t n)
{
	struct batch *b = calloc(1, sizeof *b);

	if (!b)
		return NULL;
	b->what = what;
	b->total = n;
	b->ids = calloc(n, sizeof *b->ids);
	b->failures = calloc(n + 1, sizeof *b->failures);
	b->actor = (struct actor){.person_id = arena_strdup(&b->arena, actor->person_id),
				  .name = arena_strdup(&b->arena, actor->name),
				  .sign_in = arena_strdup(&b->arena, actor->sign_in),
				  .roles = actor->roles};
	if (!b->ids || !b->failures || !b->actor.person_id || !b->actor.name) {
		batch_free(b);
		return NULL;
	}
	for (size_t i = 0; i < n; i++)
		snprintf(b->ids[i], UUID_SIZE, "%s", ids[i]);
	uuid7(b->id);
	return b;
}

static enum status must_have_room(const struct batches *all, const struct actor *actor, struct err *err)
{
	int in_hand = 0, own = 0;

	for (const struct batch *b = all->first; b; b = b->next) {
		if (b->state >= DONE)
			continue;
		in_hand++;
		own += !strcmp(b->actor.person_id, actor->person_id);
	}
	if (own >= PERSON_MAX)
		return err_set(err, TOO_MANY, "", "you have %d batches in hand: wait for one, or cancel it", own);
	if (in_hand >= IN_HAND_MAX)
		return err_set(err, TOO_MANY, "", "%d batches are in hand: try again in a few minutes", in_hand);
	return OK;
}

enum status batches_add(struct batches *all, const struct actor *actor, enum batch_what what, const char *const *ids,
			size_t n, char id[UUID_SIZE], struct err *err)
{
	struct batch *b = batch_new(actor, what, ids, n), **at;
	enum status rc;

	if (!b)
		return err_set(err, NO_MEMORY, "", "out of memory");
	pthread_mutex_lock(&all->lock);
	drop_old(all);
	rc = must_have_room(all, actor, err);
	if (!rc) {
		memcpy(id, b->id, UUID_SIZE);
		for (at = &all->first; *at; at = &(*at)->next)
			;
		*at = b;
		pthread_cond_signal(&all->work);
	}
	pthread_mutex_unlock(&all->lock);
	if (rc)
		batch_free(b);
	return rc;
}

/* Under the lock. */
static struct batch *find(struct batches *all, const struct actor *actor, const char *id, struct err *err)
{
	for (struct batch *b = all->first; b; b = b->next)
		if (!strcmp(b->id, id) && !strcmp(b->actor.person_id, actor->person_id))
			return b;
	err_set(err, NOT_FOUND, "",
		"you have no such batch; a finished one is kept for half an hour, the last four of them");
	return NULL;
}

static json_t *batch_json(const struct batch *b)
{
	static const char *const states[] = {"waiting", "running", "done", "cancelled", "failed"}, *const whats[] = {
													   "archive",
													   "print",
													   "issue"};
	json_t *failures = json_array();

	for (size_t i = 0; i < b->n_failures; i++)
		json_array_append_new(failures,
				      json_pack("{s:s, s:s, s:s}", "record_id", b->failures[i].record_id, "label",
						b->failures[i].label, "sentence", b->failures[i].sentence));
	return json_pack("{s:s, s:s, s:s, s:I, s:I, s:I, s:o, s:b}", "id", b->id, "what", whats[b->what], "state",
			 states[b->state], "done", (json_int_t)b->done, "total", (json_int_t)b->total, "failed",
			 (json_int_t)b->failed, "failures", failures, "ready", b->file != NULL);
}

enum status batches_look(struct batches *all, const struct actor *actor, const char *id, json_t **json, struct err *err)
{
	const struct batch *b;

	pthread_mutex_lock(&all->lock);
	drop_old(all);
	b = find(all, actor, id, err);
	*json = b ? batch_json(b) : NULL;
	pthread_mutex_unlock(&all->lock);
	if (!b)
		return NOT_FOUND;
	return *json ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

/* Under the lock. */
static void drop(struct batches *all, struct batch *b)
{
	struct batch **at = &all->first;

	while (*at != b)
		at = &(*at)->next;
	*at = b->next;
	batch_free(b);
}

enum status batches_end(struct batches *all, const struct actor *actor, const char *id, struct err *err)
{
	struct batch *b;
	bool found;

	pthread_mutex_lock(&all->lock);
	b = find(all, actor, id, err);
	found = b != NULL;
	if (b && b->state >= DONE) {
		drop(all, b);
	} else if (b) {
		b->cancel = true;
		if (b->state == WAITING) {
			b->state = CANCELLED;
			b->ended_at = time_now_ms();
		}
	}
	pthread_mutex_unlock(&all->lock);
	return found ? OK : NOT_FOUND;
}

enum status batches_file(struct batches *all, const struct actor *actor, const char *id, FILE **file, char name[64],
			 struct err *err)
{
	struct batch *b;
	char day[DATE_TEXT_SIZE];
	int fd = -1;

	date_to_text(date_today(), day);
	pthread_mutex_lock(&all->lock);
	b = find(all, actor, id, err);
	if (b && b->file)
		fd = dup(fileno(b->file));
	if (b)
		snprintf(name, 64, "certificates-%s.%s", day, b->what == BATCH_PRINT ? "pdf" : "zip");
	pthread_mutex_unlock(&all->lock);
	if (!b)
		return NOT_FOUND;
	*file = fd >= 0 ? fdopen(fd, "rb") : NULL;
	return *file ? OK : err_set(err, CONFLICT, "", "the file is not there yet");
}
