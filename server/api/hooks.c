/* What happens around every handler: who calls, may he, was the password right, and the transaction. */
#include <string.h>
#include <strings.h>

#include "api/api.h"
#include "base/log.h"
#include "base/text.h"
#include "domain/password.h"
#include "domain/session.h"
#include "domain/setting.h"

static enum status identify(struct request *req, struct err *err)
{
	const struct app *app = req->app;
	struct session_limits limits = {app->session_idle_ms, app->session_absolute_ms};
	struct actor *actor;
	bool stale = false;
	struct err why = {0};
	struct db *db;
	enum status rc;

	if (!req->cookie)
		return OK;
	actor = arena_alloc(&req->arena, sizeof *actor);
	if (!actor)
		return err_set(err, NO_MEMORY, "", "out of memory");
	db = store_read_begin(app->store);
	rc = session_find(db, req->cookie, &limits, &req->arena, actor, &stale, &why);
	store_read_end(app->store, db);
	if (rc == NOT_FOUND)
		return OK;
	if (rc) {
		*err = why;
		return rc;
	}
	req->actor = actor;
	if (stale && session_seen(app->store, actor, &why))
		log_warn("the use of a session could not be noted: %s", why.message);
	return OK;
}

/* The plant decides whether who holds a certificate in hand may ask about it without an account. */
static bool strangers_may_verify(const struct request *req)
{
	const struct app *app = req->app;
	struct settings settings = {0};
	struct arena a = {0};
	struct err err;
	struct db *db = store_read_begin(app->store);
	bool may = !settings_get(db, &a, &settings, &err) && settings.verify_public;

	store_read_end(app->store, db);
	arena_clear(&a);
	return may;
}

static enum status allow(const struct request *req, const struct route *route, struct err *err)
{
	const struct actor *actor = req->actor;

	if (route->needs == PERM_PUBLIC || (!actor && route->needs == PERM_VERIFY && strangers_may_verify(req)))
		return OK;
	if (!actor)
		return err_set(err, UNAUTHENTICATED, "", "sign in first");
	if (!permission_granted(actor->roles, (enum permission)route->needs))
		return err_set(err, FORBIDDEN, "", "your roles do not include the right to %s",
			       permission_word((enum permission)route->needs));
	return OK;
}

static bool token_fits(const struct request *req)
{
	const struct actor *actor = req->actor;
	/* header() does not change the request, but serves handlers that may */
	const char *token = actor ? req->header((struct request *)(uintptr_t)req, "X-Session-Token") : NULL;

	return token && text_equal_secret(token, actor->token);
}

/* Whoever signs gives his own password again, and on request his own name. */
static enum status confirm(struct request *req, struct err *err)
{
	const struct app *app = req->app;
	const struct actor *actor = req->actor;
	const char *password = json_string_value(json_object_get(req->body, "password"));
	const json_t *sign_in = json_object_get(req->body, "sign_in");

	if (!actor)
		return err_set(err, UNAUTHENTICATED, "", "sign in first");
	if (!password || !*password || strlen(password) > 4 * PASSWORD_MOST)
		return err_set(err, INVALID, "password", "your password is needed here");
	if (sign_in && !json_is_null(sign_in) &&
	    (!json_is_string(sign_in) || strcasecmp(json_string_value(sign_in), actor->sign_in) != 0))
		return err_set(err, UNAUTHENTICATED, "sign_in", "whoever is signed in must confirm: %s",
			       actor->sign_in);
	return session_confirm(app->store, actor, password, &req->arena, err);
}

static enum status run_read(const struct route *route, struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	enum status rc;

	req->db = store_read_begin(app->store);
	rc = route->handler(req, reply);
	store_read_end(app->store, req->db);
	req->db = NULL;
	return rc;
}

static enum status run_handler(struct request *req, struct reply *reply, void *context)
{
	const struct route *route = context;

	return route->handler(req, reply);
}

static enum status run(const struct route *route, struct request *req, struct reply *reply)
{
	switch (route->mode) {
	case ROUTE_PLAIN:
	case ROUTE_FILE:
		return route->handler(req, reply);
	case ROUTE_READ:
	case ROUTE_DRAW:
		return run_read(route, req, reply);
	case ROUTE_WRITE:
		return api_write(req, reply, run_handler, (void *)(uintptr_t)route);
	}
	return err_set(&reply->err, FAILED, "", "a route without a mode");
}

const struct http_hooks api_hooks = {identify, allow, token_fits, confirm, run};
