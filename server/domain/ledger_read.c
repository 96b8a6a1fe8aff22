/* Reading the ledger: what a page of it holds, and the whole of it for others to keep. */
#include <inttypes.h>
#include <string.h>

#include "base/json.h"
#include "base/time.h"
#include "ledger_internal.h"

#define LOOK_ROWS 200
#define LOOK_MOST 20000

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

/* ---- entries that change a member ---- */

static bool member_differs(const json_t *before, const json_t *after, const char *field);

/* Looks below the members of a that stand in b too, and at those that only a has. */
static bool differs_below(const json_t *a, const json_t *b, const char *field)
{
	const char *name;
	json_t *value;

	json_object_foreach((json_t *)a, name, value) {
		const json_t *other = json_object_get(b, name);

		if (!strcmp(name, field) ? !other || !json_equal(value, other) : member_differs(value, other, field))
			return true;
	}
	return false;
}

static bool member_differs(const json_t *before, const json_t *after, const char *field)
{
	size_t n = json_array_size(before), m = json_array_size(after);

	for (size_t i = 0; i < (n > m ? n : m); i++) {
		if (member_differs(json_array_get(before, i), json_array_get(after, i), field))
			return true;
	}
	return differs_below(before, after, field) || differs_below(after, before, field);
}

static bool concerns(const struct ledger_entry *e, const char *field)
{
	json_t *before, *after;
	bool yes;

	if (!field || !*field)
		return true;
	before = document(e->before_json);
	after = document(e->after_json);
	yes = member_differs(before, after, field);
	json_decref(before);
	json_decref(after);
	return yes;
}

enum status ledger_list(struct db *db, const struct ledger_filter *f, struct arena *a, struct ledger_entry *out,
			size_t max, size_t *n, int64_t *next, struct err *err)
{
	struct ledger_filter from = *f;
	struct ledger_entry *rows = arena_alloc(a, LOOK_ROWS * sizeof *rows);
	size_t got = LOOK_ROWS, looked = 0;
	enum status rc = OK;

	if (!rows)
		return err_set(err, NO_MEMORY, "", "out of memory");
	*n = 0;
	*next = 0;
	while (got == LOOK_ROWS && looked < LOOK_MOST) {
		rc = store_ledger_list(db, &from, a, rows, LOOK_ROWS, &got, err);
		if (rc)
			return rc;
		for (size_t i = 0; i < got; i++) {
			if (*n == max) {
				*next = from.before; /* the last one that was looked at */
				return OK;
			}
			from.before = rows[i].number;
			if (concerns(&rows[i], f->field))
				out[(*n)++] = rows[i];
		}
		looked += got;
	}
	if (got == LOOK_ROWS)
		*next = from.before;
	return OK;
}

/* ---- export ---- */

static void csv_text(FILE *out, const char *s)
{
	putc('"', out);
	if (*s && strchr("=+-@\t\r", *s))
		putc('\'', out);
	for (; *s; s++) {
		if (*s == '"')
			putc('"', out);
		putc(*s, out);
	}
	putc('"', out);
}

static void csv_line(FILE *out, const struct ledger_entry *e)
{
	const char *const texts[] = {e->person_name, e->person_id,     e->action, e->thing,
				     e->thing_id,    e->label,	       e->reason, e->before_json,
				     e->after_json,  e->previous_hash, e->hash};
	char at[TIME_TEXT_SIZE];

	time_to_text(e->at, at);
	fprintf(out, "%" PRId64 ",%s", e->number, at);
	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
		putc(',', out);
		if (texts[i])
			csv_text(out, texts[i]);
	}
	fputs("\r\n", out);
}

/* The entry as it is hashed, and its hash as one more member at the end. */
static enum status json_line(FILE *out, const struct ledger_entry *e, struct arena *a, struct err *err)
{
	const char *text = ledger_canonical(e, a);

	if (!text)
		return err_set(err, NO_MEMORY, "", "out of memory");
	fprintf(out, "%.*s,\"hash\":\"%s\"}\n", (int)strlen(text) - 1, text, e->hash);
	return OK;
}

static enum status export_rows(const struct ledger_entry *rows, size_t n, const struct ledger_filter *f,
			       enum ledger_format format, FILE *out, struct arena *a, struct err *err)
{
	enum status rc = OK;

	for (size_t i = 0; i < n && !rc; i++) {
		if (!concerns(&rows[i], f->field))
			continue;
		if (format == LEDGER_CSV)
			csv_line(out, &rows[i]);
		else
			rc = json_line(out, &rows[i], a, err);
	}
	return rc;
}

enum status ledger_export(struct db *db, const struct ledger_filter *f, enum ledger_format format, FILE *out,
			  struct err *err)
{
	struct ledger_entry rows[LOOK_ROWS];
	struct arena a = {0};
	int64_t after = 0;
	size_t n = LOOK_ROWS;
	enum status rc = OK;

	if (format == LEDGER_CSV)
		fputs("number,at,person,person_id,action,thing,thing_id,label,reason,before,after,previous_hash,hash\r\n",
		      out);
	while (!rc && n == LOOK_ROWS && !ferror(out)) {
		rc = store_ledger_pick(db, f, after, &a, rows, LOOK_ROWS, &n, err);
		if (!rc && n)
			rc = export_rows(rows, n, f, format, out, &a, err);
		if (n)
			after = rows[n - 1].number;
		arena_clear(&a);
	}
	arena_clear(&a);
	if (!rc && (fflush(out) || ferror(out)))
		rc = err_set(err, FAILED, "", "the ledger cannot be written out: the disk may be full");
	return rc;
}
