#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/api.h"
#include "api/handlers.h"
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

enum status api_ledger_list(struct request *req, struct reply *reply)
{
	struct ledger_filter f = {.thing = req->query(req, "thing"),
				  .thing_id = req->query(req, "thing_id"),
				  .person_id = req->query(req, "person"),
				  .q = req->query(req, "q")};
	struct ledger_entry *rows;
	char next[24] = "";
	json_t *items;
	int limit;
	size_t n;
	enum status rc = listing_limit(req, &limit, &reply->err);

	if (!rc)
		rc = read_cursor(req, &f.before, &reply->err);
	if (rc)
		return rc;
	rows = arena_alloc(&req->arena, ((size_t)limit + 1) * sizeof *rows);
	if (!rows)
		return err_set(&reply->err, NO_MEMORY, "", "out of memory");
	rc = store_ledger_list(api_db(req), &f, &req->arena, rows, (size_t)limit + 1, &n, &reply->err);
	if (rc)
		return rc;
	if (n > (size_t)limit) {
		n = (size_t)limit;
		snprintf(next, sizeof next, "%" PRId64, rows[n - 1].number);
	}
	items = json_array();
	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, ledger_entry_to_json(&rows[i]));
	return listing_reply(reply, items, *next ? next : NULL);
}

enum status api_ledger_check(struct request *req, struct reply *reply)
{
	int64_t entries, first_bad;
	char head[65];
	enum status rc = ledger_check(api_db(req), &entries, &first_bad, head, &reply->err);

	if (rc)
		return rc;
	return reply_json(reply,
			  json_pack("{s:I, s:b, s:o, s:s}", "entries", (json_int_t)entries, "sound", first_bad == 0,
				    "first_bad", first_bad ? json_integer(first_bad) : json_null(), "head", head));
}
