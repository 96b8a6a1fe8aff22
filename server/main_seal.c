/* The key that certificates are sealed with, as the settings name it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/time.h"
#include "main.h"

#define DEMO_PAST_MS (4 * 366 * 24 * 3600000LL) /* the demo plant's certificates are up to three years old */

static enum status read_secrets(const struct config *c, char **passphrase, char **pin, struct err *err)
{
	enum status rc = seal_passphrase_read(c->seal_passphrase_file, "LOOPLEDGER_SEAL_PASSPHRASE", passphrase, err);

	return rc ? rc : seal_passphrase_read(c->seal_pin_file, "LOOPLEDGER_SEAL_PIN", pin, err);
}

enum status main_issuer(const struct config *c, struct issuer **out, struct err *err)
{
	char *passphrase = NULL, *pin = NULL, *folder = config_folder(c), *seal = NULL;
	struct issuer_config config = {.pkcs12 = c->seal_pkcs12,
				       .stamp_roots = c->stamp_roots,
				       .seal_roots = c->seal_roots,
				       .unsealed = c->unsealed,
				       .own_since_ms = c->demo ? time_now_ms() - DEMO_PAST_MS : 0,
				       .program = "Loopledger " LOOPLEDGER_VERSION};
	enum status rc = read_secrets(c, &passphrase, &pin, err);

	if (!rc && (!folder || asprintf(&seal, "%s/seal", folder) < 0)) {
		seal = NULL;
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	}
	config.folder = seal;
	config.passphrase = passphrase;
	config.token = (struct seal_token){c->seal_module, c->seal_token, pin, c->seal_certificate};
	if (!rc && !(*out = issuer_new(&config)))
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	if (!rc && c->port) /* a free one is known once the server listens */
		issuer_set_port(*out, (unsigned)c->port);
	seal_passphrase_free(passphrase);
	seal_passphrase_free(pin);
	free(folder);
	free(seal);
	return rc;
}
