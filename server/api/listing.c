#include "listing.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/time.h"

#define LIMIT_ABSENT 50
#define LIMIT_MOST   200

const char *listing_query(struct request *req, const char *name)
{
	const char *v = req->query(req, name);

	return v && *v ? v : NULL;
}

enum status listing_limit(struct request *req, int *limit, struct err *err)
{
	const char *text = listing_query(req, "limit");

	*limit = LIMIT_ABSENT;
	if (!text)
		return OK;
	if (strspn(text, "0123456789") == strlen(text) && strlen(text) <= 3)
		*limit = atoi(text);
	else
		*limit = 0;
	if (*limit < 1 || *limit > LIMIT_MOST)
		return err_set(err, INVALID, "limit", "limit must be a whole number from 1 to %d", LIMIT_MOST);
	return OK;
}

enum status listing_id(struct request *req, const char *name, const char **id, struct err *err)
{
	*id = listing_query(req, name);
	if (*id && !uuid_is_valid(*id))
		return err_set(err, INVALID, name, "%s must be an id", name);
	return OK;
}

enum status listing_word(struct request *req, const char *name, const char *const words[], const char **word,
			 struct err *err)
{
	const char *text = listing_query(req, name);
	char list[200] = "";

	*word = NULL;
	if (!text)
		return OK;
	for (size_t i = 0; words[i]; i++) {
		size_t length = strlen(list);

		if (!strcmp(words[i], text))
			*word = words[i];
		snprintf(list + length, sizeof list - length, "%s%s", i ? ", " : "", words[i]);
	}
	return *word ? OK : err_set(err, INVALID, name, "%s must be one of %s", name, list);
}

static enum status read_day(struct request *req, const char *name, bool *given, int32_t *day, struct err *err)
{
	const char *text = listing_query(req, name);

	*given = text != NULL;
	if (!text || date_from_text(text, day))
		return OK;
	return err_set(err, INVALID, name, "%s must be a day, as in 2026-11-25", name);
}

enum status listing_days(struct request *req, const char *from_name, const char *until_name, int64_t *from,
			 int64_t *until, struct err *err)
{
	int32_t first = 0, last = 0;
	bool has_first, has_last = false;
	enum status rc = read_day(req, from_name, &has_first, &first, err);

	if (!rc)
		rc = read_day(req, until_name, &has_last, &last, err);
	if (!rc && has_first && has_last && last < first)
		rc = err_set(err, INVALID, until_name, "%s comes before %s", until_name, from_name);
	*from = has_first ? time_of_date(first) : 0;
	*until = has_last ? time_of_date(last + 1) : 0;
	return rc;
}

enum status listing_reply(struct reply *reply, json_t *items, const char *next)
{
	return reply_json(reply, json_pack("{s:o, s:s?}", "items", items, "next", next));
}

enum status reply_json(struct reply *reply, json_t *json)
{
	reply->json = json;
	return json ? OK : err_set(&reply->err, NO_MEMORY, "", "out of memory");
}

enum status reply_row(struct reply *reply, int http_status, json_t *json, int version, const char *location,
		      const char *id)
{
	reply->http_status = http_status;
	http_etag(reply, version);
	if (http_status == 201 && location)
		snprintf(reply->location, sizeof reply->location, "/api/v1/%s/%s", location, id);
	return reply_json(reply, json);
}
