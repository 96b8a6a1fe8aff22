#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/api.h"
#include "api/handlers.h"
#include "base/time.h"
#include "domain/ledger.h"
#include "listing.h"

/* The cursor is the number of the last entry shown. */
static enum status read_cursor(struct request *req, int64_t *before, struct err *err)
{
	const char *after = req->query(req, "after");

	*before = 0;
	if (!after)
		return OK;
	if (!*after || strspn(after, "0123456789") != strlen(after) || strlen(after) > 18)
		return err_set(err, INVALID, "after", "this is no place in the ledger");
	*before = strtoll(after, NULL, 10);
	return *before ? OK : err_set(err, INVALID, "after", "this is no place in the ledger");
}

static enum status read_filter(struct request *req, struct ledger_filter *f, struct err *err)
{
	*f = (struct ledger_filter){.thing = listing_query(req, "thing"),
				    .thing_id = listing_query(req, "thing_id"),
				    .person_id = listing_query(req, "person"),
				    .field = listing_query(req, "field"),
				    .q = listing_query(req, "q")};
	return listing_days(req, "from", "until", &f->from, &f->until, err);
}

enum status api_ledger_list(struct request *req, struct reply *reply)
{
	struct ledger_filter f;
	struct ledger_entry *rows;
	char next[24] = "";
	int64_t go_on;
	json_t *items;
	int limit;
	size_t n;
	enum status rc = listing_limit(req, &limit, &reply->err);

	if (!rc)
		rc = read_filter(req, &f, &reply->err);
	if (!rc)
		rc = read_cursor(req, &f.before, &reply->err);
	if (rc)
		return rc;
	rows = arena_alloc(&req->arena, (size_t)limit * sizeof *rows);
	if (!rows)
		return err_set(&reply->err, NO_MEMORY, "", "out of memory");
	rc = ledger_list(api_db(req), &f, &req->arena, rows, (size_t)limit, &n, &go_on, &reply->err);
	if (rc)
		return rc;
	if (go_on)
		snprintf(next, sizeof next, "%" PRId64, go_on);
	items = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, ledger_entry_to_json(&rows[i]));
	return listing_reply(reply, items, *next ? next : NULL);
}

enum status api_ledger_export(struct request *req, struct reply *reply)
{
	static const char *const formats[] = {"csv", "jsonl", NULL};
	struct ledger_filter f;
	const char *format;
	enum status rc = listing_word(req, "format", formats, &format, &reply->err);

	if (!rc)
		rc = read_filter(req, &f, &reply->err);
	if (rc)
		return rc;
	if (!format)
		return err_set(&reply->err, INVALID, "format", "say which format: csv or jsonl");
	reply->file = tmpfile();
	if (!reply->file)
		return err_set(&reply->err, FAILED, "", "no temporary file can be made: %s", strerror(errno));
	snprintf(reply->file_name, sizeof reply->file_name, "ledger.%s", format);
	reply->content_type = *format == 'c' ? "text/csv; charset=utf-8; header=present" : "application/jsonl";
	return ledger_export(api_db(req), &f, *format == 'c' ? LEDGER_CSV : LEDGER_JSON_LINES, reply->file,
			     &reply->err);
}

static json_t *sealed_to_json(const struct ledger_result *r)
{
	char at[TIME_TEXT_SIZE];

	if (!r->sealed_number)
		return json_null();
	time_to_text(r->sealed_at, at);
	return json_pack("{s:I, s:s, s:I}", "number", (json_int_t)r->sealed_number, "at", at, "checkpoints",
			 (json_int_t)r->checkpoints);
}

enum status api_ledger_check(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct ledger_result r;
	enum status rc = ledger_check(api_db(req), issuer_ledger_seal(app->issuer, app->store), &r, &reply->err);

	if (rc)
		return rc;
	return reply_json(reply, json_pack("{s:I, s:b, s:o, s:s?, s:s, s:o}", "entries", (json_int_t)r.entries, "sound",
					   r.first_bad == 0, "first_bad",
					   r.first_bad ? json_integer(r.first_bad) : json_null(), "why",
					   *r.why ? r.why : NULL, "head", r.head, "sealed", sealed_to_json(&r)));
}
