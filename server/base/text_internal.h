/* UTF-8 one character at a time, shared by the files of this room. */
#ifndef SERVER_BASE_TEXT_INTERNAL_H
#define SERVER_BASE_TEXT_INTERNAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * Bytes taken by the first character of s, whose code point goes to *c; 0 when it is not well formed: overlong, a
 * surrogate, above U+10FFFF or cut off (Unicode 15, table 3-7).
 */
size_t utf8_decode(const char *s, size_t length, uint32_t *c);

/*
 * Characters that have no place in a name, a remark or a sentence: C0, DEL, C1, the byte order mark, noncharacters, and
 * the controls that reorder text, with which a record could be made to read otherwise than it is stored.
 */
bool utf8_is_control(uint32_t c);

bool utf8_is_space(uint32_t c); /* seen as nothing, at the beginning or the end of a text */

#endif
