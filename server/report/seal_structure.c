#include "seal_structure.h"

#include <stdlib.h>
#include <string.h>

/* Fields of the first revision: what later ones may fill is settled there, and covered by the first signature. */
static enum seal_fault read_field(struct pdf_file *f, const struct pdf_value *reference, struct seal_slot *slot)
{
	struct pdf_object *o = reference->kind == PDF_REF ? pdf_object_in(f, 0, reference->number) : NULL;

	if (!o || !pdf_is(f, pdf_get(f, o->value, "/FT"), "/Sig"))
		return SEAL_FAULT_UNREADABLE;
	if (pdf_get(f, o->value, "/V"))
		return SEAL_FAULT_REWRITTEN;
	slot->object = reference->number;
	slot->field = o->value;
	pdf_text(f, pdf_get(f, o->value, "/T"), slot->name, sizeof slot->name);
	return *slot->name ? SEAL_FAULT_NONE : SEAL_FAULT_UNREADABLE;
}

static enum seal_fault read_fields(struct pdf_file *f, struct seal_structure *s)
{
	const struct pdf_value *root = pdf_resolve(f, 0, pdf_get(f, f->revision[0].trailer, "/Root"));
	const struct pdf_value *form = pdf_resolve(f, 0, pdf_get(f, root, "/AcroForm"));
	const struct pdf_value *fields = pdf_get(f, form, "/Fields");

	if (!root || root->kind != PDF_DICT)
		return SEAL_FAULT_UNREADABLE;
	if (!fields)
		return f->count == 1 ? SEAL_FAULT_NOT_SEALED : SEAL_FAULT_REVISED;
	if (fields->kind != PDF_ARRAY)
		return SEAL_FAULT_UNREADABLE;
	for (const struct pdf_value *v = fields->first; v; v = v->next) {
		enum seal_fault fault;

		if (s->count == SEAL_FIELDS_MAX)
			return SEAL_FAULT_UNREADABLE;
		fault = read_field(f, v, &s->slot[s->count]);
		if (fault)
			return fault;
		for (size_t i = 0; i < s->count; i++)
			if (s->slot[i].object == s->slot[s->count].object ||
			    strcmp(s->slot[i].name, s->slot[s->count].name) == 0)
				return SEAL_FAULT_UNREADABLE;
		s->count++;
	}
	return SEAL_FAULT_NONE;
}

struct walk {
	struct pdf_file *f;
	size_t revision;
	uint32_t first_new; /* number of the first object that this revision may add */
	bool *seen;	    /* by number - first_new */
	size_t reached;
};

static bool reach(struct walk *w, const struct pdf_value *v);

static bool reach_object(struct walk *w, int64_t number)
{
	struct pdf_object *o;

	if (number < w->first_new || number >= w->f->revision[w->revision].size)
		return false; /* what a signature adds stands on its own: it has no business with what was there */
	if (w->seen[number - w->first_new])
		return true;
	w->seen[number - w->first_new] = true;
	w->reached++;
	o = pdf_object_in(w->f, w->revision, number);
	return o && reach(w, o->value);
}

static bool reach_inside(struct walk *w, const struct pdf_value *v)
{
	for (const struct pdf_value *i = v->first; i; i = i->next)
		if (!reach(w, i))
			return false;
	return true;
}

/* Depth: values nest up to PDF_DEPTH_MAX, and each object is entered once, but a chain of objects could be long. */
#define REACH_MAX 2000

static bool reach(struct walk *w, const struct pdf_value *v)
{
	if (v->kind == PDF_REF)
		return w->reached < REACH_MAX && reach_object(w, v->number);
	return reach_inside(w, v);
}

static bool keys_are(const struct pdf_file *f, const struct pdf_value *dict, const char *const keys[])
{
	if (!dict || dict->kind != PDF_DICT)
		return false;
	for (const struct pdf_value *k = dict->first; k; k = k->next->next) {
		bool known = false;

		for (size_t i = 0; keys[i] && !known; i++)
			known = pdf_is(f, k, keys[i]);
		if (!known)
			return false;
	}
	return true;
}

static bool signature_is_plain(struct pdf_file *f, const struct pdf_object *o)
{
	static const char *const keys[] = {"/Type", "/Filter", "/SubFilter", "/ByteRange", "/Contents",
					   "/M",    "/Name",   "/Reason",    "/Location",  NULL};

	return o && !o->is_stream && keys_are(f, o->value, keys) && pdf_is(f, pdf_get(f, o->value, "/Type"), "/Sig") &&
	       pdf_is(f, pdf_get(f, o->value, "/Filter"), "/Adobe.PPKLite") &&
	       pdf_is(f, pdf_get(f, o->value, "/SubFilter"), "/ETSI.CAdES.detached");
}

static bool appearance_is_plain(struct pdf_file *f, size_t revision, const struct pdf_value *ap)
{
	static const char *const sides[] = {"/N", NULL};
	static const char *const keys[] = {"/Type",  "/Subtype", "/BBox",   "/Resources",
					   "/Group", "/Filter",	 "/Length", NULL};
	const struct pdf_value *normal = pdf_get(f, ap, "/N");
	struct pdf_object *o;

	if (!keys_are(f, ap, sides) || !normal || normal->kind != PDF_REF)
		return false;
	o = pdf_object_in(f, revision, normal->number);
	return o && o->is_stream && keys_are(f, o->value, keys) && pdf_is(f, pdf_get(f, o->value, "/Subtype"), "/Form");
}

/* Every key but /V and /AP as it was. */
static bool rest_is_same(const struct pdf_file *f, const struct pdf_value *before, const struct pdf_value *after)
{
	size_t same = 0, there = 0;

	for (const struct pdf_value *k = before->first; k; k = k->next->next)
		there += !pdf_is(f, k, "/AP");
	for (const struct pdf_value *k = after->first; k; k = k->next->next) {
		const struct pdf_value *old;

		if (pdf_is(f, k, "/V") || pdf_is(f, k, "/AP"))
			continue;
		for (old = before->first; old && !pdf_same(f, old, k); old = old->next->next)
			;
		if (!old || !pdf_same(f, old->next, k->next))
			return false;
		same++;
	}
	return same == there;
}

static int by_offset(const void *a, const void *b)
{
	const struct pdf_entry *x = a, *y = b;

	return (x->offset > y->offset) - (x->offset < y->offset);
}

/* Object after object from the revision's beginning to its table: no room for anything that no table lists. */
static bool objects_fill(struct pdf_file *f, size_t revision)
{
	const struct pdf_revision *r = &f->revision[revision];
	struct pdf_entry *sorted = arena_alloc(&f->arena, (r->count + 1) * sizeof *sorted);
	size_t at = r->begin;

	if (!sorted || r->count == 0)
		return false;
	memcpy(sorted, r->entries, r->count * sizeof *sorted);
	qsort(sorted, r->count, sizeof *sorted, by_offset);
	for (size_t i = 0; i < r->count; i++) {
		struct pdf_object *o = sorted[i].offset == at ? pdf_object_in(f, revision, sorted[i].number) : NULL;

		if (!o)
			return false;
		at = o->end;
	}
	return at == r->xref;
}

static bool trailer_is_same(const struct pdf_file *f, size_t revision)
{
	static const char *const keys[] = {"/Root", "/Info", "/ID"};

	for (size_t i = 0; i < 3; i++) {
		const struct pdf_value *was = pdf_get(f, f->revision[0].trailer, keys[i]);
		const struct pdf_value *is = pdf_get(f, f->revision[revision].trailer, keys[i]);

		if (was ? !is || !pdf_same(f, was, is) : is != NULL)
			return false;
	}
	return true;
}

/* The one field this revision changes; NULL when it changes anything else, or nothing. */
static struct seal_slot *changed_slot(const struct pdf_file *f, size_t revision, struct seal_structure *s)
{
	const struct pdf_revision *r = &f->revision[revision];
	struct seal_slot *changed = NULL;

	for (size_t i = 0; i < r->count && r->entries[i].number < f->revision[revision - 1].size; i++) {
		struct seal_slot *slot = NULL;

		for (size_t j = 0; j < s->count; j++)
			if (s->slot[j].object == r->entries[i].number)
				slot = &s->slot[j];
		if (!slot || changed || slot->revision)
			return NULL;
		changed = slot;
	}
	return changed;
}

static bool all_reached(struct pdf_file *f, size_t revision, const struct pdf_value *v, const struct pdf_value *ap)
{
	uint32_t first_new = f->revision[revision - 1].size, end = f->revision[revision].size;
	struct walk w = {.f = f, .revision = revision, .first_new = first_new};

	w.seen = arena_alloc(&f->arena, (size_t)(end - first_new) + 1);
	/* One entry is the field itself, every other one must have been reached. */
	return w.seen && reach(&w, v) && (!ap || reach(&w, ap)) && w.reached + 1 == f->revision[revision].count;
}

static bool read_revision(struct pdf_file *f, size_t revision, struct seal_structure *s)
{
	struct seal_slot *slot;
	struct pdf_object *field, *signature;
	const struct pdf_value *v, *ap;

	if (!trailer_is_same(f, revision) || !objects_fill(f, revision))
		return false;
	slot = changed_slot(f, revision, s);
	field = slot ? pdf_object_in(f, revision, slot->object) : NULL;
	if (!field || field->is_stream || field->value->kind != PDF_DICT || !rest_is_same(f, slot->field, field->value))
		return false;
	v = pdf_get(f, field->value, "/V");
	ap = pdf_get(f, field->value, "/AP");
	if (!v || v->kind != PDF_REF)
		return false;
	signature = pdf_object_in(f, revision, v->number);
	if (!signature_is_plain(f, signature))
		return false;
	if (ap && pdf_get(f, slot->field, "/AP") && pdf_same(f, ap, pdf_get(f, slot->field, "/AP")))
		ap = NULL; /* left blank */
	else if (ap && !appearance_is_plain(f, revision, ap))
		return false;
	if (!all_reached(f, revision, v, ap))
		return false;
	slot->revision = revision;
	slot->signature = signature->value;
	s->by_revision[revision] = (size_t)(slot - s->slot);
	return true;
}

enum seal_fault seal_structure_read(struct pdf_file *f, struct seal_structure *out)
{
	enum seal_fault fault;

	*out = (struct seal_structure){0};
	fault = read_fields(f, out);
	if (fault)
		return fault;
	for (size_t i = 1; i < f->count; i++)
		if (!read_revision(f, i, out)) {
			out->fault_at = i;
			return SEAL_FAULT_REVISED;
		}
	return f->count == 1 ? SEAL_FAULT_NOT_SEALED : SEAL_FAULT_NONE;
}
