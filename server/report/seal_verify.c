/* The judgement of a file, from its form to its signatures, and the sentence about it. */
#include "report/seal_verify.h"

#include <openssl/evp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "base/time.h"
#include "seal_cms.h"
#include "seal_structure.h"
#include "seal_text.h"

#define CMS_SIZE_MAX  (256u << 10)
#define ENDINGS_TRIED 24

const char *seal_fault_word(enum seal_fault fault)
{
	static const char *const words[] = {
		[SEAL_FAULT_NONE] = "",
		[SEAL_FAULT_NOT_SEALED] = "not_sealed",
		[SEAL_FAULT_UNREADABLE] = "unreadable",
		[SEAL_FAULT_REWRITTEN] = "rewritten",
		[SEAL_FAULT_APPENDED] = "appended",
		[SEAL_FAULT_REVISED] = "revised",
		[SEAL_FAULT_COVERAGE] = "coverage",
		[SEAL_FAULT_PADDING] = "padding",
		[SEAL_FAULT_SIGNATURE] = "signature",
		[SEAL_FAULT_CONTENT] = "content",
	};

	return words[fault];
}

struct judging {
	struct pdf_file file;
	struct seal_structure structure;
	const struct seal_roots *roots, *stamp_roots;
	struct seal_report *out;
	size_t whole; /* size of the file as given */
};

static void note(struct seal_report *out, enum seal_fault fault, size_t at)
{
	if (out->fault != SEAL_FAULT_NONE)
		return;
	out->fault = fault;
	out->fault_at = at;
}

/* [0 a b c] with the gap a..b exactly the value of /Contents, and the end that of the revision. */
static bool covers(const struct pdf_file *f, const struct pdf_value *range, const struct pdf_value *contents,
		   size_t end)
{
	int64_t v[4];
	const struct pdf_value *at = range && range->kind == PDF_ARRAY ? range->first : NULL;

	for (int i = 0; i < 4; i++, at = at->next) {
		if (!at || at->kind != PDF_INTEGER || at->number < 0 || at->number > (int64_t)f->size)
			return false;
		v[i] = at->number;
	}
	return !at && v[0] == 0 && v[1] == (int64_t)contents->begin && v[2] == (int64_t)contents->end &&
	       v[2] + v[3] == (int64_t)end;
}

/* Lower-case hexadecimal alone: one form for one value. -1 for anything else. */
static int digit(char c)
{
	if (c >= '0' && c <= '9')
		return c - '0';
	return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

static unsigned char *decode(const struct pdf_file *f, const struct pdf_value *contents, size_t *size)
{
	const char *at = f->bytes + contents->begin + 1;
	size_t n = contents->end - contents->begin - 2;
	unsigned char *bytes;

	if (n % 2 != 0 || n < 8 || n / 2 > 1u << 20 || !(bytes = malloc(n / 2)))
		return NULL;
	for (size_t i = 0; i < n / 2; i++) {
		int high = digit(at[2 * i]), low = digit(at[2 * i + 1]);

		if (high < 0 || low < 0) {
			free(bytes);
			return NULL;
		}
		bytes[i] = (unsigned char)(high << 4 | low);
	}
	*size = n / 2;
	return bytes;
}

/* Size of the DER element at the beginning; 0 when it does not fit. */
static size_t element_size(const unsigned char *bytes, size_t size)
{
	size_t length = 0, header;

	if (size < 2 || bytes[0] != 0x30)
		return 0;
	if (bytes[1] < 0x80)
		return (size_t)bytes[1] + 2 <= size ? (size_t)bytes[1] + 2 : 0;
	header = (size_t)(bytes[1] & 0x7f);
	if (header < 1 || header > 3 || size < 2 + header)
		return 0;
	for (size_t i = 0; i < header; i++)
		length = length << 8 | bytes[2 + i];
	length += 2 + header;
	return length <= size && length <= CMS_SIZE_MAX ? length : 0;
}

static bool hash_around(const struct pdf_file *f, const struct pdf_value *gap, size_t end, unsigned char sha256[32])
{
	EVP_MD_CTX *context = EVP_MD_CTX_new();
	bool done = context && EVP_DigestInit_ex(context, EVP_sha256(), NULL) == 1 &&
		    EVP_DigestUpdate(context, f->bytes, gap->begin) == 1 &&
		    EVP_DigestUpdate(context, f->bytes + gap->end, end - gap->end) == 1 &&
		    EVP_DigestFinal_ex(context, sha256, NULL) == 1;

	EVP_MD_CTX_free(context);
	return done;
}

static enum seal_fault judge_value(struct judging *j, const struct pdf_value *contents, size_t end,
				   struct seal_signature *out)
{
	unsigned char sha256[32];
	size_t size = 0, used;
	unsigned char *bytes = decode(&j->file, contents, &size);
	enum seal_fault fault = SEAL_FAULT_SIGNATURE;

	used = bytes ? element_size(bytes, size) : 0;
	if (used && hash_around(&j->file, contents, end, sha256))
		fault = seal_cms_check(bytes, used, sha256, j->roots, j->stamp_roots, out);
	for (size_t i = used; used && !fault && i < size; i++)
		if (bytes[i])
			fault = SEAL_FAULT_PADDING;
	if (fault)
		out->intact = false;
	free(bytes);
	return fault;
}

static enum seal_fault judge_signature(struct judging *j, size_t revision, struct seal_signature *out)
{
	const struct seal_slot *slot = &j->structure.slot[j->structure.by_revision[revision]];
	const struct pdf_value *contents = pdf_get(&j->file, slot->signature, "/Contents");
	size_t end = j->file.revision[revision].end;
	char date[40];

	snprintf(out->field, sizeof out->field, "%s", slot->name);
	pdf_text(&j->file, pdf_get(&j->file, slot->signature, "/Name"), out->name, sizeof out->name);
	pdf_text(&j->file, pdf_get(&j->file, slot->signature, "/Reason"), out->reason, sizeof out->reason);
	pdf_text(&j->file, pdf_get(&j->file, slot->signature, "/Location"), out->location, sizeof out->location);
	pdf_text(&j->file, pdf_get(&j->file, slot->signature, "/M"), date, sizeof date);
	if (!seal_date_decode(date, &out->at_ms) || !contents || contents->kind != PDF_HEX)
		return SEAL_FAULT_SIGNATURE;
	if (!covers(&j->file, pdf_get(&j->file, slot->signature, "/ByteRange"), contents, end))
		return SEAL_FAULT_COVERAGE;
	out->covers_whole_file = end == j->whole;
	return judge_value(j, contents, end, out);
}

static void judge_signatures(struct judging *j, size_t revisions)
{
	for (size_t i = 1; i < revisions; i++) {
		struct seal_signature *s = &j->out->signature[i - 1];

		j->out->count++;
		note(j->out, judge_signature(j, i, s), i);
	}
}

/*
 * The sealed part: the whole file, or what of it ends with a revision when something stands behind. False when no part of
 * it is of our form.
 */
static bool open_sealed(struct judging *j, const char *bytes, size_t size)
{
	static const char tail[] = "%%EOF\n";
	const size_t n = sizeof tail - 1;
	size_t end = size;

	if (pdf_open(&j->file, bytes, size))
		return true;
	for (int tried = 0; tried < ENDINGS_TRIED && end > n; tried++) {
		do
			end--;
		while (end > n && memcmp(bytes + end - n, tail, n) != 0);
		pdf_close(&j->file);
		if (end > n && pdf_open(&j->file, bytes, end))
			return true;
	}
	return false;
}

static void judge(struct judging *j, const char *bytes, size_t size)
{
	enum seal_fault fault;

	if (!open_sealed(j, bytes, size)) {
		note(j->out, SEAL_FAULT_UNREADABLE, 0);
		return;
	}
	fault = seal_structure_read(&j->file, &j->structure);
	if (fault == SEAL_FAULT_REVISED) {
		judge_signatures(j, j->structure.fault_at ? j->structure.fault_at : 1);
		/* Damage to what came before weighs more, and is the truer reason. */
		note(j->out, SEAL_FAULT_REVISED, j->structure.fault_at);
	} else if (fault) {
		note(j->out, j->file.size != size && fault == SEAL_FAULT_NOT_SEALED ? SEAL_FAULT_UNREADABLE : fault, 0);
	} else {
		judge_signatures(j, j->file.count);
		if (j->file.size != size)
			note(j->out, SEAL_FAULT_APPENDED, 0);
	}
}

static const struct seal_signature *least_trusted(const struct seal_report *r)
{
	for (size_t i = 0; i < r->count; i++)
		if (r->signature[i].trust != SEAL_TRUST_YES)
			return &r->signature[i];
	return NULL;
}

static void say_fault(struct seal_report *r)
{
	static const char *const words[] = {
		[SEAL_FAULT_NOT_SEALED] = "The file carries no seal.",
		[SEAL_FAULT_UNREADABLE] = "The file is damaged, or it is not a certificate that was sealed here.",
		[SEAL_FAULT_REWRITTEN] = "Another program has written the file anew; its seal is lost.",
		[SEAL_FAULT_APPENDED] = "Something was added to the file after it was sealed.",
		[SEAL_FAULT_REVISED] =
			"The file was changed after it was sealed: a later revision alters what was sealed.",
		[SEAL_FAULT_COVERAGE] = "does not cover the whole of what it was put on.",
		[SEAL_FAULT_PADDING] = "is followed by something that does not belong to it.",
		[SEAL_FAULT_SIGNATURE] = "is damaged, or of a kind that is not made here.",
		[SEAL_FAULT_CONTENT] = "does not fit: the file was changed after it was sealed.",
	};

	if (r->fault >= SEAL_FAULT_COVERAGE)
		snprintf(r->sentence, sizeof r->sentence, "Signature %zu of %zu %s", r->fault_at, r->count,
			 words[r->fault]);
	else
		snprintf(r->sentence, sizeof r->sentence, "%s", words[r->fault]);
}

static void say_untrusted(struct seal_report *r, const struct seal_signature *s)
{
	if (s->trust == SEAL_TRUST_EXPIRED)
		snprintf(r->sentence, sizeof r->sentence,
			 "The file is unchanged, but the certificate of %s was not valid when it was sealed.",
			 s->signer);
	else if (s->trust == SEAL_TRUST_STAMP)
		snprintf(r->sentence, sizeof r->sentence,
			 "The file is unchanged, but the time stamp on the seal of %s is damaged or was made for "
			 "something else.",
			 s->signer);
	else
		snprintf(r->sentence, sizeof r->sentence,
			 "The file is unchanged since %s sealed it, but nobody here vouches for that name: its root "
			 "is not among the trusted ones.",
			 s->signer);
}

static void say(struct seal_report *r)
{
	const struct seal_signature *last = r->count ? &r->signature[r->count - 1] : NULL;
	char at[TIME_TEXT_SIZE];

	if (!r->sound) {
		say_fault(r);
	} else if (!r->trusted) {
		say_untrusted(r, least_trusted(r));
	} else {
		time_to_text(last->at_ms, at);
		snprintf(r->sentence, sizeof r->sentence, "Sealed by %s on %.10s at %.8s UTC%s; unchanged since.",
			 last->signer, at, at + 11, last->time == SEAL_TIME_STAMPED ? " (time stamped)" : "");
	}
}

enum status seal_verify(const void *pdf, size_t size, const struct seal_roots *roots,
			const struct seal_roots *stamp_roots, struct seal_report *out, struct err *err)
{
	struct judging *j = calloc(1, sizeof *j);

	*out = (struct seal_report){0};
	if (!j)
		return err_set(err, NO_MEMORY, "", "out of memory");
	j->roots = roots;
	j->stamp_roots = stamp_roots;
	j->out = out;
	j->whole = size;
	sha256_hex(pdf, size, out->sha256);
	judge(j, pdf, size);
	out->sound = out->fault == SEAL_FAULT_NONE && out->count > 0;
	out->trusted = out->sound && !least_trusted(out);
	say(out);
	pdf_close(&j->file);
	free(j);
	return OK;
}
