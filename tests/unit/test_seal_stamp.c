/*
 * Time stamps from an authority that the test makes with openssl and serves on a local port: what it sends is what the test
 * says, so that wrong answers can be given, too.
 */
#include "unit/seal_fixture.h"

#include <netinet/in.h>
#include <pthread.h>
#include <sys/socket.h>
#include <unistd.h>

enum conduct { HONEST, OTHER_HASH, OTHER_NONCE, REFUSES, GARBAGE, TOO_MUCH, HTTP_500, SILENT, DAMAGED };

struct office {
	struct seal_fixture *f;
	char url[64];
	struct seal_roots *roots;
	int listening;
	enum conduct conduct;
	pthread_t thread;
};

/* An office with a key for time stamps alone, and one that may not stamp. */
static void make_office(const struct seal_fixture *f)
{
	static const char make[] =
		"cd $d; exec 2>/dev/null; e='-newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 99';"
		"openssl req -x509 $e -keyout tr.key -out tr.crt -subj '/CN=Clock root';"
		"openssl req -x509 $e -keyout ts.key -out ts.crt -subj '/CN=Brackenholm clock' -CA tr.crt -CAkey tr.key"
		" -addext basicConstraints=critical,CA:FALSE -addext keyUsage=critical,digitalSignature"
		" -addext extendedKeyUsage=critical,timeStamping;"
		"printf '[t]\\nserial=$dir/serial\\ndefault_policy=1.2.3.4\\ndigests=sha256\\nsigner_digest=sha256\\n"
		"ess_cert_id_alg=sha256\\naccuracy=secs:1\\nordering=no\\ntsa_name=no\\n' | sed \"s#[$]dir#$d#\" >ts.conf;"
		"echo 01 >serial; test -s ts.crt";
	char command[1600];

	snprintf(command, sizeof command, "d=%s; %s", f->home, make);
	free(output_of(command, "none"));
}

/* The honest answer to the question in $d/q; openssl is the authority. */
static size_t stamp_with_openssl(const struct seal_fixture *f, const char *how, char *answer, size_t room)
{
	char command[900], path[64];
	size_t size;
	FILE *in;

	snprintf(
		command, sizeof command,
		"cd %s; %s; openssl ts -reply -config ts.conf -section t -queryfile q -inkey ts.key -signer ts.crt -out "
		"r 2>/dev/null",
		f->home, how);
	if (system(command) != 0)
		return 0;
	snprintf(path, sizeof path, "%s/r", f->home);
	in = fopen(path, "rb");
	if (!in)
		return 0;
	size = fread(answer, 1, room, in);
	fclose(in);
	return size;
}

/* TimeStampResp with status 2, rejection, and the text "closed today" (RFC 3161 2.4.2), put together by hand. */
static const char refusal[] = "\x30\x15\x30\x13\x02\x01\x02\x30\x0e\x0c\x0c"
			      "closed today";

/* Body of the answer to the question that lies in $d/q. */
static size_t answer_of(const struct office *o, char *answer, size_t room)
{
	size_t size;

	switch (o->conduct) {
	case OTHER_HASH:
		return stamp_with_openssl(o->f,
					  "echo other >x; openssl ts -query -data x -sha256 -cert -out q 2>/dev/null",
					  answer, room);
	case OTHER_NONCE: /* the same hash asked anew, with another nonce */
		return stamp_with_openssl(
			o->f,
			"h=$(openssl ts -query -in q -text | sed -n 's/.* - \\(.*[0-9a-f]\\)   .*/\\1/p'"
			" | tr -d ' \\n-'); openssl ts -query -digest $h -sha256 -cert -out q 2>/dev/null",
			answer, room);
	case REFUSES:
		memcpy(answer, refusal, sizeof refusal - 1);
		return sizeof refusal - 1;
	case GARBAGE:
		memset(answer, 'x', 500);
		return 500;
	case TOO_MUCH:
		memset(answer, 'x', room);
		return room;
	default:
		size = stamp_with_openssl(o->f, ":", answer, room);
		if (o->conduct == DAMAGED)
			answer[size - 10] ^= 1; /* in the signature, which stands last */
		return size;
	}
}

static size_t read_question(int client, char *room, size_t max, size_t *body)
{
	size_t size = 0, wanted = 0;
	ssize_t n;

	while ((n = recv(client, room + size, max - 1 - size, 0)) > 0) {
		char *end, *length;

		size += (size_t)n;
		room[size] = '\0';
		end = memmem(room, size, "\r\n\r\n", 4);
		length = strcasestr(room, "content-length:");
		if (!end || !length)
			continue;
		*body = (size_t)(end + 4 - room);
		wanted = *body + (size_t)atol(length + 15);
		if (size >= wanted)
			return wanted;
	}
	return 0;
}

static void send_all(int client, const char *bytes, size_t size)
{
	while (size > 0) {
		ssize_t n = send(client, bytes, size, MSG_NOSIGNAL);

		if (n <= 0)
			return;
		bytes += n;
		size -= (size_t)n;
	}
}

static void serve_one(struct office *o, int client)
{
	static char question[8192], answer[200000];
	char head[200], path[64];
	size_t body = 0, size = read_question(client, question, sizeof question, &body);
	int n;

	if (size == 0)
		return;
	if (o->conduct == SILENT) {
		recv(client, head, sizeof head, 0); /* until the other side gives up */
		return;
	}
	snprintf(path, sizeof path, "%s/q", o->f->home);
	write_file(path, question + body, size - body);
	size = answer_of(o, answer, sizeof answer);
	n = snprintf(head, sizeof head,
		     "HTTP/1.1 %s\r\nContent-Type: application/timestamp-reply\r\nContent-Length: %zu\r\n"
		     "Connection: close\r\n\r\n",
		     o->conduct == HTTP_500 ? "500 Broken" : "200 OK", size);
	send_all(client, head, (size_t)n);
	send_all(client, answer, size);
}

static void *serve(void *context)
{
	struct office *o = context;
	int client;

	while ((client = accept(o->listening, NULL, NULL)) >= 0) {
		serve_one(o, client);
		close(client);
	}
	return NULL;
}

static int office_setup(void **state)
{
	struct office *o = calloc(1, sizeof *o);
	struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
	socklen_t length = sizeof at;
	char path[64];
	struct err err = {0};

	unsetenv("http_proxy");
	unsetenv("HTTP_PROXY");
	unsetenv("all_proxy");
	unsetenv("ALL_PROXY");
	o->f = fixture_new(SEAL_EC_P256);
	make_office(o->f);
	o->roots = seal_roots_new();
	snprintf(path, sizeof path, "%s/tr.crt", o->f->home);
	must(seal_roots_add_file(o->roots, path, &err), &err);
	o->listening = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
	assert_int_equal(bind(o->listening, (struct sockaddr *)&at, sizeof at), 0);
	assert_int_equal(listen(o->listening, 4), 0);
	assert_int_equal(getsockname(o->listening, (struct sockaddr *)&at, &length), 0);
	snprintf(o->url, sizeof o->url, "http://127.0.0.1:%d/", ntohs(at.sin_port));
	assert_int_equal(pthread_create(&o->thread, NULL, serve, o), 0);
	*state = o;
	return 0;
}

static int office_teardown(void **state)
{
	struct office *o = *state;

	shutdown(o->listening, SHUT_RDWR);
	pthread_join(o->thread, NULL);
	close(o->listening);
	seal_roots_free(o->roots);
	fixture_free(o->f);
	free(o);
	return 0;
}

static enum status sign_stamped(const struct office *o, const struct seal_stamp_authority *authority, char **out,
				size_t *size, struct err *err)
{
	struct seal_sign_options options = fixture_performed(o->f);

	options.stamp = authority;
	*out = NULL;
	return seal_sign(o->f->key, o->f->finished, o->f->finished_size, &options, out, size, err);
}

/* The answer given with that conduct is refused with those words. */
static void assert_refused(struct office *o, enum conduct conduct, const char *words)
{
	const struct seal_stamp_authority authority = {.url = o->url, .roots = o->roots, .timeout_ms = 1500};
	struct err err = {0};
	char *out;
	size_t size;

	o->conduct = conduct;
	assert_int_equal(sign_stamped(o, &authority, &out, &size, &err), BUSY);
	assert_says(err.message, words);
	assert_says(err.message, o->url);
	assert_null(out);
}

static void stamp_is_taken_shown_and_accepted_by_openssl(void **state)
{
	struct office *o = *state;
	const struct seal_stamp_authority authority = {.url = o->url, .roots = o->roots};
	struct seal_report r;
	struct err err = {0};
	char *out, *text;
	size_t size;

	o->conduct = HONEST;
	must(sign_stamped(o, &authority, &out, &size, &err), &err);
	must(seal_verify(out, size, o->f->roots, o->roots, &r, &err), &err);
	assert_true(r.trusted);
	assert_int_equal(r.signature[0].time, SEAL_TIME_STAMPED);
	assert_string_equal(r.signature[0].stamped_by, "Brackenholm clock");
	assert_true(r.signature[0].at_ms >= o->f->now - 2000 && r.signature[0].at_ms <= time_now_ms() + 2000);
	assert_says(r.sentence, "(time stamped)");
	must(seal_verify(out, size, o->f->roots, NULL, &r, &err), &err);
	assert_true(r.trusted);
	assert_int_equal(r.signature[0].time, SEAL_TIME_STAMP_UNTRUSTED);
	assert_int_equal(r.signature[0].at_ms, o->f->now / 1000 * 1000);
	text = tool_about(
		o->f, out, size,
		"r=$(grep -aoE 'ByteRange \\[0 [0-9]+ [0-9]+' $f | grep -oE '[0-9]+' | tr '\\n' ' '); set -- $r;"
		"head -c $(($3 - 1)) $f | tail -c +$(($2 + 2)) | perl -0ne 'print pack q(H*), $_' >$d/v.der;"
		"openssl asn1parse -inform DER -in $d/v.der >$d/v.txt 2>/dev/null;"
		"at=$(grep -A2 id-smime-aa-timeStampToken $d/v.txt | tail -1 | sed 's/ *\\([0-9]*\\):.*/\\1/');"
		"openssl asn1parse -inform DER -in $d/v.der -strparse $at -out $d/t.der -noout;"
		"at=$(grep -B3 id-smime-aa-timeStampToken $d/v.txt | grep 'OCTET STRING' | tail -1"
		" | sed 's/ *\\([0-9]*\\):d=[0-9]* *hl=\\([0-9]*\\) l= *\\([0-9]*\\) .*/\\1 \\2 \\3/'); set -- $at;"
		"tail -c +$(($1 + $2 + 1)) $d/v.der | head -c $3 >$d/sig;"
		"openssl ts -verify -token_in -in $d/t.der -data $d/sig -CAfile $d/tr.crt 2>&1;"
		"pdfsig -nocert $f 2>&1");
	assert_says(text, "Verification: OK");
	assert_says(text, "Signature is Valid");
	free(text);
	free(out);
}

static void authority_that_cannot_be_reached_is_named(void **state)
{
	struct office *o = *state;
	struct seal_stamp_authority authority = {.url = "http://127.0.0.1:1/", .roots = o->roots};
	struct err err = {0};
	char *out;
	size_t size;

	assert_int_equal(sign_stamped(o, &authority, &out, &size, &err), BUSY);
	assert_says(err.message, "the time stamp authority http://127.0.0.1:1/ cannot be reached");
	authority.url = "ftp://127.0.0.1/";
	assert_int_equal(sign_stamped(o, &authority, &out, &size, &err), INVALID);
	assert_says(err.message, "begins with http:// or https://");
	authority.url = "file:///etc/hostname";
	assert_int_equal(sign_stamped(o, &authority, &out, &size, &err), INVALID);
}

static void answers_that_are_no_stamp_for_us_are_refused(void **state)
{
	struct office *o = *state;

	assert_refused(o, OTHER_HASH, "is for another signature");
	assert_refused(o, OTHER_NONCE, "answers another question than ours");
	assert_refused(o, REFUSES, "refuses: closed today (status 2)");
	assert_refused(o, GARBAGE, "is not a time stamp");
	assert_refused(o, TOO_MUCH, "sends more than a time stamp");
	assert_refused(o, HTTP_500, "answers with HTTP status 500");
	assert_refused(o, SILENT, "does not answer in time");
	assert_refused(o, DAMAGED, "is not validly signed");
}

static void stamp_of_an_authority_nobody_trusts_is_refused(void **state)
{
	struct office *o = *state;
	const struct seal_stamp_authority authority = {.url = o->url, .roots = o->f->roots};
	struct err err = {0};
	char *out;
	size_t size;

	o->conduct = HONEST;
	assert_int_equal(sign_stamped(o, &authority, &out, &size, &err), BUSY);
	assert_says(err.message, "is not signed by an authority that this plant trusts");
}

/* Long after its certificate has expired, the stamp still says when the seal was made; the claim alone may lie. */
static void seal_claimed_for_another_time_is_judged_by_its_stamp(void **state)
{
	struct office *o = *state;
	const struct seal_stamp_authority authority = {.url = o->url, .roots = o->roots};
	struct seal_sign_options options = fixture_performed(o->f);
	char folder[80], *out;
	struct seal_key *old;
	struct seal_roots *roots = seal_roots_new();
	struct seal_report r;
	struct err err = {0};
	int64_t then = o->f->now - 6 * 365 * 86400000LL;
	size_t size;

	o->conduct = HONEST;
	snprintf(folder, sizeof folder, "%s/old", o->f->home);
	must(seal_authority_create(folder, "Brackenholm Water Works", SEAL_EC_P256, NULL, then, &err), &err);
	must(seal_key_open_own(folder, NULL, &old, &err), &err);
	must(seal_roots_add(roots, seal_key_root(old), &err), &err);
	options.at_ms = then; /* the server's clock is set back to when the certificate was valid */
	options.stamp = &authority;
	must(seal_sign(old, o->f->finished, o->f->finished_size, &options, &out, &size, &err), &err);
	must(seal_verify(out, size, roots, o->roots, &r, &err), &err);
	assert_true(r.sound);
	assert_int_equal(r.signature[0].trust, SEAL_TRUST_EXPIRED);
	assert_says(r.sentence, "was not valid when it was sealed");
	free(out);
	seal_roots_free(roots);
	seal_key_free(old);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(stamp_is_taken_shown_and_accepted_by_openssl),
		cmocka_unit_test(authority_that_cannot_be_reached_is_named),
		cmocka_unit_test(answers_that_are_no_stamp_for_us_are_refused),
		cmocka_unit_test(stamp_of_an_authority_nobody_trusts_is_refused),
		cmocka_unit_test(seal_claimed_for_another_time_is_judged_by_its_stamp),
	};

	return cmocka_run_group_tests(tests, office_setup, office_teardown);
}
