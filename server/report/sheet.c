/* Drawing: operators are written into the page's content as they come, changes of look only where they show. */
#include "sheet_internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ISO 32000-1 table 52: what holds at the beginning of a page. */
static const struct look page_look = {.width = 1};

/* ---- writing ---- */

void sheet_integer(struct bytes *b, size_t v)
{
	char text[24], *at = text + sizeof text;

	do
		*--at = (char)('0' + v % 10);
	while (v /= 10);
	bytes_add(b, at, (size_t)(text + sizeof text - at));
}

void sheet_number(struct bytes *b, double v)
{
	char text[32], *at = text + sizeof text;
	long n = lround(v * 1000), rest = labs(n) % 1000, whole = labs(n) / 1000;

	*--at = ' ';
	if (rest) {
		int digits = rest % 10 ? 3 : rest % 100 ? 2 : 1;

		for (int i = digits; i < 3; i++)
			rest /= 10;
		for (; digits > 0; digits--, rest /= 10)
			*--at = (char)('0' + rest % 10);
		*--at = '.';
	}
	do
		*--at = (char)('0' + whole % 10);
	while (whole /= 10);
	if (n < 0)
		*--at = '-';
	bytes_add(b, at, (size_t)(text + sizeof text - at));
}

static void word(struct bytes *b, const char *text)
{
	bytes_add(b, text, strlen(text));
}

static void point(struct sheet *s, double x, double y)
{
	sheet_number(&s->path, x);
	sheet_number(&s->path, s->height - y);
}

/* ---- pages ---- */

void sheet_break(struct sheet *s)
{
	struct sheet_page *grown = realloc(s->pages, (s->n_pages + 1) * sizeof *grown);

	if (!grown) {
		s->failed = true;
		return;
	}
	s->pages = grown;
	s->pages[s->n_pages] = (struct sheet_page){0};
	s->out = &s->pages[s->n_pages++].content;
	s->have = page_look;
}

struct sheet *sheet_new(double width, double height)
{
	struct sheet *s = calloc(1, sizeof *s);

	if (!s)
		return NULL;
	s->width = width;
	s->height = height;
	s->want = page_look;
	s->elements = calloc(1, sizeof *s->elements);
	s->element_room = s->n_elements = 1;
	if (s->elements)
		s->elements[0].name = "Document";
	else
		s->failed = true;
	sheet_break(s);
	if (!s->failed)
		return s;
	sheet_free(s);
	return NULL;
}

void sheet_free(struct sheet *s)
{
	if (!s)
		return;
	for (size_t i = 0; i < s->n_pages; i++) {
		bytes_free(&s->pages[i].content);
		free(s->pages[i].elements);
	}
	for (size_t i = 0; s->elements && i < s->n_elements; i++)
		free(s->elements[i].kids);
	for (size_t i = 0; i < FACES_MAX; i++)
		free(s->faces[i].text);
	bytes_free(&s->path);
	free(s->pages);
	free(s->elements);
	free(s);
}

/* ---- look ---- */

void sheet_colour(struct sheet *s, const unsigned char rgb[3])
{
	memcpy(s->want.fill, rgb, 3);
	memcpy(s->want.stroke, rgb, 3);
}

void sheet_width(struct sheet *s, double width)
{
	s->want.width = width;
}

void sheet_round_caps(struct sheet *s)
{
	s->want.round_caps = true;
}

void sheet_round_joins(struct sheet *s)
{
	s->want.round_joins = true;
}

void sheet_dotted(struct sheet *s, double step)
{
	s->want.round_caps = true;
	s->want.dot_step = step;
}

void sheet_save(struct sheet *s)
{
	if (s->n_saved == SHEET_SAVES_MAX) {
		s->failed = true;
		return;
	}
	s->saved_want[s->n_saved] = s->want;
	s->saved_have[s->n_saved++] = s->have;
	word(s->out, "q\n");
}

void sheet_restore(struct sheet *s)
{
	if (s->n_saved == 0) {
		s->failed = true;
		return;
	}
	s->want = s->saved_want[--s->n_saved];
	s->have = s->saved_have[s->n_saved];
	word(s->out, "Q\n");
}

static void show_colour(struct sheet *s, const unsigned char want[3], unsigned char have[3], const char *operator)
{
	if (memcmp(want, have, 3) == 0)
		return;
	memcpy(have, want, 3);
	for (int i = 0; i < 3; i++)
		sheet_number(s->out, want[i] / 255.0);
	word(s->out, operator);
}

static bool differ(double a, double b)
{
	return a < b || a > b;
}

static void show_lines(struct sheet *s)
{
	if (differ(s->want.width, s->have.width)) {
		sheet_number(s->out, s->want.width);
		word(s->out, "w\n");
	}
	if (s->want.round_caps != s->have.round_caps)
		word(s->out, s->want.round_caps ? "1 J\n" : "0 J\n");
	if (s->want.round_joins != s->have.round_joins)
		word(s->out, s->want.round_joins ? "1 j\n" : "0 j\n");
	if (differ(s->want.dot_step, s->have.dot_step)) {
		word(s->out, "[");
		if (s->want.dot_step > 0) {
			word(s->out, "0 ");
			sheet_number(s->out, s->want.dot_step);
		}
		word(s->out, "] 0 d\n");
	}
	s->have.width = s->want.width;
	s->have.round_caps = s->want.round_caps;
	s->have.round_joins = s->want.round_joins;
	s->have.dot_step = s->want.dot_step;
}

void sheet_show_look(struct sheet *s, bool text_or_fill)
{
	if (text_or_fill) {
		show_colour(s, s->want.fill, s->have.fill, "rg\n");
		return;
	}
	show_colour(s, s->want.stroke, s->have.stroke, "RG\n");
	show_lines(s);
}

/* ---- paths ---- */

void sheet_move(struct sheet *s, double x, double y)
{
	point(s, x, y);
	word(&s->path, "m\n");
	s->has_point = true;
}

void sheet_line(struct sheet *s, double x, double y)
{
	if (!s->has_point) {
		sheet_move(s, x, y);
		return;
	}
	point(s, x, y);
	word(&s->path, "l\n");
}

void sheet_rectangle(struct sheet *s, double x, double y, double width, double height)
{
	point(s, x, y + height);
	sheet_number(&s->path, width);
	sheet_number(&s->path, height);
	word(&s->path, "re\n");
	s->has_point = false;
}

/* Each quarter or less by one curve, which errs by less than 0.03 % of the radius. */
void sheet_arc(struct sheet *s, double x, double y, double radius, double from, double to)
{
	int parts = (int)ceil((to - from) / (M_PI / 2) - 1e-9);
	double step = (to - from) / (parts > 0 ? parts : 1), pull = 4.0 / 3 * tan(step / 4) * radius;

	sheet_move(s, x + radius * cos(from), y + radius * sin(from));
	for (int i = 0; i < parts; i++) {
		double a = from + i * step, b = a + step, xb = x + radius * cos(b), yb = y + radius * sin(b);

		point(s, x + radius * cos(a) - pull * sin(a), y + radius * sin(a) + pull * cos(a));
		point(s, xb + pull * sin(b), yb - pull * cos(b));
		point(s, xb, yb);
		word(&s->path, "c\n");
	}
}

void sheet_join_ends(struct sheet *s)
{
	word(&s->path, "h\n");
}

static void paint(struct sheet *s, const char *operator, bool keep)
{
	if (s->path.size > 0) {
		bytes_add(s->out, s->path.data, s->path.size);
		word(s->out, operator);
	}
	if (keep)
		return;
	s->path.size = 0;
	s->has_point = false;
}

void sheet_stroke(struct sheet *s)
{
	sheet_show_look(s, false);
	paint(s, "S\n", false);
}

void sheet_fill(struct sheet *s)
{
	sheet_show_look(s, true);
	paint(s, "f\n", false);
}

void sheet_fill_keep(struct sheet *s)
{
	sheet_show_look(s, true);
	paint(s, "f\n", true);
}

void sheet_clip(struct sheet *s)
{
	paint(s, "W n\n", false);
}

/* ---- structure ---- */

static bool grow(void *array, size_t count, size_t *room, size_t size)
{
	void **at = array;
	void *grown;

	if (count < *room)
		return true;
	grown = realloc(*at, (*room * 2 + 8) * size);
	if (!grown)
		return false;
	*at = grown;
	*room = *room * 2 + 8;
	return true;
}

static bool add_kid(struct element *parent, size_t kid)
{
	if (!grow(&parent->kids, parent->n_kids, &parent->room, sizeof *parent->kids))
		return false;
	parent->kids[parent->n_kids++] = kid;
	return true;
}

static void open_content(struct sheet *s, size_t id)
{
	struct sheet_page *page = &s->pages[s->n_pages - 1];
	struct element *e = &s->elements[id];

	if (!grow(&page->elements, page->n_elements, &page->room, sizeof *page->elements)) {
		s->failed = true;
		return;
	}
	e->page = s->n_pages - 1;
	e->mcid = page->n_elements;
	page->elements[page->n_elements++] = id;
	word(s->out, "/");
	word(s->out, e->name);
	word(s->out, " <</MCID ");
	sheet_integer(s->out, e->mcid);
	word(s->out, ">> BDC\n");
}

void sheet_tag(struct sheet *s, const char *name)
{
	size_t id = s->n_elements;

	if (!grow(&s->elements, id, &s->element_room, sizeof *s->elements) || !add_kid(&s->elements[s->open], id)) {
		s->failed = true;
		return;
	}
	s->elements[id] = (struct element){.name = name, .parent = s->open};
	s->elements[id].holds_content = strcmp(name, "Table") != 0 && strcmp(name, "TR") != 0;
	s->n_elements++;
	s->open = id;
	if (s->elements[id].holds_content)
		open_content(s, id);
}

void sheet_untag(struct sheet *s)
{
	struct element *e = &s->elements[s->open];

	if (e->holds_content)
		word(s->out, "EMC\n");
	s->open = e->parent;
}
