/* The seal's key: made, kept, opened, renewed, and every way in which that fails, with the sentence that says so. */
#include "unit/seal_fixture.h"

#include <errno.h>
#include <openssl/x509v3.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>

#define NAME "Brackenholm Water Works"
#define YEAR (365 * 86400000LL)

struct place { /* a temporary folder; nothing in it yet */
	char home[40], folder[64];
};

static int place_setup(void **state)
{
	struct place *p = calloc(1, sizeof *p);

	strcpy(p->home, "/tmp/seal-XXXXXX");
	assert_non_null(mkdtemp(p->home));
	snprintf(p->folder, sizeof p->folder, "%s/seal", p->home);
	*state = p;
	return 0;
}

static int place_teardown(void **state)
{
	struct place *p = *state;
	char command[64];

	snprintf(command, sizeof command, "rm -r %s", p->home);
	assert_int_equal(system(command), 0);
	free(p);
	return 0;
}

/* What a shell command prints; $d is the folder of the test. */
static char *shell(const struct place *p, const char *what)
{
	char command[1600];

	snprintf(command, sizeof command, "d=%s; %s", p->home, what);
	return output_of(command, "none");
}

static void run(const struct place *p, const char *what)
{
	free(shell(p, what));
}

static void make(const struct place *p, enum seal_algorithm algorithm, const char *passphrase)
{
	struct err err = {0};

	must(seal_authority_create(p->folder, NAME, algorithm, passphrase, time_now_ms(), &err), &err);
}

static mode_t mode_of(const struct place *p, const char *name)
{
	char path[128];
	struct stat st;

	snprintf(path, sizeof path, "%s/%s", p->folder, name);
	assert_int_equal(stat(path, &st), 0);
	return st.st_mode & 07777;
}

static void authority_is_two_certificates_that_openssl_accepts(void **state)
{
	const struct place *p = *state;
	char *text;

	make(p, SEAL_EC_P256, NULL);
	assert_true(seal_authority_exists(p->folder));
	text = shell(p,
		     "openssl verify -x509_strict -CAfile $d/seal/root.crt $d/seal/seal.pem 2>&1;"
		     "openssl x509 -in $d/seal/seal.pem -noout -text; openssl pkey -in $d/seal/seal.pem -noout -text");
	assert_says(text, "seal.pem: OK");
	assert_says(text, "O = Brackenholm Water Works, CN = Brackenholm Water Works seal\n");
	assert_says(text, "CN = Brackenholm Water Works seal root");
	assert_says(text, "Digital Signature, Non Repudiation");
	assert_says(text, "CA:FALSE");
	assert_says(text, "prime256v1");
	assert_int_equal(mode_of(p, "seal.pem"), 0600);
	assert_int_equal(mode_of(p, "root.pem"), 0600);
	assert_int_equal(mode_of(p, "root.crt"), 0644);
	assert_int_equal(mode_of(p, "."), 0700);
	free(text);
}

static void fingerprint_of_the_root_is_the_one_that_openssl_prints(void **state)
{
	const struct place *p = *state;
	struct seal_key_facts facts;
	struct seal_key *key;
	struct err err = {0};
	char *text;

	make(p, SEAL_EC_P256, NULL);
	must(seal_key_open_own(p->folder, NULL, &key, &err), &err);
	seal_key_facts(key, &facts);
	text = shell(p, "openssl x509 -in $d/seal/root.crt -noout -fingerprint -sha256");
	assert_says(text, facts.root_fingerprint);
	assert_int_equal(strlen(facts.root_fingerprint), 95);
	assert_string_equal(facts.subject, NAME " seal");
	assert_string_equal(facts.root_subject, NAME " seal root");
	assert_string_equal(facts.algorithm, "EC P-256");
	assert_string_equal(facts.warning, "");
	free(text);
	seal_key_free(key);
}

static void passphrase_encrypts_both_keys_as_documented(void **state)
{
	const struct place *p = *state;
	struct seal_key *key = NULL;
	struct err err = {0};
	char *text;

	make(p, SEAL_EC_P256, "correct horse");
	text = shell(p, "cat $d/seal/*.pem; for k in root seal; do openssl asn1parse -in $d/seal/$k.pem; done");
	assert_int_equal(count_of(text, "BEGIN ENCRYPTED PRIVATE KEY"), 2);
	assert_int_equal(count_of(text, "BEGIN PRIVATE KEY"), 0);
	assert_int_equal(count_of(text, ":PBKDF2"), 2);
	assert_int_equal(count_of(text, ":hmacWithSHA256"), 2);
	assert_int_equal(count_of(text, ":aes-256-cbc"), 2);
	assert_int_equal(count_of(text, ":0927C0"), 2); /* 600 000 rounds */
	free(text);
	must(seal_key_open_own(p->folder, "correct horse", &key, &err), &err);
	seal_key_free(key);
	key = NULL;
	assert_int_equal(seal_key_open_own(p->folder, "wrong horse", &key, &err), INVALID);
	assert_says(err.message, "wrong passphrase for");
	assert_string_equal(err.field, "/passphrase");
	assert_int_equal(seal_key_open_own(p->folder, NULL, &key, &err), INVALID);
	assert_says(err.message, "its passphrase is needed");
	assert_null(key);
}

static void rsa_authority_has_keys_of_3072_bits(void **state)
{
	const struct place *p = *state;
	struct seal_key_facts facts;
	struct seal_key *key;
	struct err err = {0};

	make(p, SEAL_RSA_3072, NULL);
	must(seal_key_open_own(p->folder, NULL, &key, &err), &err);
	seal_key_facts(key, &facts);
	assert_string_equal(facts.algorithm, "RSA 3072");
	seal_key_free(key);
}

static void authority_is_never_made_over_another(void **state)
{
	const struct place *p = *state;
	struct err err = {0};

	make(p, SEAL_EC_P256, NULL);
	assert_int_equal(seal_authority_create(p->folder, NAME, SEAL_EC_P256, NULL, time_now_ms(), &err), CONFLICT);
	assert_says(err.message, "a seal is never made over another");
}

static void long_name_is_cut_at_a_whole_character(void **state)
{
	static const char name[] = "Wasserwerk Überlingen-Öhningen für die Gemeinden am Überlinger See und im Hegau";
	const struct place *p = *state;
	struct err err = {0};
	char *text;

	must(seal_authority_create(p->folder, name, SEAL_EC_P256, NULL, time_now_ms(), &err), &err);
	text = shell(p, "openssl x509 -in $d/seal/root.crt -noout -subject -nameopt utf8,-esc_msb");
	/* 64 characters in all (RFC 5280 appendix A.1), counted by hand: the name's first 54 and " seal root" */
	assert_says(text, "CN=Wasserwerk Überlingen-Öhningen für die Gemeinden am Üb seal root");
	free(text);
	assert_int_equal(seal_authority_create(p->folder, "", SEAL_EC_P256, NULL, time_now_ms(), &err), INVALID);
	assert_string_equal(err.field, "/plant_name");
}

static void full_disk_leaves_nothing_behind(void **state)
{
	const struct place *p = *state;
	const struct rlimit tight = {300, RLIM_INFINITY};
	struct rlimit before;
	struct err err = {0};
	enum status rc;
	char *text;

	getrlimit(RLIMIT_FSIZE, &before);
	signal(SIGXFSZ, SIG_IGN);
	setrlimit(RLIMIT_FSIZE, &tight); /* the first file does not fit: write(2) ends as on a full disk */
	rc = seal_authority_create(p->folder, NAME, SEAL_EC_P256, NULL, time_now_ms(), &err);
	setrlimit(RLIMIT_FSIZE, &before);
	assert_int_equal(rc, FAILED);
	assert_says(err.message, "root.pem cannot be written: File too large");
	assert_false(seal_authority_exists(p->folder));
	text = shell(p, "ls -A $d");
	assert_string_equal(text, "");
	free(text);
	make(p, SEAL_EC_P256, NULL); /* and once there is room, it goes on */
}

static void start_cut_short_is_made_good(void **state)
{
	const struct place *p = *state;

	run(p, "mkdir $d/seal.new && echo half >$d/seal.new/root.pem");
	make(p, SEAL_EC_P256, NULL);
	run(p, "test ! -e $d/seal.new && test -s $d/seal/seal.pem");
}

static void folder_that_cannot_be_written_is_named(void **state)
{
	const struct place *p = *state;
	struct err err = {0};

	(void)p;
	assert_int_equal(seal_authority_create("/proc/seal", NAME, SEAL_EC_P256, NULL, time_now_ms(), &err), FAILED);
	assert_says(err.message, "/proc/seal.new cannot be made");
}

static enum status open_says(const struct place *p, struct err *err)
{
	struct seal_key *key = NULL;
	enum status rc = seal_key_open_own(p->folder, NULL, &key, err);

	seal_key_free(key);
	return rc;
}

static void what_is_wrong_with_the_file_is_said(void **state)
{
	const struct place *p = *state;
	struct err err = {0};

	assert_int_equal(open_says(p, &err), NOT_FOUND);
	assert_says(err.message, "the seal key is missing: there is no ");
	make(p, SEAL_EC_P256, NULL);
	run(p, "chmod 604 $d/seal/seal.pem");
	assert_int_equal(open_says(p, &err), FORBIDDEN);
	assert_says(err.message, "everybody on this machine may read or change the seal key");
	run(p, "chmod 600 $d/seal/seal.pem; cp $d/seal/seal.pem $d/keep; cp $d/seal/root.crt $d/seal/seal.pem");
	assert_int_equal(open_says(p, &err), INVALID);
	assert_says(err.message, "holds no private key");
	run(p, "openssl pkey -in $d/keep >$d/seal/seal.pem");
	assert_int_equal(open_says(p, &err), INVALID);
	assert_says(err.message, "holds no certificate");
	run(p, "(openssl genpkey -algorithm EC -pkeyopt ec_paramgen_curve:P-256; openssl x509 -in $d/keep) 2>/dev/null "
	       ">$d/seal/seal.pem");
	assert_int_equal(open_says(p, &err), INVALID);
	assert_says(err.message, "does not belong to its certificate");
	run(p, "cp $d/seal/root.pem $d/seal/seal.pem"); /* meant for issuing certificates, not for signing */
	assert_int_equal(open_says(p, &err), INVALID);
	assert_says(err.message, "is not meant for signatures");
	run(p, "rm $d/seal/seal.pem; mkdir $d/seal/seal.pem");
	assert_int_equal(open_says(p, &err), INVALID);
	assert_says(err.message, "is not a file");
}

static void group_that_may_read_is_warned_of(void **state)
{
	const struct place *p = *state;
	struct seal_key_facts facts;
	struct seal_key *key;
	struct err err = {0};

	make(p, SEAL_EC_P256, NULL);
	run(p, "chmod 640 $d/seal/seal.pem");
	must(seal_key_open_own(p->folder, NULL, &key, &err), &err);
	seal_key_facts(key, &facts);
	assert_says(facts.warning, "its group may read or change the seal key");
	seal_key_free(key);
}

static void dates_are_judged_with_the_day_in_words(void **state)
{
	const struct place *p = *state;
	int64_t made;
	struct seal_key *key;
	struct err err = {0};

	assert_true(time_from_text("2026-11-25T12:00:00Z", &made));
	must(seal_authority_create(p->folder, NAME, SEAL_EC_P256, NULL, made, &err), &err);
	must(seal_key_open_own(p->folder, NULL, &key, &err), &err);
	assert_int_equal(seal_key_check(key, made, &err), OK);
	assert_int_equal(seal_key_check(key, made - 2 * 86400000LL, &err), INVALID);
	assert_says(err.message, "is not valid before 2026-11-24");
	/* five years: 4 * 365 + 366 days, since 2028 is a leap year */
	assert_int_equal(seal_key_check(key, made + 1826 * 86400000LL, &err), OK);
	assert_int_equal(seal_key_check(key, made + 1826 * 86400000LL + 1000, &err), INVALID);
	assert_says(err.message, "expired on 2031-11-25");
	seal_key_free(key);
}

static void expired_certificate_is_renewed_under_the_same_root(void **state)
{
	const struct place *p = *state;
	int64_t later = time_now_ms();
	struct seal_key_facts before, after;
	struct seal_key *key;
	struct err err = {0};

	must(seal_authority_create(p->folder, NAME, SEAL_EC_P256, "horse", later - 6 * YEAR, &err), &err);
	must(seal_key_open_own(p->folder, "horse", &key, &err), &err);
	assert_int_equal(seal_key_check(key, later, &err), INVALID);
	seal_key_facts(key, &before);
	seal_key_free(key);
	assert_int_equal(seal_authority_renew(p->folder, SEAL_RSA_3072, "wrong", later, &err), INVALID);
	must(seal_authority_renew(p->folder, SEAL_RSA_3072, "horse", later, &err), &err);
	must(seal_key_open_own(p->folder, "horse", &key, &err), &err);
	assert_int_equal(seal_key_check(key, later, &err), OK);
	seal_key_facts(key, &after);
	assert_string_equal(before.root_fingerprint, after.root_fingerprint);
	assert_string_equal(before.subject, after.subject);
	assert_string_not_equal(before.fingerprint, after.fingerprint);
	assert_string_equal(after.algorithm, "RSA 3072");
	seal_key_free(key);
	run(p, "openssl verify -CAfile $d/seal/root.crt $d/seal/seal.pem; rm $d/seal/root.pem");
	assert_int_equal(seal_authority_renew(p->folder, SEAL_EC_P256, "horse", later, &err), NOT_FOUND);
	assert_says(err.message, "the root key is missing");
}

/* A company with a root, an office below it, and a seal in a file protected by "open sesame". */
#define COMPANY                                                                                                           \
	"cd $d; exec 2>/dev/null; e='-newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes';"                                \
	"openssl req -x509 $e -keyout r.key -out r.crt -subj /CN=Company -days 99 -addext keyUsage=critical,keyCertSign;" \
	"openssl req -x509 $e -keyout o.key -out o.crt -subj /CN=Office -days 99 -CA r.crt -CAkey r.key"                  \
	" -addext basicConstraints=critical,CA:TRUE -addext keyUsage=critical,keyCertSign;"                               \
	"openssl req -x509 $e -keyout s.key -out s.crt -subj /CN=Works -days 99 -CA o.crt -CAkey o.key"                   \
	" -addext basicConstraints=critical,CA:FALSE -addext keyUsage=critical,$usage;"                                   \
	"cat r.crt o.crt >chain.crt; openssl pkcs12 -export -inkey s.key -in s.crt -certfile chain.crt"                   \
	" -passout pass:'open sesame' -out s.p12; chmod 600 s.p12;"

static void company(const struct place *p, const char *usage)
{
	char what[1500];

	snprintf(what, sizeof what, "usage=%s; %s true", usage, COMPANY);
	run(p, what);
}

static void key_of_the_company_is_opened_with_its_chain(void **state)
{
	const struct place *p = *state;
	char path[64];
	struct seal_key *key = NULL;
	struct seal_key_facts facts;
	struct err err = {0};

	company(p, "nonRepudiation");
	snprintf(path, sizeof path, "%s/s.p12", p->home);
	must(seal_key_open_pkcs12(path, "open sesame", &key, &err), &err);
	seal_key_facts(key, &facts);
	assert_string_equal(facts.subject, "Works");
	assert_string_equal(facts.issuer, "Office");
	assert_string_equal(facts.root_subject, "Company");
	assert_int_equal(sk_X509_num(seal_key_chain(key)), 1);
	assert_int_equal(X509_check_private_key(seal_key_certificate(key), seal_key_private(key)), 1);
	seal_key_free(key);
	key = NULL;
	assert_int_equal(seal_key_open_pkcs12(path, "close sesame", &key, &err), INVALID);
	assert_says(err.message, "wrong passphrase for");
	assert_int_equal(seal_key_open_pkcs12(path, NULL, &key, &err), INVALID);
	assert_says(err.message, "its passphrase is needed");
	run(p, "printf 'no key' >$d/s.p12");
	assert_int_equal(seal_key_open_pkcs12(path, "open sesame", &key, &err), INVALID);
	assert_says(err.message, "is not a PKCS#12 file");
	run(p, "rm $d/s.p12");
	assert_int_equal(seal_key_open_pkcs12(path, "open sesame", &key, &err), NOT_FOUND);
	assert_null(key);
}

static void key_in_an_outdated_wrapping_is_named_so(void **state)
{
	const struct place *p = *state;
	char path[64];
	struct seal_key *key = NULL;
	struct err err = {0};

	company(p, "digitalSignature");
	run(p,
	    "cd $d; openssl pkcs12 -export -legacy -inkey s.key -in s.crt -passout pass:x -out s.p12; chmod 600 s.p12");
	snprintf(path, sizeof path, "%s/s.p12", p->home);
	assert_int_equal(seal_key_open_pkcs12(path, "x", &key, &err), INVALID);
	assert_says(err.message, "export it anew with AES-256");
}

static void company_seals_with_its_chain_inside(void **state)
{
	const struct place *p = *state;
	struct seal_fixture *f = fixture_new(SEAL_EC_P256);
	struct seal_sign_options options = fixture_performed(f);
	struct seal_roots *roots = seal_roots_new();
	char path[64], *out;
	size_t size;
	struct seal_key *key;
	struct seal_report r;
	struct err err = {0};

	company(p, "nonRepudiation");
	snprintf(path, sizeof path, "%s/s.p12", p->home);
	must(seal_key_open_pkcs12(path, "open sesame", &key, &err), &err);
	options.at_ms += 60000;
	must(seal_sign(key, f->finished, f->finished_size, &options, &out, &size, &err), &err);
	snprintf(path, sizeof path, "%s/r.crt", p->home);
	must(seal_roots_add_file(roots, path, &err), &err);
	must(seal_verify(out, size, roots, NULL, &r, &err), &err);
	assert_true(r.trusted);
	assert_string_equal(r.signature[0].signer, "Works");
	must(seal_verify(out, size, f->roots, NULL, &r, &err), &err);
	assert_true(r.sound);
	assert_false(r.trusted);
	snprintf(path, sizeof path, "%s/o.crt", p->home);
	assert_int_equal(seal_roots_add_file(roots, path, &err), INVALID);
	assert_says(err.message, "Office is no root");
	free(out);
	seal_key_free(key);
	seal_roots_free(roots);
	fixture_free(f);
}

static void passphrase_comes_from_a_file_or_the_environment(void **state)
{
	const struct place *p = *state;
	char path[64], *word;
	struct err err = {0};

	snprintf(path, sizeof path, "%s/word", p->home);
	run(p, "printf 'from a file\\nnot this\\n' >$d/word; chmod 600 $d/word");
	setenv("SEAL_TEST_WORD", "from the environment", 1);
	must(seal_passphrase_read(path, "SEAL_TEST_WORD", &word, &err), &err);
	assert_string_equal(word, "from a file");
	seal_passphrase_free(word);
	must(seal_passphrase_read(NULL, "SEAL_TEST_WORD", &word, &err), &err);
	assert_string_equal(word, "from the environment");
	seal_passphrase_free(word);
	unsetenv("SEAL_TEST_WORD");
	must(seal_passphrase_read(NULL, "SEAL_TEST_WORD", &word, &err), &err);
	assert_null(word);
	run(p, "chmod 644 $d/word");
	assert_int_equal(seal_passphrase_read(path, NULL, &word, &err), FORBIDDEN);
	run(p, "chmod 600 $d/word; : >$d/word");
	assert_int_equal(seal_passphrase_read(path, NULL, &word, &err), INVALID);
	assert_null(word);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define PLACED(name) cmocka_unit_test_setup_teardown(name, place_setup, place_teardown)
		PLACED(authority_is_two_certificates_that_openssl_accepts),
		PLACED(fingerprint_of_the_root_is_the_one_that_openssl_prints),
		PLACED(passphrase_encrypts_both_keys_as_documented),
		PLACED(rsa_authority_has_keys_of_3072_bits),
		PLACED(authority_is_never_made_over_another),
		PLACED(long_name_is_cut_at_a_whole_character),
		PLACED(full_disk_leaves_nothing_behind),
		PLACED(start_cut_short_is_made_good),
		PLACED(folder_that_cannot_be_written_is_named),
		PLACED(what_is_wrong_with_the_file_is_said),
		PLACED(group_that_may_read_is_warned_of),
		PLACED(dates_are_judged_with_the_day_in_words),
		PLACED(expired_certificate_is_renewed_under_the_same_root),
		PLACED(key_of_the_company_is_opened_with_its_chain),
		PLACED(key_in_an_outdated_wrapping_is_named_so),
		PLACED(company_seals_with_its_chain_inside),
		PLACED(passphrase_comes_from_a_file_or_the_environment),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
