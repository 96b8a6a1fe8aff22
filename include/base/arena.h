/*
 * Memory that lives exactly as long as one request. Rows and text read from the store are placed here, so
 * handlers hand strings around freely and nothing is released piecemeal.
 */
#ifndef BASE_ARENA_H
#define BASE_ARENA_H

#include <stdbool.h>
#include <stddef.h>

struct arena {
	struct arena_block *head;
	struct arena_deferred *deferred;
};

void *arena_alloc(struct arena *a, size_t size);    /* zeroed; NULL when memory is exhausted */
char *arena_strdup(struct arena *a, const char *s); /* NULL for NULL */
char *arena_printf(struct arena *a, const char *fmt, ...) __attribute__((format(printf, 2, 3)));
void *arena_copy(struct arena *a, const void *bytes, size_t size);
/* Calls fn(arg) when the arena is cleared, the latest first: for what its text points into. False when out of memory: then it
 * is not called. */
bool arena_defer(struct arena *a, void (*fn)(void *arg), void *arg);
void arena_clear(struct arena *a);

#endif
