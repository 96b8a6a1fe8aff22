/* How every write to a record ends: with the whole record, read again after the commit. */
#ifndef API_RECORD_REPLY_H
#define API_RECORD_REPLY_H

#include "api/api.h"

/* The record named by the path's first parameter, with its ETag, into the reply; http_status stays as it is. */
enum status record_reply(struct request *req, struct reply *reply);
/* For a write: the same after the commit, so that the writer is free meanwhile. rc other than OK is passed through. */
enum status record_reply_after(struct reply *reply, int http_status, enum status rc);
/* A body of no members, or none at all. */
enum status no_members(struct request *req, struct err *err);

#endif
