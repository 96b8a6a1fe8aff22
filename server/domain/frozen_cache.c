/*
 * Frozen documents, kept as read. A document never changes, so its text is its own key and nothing must ever be told to the
 * cache; an entry lives while somebody points into it, also when it has long been put out.
 */
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include "base/json.h"
#include "base/time.h"
#include "record_internal.h"

enum kind { INSTRUMENT, PROCEDURE, STANDARD };

struct entry {
	enum kind kind;
	char *text;
	size_t size;
	uint64_t hash, used; /* used: the newest is the highest */
	unsigned holders;    /* the cache is one */
	struct arena arena;
	json_t *json;
	union {
		struct frozen_instrument instrument;
		struct frozen_procedure procedure;
		struct record_standard standard;
	} as;
};

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static struct entry *kept[FROZEN_KEPT];
static uint64_t uses;

static void entry_free(struct entry *e)
{
	json_decref(e->json);
	arena_clear(&e->arena);
	free(e->text);
	free(e);
}

static void let_go(void *arg)
{
	struct entry *e = arg;
	bool last;

	pthread_mutex_lock(&lock);
	last = --e->holders == 0;
	pthread_mutex_unlock(&lock);
	if (last)
		entry_free(e);
}

/* FNV-1a, 64 bits, as its authors publish it (draft-eastlake-fnv). The text itself is compared after it. */
static uint64_t hash_of_text(const char *text, size_t size)
{
	uint64_t hash = 0xcbf29ce484222325u;

	for (size_t i = 0; i < size; i++)
		hash = (hash ^ (unsigned char)text[i]) * 0x100000001b3u;
	return hash;
}

static bool is_text(const struct entry *e, enum kind kind, const char *text, size_t size, uint64_t hash)
{
	return e->hash == hash && e->size == size && e->kind == kind && !memcmp(e->text, text, size);
}

/* One more holder of what is kept; NULL when it is not. */
static struct entry *find(enum kind kind, const char *text, size_t size, uint64_t hash)
{
	struct entry *found = NULL;

	pthread_mutex_lock(&lock);
	for (size_t i = 0; i < FROZEN_KEPT && kept[i] && !found; i++)
		if (is_text(kept[i], kind, text, size, hash))
			found = kept[i];
	if (found) {
		found->holders++;
		found->used = ++uses;
	}
	pthread_mutex_unlock(&lock);
	return found;
}

/* Into a free place, or in the place of what was not used for longest, whose holder it then leaves. */
static void keep(struct entry *e)
{
	struct entry *out;
	size_t at = 0;

	pthread_mutex_lock(&lock);
	for (size_t i = 0; i < FROZEN_KEPT; i++) {
		if (!kept[i] || kept[i]->used < kept[at]->used)
			at = i;
		if (!kept[i])
			break;
	}
	out = kept[at];
	kept[at] = e;
	e->holders++;
	e->used = ++uses;
	pthread_mutex_unlock(&lock);
	if (out)
		let_go(out);
}

/* approved_at is a time in words or in milliseconds, as the document has it. */
static int64_t time_member(const json_t *o, const char *name)
{
	const json_t *v = json_object_get(o, name);
	int64_t ms = 0;

	if (json_is_integer(v))
		return json_integer_value(v);
	if (json_is_string(v) && time_from_text(json_string_value(v), &ms))
		return ms;
	return 0;
}

static enum status read_procedure(const json_t *json, struct arena *a, struct frozen_procedure *out, struct err *err)
{
	out->code = arena_strdup(a, json_string_value(json_object_get(json, "code")));
	out->approved_by = arena_strdup(a, json_string_value(json_object_get(json, "approved_by")));
	out->number = (int)json_integer_value(json_object_get(json, "number"));
	out->approved_at = time_member(json, "approved_at");
	return procedure_document_read(json_object_get(json, "document"), a, &out->document, err);
}

static enum status read_entry(struct entry *e, struct err *err)
{
	enum status rc = OK;

	e->json = json_parse(e->text, e->size, err);
	if (!e->json)
		return FAILED;
	if (e->kind == INSTRUMENT)
		rc = frozen_instrument_read(e->json, &e->arena, &e->as.instrument, err);
	else if (e->kind == PROCEDURE)
		rc = read_procedure(e->json, &e->arena, &e->as.procedure, err);
	else
		frozen_standard_read(e->json, &e->arena, &e->as.standard);
	return rc && rc != NO_MEMORY ? FAILED : rc;
}

/* One holder: who asked. NULL with the reason in rc and err. */
static struct entry *entry_new(enum kind kind, const char *text, size_t size, uint64_t hash, enum status *rc,
			       struct err *err)
{
	struct entry *e = calloc(1, sizeof *e);

	if (e)
		e->text = malloc(size + 1);
	if (!e || !e->text) {
		free(e);
		*rc = err_set(err, NO_MEMORY, "", "out of memory");
		return NULL;
	}
	memcpy(e->text, text, size + 1);
	e->kind = kind;
	e->size = size;
	e->hash = hash;
	e->holders = 1;
	*rc = read_entry(e, err);
	if (!*rc)
		return e;
	entry_free(e);
	return NULL;
}

/* Held by the arena; NULL with the reason in rc and err. */
static struct entry *frozen(enum kind kind, const char *text, struct arena *a, enum status *rc, struct err *err)
{
	size_t size = strlen(text);
	uint64_t hash = hash_of_text(text, size);
	struct entry *e = find(kind, text, size, hash);

	if (!e) {
		e = entry_new(kind, text, size, hash, rc, err);
		if (!e)
			return NULL;
		keep(e);
	}
	if (arena_defer(a, let_go, e))
		return e;
	let_go(e);
	*rc = err_set(err, NO_MEMORY, "", "out of memory");
	return NULL;
}

enum status frozen_instrument_of(const char *text, struct arena *a, const struct frozen_instrument **out, json_t **json,
				 struct err *err)
{
	enum status rc = OK;
	struct entry *e = frozen(INSTRUMENT, text, a, &rc, err);

	if (!e)
		return rc;
	*out = &e->as.instrument;
	*json = e->json;
	return OK;
}

enum status frozen_procedure_of(const char *text, struct arena *a, const struct frozen_procedure **out, json_t **json,
				struct err *err)
{
	enum status rc = OK;
	struct entry *e = frozen(PROCEDURE, text, a, &rc, err);

	if (!e)
		return rc;
	*out = &e->as.procedure;
	*json = e->json;
	return OK;
}

enum status frozen_standard_of(const char *text, struct arena *a, const struct record_standard **out, struct err *err)
{
	enum status rc = OK;
	struct entry *e = frozen(STANDARD, text, a, &rc, err);

	if (!e)
		return rc;
	*out = &e->as.standard;
	return OK;
}
