/* Whoever acts: the signed-in person of a request, or the program itself. */
#ifndef DOMAIN_ACTOR_H
#define DOMAIN_ACTOR_H

struct actor {
	const char *person_id; /* NULL: the program itself */
	const char *name;
	const char *sign_in;
	int roles;		/* enum role, added up */
	const char *session_id; /* SHA-256 of the cookie's token */
	const char *token;	/* the session's own token */
	long long expires_at;
};

#endif
