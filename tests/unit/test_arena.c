#include "support/check.h"

#include <string.h>

#include "base/arena.h"

static void what_is_taken_is_zeroed_apart_and_aligned(void **state)
{
	struct arena a = {0};
	char *first = arena_alloc(&a, 3), *second = arena_alloc(&a, 40);

	(void)state;
	for (int i = 0; i < 40; i++)
		assert_int_equal(second[i], 0);
	memset(first, 'x', 3);
	memset(second, 'y', 40);
	assert_memory_equal(first, "xxx", 3);
	assert_int_equal((uintptr_t)second % _Alignof(max_align_t), 0);
	arena_clear(&a);
	assert_null(a.head);
	arena_clear(&a);
}

static void text_is_copied_and_printed(void **state)
{
	struct arena a = {0};
	char source[] = "20-FT-101";
	char *copy = arena_strdup(&a, source);

	(void)state;
	source[0] = 'x';
	assert_string_equal(copy, "20-FT-101");
	assert_null(arena_strdup(&a, NULL));
	assert_string_equal(arena_printf(&a, "%s at %.2f mA", copy, 12.0), "20-FT-101 at 12.00 mA");
	assert_memory_equal(arena_copy(&a, "a\0b", 3), "a\0b", 3);
	assert_non_null(arena_copy(&a, NULL, 0));
	arena_clear(&a);
}

static void a_size_no_machine_has_is_refused(void **state)
{
	struct arena a = {0};

	(void)state;
	assert_null(arena_alloc(&a, SIZE_MAX));
	assert_null(arena_alloc(&a, SIZE_MAX - 8));
	arena_clear(&a);
}

static char order[8];

static void note(void *arg)
{
	strcat(order, arg);
}

static void what_is_deferred_is_done_once_at_the_end_the_latest_first(void **state)
{
	struct arena a = {0};

	(void)state;
	assert_true(arena_defer(&a, note, "1"));
	assert_true(arena_defer(&a, note, arena_strdup(&a, "2")));
	assert_string_equal(order, "");
	arena_clear(&a);
	assert_string_equal(order, "21");
	arena_clear(&a);
	assert_string_equal(order, "21");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_is_taken_is_zeroed_apart_and_aligned),
		cmocka_unit_test(text_is_copied_and_printed),
		cmocka_unit_test(a_size_no_machine_has_is_refused),
		cmocka_unit_test(what_is_deferred_is_done_once_at_the_end_the_latest_first),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
