/* Text from outside: UTF-8, limits, hexadecimal, hashes and random identifiers. */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define UUID_SIZE	37 /* 36 characters and the end */
#define SHA256_HEX_SIZE 65

/* True when the bytes are well-formed UTF-8 without control characters other than tab and newline. */
bool text_is_clean(const char *s, size_t length);
size_t text_characters(const char *s); /* code points of well-formed UTF-8 */

/* UUIDv7 (RFC 9562): the time in milliseconds, then random bits; ids made one after the other in this process ascend. */
void uuid7(char out[UUID_SIZE]);
bool uuid_is_valid(const char *s);

/* SHA-256 of the bytes as lower-case hexadecimal. */
void sha256_hex(const void *bytes, size_t size, char out[SHA256_HEX_SIZE]);

#define HMAC_KEY_SIZE 32
/* HMAC-SHA-256 (RFC 2104) as lower-case hexadecimal. */
void hmac_sha256_hex(const unsigned char key[HMAC_KEY_SIZE], const void *bytes, size_t size, char out[SHA256_HEX_SIZE]);

/* n random bytes as base64url without padding; out holds at least 4 * (n + 2) / 3 + 1 characters. */
void random_token(char *out, size_t out_size, size_t n);

/* Compares two strings in a time that depends on their length only. */
bool text_equal_secret(const char *a, const char *b);

#endif
