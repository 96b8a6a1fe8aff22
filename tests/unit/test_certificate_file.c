/* The file itself: pages and paper, fonts, QR code, characters of many scripts, page breaks, same bytes every time, threads. */
#include "unit/certificate_check.h"

#include <pthread.h>

static void a4_of_a_normal_test_has_two_pages(void **state)
{
	char *text = tool_says(sample_adjusted(), "pdfinfo $f 2>&1");

	(void)state;
	assert_says(text, "Title:           Calibration certificate BWW-2026-0017");
	assert_says(text, "Author:          Brackenholm Water Works");
	assert_says(text, "Creator:         Loopledger 0.1.0");
	assert_says(text, "(A4)");
	assert_says(text, "Pages:           2");
	free(text);
}

static void us_letter_of_a_normal_test_has_two_pages(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->options.paper = PAPER_LETTER;
	text = tool_says(s, "pdfinfo $f 2>&1");
	assert_says(text, "612 x 792 pts (letter)");
	assert_says(text, "Pages:           2");
	free(text);
}

static void fonts_are_embedded_subset_and_map_to_unicode(void **state)
{
	char *text = tool_says(sample_adjusted(), "pdffonts $f 2>&1"), *save = NULL,
	     *line = strtok_r(text, "\n", &save);
	size_t fonts = 0;

	(void)state;
	line = strtok_r(NULL, "\n", &save); /* past the head and its rule */
	for (line = strtok_r(NULL, "\n", &save); line; line = strtok_r(NULL, "\n", &save)) {
		assert_non_null(strstr(line, "yes yes yes"));
		assert_non_null(strstr(line, "DejaVuSans"));
		fonts++;
	}
	assert_true(fonts >= 2); /* regular and bold */
	free(text);
}

static void qr_code_of_each_page_leads_to_the_verification_page(void **state)
{
	char *text = tool_says(
		sample_adjusted(),
		"d=$(mktemp -d) && pdftoppm -r 150 -png $f $d/p && zbarimg -q --raw $d/p-1.png $d/p-2.png 2>/dev/null; rm -r $d");

	(void)state;
	assert_string_equal(text, SAMPLE_VERIFY "\n" SAMPLE_VERIFY "\n");
	free(text);
}

/* The largest error as found is 1.5 % of span, so that figure stands in the statement, twice in the table, and in the chart. */
static void chart_is_vector_and_writes_failing_values(void **state)
{
	struct sample *s = sample_adjusted();
	char *images = tool_says(sample_adjusted(), "pdfimages -list $f 2>&1"), *text = text_of(s);

	(void)state;
	assert_int_equal(count_of(images, "\n"), 2); /* head and rule, no image */
	assert_says(text, "Error in % of span over the input");
	assert_says(text, "Input: current, mA");
	assert_says(text, "limit as found");
	assert_int_equal(count_of(text, "+1.5"), 6); /* and as +1.50 in the summary, and on the axis */
	free(images);
	free(text);
}

static void character_without_a_glyph_is_refused_and_named(void **state)
{
	struct sample *s = sample_adjusted();
	struct err err = {0};
	char *bytes = (char *)1;
	size_t size = 1;

	(void)state;
	s->r.instrument.tag = "FCV-\ue000";
	assert_int_equal(certificate_pdf(&s->r, &s->options, &bytes, &size, &err), INVALID);
	assert_says(err.message, "U+E000");
	assert_says(err.message, "FCV-\ue000");
	assert_null(bytes);
	assert_int_equal(size, 0);
	free(s);
}

/* The remarks stand after the tables, where only drawing, not measuring, meets them last. */
static void character_without_a_glyph_in_the_remarks_is_refused(void **state)
{
	struct sample *s = sample_adjusted();
	struct err err = {0};
	char *bytes;
	size_t size;

	(void)state;
	s->r.remarks = "seen \ue123 here";
	assert_int_equal(certificate_pdf(&s->r, &s->options, &bytes, &size, &err), INVALID);
	assert_says(err.message, "U+E123");
	free(s);
}

static void broken_utf8_is_refused(void **state)
{
	struct sample *s = sample_adjusted();
	struct err err = {0};
	char *bytes;
	size_t size;

	(void)state;
	s->r.remarks = "half a character \xc3";
	assert_int_equal(certificate_pdf(&s->r, &s->options, &bytes, &size, &err), INVALID);
	free(s);
}

static void record_without_a_number_is_refused(void **state)
{
	struct sample *s = sample_adjusted();
	struct err err = {0};
	char *bytes;
	size_t size;

	(void)state;
	s->r.certificate_number = NULL;
	assert_int_equal(certificate_pdf(&s->r, &s->options, &bytes, &size, &err), CONFLICT);
	free(s);
}

static void cyrillic_greek_and_chinese_stand_as_written(void **state)
{
	static const char *const scripts[] = {"КЛ-2107 Ёмкость", "ΒΑΛΒΊΔΑ-7", "阀门-2107"};

	(void)state;
	for (size_t i = 0; i < 3; i++) {
		struct sample *s = sample_adjusted();
		char *text;

		s->r.instrument.tag = scripts[i];
		text = text_of(s);
		assert_says(text, scripts[i]);
		free(text);
	}
}

static void signs_of_the_trade_stand_as_written(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->r.remarks = "± 0.5 Ω, 20 µA, 25 °C, m³/h, ≤ 3 σ, Δp";
	text = text_of(s);
	assert_says(text, "± 0.5 Ω, 20 µA, 25 °C, m³/h, ≤ 3 σ, Δp");
	free(text);
}

static void longest_tag_and_service_are_not_cut(void **state)
{
	struct sample *s = sample_adjusted();
	char *text;

	(void)state;
	s->r.instrument.tag = "A123456789-B123456789-C123456789-D123456"; /* 40 characters */
	s->r.instrument.service =
		"Filter 2 outlet flow control valve with a service text well beyond eighty characters, as plants write them";
	text = flat_text_of(s);
	assert_says(text, "A123456789-B123456789-C123456789-D123456");
	assert_says(text, "well beyond eighty characters, as plants write them");
	free(text);
}

/* Five cycles of eleven points up and ten down, twice: 210 readings; every one must be on some page. */
static void many_readings_go_on_over_pages_with_the_head_repeated(void **state)
{
	struct sample *s = sample_new();
	size_t signs = 0, heads;
	char *text;

	(void)state;
	sample_run(s, RUN_AS_FOUND, 11, 5, 0.4, 0, 0.2);
	sample_run(s, RUN_AS_LEFT, 11, 5, 0.1, 0, 0.1);
	text = text_of(s);
	signs = count_of(text, "\u25b3") + count_of(text, "\u25bd") + count_of(text, "\u25b2") +
		count_of(text, "\u25bc");
	heads = count_of(text, "U (k = 2)");
	assert_int_equal(signs, 210);
	assert_int_equal(heads, 2 + count_of(text, "(continued)"));
	assert_true(count_of(text, "(continued)") >= 2); /* 105 rows at 4 mm do not fit on one page */
	assert_int_equal(count_of(text, "End of certificate"), 1);
	free(text);
}

static void long_remarks_go_on_over_pages_and_end_whole(void **state)
{
	struct sample *s = sample_adjusted();
	char *remarks = calloc(1, 20000), *text, last[32];
	size_t pages;

	(void)state;
	for (int i = 0; i < 400; i++)
		strcat(remarks, "Flushed and vented twice, then held. ");
	strcat(remarks, "The last word.");
	s->r.remarks = remarks;
	text = flat_text_of(s);
	assert_says(text, "The last word.");
	pages = count_of(text, "To be reproduced only whole"); /* once a page */
	assert_true(pages >= 4); /* 15 000 characters are four pages of type at least with the two of a normal test */
	snprintf(last, sizeof last, "Page %zu of %zu", pages, pages);
	assert_says(text, last);
	assert_says(text, "End of certificate");
	free(text);
	free(remarks);
}

/* Counting and drawing are two passes; drawing refuses when it comes to another number than counting did. */
static void pages_are_counted_right_whatever_the_length_of_the_texts(void **state)
{
	struct sample *s = sample_adjusted();
	char condition[3000] = "";

	(void)state;
	s->r.condition = condition;
	for (size_t length = 0; length < sizeof condition - 90; length += 87) {
		size_t size;

		for (size_t i = length; i < length + 87; i++)
			condition[i] = i % 6 == 5 ? ' ' : 'n';
		condition[length + 87] = '\0';
		s->options.paper = s->options.paper == PAPER_A4 ? PAPER_LETTER : PAPER_A4;
		free(draw(s, &size));
	}
	free(s);
}

static void two_renderings_are_the_same_to_the_byte(void **state)
{
	struct sample *s = sample_adjusted();
	size_t a_size, b_size;
	char *a = draw(s, &a_size), *b;

	(void)state;
	sleep(1); /* past the second that a file would carry if it took the present time */
	b = draw(s, &b_size);
	assert_int_equal(a_size, b_size);
	assert_memory_equal(a, b, a_size);
	free(a);
	free(b);
	free(s);
}

struct drawing {
	const struct sample *s;
	char *bytes;
	size_t size;
	enum status rc;
};

static void *draw_in_thread(void *context)
{
	struct drawing *d = context;
	struct err err = {0};

	for (int i = 0; i < 5 && !d->rc; i++) {
		free(d->bytes);
		d->rc = certificate_pdf(&d->s->r, &d->s->options, &d->bytes, &d->size, &err);
	}
	return NULL;
}

static void four_threads_draw_the_same_certificate_at_once(void **state)
{
	struct sample *s = sample_adjusted();
	struct drawing d[4];
	pthread_t thread[4];

	(void)state;
	for (int i = 0; i < 4; i++) {
		d[i] = (struct drawing){.s = s};
		assert_int_equal(pthread_create(&thread[i], NULL, draw_in_thread, &d[i]), 0);
	}
	for (int i = 0; i < 4; i++)
		pthread_join(thread[i], NULL);
	for (int i = 0; i < 4; i++) {
		assert_int_equal(d[i].rc, OK);
		assert_int_equal(d[i].size, d[0].size);
		assert_memory_equal(d[i].bytes, d[0].bytes, d[0].size);
	}
	for (int i = 0; i < 4; i++)
		free(d[i].bytes);
	free(s);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a4_of_a_normal_test_has_two_pages),
		cmocka_unit_test(us_letter_of_a_normal_test_has_two_pages),
		cmocka_unit_test(fonts_are_embedded_subset_and_map_to_unicode),
		cmocka_unit_test(qr_code_of_each_page_leads_to_the_verification_page),
		cmocka_unit_test(chart_is_vector_and_writes_failing_values),
		cmocka_unit_test(character_without_a_glyph_is_refused_and_named),
		cmocka_unit_test(character_without_a_glyph_in_the_remarks_is_refused),
		cmocka_unit_test(broken_utf8_is_refused),
		cmocka_unit_test(record_without_a_number_is_refused),
		cmocka_unit_test(cyrillic_greek_and_chinese_stand_as_written),
		cmocka_unit_test(signs_of_the_trade_stand_as_written),
		cmocka_unit_test(longest_tag_and_service_are_not_cut),
		cmocka_unit_test(many_readings_go_on_over_pages_with_the_head_repeated),
		cmocka_unit_test(long_remarks_go_on_over_pages_and_end_whole),
		cmocka_unit_test(pages_are_counted_right_whatever_the_length_of_the_texts),
		cmocka_unit_test(two_renderings_are_the_same_to_the_byte),
		cmocka_unit_test(four_threads_draw_the_same_certificate_at_once),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
