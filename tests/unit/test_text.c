#include "support/check.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/time.h"

static bool clean(const char *s)
{
	return text_is_clean(s, strlen(s));
}

static void plain_words_and_units_are_clean(void **state)
{
	(void)state;
	assert_true(clean(""));
	assert_true(clean("20-FT-101\tfilter inlet\n"));
	assert_true(clean("°C Ω µm 流量 \xf0\x9f\x98\x80"));
}

/* Unicode 15, table 3-7 (from memory): these byte sequences are ill-formed. */
static void ill_formed_utf8_is_not_clean(void **state)
{
	static const char *const bad[] = {
		"\x80",		"\xc3",		"\xc0\x80",	    "\xc1\xbf",		"\xe0\x9f\xbf",	    "\xe2\x82",
		"\xed\xa0\x80", "\xed\xbf\xbf", "\xf0\x8f\xbf\xbf", "\xf4\x90\x80\x80", "\xf5\x80\x80\x80", "\xff",
		"a\xfe",	"\xc3(",
	};

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		if (clean(bad[i]))
			fail_msg("row %zu passes as clean", i);
	}
}

static void control_characters_are_not_clean(void **state)
{
	(void)state;
	assert_false(clean("a\x01"));
	assert_false(clean("a\r"));
	assert_false(clean("a\x7f"));
	assert_false(clean("a\xc2\x85")); /* U+0085, a C1 control */
	assert_false(clean("a\xe2\x80\xae"
			   "b")); /* U+202E turns the order of reading */
	assert_false(clean("\xef\xbb\xbf"
			   "a")); /* U+FEFF, byte order mark */
	assert_false(text_is_clean("a\0b", 3));
}

static void characters_are_counted_not_bytes(void **state)
{
	(void)state;
	assert_int_equal(text_characters(""), 0);
	assert_int_equal(text_characters("25 °C"), 5);
	assert_int_equal(text_characters("\xf0\x9f\x98\x80!"), 2);
}

/* FIPS 180-4 examples (from memory): one block "abc", and the empty message. */
static void sha256_agrees_with_the_standards_examples(void **state)
{
	char hex[SHA256_HEX_SIZE];

	(void)state;
	sha256_hex("abc", 3, hex);
	assert_string_equal(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
	sha256_hex("", 0, hex);
	assert_string_equal(hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

/* RFC 9562 5.7: 48 bits of milliseconds, version 7, variant 10. */
static void an_id_holds_the_time_it_was_made(void **state)
{
	char id[UUID_SIZE], head[13];
	int64_t before = time_now_ms(), at;

	(void)state;
	uuid7(id);
	assert_int_equal(strlen(id), 36);
	assert_true(uuid_is_valid(id));
	assert_int_equal(id[14], '7');
	assert_non_null(strchr("89ab", id[19]));
	snprintf(head, sizeof head, "%.8s%.4s", id, id + 9);
	at = strtoll(head, NULL, 16);
	assert_true(at >= before && at <= time_now_ms() + 1);
}

static void ids_made_one_after_the_other_ascend(void **state)
{
	char last[UUID_SIZE], id[UUID_SIZE];

	(void)state;
	uuid7(last);
	for (int i = 0; i < 50000; i++) {
		uuid7(id);
		if (strcmp(last, id) >= 0)
			fail_msg("%s does not come after %s", id, last);
		strcpy(last, id);
	}
	time_set_offset_ms(-60000); /* the clock was put back */
	uuid7(id);
	time_set_offset_ms(0);
	assert_true(strcmp(last, id) < 0);
}

#define EACH 5000
static char made[4][EACH][UUID_SIZE];

static void *make_ids(void *mine)
{
	char(*ids)[UUID_SIZE] = mine;

	for (int i = 0; i < EACH; i++)
		uuid7(ids[i]);
	return NULL;
}

static int by_text(const void *a, const void *b)
{
	return strcmp(a, b);
}

static void ids_made_by_several_threads_differ(void **state)
{
	pthread_t threads[4];
	char(*all)[UUID_SIZE] = made[0];

	(void)state;
	for (int i = 0; i < 4; i++)
		assert_int_equal(pthread_create(&threads[i], NULL, make_ids, made[i]), 0);
	for (int i = 0; i < 4; i++)
		pthread_join(threads[i], NULL);
	qsort(all, (size_t)4 * EACH, UUID_SIZE, by_text);
	for (int i = 1; i < 4 * EACH; i++)
		assert_string_not_equal(all[i - 1], all[i]);
}

static void only_the_written_form_of_an_id_is_valid(void **state)
{
	(void)state;
	assert_true(uuid_is_valid("017f22e2-79b0-7cc3-98c4-dc0c0c07398f")); /* RFC 9562 A.6, from memory */
	assert_false(uuid_is_valid("017F22E2-79B0-7CC3-98C4-DC0C0C07398F"));
	assert_false(uuid_is_valid("017f22e2-79b0-7cc3-98c4-dc0c0c07398"));
	assert_false(uuid_is_valid("017f22e2-79b0-7cc3-98c4-dc0c0c07398ff"));
	assert_false(uuid_is_valid("017f22e279b0-7cc3-98c4-dc0c0c07398ff-"));
	assert_false(uuid_is_valid("017f22e2-79b0-7cc3-98c4-dc0c0c07398g"));
	assert_false(uuid_is_valid(""));
}

static void tokens_are_url_safe_and_never_alike(void **state)
{
	char a[64], b[64];

	(void)state;
	random_token(a, sizeof a, 32);
	random_token(b, sizeof b, 32);
	assert_int_equal(strlen(a), 43); /* 256 bits, six a character, rounded up */
	assert_int_equal(strspn(a, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"), 43);
	assert_string_not_equal(a, b);
}

static void secrets_are_equal_only_when_every_character_is(void **state)
{
	(void)state;
	assert_true(text_equal_secret("abc", "abc"));
	assert_true(text_equal_secret("", ""));
	assert_false(text_equal_secret("abc", "abd"));
	assert_false(text_equal_secret("abc", "abcd"));
	assert_false(text_equal_secret("abcd", "abc"));
}

/* RFC 4231, test case 1; its key of 20 bytes is filled up with zeros, as HMAC (RFC 2104 section 2) does itself. */
static void a_keyed_hash_is_that_of_rfc_4231(void **state)
{
	unsigned char key[HMAC_KEY_SIZE] = {0};
	char hex[SHA256_HEX_SIZE];

	(void)state;
	memset(key, 0x0b, 20);
	hmac_sha256_hex(key, "Hi There", 8, hex);
	assert_string_equal(hex, "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_keyed_hash_is_that_of_rfc_4231),
		cmocka_unit_test(plain_words_and_units_are_clean),
		cmocka_unit_test(ill_formed_utf8_is_not_clean),
		cmocka_unit_test(control_characters_are_not_clean),
		cmocka_unit_test(characters_are_counted_not_bytes),
		cmocka_unit_test(sha256_agrees_with_the_standards_examples),
		cmocka_unit_test(an_id_holds_the_time_it_was_made),
		cmocka_unit_test(ids_made_one_after_the_other_ascend),
		cmocka_unit_test(ids_made_by_several_threads_differ),
		cmocka_unit_test(only_the_written_form_of_an_id_is_valid),
		cmocka_unit_test(tokens_are_url_safe_and_never_alike),
		cmocka_unit_test(secrets_are_equal_only_when_every_character_is),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
