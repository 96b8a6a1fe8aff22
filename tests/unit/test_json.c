#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"

/* One document being read. */
struct fixture {
	json_t *json;
	struct json_in in;
	struct err err;
	struct arena arena;
};

static int setup(void **state)
{
	*state = test_calloc(1, sizeof(struct fixture));
	return 0;
}

static int teardown(void **state)
{
	struct fixture *f = *state;

	json_decref(f->json);
	arena_clear(&f->arena);
	test_free(f);
	return 0;
}

static struct json_in *open_document(struct fixture *f, const char *document)
{
	json_decref(f->json);
	f->err = (struct err){0};
	f->json = json_parse(document, strlen(document), &f->err);
	if (!f->json)
		fail_msg("%s: %s", document, f->err.message);
	json_in_begin(&f->in, f->json, &f->err);
	return &f->in;
}

static void assert_refused(struct fixture *f, const char *pointer, const char *message)
{
	assert_int_equal(json_in_end(&f->in), INVALID);
	assert_int_equal(f->err.status, INVALID);
	assert_string_equal(f->err.field, pointer);
	assert_string_equal(f->err.message, message);
}

static void assert_no_document(const char *bytes, size_t size, const char *part_of_message)
{
	struct err err = {0};
	json_t *json = json_parse(bytes, size, &err);

	if (json)
		fail_msg("%s passes as a document", bytes);
	assert_int_equal(err.status, INVALID);
	if (!strstr(err.message, part_of_message))
		fail_msg("\"%s\" does not say \"%s\"", err.message, part_of_message);
}

static void what_is_not_strict_json_is_refused_in_plain_words(void **state)
{
	static const struct {
		const char *document, *says;
	} rows[] = {
		{"", "empty"},
		{"{\"a\":1", "ends too early (line 1, column"},
		{"{\"a\":1}\n{}", "something follows the end of the document (line 2"},
		{"{\"a\":1,\"a\":2}", "a member stands twice"},
		{"{\"value\":1e400}", "a number is too large"},
		{"{\"value\":1e400,\"whole\":99999999999999999999}", "a number is too large"},
		{"{\"a\":\"\xff\"}", "not UTF-8"},
		{"{\"a\":\"\\u0000\"}", "NUL"},
		{"{\"a\":NaN}", "this is not JSON"},
		{"{\"a\":Infinity}", "this is not JSON"},
		{"{'a':1}", "this is not JSON"},
		{"{\"a\":1,}", "this is not JSON"},
		{"{\"a\":01}", "this is not JSON"},
		{"{\"a\":.5}", "this is not JSON"},
		{"{\"a\":\"\\ud800\"}", "this is not JSON"},
		{"12", "this is not JSON"},
		{"{\"a\":\"b\nc\"}", "this is not JSON"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_no_document(rows[i].document, strlen(rows[i].document), rows[i].says);
	assert_no_document("{}\0", 3, "NUL");
}

static void nesting_has_a_limit_that_brackets_in_text_do_not_touch(void **state)
{
	struct fixture *f = *state;
	char deep[80] = "", *text;

	for (int i = 0; i < 33; i++)
		strcat(deep, "[");
	for (int i = 0; i < 33; i++)
		strcat(deep, "]");
	assert_no_document(deep, 66, "nested deeper than 32");
	deep[65] = '\0';
	f->json = json_parse(deep + 1, 64, &f->err);
	assert_non_null(f->json);
	text = arena_printf(&f->arena, "{\"a\":\"\\\"%s\"}", deep);
	open_document(f, text);
}

static void an_object_is_read_member_by_member(void **state)
{
	static const char *const directions[] = {"rising", "falling", NULL};
	struct fixture *f = *state;
	struct json_in *in = open_document(f,
					   "{\"tag\":\"20-FT-101\",\"low\":4,\"high\":20.5,\"cycle\":2,\"hart\":true,"
					   "\"direction\":\"falling\",\"due_on\":\"2026-11-25\","
					   "\"area\":\"017f22e2-79b0-7cc3-98c4-dc0c0c07398f\",\"points\":[1,2]}");

	assert_string_equal(json_in_text(in, "tag", 40), "20-FT-101");
	assert_near(json_in_number(in, "low", -100, 100), 4, 0);
	assert_near(json_in_number(in, "high", -100, 100), 20.5, 0);
	assert_int_equal(json_in_integer(in, "cycle", 1, 9), 2);
	assert_true(json_in_bool(in, "hart"));
	assert_int_equal(json_in_word(in, "direction", directions), 1);
	assert_string_equal(json_in_date(in, "due_on"), "2026-11-25");
	assert_string_equal(json_in_id(in, "area"), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
	assert_int_equal(json_array_size(json_in_array(in, "points", 1, 2)), 2);
	assert_int_equal(json_in_end(in), OK);
}

static void what_is_absent_or_null_takes_the_given_value(void **state)
{
	static const char *const words[] = {"a", NULL};
	struct fixture *f = *state;
	struct json_in *in = open_document(f, "{\"text\":null,\"empty\":\"\",\"number\":null}");

	assert_null(json_in_text_optional(in, "text", 10));
	assert_null(json_in_text_optional(in, "empty", 10));
	assert_null(json_in_text_optional(in, "nothing", 10));
	assert_near(json_in_number_optional(in, "number", 0, 1, 0.5), 0.5, 0);
	assert_int_equal(json_in_integer_optional(in, "integer", 0, 1, 7), 7);
	assert_true(json_in_bool_optional(in, "bool", true));
	assert_int_equal(json_in_word_optional(in, "word", words, -7), -7);
	assert_null(json_in_date_optional(in, "date"));
	assert_null(json_in_id_optional(in, "id"));
	assert_null(json_in_array_optional(in, "array", 3));
	assert_false(json_in_has(in, "number"));
	assert_true(json_in_has(in, "empty"));
	assert_int_equal(json_in_end(in), OK);
}

/* 2^70 = 1180591620717411303424, more than 64 bits hold; canonically it is written in full (RFC 8785, 3.2.2.3). */
static void whole_numbers_of_any_size_are_numbers(void **state)
{
	struct fixture *f = *state;
	struct json_in *in = open_document(f, "{\"value\":1180591620717411303424,\"cycle\":2}");

	assert_near(json_in_number(in, "value", 0, 1e30), 0x1p70, 0);
	assert_int_equal(json_in_integer(in, "cycle", 1, 9), 2);
	assert_int_equal(json_in_end(in), OK);
	assert_string_equal(json_canonical(f->json, &f->arena), "{\"cycle\":2,\"value\":1.1805916207174113e+21}");
	open_document(f, "{\"value\":5e20}");
	assert_string_equal(json_canonical(f->json, &f->arena), "{\"value\":500000000000000000000}");
	open_document(f, "{\"value\":500000000000000000000}");
	assert_string_equal(json_canonical(f->json, &f->arena), "{\"value\":500000000000000000000}");
}

static void a_member_nobody_asked_for_is_refused_and_named(void **state)
{
	struct fixture *f = *state;

	json_in_number(open_document(f, "{\"low\":1,\"lwo\":2}"), "low", 0, 9);
	assert_refused(f, "/lwo", "lwo is not known here");
	json_in_end(open_document(f, "{\"a/b~c\":2}"));
	assert_string_equal(f->err.field, "/a~1b~0c"); /* RFC 6901 section 3 */
}

static void a_missing_member_is_named(void **state)
{
	struct fixture *f = *state;

	json_in_text(open_document(f, "{}"), "tag", 40);
	assert_refused(f, "/tag", "tag is missing");
	json_in_number(open_document(f, "{\"low\":null}"), "low", 0, 1);
	assert_refused(f, "/low", "low is missing");
}

static void the_first_failure_stays(void **state)
{
	struct fixture *f = *state;
	struct json_in *in = open_document(f, "{\"low\":\"x\",\"high\":\"y\",\"other\":1}");

	json_in_number(in, "low", 0, 1);
	json_in_number(in, "high", 0, 1);
	json_in_reject(in, "high", "too late");
	assert_refused(f, "/low", "low must be a number");
}

static void a_number_out_of_range_is_told_the_range(void **state)
{
	struct fixture *f = *state;

	json_in_number(open_document(f, "{\"v\":100.1}"), "v", -40, 100);
	assert_refused(f, "/v", "v must be between -40 and 100");
	json_in_number(open_document(f, "{\"v\":-1}"), "v", 0, INFINITY);
	assert_refused(f, "/v", "v must be at least 0");
	json_in_number(open_document(f, "{\"v\":1}"), "v", -INFINITY, 0.5);
	assert_refused(f, "/v", "v must be at most 0.5");
	json_in_integer(open_document(f, "{\"v\":10}"), "v", 1, 9);
	assert_refused(f, "/v", "v must be between 1 and 9");
	json_in_integer(open_document(f, "{\"v\":1e300}"), "v", 1, 9);
	assert_refused(f, "/v", "v must be between 1 and 9");
	json_in_integer(open_document(f, "{\"v\":1.5}"), "v", 1, 9);
	assert_refused(f, "/v", "v must be a whole number");
	assert_int_equal(json_in_integer(open_document(f, "{\"v\":4.0}"), "v", 1, 9), 4);
	json_in_number(open_document(f, "{\"v\":\"1\"}"), "v", 1, 9);
	assert_refused(f, "/v", "v must be a number");
}

static void text_has_a_length_in_characters_and_no_stray_ones(void **state)
{
	struct fixture *f = *state;

	assert_string_equal(json_in_text(open_document(f, "{\"v\":\"°°°°\"}"), "v", 4), "°°°°");
	assert_int_equal(json_in_end(&f->in), OK);
	json_in_text(open_document(f, "{\"v\":\"abcde\"}"), "v", 4);
	assert_refused(f, "/v", "v must be text of at most 4 characters");
	json_in_text(open_document(f, "{\"v\":7}"), "v", 4);
	assert_refused(f, "/v", "v must be text of at most 4 characters");
	json_in_text(open_document(f, "{\"v\":\"\"}"), "v", 4);
	assert_refused(f, "/v", "v must not be empty");
	json_in_text(open_document(f, "{\"v\":\" a\"}"), "v", 4);
	assert_refused(f, "/v", "v must not begin or end with a space");
	json_in_text_optional(open_document(f, "{\"v\":\"a\\u00a0\"}"), "v", 4);
	assert_refused(f, "/v", "v must not begin or end with a space");
	json_in_text(open_document(f, "{\"v\":\"a\\nb\"}"), "v", 4);
	assert_refused(f, "/v", "v must be one line without control characters");
	json_in_text(open_document(f, "{\"v\":\"a\\u202eb\"}"), "v", 4);
	assert_refused(f, "/v", "v must be one line without control characters");
	assert_string_equal(json_in_lines(open_document(f, "{\"v\":\"a\\nb\"}"), "v", 4), "a\nb");
	assert_int_equal(json_in_end(&f->in), OK);
	json_in_lines(open_document(f, "{\"v\":\"a\\u0007b\"}"), "v", 4);
	assert_refused(f, "/v", "v must not hold control characters");
}

static void words_dates_and_lists_say_what_is_allowed(void **state)
{
	static const char *const directions[] = {"rising", "falling", NULL};
	struct fixture *f = *state;

	assert_int_equal(json_in_word(open_document(f, "{\"v\":\"up\"}"), "v", directions), -1);
	assert_refused(f, "/v", "v must be one of rising, falling");
	json_in_date(open_document(f, "{\"v\":\"2026-02-30\"}"), "v");
	assert_refused(f, "/v", "v must be a day of the calendar, which 2026-02-30 is not");
	json_in_date(open_document(f, "{\"v\":\"2026-2-3\"}"), "v");
	assert_refused(f, "/v", "v must be a date such as 2026-11-25");
	json_in_id(open_document(f, "{\"v\":\"7\"}"), "v");
	assert_refused(f, "/v", "v must be an id (UUID in lower case)");
	json_in_bool(open_document(f, "{\"v\":1}"), "v");
	assert_refused(f, "/v", "v must be true or false");
	assert_null(json_in_array(open_document(f, "{\"v\":[]}"), "v", 1, 3));
	assert_refused(f, "/v", "v must have at least 1 element");
	assert_null(json_in_array(open_document(f, "{\"v\":[1,2,3,4]}"), "v", 1, 3));
	assert_refused(f, "/v", "v must have at most 3 elements");
	assert_null(json_in_array(open_document(f, "{\"v\":{}}"), "v", 1, 3));
	assert_refused(f, "/v", "v must be a list");
}

static void a_fault_deep_inside_is_pointed_at_from_the_root(void **state)
{
	struct fixture *f = *state;
	struct json_in *in = open_document(f, "{\"input\":{\"low\":0},\"steps\":[{\"set\":1},{\"set\":\"x\"}]}"), child;

	assert_true(json_in_object(in, "input", &child));
	assert_near(json_in_number(&child, "low", 0, 1), 0, 0);
	assert_int_equal(json_in_end(&child), OK);
	json_in_join(in, &child);
	for (size_t i = 0; i < 2; i++) {
		assert_true(json_in_element(in, "steps", i, &child));
		json_in_number(&child, "set", 0, 9);
		json_in_end(&child);
		json_in_join(in, &child);
	}
	assert_refused(f, "/steps/1/set", "set must be a number");
}

static void a_child_that_is_missing_or_of_another_kind_reads_as_nothing(void **state)
{
	struct fixture *f = *state;
	struct json_in child;

	assert_false(json_in_object(open_document(f, "{\"input\":[]}"), "input", &child));
	assert_true(isnan(json_in_number(&child, "low", 0, 1)));
	json_in_end(&child);
	json_in_join(&f->in, &child);
	assert_refused(f, "/input", "input must be an object");
	assert_false(json_in_object(open_document(f, "{}"), "input", &child));
	assert_refused(f, "/input", "input is missing");
	assert_false(json_in_element(open_document(f, "{\"steps\":[7]}"), "steps", 0, &child));
	assert_refused(f, "/steps/0", "steps must hold objects");
	assert_false(json_in_element(open_document(f, "{\"steps\":[]}"), "steps", 0, &child));
	assert_refused(f, "/steps/0", "steps has no element 0");
}

static void a_document_that_is_no_object_is_refused(void **state)
{
	struct fixture *f = *state;

	open_document(f, "[1]");
	assert_refused(f, "", "a JSON object is expected");
}

static void an_object_with_too_many_members_is_refused(void **state)
{
	struct fixture *f = *state;
	char *many = arena_alloc(&f->arena, 4000), member[16];

	strcpy(many, "{\"m0\":0");
	for (int i = 1; i < 129; i++) {
		snprintf(member, sizeof member, ",\"m%d\":0", i);
		strcat(many, member);
	}
	strcat(many, "}");
	open_document(f, many);
	assert_refused(f, "", "an object has at most 128 members here");
}

static void a_reading_keeps_the_digits_as_typed(void **state)
{
	static const struct {
		const char *document, *text;
		double value;
		int decimals;
	} rows[] = {
		{"{\"v\":\"12.00\"}", "12.00", 12, 2},
		{"{\"v\":12}", "12", 12, 0},
		{"{\"v\":12.016}", "12.016", 12.016, 3},
		{"{\"v\":\"-0.5\"}", "-0.5", -0.5, 1},
		{"{\"v\":1e-7}", "0.0000001", 1e-7, 7},
		{"{\"v\":-40.5}", "-40.5", -40.5, 1},
		{"{\"v\":1e2}", "100", 100, 0},
		{"{\"v\":\"0\"}", "0", 0, 0},
		{"{\"v\":-0.0}", "0", 0, 0},
		{"{\"v\":\"007.10\"}", "007.10", 7.1, 2},
	};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		const char *text;
		int decimals;
		double v = json_in_decimal(open_document(f, rows[i].document), "v", -100, 100, &f->arena, &text,
					   &decimals);

		assert_int_equal(json_in_end(&f->in), OK);
		assert_near(v, rows[i].value, 0);
		assert_string_equal(text, rows[i].text);
		assert_int_equal(decimals, rows[i].decimals);
	}
}

static void what_nobody_reads_off_a_meter_is_no_reading(void **state)
{
	static const char *const bad[] = {
		"{\"v\":\"\"}",	      "{\"v\":\"12,0\"}",
		"{\"v\":\"1e3\"}",    "{\"v\":\"12 mA\"}",
		"{\"v\":\"NaN\"}",    "{\"v\":\"inf\"}",
		"{\"v\":\"12.\"}",    "{\"v\":\".5\"}",
		"{\"v\":\"+1\"}",     "{\"v\":\"--1\"}",
		"{\"v\":\"1.2.3\"}",  "{\"v\":\"0x10\"}",
		"{\"v\":\"100.01\"}", "{\"v\":1000}",
		"{\"v\":true}",	      "{\"v\":\"000000000000000000000000000000001\"}",
	};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		const char *text = NULL;

		if (!isnan(json_in_decimal(open_document(f, bad[i]), "v", -100, 100, &f->arena, &text, NULL)))
			fail_msg("%s passes as a reading", bad[i]);
		assert_string_equal(text, "");
		assert_int_equal(json_in_end(&f->in), INVALID);
		assert_string_equal(f->err.field, "/v");
	}
}

static void numbers_go_out_with_fifteen_digits_and_none_as_null(void **state)
{
	struct fixture *f = *state;

	f->json = json_pack("[f, o, o, o, o, o]", 0.1, json_number_or_null(NAN), json_number_or_null(INFINITY),
			    json_number_or_null(2.5), json_text_or_null(NULL), json_time_or_null(0));
	assert_non_null(f->json);
	json_array_append_new(f->json, json_time_or_null(851042397000));
	assert_string_equal(json_text(f->json, &f->arena),
			    "[0.1,null,null,2.5,null,null,\"1996-12-20T00:39:57.000Z\"]");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(what_is_not_strict_json_is_refused_in_plain_words, setup, teardown),
		cmocka_unit_test_setup_teardown(nesting_has_a_limit_that_brackets_in_text_do_not_touch, setup,
						teardown),
		cmocka_unit_test_setup_teardown(an_object_is_read_member_by_member, setup, teardown),
		cmocka_unit_test_setup_teardown(what_is_absent_or_null_takes_the_given_value, setup, teardown),
		cmocka_unit_test_setup_teardown(whole_numbers_of_any_size_are_numbers, setup, teardown),
		cmocka_unit_test_setup_teardown(a_member_nobody_asked_for_is_refused_and_named, setup, teardown),
		cmocka_unit_test_setup_teardown(a_missing_member_is_named, setup, teardown),
		cmocka_unit_test_setup_teardown(the_first_failure_stays, setup, teardown),
		cmocka_unit_test_setup_teardown(a_number_out_of_range_is_told_the_range, setup, teardown),
		cmocka_unit_test_setup_teardown(text_has_a_length_in_characters_and_no_stray_ones, setup, teardown),
		cmocka_unit_test_setup_teardown(words_dates_and_lists_say_what_is_allowed, setup, teardown),
		cmocka_unit_test_setup_teardown(a_fault_deep_inside_is_pointed_at_from_the_root, setup, teardown),
		cmocka_unit_test_setup_teardown(a_child_that_is_missing_or_of_another_kind_reads_as_nothing, setup,
						teardown),
		cmocka_unit_test_setup_teardown(a_document_that_is_no_object_is_refused, setup, teardown),
		cmocka_unit_test_setup_teardown(an_object_with_too_many_members_is_refused, setup, teardown),
		cmocka_unit_test_setup_teardown(a_reading_keeps_the_digits_as_typed, setup, teardown),
		cmocka_unit_test_setup_teardown(what_nobody_reads_off_a_meter_is_no_reading, setup, teardown),
		cmocka_unit_test_setup_teardown(numbers_go_out_with_fifteen_digits_and_none_as_null, setup, teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
