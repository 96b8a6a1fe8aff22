/* Frozen documents stay read for whoever asks again, and live as long as somebody holds them. */
#include "support/check.h"

#include <pthread.h>
#include <stdio.h>

#include "domain/record_internal.h"

static const char *instrument_text(struct arena *a, int n)
{
	return arena_printf(
		a,
		"{\"id\":\"i\",\"tag\":\"LT-%d\",\"input\":{\"quantity\":\"level\",\"unit\":\"m\",\"low\":0,"
		"\"high\":%d},\"output\":{\"quantity\":\"current\",\"unit\":\"mA\",\"low\":4,\"high\":20},"
		"\"characteristic\":{\"kind\":\"linear\"},\"hazards\":[]}",
		n, n + 1);
}

static const struct frozen_instrument *instrument(int n, struct arena *a)
{
	const struct frozen_instrument *out = NULL;
	json_t *json = NULL;
	struct err err = {0};

	if (frozen_instrument_of(instrument_text(a, n), a, &out, &json, &err)) {
		print_error("%s %s\n", err.field, err.message);
		fail();
	}
	assert_true(json_is_object(json));
	return out;
}

static void same_text_is_read_once(void **state)
{
	struct arena a = {0}, b = {0};

	(void)state;
	assert_ptr_equal(instrument(1, &a), instrument(1, &b));
	assert_ptr_not_equal(instrument(1, &a), instrument(2, &b));
	arena_clear(&a);
	assert_string_equal(instrument(1, &b)->tag, "LT-1");
	arena_clear(&b);
}

static void what_is_put_out_lives_while_it_is_held(void **state)
{
	struct arena held = {0};
	const struct frozen_instrument *first = instrument(1000, &held);

	(void)state;
	for (int n = 0; n < 3 * FROZEN_KEPT; n++) {
		struct arena a = {0};

		assert_true(instrument(2000 + n, &a)->input.high == 2001 + n);
		arena_clear(&a);
	}
	assert_ptr_not_equal(instrument(1000, &held), first);
	assert_string_equal(first->tag, "LT-1000");
	assert_true(first->input.high == 1001);
	arena_clear(&held);
}

static void text_that_is_no_such_document_is_told_and_not_kept(void **state)
{
	struct arena a = {0};
	const struct frozen_procedure *out = NULL;
	json_t *json = NULL;
	struct err err = {0};

	(void)state;
	for (int i = 0; i < 2; i++) {
		assert_int_equal(frozen_procedure_of("{\"code\":", &a, &out, &json, &err), FAILED);
		assert_int_equal(frozen_procedure_of("{\"document\":{}}", &a, &out, &json, &err), FAILED);
		assert_null(out);
	}
	arena_clear(&a);
}

/* The same text as another kind of document is another entry. */
static void kinds_are_kept_apart(void **state)
{
	struct arena a = {0};
	const struct record_standard *out = NULL;
	struct err err = {0};

	(void)state;
	instrument(1, &a);
	assert_int_equal(frozen_standard_of(instrument_text(&a, 1), &a, &out, &err), OK);
	assert_string_equal(out->code, "");
	arena_clear(&a);
}

static void *ask(void *seed)
{
	unsigned n = *(unsigned *)seed;

	for (int i = 0; i < 4000; i++) {
		struct arena a = {0};
		int k;

		n = n * 1664525u + 1013904223u; /* from memory: Numerical Recipes' quick generator */
		k = (int)(n >> 24);
		if (instrument(k, &a)->input.high != k + 1)
			fail();
		arena_clear(&a);
	}
	return NULL;
}

static void many_threads_may_ask_for_more_than_is_kept(void **state)
{
	pthread_t threads[4];
	unsigned seeds[4] = {1, 2, 3, 4};

	(void)state;
	for (int i = 0; i < 4; i++)
		assert_int_equal(pthread_create(&threads[i], NULL, ask, &seeds[i]), 0);
	for (int i = 0; i < 4; i++)
		assert_int_equal(pthread_join(threads[i], NULL), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(same_text_is_read_once),
		cmocka_unit_test(what_is_put_out_lives_while_it_is_held),
		cmocka_unit_test(text_that_is_no_such_document_is_told_and_not_kept),
		cmocka_unit_test(kinds_are_kept_apart),
		cmocka_unit_test(many_threads_may_ask_for_more_than_is_kept),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
