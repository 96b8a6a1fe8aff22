/* The JSON API: which path does what, and who may. One handler file per resource. */
#ifndef API_API_H
#define API_API_H

#include "domain/actor.h"
#include "domain/permission.h"
#include "http/http.h"
#include "store/store.h"

struct app {
	struct store *store;
	const char *version;		/* of the program */
	const char *static_dir;		/* serve pages from this folder instead of the built-in ones; NULL as a rule */
	long long session_idle_ms, session_absolute_ms;
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

#endif
