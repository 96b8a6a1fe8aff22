/* serve: opens the plant, answers until it is told to stop. */
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#include "api/api.h"
#include "base/log.h"
#include "domain/demo.h"
#include "domain/setting.h"
#include "http/server.h"
#include "main.h"
#include "report/check.h"

#define BODY_MAX (1 << 20)
#define PEM_MAX	 (1 << 20)

/* What is open, in the order of opening. */
struct serving {
	const struct config *config;
	int lock; /* keeps a second server off the folder; -1 without */
	struct store *store;
	char *certificate, *key;
	struct app app;
	struct http_server *server;
	struct main_clock *clock; /* NULL for a plant that issues without a seal */
};

static enum status read_pem(const char *path, char **out, struct err *err)
{
	FILE *file;
	size_t size;

	if (!path)
		return OK;
	file = fopen(path, "re");
	*out = file ? calloc(1, PEM_MAX + 1) : NULL;
	size = *out ? fread(*out, 1, PEM_MAX, file) : 0;
	if (file)
		fclose(file);
	return size ? OK : err_set(err, FAILED, "", "%s cannot be read", path);
}

/* Two servers on one file would each think they were its only writer. */
static enum status lock_folder(struct serving *s, struct err *err)
{
	char *folder = config_folder(s->config), *path = NULL;
	enum status rc = OK;

	if (!folder || asprintf(&path, "%s/lock", folder) < 0) {
		free(folder);
		return err_set(err, NO_MEMORY, "", "out of memory");
	}
	s->lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
	if (s->lock < 0)
		rc = err_set(err, FAILED, "", "%s cannot be opened: %s", path, strerror(errno));
	else if (flock(s->lock, LOCK_EX | LOCK_NB))
		rc = err_set(err, CONFLICT, "", "another loopledger serves %s already", folder);
	free(path);
	free(folder);
	return rc;
}

struct plant_state {
	int64_t people;
	bool demo;
};

static enum status look(struct store *store, struct plant_state *out, struct err *err)
{
	struct db *db = store_read_begin(store);
	struct settings settings;
	struct arena a = {0};
	enum status rc = store_person_count(db, &out->people, err);

	if (!rc)
		rc = settings_get(db, &a, &settings, err);
	out->demo = !rc && settings.demo;
	store_read_end(store, db);
	arena_clear(&a);
	return rc;
}

/* A demo is loaded once; a plant that is none stays untouched. */
static enum status load_demo(struct serving *s, bool *loaded, struct err *err)
{
	struct plant_state plant;
	enum status rc = look(s->store, &plant, err);

	if (rc || plant.demo)
		return rc;
	if (plant.people)
		return err_set(
			err, CONFLICT, "",
			"this folder holds a plant that is no demo; start it without --demo, or name another --data");
	puts("Making the demo plant; this takes a few seconds, once.");
	fflush(stdout);
	*loaded = true;
	return demo_load(s->store, err);
}

/* Its history is sealed then, or at a later start when there was no key the first time. */
static enum status prepare_demo(struct serving *s, struct err *err)
{
	struct err why = {0};
	bool loaded = false;
	size_t sealed;
	enum status rc;

	if (!s->config->demo)
		return OK;
	rc = load_demo(s, &loaded, err);
	if (rc || s->config->unsealed || !issuer_seal_all(s->app.issuer, s->store, NULL, &sealed, &why))
		return rc;
	if (!loaded)
		return OK;
	*err = why;
	return why.status;
}

/* A key that cannot be opened stops certificates, not tests: it is said now, and again to whoever issues one. */
static void try_key(struct serving *s)
{
	const struct seal_roots *roots;
	struct err err = {0};

	if (!s->config->unsealed && issuer_roots(s->app.issuer, s->store, &roots, &err))
		log_error("no certificate can be issued until this is mended: %s", err.message);
}

static enum status start_server(struct serving *s, struct err *err)
{
	const struct config *c = s->config;
	struct http_config http = {
		.listen = c->listen,
		.port = (uint16_t)c->port,
		.host_names = c->host,
		.body_max = BODY_MAX,
		.file_max = CHECK_FILE_MAX,
		.threads = (unsigned)c->threads,
		.routes = api_routes,
		.hooks = &api_hooks,
		.app = &s->app,
	};
	enum status rc = read_pem(c->tls_certificate, &s->certificate, err);

	if (!rc)
		rc = read_pem(c->tls_key, &s->key, err);
	if (rc)
		return rc;
	http.tls_certificate = s->certificate;
	http.tls_key = s->key;
	s->app.store = s->store;
	s->app.version = LOOPLEDGER_VERSION;
	s->app.static_dir = c->static_dir;
	s->app.session_idle_ms = c->idle_minutes * 60000LL;
	s->app.session_absolute_ms = c->session_hours * 3600000LL;
	s->app.batches = batches_new(s->store, s->app.issuer);
	if (!s->app.batches)
		return err_set(err, NO_MEMORY, "", "out of memory");
	rc = live_new(&s->app.live, s->store, err);
	if (!rc)
		rc = live_runs_new(&s->app.live_runs, s->store, s->app.live, "/proc/self/exe", err);
	if (rc)
		return rc;
	live_runs_recover(s->app.live_runs);
	rc = http_server_start(&s->server, &http, err);
	if (!rc)
		issuer_set_port(s->app.issuer, http_server_port(s->server));
	return rc;
}

static enum status start(struct serving *s, struct err *err)
{
	char *path;
	enum status rc = config_plant_file(s->config, true, &path, err);

	free(path);
	if (!rc)
		rc = lock_folder(s, err);
	if (!rc)
		rc = main_open(s->config, true, &s->store, err);
	if (!rc)
		rc = main_issuer(s->config, &s->app.issuer, err);
	if (!rc)
		rc = prepare_demo(s, err);
	if (!rc)
		try_key(s);
	if (!rc)
		rc = start_server(s, err);
	if (!rc && !s->config->unsealed)
		s->clock = main_clock_start(s->store, s->app.issuer);
	return rc;
}

static void stop(struct serving *s)
{
	struct err err;

	if (s->app.live_runs) /* sources go to their safe values before anything else */
		live_run_stop(s->app.live_runs, NULL, NULL, &err);
	http_server_stop(s->server);
	live_runs_free(s->app.live_runs);
	batches_free(s->app.batches);
	live_free(s->app.live);
	main_clock_stop(s->clock);
	store_close(s->store);
	issuer_free(s->app.issuer);
	if (s->lock >= 0)
		close(s->lock);
	free(s->certificate);
	free(s->key);
}

static void print_demo(struct db *db)
{
	struct person *people = NULL;
	struct arena a = {0};
	struct err err;
	size_t n = 0;

	printf("Brackenholm Water Works, an invented plant. Everybody's password is %s. Sign in as\n", DEMO_PASSWORD);
	if (!store_person_list(db, &a, &people, &n, &err)) {
		for (size_t i = 0; i < n; i++) {
			if (people[i].active)
				main_print_person(&people[i]);
		}
	}
	arena_clear(&a);
}

static void print_welcome(const struct serving *s)
{
	const char *scheme = s->certificate ? "https" : "http",
		   *listen = s->config->listen ? s->config->listen : "127.0.0.1";
	bool everywhere = !strcmp(listen, "0.0.0.0") || !strcmp(listen, "::"), six = strchr(listen, ':') && !everywhere;
	struct plant_state plant = {0};
	struct err err;
	struct db *db;

	printf("Loopledger " LOOPLEDGER_VERSION " at %s://%s%s%s:%u/%s\n", scheme, six ? "[" : "",
	       everywhere ? "127.0.0.1" : listen, six ? "]" : "", http_server_port(s->server),
	       everywhere ? " and at every address of this machine" : "");
	if (look(s->store, &plant, &err))
		return;
	if (!plant.people)
		puts("Nobody has an account yet: open the page to make the first administrator.");
	if (plant.demo) {
		db = store_read_begin(s->store);
		print_demo(db);
		store_read_end(s->store, db);
	}
	puts("Ctrl-C stops it.");
	fflush(stdout);
}

int main_serve(const struct config *c)
{
	struct serving s = {.config = c, .lock = -1};
	struct err err = {0};
	sigset_t signals;
	int status = EXIT_SUCCESS, got;

	/* Blocked before any thread starts, so that all inherit it and only sigwait takes them. */
	sigemptyset(&signals);
	sigaddset(&signals, SIGINT);
	sigaddset(&signals, SIGTERM);
	pthread_sigmask(SIG_BLOCK, &signals, NULL);
	signal(SIGPIPE, SIG_IGN);
	if (start(&s, &err)) {
		status = main_fail(&err);
	} else {
		print_welcome(&s);
		sigwait(&signals, &got);
		log_info("stopping");
	}
	stop(&s);
	return status;
}
