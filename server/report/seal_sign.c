/*
 * One signature is one appended revision: the field anew with its value, the signature's dictionary, what the field shows,
 * a table and a trailer. The place of the value is left open, everything else is hashed, and the value is put in.
 */
#include <openssl/evp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "base/text.h"
#include "report/seal.h"
#include "seal_appearance.h"
#include "seal_cms.h"
#include "seal_structure.h"
#include "seal_text.h"

#define RANGE_ROOM 40 /* characters for the three numbers of /ByteRange */

struct signing {
	struct pdf_file file;
	struct seal_structure structure;
	struct seal_slot *slot;
	const struct seal_sign_options *o;
	struct bytes out; /* the revision */
	struct appended appended;
	uint32_t form;	 /* 0: the field stays as it looks */
	size_t field_at; /* offsets in the whole file */
	size_t range_at, contents_at, contents_end;
};

static enum status check_text(const char *s, const char *field, struct err *err)
{
	size_t n = s ? text_characters(s) : 1;

	if (n < 1 || n > 200 || (s && (!text_is_clean(s, strlen(s)) || strpbrk(s, "\n\t"))))
		return err_set(err, INVALID, field, "the text must have 1 to 200 characters on one line");
	return OK;
}

static enum status check_options(const struct seal_sign_options *o, struct err *err)
{
	enum status rc = check_text(o->name, "/name", err);

	if (!rc)
		rc = check_text(o->reason, "/reason", err);
	if (!rc)
		rc = check_text(o->location, "/location", err);
	if (!rc && o->line_count > 8)
		rc = err_set(err, INVALID, "/lines", "a signature shows at most 8 lines");
	for (size_t i = 0; !rc && o->lines && i < o->line_count; i++)
		rc = check_text(o->lines[i], "/lines", err);
	if (!rc && (o->contents_room > 1u << 20))
		rc = err_set(err, INVALID, "/contents_room", "too much room for a signature");
	return rc;
}

static enum status judge_structure(enum seal_fault fault, struct err *err)
{
	if (fault == SEAL_FAULT_NONE || fault == SEAL_FAULT_NOT_SEALED)
		return OK;
	if (fault == SEAL_FAULT_UNREADABLE)
		return err_set(err, INVALID, "", "the PDF is not one that was finished for signatures");
	return err_set(err, CONFLICT, "", "the PDF has been changed since it was signed");
}

static enum status find_slot(struct signing *s, struct err *err)
{
	for (size_t i = 0; i < s->structure.count; i++)
		if (strcmp(s->structure.slot[i].name, s->o->field) == 0)
			s->slot = &s->structure.slot[i];
	if (!s->slot)
		return err_set(err, NOT_FOUND, "/field", "the PDF has no field %.60s for a signature", s->o->field);
	if (s->slot->revision)
		return err_set(err, CONFLICT, "/field", "the field %.60s is signed already", s->o->field);
	return OK;
}

/* The sides of the field on the page, in points. */
static void field_size(const struct signing *s, double *width, double *height)
{
	const struct pdf_value *rect = pdf_get(&s->file, s->slot->field, "/Rect"), *v = rect ? rect->first : NULL;
	double side[4] = {0};

	for (int i = 0; i < 4 && v; i++, v = v->next) {
		char text[32];

		snprintf(text, sizeof text, "%.*s", (int)(v->end - v->begin), s->file.bytes + v->begin);
		side[i] = strtod(text, NULL); /* no locale is set in this program; the text has a point */
	}
	*width = side[2] - side[0];
	*height = side[3] - side[1];
}

static enum status add_appearance(struct signing *s, struct err *err)
{
	double width, height;

	if (!s->o->lines || s->o->line_count == 0)
		return OK;
	field_size(s, &width, &height);
	if (width <= 0 || height <= 0)
		return OK; /* an invisible field shows nothing */
	return seal_appearance(s->o->lines, s->o->line_count, width, height, &s->appended, &s->form, err);
}

static void add_text(struct bytes *out, const char *key, const char *text)
{
	if (!text)
		return;
	bytes_print(out, " %s ", key);
	bytes_text(out, text);
}

static void pad(struct bytes *out, char c, size_t count)
{
	static const size_t step = 64;
	char row[64];

	memset(row, c, sizeof row);
	for (; count > step; count -= step)
		bytes_add(out, row, step);
	bytes_add(out, row, count);
}

static uint32_t add_signature(struct signing *s)
{
	size_t room = s->o->contents_room ? s->o->contents_room : SEAL_CONTENTS_ROOM;
	uint32_t number = appended_begin(&s->appended);
	struct bytes *out = &s->out;

	bytes_print(out, "<< /Type /Sig /Filter /Adobe.PPKLite /SubFilter /ETSI.CAdES.detached /ByteRange [0 ");
	s->range_at = s->file.size + out->size;
	pad(out, ' ', RANGE_ROOM);
	bytes_print(out, "] /Contents ");
	s->contents_at = s->file.size + out->size;
	bytes_print(out, "<");
	pad(out, '0', 2 * room);
	bytes_print(out, ">");
	s->contents_end = s->file.size + out->size;
	bytes_print(out, " /M ");
	bytes_date(out, s->o->at_ms);
	add_text(out, "/Name", s->o->name);
	add_text(out, "/Reason", s->o->reason);
	add_text(out, "/Location", s->o->location);
	bytes_print(out, " >>\nendobj\n");
	return number;
}

/* The field's own text, with what changes left out and put in anew. */
static void add_field(struct signing *s, uint32_t signature)
{
	const struct pdf_file *f = &s->file;

	s->field_at = f->size + s->out.size;
	bytes_print(&s->out, "%u 0 obj\n<<", (uint32_t)s->slot->object);
	for (const struct pdf_value *k = s->slot->field->first; k; k = k->next->next) {
		if (pdf_is(f, k, "/V") || (s->form && pdf_is(f, k, "/AP")))
			continue;
		bytes_print(&s->out, " ");
		bytes_add(&s->out, f->bytes + k->begin, k->end - k->begin);
		bytes_print(&s->out, " ");
		bytes_add(&s->out, f->bytes + k->next->begin, k->next->end - k->next->begin);
	}
	if (s->form)
		bytes_print(&s->out, " /AP << /N %u 0 R >>", s->form);
	bytes_print(&s->out, " /V %u 0 R >>\nendobj\n", signature);
}

static void add_trailer_key(struct signing *s, const char *key)
{
	const struct pdf_value *v = pdf_get(&s->file, s->file.revision[0].trailer, key);

	if (!v)
		return;
	bytes_print(&s->out, " %s ", key);
	bytes_add(&s->out, s->file.bytes + v->begin, v->end - v->begin);
}

static void add_table(struct signing *s)
{
	const struct appended *a = &s->appended;
	size_t xref = s->file.size + s->out.size;

	bytes_print(&s->out, "xref\n%u 1\n%010zu 00000 n \n", (uint32_t)s->slot->object, s->field_at);
	bytes_print(&s->out, "%u %u\n", a->first, a->next - a->first);
	for (uint32_t i = a->first; i < a->next; i++)
		bytes_print(&s->out, "%010zu 00000 n \n", a->offset[i - a->first]);
	bytes_print(&s->out, "trailer << /Size %u", a->next);
	add_trailer_key(s, "/Root");
	add_trailer_key(s, "/Info");
	add_trailer_key(s, "/ID");
	bytes_print(&s->out, " /Prev %zu >>\nstartxref\n%zu\n%%%%EOF\n", s->file.revision[s->file.count - 1].xref,
		    xref);
}

static enum status hash_ranges(const struct signing *s, const char *whole, size_t size, unsigned char sha256[32],
			       struct err *err)
{
	EVP_MD_CTX *context = EVP_MD_CTX_new();
	bool done = context && EVP_DigestInit_ex(context, EVP_sha256(), NULL) == 1 &&
		    EVP_DigestUpdate(context, whole, s->contents_at) == 1 &&
		    EVP_DigestUpdate(context, whole + s->contents_end, size - s->contents_end) == 1 &&
		    EVP_DigestFinal_ex(context, sha256, NULL) == 1;

	EVP_MD_CTX_free(context);
	return done ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

static enum status put_contents(const struct signing *s, const unsigned char *der, size_t size, char *whole,
				struct err *err)
{
	static const char hex[] = "0123456789abcdef";
	size_t room = (s->contents_end - s->contents_at - 2) / 2;
	char *at = whole + s->contents_at + 1;

	if (size > room)
		return err_set(err, FAILED, "/contents_room",
			       "the signature needs %zu bytes, the PDF keeps only %zu free for it", size, room);
	for (size_t i = 0; i < size; i++) {
		*at++ = hex[der[i] >> 4];
		*at++ = hex[der[i] & 15];
	}
	return OK;
}

/* The whole file with the revision behind it; *whole is malloc'ed. */
static enum status seal_whole(struct signing *s, struct seal_key *key, char **whole, size_t *size, struct err *err)
{
	unsigned char sha256[32], *der = NULL;
	size_t der_size = 0;
	char range[RANGE_ROOM + 1];
	enum status rc;
	int n;

	*size = s->file.size + s->out.size;
	if (s->out.failed || *size > SEAL_PDF_SIZE_MAX || !(*whole = malloc(*size)))
		return err_set(err, NO_MEMORY, "", "no memory for the signed PDF");
	memcpy(*whole, s->file.bytes, s->file.size);
	memcpy(*whole + s->file.size, s->out.data, s->out.size);
	n = snprintf(range, sizeof range, "%zu %zu %zu", s->contents_at, s->contents_end, *size - s->contents_end);
	memcpy(*whole + s->range_at, range, (size_t)n);
	rc = hash_ranges(s, *whole, *size, sha256, err);
	if (!rc)
		rc = seal_cms_make(key, sha256, s->o->stamp, &der, &der_size, err);
	if (!rc)
		rc = put_contents(s, der, der_size, *whole, err);
	free(der);
	return rc;
}

static enum status write_revision(struct signing *s, struct err *err)
{
	const struct pdf_revision *last = &s->file.revision[s->file.count - 1];
	enum status rc;

	if (s->file.count == PDF_REVISIONS_MAX)
		return err_set(err, CONFLICT, "", "the PDF has as many signatures as it may have");
	s->appended = (struct appended){.out = &s->out, .base = s->file.size, .first = last->size, .next = last->size};
	rc = add_appearance(s, err);
	if (rc)
		return rc;
	add_field(s, add_signature(s));
	add_table(s);
	return OK;
}

static enum status sign(struct signing *s, struct seal_key *key, char **out, size_t *out_size, struct err *err)
{
	char *whole = NULL;
	size_t size = 0;
	enum status rc = judge_structure(seal_structure_read(&s->file, &s->structure), err);

	if (!rc)
		rc = find_slot(s, err);
	if (!rc)
		rc = write_revision(s, err);
	if (!rc)
		rc = seal_whole(s, key, &whole, &size, err);
	if (rc) {
		free(whole);
		return rc;
	}
	*out = whole;
	*out_size = size;
	return OK;
}

enum status seal_sign(struct seal_key *key, const void *pdf, size_t size, const struct seal_sign_options *options,
		      char **out, size_t *out_size, struct err *err)
{
	struct signing *s;
	enum status rc = check_options(options, err);

	if (!rc)
		rc = seal_key_check(key, options->at_ms, err);
	if (rc)
		return rc;
	s = calloc(1, sizeof *s);
	if (!s)
		return err_set(err, NO_MEMORY, "", "out of memory");
	s->o = options;
	if (pdf_open(&s->file, pdf, size))
		rc = sign(s, key, out, out_size, err);
	else
		rc = err_set(err, INVALID, "", "the PDF is not one that was finished for signatures");
	bytes_free(&s->out);
	pdf_close(&s->file);
	free(s);
	return rc;
}
