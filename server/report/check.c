#include "report/check.h"

#include <stdio.h>
#include <string.h>

#include "base/time.h"

static const char *const words[CHECK_VERDICTS] = {"genuine", "sealed", "changed", "foreign", "unsealed", "unreadable"};

const char *check_verdict_word(enum check_verdict v)
{
	return (unsigned)v < CHECK_VERDICTS ? words[v] : NULL;
}

static enum check_verdict of_seal(bool sound, bool trusted, bool unreadable, bool not_sealed, bool on_file)
{
	if (unreadable)
		return CHECK_UNREADABLE;
	if (not_sealed)
		return CHECK_UNSEALED;
	if (!sound)
		return CHECK_CHANGED;
	if (!trusted)
		return CHECK_FOREIGN;
	return on_file ? CHECK_GENUINE : CHECK_SEALED;
}

static enum status judge_pdf(const struct check_roots *roots, const void *bytes, size_t size, struct file_check *c,
			     struct err *err)
{
	enum status rc = seal_verify(bytes, size, roots->seal, roots->stamp, &c->pdf, err);

	if (!rc)
		c->verdict = of_seal(c->pdf.sound, c->pdf.trusted, c->pdf.fault == SEAL_FAULT_UNREADABLE,
				     c->pdf.fault == SEAL_FAULT_NOT_SEALED, c->on_file);
	return rc;
}

static enum status judge_xml(const struct check_roots *roots, const void *bytes, size_t size, struct file_check *c,
			     struct err *err)
{
	enum status rc = dcc_verify(bytes, size, roots->seal, &c->document, err);

	if (!rc)
		c->verdict = of_seal(c->document.sound, c->document.trusted, c->document.fault == DCC_FAULT_UNREADABLE,
				     c->document.fault == DCC_FAULT_NOT_SEALED, c->on_file);
	return rc;
}

static bool is_xml(const char *bytes, size_t size)
{
	size_t at = size >= 3 && !memcmp(bytes, "\xef\xbb\xbf", 3) ? 3 : 0;

	while (at < size && strchr(" \t\r\n", bytes[at]))
		at++;
	return at < size && bytes[at] == '<';
}

enum status check_file(struct db *db, const struct check_roots *roots, const void *bytes, size_t size, struct arena *a,
		       struct file_check *out, struct err *err)
{
	enum status rc = NOT_FOUND;

	memset(out, 0, sizeof *out);
	if (size == 0 || size > CHECK_FILE_MAX)
		return err_set(err, INVALID, "", size ? "a certificate is no longer than %u MB" : "the file is empty",
			       CHECK_FILE_MAX >> 20);
	sha256_hex(bytes, size, out->sha256);
	if (db)
		rc = store_certificate_of_file(db, out->sha256, a, &out->certificate, err);
	if (rc && rc != NOT_FOUND)
		return rc;
	out->on_file = !rc;
	out->xml = is_xml(bytes, size);
	return out->xml ? judge_xml(roots, bytes, size, out, err) : judge_pdf(roots, bytes, size, out, err);
}

void certificate_state_sentence(const struct certificate *c, char *out, size_t size)
{
	const char *reason = c->reason ? c->reason : "";

	if (!strcmp(c->state, "amended"))
		snprintf(out, size, "%s no longer stands: %s replaces it%s%s.", c->number,
			 c->replaced_by ? c->replaced_by : "an amendment", *reason ? ", because: " : "", reason);
	else if (!strcmp(c->state, "void"))
		snprintf(out, size, "%s is void%s%s.", c->number, *reason ? ": " : "", reason);
	else
		snprintf(out, size, "%s stands.", c->number);
}

size_t check_sentences(const struct file_check *c, bool compared, char out[CHECK_SENTENCES][CHECK_SENTENCE_SIZE])
{
	char day[TIME_TEXT_SIZE];
	size_t n = 0;

	snprintf(out[n++], CHECK_SENTENCE_SIZE, "%s", c->xml ? c->document.sentence : c->pdf.sentence);
	if (!compared)
		return n;
	if (!c->on_file) {
		snprintf(out[n++], CHECK_SENTENCE_SIZE, "No certificate was issued here with exactly these bytes.");
		return n;
	}
	time_to_text(c->certificate.issued_at, day);
	snprintf(out[n++], CHECK_SENTENCE_SIZE, "It is, byte for byte, the %s issued as %s on %.10s.",
		 c->xml ? "XML document" : "PDF", c->certificate.number, day);
	certificate_state_sentence(&c->certificate, out[n++], CHECK_SENTENCE_SIZE);
	return n;
}
