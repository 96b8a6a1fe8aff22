#include "support/check.h"

#include <pthread.h>
#include <sched.h>
#include <semaphore.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "store/store_internal.h"

/* parent is checked only at the commit, so a test can make a commit fail. */
static const struct migration schema[] = {
	{"0001_test.sql", "CREATE TABLE note (n INTEGER PRIMARY KEY,"
			  " parent INTEGER REFERENCES note (n) DEFERRABLE INITIALLY DEFERRED) STRICT;"},
};

struct fixture {
	char folder[32], path[64];
	struct store *store;
	struct err err;
};

static void open_store(struct fixture *f)
{
	if (store_open_with(schema, 1, &f->store, f->path, 2, &f->err))
		fail_msg("%s", f->err.message);
}

static int setup(void **state)
{
	struct fixture *f = *state = test_calloc(1, sizeof *f);

	strcpy(f->folder, "/tmp/test-store-XXXXXX");
	if (!mkdtemp(f->folder))
		return -1;
	snprintf(f->path, sizeof f->path, "%s/plant", f->folder);
	open_store(f);
	return 0;
}

static int teardown(void **state)
{
	struct fixture *f = *state;
	char command[64];

	store_close(f->store);
	snprintf(command, sizeof command, "rm -r %s", f->folder);
	assert_int_equal(system(command), 0);
	test_free(f);
	return 0;
}

static enum status add_note(struct db *db, void *context, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO note (n) VALUES ($1)");

	stmt_int(q, 1, *(int *)context);
	return stmt_run(q, err);
}

static enum status add_note_and_refuse(struct db *db, void *context, struct err *err)
{
	enum status rc = add_note(db, context, err);

	return rc ? rc : err_set(err, INVALID, "n", "not this one");
}

static enum status add_orphan(struct db *db, void *context, struct err *err)
{
	struct stmt *q = db_stmt(db, "INSERT INTO note (n, parent) VALUES ($1, 999999)");

	stmt_int(q, 1, *(int *)context);
	return stmt_run(q, err);
}

static int count(struct store *store)
{
	struct db *db = store_read_begin(store);
	struct err err = {0};
	int64_t n = -1;

	assert_int_equal(db_value(db, "SELECT count(*) FROM note", &n, &err), OK);
	store_read_end(store, db);
	return (int)n;
}

static bool exists(struct store *store, int number)
{
	struct db *db = store_read_begin(store);
	struct stmt *q = db_stmt(db, "SELECT n FROM note WHERE n = $1");
	struct err err = {0};
	bool found;

	stmt_int(q, 1, number);
	found = stmt_step(q, &err) == OK;
	stmt_done(q);
	store_read_end(store, db);
	return found;
}

/* A job that holds the writer until others have queued behind it. */
struct gate {
	sem_t reached, open;
};

static enum status wait_at_gate(struct db *db, void *context, struct err *err)
{
	struct gate *gate = context;

	(void)db, (void)err;
	sem_post(&gate->reached);
	sem_wait(&gate->open);
	return OK;
}

/* One caller in a thread of its own. */
struct caller {
	struct store *store;
	store_job job;
	void *context;
	int n;
	enum status rc;
	struct err err;
	pthread_t thread;
};

static void *call(void *arg)
{
	struct caller *c = arg;

	c->rc = store_write(c->store, c->job, c->context ? c->context : &c->n, &c->err);
	return NULL;
}

static void begin(struct caller *c, struct store *store, store_job job, int n)
{
	*c = (struct caller){.store = store, .job = job, .n = n};
	assert_int_equal(pthread_create(&c->thread, NULL, call, c), 0);
}

/* Puts n jobs into the queue of the held writer, one after the other. */
static void queue_up(struct caller *callers, int n, struct store *store, store_job job, int odd, store_job odd_job)
{
	for (int i = 0; i < n; i++) {
		begin(&callers[i], store, i == odd ? odd_job : job, i + 1);
		while (store_waiting(store) <= i)
			sched_yield();
	}
}

static void hold_writer(struct caller *holder, struct gate *gate, struct store *store)
{
	sem_init(&gate->reached, 0, 0);
	sem_init(&gate->open, 0, 0);
	*holder = (struct caller){.store = store, .job = wait_at_gate, .context = gate};
	assert_int_equal(pthread_create(&holder->thread, NULL, call, holder), 0);
	sem_wait(&gate->reached);
}

static void release_writer(struct caller *holder, struct gate *gate)
{
	sem_post(&gate->open);
	pthread_join(holder->thread, NULL);
	sem_destroy(&gate->reached);
	sem_destroy(&gate->open);
}

static void changes_that_wait_share_one_commit(void **state)
{
	struct fixture *f = *state;
	struct caller holder, callers[16];
	struct gate gate;
	int64_t commits, jobs, commits_before, jobs_before;

	store_counters(f->store, &commits_before, &jobs_before);
	hold_writer(&holder, &gate, f->store);
	queue_up(callers, 16, f->store, add_note, -1, NULL);
	release_writer(&holder, &gate);
	for (int i = 0; i < 16; i++) {
		pthread_join(callers[i].thread, NULL);
		assert_int_equal(callers[i].rc, OK);
	}
	store_counters(f->store, &commits, &jobs);
	assert_int_equal(count(f->store), 16);
	assert_int_equal(jobs - jobs_before, 17);
	assert_int_equal(commits - commits_before, 2); /* the holder's and that of the sixteen */
}

static void a_refused_change_is_undone_alone(void **state)
{
	struct fixture *f = *state;
	struct caller holder, callers[5];
	struct gate gate;

	hold_writer(&holder, &gate, f->store);
	queue_up(callers, 5, f->store, add_note, 2, add_note_and_refuse);
	release_writer(&holder, &gate);
	for (int i = 0; i < 5; i++) {
		pthread_join(callers[i].thread, NULL);
		assert_int_equal(callers[i].rc, i == 2 ? INVALID : OK);
		assert_int_equal(exists(f->store, i + 1), i != 2);
	}
	assert_string_equal(callers[2].err.message, "not this one");
}

static void when_the_commit_fails_everyone_in_it_is_told(void **state)
{
	struct fixture *f = *state;
	struct caller holder, callers[4];
	struct gate gate;

	hold_writer(&holder, &gate, f->store);
	queue_up(callers, 4, f->store, add_note, 1, add_orphan);
	release_writer(&holder, &gate);
	for (int i = 0; i < 4; i++) {
		pthread_join(callers[i].thread, NULL);
		assert_int_equal(callers[i].rc, FAILED);
		assert_string_equal(callers[i].err.message, "the change could not be brought to disk and was not made");
	}
	assert_int_equal(count(f->store), 0);
	begin(&callers[0], f->store, add_note, 1); /* and the next one goes well */
	pthread_join(callers[0].thread, NULL);
	assert_int_equal(callers[0].rc, OK);
	assert_int_equal(count(f->store), 1);
}

static enum status roll_back_all(struct db *db, void *context, struct err *err)
{
	(void)context;
	db_exec(db, "ROLLBACK", err); /* as SQLite itself does when the disk is full */
	return err_set(err, FAILED, "", "the disk is full");
}

static void when_the_transaction_is_lost_those_before_are_told_and_those_after_go_on(void **state)
{
	struct fixture *f = *state;
	struct caller holder, callers[4];
	struct gate gate;

	hold_writer(&holder, &gate, f->store);
	queue_up(callers, 4, f->store, add_note, 2, roll_back_all);
	release_writer(&holder, &gate);
	for (int i = 0; i < 4; i++) {
		pthread_join(callers[i].thread, NULL);
		assert_int_equal(callers[i].rc, i < 3 ? FAILED : OK);
		assert_int_equal(exists(f->store, i + 1), i == 3);
	}
}

#define EACH 200
static void *write_many(void *arg)
{
	struct caller *c = arg;

	for (int i = 0; i < EACH && !c->rc; i++) {
		int n = c->n * EACH + i;

		c->rc = store_write(c->store, add_note, &n, &c->err);
		if (!c->rc && !exists(c->store, n))
			c->rc = NOT_FOUND; /* who has his answer also sees his row */
	}
	return NULL;
}

static void sixteen_threads_write_and_read_what_they_wrote(void **state)
{
	struct fixture *f = *state;
	struct caller callers[16];
	int64_t commits, jobs;

	for (int i = 0; i < 16; i++) {
		callers[i] = (struct caller){.store = f->store, .n = i};
		assert_int_equal(pthread_create(&callers[i].thread, NULL, write_many, &callers[i]), 0);
	}
	for (int i = 0; i < 16; i++) {
		pthread_join(callers[i].thread, NULL);
		assert_int_equal(callers[i].rc, OK);
	}
	assert_int_equal(count(f->store), 16 * EACH);
	store_counters(f->store, &commits, &jobs);
	assert_int_equal(jobs, 16 * EACH);
	assert_true(commits < jobs);
}

static void a_reader_sees_one_moment_however_long_it_looks(void **state)
{
	struct fixture *f = *state;
	struct db *db = store_read_begin(f->store);
	int64_t before = -1, after = -1;
	int n = 1;

	assert_int_equal(db_value(db, "SELECT count(*) FROM note", &before, &f->err), OK);
	assert_int_equal(store_write(f->store, add_note, &n, &f->err), OK);
	assert_int_equal(db_value(db, "SELECT count(*) FROM note", &after, &f->err), OK);
	store_read_end(f->store, db);
	assert_int_equal(before, 0);
	assert_int_equal(after, 0);
	assert_int_equal(count(f->store), 1);
}

static enum status write_inside(struct db *db, void *context, struct err *err)
{
	struct fixture *f = context;
	int n = 1;

	(void)db;
	return store_write(f->store, add_note, &n, err);
}

static void a_write_within_a_write_is_refused_instead_of_waiting_for_ever(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(store_write(f->store, write_inside, f, &f->err), FAILED);
}

static enum status read_settings(struct db *db, void *context, struct err *err)
{
	int64_t *v = context;
	enum status rc = db_value(db, "PRAGMA synchronous", &v[0], err);

	if (!rc)
		rc = db_value(db, "PRAGMA foreign_keys", &v[1], err);
	if (!rc)
		rc = db_value(db, "SELECT journal_mode = 'wal' FROM pragma_journal_mode", &v[2], err);
	return rc ? rc : db_value(db, "PRAGMA trusted_schema", &v[3], err);
}

/* SQLite's documentation, pragma.html: FULL is 2; with WAL it syncs the log at each commit. */
static void commits_wait_for_the_disk(void **state)
{
	struct fixture *f = *state;
	int64_t v[4] = {-1, -1, -1, -1};

	store_close(f->store); /* a file that is up to date, as on every start but the first */
	open_store(f);
	assert_int_equal(store_write(f->store, read_settings, v, &f->err), OK);
	assert_int_equal(v[0], 2);
	assert_int_equal(v[1], 1);
	assert_int_equal(v[2], 1);
	assert_int_equal(v[3], 0);
}

/* The child writes until it is killed, and says each number only after its answer. */
static void write_until_killed(const char *path, int say)
{
	struct store *store;
	struct err err = {0};

	if (store_open_with(schema, 1, &store, path, 1, &err))
		_exit(1);
	for (int n = 1;; n++) {
		if (store_write(store, add_note, &n, &err) || write(say, &n, sizeof n) != sizeof n)
			_exit(1);
	}
}

static void what_was_answered_survives_the_death_of_the_program(void **state)
{
	struct fixture *f = *state;
	int pipes[2], n, last = 0, status;
	pid_t child;

	store_close(f->store);
	f->store = NULL;
	assert_int_equal(pipe(pipes), 0);
	child = fork();
	assert_true(child >= 0);
	if (child == 0)
		write_until_killed(f->path, pipes[1]);
	close(pipes[1]);
	while (last < 100 && read(pipes[0], &n, sizeof n) == sizeof n)
		last = n;
	kill(child, SIGKILL);
	waitpid(child, &status, 0);
	while (read(pipes[0], &n, sizeof n) == sizeof n)
		last = n;
	close(pipes[0]);
	assert_true(WIFSIGNALED(status));
	assert_true(last >= 100);
	open_store(f);
	assert_true(exists(f->store, last));
	assert_in_range(count(f->store), last, last + 1); /* the last one may have been killed before its answer */
}

static void two_programs_may_work_on_one_file(void **state)
{
	struct fixture *f = *state;
	struct store *other;
	int n = 1;

	assert_int_equal(store_open_with(schema, 1, &other, f->path, 1, &f->err), OK);
	assert_int_equal(store_write(f->store, add_note, &n, &f->err), OK);
	n = 2;
	assert_int_equal(store_write(other, add_note, &n, &f->err), OK);
	assert_int_equal(count(f->store), 2);
	assert_int_equal(count(other), 2);
	store_close(other);
}

static void a_backup_is_complete_and_its_owners_alone(void **state)
{
	struct fixture *f = *state;
	struct store *copy;
	struct stat info;
	char path[80];
	int n = 7;

	assert_int_equal(store_write(f->store, add_note, &n, &f->err), OK);
	snprintf(path, sizeof path, "%s/copy", f->folder);
	assert_int_equal(store_backup(f->store, path, &f->err), OK);
	assert_int_equal(stat(path, &info), 0);
	assert_int_equal(info.st_mode & 0777, 0600);
	assert_int_equal(stat(f->path, &info), 0);
	assert_int_equal(info.st_mode & 0777, 0600);
	assert_int_equal(store_open_with(schema, 1, &copy, path, 1, &f->err), OK);
	assert_true(exists(copy, 7));
	store_close(copy);
	assert_int_equal(store_backup(f->store, path, &f->err), CONFLICT);
}

static void a_file_kept_in_memory_leaves_nothing_behind(void **state)
{
	struct fixture *f = *state;
	struct store *store;
	struct db *db;
	struct arena a = {0};
	struct stmt *q;
	char *file;

	assert_int_equal(store_open_with(schema, 1, &store, ":memory:", 1, &f->err), OK);
	db = store_read_begin(store);
	q = db_stmt(db, "SELECT file FROM pragma_database_list WHERE name = 'main'");
	assert_int_equal(stmt_step(q, &f->err), OK);
	file = col_text(q, 0, &a);
	stmt_done(q);
	store_read_end(store, db);
	assert_int_equal(access(file, F_OK), 0);
	store_close(store);
	assert_int_not_equal(access(file, F_OK), 0);
	*strrchr(file, '/') = '\0';
	assert_int_not_equal(access(file, F_OK), 0);
	arena_clear(&a);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(changes_that_wait_share_one_commit, setup, teardown),
		cmocka_unit_test_setup_teardown(a_refused_change_is_undone_alone, setup, teardown),
		cmocka_unit_test_setup_teardown(when_the_commit_fails_everyone_in_it_is_told, setup, teardown),
		cmocka_unit_test_setup_teardown(
			when_the_transaction_is_lost_those_before_are_told_and_those_after_go_on, setup, teardown),
		cmocka_unit_test_setup_teardown(sixteen_threads_write_and_read_what_they_wrote, setup, teardown),
		cmocka_unit_test_setup_teardown(a_reader_sees_one_moment_however_long_it_looks, setup, teardown),
		cmocka_unit_test_setup_teardown(a_write_within_a_write_is_refused_instead_of_waiting_for_ever, setup,
						teardown),
		cmocka_unit_test_setup_teardown(commits_wait_for_the_disk, setup, teardown),
		cmocka_unit_test_setup_teardown(what_was_answered_survives_the_death_of_the_program, setup, teardown),
		cmocka_unit_test_setup_teardown(two_programs_may_work_on_one_file, setup, teardown),
		cmocka_unit_test_setup_teardown(a_backup_is_complete_and_its_owners_alone, setup, teardown),
		cmocka_unit_test_setup_teardown(a_file_kept_in_memory_leaves_nothing_behind, setup, teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
