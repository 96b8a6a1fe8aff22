/* The key that certificates are sealed with, as the settings name it; and the commands seal show and seal renew. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/time.h"
#include "domain/ledger.h"
#include "main.h"
#include "report/seal_key.h"

#define DEMO_PAST_MS (4 * 366 * 24 * 3600000LL) /* the demo plant's certificates are up to three years old */

static enum status read_secrets(const struct config *c, char **passphrase, char **pin, struct err *err)
{
	enum status rc = seal_passphrase_read(c->seal_passphrase_file, "LOOPLEDGER_SEAL_PASSPHRASE", passphrase, err);

	return rc ? rc : seal_passphrase_read(c->seal_pin_file, "LOOPLEDGER_SEAL_PIN", pin, err);
}

/* The plant's own authority stands beside its file. The caller frees it; NULL for no memory. */
static char *seal_folder(const struct config *c)
{
	char *folder = config_folder(c), *seal = NULL;

	if (folder && asprintf(&seal, "%s/seal", folder) < 0)
		seal = NULL;
	free(folder);
	return seal;
}

enum status main_issuer(const struct config *c, struct issuer **out, struct err *err)
{
	char *passphrase = NULL, *pin = NULL, *seal = seal_folder(c);
	struct issuer_config config = {.pkcs12 = c->seal_pkcs12,
				       .stamp_roots = c->stamp_roots,
				       .seal_roots = c->seal_roots,
				       .unsealed = c->unsealed,
				       .own_since_ms = c->demo ? time_now_ms() - DEMO_PAST_MS : 0,
				       .program = "Loopledger " LOOPLEDGER_VERSION};
	enum status rc = read_secrets(c, &passphrase, &pin, err);

	if (!rc && !seal)
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	config.folder = seal;
	config.passphrase = passphrase;
	config.token = (struct seal_token){c->seal_module, c->seal_token, pin, c->seal_certificate};
	if (!rc && !(*out = issuer_new(&config)))
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	if (!rc && c->port) /* a free one is known once the server listens */
		issuer_set_port(*out, (unsigned)c->port);
	seal_passphrase_free(passphrase);
	seal_passphrase_free(pin);
	free(seal);
	return rc;
}

/* ---- the commands ---- */

static enum status open_configured(const struct config *c, const char *folder, const char *passphrase, const char *pin,
				   struct seal_key **out, struct err *err)
{
	if (c->seal_module)
		return seal_key_open_token(
			&(struct seal_token){c->seal_module, c->seal_token, pin, c->seal_certificate}, out, err);
	if (c->seal_pkcs12)
		return seal_key_open_pkcs12(c->seal_pkcs12, passphrase, out, err);
	return seal_key_open_own(folder, passphrase, out, err);
}

static void print_facts(const struct seal_key *key, const char *folder, bool own)
{
	char from[TIME_TEXT_SIZE], until[TIME_TEXT_SIZE];
	struct seal_key_facts f;
	struct err err = {0};

	seal_key_facts(key, &f);
	time_to_text(f.not_before_ms, from);
	time_to_text(f.not_after_ms, until);
	printf("%s, %s, valid from %.10s until %.10s\n", f.subject, f.algorithm, from, until);
	printf("SHA-256 of the certificate  %s\n", f.fingerprint);
	if (f.root_fingerprint[0])
		printf("SHA-256 of its root         %s\n", f.root_fingerprint);
	if (own)
		printf("Whoever checks certificates away from the plant needs %s/root.crt\n", folder);
	if (f.warning[0])
		printf("%s\n", f.warning);
	if (seal_key_check(key, time_now_ms(), &err))
		printf("It does not seal now: %s\n", err.message);
}

static enum status write_renewed(struct db *db, void *context, struct err *err)
{
	const struct seal_key_facts *f = context;
	char until[TIME_TEXT_SIZE];
	struct ledger_note note = {.action = "renew", .thing = "seal", .thing_id = "seal", .label = f->subject};
	enum status rc;

	time_to_text(f->not_after_ms, until);
	note.after = json_pack("{s:s, s:s}", "fingerprint", f->fingerprint, "valid_until", until);
	rc = ledger_add(db, NULL, &note, err);
	json_decref(note.after);
	return rc;
}

static enum status renew(const struct config *c, const char *folder, const char *passphrase, struct err *err)
{
	struct seal_key *key = NULL;
	struct seal_key_facts facts;
	struct store *store = NULL;
	enum status rc;

	if (c->seal_module || c->seal_pkcs12)
		return err_set(err, INVALID, "",
			       "this seal is the company's: whoever issued its certificate renews it");
	rc = main_open(c, false, &store, err);
	if (!rc)
		rc = seal_authority_renew(folder, SEAL_EC_P256, passphrase, time_now_ms(), err);
	if (!rc)
		rc = seal_key_open_own(folder, passphrase, &key, err);
	if (!rc) {
		seal_key_facts(key, &facts);
		rc = store_write(store, write_renewed, &facts, err);
	}
	if (!rc)
		puts("The seal is renewed under the same root; what was sealed before stays valid. Start the program anew.");
	seal_key_free(key);
	store_close(store);
	return rc;
}

int main_seal(const struct config *c, int n, const char **words)
{
	bool renews = n == 1 && !strcmp(words[0], "renew"), shows = n == 1 && !strcmp(words[0], "show");
	char *folder = seal_folder(c), *passphrase = NULL, *pin = NULL;
	struct seal_key *key = NULL;
	struct err err = {0};
	enum status rc = folder ? OK : err_set(&err, NO_MEMORY, "", "out of memory");

	if (!renews && !shows)
		rc = err_set(&err, INVALID, "", "loopledger seal show and loopledger seal renew are what there is");
	if (!rc)
		rc = read_secrets(c, &passphrase, &pin, &err);
	if (!rc && renews)
		rc = renew(c, folder, passphrase, &err);
	if (!rc)
		rc = open_configured(c, folder, passphrase, pin, &key, &err);
	if (!rc)
		print_facts(key, folder, !c->seal_module && !c->seal_pkcs12);
	seal_key_free(key);
	seal_passphrase_free(passphrase);
	seal_passphrase_free(pin);
	free(folder);
	return rc ? main_fail(&err) : EXIT_SUCCESS;
}
