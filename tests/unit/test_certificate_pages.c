/*
 * Certificates of records made at random, short and long, on both papers, as pdftotext -bbox sees them: every word inside the
 * margins, none over another, no heading left alone at the foot of a page, pages counted right. SEED=n asks of others.
 */
#include "unit/certificate_kinds.h"

#define RECORDS	  24
#define WORDS_MAX 4000
#define MARGIN	  57.0 /* 20 mm, left and right */
#define HEIGHT	  0.7  /* of a word's box: ascent and descent of neighbouring lines may meet */
#define SLACK	  0.6

struct word {
	double left, top, right, bottom;
	char text[48];
};

static unsigned int seed;

static unsigned int chance(unsigned int n)
{
	seed = seed * 1664525u + 1013904223u; /* Knuth's constants for 32 bits, from memory; any would do */
	return (seed >> 8) % n;
}

static const char *some_text(char *out, size_t most)
{
	size_t n = 5 + chance((unsigned int)most - 5);
	char *text = words_of(n);

	strcpy(out, text);
	free(text);
	return out;
}

struct texts {
	char remarks[4001], condition[1001], name[81], service[121], plant[81], title[121], place[81], adjustment[501];
};

static struct sample *some_sample(struct texts *t)
{
	struct sample *s = sample_new();

	sample_run(s, RUN_AS_FOUND, chance(2) ? 5 : 11, 1 + (int)chance(5), chance(30) / 10.0, 0, 0.2);
	if (chance(2)) {
		sample_run(s, RUN_AS_LEFT, chance(2) ? 5 : 11, 1 + (int)chance(5), 0.1, 0, 0.1);
		s->r.adjusted = 1;
		s->r.adjustment = some_text(t->adjustment, 500);
		s->r.adjusted_by = "Maren Oldfield";
	}
	s->options.paper = chance(2) ? PAPER_LETTER : PAPER_A4;
	s->r.remarks = some_text(t->remarks, chance(2) ? 4000 : 100);
	s->r.condition = some_text(t->condition, chance(2) ? 1000 : 60);
	s->signatures[0].name = s->r.certificate_by = some_text(t->name, 80);
	s->r.instrument.service = some_text(t->service, 120);
	s->options.plant_name = some_text(t->plant, 80);
	s->r.procedure.title = some_text(t->title, 120);
	s->r.instrument.location = some_text(t->place, 80);
	s->r.n_standards = chance(3);
	return s;
}

static bool overlap(const struct word *a, const struct word *b)
{
	double cut_a = (a->bottom - a->top) * (1 - HEIGHT) / 2, cut_b = (b->bottom - b->top) * (1 - HEIGHT) / 2;

	return a->left + SLACK < b->right && b->left + SLACK < a->right && a->top + cut_a < b->bottom - cut_b &&
	       b->top + cut_b < a->bottom - cut_a;
}

static void complain(unsigned int from, int page, const char *why, const struct word *a, const struct word *b)
{
	print_error("SEED=%u page %d: %s: \"%s\" at %.1f %.1f, \"%s\" at %.1f %.1f\n", from, page, why, a->text,
		    a->left, a->top, b->text, b->left, b->top);
	fail();
}

/* Headings are set in 9 points bold: 10.48 high by the face's 1.164 em; what follows them is lower or higher. */
static bool is_heading(const struct word *w)
{
	return fabs(w->bottom - w->top - 10.48) < 0.1 && fabs(w->left - MARGIN) < 1;
}

static void judge_page(unsigned int from, int page, double width, double height, const struct word *w, size_t n)
{
	const struct word *last = NULL;
	double foot = height;

	for (size_t i = 0; i < n; i++)
		if (strcmp(w[i].text, "Results") == 0 && i + 1 < n && strcmp(w[i + 1].text, "relate") == 0)
			foot = w[i].top - 12; /* above it only the line with the number */
	assert_true(foot < height);
	for (size_t i = 0; i < n; i++) {
		if (w[i].left < MARGIN - SLACK || w[i].right > width - MARGIN + SLACK || w[i].top < 28 ||
		    w[i].bottom > height - 28)
			complain(from, page, "outside the margins", &w[i], &w[i]);
		for (size_t k = 0; k < i; k++)
			if (overlap(&w[i], &w[k]))
				complain(from, page, "one over the other", &w[i], &w[k]);
		if (w[i].bottom < foot && (!last || w[i].bottom > last->bottom))
			last = &w[i];
	}
	assert_non_null(last);
	if (is_heading(last))
		complain(from, page, "a heading alone at the foot", last, last);
}

/* Pages of pdftotext -bbox; returns how many. */
static int judge_pages(unsigned int from, char *text)
{
	static struct word words[WORDS_MAX];
	double width = 0, height = 0;
	size_t n = 0;
	int pages = 0;
	char *save = NULL;

	for (char *line = strtok_r(text, "\n", &save); line; line = strtok_r(NULL, "\n", &save)) {
		struct word *w = &words[n];

		if (sscanf(line, " <page width=\"%lf\" height=\"%lf\">", &width, &height) == 2)
			n = 0;
		else if (sscanf(line, " <word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\">%47[^<]", &w->left,
				&w->top, &w->right, &w->bottom, w->text) == 5) {
			n++;
			assert_true(n < WORDS_MAX);
		} else if (strstr(line, "</page>"))
			judge_page(from, ++pages, width, height, words, n);
	}
	return pages;
}

static void judge_sample(unsigned int from, struct sample *s)
{
	char path[40], *text, last[40];
	int pages;

	draw_file(s, path);
	text = output_of("pdftotext -bbox $f - 2>&1", path);
	pages = judge_pages(from, text);
	free(text);
	text = output_of("pdftotext $f - 2>&1", path);
	unlink(path);
	for (int i = 1; i <= pages; i++) {
		snprintf(last, sizeof last, "Page %d of %d ", i, pages);
		if (count_of(text, last) != 1)
			print_error("SEED=%u: %s\n", from, last);
		assert_int_equal(count_of(text, last), 1);
	}
	assert_int_equal(count_of(text, "End of certificate"), 1);
	free(text);
	free(s);
}

static void no_word_leaves_the_margins_or_lies_over_another_and_pages_count_right(void **state)
{
	const char *asked = getenv("SEED");
	unsigned int first = asked ? (unsigned int)strtoul(asked, NULL, 10) : 1;

	(void)state;
	for (unsigned int from = first; from < first + RECORDS; from++) {
		struct texts *t = calloc(1, sizeof *t);

		seed = from;
		judge_sample(from, some_sample(t));
		free(t);
	}
}

/* The same of every kind there is, with names of 80 characters among them. */
static void every_kind_keeps_to_its_pages(void **state)
{
	(void)state;
	for (int kind = 0; kind < KINDS; kind++)
		for (int paper = 0; paper < 2; paper++) {
			char *remarks;
			struct sample *s = sample_of((enum kind)kind, &remarks);

			s->options.paper = paper ? PAPER_LETTER : PAPER_A4;
			judge_sample((unsigned int)kind, s);
			free(remarks);
		}
}

/* Limits so tight that their figures take three decimals, and a zero shift by which every reading as found fails. */
static struct sample *sample_tight(void)
{
	struct sample *s = sample_new();

	s->r.procedure.as_found = sample_tolerance(0.05);
	s->r.procedure.as_left = sample_tolerance(0.02);
	s->r.procedure.decision = (struct decision_rule){DECISION_GUARDED, 1};
	s->r.input_decimals = s->r.output_decimals = 4;
	for (int i = 0; i < 2; i++)
		s->r.standards[i].expanded_uncertainty /= 100;
	sample_run(s, RUN_AS_FOUND, 5, 1, 0.08, 0, 0);
	sample_run(s, RUN_AS_LEFT, 5, 1, 0.001, 0, 0);
	return s;
}

/* Words at the chart's right edge are widest where as found and as left have each a guard band. */
static void a_chart_with_two_guard_bands_keeps_to_the_margins(void **state)
{
	(void)state;
	for (int paper = 0; paper < 2; paper++) {
		struct sample *s = sample_tight();

		s->options.paper = paper ? PAPER_LETTER : PAPER_A4;
		judge_sample(0, s);
	}
}

/* Of a zero shift every reading fails at the same height, which is that of the words "as found" at the line's end. */
static void an_error_is_not_written_across_the_line_of_the_readings(void **state)
{
	struct sample *s = sample_tight();
	struct word value[18];
	size_t n = 0;
	double line_at = 0;
	char path[40], *text, *save = NULL;

	(void)state;
	draw_file(s, path);
	text = output_of("pdftotext -f 2 -bbox $f - 2>&1", path);
	unlink(path);
	for (char *at = strtok_r(text, "\n", &save); at; at = strtok_r(NULL, "\n", &save)) {
		struct word w;

		if (sscanf(at, " <word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\">%47[^<]", &w.left, &w.top,
			   &w.right, &w.bottom, w.text) != 5)
			continue;
		if (fabs(w.bottom - w.top - 6.4 * 1.164) < 0.1 && w.text[0] == '+' && n < 18) /* set in 6.4 points */
			value[n++] = w;
		if (!strcmp(w.text, "as") && w.left > 450 && line_at <= 0) /* the upper one */
			line_at = (w.top + w.bottom) / 2;
	}
	free(text);
	free(s);
	assert_true(n >= 5);
	assert_true(line_at > 0);
	for (size_t i = 0; i < n; i++)
		if (value[i].top < line_at && value[i].bottom > line_at)
			complain(0, 2, "across the line", &value[i], &value[i]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(no_word_leaves_the_margins_or_lies_over_another_and_pages_count_right),
		cmocka_unit_test(every_kind_keeps_to_its_pages),
		cmocka_unit_test(a_chart_with_two_guard_bands_keeps_to_the_margins),
		cmocka_unit_test(an_error_is_not_written_across_the_line_of_the_readings),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
