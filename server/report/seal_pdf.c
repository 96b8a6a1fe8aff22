#include "seal_pdf.h"

#include <string.h>
#include "seal_pdf_parse.h"
#include "seal_text.h"

#define ENTRY_SIZE 20 /* "0000000017 00000 n \n" */

/* One table entry; *used is false for the free ones. */
static bool take_entry(struct pdf_cursor *c, int64_t *offset, bool *used)
{
	int64_t generation;
	size_t from = c->at;

	if (c->end - c->at < ENTRY_SIZE || !pdf_take_number(c, offset) || !pdf_take(c, " ") ||
	    !pdf_take_number(c, &generation))
		return false;
	*used = pdf_take(c, " n \n");
	return (*used ? generation == 0 : pdf_take(c, " f \n")) && c->at - from == ENTRY_SIZE;
}

static bool take_section(struct pdf_cursor *c, struct pdf_revision *r, size_t room, bool first)
{
	int64_t number, count, offset;
	bool used;

	if (!pdf_take_number(c, &number) || !pdf_take(c, " ") || !pdf_take_number(c, &count) || !pdf_take(c, "\n") ||
	    count < 1 || number + count > PDF_OBJECTS_MAX)
		return false;
	for (; count > 0; count--, number++) {
		if (!take_entry(c, &offset, &used))
			return false;
		if (!used) { /* only the head of the free list, and only in the first table */
			if (number != 0 || !first)
				return false;
			continue;
		}
		if (r->count >= room || number == 0 ||
		    (r->count > 0 && r->entries[r->count - 1].number >= (uint32_t)number))
			return false;
		r->entries[r->count++] = (struct pdf_entry){(uint32_t)number, (size_t)offset};
	}
	return true;
}

static bool take_table(struct pdf_cursor *c, struct pdf_revision *r, bool first)
{
	size_t room = (c->end - c->at) / ENTRY_SIZE + 1; /* no more fit into the bytes there are */
	size_t lines = 0;
	const char *at = c->file->bytes + c->at, *end = c->file->bytes + c->end, *next;

	/* Room for the entries of this table alone: up to the word trailer. */
	while ((next = memchr(at, '\n', (size_t)(end - at))) && *at != 't')
		lines++, at = next + 1;
	room = lines < room ? lines : room;
	r->entries = arena_alloc(&c->file->arena, (room + 1) * sizeof *r->entries);
	if (!r->entries || !pdf_take(c, "xref\n"))
		return false;
	while (!pdf_take(c, "trailer"))
		if (!take_section(c, r, room, first))
			return false;
	return true;
}

static const char *const trailer_keys[] = {"/Size", "/Root", "/Info", "/ID", "/Prev"};

static bool check_trailer(struct pdf_file *f, struct pdf_revision *r)
{
	const struct pdf_value *size = pdf_get(f, r->trailer, "/Size"), *root = pdf_get(f, r->trailer, "/Root");

	for (const struct pdf_value *k = r->trailer->first; k; k = k->next->next) {
		bool known = false;

		for (size_t i = 0; i < sizeof trailer_keys / sizeof *trailer_keys; i++)
			known = known || pdf_is(f, k, trailer_keys[i]);
		if (!known)
			return false;
	}
	if (!size || size->kind != PDF_INTEGER || size->number < 1 || size->number > PDF_OBJECTS_MAX || !root ||
	    root->kind != PDF_REF)
		return false;
	r->size = (uint32_t)size->number;
	return r->count == 0 || r->entries[r->count - 1].number < r->size;
}

/* Table and trailer at xref, up to the end of the revision. *prev is -1 when there is none. */
static bool take_revision(struct pdf_file *f, struct pdf_revision *r, size_t xref, size_t limit, int64_t *prev)
{
	struct pdf_cursor c = {.file = f, .at = xref, .end = limit};
	const struct pdf_value *before;
	struct pdf_cursor ahead = c;
	int64_t stated;
	bool first;

	/* Whether it is the first table must be known before the table is read: it begins with object 0. */
	first = pdf_take(&ahead, "xref\n0 ");
	*r = (struct pdf_revision){.xref = xref};
	if (!take_table(&c, r, first))
		return false;
	pdf_space(&c);
	r->trailer = pdf_take_value(&c, 0);
	if (!r->trailer || r->trailer->kind != PDF_DICT || !check_trailer(f, r))
		return false;
	if (!pdf_take(&c, "\nstartxref\n") || !pdf_take_number(&c, &stated) || stated != (int64_t)xref ||
	    !pdf_take(&c, "\n%%EOF\n"))
		return false;
	r->end = c.at;
	before = pdf_get(f, r->trailer, "/Prev");
	*prev = before && before->kind == PDF_INTEGER ? before->number : -1;
	return first == !before && (!before || before->kind == PDF_INTEGER);
}

/* The number behind the last "startxref". */
static bool find_last(const struct pdf_file *f, int64_t *xref)
{
	static const char tail[] = "\n%%EOF\n";
	size_t at = f->size;
	struct pdf_cursor c = {.file = (struct pdf_file *)f, .end = f->size};

	if (at < 40 || memcmp(f->bytes + at - (sizeof tail - 1), tail, sizeof tail - 1) != 0)
		return false;
	at -= sizeof tail - 1;
	while (at > f->size - 20 && f->bytes[at - 1] >= '0' && f->bytes[at - 1] <= '9')
		at--;
	c.at = at;
	return at > 11 && memcmp(f->bytes + at - 11, "\nstartxref\n", 11) == 0 && pdf_take_number(&c, xref);
}

static bool read_revisions(struct pdf_file *f)
{
	struct pdf_revision newest_first[PDF_REVISIONS_MAX];
	int64_t at;
	size_t limit = f->size, n = 0;

	if (!find_last(f, &at))
		return false;
	while (at >= 0) {
		struct pdf_revision *r = &newest_first[n];

		if (n == PDF_REVISIONS_MAX || at < 9 || (size_t)at >= limit ||
		    !take_revision(f, r, (size_t)at, limit, &at))
			return false;
		if (n == 0 && r->end != f->size)
			return false;
		limit = r->xref; /* an earlier revision ends before this one's table */
		n++;
	}
	f->count = n;
	for (size_t i = 0; i < n; i++) {
		f->revision[i] = newest_first[n - 1 - i];
		f->revision[i].begin = i ? f->revision[i - 1].end : 0;
		if (i && f->revision[i].size < f->revision[i - 1].size)
			return false;
	}
	return true;
}

bool pdf_open(struct pdf_file *f, const char *bytes, size_t size)
{
	*f = (struct pdf_file){.bytes = bytes, .size = size};
	if (size > SEAL_PDF_SIZE_MAX || size < 64 || memcmp(bytes, "%PDF-1.", 7) != 0)
		return false;
	return read_revisions(f);
}

void pdf_close(struct pdf_file *f)
{
	arena_clear(&f->arena);
}

static const struct pdf_entry *find_entry(const struct pdf_revision *r, int64_t number)
{
	size_t low = 0, high = r->count;

	while (low < high) {
		size_t mid = low + (high - low) / 2;

		if (r->entries[mid].number < number)
			low = mid + 1;
		else
			high = mid;
	}
	return low < r->count && r->entries[low].number == number ? &r->entries[low] : NULL;
}

bool pdf_has_entry(const struct pdf_file *f, size_t revision, int64_t number)
{
	return find_entry(&f->revision[revision], number);
}

static bool take_stream(struct pdf_cursor *c, struct pdf_object *o)
{
	const struct pdf_value *length = pdf_get(c->file, o->value, "/Length");

	if (!length || length->kind != PDF_INTEGER || length->number < 0 || (size_t)length->number > c->end - c->at)
		return false;
	o->is_stream = true;
	o->data = c->at;
	o->data_size = (size_t)length->number;
	c->at += o->data_size;
	pdf_take(c, "\n");
	return pdf_take(c, "endstream\n");
}

/* An object lies in its own revision, before the table. */
static struct pdf_object *read_object(struct pdf_file *f, const struct pdf_revision *r, const struct pdf_entry *e)
{
	struct pdf_cursor c = {.file = f, .at = e->offset, .end = r->xref};
	struct pdf_object *o = arena_alloc(&f->arena, sizeof *o);
	int64_t number;

	if (!o || e->offset < r->begin || e->offset >= r->xref || !pdf_take_number(&c, &number) ||
	    number != e->number || !pdf_take(&c, " 0 obj\n"))
		return NULL;
	o->number = e->number;
	o->begin = e->offset;
	o->value = pdf_take_value(&c, 0);
	if (!o->value || !pdf_take(&c, "\n"))
		return NULL;
	if (o->value->kind == PDF_DICT && pdf_take(&c, "stream\n") && !take_stream(&c, o))
		return NULL;
	if (!pdf_take(&c, "endobj\n"))
		return NULL;
	o->end = c.at;
	return o;
}

struct pdf_object *pdf_object_in(struct pdf_file *f, size_t revision, int64_t number)
{
	const struct pdf_entry *e = find_entry(&f->revision[revision], number);

	return e ? read_object(f, &f->revision[revision], e) : NULL;
}

struct pdf_object *pdf_object(struct pdf_file *f, size_t revision, int64_t number)
{
	for (size_t i = revision + 1; i > 0; i--)
		if (pdf_has_entry(f, i - 1, number))
			return pdf_object_in(f, i - 1, number);
	return NULL;
}

bool pdf_is(const struct pdf_file *f, const struct pdf_value *v, const char *text)
{
	size_t n = strlen(text);

	return v && v->end - v->begin == n && memcmp(f->bytes + v->begin, text, n) == 0;
}

bool pdf_same(const struct pdf_file *f, const struct pdf_value *a, const struct pdf_value *b)
{
	size_t n = a->end - a->begin;

	return n == b->end - b->begin && memcmp(f->bytes + a->begin, f->bytes + b->begin, n) == 0;
}

const struct pdf_value *pdf_get(const struct pdf_file *f, const struct pdf_value *v, const char *key)
{
	if (!v || v->kind != PDF_DICT)
		return NULL;
	for (const struct pdf_value *k = v->first; k; k = k->next->next)
		if (pdf_is(f, k, key))
			return k->next;
	return NULL;
}

const struct pdf_value *pdf_resolve(struct pdf_file *f, size_t revision, const struct pdf_value *v)
{
	struct pdf_object *o;

	if (!v || v->kind != PDF_REF)
		return v;
	o = pdf_object(f, revision, v->number);
	return o && o->value->kind != PDF_REF ? o->value : NULL;
}

void pdf_text(const struct pdf_file *f, const struct pdf_value *v, char *out, size_t size)
{
	out[0] = '\0';
	if (v && (v->kind == PDF_HEX || v->kind == PDF_STRING))
		seal_text_decode(f->bytes + v->begin, v->end - v->begin, out, size);
}
