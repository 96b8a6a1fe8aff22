#include "base/arena.h"

#include <stdalign.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/*
 * Memory is cut from blocks that double in size, so that a request costs a handful of mallocs. Under AddressSanitizer each
 * piece is a block of its own, so that it sees the end of each.
 */
#ifndef __has_feature
#define __has_feature(x) 0
#endif
#if defined(__SANITIZE_ADDRESS__) || __has_feature(address_sanitizer)
#define BLOCK_FIRST 0
#else
#define BLOCK_FIRST 4000
#endif
#define BLOCK_MOST (256u << 10)

struct arena_block {
	struct arena_block *next;
	size_t used, size;
	max_align_t bytes[];
};

struct arena_deferred {
	struct arena_deferred *next;
	void (*fn)(void *arg);
	void *arg;
};

static struct arena_block *add_block(struct arena *a, size_t needed)
{
	size_t size = a->head ? 2 * a->head->size : BLOCK_FIRST;
	struct arena_block *b;

	if (size > BLOCK_MOST)
		size = BLOCK_MOST;
	if (BLOCK_FIRST == 0 || size < needed)
		size = needed;
	b = calloc(1, sizeof *b + size);
	if (!b)
		return NULL;
	b->size = size;
	b->next = a->head;
	a->head = b;
	return b;
}

void *arena_alloc(struct arena *a, size_t size)
{
	struct arena_block *b = a->head;
	char *piece;

	if (size > SIZE_MAX / 2)
		return NULL;
	size = (size + alignof(max_align_t) - 1) / alignof(max_align_t) * alignof(max_align_t);
	if (!b || b->size - b->used < size || BLOCK_FIRST == 0)
		b = add_block(a, size);
	if (!b)
		return NULL;
	piece = (char *)b->bytes + b->used;
	b->used += size;
	return piece;
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

bool arena_defer(struct arena *a, void (*fn)(void *arg), void *arg)
{
	struct arena_deferred *d = arena_alloc(a, sizeof *d);

	if (!d)
		return false;
	*d = (struct arena_deferred){a->deferred, fn, arg};
	a->deferred = d;
	return true;
}

void arena_clear(struct arena *a)
{
	for (const struct arena_deferred *d = a->deferred; d; d = d->next)
		d->fn(d->arg);
	a->deferred = NULL;
	while (a->head) {
		struct arena_block *next = a->head->next;

		free(a->head);
		a->head = next;
	}
}
