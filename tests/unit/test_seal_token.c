/* A key that stays in its device: SoftHSM in place of one. */
#include "unit/seal_fixture.h"

#define MODULE "/usr/lib/softhsm/libsofthsm2.so"
#define URI    "pkcs11:token=seal;object=seal"

/* A token with the PIN 1234, and in it the key of an authority made for this test. */
static int token_setup(void **state)
{
	static const char make[] =
		"cd $d; exec 2>&1; mkdir tokens; printf 'directories.tokendir = %s/tokens\\nobjectstore.backend = file\\n' $d >hsm.conf;"
		"export SOFTHSM2_CONF=$d/hsm.conf; openssl pkey -in seal/seal.pem -out plain.pem;"
		"softhsm2-util --init-token --free --label seal --pin 1234 --so-pin 5678;"
		"softhsm2-util --import plain.pem --token seal --label seal --id 01 --pin 1234; rm plain.pem;"
		"openssl x509 -in seal/seal.pem -out seal.crt; cat seal/root.crt >>seal.crt";
	struct seal_fixture *f = fixture_new(SEAL_RSA_3072);
	char path[64];

	*state = f;
	free(tool_about(f, "", 0, make));
	snprintf(path, sizeof path, "%s/hsm.conf", f->home);
	return setenv("SOFTHSM2_CONF", path, 1);
}

static void key_in_a_device_seals(void **state)
{
	struct seal_fixture *f = *state;
	char certificate[64], *out;
	const struct seal_token token = {.module = MODULE, .uri = URI, .pin = "1234", .certificate = certificate};
	struct seal_sign_options options = fixture_performed(f);
	struct seal_key_facts facts;
	struct seal_key *key;
	struct seal_report r;
	struct err err = {0};
	size_t size;

	snprintf(certificate, sizeof certificate, "%s/seal.crt", f->home);
	must(seal_key_open_token(&token, &key, &err), &err);
	seal_key_facts(key, &facts);
	assert_int_equal(facts.source, SEAL_TOKEN);
	assert_string_equal(facts.subject, "Brackenholm Water Works seal");
	assert_string_equal(facts.root_subject, "Brackenholm Water Works seal root");
	must(seal_sign(key, f->finished, f->finished_size, &options, &out, &size, &err), &err);
	r = verified(f, out, size);
	assert_true(r.trusted);
	free(out);
	seal_key_free(key);
}

static void assert_token_refused(const struct seal_token *token, enum status expected, const char *words)
{
	struct seal_key *key = NULL;
	struct err err = {0};

	assert_int_equal(seal_key_open_token(token, &key, &err), expected);
	assert_says(err.message, words);
	assert_null(key);
}

static void device_that_gives_no_key_is_named(void **state)
{
	struct seal_fixture *f = *state;
	char certificate[64];
	struct seal_token token = {.module = MODULE, .uri = "pkcs11:token=seal;object=other", .pin = "1234"};

	snprintf(certificate, sizeof certificate, "%s/seal.crt", f->home);
	token.certificate = certificate;
	assert_token_refused(&token, INVALID, "the device gives no key at pkcs11:token=seal;object=other");
	token.uri = URI;
	token.certificate = "/nowhere/seal.crt";
	assert_token_refused(&token, NOT_FOUND, "the seal certificate /nowhere/seal.crt cannot be read");
	snprintf(certificate, sizeof certificate, "%s/seal/root.crt", f->home);
	token.certificate = certificate;
	assert_token_refused(&token, INVALID, "is not meant for signatures");
	token.certificate = NULL; /* none was put beside the key */
	assert_token_refused(&token, NOT_FOUND, "the device holds no certificate");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(key_in_a_device_seals),
		cmocka_unit_test(device_that_gives_no_key_is_named),
	};

	return cmocka_run_group_tests(tests, token_setup, fixture_teardown);
}
