/*
 * The seal on the machine-readable certificate: what outside tools say of it (xmlsec1, and the published schema when it is at
 * hand), and what our own verifier says. What is done to a sealed document is test_dcc_seal_changes.c's.
 */
#include "unit/dcc_seal_check.h"

static void a_sealed_document_is_good_to_xmlsec1_and_to_us(void **state)
{
	struct authority rsa = authority_new(true, TEN_YEARS);
	const struct authority *kinds[] = {&plant, &rsa};

	(void)state;
	for (size_t i = 0; i < 2; i++) {
		char root[40];
		size_t size;
		char *bytes = sealed_by(kinds[i], &size);
		struct dcc_report r;
		struct err err = {0};

		write_root(root, kinds[i]);
		assert_true(xmlsec_says_good(bytes, size, root));
		assert_int_equal(dcc_unseal(bytes, size, kinds[i]->store, &r, &err), OK);
		if (!r.trusted)
			print_error("%s\n", r.sentence);
		assert_true(r.sound);
		assert_true(r.trusted);
		assert_true(r.as_written);
		assert_int_equal(r.fault, DCC_FAULT_NONE);
		assert_string_equal(r.signer, "Seal of the test plant");
		assert_string_equal(r.issuer, "Test issuer");
		assert_string_equal(r.number, "BWW-2026-0017");
		assert_true(r.at_ms == SEALED_AT);
		unlink(root);
		free(bytes);
	}
	authority_free(&rsa);
}

/* E9 is the letter é in ISO 8859-1, which OpenSSL takes a T61String for; in UTF-8 it is C3 A9 (U+00E9). */
static void the_name_of_the_signer_is_utf8_whatever_its_certificate_has(void **state)
{
	struct authority a = authority_new(false, TEN_YEARS);
	X509_NAME *name = X509_get_subject_name(a.certificate);
	struct dcc_report r;
	size_t size;
	char *bytes;

	(void)state;
	X509_NAME_ENTRY_free(X509_NAME_delete_entry(name, X509_NAME_get_index_by_NID(name, NID_commonName, -1)));
	assert_int_equal(X509_NAME_add_entry_by_NID(name, NID_commonName, V_ASN1_T61STRING,
						    (const unsigned char *)"\xe9", 1, -1, 0),
			 1);
	assert_true(X509_sign(a.certificate, a.issuer_key, EVP_sha256()) > 0);
	bytes = sealed_by(&a, &size);
	r = judged(bytes, size);
	assert_true(r.sound);
	assert_string_equal(r.signer, "\xc3\xa9");
	assert_non_null(strstr(r.sentence, "\xc3\xa9"));
	free(bytes);
	authority_free(&a);
}

static void a_sealed_document_keeps_the_rules_and_says_that_it_is_sealed(void **state)
{
	size_t size;
	char *bytes = sealed_by(&plant, &size);

	(void)state;
	assert_dcc(bytes, size);
	assert_dcc_says(bytes, size, "string(//dcc:cryptElectronicSeal)", "true");
	assert_dcc_says(bytes, size, "string(count(//comment()))", "0");
	assert_dcc_says(bytes, size, "string(count(/*/ds:Signature))", "1");
	assert_dcc_says(bytes, size, "string(//*[local-name()='SigningTime'])", "2026-03-15T10:00:00Z");
	free(bytes);
}

static void everything_else_is_as_it_was(void **state)
{
	size_t size, plain_size;
	char *bytes = sealed_by(&plant, &size), *plain = unsealed(&plain_size);
	static const char *const paths[] = {"string(//dcc:measurementResults)", "string(//dcc:statements)",
					    "string(//dcc:coreData)", "string(//dcc:items)"};

	(void)state;
	for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
		char *before = dcc_ask(plain, plain_size, paths[i]);

		assert_dcc_says(bytes, size, paths[i], before);
		free(before);
	}
	free(plain);
	free(bytes);
}

static void without_seal_it_says_not_sealed(void **state)
{
	size_t size;
	char *bytes = unsealed(&size);
	struct dcc_report r = judged(bytes, size);

	(void)state;
	assert_false(r.sound);
	assert_int_equal(r.fault, DCC_FAULT_NOT_SEALED);
	free(bytes);
}

static void a_stranger_s_seal_is_sound_but_not_trusted(void **state)
{
	size_t size;
	char *bytes = sealed_by(&stranger, &size), root[40];
	struct dcc_report r = judged(bytes, size);
	struct err err = {0};

	(void)state;
	assert_true(r.sound);
	assert_false(r.trusted);
	assert_int_equal(r.trust, SEAL_TRUST_NO_ROOT);
	assert_int_equal(dcc_unseal(bytes, size, NULL, &r, &err), OK);
	assert_false(r.trusted);
	write_root(root, &plant);
	assert_false(xmlsec_says_good(bytes, size, root));
	unlink(root);
	free(bytes);
}

static void a_certificate_that_had_run_out_is_not_trusted(void **state)
{
	struct authority old = authority_new(false, 86400); /* to 2026-01-02; sealed on 2026-03-15 */
	struct dcc_report r;
	struct err err = {0};
	size_t size;
	char *bytes = sealed_by(&old, &size);

	(void)state;
	assert_int_equal(dcc_unseal(bytes, size, old.store, &r, &err), OK);
	assert_true(r.sound);
	assert_false(r.trusted);
	assert_int_equal(r.trust, SEAL_TRUST_EXPIRED);
	free(bytes);
	authority_free(&old);
}

static void only_an_unsealed_certificate_can_be_sealed(void **state)
{
	struct err err = {0};
	size_t size, out_size;
	char *bytes = sealed_by(&plant, &size), *out;

	(void)state;
	assert_int_equal(dcc_seal(&plant.signer, bytes, size, SEALED_AT, &out, &out_size, &err), CONFLICT);
	assert_null(out);
	assert_int_equal(dcc_seal(&plant.signer, "<a/>", 4, SEALED_AT, &out, &out_size, &err), INVALID);
	assert_int_equal(dcc_seal(&plant.signer, "", 0, SEALED_AT, &out, &out_size, &err), INVALID);
	free(bytes);
	/* parts that no signature of ours covers */
	bytes = unsealed(&size);
	*strstr(bytes, "<!-- not") = ' ';
	assert_int_equal(dcc_seal(&plant.signer, bytes, size, SEALED_AT, &out, &out_size, &err), INVALID);
	free(bytes);
	bytes = unsealed(&size);
	memcpy(strstr(bytes, "id=\"item\""), "id=\"seal\"", 9);
	assert_int_equal(dcc_seal(&plant.signer, bytes, size, SEALED_AT, &out, &out_size, &err), INVALID);
	assert_null(out);
	free(bytes);
}

static void a_key_that_is_not_the_certificate_s_seals_nothing(void **state)
{
	struct dcc_signer wrong = {plant.certificate, plant.chain, authority_sign, stranger.key};
	struct err err = {0};
	size_t size, out_size;
	char *bytes = unsealed(&size), *out;

	(void)state;
	assert_int_equal(dcc_seal(&wrong, bytes, size, SEALED_AT, &out, &out_size, &err), FAILED);
	assert_string_equal(err.message, "the key does not belong to the seal certificate");
	assert_null(out);
	free(bytes);
}

/* The plant's own authority, as at its first start: its root trusts what its key seals, no other root does. */
static void the_plant_s_own_key_seals(void **state)
{
	static const enum seal_algorithm kinds[] = {SEAL_EC_P256, SEAL_RSA_3072};
	size_t size, out_size;
	char *bytes = unsealed(&size);

	(void)state;
	for (size_t i = 0; i < 2; i++) {
		char parent[] = "/tmp/dcc-key-XXXXXX", folder[60], command[80], root[40], *out;
		struct seal_roots *roots = seal_roots_new(), *nobody = seal_roots_new();
		struct authority shown = {0};
		struct seal_key *key;
		struct dcc_report r;
		struct err err = {0};

		assert_non_null(mkdtemp(parent));
		snprintf(folder, sizeof folder, "%s/seal", parent);
		assert_int_equal(seal_authority_create(folder, "Brackenholm Water Works", kinds[i], NULL,
						       SEALED_AT - SAMPLE_MINUTE, &err),
				 OK);
		assert_int_equal(seal_key_open_own(folder, NULL, &key, &err), OK);
		assert_int_equal(seal_roots_add(roots, seal_key_root(key), &err), OK);
		assert_int_equal(dcc_sign(key, bytes, size, SEALED_AT, &out, &out_size, &err), OK);
		assert_int_equal(dcc_verify(out, out_size, roots, &r, &err), OK);
		assert_true(r.trusted);
		shown.root = seal_key_root(key);
		write_root(root, &shown);
		assert_true(xmlsec_says_good(out, out_size, root));
		assert_int_equal(dcc_verify(out, out_size, nobody, &r, &err), OK);
		assert_true(r.sound);
		assert_false(r.trusted);
		free(out);
		/* a day and more before the key's first day */
		assert_int_equal(dcc_sign(key, bytes, size, SEALED_AT - 3 * 86400000LL, &out, &out_size, &err),
				 INVALID);
		assert_null(out);
		seal_key_free(key);
		seal_roots_free(roots);
		seal_roots_free(nobody);
		unlink(root);
		snprintf(command, sizeof command, "rm -r %s", parent);
		assert_int_equal(system(command), 0);
	}
	free(bytes);
}

struct worker {
	pthread_t thread;
	const char *plain;
	size_t size;
	int good;
};

static void *seal_and_judge(void *argument)
{
	struct worker *w = argument;

	for (int i = 0; i < 10; i++) {
		struct dcc_report r = {0};
		struct err err = {0};
		size_t size;
		char *bytes;

		if (dcc_seal(&plant.signer, w->plain, w->size, SEALED_AT, &bytes, &size, &err) == OK &&
		    dcc_unseal(bytes, size, plant.store, &r, &err) == OK)
			w->good += r.trusted && r.as_written;
		free(bytes);
	}
	return NULL;
}

static void many_threads_seal_and_judge_at_once(void **state)
{
	struct worker workers[6] = {0};
	size_t size;
	char *plain = unsealed(&size);

	(void)state;
	for (size_t i = 0; i < 6; i++) {
		workers[i].plain = plain;
		workers[i].size = size;
		assert_int_equal(pthread_create(&workers[i].thread, NULL, seal_and_judge, &workers[i]), 0);
	}
	for (size_t i = 0; i < 6; i++) {
		pthread_join(workers[i].thread, NULL);
		assert_int_equal(workers[i].good, 10);
	}
	free(plain);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_name_of_the_signer_is_utf8_whatever_its_certificate_has),
		cmocka_unit_test(a_sealed_document_is_good_to_xmlsec1_and_to_us),
		cmocka_unit_test(a_sealed_document_keeps_the_rules_and_says_that_it_is_sealed),
		cmocka_unit_test(everything_else_is_as_it_was),
		cmocka_unit_test(without_seal_it_says_not_sealed),
		cmocka_unit_test(a_stranger_s_seal_is_sound_but_not_trusted),
		cmocka_unit_test(a_certificate_that_had_run_out_is_not_trusted),
		cmocka_unit_test(only_an_unsealed_certificate_can_be_sealed),
		cmocka_unit_test(a_key_that_is_not_the_certificate_s_seals_nothing),
		cmocka_unit_test(the_plant_s_own_key_seals),
		cmocka_unit_test(many_threads_seal_and_judge_at_once),
	};
	int failed;

	dcc_schema_note();
	plant = authority_new(false, TEN_YEARS);
	stranger = authority_new(false, TEN_YEARS);
	failed = cmocka_run_group_tests(tests, NULL, NULL);
	authority_free(&plant);
	authority_free(&stranger);
	return failed;
}
