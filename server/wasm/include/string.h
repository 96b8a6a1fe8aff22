#ifndef METROLOGY_WASM_STRING_H
#define METROLOGY_WASM_STRING_H

#include <stddef.h>

void *memcpy(void *restrict to, const void *restrict from, size_t n);
void *memmove(void *to, const void *from, size_t n);
void *memset(void *to, int value, size_t n);
size_t strlen(const char *text);

#endif
