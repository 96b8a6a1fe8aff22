#include "api/api.h"
#include "api/handlers.h"
#include "domain/password.h"
#include "domain/person.h"
#include "listing.h"

enum status api_people_list(struct request *req, struct reply *reply)
{
	json_t *items = json_array();
	struct person *people;
	size_t n;
	enum status rc = store_person_list(api_db(req), &req->arena, &people, &n, &reply->err);

	for (size_t i = 0; !rc && i < n; i++)
		json_array_append_new(items, person_to_json(&people[i]));
	if (!rc)
		return listing_reply(reply, items, NULL);
	json_decref(items);
	return rc;
}

static enum status add(struct request *req, struct reply *reply, void *context)
{
	struct person *person = context;
	enum status rc = person_add(api_db(req), api_actor(req), person, &req->arena, &reply->err);

	if (rc)
		return rc;
	return reply_row(reply, 201, person_to_json(person), person->version, "people", person->id);
}

enum status api_people_add(struct request *req, struct reply *reply)
{
	struct person person;
	const char *password;
	enum status rc = person_from_json(req->body, &person, &password, &req->arena, &reply->err);

	if (!rc)
		rc = password_hash(password, &req->arena, &person.password_hash, &reply->err);
	return rc ? rc : api_write(req, reply, add, &person);
}

enum status api_people_get(struct request *req, struct reply *reply)
{
	struct person person;
	enum status rc = store_person_get(api_db(req), req->params[0], &req->arena, &person, &reply->err);

	return rc ? rc : reply_row(reply, 200, person_to_json(&person), person.version, NULL, NULL);
}

enum status api_people_change(struct request *req, struct reply *reply)
{
	struct person person, before;
	int version;
	enum status rc = store_person_get(api_db(req), req->params[0], &req->arena, &before, &reply->err);

	if (!rc)
		rc = http_if_match(req, &version, &reply->err);
	if (!rc)
		rc = person_change_from_json(req->body, &person, &reply->err);
	if (rc)
		return rc;
	person.id = before.id;
	person.version = version;
	rc = person_change(api_db(req), api_actor(req), &person, &req->arena, &reply->err);
	return rc ? rc : reply_row(reply, 200, person_to_json(&person), person.version, NULL, NULL);
}

static enum status set_password(struct request *req, struct reply *reply, void *context)
{
	reply->http_status = 204;
	return person_set_password(api_db(req), api_actor(req), req->params[0], context, &req->arena, &reply->err);
}

enum status api_people_password(struct request *req, struct reply *reply)
{
	const char *password, *hash = NULL;
	struct json_in in;
	enum status rc;

	json_in_begin(&in, req->body, &reply->err);
	password = person_password(&in, "new_password");
	rc = json_in_end(&in);
	if (!rc)
		rc = password_hash(password, &req->arena, &hash, &reply->err);
	return rc ? rc : api_write(req, reply, set_password, (void *)(uintptr_t)hash);
}
