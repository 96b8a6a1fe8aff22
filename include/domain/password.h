/* Passwords: Argon2id (RFC 9106) with the parameters and salt inside the hash. Slow on purpose: never on the writer thread. */
#ifndef DOMAIN_PASSWORD_H
#define DOMAIN_PASSWORD_H

#include <stdbool.h>
#include <stddef.h>
#include "base/arena.h"
#include "base/status.h"

#define PASSWORD_LEAST 10 /* characters */
#define PASSWORD_MOST  200

/* What hashes made from now on cost: passes over the memory, and memory in bytes. Without a call 2 passes over 64 MiB,
 * libsodium's "interactive". Tests and generators of invented plants lower it. */
void password_set_cost(unsigned long long passes, size_t memory);

/* *hash is allocated from a. Waits while others use the memory that is set aside for it. */
enum status password_hash(const char *password, struct arena *a, const char **hash, struct err *err);

/*
 * Takes the same time for hash NULL (nobody of that name), where the answer is false. before, if not NULL, is asked once
 * it is this caller's turn, and after with the outcome while it still is: so that attempts made at the same time count
 * each other. *fits is set only when OK is returned.
 */
struct password_turn {
	enum status (*before)(void *context, struct err *err);
	enum status (*after)(void *context, bool fits, struct err *err);
	void *context;
};
enum status password_check(const char *password, const char *hash, const struct password_turn *turn, bool *fits,
			   struct err *err);

#endif
