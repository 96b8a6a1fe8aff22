/* cairo 1.16 writes the tree of a tagged file without any attribute; here they are added to the elements that need one. */
#include "seal_tags.h"

#include <stdbool.h>

#define DEPTH_MAX 8

struct walk {
	qpdf_data q;
	const char *const *texts;
	size_t n_texts, figures;
};

static bool is(qpdf_data q, qpdf_oh element, const char *name)
{
	return qpdf_oh_is_name_and_equals(q, qpdf_oh_get_key(q, element, "/S"), name);
}

static size_t kids_of(qpdf_data q, qpdf_oh element, qpdf_oh *kids)
{
	*kids = qpdf_oh_get_key(q, element, "/K");
	return qpdf_oh_is_array(q, *kids) ? (size_t)qpdf_oh_get_array_n_items(q, *kids) : 1;
}

static qpdf_oh kid(qpdf_data q, qpdf_oh kids, size_t i)
{
	return qpdf_oh_is_array(q, kids) ? qpdf_oh_get_array_item(q, kids, (int)i) : kids;
}

/* Scope: a head beside cells heads its row, one among heads its column (ISO 32000-1 table 349). */
static void scope_heads(qpdf_data q, qpdf_oh row)
{
	const char *scope = "/Column";
	qpdf_oh kids;
	size_t n = kids_of(q, row, &kids);

	for (size_t i = 0; i < n; i++)
		if (is(q, kid(q, kids, i), "/TD"))
			scope = "/Row";
	for (size_t i = 0; i < n; i++) {
		qpdf_oh cell = kid(q, kids, i), attributes;

		if (!is(q, cell, "/TH"))
			continue;
		attributes = qpdf_oh_new_dictionary(q);
		qpdf_oh_replace_key(q, attributes, "/O", qpdf_oh_new_name(q, "/Table"));
		qpdf_oh_replace_key(q, attributes, "/Scope", qpdf_oh_new_name(q, scope));
		qpdf_oh_replace_key(q, cell, "/A", attributes);
	}
}

static void visit(struct walk *w, qpdf_oh element, int depth)
{
	qpdf_data q = w->q;
	qpdf_oh kids;
	size_t n;

	if (!qpdf_oh_is_dictionary(q, element) || depth > DEPTH_MAX)
		return;
	if (is(q, element, "/TR")) {
		scope_heads(q, element);
		return;
	}
	if (is(q, element, "/Figure")) {
		if (w->figures < w->n_texts)
			qpdf_oh_replace_key(q, element, "/Alt", qpdf_oh_new_unicode_string(q, w->texts[w->figures]));
		w->figures++;
		return;
	}
	n = kids_of(q, element, &kids);
	for (size_t i = 0; i < n; i++)
		visit(w, kid(q, kids, i), depth + 1);
}

enum status seal_tags_complete(qpdf_data q, qpdf_oh root, const char *const *texts, size_t n_texts, struct err *err)
{
	struct walk w = {q, texts, n_texts, 0};

	visit(&w, qpdf_oh_get_key(q, root, "/StructTreeRoot"), 0);
	if (w.figures != n_texts)
		return err_set(err, INVALID, "/alternatives", "the pages hold %zu figures, but %zu have a text",
			       w.figures, n_texts);
	for (int i = 0; i < qpdf_get_num_pages(q); i++)
		qpdf_oh_replace_key(q, qpdf_get_page_n(q, (size_t)i), "/Tabs", qpdf_oh_new_name(q, "/S"));
	return OK;
}
