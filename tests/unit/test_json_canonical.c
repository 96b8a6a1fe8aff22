#include "support/check.h"

#include <float.h>
#include <string.h>

#include "base/json.h"
#include "base/json_internal.h"

/* RFC 8785 appendix B (from memory): doubles by their bits, and what ECMAScript makes of them. */
static void numbers_are_written_as_rfc_8785_lists_them(void **state)
{
	static const struct {
		uint64_t bits;
		const char *text;
	} rows[] = {
		{0x0000000000000000, "0"},
		{0x8000000000000000, "0"},
		{0x0000000000000001, "5e-324"},
		{0x8000000000000001, "-5e-324"},
		{0x7fefffffffffffff, "1.7976931348623157e+308"},
		{0xffefffffffffffff, "-1.7976931348623157e+308"},
		{0x4340000000000000, "9007199254740992"},
		{0xc340000000000000, "-9007199254740992"},
		{0x4430000000000000, "295147905179352830000"},
		{0x44b52d02c7e14af5, "9.999999999999997e+22"},
		{0x44b52d02c7e14af6, "1e+23"},
		{0x44b52d02c7e14af7, "1.0000000000000001e+23"},
		{0x444b1ae4d6e2ef4e, "999999999999999700000"},
		{0x444b1ae4d6e2ef4f, "999999999999999900000"},
		{0x444b1ae4d6e2ef50, "1e+21"},
		{0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"},
		{0x3eb0c6f7a0b5ed8d, "0.000001"},
		{0x41b3de4355555553, "333333333.3333332"},
		{0x41b3de4355555554, "333333333.33333325"},
		{0x41b3de4355555555, "333333333.3333333"},
		{0x41b3de4355555556, "333333333.3333334"},
		{0x41b3de4355555557, "333333333.33333343"},
		{0xbecbf647612f3696, "-0.0000033333333333333333"},
		{0x43143ff3c1cb0959, "1424953923781206.2"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char text[JSON_NUMBER_SIZE];
		double v;

		memcpy(&v, &rows[i].bits, sizeof v);
		json_number_shortest(v, text);
		if (strcmp(text, rows[i].text) != 0)
			fail_msg("%016llx is written %s, expected %s", (unsigned long long)rows[i].bits, text,
				 rows[i].text);
	}
}

/* ECMAScript's own rules at the borders of its three forms, worked out by hand. */
static void the_form_changes_where_ecmascript_changes_it(void **state)
{
	static const struct {
		double v;
		const char *text;
	} rows[] = {
		{1e20, "100000000000000000000"},
		{1e21, "1e+21"},
		{123e18, "123000000000000000000"},
		{1.5e21, "1.5e+21"},
		{0.1, "0.1"},
		{-0.5, "-0.5"},
		{100, "100"},
		{12.016, "12.016"},
		{1e-6, "0.000001"},
		{1e-7, "1e-7"},
		{1.5e-7, "1.5e-7"},
		{0.00001234, "0.00001234"},
		{4.35, "4.35"},
		{0.1 + 0.2, "0.30000000000000004"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char text[JSON_NUMBER_SIZE];

		json_number_shortest(rows[i].v, text);
		if (strcmp(text, rows[i].text) != 0)
			fail_msg("%.17g is written %s, expected %s", rows[i].v, text, rows[i].text);
	}
}

/*
 * 2^-44 = 5.684341886080801486968994140625e-14. Below it doubles lie 2^-97 apart, above it 2^-96. 16 digits rounded to
 * nearest give ...801, off by 4.87e-30, more than the half step 3.16e-30 below; ...802 is off by 5.13e-30, less than the
 * half step 6.31e-30 above, and so is the shortest.
 */
static void the_shortest_digits_above_a_power_of_two_are_found(void **state)
{
	char text[JSON_NUMBER_SIZE];

	(void)state;
	json_number_shortest(0x1p-44, text);
	assert_string_equal(text, "5.684341886080802e-14");
}

static const char *canonical(const char *document, struct arena *a)
{
	struct err err = {0};
	json_t *json = json_parse(document, strlen(document), &err);
	const char *text;

	if (!json)
		fail_msg("%s", err.message);
	text = json_canonical(json, a);
	json_decref(json);
	return text;
}

/* RFC 8785 3.2.3 (from memory): the emoji, a surrogate pair in UTF-16, comes before U+FB33. */
static void members_are_sorted_by_their_utf16(void **state)
{
	struct arena a = {0};

	(void)state;
	assert_string_equal(canonical("{\"\\u20ac\":\"Euro Sign\",\"\\r\":\"Carriage Return\","
				      "\"\\ufb33\":\"Hebrew Letter Dalet With Dagesh\",\"1\":\"One\","
				      "\"\\ud83d\\ude00\":\"Emoji: Grinning Face\",\"\\u0080\":\"Control\","
				      "\"\\u00f6\":\"Latin Small Letter O With Diaeresis\"}",
				      &a),
			    "{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\xc2\x80\":\"Control\","
			    "\"\xc3\xb6\":\"Latin Small Letter O With Diaeresis\",\"\xe2\x82\xac\":\"Euro Sign\","
			    "\"\xf0\x9f\x98\x80\":\"Emoji: Grinning Face\","
			    "\"\xef\xac\xb3\":\"Hebrew Letter Dalet With Dagesh\"}");
	arena_clear(&a);
}

/* RFC 8785 3.2.2 and 3.2.4 (from memory). */
static void the_example_of_rfc_8785_comes_out_as_printed(void **state)
{
	struct arena a = {0};

	(void)state;
	assert_string_equal(canonical("{\n  \"numbers\": [333333333.33333329, 1E30, 4.50, 2e-3, "
				      "0.000000000000000000000000001],\n"
				      "  \"string\": \"\\u20ac$\\u000F\\u000aA'\\u0042\\u0022\\u005c\\\\\\\"\\/\",\n"
				      "  \"literals\": [null, true, false]\n}",
				      &a),
			    "{\"literals\":[null,true,false],\"numbers\":[333333333.3333333,1e+30,4.5,0.002,1e-27],"
			    "\"string\":\"\xe2\x82\xac$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
	arena_clear(&a);
}

static void nesting_and_whole_numbers_keep_their_value(void **state)
{
	struct arena a = {0};

	(void)state;
	assert_string_equal(canonical("[{\"b\":{\"d\":[],\"c\":{}},\"a\":1700000000123},-0.0,-7]", &a),
			    "[{\"a\":1700000000123,\"b\":{\"c\":{},\"d\":[]}},0,-7]");
	assert_string_equal(canonical("[\"\\b\\f\\t\\u001f\\u007f\"]", &a), "[\"\\b\\f\\t\\u001f\x7f\"]");
	arena_clear(&a);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(numbers_are_written_as_rfc_8785_lists_them),
		cmocka_unit_test(the_form_changes_where_ecmascript_changes_it),
		cmocka_unit_test(the_shortest_digits_above_a_power_of_two_are_found),
		cmocka_unit_test(members_are_sorted_by_their_utf16),
		cmocka_unit_test(the_example_of_rfc_8785_comes_out_as_printed),
		cmocka_unit_test(nesting_and_whole_numbers_keep_their_value),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
