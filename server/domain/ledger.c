/* Writing the ledger. */
#include "domain/ledger.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "base/time.h"
#include "ledger_internal.h"

static enum status no_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

static char *put(char *to, const char *s)
{
	return stpcpy(to, s);
}

static char *put_member(char *to, const char *name, const char *value)
{
	return json_put_string(put(to, name), value);
}

static char *put_number(char *to, const char *name, int64_t value)
{
	return to + sprintf(to, "%s%" PRId64, name, value);
}

/*
 * Previous hash, then the entry as canonical JSON: what is hashed. before and after are canonical text already, so they go in
 * as they stand. Members are in the order of RFC 8785. A ledger of a million entries is verified through this: pieces are
 * put down one after the other, in room reckoned once.
 */
static const char *hashed_text(const struct ledger_entry *e, struct arena *a)
{
	const char *before = e->before_json ? e->before_json : "null", *after = e->after_json ? e->after_json : "null",
		   *previous = e->previous_hash ? e->previous_hash : "";
	const char *const texts[] = {e->action, e->label,  e->person_id, e->person_name,
				     previous,	e->reason, e->thing,	 e->thing_id};
	size_t room = strlen(before) + strlen(after) + strlen(previous) + 300;
	char *text, *to;

	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
		room += JSON_STRING_ROOM(texts[i]);
	text = arena_alloc(a, room);
	if (!text)
		return NULL;
	to = put(text, previous);
	to = put_member(to, "{\"action\":", e->action);
	to = put(put(to, ",\"after\":"), after);
	to = put_number(to, ",\"at\":", e->at);
	to = put(put(to, ",\"before\":"), before);
	to = put_member(to, ",\"label\":", e->label);
	to = put_number(to, ",\"number\":", e->number);
	to = put_member(to, ",\"person_id\":", e->person_id);
	to = put_member(to, ",\"person_name\":", e->person_name);
	to = put_member(to, ",\"previous_hash\":", e->previous_hash);
	to = put_member(to, ",\"reason\":", e->reason);
	to = put_member(to, ",\"thing\":", e->thing);
	to = put_member(to, ",\"thing_id\":", e->thing_id);
	memcpy(to, "}", 2);
	return text;
}

const char *ledger_canonical(const struct ledger_entry *e, struct arena *a)
{
	const char *text = hashed_text(e, a);

	return text ? text + strlen(e->previous_hash) : NULL;
}

enum status ledger_hash(const struct ledger_entry *e, struct arena *a, char hash[SHA256_HEX_SIZE], struct err *err)
{
	const char *text = hashed_text(e, a);

	if (!text)
		return no_memory(err);
	sha256_hex(text, strlen(text), hash);
	return OK;
}

void ledger_mac(const struct db *db, const struct ledger_head *head, char mac[SHA256_HEX_SIZE])
{
	char text[100];
	int size = snprintf(text, sizeof text, "%" PRId64 ":%s", head->number, head->hash);

	mac[0] = '\0';
	if (db_key(db))
		hmac_sha256_hex(db_key(db), text, (size_t)size, mac);
}

static enum status head_read(struct db *db, struct ledger_head *head, struct err *err)
{
	char mac[SHA256_HEX_SIZE];
	enum status rc = store_ledger_head(db, head, err);

	if (rc)
		return rc;
	ledger_mac(db, head, mac);
	if (strcmp(mac, head->mac) != 0)
		return err_set(err, FAILED, "",
			       "the ledger was changed by another program: loopledger ledger verify says where, and"
			       " nothing is written until loopledger ledger accept");
	return OK;
}

static enum status head_write(struct db *db, struct ledger_head *head, int64_t number, const char *hash,
			      struct err *err)
{
	head->number = number;
	snprintf(head->hash, sizeof head->hash, "%s", hash);
	ledger_mac(db, head, head->mac);
	return store_ledger_set_head(db, head, err);
}

static const char *canonical_or_null(const json_t *json, struct arena *a, bool *failed)
{
	const char *text = json && !json_is_null(json) ? json_canonical(json, a) : NULL;

	*failed = *failed || (json && !json_is_null(json) && !text);
	return text;
}

/* Completes the entry, writes it, and moves the head on to it. */
static enum status add(struct db *db, struct ledger_entry e, const struct ledger_note *note, struct ledger_head *head,
		       struct arena *a, struct err *err)
{
	char hash[SHA256_HEX_SIZE];
	bool failed = false;
	enum status rc;

	e.before_json = canonical_or_null(note->before, a, &failed);
	e.after_json = canonical_or_null(note->after, a, &failed);
	if (failed)
		return no_memory(err);
	e.number = head->number + 1;
	e.previous_hash = head->hash;
	rc = ledger_hash(&e, a, hash, err);
	e.hash = hash;
	if (!rc)
		rc = store_ledger_add(db, &e, err);
	return rc ? rc : head_write(db, head, e.number, hash, err);
}

static enum status add_after(struct db *db, const struct actor *actor, const struct ledger_note *note,
			     struct ledger_head *head, struct err *err)
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
	enum status rc = add(db, e, note, head, &a, err);

	arena_clear(&a);
	return rc;
}

enum status ledger_add(struct db *db, const struct actor *actor, const struct ledger_note *note, struct err *err)
{
	struct ledger_head head;
	enum status rc = head_read(db, &head, err);

	return rc ? rc : add_after(db, actor, note, &head, err);
}

enum status ledger_accept(struct db *db, const struct actor *actor, const char *reason, struct err *err)
{
	struct ledger_note note = {
		.action = "accept", .thing = "ledger_entry", .thing_id = "", .label = "Ledger", .reason = reason};
	struct ledger_filter newest = {0};
	struct ledger_entry last = {0};
	struct ledger_head head = {0};
	struct arena a = {0};
	size_t n;
	enum status rc = store_ledger_list(db, &newest, &a, &last, 1, &n, err);

	if (!rc) {
		head.number = n ? last.number : 0;
		snprintf(head.hash, sizeof head.hash, "%s", n && last.hash ? last.hash : "");
		if (!n)
			memset(head.hash, '0', 64);
		rc = add_after(db, actor, &note, &head, err);
	}
	arena_clear(&a);
	return rc;
}
