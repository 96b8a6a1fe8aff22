#include "domain/session.h"

#include <stdio.h>
#include <string.h>

#include "base/log.h"
#include "base/text.h"
#include "base/time.h"
#include "domain/ledger.h"
#include "domain/password.h"

/* One attempt: the keys it is counted under, and how often each may fail. */
struct attempt {
	struct store *store;
	struct {
		char key[96];
		int most;
	} counts[2];
	int n;
};

static void count_under(struct attempt *t, const char *kind, const char *whom, int most)
{
	if (!whom || !*whom)
		return;
	snprintf(t->counts[t->n].key, sizeof t->counts[t->n].key, "%s:%s", kind, whom);
	t->counts[t->n++].most = most;
}

static enum status throttled(struct db *db, const struct attempt *t, int i, struct err *err)
{
	int64_t now = time_now_ms(), count, oldest, wait_ms, minutes;
	enum status rc = store_failure_count(db, t->counts[i].key, now - FAILURE_WINDOW_MS, &count, &oldest, err);

	if (rc || count < t->counts[i].most)
		return rc;
	wait_ms = oldest + FAILURE_WINDOW_MS - now;
	minutes = (wait_ms + 59999) / 60000;
	err->retry_after_s = (int)((wait_ms + 999) / 1000);
	return err_set(err, TOO_MANY, "", "too many wrong passwords; try again in %d minute%s", (int)minutes,
		       minutes == 1 ? "" : "s");
}

static enum status judge_attempt(void *context, struct err *err)
{
	struct attempt *t = context;
	struct db *db = store_read_begin(t->store);
	enum status rc = OK;

	for (int i = 0; i < t->n && !rc; i++)
		rc = throttled(db, t, i, err);
	store_read_end(t->store, db);
	return rc;
}

static enum status write_failure(struct db *db, void *context, struct err *err)
{
	const struct attempt *t = context;
	int64_t now = time_now_ms();
	enum status rc = store_failure_remove_old(db, now - FAILURE_WINDOW_MS, err);

	for (int i = 0; i < t->n && !rc; i++)
		rc = store_failure_add(db, t->counts[i].key, now, err);
	return rc;
}

static enum status count_attempt(void *context, bool fits, struct err *err)
{
	struct attempt *t = context;

	return fits ? OK : store_write(t->store, write_failure, t, err);
}

/* hash NULL: nobody to compare with, and the same time spent. */
static enum status try_password(struct attempt *t, const char *password, const char *hash, bool *fits, struct err *err)
{
	struct password_turn turn = {judge_attempt, count_attempt, t};
	enum status rc = judge_attempt(t, err); /* a throttled one does not even wait for its turn */

	return rc ? rc : password_check(password, hash, &turn, fits, err);
}

static enum status find_person(struct store *store, const char *sign_in, struct arena *a, struct person *out,
			       struct err *err)
{
	struct db *db = store_read_begin(store);
	enum status rc = store_person_by_sign_in(db, sign_in, a, out, err);

	store_read_end(store, db);
	return rc;
}

enum status session_check(struct store *store, const char *sign_in, const char *password, const char *remote,
			  struct arena *a, struct person *out, struct err *err)
{
	struct attempt t = {.store = store};
	enum status rc = find_person(store, sign_in, a, out, err);
	bool known = rc == OK, fits = false;

	if (rc && rc != NOT_FOUND)
		return rc;
	count_under(&t, "name", sign_in, FAILURES_OF_NAME);
	count_under(&t, "from", remote, FAILURES_OF_ADDRESS);
	rc = try_password(&t, password, known ? out->password_hash : NULL, &fits, err);
	if (rc)
		return rc;
	if (!fits)
		log_warn("a sign-in failed from %s", remote ? remote : "an unknown address");
	if (!fits || !out->active)
		return err_set(err, UNAUTHENTICATED, "password", "the name or the password is wrong");
	return OK;
}

enum status session_confirm(struct store *store, const struct actor *actor, const char *password, struct arena *a,
			    struct err *err)
{
	struct attempt t = {.store = store};
	struct person person;
	bool fits = false;
	enum status rc = find_person(store, actor->sign_in, a, &person, err);

	if (rc)
		return rc;
	count_under(&t, "confirm", actor->person_id, FAILURES_OF_NAME);
	rc = try_password(&t, password, person.password_hash, &fits, err);
	if (rc)
		return rc;
	return fits ? OK : err_set(err, UNAUTHENTICATED, "password", "the password is wrong");
}

static enum status note(struct db *db, const struct actor *actor, const char *action, struct err *err)
{
	struct ledger_note n = {
		.action = action, .thing = "person", .thing_id = actor->person_id, .label = actor->name};

	return ledger_add(db, actor, &n, err);
}

static enum status tidy(struct db *db, const struct person *person, const struct session_limits *limits,
			struct err *err)
{
	int64_t now = time_now_ms();
	char key[96];
	enum status rc = store_session_remove_old(db, now, now - limits->idle_ms, err);

	snprintf(key, sizeof key, "name:%s", person->sign_in);
	return rc ? rc : store_failure_forget(db, key, err);
}

static void make_actor(const struct session *s, const struct person *p, struct actor *out)
{
	*out = (struct actor){.person_id = p->id,
			      .name = p->name,
			      .sign_in = p->sign_in,
			      .roles = p->roles,
			      .session_id = s->id,
			      .token = s->token,
			      .expires_at = s->expires_at};
}

enum status session_open(struct db *db, const struct person *person, const char *remote,
			 const struct session_limits *limits, struct arena *a, struct opened_session *out,
			 struct err *err)
{
	char id[SHA256_HEX_SIZE], token[48];
	struct session s = {.person_id = person->id, .created_at = time_now_ms(), .remote = remote};
	enum status rc = tidy(db, person, limits, err);

	random_token(out->cookie, sizeof out->cookie, 32);
	random_token(token, sizeof token, 32);
	sha256_hex(out->cookie, strlen(out->cookie), id);
	s.id = arena_strdup(a, id);
	s.token = arena_strdup(a, token);
	s.seen_at = s.created_at;
	s.expires_at = s.created_at + limits->absolute_ms;
	make_actor(&s, person, &out->actor);
	if (!rc)
		rc = s.id && s.token ? store_session_add(db, &s, err) : err_set(err, NO_MEMORY, "", "out of memory");
	return rc ? rc : note(db, &out->actor, "sign_in", err);
}

enum status session_find(struct db *db, const char *cookie, const struct session_limits *limits, struct arena *a,
			 struct actor *out, bool *stale, struct err *err)
{
	char id[SHA256_HEX_SIZE];
	struct session s;
	struct person p;
	int64_t now = time_now_ms();
	enum status rc;

	sha256_hex(cookie, strlen(cookie), id);
	rc = store_session_get(db, id, a, &s, &p, err);
	if (rc)
		return rc;
	if (!p.active || now >= s.expires_at || now >= s.seen_at + limits->idle_ms)
		return err_set(err, NOT_FOUND, "", "the session has ended");
	make_actor(&s, &p, out);
	*stale = now - s.seen_at >= SESSION_SEEN_MS;
	return OK;
}

static enum status write_seen(struct db *db, void *context, struct err *err)
{
	return store_session_seen(db, context, time_now_ms(), err);
}

enum status session_seen(struct store *store, const struct actor *actor, struct err *err)
{
	char id[SHA256_HEX_SIZE];

	snprintf(id, sizeof id, "%s", actor->session_id);
	return store_write(store, write_seen, id, err);
}

enum status session_close(struct db *db, const struct actor *actor, struct err *err)
{
	enum status rc = store_session_remove(db, actor->session_id, err);

	return rc ? rc : note(db, actor, "sign_out", err);
}
