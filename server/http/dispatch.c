#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/log.h"
#include "http/http.h"
#include "http/stream.h"

static const char *header(struct request *req, const char *name)
{
	return req->header ? req->header(req, name) : NULL;
}

/* True when path fits pattern; what stands at each {..} goes to params, allocated from the request's arena. */
static bool match(struct request *req, const char *pattern, const char *path)
{
	int n = 0;

	memset(req->params, 0, sizeof req->params);
	while (*pattern && *path) {
		size_t length;
		char *param;

		if (*pattern != '{') {
			if (*pattern++ != *path++)
				return false;
			continue;
		}
		length = strcspn(path, "/");
		param = arena_alloc(&req->arena, length + 1);
		if (length == 0 || n == PATH_PARAMS_MAX || !param)
			return false;
		memcpy(param, path, length);
		req->params[n++] = param;
		path += length;
		pattern += strcspn(pattern, "}") + 1;
	}
	return *pattern == '\0' && *path == '\0';
}

/* "GET, HEAD, POST" */
static void add_allowed(char *allow, size_t size, const char *method)
{
	size_t at = strlen(allow);

	snprintf(allow + at, size - at, "%s%s%s", at ? ", " : "", method, strcmp(method, "GET") ? "" : ", HEAD");
}

static const struct route *find(const struct route *routes, struct request *req, struct reply *reply)
{
	const char *method = strcmp(req->method, "HEAD") ? req->method : "GET";
	const struct route *any = NULL;

	for (const struct route *r = routes; r->method; r++) {
		bool same = !strcmp(r->method, method);

		if (!strcmp(r->pattern, "*")) {
			if (same)
				any = r;
			continue;
		}
		if (!match(req, r->pattern, req->path))
			continue;
		if (same) {
			reply->allow[0] = '\0';
			return r;
		}
		add_allowed(reply->allow, sizeof reply->allow, r->method);
	}
	return reply->allow[0] ? NULL : any;
}

static bool changes_state(const char *method)
{
	return strcmp(method, "GET") != 0 && strcmp(method, "HEAD") != 0;
}

/* The browser names the page's origin; ours is what it asked for as Host. The scheme is left out of the comparison, since
 * TLS may end in front of us. */
static bool origin_is_ours(const char *origin, const char *host)
{
	const char *name = NULL;

	if (!strncmp(origin, "http://", 7))
		name = origin + 7;
	else if (!strncmp(origin, "https://", 8))
		name = origin + 8;
	return name && host && !strcasecmp(name, host);
}

/*
 * A foreign page can make a browser send our cookie along. So a change from another origin is always refused, and one
 * that rests on the cookie must show that it comes from a page of ours: by its origin or by the session's token, which
 * other pages cannot read. Programs that sign in by a token of their own send no cookie, and no Origin.
 */
static enum status judge_origin(const struct http_hooks *hooks, struct request *req, struct err *err)
{
	const char *origin = header(req, "Origin");

	if (!changes_state(req->method))
		return OK;
	if (origin && origin_is_ours(origin, header(req, "Host")))
		return OK;
	if (!origin && (!req->cookie || !req->actor || hooks->token_fits(req)))
		return OK;
	return err_set(err, FORBIDDEN, "", "this request did not come from one of our pages");
}

static enum status run(const struct route *routes, const struct http_hooks *hooks, struct request *req,
		       struct reply *reply)
{
	const struct route *route = find(routes, req, reply);
	enum status rc;

	if (!route && reply->allow[0])
		return err_set(&reply->err, NOT_FOUND, "", "%s cannot be done at %s", req->method, req->path);
	if (!route)
		return err_set(&reply->err, NOT_FOUND, "", "there is nothing at %s", req->path);
	rc = hooks->identify(req, &reply->err);
	if (!rc)
		rc = judge_origin(hooks, req, &reply->err);
	if (!rc)
		rc = hooks->allow(req, route, &reply->err);
	if (!rc && route->confirms)
		rc = hooks->confirm(req, &reply->err);
	if (!rc)
		rc = hooks->run(route, req, reply);
	return rc;
}

bool http_may_take_long(const struct route *routes, struct request *req)
{
	struct reply unused = {0};
	const struct route *route;

	if (changes_state(req->method))
		return true;
	route = find(routes, req, &unused);
	return route && route->mode == ROUTE_DRAW;
}

bool http_takes_file(const struct route *routes, struct request *req)
{
	struct reply unused = {0};
	const struct route *route = changes_state(req->method) ? find(routes, req, &unused) : NULL;

	return route && route->mode == ROUTE_FILE;
}

static bool has_content(const struct reply *reply)
{
	return reply->json || reply->bytes || reply->file || reply->borrowed || reply->stream;
}

/* Whatever a handler had prepared before it failed is not sent. */
static void replace_by_problem(struct reply *reply, int http_status)
{
	json_decref(reply->json);
	free(reply->bytes);
	if (reply->file)
		fclose(reply->file);
	http_stream_free(reply->stream);
	reply->stream = NULL;
	reply->bytes = NULL;
	reply->file = NULL;
	reply->borrowed = NULL;
	reply->size = 0;
	reply->etag[0] = reply->location[0] = reply->set_cookie[0] = reply->file_name[0] = '\0';
	reply->cache = NULL;
	reply->http_status = http_status;
	reply->content_type = "application/problem+json";
	reply->json = http_problem(http_status, &reply->err);
}

void http_dispatch(const struct route *routes, const struct http_hooks *hooks, struct request *req, struct reply *reply)
{
	enum status rc;

	reply->http_status = 200;
	rc = run(routes, hooks, req, reply);
	if (!rc && !has_content(reply) &&
	    (reply->http_status == 200 || (reply->http_status == 201 && !reply->location[0])))
		rc = err_set(&reply->err, FAILED, "", "the reply could not be built");
	if (!rc)
		return;
	if (http_status_of(rc) == 500)
		log_error("%s %s: %s", req->method, req->path, reply->err.message);
	replace_by_problem(reply, reply->allow[0] ? 405 : http_status_of(rc));
}
