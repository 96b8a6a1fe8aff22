/* Writes: one transaction, one answer, and the same answer again for a request that comes twice. */
#include <stdlib.h>
#include <string.h>

#include "api/api.h"
#include "base/text.h"
#include "base/time.h"
#include "store/idempotency.h"

#define KEY_LEAST	8
#define KEY_MOST	64
#define ANSWERS_KEPT_MS (7LL * 24 * 3600 * 1000) /* a tablet that comes back later than this has been given up */

struct write {
	struct request *req;
	struct reply *reply;
	enum status (*job)(struct request *req, struct reply *reply, void *context);
	void *context;
	const char *key; /* Idempotency-Key; NULL without */
	char request_hash[SHA256_HEX_SIZE];
};

/* Passwords stay out of it: nothing that is stored may help to guess one. */
static json_t *body_without_secrets(const struct request *req)
{
	json_t *body = json_is_object(req->body) ? json_copy(req->body) : json_incref(req->body);

	if (json_is_object(body)) {
		json_object_del(body, "password");
		json_object_del(body, "new_password");
	}
	return body;
}

static enum status hash_request(struct write *w, struct err *err)
{
	struct arena *a = &w->req->arena;
	json_t *body = body_without_secrets(w->req);
	const char *content = body ? json_canonical(body, a) : "";
	const char *text = content ? arena_printf(a, "%s %s\n%s", w->req->method, w->req->path, content) : NULL;

	json_decref(body);
	if (!text)
		return err_set(err, NO_MEMORY, "", "out of memory");
	sha256_hex(text, strlen(text), w->request_hash);
	return OK;
}

static enum status take_key(struct write *w, struct err *err)
{
	const char *key = w->req->header ? w->req->header(w->req, "Idempotency-Key") : NULL;

	if (!key || !w->req->actor || strcmp(w->req->method, "POST") != 0)
		return OK;
	if (strlen(key) < KEY_LEAST || strlen(key) > KEY_MOST)
		return err_set(err, INVALID, "", "an Idempotency-Key has %d to %d characters", KEY_LEAST, KEY_MOST);
	for (const char *p = key; *p; p++) {
		if (*p <= ' ' || *p > '~')
			return err_set(err, INVALID, "", "an Idempotency-Key is made of visible ASCII characters");
	}
	w->key = key;
	return hash_request(w, err);
}

/* NOT_FOUND when this is the first time. */
static enum status replay(struct write *w, struct db *db, struct err *err)
{
	struct remembered_answer before;
	enum status rc = store_answer_get(db, api_actor(w->req)->person_id, w->key, &w->req->arena, &before, err);

	if (rc)
		return rc;
	if (strcmp(before.request_hash, w->request_hash) != 0)
		return err_set(err, INVALID, "", "this Idempotency-Key was used for another request");
	w->reply->http_status = before.http_status;
	if (*before.answer_json)
		w->reply->json = json_parse(before.answer_json, strlen(before.answer_json), err);
	return w->reply->json || !*before.answer_json ? OK : FAILED;
}

static enum status remember(const struct write *w, struct db *db, struct err *err)
{
	const struct reply *reply = w->reply;
	int64_t now = time_now_ms();
	struct remembered_answer answer = {
		.person_id = api_actor(w->req)->person_id,
		.key = w->key,
		.request_hash = w->request_hash,
		.http_status = reply->http_status,
		.created_at = now,
		.answer_json = reply->json ? json_text(reply->json, &w->req->arena) : "",
	};
	enum status rc;

	if (!answer.answer_json)
		return err_set(err, NO_MEMORY, "", "out of memory");
	rc = store_answer_remove_old(db, now - ANSWERS_KEPT_MS, err);
	return rc ? rc : store_answer_add(db, &answer, err);
}

/* An answer that is to be remembered is built here and now, so that it is stored with the change. */
static enum status run_once(struct write *w, struct db *db, struct err *err)
{
	enum status rc = w->job(w->req, w->reply, w->context);

	if (!rc && w->key && w->reply->after) {
		rc = w->reply->after(w->req, w->reply);
		w->reply->after = NULL;
	}
	return !rc && w->key ? remember(w, db, err) : rc;
}

static enum status in_transaction(struct db *db, void *context, struct err *err)
{
	struct write *w = context;
	enum status rc = NOT_FOUND;

	w->req->db = db;
	if (w->key)
		rc = replay(w, db, err);
	if (rc == NOT_FOUND)
		rc = run_once(w, db, err);
	w->req->db = NULL;
	return rc;
}

/* Nothing of an answer to a change that was not made may go out. */
static void clear(struct reply *reply)
{
	struct err err = reply->err;

	json_decref(reply->json);
	free(reply->bytes);
	*reply = (struct reply){.http_status = 200, .err = err};
}

static enum status finish(const struct write *w)
{
	const struct app *app = w->req->app;
	enum status (*after)(struct request *, struct reply *) = w->reply->after;
	enum status rc;

	if (!after)
		return OK;
	w->reply->after = NULL;
	w->req->db = store_read_begin(app->store);
	rc = after(w->req, w->reply);
	store_read_end(app->store, w->req->db);
	w->req->db = NULL;
	return rc;
}

enum status api_write(struct request *req, struct reply *reply,
		      enum status (*job)(struct request *req, struct reply *reply, void *context), void *context)
{
	const struct app *app = req->app;
	struct write w = {.req = req, .reply = reply, .job = job, .context = context};
	enum status rc = take_key(&w, &reply->err);

	if (rc)
		return rc;
	rc = store_write(app->store, in_transaction, &w, &reply->err);
	if (rc) {
		clear(reply);
		return rc;
	}
	return finish(&w);
}
