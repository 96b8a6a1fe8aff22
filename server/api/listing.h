/* Lists by cursor: ?limit= and ?after=, answered with {"items", "next"}. */
#ifndef API_LISTING_H
#define API_LISTING_H

#include "http/http.h"

/* ?limit= as a number of 1 to 200, 50 when absent. INVALID otherwise. */
enum status listing_limit(struct request *req, int *limit, struct err *err);
/* A query parameter; NULL when absent or empty. */
const char *listing_query(struct request *req, const char *name);
/* A query parameter that is an id; INVALID when it is none. */
enum status listing_id(struct request *req, const char *name, const char **id, struct err *err);
/* A query parameter that is one of these words (NULL at the end); INVALID otherwise. */
enum status listing_word(struct request *req, const char *name, const char *const words[], const char **word,
			 struct err *err);
/* Query parameters that are days, "2026-11-25", as times: from the beginning of the one to the end of the other, in the plant's
 * time zone. 0 where one is absent. INVALID when one is no day, or until comes before from. */
enum status listing_days(struct request *req, const char *from_name, const char *until_name, int64_t *from,
			 int64_t *until, struct err *err);
/* The reply: items is stolen, next is NULL at the end. */
enum status listing_reply(struct reply *reply, json_t *items, const char *next);

/* Fills reply->json (stolen); NO_MEMORY when it is NULL. */
enum status reply_json(struct reply *reply, json_t *json);
/* The same for a new or changed row: with its ETag, and its Location when it is new and can be asked for (location not NULL). */
enum status reply_row(struct reply *reply, int http_status, json_t *json, int version, const char *location,
		      const char *id);

#endif
