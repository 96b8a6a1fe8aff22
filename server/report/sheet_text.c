/*
 * Text: the glyphs where pango has put them, each mapped to what is read for it. Where that map cannot say it (several
 * characters in one glyph, one glyph for two characters) the text itself stands beside the glyphs (ISO 32000-1 14.9.4).
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include "sheet_internal.h"

#define DRIFT 0.01 /* points by which a glyph may be off before it is moved */

static struct used_face *use_face(struct sheet *s, const struct typeface *face, size_t *index)
{
	for (size_t i = 0; i < FACES_MAX; i++) {
		struct used_face *u = &s->faces[i];

		*index = i;
		if (u->face == face)
			return u;
		if (u->face)
			continue;
		u->text = calloc(GLYPHS_MAX, sizeof *u->text);
		if (!u->text)
			return NULL;
		u->face = face;
		return u;
	}
	return NULL;
}

static const struct used_font *use_font(struct sheet *s, PangoFont *font)
{
	const struct typeface *face;
	struct used_font *f = &s->fonts[s->n_fonts];
	PangoFontDescription *described;

	for (size_t i = 0; i < s->n_fonts; i++)
		if (s->fonts[i].font == font)
			return &s->fonts[i];
	face = s->n_fonts < SHEET_FONTS_MAX ? typeface_of(font) : NULL;
	if (!face || !use_face(s, face, &f->face)) {
		s->failed = true;
		return NULL;
	}
	described = pango_font_describe_with_absolute_size(font);
	f->font = font;
	f->size = (double)pango_font_description_get_size(described) / PANGO_SCALE;
	pango_font_description_free(described);
	s->n_fonts++;
	return f;
}

/* ---- one run ---- */

struct run {
	struct sheet *s;
	const struct used_font *font;
	struct used_face *face;
	const PangoGlyphItem *item;
	const char *text; /* of the item */
	double x, y;	  /* where its first glyph stands */
	double at, drawn; /* behind the last glyph: by pango, and by the widths in the file */
	bool open;	  /* a string of glyphs is begun */
	bool begun;	  /* a text object is */
};

static void word(struct bytes *b, const char *text)
{
	bytes_add(b, text, strlen(text));
}

static void begin_text(struct run *r, double rise)
{
	struct bytes *out = r->s->out;

	word(out, "BT /F");
	sheet_integer(out, r->font->face);
	word(out, " ");
	sheet_number(out, r->font->size);
	word(out, "Tf ");
	sheet_number(out, r->x + r->at);
	sheet_number(out, r->s->height - r->y + rise);
	word(out, "Td [");
	r->drawn = r->at;
	r->begun = true;
}

static void end_string(struct run *r)
{
	if (r->open)
		word(r->s->out, ">");
	r->open = false;
}

static void end_text(struct run *r)
{
	end_string(r);
	if (r->begun)
		word(r->s->out, "] TJ ET\n");
	r->begun = false;
}

static void put_glyph(struct run *r, const PangoGlyphInfo *g)
{
	static const char hex[] = "0123456789abcdef";
	struct bytes *out = r->s->out;
	unsigned int id = g->glyph;
	char code[4] = {hex[id >> 12 & 15], hex[id >> 8 & 15], hex[id >> 4 & 15], hex[id & 15]};
	double x = r->at + (double)g->geometry.x_offset / PANGO_SCALE,
	       rise = -(double)g->geometry.y_offset / PANGO_SCALE;

	if (fabs(rise) > 0 || (r->begun && fabs(x - r->drawn) > 100))
		end_text(r);
	if (!r->begun)
		begin_text(r, rise);
	if (fabs(x - r->drawn) > DRIFT) {
		end_string(r);
		sheet_number(out, (r->drawn - x) * 1000 / r->font->size);
		r->drawn = x;
	}
	if (!r->open)
		word(out, "<");
	r->open = true;
	bytes_add(out, code, sizeof code);
	r->drawn += r->face->face->advance[id] * r->font->size / r->face->face->upem;
	if (fabs(rise) > 0)
		end_text(r);
}

static size_t cluster_end(const struct run *r, int i, int end)
{
	const PangoGlyphString *g = r->item->glyphs;

	if (r->item->item->analysis.level % 2)
		return (size_t)(i > 0 ? g->log_clusters[i - 1] : r->item->item->length);
	return (size_t)(end < g->num_glyphs ? g->log_clusters[end] : r->item->item->length);
}

/* Whether the one glyph is read as the one character, here and wherever else it stands. */
static bool reads_as(struct used_face *u, unsigned int glyph, const char *text, size_t size)
{
	gunichar c = g_utf8_get_char(text);

	if (size == 0 || g_utf8_next_char(text) != text + size)
		return false;
	if (u->text[glyph])
		return u->text[glyph] == c;
	if (u->face->base_text[glyph] && u->face->base_text[glyph] != c)
		return false; /* the base reads it as something else: never two meanings of one glyph */
	u->text[glyph] = c;
	u->beyond_base = u->beyond_base || !u->face->base_text[glyph];
	return true;
}

/* A glyph that is nobody's first choice still needs some reading (PDF/A-3u): its cluster's first character. */
static void need_reading(struct used_face *u, unsigned int glyph, const char *text, size_t size)
{
	if (u->text[glyph])
		return;
	u->text[glyph] = u->face->base_text[glyph];
	if (u->text[glyph])
		return;
	u->text[glyph] = size > 0 ? g_utf8_get_char(text) : ' ';
	u->beyond_base = true;
}

static void put_actual_text(struct run *r, const char *text, size_t size)
{
	char *copy = g_strndup(text, size);

	end_text(r);
	word(r->s->out, "/Span <</ActualText ");
	bytes_text(r->s->out, copy);
	word(r->s->out, ">> BDC\n");
	g_free(copy);
}

static void put_cluster(struct run *r, int from, int to)
{
	const PangoGlyphInfo *g = r->item->glyphs->glyphs;
	size_t begin = (size_t)r->item->glyphs->log_clusters[from], end = cluster_end(r, from, to);
	const char *text = r->text + begin;
	size_t size = end > begin ? end - begin : 0;
	bool plain = to - from == 1 &&
		     (g[from].glyph == PANGO_GLYPH_EMPTY || reads_as(r->face, g[from].glyph, text, size));

	if (!plain)
		put_actual_text(r, text, size);
	for (int i = from; i < to; i++) {
		if (g[i].glyph != PANGO_GLYPH_EMPTY && g[i].glyph < r->face->face->n_glyphs) {
			if (!plain)
				need_reading(r->face, g[i].glyph, text, size);
			put_glyph(r, &g[i]);
		}
		r->at += (double)g[i].geometry.width / PANGO_SCALE;
	}
	if (plain)
		return;
	end_text(r);
	word(r->s->out, "EMC\n");
}

/* Returns how wide it was. */
static double put_run(struct sheet *s, double x, double y, const char *text, const PangoGlyphItem *item)
{
	struct run r = {.s = s, .item = item, .text = text + item->item->offset, .x = x, .y = y};
	int n = item->glyphs->num_glyphs;

	r.font = use_font(s, item->item->analysis.font);
	if (!r.font)
		return 0;
	r.face = &s->faces[r.font->face];
	for (int from = 0, to; from < n; from = to) {
		for (to = from + 1; to < n && item->glyphs->log_clusters[to] == item->glyphs->log_clusters[from]; to++)
			;
		put_cluster(&r, from, to);
	}
	end_text(&r);
	return r.at;
}

void sheet_layout_line(struct sheet *s, double x, double y, PangoLayoutLine *line)
{
	const char *text = pango_layout_get_text(line->layout);

	sheet_show_look(s, true);
	for (GSList *run = line->runs; run; run = run->next)
		x += put_run(s, x, y, text, run->data);
}

void sheet_layout(struct sheet *s, double x, double y, PangoLayout *layout)
{
	PangoLayoutIter *line = pango_layout_get_iter(layout);

	do {
		PangoRectangle place;

		pango_layout_iter_get_line_extents(line, NULL, &place);
		sheet_layout_line(s, x + (double)place.x / PANGO_SCALE,
				  y + (double)pango_layout_iter_get_baseline(line) / PANGO_SCALE,
				  pango_layout_iter_get_line_readonly(line));
	} while (pango_layout_iter_next_line(line));
	pango_layout_iter_free(line);
}
