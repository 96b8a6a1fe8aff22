#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "http/http.h"

enum status http_if_match(struct request *req, int *version, struct err *err)
{
	const char *tag = req->header ? req->header(req, "If-Match") : NULL;
	unsigned long v;
	char *end;

	if (!tag)
		return err_set(err, MATCH_REQUIRED, "",
			       "this change needs an If-Match header with the version that was read");
	if (!strncmp(tag, "\"v", 2) && tag[2] >= '1' && tag[2] <= '9') {
		v = strtoul(tag + 2, &end, 10);
		if (v <= INT_MAX && !strcmp(end, "\"")) {
			*version = (int)v;
			return OK;
		}
	}
	return err_set(err, STALE, "", "the If-Match header does not name a version of this record");
}

void http_etag(struct reply *reply, int version)
{
	snprintf(reply->etag, sizeof reply->etag, "\"v%d\"", version);
}
