#include "support/check.h"

#include <string.h>

#include "base/status.h"
#include "base/text.h"

static void a_field_is_given_as_a_pointer(void **state)
{
	struct err err = {0};

	(void)state;
	assert_int_equal(err_set(&err, INVALID, "high", "must be above %d", 4), INVALID);
	assert_int_equal(err.status, INVALID);
	assert_string_equal(err.field, "/high");
	assert_string_equal(err.message, "must be above 4");
	err_set(&err, CONFLICT, "/tag", "taken");
	assert_string_equal(err.field, "/tag");
	err_set(&err, CONFLICT, "", "taken");
	assert_string_equal(err.field, "");
}

static void an_error_made_deeper_down_gets_the_path_that_leads_there(void **state)
{
	struct err err = {0};

	(void)state;
	err_set(&err, INVALID, "high", "wrong");
	err_within(&err, "input");
	err_within(&err, "/steps/0");
	assert_string_equal(err.field, "/steps/0/input/high");
	err_set(&err, INVALID, "", "wrong as a whole");
	err_within(&err, "input");
	assert_string_equal(err.field, "/input");
}

static void a_sentence_may_quote_the_one_it_replaces(void **state)
{
	struct err err = {0};

	(void)state;
	err_set(&err, INVALID, "a", "the first");
	err_set(&err, FAILED, err.field, "%s and the second", err.message);
	assert_string_equal(err.message, "the first and the second");
	assert_string_equal(err.field, "/a");
}

/* A reply cut within a character could not be written as JSON. */
static void a_long_sentence_is_cut_but_stays_readable_text(void **state)
{
	struct err err = {0};
	char ohms[900] = "";

	(void)state;
	for (int i = 0; i < 290; i++)
		strcat(ohms, "Ω");
	err_set(&err, INVALID, ohms, "a%s", ohms);
	assert_true(text_is_clean(err.message, strlen(err.message)));
	assert_true(strlen(err.message) > 300);
	assert_true(text_is_clean(err.field, strlen(err.field)));
	err_set(&err, INVALID, "", "quoted \xff and \r\n");
	assert_string_equal(err.message, "quoted ? and ??");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_field_is_given_as_a_pointer),
		cmocka_unit_test(an_error_made_deeper_down_gets_the_path_that_leads_there),
		cmocka_unit_test(a_sentence_may_quote_the_one_it_replaces),
		cmocka_unit_test(a_long_sentence_is_cut_but_stays_readable_text),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
