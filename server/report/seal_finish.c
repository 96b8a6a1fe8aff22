/*
 * From drawn pages to a complete file: what cairo cannot write is put into its object model by libqpdf, then everything is
 * written once. The fields for all signatures exist before the first, so a signature never touches page or catalogue.
 */
#include <openssl/evp.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>
#include "base/text.h"
#include "report/seal.h"
#include "seal_icc.h"
#include "seal_qpdf.h"
#include "seal_tags.h"
#include "seal_xmp.h"

#define FLAGS_PRINT_LOCKED 132 /* annotation flags 3 and 8, ISO 32000-1 table 165 */
#define ATTACHMENTS_MAX	   8

static bool is_word(const char *s, size_t max, const char *also)
{
	size_t n = 0;

	for (; s && s[n] && n <= max; n++) {
		char c = s[n];

		if (!((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || strchr(also, c)))
			return false;
	}
	return n >= 1 && n <= max;
}

static bool is_line(const char *s, size_t max)
{
	size_t n = s ? text_characters(s) : 0;

	return n >= 1 && n <= max && text_is_clean(s, strlen(s)) && !strpbrk(s, "\n\t");
}

static enum status check_field(const struct seal_field *f, const struct seal_field *others, size_t at, struct err *err)
{
	char where[64];

	snprintf(where, sizeof where, "/fields/%zu", at);
	if (!is_word(f->name, 32, "_"))
		return err_set(err, INVALID, where, "a field's name has 1 to 32 letters, digits or _");
	for (size_t i = 0; i < at; i++)
		if (strcmp(others[i].name, f->name) == 0)
			return err_set(err, INVALID, where, "the field %s is there twice", f->name);
	if (!is_line(f->hint, 200))
		return err_set(err, INVALID, where, "the field %s needs a hint of 1 to 200 characters", f->name);
	if (!(f->x >= 0 && f->y >= 0 && f->width >= 0 && f->height >= 0) || f->x + f->width > 14400 ||
	    f->y + f->height > 14400 || (f->width > 0) != (f->height > 0))
		return err_set(err, INVALID, where, "the field %s has an impossible place", f->name);
	return OK;
}

static enum status check_attachment(const struct seal_attachment *a, size_t at, struct err *err)
{
	char where[64];

	snprintf(where, sizeof where, "/attachments/%zu", at);
	if (!is_word(a->name, 100, ".-_"))
		return err_set(err, INVALID, where, "an attachment's name has 1 to 100 letters, digits or .-_");
	if (!is_word(a->mime, 100, "/.+-") || !strchr(a->mime, '/'))
		return err_set(err, INVALID, where, "%s needs a media type such as text/xml", a->name);
	if (!is_line(a->description, 200))
		return err_set(err, INVALID, where, "%s needs a description of 1 to 200 characters", a->name);
	if (a->size > SEAL_PDF_SIZE_MAX / 2)
		return err_set(err, INVALID, where, "%s is too large to be attached", a->name);
	return OK;
}

static enum status check_options(const struct seal_finish_options *o, struct err *err)
{
	enum status rc = OK;

	if (!is_word(o->language, 35, "-"))
		return err_set(err, INVALID, "/language", "the language must be a tag such as en");
	if (o->field_count < 1 || o->field_count > SEAL_FIELDS_MAX)
		return err_set(err, INVALID, "/fields", "a file has 1 to %d fields for signatures", SEAL_FIELDS_MAX);
	if (o->attachment_count > ATTACHMENTS_MAX)
		return err_set(err, INVALID, "/attachments", "a file has up to %d attachments", ATTACHMENTS_MAX);
	for (size_t i = 0; !rc && i < o->field_count; i++)
		rc = check_field(&o->fields[i], o->fields, i, err);
	for (size_t i = 0; !rc && i < o->attachment_count; i++)
		rc = check_attachment(&o->attachments[i], i, err);
	return rc;
}

static void set(qpdf_data q, qpdf_oh dict, const char *key, qpdf_oh value)
{
	qpdf_oh_replace_key(q, dict, key, value);
}

static void set_name(qpdf_data q, qpdf_oh dict, const char *key, const char *name)
{
	set(q, dict, key, qpdf_oh_new_name(q, name));
}

static void set_integer(qpdf_data q, qpdf_oh dict, const char *key, long long v)
{
	set(q, dict, key, qpdf_oh_new_integer(q, v));
}

static void set_text(qpdf_data q, qpdf_oh dict, const char *key, const char *utf8)
{
	set(q, dict, key, qpdf_oh_new_unicode_string(q, utf8));
}

static void set_date(qpdf_data q, qpdf_oh dict, const char *key, int64_t ms)
{
	struct bytes b = {0};

	bytes_date(&b, ms);
	if (!b.failed && b.size > 2) {
		b.data[b.size - 1] = '\0';
		set(q, dict, key, qpdf_oh_new_string(q, b.data + 1)); /* without the parentheses */
	}
	bytes_free(&b);
}

static qpdf_oh new_stream(qpdf_data q, const void *bytes, size_t size)
{
	qpdf_oh stream = qpdf_oh_new_stream(q);

	/* Only asks for compression by leaving the filter out: the writer deflates. */
	qpdf_oh_replace_stream_data(q, stream, bytes, size, qpdf_oh_new_null(q), qpdf_oh_new_null(q));
	return stream;
}

#define PACKING 3 /* deflate's: half the time of its usual 6 for 4 % more bytes */

/* The same, deflated here; falls back on the writer, which is slower. */
static qpdf_oh new_packed_stream(qpdf_data q, const void *bytes, size_t size)
{
	uLong room = compressBound((uLong)size);
	Bytef *packed = malloc(room);
	qpdf_oh stream;

	if (!packed || compress2(packed, &room, bytes, (uLong)size, PACKING) != Z_OK) {
		free(packed);
		return new_stream(q, bytes, size);
	}
	stream = qpdf_oh_new_stream(q);
	qpdf_oh_replace_stream_data(q, stream, packed, room, qpdf_oh_new_name(q, "/FlateDecode"), qpdf_oh_new_null(q));
	free(packed);
	return stream;
}

static void info_text(qpdf_data q, const char *key, char *out, size_t size)
{
	qpdf_oh info = qpdf_oh_get_key(q, qpdf_get_trailer(q), "/Info");
	qpdf_oh v = qpdf_oh_is_dictionary(q, info) ? qpdf_oh_get_key(q, info, key) : 0;
	const char *text = v && qpdf_oh_is_string(q, v) ? qpdf_oh_get_utf8_value(q, v) : "";

	snprintf(out, size, "%s", text_is_clean(text, strlen(text)) && strlen(text) < size ? text : "");
}

static enum status read_facts(qpdf_data q, struct xmp_facts *f, struct err *err)
{
	char created[64], modified[64];
	qpdf_oh info;

	info_text(q, "/Title", f->title, sizeof f->title);
	info_text(q, "/Author", f->author, sizeof f->author);
	info_text(q, "/Subject", f->subject, sizeof f->subject);
	info_text(q, "/Creator", f->creator, sizeof f->creator);
	info_text(q, "/Producer", f->producer, sizeof f->producer);
	info_text(q, "/CreationDate", created, sizeof created);
	info_text(q, "/ModDate", modified, sizeof modified);
	if (!*f->title)
		return err_set(err, INVALID, "", "the PDF has no title");
	if (!seal_date_decode(created, &f->created_ms) || !seal_date_decode(modified, &f->modified_ms))
		return err_set(err, INVALID, "", "the PDF does not say when it was made");
	info = qpdf_oh_get_key(q, qpdf_get_trailer(q), "/Info");
	set_date(q, info, "/CreationDate", f->created_ms); /* in the form that ISO 32000-1 7.9.4 wants */
	set_date(q, info, "/ModDate", f->modified_ms);
	return OK;
}

static enum status add_metadata(qpdf_data q, qpdf_oh root, const char *language, struct err *err)
{
	struct xmp_facts facts = {.language = language};
	struct bytes xmp = {0};
	qpdf_oh stream, dict;
	enum status rc = read_facts(q, &facts, err);

	if (rc)
		return rc;
	xmp_write(&xmp, &facts);
	if (xmp.failed) {
		bytes_free(&xmp);
		return err_set(err, NO_MEMORY, "", "out of memory");
	}
	stream = new_stream(q, xmp.data, xmp.size);
	bytes_free(&xmp);
	dict = qpdf_oh_get_dict(q, stream);
	set_name(q, dict, "/Type", "/Metadata");
	set_name(q, dict, "/Subtype", "/XML");
	set(q, root, "/Metadata", stream);
	return OK;
}

static unsigned char profile[SEAL_ICC_SIZE];
static pthread_once_t profile_once = PTHREAD_ONCE_INIT;

static void make_profile(void)
{
	seal_icc_srgb(profile);
}

static void add_profile(qpdf_data q, qpdf_oh root)
{
	qpdf_oh stream, intent = qpdf_oh_new_dictionary(q), intents = qpdf_oh_new_array(q);

	pthread_once(&profile_once, make_profile);
	stream = new_packed_stream(q, profile, sizeof profile);
	set_integer(q, qpdf_oh_get_dict(q, stream), "/N", 3);
	set_name(q, intent, "/Type", "/OutputIntent");
	set_name(q, intent, "/S", "/GTS_PDFA1");
	set_text(q, intent, "/OutputConditionIdentifier", "sRGB IEC61966-2.1");
	set_text(q, intent, "/Info", "sRGB IEC61966-2.1");
	set(q, intent, "/DestOutputProfile", stream);
	qpdf_oh_append_item(q, intents, intent);
	set(q, root, "/OutputIntents", intents);
}

static qpdf_oh embedded_file(qpdf_data q, const struct seal_attachment *a)
{
	qpdf_oh stream = new_packed_stream(q, a->bytes, a->size), dict = qpdf_oh_get_dict(q, stream);
	qpdf_oh params = qpdf_oh_new_dictionary(q);
	unsigned char sum[16]; /* MD5, as ISO 32000-1 table 46 asks; it finds damage, the seal finds forgery */
	char name[104];

	snprintf(name, sizeof name, "/%s", a->mime);
	set_name(q, dict, "/Type", "/EmbeddedFile");
	set_name(q, dict, "/Subtype", name);
	set_integer(q, params, "/Size", (long long)a->size);
	set_date(q, params, "/ModDate", a->modified_ms);
	if (EVP_Digest(a->bytes, a->size, sum, NULL, EVP_md5(), NULL) == 1)
		set(q, params, "/CheckSum", qpdf_oh_new_binary_string(q, (const char *)sum, sizeof sum));
	set(q, dict, "/Params", params);
	return stream;
}

static qpdf_oh file_specification(qpdf_data q, const struct seal_attachment *a)
{
	qpdf_oh spec = qpdf_oh_new_dictionary(q), ef = qpdf_oh_new_dictionary(q), file = embedded_file(q, a);

	set_name(q, spec, "/Type", "/Filespec");
	set_text(q, spec, "/F", a->name);
	set_text(q, spec, "/UF", a->name);
	set_text(q, spec, "/Desc", a->description);
	set_name(q, spec, "/AFRelationship", "/Data");
	set(q, ef, "/F", file);
	set(q, ef, "/UF", file);
	set(q, spec, "/EF", ef);
	return qpdf_make_indirect_object(q, spec);
}

static int by_name(const void *a, const void *b)
{
	const struct seal_attachment *x = a, *y = b;

	return strcmp(x->name, y->name);
}

/* The name tree must ascend (ISO 32000-1 7.9.6). */
static void add_attachments(qpdf_data q, qpdf_oh root, const struct seal_finish_options *o)
{
	struct seal_attachment sorted[ATTACHMENTS_MAX];
	qpdf_oh associated, names, tree, all;

	if (o->attachment_count == 0)
		return;
	for (size_t i = 0; i < o->attachment_count; i++)
		sorted[i] = o->attachments[i];
	qsort(sorted, o->attachment_count, sizeof *sorted, by_name);
	associated = qpdf_oh_new_array(q);
	names = qpdf_oh_new_array(q);
	for (size_t i = 0; i < o->attachment_count; i++) {
		qpdf_oh spec = file_specification(q, &sorted[i]);

		qpdf_oh_append_item(q, associated, spec);
		qpdf_oh_append_item(q, names, qpdf_oh_new_string(q, sorted[i].name));
		qpdf_oh_append_item(q, names, spec);
	}
	tree = qpdf_oh_new_dictionary(q);
	set(q, tree, "/Names", names);
	all = qpdf_oh_new_dictionary(q);
	set(q, all, "/EmbeddedFiles", tree);
	set(q, root, "/Names", all);
	set(q, root, "/AF", associated);
}

/* Left, bottom, right, top of the page's paper; inherited from above when the page has none. */
static bool media_box(qpdf_data q, qpdf_oh page, double box[4])
{
	qpdf_oh node = page;

	for (int depth = 0; depth < 8 && qpdf_oh_is_dictionary(q, node); depth++) {
		qpdf_oh v = qpdf_oh_get_key(q, node, "/MediaBox");

		if (qpdf_oh_is_array(q, v) && qpdf_oh_get_array_n_items(q, v) == 4) {
			for (int i = 0; i < 4; i++)
				box[i] = qpdf_oh_get_numeric_value(q, qpdf_oh_get_array_item(q, v, i));
			return true;
		}
		node = qpdf_oh_get_key(q, node, "/Parent");
	}
	return false;
}

static qpdf_oh rectangle(qpdf_data q, const double v[4])
{
	qpdf_oh a = qpdf_oh_new_array(q);

	for (int i = 0; i < 4; i++)
		qpdf_oh_append_item(q, a, qpdf_oh_new_real_from_double(q, v[i], 3));
	return a;
}

/* PDF/A wants an appearance for every field, if only an empty one (ISO 19005-3 6.3.3). */
static qpdf_oh blank(qpdf_data q, const struct seal_field *f)
{
	const double box[4] = {0, 0, f->width, f->height};
	qpdf_oh form = new_stream(q, "", 0), dict = qpdf_oh_get_dict(q, form), ap = qpdf_oh_new_dictionary(q);

	set_name(q, dict, "/Type", "/XObject");
	set_name(q, dict, "/Subtype", "/Form");
	set(q, dict, "/BBox", rectangle(q, box));
	set(q, dict, "/Resources", qpdf_oh_new_dictionary(q));
	set(q, ap, "/N", form);
	return ap;
}

static enum status add_field(qpdf_data q, const struct seal_field *f, size_t at, qpdf_oh fields, struct err *err)
{
	char where[64];
	double box[4], rect[4] = {0, 0, 0, 0};
	qpdf_oh page, field, annotations;

	snprintf(where, sizeof where, "/fields/%zu/page", at);
	if (f->page < 1 || f->page > qpdf_get_num_pages(q))
		return err_set(err, INVALID, where, "there is no page %d for the field %s", f->page, f->name);
	page = qpdf_get_page_n(q, (size_t)f->page - 1);
	if (!media_box(q, page, box))
		return err_set(err, INVALID, where, "page %d has no size", f->page);
	if (f->width > 0) {
		rect[0] = box[0] + f->x;
		rect[1] = box[3] - f->y - f->height;
		rect[2] = rect[0] + f->width;
		rect[3] = box[3] - f->y;
		if (rect[1] < box[1] || rect[2] > box[2])
			return err_set(err, INVALID, where, "the field %s lies beside its page", f->name);
	}
	field = qpdf_oh_new_dictionary(q);
	set_name(q, field, "/Type", "/Annot");
	set_name(q, field, "/Subtype", "/Widget");
	set_name(q, field, "/FT", "/Sig");
	set(q, field, "/T", qpdf_oh_new_string(q, f->name));
	set_text(q, field, "/TU", f->hint);
	set_integer(q, field, "/F", FLAGS_PRINT_LOCKED);
	set(q, field, "/Rect", rectangle(q, rect));
	set(q, field, "/P", page);
	set(q, field, "/AP", blank(q, f));
	field = qpdf_make_indirect_object(q, field);
	qpdf_oh_append_item(q, fields, field);
	annotations = qpdf_oh_get_key(q, page, "/Annots");
	if (!qpdf_oh_is_array(q, annotations)) {
		annotations = qpdf_oh_new_array(q);
		set(q, page, "/Annots", annotations);
		annotations = qpdf_oh_get_key(q, page, "/Annots");
	}
	qpdf_oh_append_item(q, annotations, field);
	return OK;
}

static enum status add_fields(qpdf_data q, qpdf_oh root, const struct seal_finish_options *o, struct err *err)
{
	qpdf_oh form = qpdf_oh_new_dictionary(q), fields = qpdf_oh_new_array(q);
	enum status rc = OK;

	for (size_t i = 0; !rc && i < o->field_count; i++)
		rc = add_field(q, &o->fields[i], i, fields, err);
	set(q, form, "/Fields", fields);
	set_integer(q, form, "/SigFlags", 3); /* signatures exist; append only: ISO 32000-1 table 219 */
	set(q, root, "/AcroForm", qpdf_make_indirect_object(q, form));
	return rc;
}

static enum status complete(qpdf_data q, const struct seal_finish_options *o, struct err *err)
{
	qpdf_oh root, view;
	enum status rc;

	seal_qpdf_mend_fonts(q);
	root = qpdf_get_root(q);
	if (qpdf_oh_has_key(q, root, "/AcroForm"))
		return err_set(err, CONFLICT, "", "the PDF has been finished already");
	set_text(q, root, "/Lang", o->language);
	view = qpdf_oh_new_dictionary(q);
	set(q, view, "/DisplayDocTitle", qpdf_oh_new_bool(q, QPDF_TRUE));
	set(q, root, "/ViewerPreferences", view);
	add_profile(q, root);
	add_attachments(q, root, o);
	rc = add_metadata(q, root, o->language, err);
	if (!rc)
		rc = add_fields(q, root, o, err);
	return rc ? rc : seal_tags_complete(q, root, o->alternatives, o->alternative_count, err);
}

enum status seal_finish(const void *pdf, size_t size, const struct seal_finish_options *options, char **out,
			size_t *out_size, struct err *err)
{
	qpdf_data q = NULL;
	enum status rc = check_options(options, err);

	if (!rc)
		rc = seal_qpdf_open(pdf, size, &q, err);
	if (rc)
		return rc;
	rc = complete(q, options, err);
	if (!rc)
		rc = seal_qpdf_write(q, out, out_size, err);
	qpdf_cleanup(&q);
	return rc;
}
