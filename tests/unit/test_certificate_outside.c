/* Sealed certificates of several kinds, as other programs see them: poppler, qpdf, Ghostscript, zbar, PDFBox. */
#include "unit/certificate_kinds.h"

/* Asked for once: poppler reads a page anew for every tag. */
#define STRUCTURE_OF_0 "test -e 0.txt || pdfinfo -struct-text 0.pdf >0.txt 2>&1; cat 0.txt"

/* What a shell command prints, run in the folder of the kinds. The caller frees it. */
static char *in_kinds(const struct seal_fixture *f, const char *shell)
{
	char folder[80];

	snprintf(folder, sizeof folder, "%s/kinds && cd $f", f->home);
	return output_of(shell, folder);
}

static void qpdf_poppler_and_ghostscript_read_every_kind_without_a_word(void **state)
{
	char *text = in_kinds(
		*state,
		"for p in *.pdf; do qpdf --check $p >/dev/null || echo qpdf $p;"
		" pdftotext $p - 2>&1 >/dev/null; pdfinfo -struct $p 2>&1 >/dev/null; pdftoppm -r 40 $p x 2>&1 >/dev/null; rm -f x*;"
		" gs -q -dBATCH -dNOPAUSE -dSAFER -sDEVICE=nullpage $p 2>&1; done;"
		"for p in 2 6; do pdfinfo -struct-text $p.pdf 2>&1 >/dev/null; done; true");

	assert_string_equal(text, "");
	free(text);
}

static void every_font_is_embedded_subset_and_maps_to_unicode(void **state)
{
	char *text = in_kinds(*state, "for p in *.pdf; do pdffonts $p 2>&1 | tail -n +3; done"), *save = NULL;
	size_t fonts = 0, fallback = 0;

	for (char *line = strtok_r(text, "\n", &save); line; line = strtok_r(NULL, "\n", &save)) {
		if (!strstr(line, "yes yes yes")) {
			print_error("%s\n", line);
			fail();
		}
		fonts++;
		fallback += strstr(line, "Droid") != NULL;
	}
	assert_true(fonts >= 2 * KINDS); /* regular and bold */
	assert_true(fallback >= 1);	 /* the Chinese tag */
	free(text);
}

/* At 72 dpi a module of the code is 66 pt / 33 = 2 points wide. */
static void qr_code_is_read_at_150_and_at_72_dots_an_inch(void **state)
{
	char *text = in_kinds(*state, "for p in *.pdf; do for r in 150 72; do pdftoppm -r $r -f 1 -l 1 -png $p q;"
				      " zbarimg -q --raw q*.png 2>/dev/null; rm q*.png; done; done; true");

	assert_int_equal(count_of(text, SAMPLE_VERIFY "\n"), 2 * KINDS);
	free(text);
}

/*
 * PDFBox 2.0.27 judges PDF/A-1b. Of what part 3 allows and part 1 forbids it must complain, and of nothing else: attached
 * files (1.2.9, 1.4.7), cairo's page group (2.2.1), no CIDSet (3.1.11), part and level themselves (7.11.1, 7.11.2).
 */
static void pdfbox_finds_in_every_kind_only_what_part_3_allows(void **state)
{
	char *text = in_kinds(
		*state,
		"j=/usr/share/java; test -e $j/preflight.jar && command -v java >/dev/null || { echo absent; exit 0; };"
		"p=$j/preflight.jar:$j/pdfbox2.jar:$j/fontbox2.jar:$j/xmpbox.jar:$j/commons-logging.jar:"
		"$j/javax.activation.jar:$j/jaxb-api.jar;"
		"java -cp $p org.apache.pdfbox.preflight.Validator_A1b batch . >said 2>&1;"
		"for k in *.pdf; do awk -v k=$k '/^The file /{on = index($0, \"/\" k) + index($0, \" \" k)} on && /^[0-9.]+ :/{print $1}' said |"
		"sort -u -V | tr '\\n' ' '; echo; done; rm said");
	char *save = NULL;
	size_t judged = 0;

	if (strcmp(text, "absent\n") == 0) {
		print_error(
			"NOT CHECKED: PDFBox preflight is not at hand, so nothing was said about PDF/A;"
			" apt-get install libpdfbox2-java libactivation-java libjaxb-api-java default-jre-headless\n");
		free(text);
		skip();
	}
	for (char *line = strtok_r(text, "\n", &save); line; line = strtok_r(NULL, "\n", &save)) {
		assert_string_equal(line, "1.2.9 1.4.7 2.2.1 3.1.11 7.11.1 7.11.2 ");
		judged++;
	}
	assert_int_equal(judged, KINDS);
	free(text);
}

/* By hand: 11 columns and 9 readings in each of two tables; the summary has 11 columns, 2 rows, of which the first cell heads. */
static void tables_have_a_head_for_each_column_and_a_cell_for_each_value(void **state)
{
	char *text = in_kinds(*state, STRUCTURE_OF_0), *results = strstr(text, "\"Results as found\""),
	     *end = results ? strstr(results, "\"Error in % of span over the input\"") : NULL;

	assert_non_null(end);
	*end = '\0';
	assert_int_equal(count_of(results, " Table "), 3);
	assert_int_equal(count_of(results, " TR\n"), 10 + 10 + 3);
	assert_int_equal(count_of(results, " TH:\n"), 11 + 11 + 11 + 2);
	assert_int_equal(count_of(results, " TD\n"), 9 * 11 + 9 * 11 + 2 * 10);
	free(text);
}

static void document_has_one_title_and_headings_in_the_order_of_reading(void **state)
{
	static const char *const order[] = {"\n  H1 ",
					    "\"Calibration certificate\"",
					    "\"FCV-2107\"",
					    "\"Statement of conformity\"",
					    "\"Instrument and test\"",
					    "\"Reference standards and their traceability\"",
					    "\"Basis of the results\"",
					    "\"Signatures\"",
					    "\"Results as found\"",
					    "\"Results as left\"",
					    "\"What the readings say together, in % of span\"",
					    "\"Error in % of span over the input\"",
					    "\n  Figure",
					    "\"Diagnosis, adjustment and remarks\"",
					    "\"\u2013 End of certificate \u2013\"",
					    "To be reproduced only whole",
					    "\n  Figure"};
	char *text = in_kinds(*state, STRUCTURE_OF_0);
	const char *at = text;

	assert_int_equal(strncmp(text, "Document\n", 9), 0);
	assert_int_equal(count_of(text, "H1 "), 1);
	assert_int_equal(count_of(text, "H2 "), 10);
	for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
		at = strstr(at, order[i]);
		if (!at)
			print_error("%s is not in its place in:\n%s\n", order[i], text);
		assert_non_null(at);
	}
	assert_int_equal(count_of(text, "To be reproduced only whole"), 1); /* the footer is read once */
	free(text);
}

static void heads_say_what_they_head_and_figures_say_what_they_show(void **state)
{
	char *json = in_kinds(*state, "qpdf --json=2 0.pdf | jq -c '.qpdf[1][] | .value // .stream.dict'");

	/* 5 of the standards, 11 of each table of results, 11 of the summary */
	assert_int_equal(count_of(json, "\"/Scope\":\"/Column\""), 5 + 11 + 11 + 11);
	/* 10 and 6 facts, 2 rows of the summary */
	assert_int_equal(count_of(json, "\"/Scope\":\"/Row\""), 10 + 6 + 2);
	assert_int_equal(count_of(json, "\"/Alt\":"), 2);
	assert_says(json, "Chart of the error in % of span over the input in mA. As found: fail.");
	assert_says(json, "QR code of the address " SAMPLE_VERIFY);
	assert_int_equal(count_of(json, "\"/Tabs\":\"/S\""), 2);
	assert_says(json, "\"/Marked\":true");
	assert_says(json, "\"/Lang\":\"u:en\"");
	free(json);
}

/* Wrapped lines and page breaks must not part a text for who hears it: all 4000 characters, line by line. */
static void long_remarks_are_read_whole_in_their_order(void **state)
{
	char *remarks = words_of(4000), *text = in_kinds(*state, "pdfinfo -struct-text 4.pdf"), *to = text;

	for (const char *from = text; *from; from++) { /* the remarks may be parted between paragraphs by a page */
		const char *paragraph = strstr(from, "\"\n  P (block)\n    \"");

		if (paragraph == from)
			from += strlen("\"\n  P (block)\n    \"") - 1;
		else
			*to++ = *from;
	}
	*to = '\0';
	assert_says(text, remarks);
	free(remarks);
	free(text);
}

/* Each reading as it was typed, in its row: direction, set point, applied, then expected, and observed. */
static void values_stand_as_in_the_record_digit_for_digit(void **state)
{
	struct sample *s = sample_adjusted();
	char *text = in_kinds(*state, STRUCTURE_OF_0 " | tr -d '\\n'"), wanted[200];
	const char *at = text;

	for (size_t k = 0; k < 2; k++)
		for (size_t i = 0; i < s->r.runs[k].n_points; i++) {
			const struct record_point *q = &s->r.runs[k].points[i];

			snprintf(wanted, sizeof wanted, "TD        \"%.2f\"      TD        \"%s\"      TD        \"",
				 q->at.set, q->applied_text);
			at = strstr(at, wanted);
			assert_non_null(at);
			at = strstr(at + strlen(wanted), "TD        \"");
			assert_non_null(at);
			at += strlen("TD        \"");
			assert_int_equal(strncmp(at, q->observed_text, strlen(q->observed_text)), 0);
			assert_int_equal(at[strlen(q->observed_text)], '"');
		}
	free(text);
	free(s);
}

/* Titles of ISO/IEC 17025:2017 7.8.2.1 in our own words (letters from memory): customer, place, receipt. */
static void customer_place_and_receipt_are_named(void **state)
{
	char *text = in_kinds(*state, "pdftotext -layout 0.pdf -");

	assert_says(text, "Brackenholm Water Works, area Filters");
	assert_says(text, "the plant\u2019s own instrument");
	assert_says(text, "Place of test");
	assert_says(text, "Received");
	free(text);
}

static int setup(void **state)
{
	fixture_setup(state);
	seal_kinds(*state);
	return 0;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(qpdf_poppler_and_ghostscript_read_every_kind_without_a_word),
		cmocka_unit_test(every_font_is_embedded_subset_and_maps_to_unicode),
		cmocka_unit_test(qr_code_is_read_at_150_and_at_72_dots_an_inch),
		cmocka_unit_test(pdfbox_finds_in_every_kind_only_what_part_3_allows),
		cmocka_unit_test(tables_have_a_head_for_each_column_and_a_cell_for_each_value),
		cmocka_unit_test(document_has_one_title_and_headings_in_the_order_of_reading),
		cmocka_unit_test(heads_say_what_they_head_and_figures_say_what_they_show),
		cmocka_unit_test(long_remarks_are_read_whole_in_their_order),
		cmocka_unit_test(values_stand_as_in_the_record_digit_for_digit),
		cmocka_unit_test(customer_place_and_receipt_are_named),
	};

	return cmocka_run_group_tests(tests, setup, fixture_teardown);
}
