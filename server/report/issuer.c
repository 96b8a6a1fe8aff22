/* The key that a plant issues with: opened, or made, at its first use. */
#include "report/issue.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/log.h"
#include "base/time.h"
#include "domain/setting.h"
#include "issuer_internal.h"

static char *copy(const char *s, bool *failed)
{
	char *own = s ? strdup(s) : NULL;

	*failed = *failed || (s && !own);
	return own;
}

struct issuer *issuer_new(const struct issuer_config *c)
{
	struct issuer *i = calloc(1, sizeof *i);
	bool failed = !i;

	if (!i)
		return NULL;
	pthread_mutex_init(&i->lock, NULL);
	pthread_mutex_init(&i->failures_lock, NULL);
	i->folder = copy(c->folder, &failed);
	i->passphrase = copy(c->passphrase, &failed);
	i->pkcs12 = copy(c->pkcs12, &failed);
	i->module = copy(c->token.module, &failed);
	i->uri = copy(c->token.uri, &failed);
	i->pin = copy(c->token.pin, &failed);
	i->token_certificate = copy(c->token.certificate, &failed);
	i->stamp_roots_file = copy(c->stamp_roots, &failed);
	i->seal_roots_file = copy(c->seal_roots, &failed);
	i->program = copy(c->program, &failed);
	i->unsealed = c->unsealed;
	i->own_since_ms = c->own_since_ms;
	if (!failed)
		return i;
	issuer_free(i);
	return NULL;
}

void issuer_free(struct issuer *i)
{
	if (!i)
		return;
	seal_key_free(i->key);
	seal_roots_free(i->roots);
	seal_roots_free(i->stamp_roots);
	free(i->folder);
	seal_passphrase_free(i->passphrase);
	free(i->pkcs12);
	free(i->module);
	free(i->uri);
	seal_passphrase_free(i->pin);
	free(i->token_certificate);
	free(i->stamp_roots_file);
	free(i->seal_roots_file);
	free(i->program);
	pthread_mutex_destroy(&i->lock);
	pthread_mutex_destroy(&i->failures_lock);
	free(i);
}

void issuer_set_port(struct issuer *i, unsigned port)
{
	i->port = port;
}

/* ---- the key ---- */

static enum status make_authority(const struct issuer *i, struct store *store, struct err *err)
{
	struct db *db = store_read_begin(store);
	struct settings settings;
	struct arena a = {0};
	enum status rc = settings_get(db, &a, &settings, err);

	store_read_end(store, db);
	if (!rc && !*settings.plant_name)
		rc = err_set(err, CONFLICT, "", "the plant has no name yet that its seal could carry");
	if (!rc)
		rc = seal_authority_create(i->folder, settings.plant_name, SEAL_EC_P256, i->passphrase,
					   i->own_since_ms ? i->own_since_ms : time_now_ms(), err);
	if (!rc)
		log_info("made the plant's own seal in %s", i->folder);
	arena_clear(&a);
	return rc;
}

static enum status open_key(struct issuer *i, struct store *store, struct err *err)
{
	const struct seal_token token = {i->module, i->uri, i->pin, i->token_certificate};
	enum status rc = OK;

	if (i->module)
		return seal_key_open_token(&token, &i->key, err);
	if (i->pkcs12)
		return seal_key_open_pkcs12(i->pkcs12, i->passphrase, &i->key, err);
	if (access(i->folder, F_OK) != 0)
		rc = make_authority(i, store, err);
	return rc ? rc : seal_key_open_own(i->folder, i->passphrase, &i->key, err);
}

static enum status open_roots(struct issuer *i, struct err *err)
{
	X509 *root = seal_key_root(i->key);
	enum status rc = OK;

	i->roots = seal_roots_new();
	if (!i->roots)
		return err_set(err, NO_MEMORY, "", "out of memory");
	if (root)
		rc = seal_roots_add(i->roots, root, err);
	if (!rc && i->seal_roots_file)
		rc = seal_roots_add_file(i->roots, i->seal_roots_file, err);
	if (!rc && i->stamp_roots_file) {
		i->stamp_roots = seal_roots_new();
		rc = i->stamp_roots ? seal_roots_add_file(i->stamp_roots, i->stamp_roots_file, err) :
				      err_set(err, NO_MEMORY, "", "out of memory");
	}
	return rc;
}

static void warn_of(const struct seal_key *key)
{
	struct seal_key_facts facts;

	seal_key_facts(key, &facts);
	if (*facts.warning)
		log_warn("the seal: %s", facts.warning);
}

/* With the lock held. What is half open after a failure is closed again, so that the next try begins anew. */
static enum status open_all(struct issuer *i, struct store *store, struct err *err)
{
	enum status rc;

	if (i->key)
		return OK;
	rc = open_key(i, store, err);
	if (!rc)
		rc = open_roots(i, err);
	if (!rc) {
		warn_of(i->key);
		return OK;
	}
	seal_key_free(i->key);
	seal_roots_free(i->roots);
	seal_roots_free(i->stamp_roots);
	i->key = NULL;
	i->roots = i->stamp_roots = NULL;
	return rc;
}

enum status issuer_key(struct issuer *i, struct store *store, struct seal_key **key, struct err *err)
{
	enum status rc;

	pthread_mutex_lock(&i->lock);
	rc = open_all(i, store, err);
	*key = i->key;
	pthread_mutex_unlock(&i->lock);
	return rc;
}

/* To look at a certificate is no reason to make an authority. */
enum status issuer_roots(struct issuer *i, struct store *store, const struct seal_roots **roots, struct err *err)
{
	enum status rc = OK;

	pthread_mutex_lock(&i->lock);
	if (i->key || i->module || i->pkcs12 || !access(i->folder, F_OK))
		rc = open_all(i, store, err);
	*roots = i->roots;
	pthread_mutex_unlock(&i->lock);
	return rc;
}

const struct seal_roots *issuer_stamp_roots(struct issuer *i)
{
	return i->stamp_roots;
}

/* ---- the ledger's checkpoints ---- */

static enum status sign_text(void *context, const char *text, char **signature, char **certificate, struct err *err)
{
	struct issuer *i = context;
	struct seal_key *key;
	enum status rc = issuer_key(i, i->store, &key, err);

	if (!rc)
		rc = seal_key_check(key, time_now_ms(), err);
	return rc ? rc : seal_note_sign(key, text, signature, certificate, err);
}

static bool text_fits(void *context, const char *text, const char *signature, const char *certificate)
{
	struct issuer *i = context;
	const struct seal_roots *roots;
	struct err err;

	return !issuer_roots(i, i->store, &roots, &err) && roots && seal_note_fits(roots, text, signature, certificate);
}

const struct ledger_seal *issuer_ledger_seal(struct issuer *i, struct store *store)
{
	i->store = store;
	i->ledger_seal = (struct ledger_seal){i, sign_text, text_fits};
	return &i->ledger_seal;
}
