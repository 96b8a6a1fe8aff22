#include "base/text.h"

#include <assert.h>
#include <pthread.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/time.h"
#include "text_internal.h"

size_t utf8_decode(const char *s, size_t length, uint32_t *c)
{
	const unsigned char *p = (const unsigned char *)s;
	size_t n, i;
	uint32_t least;

	if (length == 0)
		return 0;
	if (p[0] < 0x80) {
		*c = p[0];
		return 1;
	}
	if (p[0] >= 0xc2 && p[0] <= 0xdf)
		n = 2, least = 0x80, *c = p[0] & 0x1fU;
	else if (p[0] >= 0xe0 && p[0] <= 0xef)
		n = 3, least = 0x800, *c = p[0] & 0x0fU;
	else if (p[0] >= 0xf0 && p[0] <= 0xf4)
		n = 4, least = 0x10000, *c = p[0] & 0x07U;
	else
		return 0;
	if (length < n)
		return 0;
	for (i = 1; i < n; i++) {
		if ((p[i] & 0xc0U) != 0x80)
			return 0;
		*c = *c << 6 | (p[i] & 0x3fU);
	}
	if (*c < least || *c > 0x10ffff || (*c >= 0xd800 && *c <= 0xdfff))
		return 0;
	return n;
}

bool utf8_is_control(uint32_t c)
{
	return c < 0x20 || (c >= 0x7f && c <= 0x9f) || (c >= 0x2028 && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069) ||
	       c == 0xfeff || (c & 0xfffe) == 0xfffe || (c >= 0xfdd0 && c <= 0xfdef);
}

bool utf8_is_space(uint32_t c)
{
	return c == ' ' || c == '\t' || c == '\n' || c == 0xa0 || c == 0x1680 || (c >= 0x2000 && c <= 0x200b) ||
	       c == 0x202f || c == 0x205f || c == 0x3000;
}

bool text_is_clean(const char *s, size_t length)
{
	size_t at = 0;

	while (at < length) {
		uint32_t c;
		size_t n = utf8_decode(s + at, length - at, &c);

		if (n == 0 || (utf8_is_control(c) && c != '\t' && c != '\n'))
			return false;
		at += n;
	}
	return true;
}

size_t text_characters(const char *s)
{
	size_t n = 0;

	for (; *s; s++)
		n += ((unsigned char)*s & 0xc0U) != 0x80; /* every byte but those that go on */
	return n;
}

static void start_sodium(void)
{
	if (sodium_init() < 0) {
		log_error("no source of random numbers");
		abort();
	}
}

static void need_sodium(void)
{
	static pthread_once_t once = PTHREAD_ONCE_INIT;

	pthread_once(&once, start_sodium);
}

/*
 * RFC 9562 6.2, method 1: the twelve bits after the version count within a millisecond. The count starts at a random
 * number below 2048, so at least 2048 ids fit before the time is moved on by hand.
 */
static void next_tick(uint64_t *ms, uint32_t *count)
{
	static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
	static uint64_t last_ms;
	static uint32_t last_count;
	int64_t now = time_now_ms();

	pthread_mutex_lock(&lock);
	if (now > 0 && (uint64_t)now > last_ms) {
		last_ms = (uint64_t)now;
		last_count = randombytes_uniform(2048);
	} else if (++last_count > 0xfff) {
		last_ms++;
		last_count = randombytes_uniform(2048);
	}
	*ms = last_ms;
	*count = last_count;
	pthread_mutex_unlock(&lock);
}

void uuid7(char out[UUID_SIZE])
{
	unsigned char b[16];
	uint64_t ms;
	uint32_t count;
	int i;

	need_sodium();
	next_tick(&ms, &count);
	for (i = 0; i < 6; i++)
		b[i] = (unsigned char)(ms >> (40 - 8 * i));
	b[6] = (unsigned char)(0x70U | count >> 8); /* version 7 */
	b[7] = (unsigned char)count;
	randombytes_buf(b + 8, 8);
	b[8] = (unsigned char)(0x80U | (b[8] & 0x3fU)); /* variant 10 */
	snprintf(out, UUID_SIZE, "%02x%02x%02x%02x-%02x%02x-%02x%02x-%02x%02x-%02x%02x%02x%02x%02x%02x", b[0], b[1],
		 b[2], b[3], b[4], b[5], b[6], b[7], b[8], b[9], b[10], b[11], b[12], b[13], b[14], b[15]);
}

bool uuid_is_valid(const char *s)
{
	int i;

	for (i = 0; i < UUID_SIZE - 1; i++) {
		bool dash = i == 8 || i == 13 || i == 18 || i == 23;

		if (dash ? s[i] != '-' : !((s[i] >= '0' && s[i] <= '9') || (s[i] >= 'a' && s[i] <= 'f')))
			return false;
	}
	return s[i] == '\0';
}

void sha256_hex(const void *bytes, size_t size, char out[SHA256_HEX_SIZE])
{
	unsigned char hash[crypto_hash_sha256_BYTES];

	need_sodium();
	crypto_hash_sha256(hash, bytes, size);
	sodium_bin2hex(out, SHA256_HEX_SIZE, hash, sizeof hash);
}

void hmac_sha256_hex(const unsigned char key[HMAC_KEY_SIZE], const void *bytes, size_t size, char out[SHA256_HEX_SIZE])
{
	unsigned char mac[crypto_auth_hmacsha256_BYTES];

	static_assert(HMAC_KEY_SIZE == crypto_auth_hmacsha256_KEYBYTES, "the key is as long as the library's");
	need_sodium();
	crypto_auth_hmacsha256(mac, bytes, size, key);
	sodium_bin2hex(out, SHA256_HEX_SIZE, mac, sizeof mac);
}

void random_token(char *out, size_t out_size, size_t n)
{
	unsigned char bytes[256];

	assert(n <= sizeof bytes);
	assert(out_size >= sodium_base64_encoded_len(n, sodium_base64_VARIANT_URLSAFE_NO_PADDING));
	need_sodium();
	randombytes_buf(bytes, n);
	sodium_bin2base64(out, out_size, bytes, n, sodium_base64_VARIANT_URLSAFE_NO_PADDING);
	sodium_memzero(bytes, sizeof bytes);
}

bool text_equal_secret(const char *a, const char *b)
{
	size_t length = strlen(a);

	return length == strlen(b) && sodium_memcmp(a, b, length) == 0;
}
