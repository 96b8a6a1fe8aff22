#include "domain/ledger.h"

#include <string.h>

#include "base/json.h"
#include "base/text.h"
#include "base/time.h"

#define WALK_ROWS 200

static enum status no_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

/* The canonical JSON of an object as its members alone: without the braces. Steals object. */
static const char *members(json_t *object, struct arena *a)
{
	char *text = object ? json_canonical(object, a) : NULL;

	json_decref(object);
	if (!text || strlen(text) < 2)
		return NULL;
	text[strlen(text) - 1] = '\0';
	return text + 1;
}

/*
 * The entry as canonical JSON. before and after are canonical text already, so they go in as they stand: every byte that is
 * stored is a byte that is hashed. Members are in the order of RFC 8785.
 */
static const char *canonical_entry(const struct ledger_entry *e, struct arena *a)
{
	const char *action = members(json_pack("{s:s?}", "action", e->action), a);
	const char *at = members(json_pack("{s:I}", "at", (json_int_t)e->at), a);
	const char *rest = members(json_pack("{s:s?, s:I, s:s?, s:s?, s:s?, s:s?, s:s?, s:s?}", "label", e->label,
					     "number", (json_int_t)e->number, "person_id", e->person_id, "person_name",
					     e->person_name, "previous_hash", e->previous_hash, "reason", e->reason,
					     "thing", e->thing, "thing_id", e->thing_id),
				   a);

	if (!action || !at || !rest)
		return NULL;
	return arena_printf(a, "{%s,\"after\":%s,%s,\"before\":%s,%s}", action, e->after_json ? e->after_json : "null",
			    at, e->before_json ? e->before_json : "null", rest);
}

static enum status hash_entry(const struct ledger_entry *e, struct arena *a, char hash[SHA256_HEX_SIZE],
			      struct err *err)
{
	const char *json = canonical_entry(e, a);
	const char *text = json ? arena_printf(a, "%s%s", e->previous_hash, json) : NULL;

	if (!text)
		return no_memory(err);
	sha256_hex(text, strlen(text), hash);
	return OK;
}

/* Completes the entry and writes it. */
static enum status add(struct db *db, struct ledger_entry e, const struct ledger_note *note, struct arena *a,
		       struct err *err)
{
	char previous[SHA256_HEX_SIZE], hash[SHA256_HEX_SIZE];
	enum status rc;

	if (note->before && !(e.before_json = json_canonical(note->before, a)))
		return no_memory(err);
	if (note->after && !(e.after_json = json_canonical(note->after, a)))
		return no_memory(err);
	rc = store_ledger_head(db, &e.number, previous, err);
	if (rc)
		return rc;
	e.number++;
	e.previous_hash = previous;
	rc = hash_entry(&e, a, hash, err);
	e.hash = hash;
	return rc ? rc : store_ledger_add(db, &e, err);
}

enum status ledger_add(struct db *db, const struct actor *actor, const struct ledger_note *note, struct err *err)
{
	struct ledger_entry e = {
		.at = time_now_ms(),
		.person_id = actor ? actor->person_id : NULL,
		.person_name = actor && actor->name ? actor->name : "Loopledger",
		.action = note->action,
		.thing = note->thing,
		.thing_id = note->thing_id,
		.label = note->label ? note->label : "",
		.reason = note->reason ? note->reason : "",
	};
	struct arena a = {0};
	enum status rc = add(db, e, note, &a, err);

	arena_clear(&a);
	return rc;
}

/* *sound: the entry follows on the one before and its hash is that of its content. */
static enum status check_entry(const struct ledger_entry *e, int64_t number, const char *previous, bool *sound,
			       struct err *err)
{
	char hash[SHA256_HEX_SIZE];
	struct arena a = {0};
	enum status rc = hash_entry(e, &a, hash, err);

	arena_clear(&a);
	*sound = !rc && e->number == number && !strcmp(e->previous_hash, previous) && !strcmp(e->hash, hash);
	return rc;
}

enum status ledger_check(struct db *db, int64_t *entries, int64_t *first_bad, char head[65], struct err *err)
{
	struct ledger_entry rows[WALK_ROWS];
	struct arena a = {0};
	int64_t after = 0;
	enum status rc;
	size_t n;

	*entries = *first_bad = 0;
	memset(head, '0', 64);
	head[64] = '\0';
	while (!(rc = store_ledger_walk(db, after, &a, rows, WALK_ROWS, &n, err)) && n) {
		for (size_t i = 0; i < n && !rc; i++) {
			bool sound;

			rc = check_entry(&rows[i], *entries + 1, head, &sound, err);
			if (!sound && !*first_bad)
				*first_bad = rows[i].number;
			++*entries;
			memcpy(head, rows[i].hash, strnlen(rows[i].hash, 64));
			after = rows[i].number;
		}
		arena_clear(&a);
		if (rc)
			return rc;
	}
	arena_clear(&a);
	return rc;
}

static json_t *document(const char *text)
{
	struct err ignored = {0};
	json_t *json = text ? json_parse(text, strlen(text), &ignored) : NULL;

	return json ? json : json_null();
}

json_t *ledger_entry_to_json(const struct ledger_entry *e)
{
	char at[TIME_TEXT_SIZE];

	time_to_text(e->at, at);
	return json_pack("{s:I, s:s, s:s, s:s?, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:s, s:s}", "number",
			 (json_int_t)e->number, "at", at, "person", e->person_name, "person_id", e->person_id, "action",
			 e->action, "thing", e->thing, "thing_id", e->thing_id, "label", e->label, "reason", e->reason,
			 "before", document(e->before_json), "after", document(e->after_json), "previous_hash",
			 e->previous_hash, "hash", e->hash);
}
