/*
 * The guard: this program once more, as `guard`, with the source's configuration on its standard input. It does nothing while
 * the pipe is open; when the pipe ends without a word, this program is gone, and the guard brings the source to its safe value.
 */
#include <fcntl.h>
#include <spawn.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/log.h"
#include "domain/channel.h"
#include "live_run_internal.h"

static bool write_all(int fd, const char *text)
{
	size_t left = strlen(text);

	while (left > 0) {
		ssize_t n = write(fd, text, left);

		if (n <= 0)
			return false;
		text += n;
		left -= (size_t)n;
	}
	return true;
}

static const char *source_of(struct live_run *r, struct arena *a)
{
	struct db *db = store_read_begin(r->all->store);
	struct channel c;
	struct err err;
	const char *text = store_channel_get(db, r->driven_id, a, &c, &err) ? NULL : c.source_json;

	store_read_end(r->all->store, db);
	return text;
}

static bool spawn(struct live_run *r, const int ends[2])
{
	char *const argv[] = {(char *)(uintptr_t) "loopledger", (char *)(uintptr_t) "guard", NULL};
	posix_spawn_file_actions_t actions;
	bool ok;

	posix_spawn_file_actions_init(&actions);
	posix_spawn_file_actions_adddup2(&actions, ends[0], 0);
	ok = !posix_spawn(&r->guard, r->all->guard, &actions, NULL, argv, environ);
	posix_spawn_file_actions_destroy(&actions);
	return ok;
}

void live_guard_start(struct live_run *r)
{
	struct arena a = {0};
	const char *source;
	int ends[2];

	r->guard_pipe = -1;
	if (!r->all->guard || pipe2(ends, O_CLOEXEC))
		return;
	source = source_of(r, &a);
	if (source && spawn(r, ends) && write_all(ends[1], source) && write_all(ends[1], "\n")) {
		r->guard_pipe = ends[1];
	} else {
		log_error("no guard watches over the source of %s", r->number);
		close(ends[1]);
	}
	close(ends[0]);
	arena_clear(&a);
}

void live_guard_dismiss(struct live_run *r)
{
	if (r->guard_pipe >= 0) {
		write_all(r->guard_pipe, "done\n");
		close(r->guard_pipe);
		r->guard_pipe = -1;
	}
	if (r->guard > 0)
		waitpid(r->guard, NULL, 0);
	r->guard = 0;
}
