/* The objects of the file, in one order: what is there once, pages, fonts, structure. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "sheet_internal.h"

enum { ROOT = 1, PAGES, INFO, TREE, PARENTS, RESOURCES, FIRST };

#define OBJECTS_A_FONT 5

struct writing {
	struct sheet *s;
	struct bytes out;
	size_t *offset; /* by number */
	size_t count;	/* of objects, and one for the free list's head */
	size_t first_page, first_font, first_element;
};

static void word(struct bytes *b, const char *text)
{
	bytes_add(b, text, strlen(text));
}

static void begin(struct writing *w, size_t number)
{
	w->offset[number] = w->out.size;
	sheet_integer(&w->out, number);
	word(&w->out, " 0 obj\n");
}

static void end(struct writing *w)
{
	word(&w->out, "\nendobj\n");
}

static void reference(struct bytes *b, size_t number)
{
	sheet_integer(b, number);
	word(b, " 0 R");
}

/* dict: further entries, "" for none. */
static void stream(struct writing *w, size_t number, const char *dict, const struct bytes *packed)
{
	begin(w, number);
	word(&w->out, "<< ");
	word(&w->out, dict);
	word(&w->out, "/Filter /FlateDecode /Length ");
	sheet_integer(&w->out, packed->size);
	word(&w->out, " >>\nstream\n");
	bytes_add(&w->out, packed->data, packed->size);
	word(&w->out, "\nendstream");
	end(w);
}

static size_t page_number(const struct writing *w, size_t i)
{
	return w->first_page + 2 * i;
}

static size_t element_number(const struct writing *w, size_t i)
{
	return w->first_element + i;
}

static void write_info(struct writing *w, const struct document_facts *facts)
{
	const char *const key[] = {"/Title", "/Author", "/Subject", "/Creator", "/Producer"};
	const char *const text[] = {facts->title, facts->author, facts->subject, facts->creator, facts->creator};

	begin(w, INFO);
	word(&w->out, "<<");
	for (size_t i = 0; i < sizeof key / sizeof *key; i++) {
		if (!text[i] || !*text[i])
			continue;
		bytes_print(&w->out, " %s ", key[i]);
		bytes_text(&w->out, text[i]);
	}
	word(&w->out, " /CreationDate ");
	bytes_date(&w->out, facts->at);
	word(&w->out, " /ModDate ");
	bytes_date(&w->out, facts->at);
	word(&w->out, " >>");
	end(w);
}

static void write_catalogue(struct writing *w)
{
	begin(w, ROOT);
	bytes_print(&w->out, "<< /Type /Catalog /Pages %d 0 R /StructTreeRoot %d 0 R /MarkInfo << /Marked true >> >>",
		    PAGES, TREE);
	end(w);
	begin(w, PAGES);
	bytes_print(&w->out, "<< /Type /Pages /Count %zu /Kids [", w->s->n_pages);
	for (size_t i = 0; i < w->s->n_pages; i++) {
		word(&w->out, " ");
		reference(&w->out, page_number(w, i));
	}
	word(&w->out, " ] >>");
	end(w);
}

static void write_resources(struct writing *w)
{
	begin(w, RESOURCES);
	word(&w->out, "<< /Font <<");
	for (size_t i = 0; i < FACES_MAX && w->s->faces[i].face; i++)
		bytes_print(&w->out, " /F%zu %zu 0 R", i, w->first_font + OBJECTS_A_FONT * i);
	word(&w->out, " >> >>");
	end(w);
}

static bool write_page(struct writing *w, size_t i)
{
	const struct sheet_page *p = &w->s->pages[i];
	struct bytes packed = {0};
	bool done;

	begin(w, page_number(w, i));
	bytes_print(&w->out, "<< /Type /Page /Parent %d 0 R /MediaBox [0 0 ", PAGES);
	sheet_number(&w->out, w->s->width);
	sheet_number(&w->out, w->s->height);
	bytes_print(&w->out, "] /Resources %d 0 R /Contents %zu 0 R /StructParents %zu >>", RESOURCES,
		    page_number(w, i) + 1, i);
	end(w);
	done = !p->content.failed && sheet_deflate(&packed, p->content.data, p->content.size);
	stream(w, page_number(w, i) + 1, "", &packed);
	bytes_free(&packed);
	return done;
}

/* Flags: symbolic, as every font without an encoding of its own (ISO 32000-1 table 123). */
static bool write_font(struct writing *w, size_t i)
{
	const struct typeface *f = w->s->faces[i].face;
	size_t number = w->first_font + OBJECTS_A_FONT * i;
	struct font_parts parts;
	char dict[40];
	bool done = font_parts_make(&w->s->faces[i], &parts);

	begin(w, number);
	bytes_print(&w->out,
		    "<< /Type /Font /Subtype /Type0 /BaseFont /%s+%s /Encoding /Identity-H /DescendantFonts [%zu 0 R] "
		    "/ToUnicode %zu 0 R >>",
		    parts.tag, f->name, number + 1, number + 3);
	end(w);
	begin(w, number + 1);
	bytes_print(&w->out,
		    "<< /Type /Font /Subtype /CIDFontType2 /BaseFont /%s+%s /CIDSystemInfo << /Registry (Adobe) "
		    "/Ordering (Identity) /Supplement 0 >> /FontDescriptor %zu 0 R /CIDToGIDMap /Identity /W ",
		    parts.tag, f->name, number + 2);
	bytes_add(&w->out, parts.widths->data, parts.widths->size);
	word(&w->out, " >>");
	end(w);
	begin(w, number + 2);
	bytes_print(&w->out,
		    "<< /Type /FontDescriptor /FontName /%s+%s /Flags 4 /FontBBox [%d %d %d %d] /ItalicAngle 0 "
		    "/Ascent %d /Descent %d /CapHeight %d /StemV 80 /FontFile2 %zu 0 R >>",
		    parts.tag, f->name, f->box[0], f->box[1], f->box[2], f->box[3], f->ascent, f->descent,
		    f->cap_height, number + 4);
	end(w);
	stream(w, number + 3, "", parts.unicode);
	snprintf(dict, sizeof dict, "/Length1 %zu ", parts.program_size);
	stream(w, number + 4, dict, parts.program);
	font_parts_clear(&parts);
	return done;
}

static void write_tree(struct writing *w)
{
	begin(w, TREE);
	bytes_print(&w->out, "<< /Type /StructTreeRoot /K %zu 0 R /ParentTree %d 0 R >>", w->first_element, PARENTS);
	end(w);
	begin(w, PARENTS);
	word(&w->out, "<< /Nums [");
	for (size_t i = 0; i < w->s->n_pages; i++) {
		const struct sheet_page *p = &w->s->pages[i];

		bytes_print(&w->out, " %zu [", i);
		for (size_t k = 0; k < p->n_elements; k++) {
			word(&w->out, " ");
			reference(&w->out, element_number(w, p->elements[k]));
		}
		word(&w->out, " ]");
	}
	word(&w->out, " ] >>");
	end(w);
}

static bool is(const struct element *e, const char *name)
{
	return strcmp(e->name, name) == 0;
}

/* A head beside cells heads its row, one among heads its column (ISO 32000-1 table 349). */
static const char *scope_of(const struct sheet *s, const struct element *head)
{
	const struct element *row = &s->elements[head->parent];

	for (size_t i = 0; i < row->n_kids; i++)
		if (is(&s->elements[row->kids[i]], "TD"))
			return " /A << /O /Table /Scope /Row >>";
	return " /A << /O /Table /Scope /Column >>";
}

static void write_element(struct writing *w, size_t i)
{
	const struct element *e = &w->s->elements[i];
	struct bytes *out = &w->out;

	begin(w, element_number(w, i));
	word(out, "<< /Type /StructElem /S /");
	word(out, e->name);
	word(out, " /P ");
	reference(out, i ? element_number(w, e->parent) : TREE);
	if (is(e, "TH"))
		word(out, scope_of(w->s, e));
	if (e->holds_content) {
		word(out, " /Pg ");
		reference(out, page_number(w, e->page));
		word(out, " /K ");
		sheet_integer(out, e->mcid);
	} else {
		word(out, " /K [");
		for (size_t k = 0; k < e->n_kids; k++) {
			word(out, " ");
			reference(out, element_number(w, e->kids[k]));
		}
		word(out, " ]");
	}
	word(out, " >>");
	end(w);
}

static void write_table(struct writing *w)
{
	size_t at = w->out.size;

	bytes_print(&w->out, "xref\n0 %zu\n0000000000 65535 f \n", w->count);
	for (size_t i = 1; i < w->count; i++) {
		char entry[] = "0000000000 00000 n \n";
		size_t n = w->offset[i];

		for (int k = 9; k >= 0; k--, n /= 10)
			entry[k] = (char)('0' + n % 10);
		bytes_add(&w->out, entry, 20);
	}
	bytes_print(&w->out, "trailer << /Size %zu /Root %d 0 R /Info %d 0 R >>\nstartxref\n%zu\n%%%%EOF\n", w->count,
		    ROOT, INFO, at);
}

static bool write_all(struct writing *w, const struct document_facts *facts)
{
	bool done = true;

	bytes_print(&w->out, "%%PDF-1.7\n%%\xe2\xe3\xcf\xd3\n");
	write_catalogue(w);
	write_info(w, facts);
	write_resources(w);
	for (size_t i = 0; i < w->s->n_pages; i++)
		done = write_page(w, i) && done;
	for (size_t i = 0; i < FACES_MAX && w->s->faces[i].face; i++)
		done = write_font(w, i) && done;
	write_tree(w);
	for (size_t i = 0; i < w->s->n_elements; i++)
		write_element(w, i);
	write_table(w);
	return done && !w->out.failed && !w->s->path.failed;
}

enum status sheet_close(struct sheet *s, const struct document_facts *facts, char **bytes, size_t *size,
			struct err *err)
{
	struct writing w = {.s = s, .first_page = FIRST};
	size_t fonts = 0;

	while (fonts < FACES_MAX && s->faces[fonts].face)
		fonts++;
	w.first_font = w.first_page + 2 * s->n_pages;
	w.first_element = w.first_font + OBJECTS_A_FONT * fonts;
	w.count = w.first_element + s->n_elements;
	w.offset = calloc(w.count, sizeof *w.offset);
	if (s->failed || !w.offset || !write_all(&w, facts)) {
		bytes_free(&w.out);
		free(w.offset);
		return err_set(err, FAILED, "", "the pages could not be written: memory or a typeface is missing");
	}
	free(w.offset);
	*bytes = w.out.data;
	*size = w.out.size;
	return OK;
}
