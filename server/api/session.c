/* The plant as everybody may see it, setting it up, signing in and out. */
#include <stdio.h>
#include <string.h>

#include "api/api.h"
#include "api/handlers.h"
#include "base/text.h"
#include "base/time.h"
#include "domain/password.h"
#include "domain/person.h"
#include "domain/session.h"
#include "domain/setting.h"

#define COOKIE "loopledger_session"

static enum status no_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

/* The setting is JSON that the demo generator has written: {"password", "people"}. */
static json_t *demo_to_json(const char *text)
{
	struct err ignored = {0};
	json_t *demo = text ? json_parse(text, strlen(text), &ignored) : NULL;

	return demo ? demo : json_null();
}

enum status api_plant_get(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct settings settings;
	const char *demo;
	int64_t people;
	enum status rc = settings_get(api_db(req), &req->arena, &settings, &reply->err);

	if (!rc)
		rc = store_setting_get(api_db(req), "demo", &req->arena, &demo, &reply->err);
	if (!rc)
		rc = store_person_count(api_db(req), &people, &reply->err);
	if (rc)
		return rc;
	reply->json = json_pack("{s:s, s:b, s:o, s:s}", "name", settings.plant_name, "needs_setup", people == 0, "demo",
				demo_to_json(demo), "version", app->version);
	return reply->json ? OK : no_memory(&reply->err);
}

static json_t *permissions_to_json(int roles)
{
	json_t *list = json_array();

	for (int p = PERM_VIEW; p < PERMISSIONS; p++) {
		if (permission_granted(roles, (enum permission)p))
			json_array_append_new(list, json_string(permission_word((enum permission)p)));
	}
	return list;
}

static enum status describe(struct db *db, const struct actor *actor, struct arena *a, struct reply *reply)
{
	char today[DATE_TEXT_SIZE], expires[TIME_TEXT_SIZE];
	struct settings settings;
	enum status rc = settings_get(db, a, &settings, &reply->err);

	if (rc)
		return rc;
	date_to_text(date_today(), today);
	time_to_text(actor->expires_at, expires);
	reply->json = json_pack("{s:{s:s, s:s, s:s, s:o}, s:o, s:s, s:{s:s, s:s, s:b}, s:s, s:s}", "person", "id",
				actor->person_id, "sign_in", actor->sign_in, "name", actor->name, "roles",
				person_roles_to_json(actor->roles), "permissions", permissions_to_json(actor->roles),
				"token", actor->token, "plant", "name", settings.plant_name, "paper",
				paper_word(settings.paper), "demo", settings.demo, "today", today, "expires_at",
				expires);
	return reply->json ? OK : no_memory(&reply->err);
}

/* What a sign-in or the setup hands to the transaction. */
struct opening {
	struct person person;
	const char *plant_name; /* NULL: not a setup */
};

static void set_cookie(const struct request *req, struct reply *reply, const char *value, long long seconds)
{
	snprintf(reply->set_cookie, sizeof reply->set_cookie,
		 COOKIE "=%s; Path=/; HttpOnly; SameSite=Strict; Max-Age=%lld%s", value, seconds,
		 req->secure ? "; Secure" : "");
}

/* On a shared tablet the next one signs in over the one before: that session ends here. */
static enum status open_session(struct request *req, struct reply *reply, void *context)
{
	const struct app *app = req->app;
	struct session_limits limits = {app->session_idle_ms, app->session_absolute_ms};
	struct opening *o = context;
	struct opened_session session;
	struct err *err = &reply->err;
	enum status rc = OK;

	if (o->plant_name)
		rc = person_setup(api_db(req), o->plant_name, &o->person, &req->arena, err);
	if (!rc && api_actor(req))
		rc = session_close(api_db(req), api_actor(req), err);
	if (!rc)
		rc = session_open(api_db(req), &o->person, req->remote, &limits, &req->arena, &session, err);
	if (!rc)
		rc = describe(api_db(req), &session.actor, &req->arena, reply);
	if (rc)
		return rc;
	reply->http_status = 201;
	set_cookie(req, reply, session.cookie, app->session_absolute_ms / 1000);
	return OK;
}

enum status api_setup(struct request *req, struct reply *reply)
{
	struct opening o = {0};
	const char *password;
	enum status rc = person_setup_from_json(req->body, &o.person, &o.plant_name, &password, &req->arena,
						&reply->err);

	if (!rc)
		rc = password_hash(password, &req->arena, &o.person.password_hash, &reply->err);
	return rc ? rc : api_write(req, reply, open_session, &o);
}

enum status api_session_open(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct opening o = {0};
	struct json_in in;
	const char *sign_in, *password;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	sign_in = person_sign_in(&in, "sign_in", &req->arena);
	password = json_in_text(&in, "password", PASSWORD_MOST);
	rc = json_in_end(&in);
	if (!rc)
		rc = session_check(app->store, sign_in, password, req->remote, &req->arena, &o.person, &reply->err);
	return rc ? rc : api_write(req, reply, open_session, &o);
}

enum status api_session_get(struct request *req, struct reply *reply)
{
	return describe(api_db(req), api_actor(req), &req->arena, reply);
}

enum status api_session_close(struct request *req, struct reply *reply)
{
	enum status rc = session_close(api_db(req), api_actor(req), &reply->err);

	if (rc)
		return rc;
	reply->http_status = 204;
	set_cookie(req, reply, "", 0);
	return OK;
}

static enum status set_own_password(struct request *req, struct reply *reply, void *context)
{
	reply->http_status = 204;
	return person_set_password(api_db(req), api_actor(req), api_actor(req)->person_id, context, &req->arena,
				   &reply->err);
}

enum status api_session_password(struct request *req, struct reply *reply)
{
	const char *password, *hash = NULL;
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	api_confirmed(&in);
	password = person_password(&in, "new_password");
	rc = json_in_end(&in);
	if (!rc)
		rc = password_hash(password, &req->arena, &hash, &reply->err);
	return rc ? rc : api_write(req, reply, set_own_password, (void *)(uintptr_t)hash);
}
