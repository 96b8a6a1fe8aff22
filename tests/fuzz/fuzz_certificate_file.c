/*
 * What somebody may lay down to be verified: any bytes. Each file gets its verdict in clean sentences, and none but those that
 * were sealed is called sealed. The kept ones were made by seal_finish, seal_sign and dcc_sign under an authority whose keys are
 * gone, around an empty page and a bare document; the others have one fault each, or another's root.
 */
#include <openssl/pem.h>
#include <string.h>

#include "base/text.h"
#include "fuzz.h"
#include "report/check.h"

static const char root[] = "-----BEGIN CERTIFICATE-----\n"
			   "MIIB4DCCAYegAwIBAgIQaJRYTBBV3NZLDrlE3raY2DAKBggqhkjOPQQDAjBOMSAw\n"
			   "HgYDVQQKDBdCcmFja2VuaG9sbSBXYXRlciBXb3JrczEqMCgGA1UEAwwhQnJhY2tl\n"
			   "bmhvbG0gV2F0ZXIgV29ya3Mgc2VhbCByb290MCAXDTI2MTEyNDIxMjU0MFoYDzIw\n"
			   "NTExMTI1MjEyNTQwWjBOMSAwHgYDVQQKDBdCcmFja2VuaG9sbSBXYXRlciBXb3Jr\n"
			   "czEqMCgGA1UEAwwhQnJhY2tlbmhvbG0gV2F0ZXIgV29ya3Mgc2VhbCByb290MFkw\n"
			   "EwYHKoZIzj0CAQYIKoZIzj0DAQcDQgAEj0cTvdAK8XpMb56NrbS+4YfkX5ktM7O4\n"
			   "wBbQuOPlh5GBgp2iRgxqH9g3tB1U1uYhvAfv567yIPvfue6iJBZ526NFMEMwEgYD\n"
			   "VR0TAQH/BAgwBgEB/wIBADAOBgNVHQ8BAf8EBAMCAQYwHQYDVR0OBBYEFCC5dPxl\n"
			   "7skxsvHPbRC9pkn3rq0LMAoGCCqGSM49BAMCA0cAMEQCICf9nQ3bB0ZbO4JKC2ON\n"
			   "wG/y88/A4R5FEEsaXw/G432RAiBqY31qKyz96YWS+vgWdpjXCiGzVWMshD1UNRVT\n"
			   "xvRGoQ==\n"
			   "-----END CERTIFICATE-----\n";

/* SHA-256, by sha256sum, of pdf-once, pdf-twice and xml-sealed. */
static const char *const sealed[] = {
	"22ed9d96887b3159e145545df6368fd1d601b12874872922ca5f653582fe4592",
	"e314d1c7048df01bd6339be8f88465e87a4f44c2900c523d8494935c45fca2de",
	"102a80aa4c3e814a404bd5db35ee314a122fb21ea6eb3e92bde649dfa482b870",
};

static const struct seal_roots *the_root(void)
{
	static struct seal_roots *roots;
	struct err err = {0};
	BIO *text;
	X509 *x;

	if (roots)
		return roots;
	text = BIO_new_mem_buf(root, -1);
	x = PEM_read_bio_X509(text, NULL, NULL, NULL);
	roots = seal_roots_new();
	promise(x && roots && !seal_roots_add(roots, x, &err), "the root can be read");
	X509_free(x);
	BIO_free(text);
	return roots;
}

static void promise_text(const char *text)
{
	promise(text_is_clean(text, strlen(text)), "what is shown of a file is clean text");
}

static void promise_sentences(const struct file_check *c)
{
	char sentence[CHECK_SENTENCES][CHECK_SENTENCE_SIZE];
	size_t n = check_sentences(c, true, sentence);

	promise(n == 2, "what is not on file gets a sentence on its seal and one on that");
	for (size_t i = 0; i < n; i++) {
		promise(sentence[i][0] != '\0', "a sentence says something");
		promise_text(sentence[i]);
	}
}

static void promise_pdf(const struct seal_report *r)
{
	promise(r->count <= SEAL_FIELDS_MAX, "no more signatures than there are fields for");
	promise(r->sound == (r->fault == SEAL_FAULT_NONE), "a sound file has no fault, any other one has");
	promise(r->sound || !r->trusted, "nothing unsound is trusted");
	promise(seal_fault_word(r->fault) != NULL, "a fault has its word");
	for (size_t i = 0; i < r->count; i++) {
		const struct seal_signature *s = &r->signature[i];

		promise(s->intact || !r->sound, "a sound file has whole signatures only");
		promise_text(s->name);
		promise_text(s->reason);
		promise_text(s->location);
		promise_text(s->signer);
		promise_text(s->issuer);
		promise_text(s->stamped_by);
	}
}

static void promise_xml(const struct dcc_report *r)
{
	promise(r->sound == (r->fault == DCC_FAULT_NONE), "a sound document has no fault, any other one has");
	promise(r->sound || !(r->trusted || r->as_written), "nothing unsound is trusted");
	promise(dcc_fault_word(r->fault) != NULL, "a fault has its word");
	promise_text(r->signer);
	promise_text(r->issuer);
}

/* An XML document that was written anew means the same, and has other bytes. */
static void promise_no_forgery(const struct file_check *c)
{
	if (c->xml && !c->document.as_written) {
		promise(!strcmp(c->document.number, "BWW-2026-0017"), "a sealed document says what was sealed");
		return;
	}
	for (size_t i = 0; i < sizeof sealed / sizeof *sealed; i++)
		if (!strcmp(c->sha256, sealed[i]))
			return;
	promise(false, "nothing but what was sealed is called sealed");
}

static void promise_verdict(const struct file_check *c)
{
	promise(check_verdict_word(c->verdict) != NULL, "a verdict has its word");
	promise(!c->on_file && c->verdict != CHECK_GENUINE, "where nothing is on file nothing is called genuine");
	promise((c->verdict == CHECK_SEALED) == (c->xml ? c->document.trusted : c->pdf.trusted),
		"what the plant has sealed is called so, and nothing else");
	if (c->verdict == CHECK_SEALED)
		promise_no_forgery(c);
}

void fuzz_certificate_file(const char *bytes, size_t size)
{
	const struct check_roots roots = {.seal = the_root()};
	struct arena a = {0};
	struct err err = {0};
	struct file_check c;
	enum status rc = check_file(NULL, &roots, bytes, size, &a, &c, &err);

	promise(rc == (size ? OK : INVALID), "every file but an empty one is judged");
	if (!rc) {
		promise_verdict(&c);
		promise_sentences(&c);
		if (c.xml)
			promise_xml(&c.document);
		else
			promise_pdf(&c.pdf);
	}
	arena_clear(&a);
}
