/* The JSON API: which path does what, and who may. One handler file per resource. */
#ifndef API_API_H
#define API_API_H

#include "domain/actor.h"
#include "domain/live_run.h"
#include "domain/permission.h"
#include "http/http.h"
#include "report/batch.h"
#include "report/issue.h"
#include "store/store.h"

struct app {
	struct store *store;
	const char *version;	/* of the program */
	const char *static_dir; /* serve pages from this folder instead of the built-in ones; NULL as a rule */
	long long session_idle_ms, session_absolute_ms;
	struct issuer *issuer;
	struct batches *batches;
	struct live *live;
	struct live_runs *live_runs;
};

extern const struct route api_routes[];
extern const struct http_hooks api_hooks;

static inline const struct actor *api_actor(const struct request *req)
{
	return req->actor;
}

static inline struct db *api_db(const struct request *req)
{
	return req->db;
}

/*
 * A body of a route that confirms holds "password", and may hold "sign_in", beside its own members. The hook has checked them
 * when the handler runs; this marks them as known, so that json_in_end does not refuse them.
 */
static inline void api_confirmed(struct json_in *in)
{
	json_in_has(in, "password");
	json_in_has(in, "sign_in");
}

/*
 * Runs job as one transaction on the writer thread, with req->db set, and reply->after when it is on disk; what ROUTE_WRITE does
 * with its handler. For handlers of ROUTE_PLAIN that must do something slow first, such as hashing a password. A POST with
 * an Idempotency-Key gets the answer that this person got for the same key and request before.
 */
enum status api_write(struct request *req, struct reply *reply,
		      enum status (*job)(struct request *req, struct reply *reply, void *context), void *context);

#endif
