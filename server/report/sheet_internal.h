/* What the sources of a sheet share. */
#ifndef REPORT_SHEET_INTERNAL_H
#define REPORT_SHEET_INTERNAL_H

#include <hb.h>
#include "seal_text.h"
#include "sheet.h"

#define SHEET_SAVES_MAX 4
#define SHEET_FONTS_MAX 64 /* a typeface at a size; more than the certificate has styles */
#define GLYPHS_MAX	65536

struct look {
	unsigned char fill[3], stroke[3];
	double width, dot_step;
	bool round_caps, round_joins;
};

struct sheet_page {
	struct bytes content;
	size_t *elements; /* by marked content id */
	size_t n_elements, room;
};

struct element {
	const char *name;
	size_t parent, page, mcid; /* page, mcid: of what holds content */
	size_t *kids;
	size_t n_kids, room;
	bool holds_content;
};

/*
 * A file with outlines as the program has it, never changed once it is read. base: the glyphs of the Latin writing and usual
 * signs, as one subset that is made once: most certificates need no other.
 */
struct typeface {
	hb_face_t *face;
	char name[64]; /* PostScript's */
	unsigned int n_glyphs, upem;
	uint16_t *advance;
	uint32_t *base_text; /* by glyph: its character, 0 for what is not in the base */
	hb_set_t *base;
	struct bytes base_program, base_unicode, base_widths;
	size_t base_program_size;
	char base_tag[8];
	int box[4], ascent, descent, cap_height; /* thousandths of an em */
};

/* What a file uses of one. */
struct used_face {
	const struct typeface *face; /* NULL: the place is free */
	uint32_t *text;		     /* by glyph: what is read for it, 0 for what was not used */
	bool beyond_base;
};

#define FACES_MAX 4

struct used_font {
	PangoFont *font; /* borrowed: the font map holds it */
	size_t face;
	double size;
};

struct sheet {
	double width, height;
	struct sheet_page *pages;
	size_t n_pages;
	struct bytes *out; /* content of the page that is being drawn */
	struct bytes path;
	bool has_point;
	struct look want, have;
	struct look saved_want[SHEET_SAVES_MAX], saved_have[SHEET_SAVES_MAX];
	size_t n_saved;
	struct element *elements; /* 0 is the document */
	size_t n_elements, element_room;
	size_t open; /* the element whose kids come next */
	struct used_face faces[FACES_MAX];
	struct used_font fonts[SHEET_FONTS_MAX];
	size_t n_fonts;
	bool failed;
};

/* Up to three decimals, no more than it needs, and a space. */
void sheet_number(struct bytes *b, double v);
void sheet_integer(struct bytes *b, size_t v); /* without a space */
void sheet_show_look(struct sheet *s, bool text_or_fill);

/* sheet_font.c: the typeface of a font of pango's, read at its first use by anybody; NULL when it has no outlines. */
const struct typeface *typeface_of(PangoFont *font);

struct font_parts { /* what stands in the file; program, unicode deflated */
	const struct bytes *program, *unicode, *widths;
	size_t program_size;
	const char *tag;
	struct bytes own[3];
	char own_tag[8];
};
bool font_parts_make(const struct used_face *u, struct font_parts *out);
void font_parts_clear(struct font_parts *p);

/* Appends bytes deflated; false without memory. */
bool sheet_deflate(struct bytes *out, const void *bytes, size_t size);

#endif
