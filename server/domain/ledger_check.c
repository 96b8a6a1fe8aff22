/* Whether the ledger is what was written: the chain, its head, and the checkpoints. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "ledger_internal.h"

#define WALK_ROWS 500

struct walk {
	struct db *db;
	const struct ledger_seal *seal;
	struct ledger_result *out;
	struct ledger_checkpoint next; /* not yet passed; number 0: none left */
	struct arena a;		       /* of next */
};

__attribute__((format(printf, 3, 4))) static void found(struct walk *w, int64_t number, const char *fmt, ...)
{
	va_list ap;

	if (w->out->why[0])
		return;
	w->out->first_bad = number;
	va_start(ap, fmt);
	vsnprintf(w->out->why, sizeof w->out->why, fmt, ap);
	va_end(ap);
}

/* ---- checkpoints ---- */

const char *ledger_checkpoint_text(const struct ledger_checkpoint *c, struct arena *a)
{
	char *cause = arena_alloc(a, JSON_STRING_ROOM(c->cause) + 1),
	     *hash = arena_alloc(a, JSON_STRING_ROOM(c->hash) + 1);

	if (!cause || !hash)
		return NULL;
	*json_put_string(cause, c->cause) = '\0';
	*json_put_string(hash, c->hash) = '\0';
	return arena_printf(a, "{\"at\":%" PRId64 ",\"cause\":%s,\"hash\":%s,\"number\":%" PRId64 "}", c->at, cause,
			    hash, c->number);
}

static enum status next_checkpoint(struct walk *w, struct err *err)
{
	int64_t number = w->next.number;
	enum status rc;

	arena_clear(&w->a);
	w->next = (struct ledger_checkpoint){0};
	if (!w->seal)
		return OK;
	rc = store_checkpoint_after(w->db, number, &w->a, &w->next, err);
	return rc == NOT_FOUND ? OK : rc;
}

static enum status judge_checkpoint(struct walk *w, const struct ledger_entry *e, struct err *err)
{
	const struct ledger_checkpoint *c = &w->next;
	const char *text = ledger_checkpoint_text(c, &w->a);

	if (!text)
		return err_set(err, NO_MEMORY, "", "out of memory");
	if (!w->seal->fits(w->seal->context, text, c->signature, c->seal_certificate))
		found(w, e->number, "The checkpoint at entry %" PRId64 " does not carry the plant's seal.", c->number);
	else if (strcmp(c->hash, e->hash) != 0)
		found(w, e->number, "Entry %" PRId64 " is another than when it was sealed.", e->number);
	w->out->checkpoints++;
	w->out->sealed_number = c->number;
	w->out->sealed_at = c->at;
	return next_checkpoint(w, err);
}

/* ---- entries ---- */

static bool is_null_text(const char *s)
{
	return s && !strcmp(s, "null");
}

static enum status judge_entry(struct walk *w, const struct ledger_entry *e, struct arena *a, struct err *err)
{
	int64_t expected = w->out->entries + 1;
	char hash[SHA256_HEX_SIZE];
	enum status rc = ledger_hash(e, a, hash, err);

	if (rc)
		return rc;
	if (!w->out->first_bad && e->number > expected)
		found(w, e->number, "Entry %" PRId64 " is missing before it.", expected);
	else if (e->number != expected || strcmp(e->previous_hash, w->out->head) != 0)
		found(w, e->number, "Entry %" PRId64 " does not follow on the one before it.", e->number);
	else if (strcmp(e->hash, hash) != 0 || is_null_text(e->before_json) || is_null_text(e->after_json))
		found(w, e->number, "Entry %" PRId64 " is not as it was written.", e->number);
	w->out->entries++;
	snprintf(w->out->head, sizeof w->out->head, "%s", e->hash);
	while (w->next.number && w->next.number < e->number && !rc) {
		found(w, w->next.number, "Entry %" PRId64 " was sealed and is missing.", w->next.number);
		rc = next_checkpoint(w, err);
	}
	if (!rc && w->next.number == e->number)
		rc = judge_checkpoint(w, e, err);
	return rc;
}

static enum status walk_entries(struct walk *w, struct err *err)
{
	struct ledger_entry rows[WALK_ROWS];
	struct arena a = {0};
	int64_t after = INT64_MIN;
	enum status rc;
	size_t n;

	while (!(rc = store_ledger_walk(w->db, after, &a, rows, WALK_ROWS, &n, err)) && n) {
		for (size_t i = 0; i < n && !rc; i++) {
			struct arena entry = {0};

			rc = judge_entry(w, &rows[i], &entry, err);
			arena_clear(&entry);
		}
		after = rows[n - 1].number;
		arena_clear(&a);
		if (rc)
			break;
	}
	arena_clear(&a);
	return rc;
}

/* What the head says against what is there. */
static enum status judge_head(struct walk *w, struct err *err)
{
	struct ledger_head head;
	char mac[SHA256_HEX_SIZE];
	int64_t last = w->out->entries;
	enum status rc = store_ledger_head(w->db, &head, err);

	if (rc == FAILED) {
		found(w, last ? last : 1, "The head of the ledger is missing.");
		return OK;
	}
	if (rc)
		return rc;
	ledger_mac(w->db, &head, mac);
	if (strcmp(mac, head.mac) != 0)
		found(w, last ? last : 1, "The head of the ledger was not written by this program.");
	else if (head.number > last)
		found(w, last + 1, "Entry %" PRId64 " is missing: the last entries were removed.", last + 1);
	else if (head.number < last)
		found(w, head.number + 1, "Entry %" PRId64 " was added by another program.", head.number + 1);
	else if (strcmp(head.hash, w->out->head) != 0)
		found(w, last, "Entry %" PRId64 " is another than was written.", last);
	return OK;
}

enum status ledger_check(struct db *db, const struct ledger_seal *seal, struct ledger_result *out, struct err *err)
{
	struct walk w = {.db = db, .seal = seal, .out = out};
	enum status rc;

	*out = (struct ledger_result){0};
	memset(out->head, '0', 64);
	rc = next_checkpoint(&w, err);
	if (!rc)
		rc = walk_entries(&w, err);
	if (!rc && w.next.number)
		found(&w, w.next.number, "Entry %" PRId64 " was sealed and is missing.", w.next.number);
	if (!rc)
		rc = judge_head(&w, err);
	arena_clear(&w.a);
	return rc;
}
