#include "store/list.h"

#include <string.h>

const char *search_pattern(const char *q, struct arena *a)
{
	char *out, *p;

	if (!q || !*q)
		return NULL;
	out = p = arena_alloc(a, 2 * strlen(q) + 3);
	if (!out)
		return NULL;
	*p++ = '%';
	for (; *q; q++) {
		if (*q == '%' || *q == '_' || *q == '\\')
			*p++ = '\\';
		*p++ = *q >= 'A' && *q <= 'Z' ? (char)(*q - 'A' + 'a') : *q;
	}
	*p++ = '%';
	*p = '\0';
	return out;
}

void *list_room(void *list, size_t n, size_t *room, size_t row_size, struct arena *a)
{
	size_t more = *room ? 2 * *room : 16;
	void *larger;

	if (n < *room)
		return list;
	larger = arena_alloc(a, more * row_size);
	if (!larger)
		return NULL;
	if (n)
		memcpy(larger, list, n * row_size);
	*room = more;
	return larger;
}

enum status store_no_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

enum status store_changed_one(struct db *db, enum status rc, struct err *err)
{
	if (!rc && db_changes(db) == 0)
		return err_set(err, STALE, "", "somebody else has changed this meanwhile; read it again");
	return rc;
}
