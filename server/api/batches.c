/* Batches of certificates: packed, printed or issued, many at once. */
#include "api/api.h"
#include "api/handlers.h"

#include <stdio.h>
#include <string.h>

#include "listing.h"
#include "report/batch.h"

static enum status read_records(struct json_in *in, enum batch_what what, const char *ids[BATCH_RECORDS_MAX], size_t *n)
{
	size_t most = what == BATCH_PRINT ? BATCH_PRINT_MAX : BATCH_RECORDS_MAX;
	json_t *list = json_in_array(in, "records", 1, most);

	*n = list ? json_array_size(list) : 0;
	for (size_t i = 0; i < *n; i++) {
		ids[i] = json_string_value(json_array_get(list, i));
		if (!ids[i] || !uuid_is_valid(ids[i]))
			json_in_reject_element(in, "records", i, "a record is named by its id");
	}
	return in->rc;
}

enum status api_batch_add(struct request *req, struct reply *reply)
{
	static const char *const whats[] = {"archive", "print", "issue", NULL};
	const struct app *app = req->app;
	const struct actor *actor = api_actor(req);
	const char *ids[BATCH_RECORDS_MAX];
	char id[UUID_SIZE];
	struct json_in in;
	enum status rc;
	size_t n;
	int what;

	json_in_begin(&in, req->body, &reply->err);
	what = json_in_word(&in, "what", whats);
	read_records(&in, what < 0 ? BATCH_ARCHIVE : (enum batch_what)what, ids, &n);
	rc = json_in_end(&in);
	if (rc)
		return rc;
	if (what == BATCH_ISSUE && !permission_granted(actor->roles, PERM_REVIEW))
		return err_set(&reply->err, FORBIDDEN, "/what", "you may not issue certificates");
	rc = batches_add(app->batches, actor, (enum batch_what)what, ids, n, id, &reply->err);
	if (!rc)
		rc = batches_look(app->batches, actor, id, &reply->json, &reply->err);
	if (rc)
		return rc;
	reply->http_status = 202;
	snprintf(reply->location, sizeof reply->location, "/api/v1/certificate-batches/%s", id);
	return OK;
}

enum status api_batch_get(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;

	return batches_look(app->batches, api_actor(req), req->params[0], &reply->json, &reply->err);
}

enum status api_batch_cancel(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;

	reply->http_status = 204;
	return batches_end(app->batches, api_actor(req), req->params[0], &reply->err);
}

enum status api_batch_file(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	char name[64];
	enum status rc = batches_file(app->batches, api_actor(req), req->params[0], &reply->file, name, &reply->err);

	if (rc)
		return rc;
	snprintf(reply->file_name, sizeof reply->file_name, "%s", name);
	reply->content_type = strstr(name, ".pdf") ? "application/pdf" : "application/zip";
	return OK;
}
