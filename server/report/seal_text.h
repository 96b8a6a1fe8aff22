/* Strings of PDF, and growing text. */
#ifndef REPORT_SEAL_TEXT_H
#define REPORT_SEAL_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Bytes that grow; after a failure (no memory, above max) failed stays set and nothing is added. Zeroed is empty. */
struct bytes {
	char *data;
	size_t size, room;
	bool failed;
};

#define BYTES_MAX (160u << 20)

void bytes_add(struct bytes *b, const void *data, size_t size);
void bytes_print(struct bytes *b, const char *fmt, ...) __attribute__((format(printf, 2, 3)));
void bytes_free(struct bytes *b);

/* "<feff…>" of UTF-8 (UTF-16BE, ISO 32000-1 7.9.2.2). */
void bytes_text(struct bytes *b, const char *utf8);
/* "(D:20261125123011Z)" (ISO 32000-1 7.9.4). */
void bytes_date(struct bytes *b, int64_t ms);

/* Text of a PDF string, delimiters included, as UTF-8 without control characters, cut at a whole character. */
void seal_text_decode(const char *string, size_t length, char *out, size_t size);
/* "D:20261125123011Z", also with an offset, as UTC milliseconds; false for anything else. cairo 1.16 leaves out the D:. */
bool seal_date_decode(const char *text, int64_t *ms);

#endif
