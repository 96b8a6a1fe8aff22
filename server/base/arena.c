#include "base/arena.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct arena_block {
	struct arena_block *next;
	max_align_t bytes[];
};

/* One malloc per allocation: a request makes a few hundred at most, and AddressSanitizer sees each one. */
void *arena_alloc(struct arena *a, size_t size)
{
	struct arena_block *b = size <= SIZE_MAX / 2 ? calloc(1, sizeof *b + size) : NULL;

	if (!b)
		return NULL;
	b->next = a->head;
	a->head = b;
	return b->bytes;
}

char *arena_strdup(struct arena *a, const char *s)
{
	return s ? arena_copy(a, s, strlen(s) + 1) : NULL;
}

char *arena_printf(struct arena *a, const char *fmt, ...)
{
	va_list ap;
	char *text;
	int length;

	va_start(ap, fmt);
	length = vsnprintf(NULL, 0, fmt, ap);
	va_end(ap);
	text = length >= 0 ? arena_alloc(a, (size_t)length + 1) : NULL;
	if (!text)
		return NULL;
	va_start(ap, fmt);
	vsnprintf(text, (size_t)length + 1, fmt, ap);
	va_end(ap);
	return text;
}

void *arena_copy(struct arena *a, const void *bytes, size_t size)
{
	void *copy = arena_alloc(a, size);

	if (copy && size)
		memcpy(copy, bytes, size);
	return copy;
}

void arena_clear(struct arena *a)
{
	while (a->head) {
		struct arena_block *next = a->head->next;

		free(a->head);
		a->head = next;
	}
}
