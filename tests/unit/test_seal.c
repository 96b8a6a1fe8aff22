/* Signed certificates as others see them: poppler with NSS, OpenSSL, MuPDF and qpdf, none of which made the signature. */
#include "unit/seal_fixture.h"

#include <pthread.h>

#define NSS_TRUSTING                                                                           \
	"rm -rf $d/nss; mkdir $d/nss; certutil -N --empty-password -d sql:$d/nss 2>/dev/null;" \
	"certutil -A -n root -t CT,C,C -i $d/seal/root.crt -d sql:$d/nss; pdfsig -nssdir sql:$d/nss $f 2>&1"
#define NSS_EMPTY \
	"rm -rf $d/none; mkdir $d/none; certutil -N --empty-password -d sql:$d/none 2>/dev/null; pdfsig -nssdir sql:$d/none $f 2>&1"

static void both_signatures_are_valid_and_trusted_to_poppler(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(f, f->twice, f->twice_size, NSS_TRUSTING);

	assert_int_equal(count_of(text, "Signature is Valid"), 2);
	assert_int_equal(count_of(text, "Certificate is Trusted"), 2);
	assert_int_equal(count_of(text, "ETSI.CAdES.detached"), 2);
	assert_int_equal(count_of(text, "Signing Hash Algorithm: SHA-256"), 2);
	assert_int_equal(count_of(text, "Total document signed"), 1);
	assert_int_equal(count_of(text, "Not total document signed"), 1);
	assert_says(text, "Signer Certificate Common Name: Brackenholm Water Works seal");
	free(text);
}

static void nobody_trusts_the_seal_without_the_root(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(f, f->twice, f->twice_size, NSS_EMPTY);
	struct seal_report r;
	struct err err = {0};

	assert_int_equal(count_of(text, "Signature is Valid"), 2);
	assert_int_equal(count_of(text, "Certificate is Trusted"), 0);
	assert_int_equal(count_of(text, "Certificate issuer is unknown"), 2);
	free(text);
	must(seal_verify(f->twice, f->twice_size, NULL, NULL, &r, &err), &err);
	assert_true(r.sound);
	assert_false(r.trusted);
	assert_int_equal(r.signature[0].trust, SEAL_TRUST_NO_ROOT);
	assert_says(r.sentence, "its root is not among the trusted ones");
}

static void our_verifier_tells_who_signed_what(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_report r = verified(f, f->twice, f->twice_size);

	assert_string_equal(seal_fault_word(r.fault), "");
	assert_true(r.sound);
	assert_true(r.trusted);
	assert_int_equal(r.count, 2);
	assert_string_equal(r.signature[0].field, "performed");
	assert_string_equal(r.signature[0].name, "Иван Ёлкин");
	assert_string_equal(r.signature[0].reason, "Tested, readings as recorded");
	assert_string_equal(r.signature[0].location, "Brackenholm Water Works");
	assert_string_equal(r.signature[0].signer, "Brackenholm Water Works seal");
	assert_string_equal(r.signature[0].issuer, "Brackenholm Water Works seal root");
	assert_false(r.signature[0].covers_whole_file);
	assert_string_equal(r.signature[1].field, "reviewed");
	assert_string_equal(r.signature[1].location, "");
	assert_true(r.signature[1].covers_whole_file);
	assert_int_equal(r.signature[1].at_ms, f->now / 1000 * 1000);
	assert_int_equal(r.signature[1].time, SEAL_TIME_CLAIMED);
	assert_says(r.sentence, "Sealed by Brackenholm Water Works seal on ");
}

/* openssl cms knows nothing of PDF: it is given the bytes outside the gap, and the value in it. */
static void openssl_accepts_the_value_as_cades(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(
		f, f->once, f->once_size,
		"r=$(grep -aoE 'ByteRange \\[0 [0-9]+ [0-9]+ [0-9]+' $f | grep -oE '[0-9]+' | tr '\\n' ' ');"
		"set -- $r; head -c $2 $f >$d/content; tail -c +$(($3 + 1)) $f >>$d/content;"
		"head -c $(($3 - 1)) $f | tail -c +$(($2 + 2)) | perl -0ne 'print pack q(H*), $_' >$d/value.der;"
		"openssl cms -verify -cades -binary -inform DER -in $d/value.der -content $d/content"
		" -CAfile $d/seal/root.crt -purpose any -out /dev/null 2>&1;"
		"openssl cms -cmsout -print -inform DER -in $d/value.der 2>&1");

	assert_says(text, "CAdES Verification successful");
	assert_says(text, "id-smime-aa-signingCertificateV2");
	assert_int_equal(count_of(text, "signingTime"), 0);
	assert_int_equal(count_of(text, "object: messageDigest"), 1);
	free(text);
}

static void mupdf_sees_nothing_changed_since_the_last_signature(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(f, f->twice, f->twice_size, "mutool sign -v $f 2>&1; true");

	assert_says(text, "unchanged since signing");
	assert_int_equal(count_of(text, "Digest"), 0);
	free(text);
}

static void qpdf_finds_no_fault_in_the_file(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(f, f->twice, f->twice_size, "qpdf --check $f 2>&1");

	assert_says(text, "No syntax or stream encoding errors found");
	assert_int_equal(count_of(text, "WARNING"), 0);
	free(text);
}

static void signatures_text_can_be_read_and_searched(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(f, f->twice, f->twice_size, "pdftotext -layout $f - 2>&1; pdffonts $f 2>&1");

	assert_says(text, "Performed by Иван Ёлкин (i.yolkin)");
	assert_says(text, "Reviewed by Asta Lindqvist");
	assert_says(text, "2026-11-25 13:05:40 UTC");
	assert_int_equal(count_of(text, "no  "), 0); /* embedded, subset and mapped to Unicode, all of them */
	free(text);
}

static void signing_only_appends(void **state)
{
	const struct seal_fixture *f = *state;

	assert_true(f->finished_size < f->once_size && f->once_size < f->twice_size);
	assert_memory_equal(f->once, f->finished, f->finished_size);
	assert_memory_equal(f->twice, f->once, f->once_size);
}

static void invisible_field_can_be_signed_as_the_third(void **state)
{
	const struct seal_fixture *f = *state;
	const struct seal_sign_options options = {.field = "plant", .reason = "Issued", .at_ms = f->now};
	struct err err = {0};
	struct seal_report r;
	char *thrice, *text;
	size_t size;

	must(seal_sign(f->key, f->twice, f->twice_size, &options, &thrice, &size, &err), &err);
	r = verified(f, thrice, size);
	assert_true(r.trusted);
	assert_int_equal(r.count, 3);
	text = tool_about(f, thrice, size, NSS_TRUSTING);
	assert_int_equal(count_of(text, "Signature is Valid"), 3);
	assert_int_equal(count_of(text, "Not total document signed"), 2);
	free(text);
	free(thrice);
}

/*
 * pdfsig 22.12 says of the second RSA signature by the same certificate "Unknown issue", also of those that it has made
 * itself, unless the certificate lies in its store. So it does here.
 */
static void rsa_seals_as_well(void **state)
{
	struct seal_fixture *f = fixture_new(SEAL_RSA_3072);
	struct seal_report r = verified(f, f->twice, f->twice_size);
	char *text = tool_about(f, f->twice, f->twice_size,
				NSS_TRUSTING " | wc -l; certutil -A -n seal -t ,, -i $d/seal/seal.pem -d sql:$d/nss;"
					     "pdfsig -nssdir sql:$d/nss $f 2>&1");

	(void)state;
	assert_true(r.trusted);
	assert_int_equal(count_of(text, "Signature is Valid"), 2);
	assert_int_equal(count_of(text, "Certificate is Trusted"), 2);
	free(text);
	fixture_free(f);
}

static void refuse(const struct seal_fixture *f, const char *pdf, size_t size, const struct seal_sign_options *options,
		   enum status expected, const char *words)
{
	struct err err = {0};
	char *out = NULL;
	size_t out_size = 0;

	assert_int_equal(seal_sign(f->key, pdf, size, options, &out, &out_size, &err), expected);
	assert_says(err.message, words);
	assert_null(out);
}

static void field_is_signed_once_only(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_sign_options options = fixture_performed(f);

	refuse(f, f->twice, f->twice_size, &options, CONFLICT, "the field performed is signed already");
}

static void field_that_is_not_there_is_not_signed(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_sign_options options = fixture_performed(f);

	options.field = "approved";
	refuse(f, f->finished, f->finished_size, &options, NOT_FOUND, "no field approved");
}

static void too_little_room_for_the_value_is_refused(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_sign_options options = fixture_performed(f);

	options.contents_room = 300; /* a certificate alone is larger */
	refuse(f, f->finished, f->finished_size, &options, FAILED, "keeps only 300 free");
}

static void expired_certificate_does_not_sign(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_sign_options options = fixture_performed(f);

	options.at_ms = f->now + 6 * 365 * 86400000LL; /* it is valid for five years */
	refuse(f, f->finished, f->finished_size, &options, INVALID, "expired on 20");
	options.at_ms = f->now - 2 * 86400000LL;
	refuse(f, f->finished, f->finished_size, &options, INVALID, "is not valid before 20");
}

static void text_that_does_not_fit_or_has_no_glyph_is_refused(void **state)
{
	static const char *const strange[] = {"Reviewed by \ue000"};
	static char wide[201];
	const char *const much[] = {wide, wide, wide, wide, wide, wide, wide, wide};
	const struct seal_fixture *f = *state;
	struct seal_sign_options options = fixture_performed(f);

	memset(wide, 'W', 200);
	options.lines = strange;
	options.line_count = 1;
	refuse(f, f->finished, f->finished_size, &options, INVALID, "is in none of the fonts");
	options.lines = much;
	options.line_count = 8;
	refuse(f, f->finished, f->finished_size, &options, INVALID, "does not fit into its field");
}

static void name_of_eighty_characters_fits(void **state)
{
	static const char name[] =
		"Performed by Maximiliane-Theodora Wolkenstein-Hohenbrunn von Brackenholm zu Oberwasser";
	const char *const lines[] = {name, "2026-11-25 12:30:11 UTC", "Meaning: tested, readings as recorded"};
	const struct seal_fixture *f = *state;
	struct seal_sign_options options = fixture_performed(f);
	struct err err = {0};
	char *out, *text;
	size_t size;

	options.lines = lines;
	must(seal_sign(f->key, f->finished, f->finished_size, &options, &out, &size, &err), &err);
	text = tool_about(f, out, size, "pdftotext $f - | tr '\\n' ' '");
	assert_says(text, "Maximiliane");
	assert_says(text, "Oberwasser");
	free(text);
	free(out);
}

static void file_takes_as_many_signatures_as_it_has_fields(void **state)
{
	const struct seal_fixture *f = *state;
	char names[SEAL_FIELDS_MAX][8], *pdf, *next;
	struct seal_field fields[SEAL_FIELDS_MAX];
	struct seal_finish_options finish = {.language = "en",
					     .fields = fields,
					     .field_count = SEAL_FIELDS_MAX,
					     .alternatives = fixture_alternatives,
					     .alternative_count = 2};
	struct sample *s = sample_adjusted();
	struct err err = {0};
	struct seal_report r;
	size_t size, drawn_size;
	char *drawn = draw(s, &drawn_size);

	for (int i = 0; i < SEAL_FIELDS_MAX; i++) {
		snprintf(names[i], sizeof names[i], "step%d", i);
		fields[i] = (struct seal_field){names[i], "A step", 2, 57, 20 + 40 * i, 180, 36};
	}
	must(seal_finish(drawn, drawn_size, &finish, &pdf, &size, &err), &err);
	for (int i = 0; i < SEAL_FIELDS_MAX; i++) {
		struct seal_sign_options options = fixture_performed(f);

		options.field = names[i];
		must(seal_sign(f->key, pdf, size, &options, &next, &size, &err), &err);
		free(pdf);
		pdf = next;
	}
	r = verified(f, pdf, size);
	assert_true(r.trusted);
	assert_int_equal(r.count, SEAL_FIELDS_MAX);
	assert_string_equal(r.signature[15].field, "step15");
	free(pdf);
	free(drawn);
	free(s);
}

struct worker {
	const struct seal_fixture *f;
	pthread_t thread;
	int sound;
};

static void *sign_often(void *context)
{
	struct worker *w = context;
	const struct seal_sign_options options = fixture_performed(w->f);

	for (int i = 0; i < 5; i++) {
		struct seal_report r = {0};
		struct err err = {0};
		char *out = NULL;
		size_t size;

		if (seal_sign(w->f->key, w->f->finished, w->f->finished_size, &options, &out, &size, &err) == OK)
			seal_verify(out, size, w->f->roots, NULL, &r, &err);
		w->sound += r.trusted;
		free(out);
	}
	return NULL;
}

static void many_threads_seal_with_one_key(void **state)
{
	struct worker workers[4];

	for (int i = 0; i < 4; i++) {
		workers[i] = (struct worker){.f = *state};
		assert_int_equal(pthread_create(&workers[i].thread, NULL, sign_often, &workers[i]), 0);
	}
	for (int i = 0; i < 4; i++) {
		pthread_join(workers[i].thread, NULL);
		assert_int_equal(workers[i].sound, 5);
	}
}

static void foreign_pdf_is_not_signed(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_sign_options options = fixture_performed(f);

	refuse(f, "%PDF-1.4\nnothing of ours stands here, though it goes on for a while to be long enough\n", 86,
	       &options, INVALID, "not one that was finished");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(both_signatures_are_valid_and_trusted_to_poppler),
		cmocka_unit_test(nobody_trusts_the_seal_without_the_root),
		cmocka_unit_test(our_verifier_tells_who_signed_what),
		cmocka_unit_test(openssl_accepts_the_value_as_cades),
		cmocka_unit_test(mupdf_sees_nothing_changed_since_the_last_signature),
		cmocka_unit_test(qpdf_finds_no_fault_in_the_file),
		cmocka_unit_test(signatures_text_can_be_read_and_searched),
		cmocka_unit_test(signing_only_appends),
		cmocka_unit_test(invisible_field_can_be_signed_as_the_third),
		cmocka_unit_test(rsa_seals_as_well),
		cmocka_unit_test(field_is_signed_once_only),
		cmocka_unit_test(field_that_is_not_there_is_not_signed),
		cmocka_unit_test(too_little_room_for_the_value_is_refused),
		cmocka_unit_test(expired_certificate_does_not_sign),
		cmocka_unit_test(text_that_does_not_fit_or_has_no_glyph_is_refused),
		cmocka_unit_test(name_of_eighty_characters_fits),
		cmocka_unit_test(file_takes_as_many_signatures_as_it_has_fields),
		cmocka_unit_test(many_threads_seal_with_one_key),
		cmocka_unit_test(foreign_pdf_is_not_signed),
	};

	return cmocka_run_group_tests(tests, fixture_setup, fixture_teardown);
}
