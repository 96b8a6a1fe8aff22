/* Labels, read back by poppler and zbar. */
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include "report/label.h"

/* fontconfig keeps pointers as offsets, where the leak checker does not find them again. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig.so\n";
}

#define ADDRESS "http://127.0.0.1:8470/verify/BWW-2026-0017"

static const struct label ordinary = {.tag = "FV-301",
				      .service = "Filter 3 backwash flow",
				      .certificate = "BWW-2026-0017",
				      .verify_address = ADDRESS,
				      .tested_on = "2026-11-25",
				      .due_on = "2027-11-25",
				      .by = "Corin Vale",
				      .at = 1795600000000};

static void draw(const struct label *labels, size_t n, enum label_paper paper, int start, char path[40])
{
	struct err err;
	char *bytes;
	size_t size;
	FILE *f;

	assert_int_equal(
		label_pdf(labels, n, paper, start, "Brackenholm Water Works", "Loopledger", &bytes, &size, &err), OK);
	strcpy(path, "/tmp/label-XXXXXX");
	f = fdopen(mkstemp(path), "wb");
	assert_non_null(f);
	assert_int_equal(fwrite(bytes, 1, size, f), size);
	fclose(f);
	free(bytes);
}

static void run(const char *tool, const char *path, const char *rest, char *out, size_t size)
{
	char command[300];
	FILE *pipe;
	size_t n;

	snprintf(command, sizeof command, "%s%s %s", tool, path, rest);
	pipe = popen(command, "r");
	assert_non_null(pipe);
	n = fread(out, 1, size - 1, pipe);
	out[n] = 0;
	pclose(pipe);
}

static void the_code_of_every_size_leads_to_the_verification_address(void **state)
{
	char path[40], text[4000];

	(void)state;
	for (int paper = LABEL_A4; paper <= LABEL_ROLL_89X36; paper++) {
		draw(&ordinary, 1, (enum label_paper)paper, 1, path);
		run("p=", path,
		    "&& pdftoppm -r 300 -png -singlefile $p $p && zbarimg -q --raw $p.png 2>/dev/null; rm -f $p.png",
		    text, sizeof text);
		assert_string_equal(text, ADDRESS "\n");
		unlink(path);
	}
}

static void each_label_of_a_sheet_has_its_own_code(void **state)
{
	struct label labels[3] = {ordinary, ordinary, ordinary};
	char path[40], text[4000];

	(void)state;
	labels[1].verify_address = "http://127.0.0.1:8470/verify/BWW-2026-0018";
	draw(labels, 3, LABEL_A4, 1, path);
	run("p=", path,
	    "&& pdftoppm -r 300 -png -singlefile $p $p && zbarimg -q --raw $p.png 2>/dev/null | sort; rm -f $p.png",
	    text, sizeof text);
	assert_string_equal(text, ADDRESS "\n" ADDRESS "\n"
					  "http://127.0.0.1:8470/verify/BWW-2026-0018\n");
	unlink(path);
}

static void long_words_stay_left_of_the_code(void **state)
{
	struct label l = ordinary;
	char path[40], text[20000];
	int words = 0;

	(void)state;
	l.kind = LABEL_LIMITED;
	l.tag = "A-VERY-LONG-TAG-OF-AN-INSTRUMENT-THAT-NOBODY-CAN-READ-FROM-AFAR-0001";
	l.service = l.limitation =
		"Flow of the backwash water of the third filter, measured upstream of its inlet valve";
	draw(&l, 1, LABEL_ROLL_62X29, 1, path);
	run("pdftotext -bbox ", path, "-", text, sizeof text);
	for (char *at = text; (at = strstr(at, "xMax=\"")) != NULL; words++) {
		at += strlen("xMax=\"");
		/* 62 mm less the code of 20 mm and two margins of 2.2 mm: 37.6 mm, 106.6 points */
		assert_true(strtod(at, NULL) <= 106.7);
	}
	assert_true(words > 5);
	assert_non_null(strstr(text, "…"));
	for (char *at = text; (at = strstr(at, "yMax=\"")) != NULL;) {
		at += strlen("yMax=\"");
		assert_true(strtod(at, NULL) <= 82.2); /* 29 mm */
	}
	unlink(path);
}

static void a_failed_instrument_says_do_not_use_and_has_no_due_date(void **state)
{
	struct label l = ordinary;
	char path[40], text[4000];

	(void)state;
	l.kind = LABEL_DO_NOT_USE;
	draw(&l, 1, LABEL_ROLL_89X36, 1, path);
	run("pdftotext ", path, "-", text, sizeof text);
	assert_non_null(strstr(text, "DO NOT USE"));
	assert_null(strstr(text, "Due"));
	unlink(path);
}

static void a_begun_sheet_is_used_up_before_the_next(void **state)
{
	const struct label two[2] = {ordinary, ordinary};
	char path[40], text[4000];

	(void)state;
	draw(two, 2, LABEL_A4, 27, path);
	run("pdfinfo ", path, "", text, sizeof text);
	assert_non_null(strstr(text, "Pages:           2\n"));
	unlink(path);
}

/* What an instrument may be used for only is read whole, or not printed at all. */
static void a_limitation_is_set_in_lines_and_never_cut(void **state)
{
	static const char words[] = "Indication of the local level only, not for the trip of the pump or for dosing";
	struct label l = ordinary;
	char path[40], text[4000], *bytes = NULL, longer[121];
	struct err err = {0};
	size_t size;

	(void)state;
	l.kind = LABEL_LIMITED;
	l.limitation = words;
	for (int paper = LABEL_A4; paper <= LABEL_ROLL_89X36; paper++) {
		draw(&l, 1, (enum label_paper)paper, 1, path);
		run("pdftotext -raw ", path, "- | tr '\\n' ' '", text, sizeof text);
		assert_non_null(strstr(text, "LIMITED USE"));
		assert_non_null(strstr(text, words));
		assert_null(strstr(text, "\xe2\x80\xa6"));
		unlink(path);
	}
	memset(longer, 'W', 120);
	longer[120] = '\0';
	l.limitation = longer;
	assert_int_equal(
		label_pdf(&l, 1, LABEL_ROLL_62X29, 1, "Brackenholm Water Works", "Loopledger", &bytes, &size, &err),
		INVALID);
	assert_non_null(strstr(err.message, "does not fit"));
	assert_null(bytes);
}

/* The frame around what is dark in a grey picture (PGM): left, top, right, bottom. */
static void dark_frame(const char *path, int from_x, int frame[4], int *width, int *height)
{
	FILE *in = fopen(path, "rb");

	assert_non_null(in);
	assert_int_equal(fscanf(in, "P5 %d %d 255", width, height), 2);
	fgetc(in);
	frame[0] = *width, frame[1] = *height, frame[2] = frame[3] = -1;
	for (int y = 0; y < *height; y++) {
		for (int x = 0; x < *width; x++) {
			if (fgetc(in) > 127 || x < from_x)
				continue;
			frame[0] = x < frame[0] ? x : frame[0];
			frame[1] = y < frame[1] ? y : frame[1];
			frame[2] = x > frame[2] ? x : frame[2];
			frame[3] = y > frame[3] ? y : frame[3];
		}
	}
	fclose(in);
}

/* ISO/IEC 18004: a code needs four modules of white around it. This address makes one of 29 modules on a side (version 3). */
static void the_code_has_its_quiet_zone(void **state)
{
	char path[40], picture[60], said[100];
	int frame[4], width, height, side, quiet;

	(void)state;
	draw(&ordinary, 1, LABEL_ROLL_62X29, 1, path);
	run("pdftoppm -r 254 -gray -singlefile ", path, "/tmp/label-code", said,
	    sizeof said); /* 10 pixels a millimetre */
	snprintf(picture, sizeof picture, "/tmp/label-code.pgm");
	dark_frame(picture, 340, frame, &width, &height); /* text ends left of 34 mm */
	side = frame[2] - frame[0] + 1;
	quiet = 4 * side / 29;
	assert_true(side >= 180); /* at least 18 mm */
	assert_true(abs(side - (frame[3] - frame[1] + 1)) <= 1);
	assert_true(frame[0] - 340 >= quiet && width - 1 - frame[2] >= quiet);
	assert_true(frame[1] >= quiet && height - 1 - frame[3] >= quiet);
	unlink(path);
	unlink(picture);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_code_of_every_size_leads_to_the_verification_address),
		cmocka_unit_test(each_label_of_a_sheet_has_its_own_code),
		cmocka_unit_test(long_words_stay_left_of_the_code),
		cmocka_unit_test(a_limitation_is_set_in_lines_and_never_cut),
		cmocka_unit_test(the_code_has_its_quiet_zone),
		cmocka_unit_test(a_failed_instrument_says_do_not_use_and_has_no_due_date),
		cmocka_unit_test(a_begun_sheet_is_used_up_before_the_next),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
