/*
 * Fonts of a file: outlines without hints and without what a viewer does not need, glyphs under their own numbers, so that
 * the code of a glyph in the text is its number. Files are read once; what most certificates need is made once.
 */
#include <hb-ot.h>
#include <hb-subset.h>
#include <libdeflate.h>
#include <pango/pangofc-font.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "sheet_internal.h"

#define LEVEL 6 /* of deflate: 1..12 */

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static struct {
	char file[512];
	struct typeface face;
} known[FACES_MAX];

static pthread_key_t packer_key;
static pthread_once_t packer_once = PTHREAD_ONCE_INIT;

static void packer_free(void *packer)
{
	libdeflate_free_compressor(packer);
}

static void packer_begin(void)
{
	pthread_key_create(&packer_key, packer_free);
}

/* Each thread keeps its own: making one costs more than a page. */
bool sheet_deflate(struct bytes *out, const void *bytes, size_t size)
{
	struct libdeflate_compressor *packer;
	size_t room, packed;
	char *packed_bytes;

	pthread_once(&packer_once, packer_begin);
	packer = pthread_getspecific(packer_key);
	if (!packer) {
		packer = libdeflate_alloc_compressor(LEVEL);
		if (!packer || pthread_setspecific(packer_key, packer)) {
			libdeflate_free_compressor(packer);
			return false;
		}
	}
	room = libdeflate_zlib_compress_bound(packer, size);
	packed_bytes = malloc(room);
	packed = packed_bytes ? libdeflate_zlib_compress(packer, bytes, size, packed_bytes, room) : 0;
	bytes_add(out, packed_bytes, packed);
	free(packed_bytes);
	return packed > 0 && !out->failed;
}

/* ---- parts ---- */

static bool make_program(const struct typeface *f, const hb_set_t *glyphs, struct bytes *out, size_t *size)
{
	static const hb_tag_t dropped[] = {
		HB_TAG('G', 'S', 'U', 'B'), HB_TAG('G', 'P', 'O', 'S'), HB_TAG('G', 'D', 'E', 'F'),
		HB_TAG('k', 'e', 'r', 'n'), HB_TAG('n', 'a', 'm', 'e'), HB_TAG('p', 'o', 's', 't'),
		HB_TAG('O', 'S', '/', '2'), HB_TAG('c', 'm', 'a', 'p'), HB_TAG('g', 'a', 's', 'p'),
		HB_TAG('F', 'F', 'T', 'M'), HB_TAG('M', 'A', 'T', 'H'), HB_TAG('D', 'S', 'I', 'G')};
	hb_subset_input_t *input = hb_subset_input_create_or_fail();
	hb_face_t *subset;
	hb_blob_t *blob;
	unsigned int length = 0;
	const char *data;
	bool done;

	if (!input)
		return false;
	hb_set_union(hb_subset_input_glyph_set(input), glyphs);
	for (size_t i = 0; i < sizeof dropped / sizeof *dropped; i++)
		hb_set_add(hb_subset_input_set(input, HB_SUBSET_SETS_DROP_TABLE_TAG), dropped[i]);
	hb_subset_input_set_flags(input, HB_SUBSET_FLAGS_RETAIN_GIDS | HB_SUBSET_FLAGS_NO_HINTING |
						 HB_SUBSET_FLAGS_NOTDEF_OUTLINE);
	subset = hb_subset_or_fail(f->face, input);
	hb_subset_input_destroy(input);
	blob = subset ? hb_face_reference_blob(subset) : NULL;
	data = blob ? hb_blob_get_data(blob, &length) : NULL;
	done = length > 0 && sheet_deflate(out, data, length);
	*size = length;
	hb_blob_destroy(blob);
	hb_face_destroy(subset);
	return done;
}

/* ISO 32000-1 9.10.3; 100 to a block is the limit there. */
static bool make_unicode(const hb_set_t *glyphs, const uint32_t *text, const uint32_t *or_text, struct bytes *out)
{
	struct bytes map = {0};
	hb_codepoint_t g = HB_SET_VALUE_INVALID;
	unsigned int left = 0, block = 0;
	bool done;

	bytes_print(&map, "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
			  "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
			  "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
			  "1 begincodespacerange\n<0000> <ffff>\nendcodespacerange\n");
	while (hb_set_next(glyphs, &g))
		left += text[g] || or_text[g];
	g = HB_SET_VALUE_INVALID;
	while (hb_set_next(glyphs, &g)) {
		uint32_t c = text[g] ? text[g] : or_text[g];

		if (!c)
			continue;
		if (block == 0) {
			block = left < 100 ? left : 100;
			left -= block;
			bytes_print(&map, "%u beginbfchar\n", block);
		}
		if (c > 0xffff)
			bytes_print(&map, "<%04x> <%04x%04x>\n", g, 0xd800 + ((c - 0x10000) >> 10),
				    0xdc00 + ((c - 0x10000) & 0x3ff));
		else
			bytes_print(&map, "<%04x> <%04x>\n", g, c);
		if (--block == 0)
			bytes_print(&map, "endbfchar\n");
	}
	bytes_print(&map, "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n");
	done = !map.failed && sheet_deflate(out, map.data, map.size);
	bytes_free(&map);
	return done;
}

static bool make_widths(const struct typeface *f, const hb_set_t *glyphs, struct bytes *out)
{
	hb_codepoint_t g = HB_SET_VALUE_INVALID, last = HB_SET_VALUE_INVALID;

	bytes_print(out, "[");
	while (hb_set_next(glyphs, &g)) {
		if (last != HB_SET_VALUE_INVALID && g == last + 1)
			bytes_print(out, " ");
		else
			bytes_print(out, "%s%u [", last == HB_SET_VALUE_INVALID ? "" : "] ", g);
		sheet_number(out, f->advance[g] * 1000.0 / f->upem);
		last = g;
	}
	bytes_print(out, "%s]", last == HB_SET_VALUE_INVALID ? "" : "]");
	return !out->failed;
}

/* Six letters that say which glyphs are in the subset (ISO 32000-1 9.6.4). */
static void make_tag(const hb_set_t *glyphs, char out[8])
{
	uint64_t hash = 0xcbf29ce484222325u;
	hb_codepoint_t g = HB_SET_VALUE_INVALID;

	while (hb_set_next(glyphs, &g))
		hash = (hash ^ g) * 0x100000001b3u;
	for (int i = 0; i < 6; i++, hash /= 26)
		out[i] = (char)('A' + hash % 26);
	out[6] = '\0';
}

/* ---- typefaces ---- */

static const struct {
	unsigned int from, to;
} base_ranges[] = {{0x20, 0x7e},     {0xa0, 0xff},     {0x2010, 0x2014}, {0x2018, 0x201e},
		   {0x2022, 0x2022}, {0x2026, 0x2026}, {0x2030, 0x2030}, {0x20ac, 0x20ac},
		   {0x2212, 0x2212}, {0x221a, 0x221a}, {0x2264, 0x2265}, {0x25b2, 0x25b3},
		   {0x25bc, 0x25bd}, {0x394, 0x394},   {0x3a9, 0x3a9},	 {0x3c3, 0x3c3}};

static bool make_base(struct typeface *f, hb_font_t *font)
{
	f->base = hb_set_create();
	f->base_text = calloc(GLYPHS_MAX, sizeof *f->base_text);
	if (!f->base_text || !hb_set_allocation_successful(f->base))
		return false;
	hb_set_add(f->base, 0);
	for (size_t i = 0; i < sizeof base_ranges / sizeof *base_ranges; i++)
		for (hb_codepoint_t c = base_ranges[i].from, g; c <= base_ranges[i].to; c++)
			if (hb_font_get_nominal_glyph(font, c, &g) && g < f->n_glyphs && !f->base_text[g]) {
				hb_set_add(f->base, g);
				f->base_text[g] = c;
			}
	make_tag(f->base, f->base_tag);
	return make_program(f, f->base, &f->base_program, &f->base_program_size) &&
	       make_unicode(f->base, f->base_text, f->base_text, &f->base_unicode) &&
	       make_widths(f, f->base, &f->base_widths);
}

static int thousandths(const struct typeface *f, int units)
{
	return (int)((units * 1000LL + (units < 0 ? -(int)f->upem : (int)f->upem) / 2) / (int)f->upem);
}

/* Table head: xMin, yMin, xMax, yMax at 36. */
static bool read_box(struct typeface *f)
{
	hb_blob_t *blob = hb_face_reference_table(f->face, HB_TAG('h', 'e', 'a', 'd'));
	unsigned int length;
	const unsigned char *head = (const unsigned char *)hb_blob_get_data(blob, &length);

	for (size_t i = 0; i < 4 && length >= 44; i++)
		f->box[i] = thousandths(f, (int16_t)(head[36 + 2 * i] << 8 | head[37 + 2 * i]));
	hb_blob_destroy(blob);
	return length >= 44;
}

static bool read_measures(struct typeface *f, hb_font_t *font)
{
	hb_font_extents_t extents;
	hb_position_t cap = 0;
	unsigned int room = sizeof f->name;

	f->upem = hb_face_get_upem(f->face);
	f->n_glyphs = hb_face_get_glyph_count(f->face);
	f->advance = f->n_glyphs <= GLYPHS_MAX ? calloc(GLYPHS_MAX, sizeof *f->advance) : NULL;
	hb_ot_name_get_utf8(f->face, HB_OT_NAME_ID_POSTSCRIPT_NAME, HB_LANGUAGE_INVALID, &room, f->name);
	if (!f->advance || !f->upem || !*f->name || strpbrk(f->name, " ()<>[]{}/%#") || !read_box(f))
		return false;
	for (hb_codepoint_t g = 0; g < f->n_glyphs; g++)
		f->advance[g] = (uint16_t)hb_font_get_glyph_h_advance(font, g);
	hb_font_get_h_extents(font, &extents);
	hb_ot_metrics_get_position(font, HB_OT_METRICS_TAG_CAP_HEIGHT, &cap);
	f->ascent = thousandths(f, extents.ascender);
	f->descent = thousandths(f, extents.descender);
	f->cap_height = cap > 0 ? thousandths(f, cap) : f->ascent;
	return true;
}

static bool read_face(struct typeface *f, const char *file, unsigned int index)
{
	hb_blob_t *blob = hb_blob_create_from_file_or_fail(file);
	hb_font_t *font;
	bool good;

	if (!blob)
		return false;
	f->face = hb_face_create(blob, index);
	hb_blob_destroy(blob);
	hb_face_make_immutable(f->face);
	font = hb_font_create(f->face);
	good = read_measures(f, font) && make_base(f, font);
	hb_font_destroy(font);
	return good;
}

const struct typeface *typeface_of(PangoFont *font)
{
	FcPattern *pattern = pango_fc_font_get_pattern(PANGO_FC_FONT(font));
	const struct typeface *found = NULL;
	FcChar8 *file;
	int index = 0;

	if (FcPatternGetString(pattern, FC_FILE, 0, &file) != FcResultMatch)
		return NULL;
	FcPatternGetInteger(pattern, FC_INDEX, 0, &index);
	pthread_mutex_lock(&lock);
	for (size_t i = 0; i < FACES_MAX && !found; i++) {
		if (!known[i].file[0]) {
			if (!read_face(&known[i].face, (const char *)file, (unsigned int)index))
				break;
			snprintf(known[i].file, sizeof known[i].file, "%s", (const char *)file);
		}
		if (strcmp(known[i].file, (const char *)file) == 0)
			found = &known[i].face;
	}
	pthread_mutex_unlock(&lock);
	return found;
}

bool font_parts_make(const struct used_face *u, struct font_parts *out)
{
	const struct typeface *f = u->face;
	hb_set_t *glyphs;
	bool done;

	*out = (struct font_parts){&f->base_program,	 &f->base_unicode, &f->base_widths,
				   f->base_program_size, f->base_tag,	   .own_tag = ""};
	if (!u->beyond_base)
		return true;
	glyphs = hb_set_copy(f->base);
	for (hb_codepoint_t g = 0; g < f->n_glyphs; g++)
		if (u->text[g])
			hb_set_add(glyphs, g);
	make_tag(glyphs, out->own_tag);
	done = hb_set_allocation_successful(glyphs) && make_program(f, glyphs, &out->own[0], &out->program_size) &&
	       make_unicode(glyphs, u->text, f->base_text, &out->own[1]) && make_widths(f, glyphs, &out->own[2]);
	out->program = &out->own[0];
	out->unicode = &out->own[1];
	out->widths = &out->own[2];
	out->tag = out->own_tag;
	hb_set_destroy(glyphs);
	return done;
}

void font_parts_clear(struct font_parts *p)
{
	for (int i = 0; i < 3; i++)
		bytes_free(&p->own[i]);
}
