#include "typeset.h"

#include <hb.h>
#include <pango/pangocairo.h>
#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include "fonts.h"

#define LINE_SPACING 1.1  /* of the typeface's own 1.16 em */
#define KEPT_MAX     1024 /* a certificate has some 200 different texts; a layout takes 2 to 4 kB */

/* Compared in full: a hash alone could, however rarely, put another text on a certificate. */
struct kept {
	char *text; /* NULL: the place is empty */
	double size, width;
	bool bold;
	PangoAlignment align;
	struct typeset set;
};

#define IDLE_MAX      4	 /* kept for the next certificate; a full one takes some 4 MB */
#define FIGURES	      14 /* digits, point, plus, minus, dash */
#define ALPHABETS_MAX 24 /* sizes and weights of numbers */

/* The glyphs of the figures of one style. font NULL: the place is empty. */
struct alphabet {
	double size, baseline;
	bool bold, usable;
	PangoFont *font;
	unsigned long glyph[FIGURES];
	double advance[FIGURES]; /* points */
};

struct typesetter {
	struct typesetter *next; /* while nobody has it */
	PangoFontMap *map;
	PangoContext *context;
	PangoAttrList *attributes;
	PangoFontDescription *font[2];
	struct kept kept[KEPT_MAX];
	struct alphabet alphabets[ALPHABETS_MAX];
};

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static struct typesetter *idle; /* the one that was used last comes first: it is taken again */
static int n_idle;

static void kept_clear(struct kept *k)
{
	free(k->text);
	if (k->set.layout)
		g_object_unref(k->set.layout);
	*k = (struct kept){0};
}

static void typesetter_free(struct typesetter *t)
{
	for (size_t i = 0; i < KEPT_MAX; i++)
		kept_clear(&t->kept[i]);
	for (size_t i = 0; i < ALPHABETS_MAX; i++)
		if (t->alphabets[i].font)
			g_object_unref(t->alphabets[i].font);
	pango_attr_list_unref(t->attributes);
	pango_font_description_free(t->font[0]);
	pango_font_description_free(t->font[1]);
	g_object_unref(t->context);
	g_object_unref(t->map);
	free(t);
}

/* Metrics of the outlines themselves, not of some screen; no ligatures, because they break text that is copied or read aloud. */
static void set_up(struct typesetter *t)
{
	cairo_font_options_t *options = cairo_font_options_create();

	cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
	cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
	t->context = pango_font_map_create_context(t->map);
	pango_cairo_context_set_font_options(t->context, options);
	pango_cairo_context_set_resolution(t->context, 72);
	pango_context_set_language(t->context, pango_language_from_string("en"));
	pango_context_set_base_dir(t->context, PANGO_DIRECTION_LTR);
	pango_context_set_round_glyph_positions(t->context, FALSE);
	cairo_font_options_destroy(options);
	t->attributes = pango_attr_list_new();
	pango_attr_list_insert(t->attributes, pango_attr_font_features_new("liga=0, clig=0, dlig=0, tnum=1"));
	for (int bold = 0; bold < 2; bold++) {
		t->font[bold] = pango_font_description_new();
		pango_font_description_set_family_static(t->font[bold], FONT_FAMILY);
		pango_font_description_set_weight(t->font[bold], bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
	}
}

static enum status typesetter_new(struct typesetter **out, struct err *err)
{
	PangoFontMap *map;
	enum status rc = fonts_new(&map, err);

	if (rc)
		return rc;
	*out = calloc(1, sizeof **out);
	if (!*out) {
		g_object_unref(map);
		return err_set(err, NO_MEMORY, "", "not enough memory for the certificate");
	}
	(*out)->map = map;
	set_up(*out);
	return OK;
}

enum status typesetter_take(struct typesetter **out, struct err *err)
{
	pthread_mutex_lock(&lock);
	*out = idle;
	if (idle) {
		idle = idle->next;
		n_idle--;
	}
	pthread_mutex_unlock(&lock);
	return *out ? OK : typesetter_new(out, err);
}

void typesetter_give_back(struct typesetter *t)
{
	bool kept;

	if (!t)
		return;
	pthread_mutex_lock(&lock);
	kept = n_idle < IDLE_MAX;
	if (kept) {
		t->next = idle;
		idle = t;
		n_idle++;
	}
	pthread_mutex_unlock(&lock);
	if (!kept)
		typesetter_free(t);
}

/* The first character of the layout that neither font has; 0 when pango does not say. */
static unsigned int missing_character(PangoLayout *layout)
{
	for (GSList *line = pango_layout_get_lines_readonly(layout); line; line = line->next)
		for (GSList *run = ((PangoLayoutLine *)line->data)->runs; run; run = run->next) {
			const PangoGlyphString *glyphs = ((PangoGlyphItem *)run->data)->glyphs;

			for (int i = 0; i < glyphs->num_glyphs; i++)
				if (glyphs->glyphs[i].glyph & PANGO_GLYPH_UNKNOWN_FLAG)
					return glyphs->glyphs[i].glyph & ~(unsigned int)PANGO_GLYPH_UNKNOWN_FLAG;
		}
	return 0;
}

/* A box in place of a character would be a certificate that says something else than its record: it is refused. */
static enum status refuse_missing(PangoLayout *layout, const char *text, struct err *err)
{
	if (pango_layout_get_unknown_glyphs_count(layout) == 0)
		return OK;
	return err_set(
		err, INVALID, "", "the certificate's typeface has no character U+%04X, which stands in \"%.*s\"",
		missing_character(layout),
		(int)(g_utf8_strlen(text, -1) > 60 ? g_utf8_offset_to_pointer(text, 60) - text : (long)strlen(text)),
		text);
}

/*
 * Where a line is wrapped pango leaves the space out, and who copies the text or hears it would take the words on both
 * sides for one: the space is put back, at the end of its line.
 */
static void keep_spaces(PangoLayout *layout)
{
	int lines = pango_layout_get_line_count(layout);

	for (int i = 0; i + 1 < lines; i++) {
		GSList *run = g_slist_last(pango_layout_get_line_readonly(layout, i)->runs);
		PangoGlyphItem *item = run ? run->data : NULL;
		int n = item ? item->glyphs->num_glyphs : 0;
		hb_codepoint_t space;

		if (n > 0 && item->glyphs->glyphs[n - 1].glyph == PANGO_GLYPH_EMPTY &&
		    hb_font_get_nominal_glyph(pango_font_get_hb_font(item->item->analysis.font), ' ', &space))
			item->glyphs->glyphs[n - 1].glyph = space;
	}
}

static enum status lay_out(struct typesetter *t, struct kept *k, struct err *err)
{
	PangoLayout *layout = pango_layout_new(t->context);
	PangoRectangle logical;
	enum status rc;

	pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
	pango_layout_set_line_spacing(layout, (float)LINE_SPACING);
	pango_layout_set_attributes(layout, t->attributes);
	pango_font_description_set_absolute_size(t->font[k->bold], k->size * PANGO_SCALE);
	pango_layout_set_font_description(layout, t->font[k->bold]);
	pango_layout_set_width(layout, k->width > 0 ? (int)(k->width * PANGO_SCALE) : -1);
	pango_layout_set_alignment(layout, k->align);
	pango_layout_set_text(layout, k->text, -1);
	rc = refuse_missing(layout, k->text, err);
	if (rc) {
		g_object_unref(layout);
		return rc;
	}
	keep_spaces(layout);
	pango_layout_get_extents(layout, NULL, &logical);
	k->set.layout = layout;
	k->set.width = (double)logical.width / PANGO_SCALE;
	k->set.height = (double)logical.height / PANGO_SCALE;
	return OK;
}

/* FNV-1a, 64 bits. */
static uint64_t hash_bytes(uint64_t hash, const void *bytes, size_t n)
{
	const unsigned char *b = bytes;

	for (size_t i = 0; i < n; i++)
		hash = (hash ^ b[i]) * 0x100000001b3u;
	return hash;
}

static size_t place_of(const struct kept *k)
{
	uint64_t hash = hash_bytes(0xcbf29ce484222325u, k->text, strlen(k->text));

	hash = hash_bytes(hash, &k->width, sizeof k->width);
	hash = hash_bytes(hash, &k->size, sizeof k->size);
	hash = hash_bytes(hash, &k->align, sizeof k->align);
	hash = hash_bytes(hash, &k->bold, sizeof k->bold);
	return (size_t)(hash >> 32) % KEPT_MAX;
}

static bool equal(double a, double b)
{
	return a <= b && a >= b;
}

static bool is_same(const struct kept *a, const struct kept *b)
{
	return a->text && a->bold == b->bold && a->align == b->align && equal(a->size, b->size) &&
	       equal(a->width, b->width) && strcmp(a->text, b->text) == 0;
}

enum status typeset(struct typesetter *t, const char *text, double size, bool bold, double width, PangoAlignment align,
		    const struct typeset **out, struct err *err)
{
	struct kept wanted = {(char *)text, size, width > 0 ? width : 0, bold, align, {0}}, *k;
	enum status rc;

	k = &t->kept[place_of(&wanted)];
	if (!is_same(k, &wanted)) {
		if (!g_utf8_validate(text, -1, NULL))
			return err_set(err, INVALID, "", "the record holds text that is not UTF-8");
		kept_clear(k);
		wanted.text = strdup(text);
		if (!wanted.text)
			return err_set(err, NO_MEMORY, "", "not enough memory for the certificate");
		*k = wanted;
		rc = lay_out(t, k, err);
		if (rc) {
			kept_clear(k);
			return rc;
		}
	}
	*out = &k->set;
	return OK;
}

/* ---- figures ---- */

static const char *const figure_text[FIGURES] = {"0", "1", "2", "3", "4", "5",	    "6",
						 "7", "8", "9", ".", "+", "\u2212", "\u2013"};

/* Which of them the text begins with; FIGURES for none. */
static size_t figure_at(const char *text)
{
	size_t i = 0;

	if (*text >= '0' && *text <= '9')
		return (size_t)(*text - '0');
	for (i = 10; i < FIGURES; i++)
		if (strncmp(text, figure_text[i], strlen(figure_text[i])) == 0)
			break;
	return i;
}

/* Each figure is laid out once by itself, as pango would within a number: the typeface has no kerning between them. */
static void read_alphabet(struct typesetter *t, struct alphabet *a)
{
	for (size_t i = 0; i < FIGURES; i++) {
		const struct typeset *set = NULL;
		const PangoLayoutLine *line;
		const PangoGlyphItem *item;
		struct err err;

		if (typeset(t, figure_text[i], a->size, a->bold, 0, PANGO_ALIGN_LEFT, &set, &err) || !set)
			return;
		line = pango_layout_get_line_readonly(set->layout, 0);
		item = line && line->runs ? line->runs->data : NULL;
		if (!item || line->runs->next || item->glyphs->num_glyphs != 1 ||
		    (a->font && a->font != item->item->analysis.font))
			return;
		if (!a->font) {
			a->font = g_object_ref(item->item->analysis.font);
			a->baseline = (double)pango_layout_get_baseline(set->layout) / PANGO_SCALE;
		}
		a->glyph[i] = item->glyphs->glyphs[0].glyph;
		a->advance[i] = (double)item->glyphs->glyphs[0].geometry.width / PANGO_SCALE;
	}
	a->usable = true;
}

static const struct alphabet *alphabet_of(struct typesetter *t, double size, bool bold)
{
	for (size_t i = 0; i < ALPHABETS_MAX; i++) {
		struct alphabet *a = &t->alphabets[i];

		if (!a->font) {
			*a = (struct alphabet){.size = size, .bold = bold};
			read_alphabet(t, a);
		}
		if (a->bold == bold && equal(a->size, size))
			return a->usable ? a : NULL;
	}
	return NULL;
}

bool typeset_figures(struct typesetter *t, cairo_t *cr, const char *text, double size, bool bold, double x, double y)
{
	enum { LONGEST = 40 };
	const struct alphabet *a = alphabet_of(t, size, bold);
	cairo_glyph_t glyph[LONGEST];
	cairo_text_cluster_t cluster[LONGEST];
	double at = 0, point = -1;
	int n = 0;

	for (const char *c = text; *c; n++) {
		size_t f = figure_at(c);

		if (!a || f == FIGURES || n == LONGEST)
			return false;
		if (*c == '.' && point < 0)
			point = at;
		glyph[n] = (cairo_glyph_t){a->glyph[f], at, y + a->baseline};
		cluster[n] = (cairo_text_cluster_t){(int)strlen(figure_text[f]), 1};
		at += a->advance[f];
		c += cluster[n].num_bytes;
	}
	for (int i = 0; i < n; i++)
		glyph[i].x += x - (point < 0 ? at : point);
	cairo_set_scaled_font(cr, pango_cairo_font_get_scaled_font(PANGO_CAIRO_FONT(a->font)));
	cairo_show_text_glyphs(cr, text, (int)strlen(text), glyph, n, cluster, n, 0);
	return true;
}
