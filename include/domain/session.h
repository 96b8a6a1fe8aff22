/*
 * Signing in, staying signed in, and giving one's password again before signing.
 *
 * The cookie holds a random token; the store knows only its SHA-256. A session ends when it has not been used for the idle
 * limit, at its absolute limit, when its person signs out, is deactivated or gets another password.
 * Wrong passwords are counted by name and by address; past the limit nothing is tried any more until the window has moved on.
 */
#ifndef DOMAIN_SESSION_H
#define DOMAIN_SESSION_H

#include "domain/actor.h"
#include "store/session.h"
#include "store/store.h"

#define FAILURE_WINDOW_MS   (5 * 60 * 1000)
#define FAILURES_OF_NAME    5 /* in the window; own choice: slow enough for guessing, bearable for a forgetful person */
#define FAILURES_OF_ADDRESS 20
#define SESSION_SEEN_MS	    (60 * 1000) /* how old seen_at may grow before it is written again */

struct session_limits {
	int64_t idle_ms, absolute_ms;
};

/* A fresh session together with what only the browser gets to know. */
struct opened_session {
	struct actor actor;
	char cookie[48]; /* 32 random bytes, base64url */
};

/*
 * Who has this name and password? Slow; must not run inside a write. UNAUTHENTICATED /password without saying which of the two
 * is wrong, TOO_MANY when throttled. sign_in is expected in lower case. remote may be NULL.
 */
enum status session_check(struct store *store, const char *sign_in, const char *password, const char *remote,
			  struct arena *a, struct person *out, struct err *err);
/* Is it still the one who signed in? UNAUTHENTICATED /password, TOO_MANY; counted apart from signing in. */
enum status session_confirm(struct store *store, const struct actor *actor, const char *password, struct arena *a,
			    struct err *err);

/* Opens a session for a person whose password was found right, forgets the failures of the name, clears what has expired. */
enum status session_open(struct db *db, const struct person *person, const char *remote,
			 const struct session_limits *limits, struct arena *a, struct opened_session *out,
			 struct err *err);
/* Whose cookie is this? NOT_FOUND when the session has ended. *stale: session_seen is due. */
enum status session_find(struct db *db, const char *cookie, const struct session_limits *limits, struct arena *a,
			 struct actor *out, bool *stale, struct err *err);
enum status session_seen(struct store *store, const struct actor *actor, struct err *err);
enum status session_close(struct db *db, const struct actor *actor, struct err *err);

#endif
