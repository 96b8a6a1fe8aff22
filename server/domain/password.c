#include "domain/password.h"

#include <pthread.h>
#include <sodium.h>
#include <string.h>

#define AT_ONCE 2 /* hashings; each takes 64 MiB, and a flood of sign-ins must not take the machine's memory */

static unsigned long long cost_passes = crypto_pwhash_OPSLIMIT_INTERACTIVE;
static size_t cost_memory = crypto_pwhash_MEMLIMIT_INTERACTIVE;

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t turn_over = PTHREAD_COND_INITIALIZER;
static int running;

static void take_turn(void)
{
	pthread_mutex_lock(&lock);
	while (running == AT_ONCE)
		pthread_cond_wait(&turn_over, &lock);
	running++;
	pthread_mutex_unlock(&lock);
}

static void end_turn(void)
{
	pthread_mutex_lock(&lock);
	running--;
	pthread_cond_signal(&turn_over);
	pthread_mutex_unlock(&lock);
}

void password_set_cost(unsigned long long passes, size_t memory)
{
	cost_passes = passes;
	cost_memory = memory;
}

static enum status hash_into(const char *password, char out[crypto_pwhash_STRBYTES], struct err *err)
{
	if (sodium_init() < 0 || crypto_pwhash_str_alg(out, password, strlen(password), cost_passes, cost_memory,
						       crypto_pwhash_ALG_ARGON2ID13) != 0)
		return err_set(err, NO_MEMORY, "", "there is not enough memory to work on a password");
	return OK;
}

enum status password_hash(const char *password, struct arena *a, const char **hash, struct err *err)
{
	char text[crypto_pwhash_STRBYTES];
	enum status rc;

	take_turn();
	rc = hash_into(password, text, err);
	end_turn();
	if (rc)
		return rc;
	*hash = arena_strdup(a, text);
	return *hash ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

static enum status compare(const char *password, const char *hash, bool *fits, struct err *err)
{
	char unused[crypto_pwhash_STRBYTES];

	*fits = false;
	if (!hash)
		return hash_into(password, unused, err);
	*fits = sodium_init() >= 0 && crypto_pwhash_str_verify(hash, password, strlen(password)) == 0;
	return OK;
}

enum status password_check(const char *password, const char *hash, const struct password_turn *turn, bool *fits,
			   struct err *err)
{
	enum status rc;

	take_turn();
	rc = turn && turn->before ? turn->before(turn->context, err) : OK;
	if (!rc)
		rc = compare(password, hash, fits, err);
	if (!rc && turn && turn->after)
		rc = turn->after(turn->context, *fits, err);
	end_turn();
	return rc;
}
