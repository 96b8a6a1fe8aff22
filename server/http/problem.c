/* One table turns outcomes into HTTP statuses, and problem details (RFC 9457) for people and programs. */
#include "http/http.h"

static const struct {
	int http_status;
	const char *type, *title;
} problems[] = {
	{400, "/problems/malformed", "the request cannot be read"},
	{401, "/problems/unauthenticated", "nobody is signed in"},
	{403, "/problems/forbidden", "not allowed"},
	{404, "/problems/not-found", "not found"},
	{405, "/problems/method", "this cannot be done here"},
	{409, "/problems/conflict", "the record's state does not allow this"},
	{412, "/problems/stale", "changed by somebody else meanwhile"},
	{413, "/problems/too-long", "the request is too long"},
	{415, "/problems/media-type", "another kind of document is expected"},
	{421, "/problems/host", "this server does not answer under that name"},
	{422, "/problems/invalid", "the request breaks a rule"},
	{428, "/problems/match-required", "say which version is meant"},
	{429, "/problems/too-many", "too many attempts"},
	{500, "/problems/failed", "something went wrong here"},
	{503, "/problems/busy", "busy"},
};

int http_status_of(enum status status)
{
	static const int by_status[] = {
		[OK] = 200,	   [INVALID] = 422,  [UNAUTHENTICATED] = 401, [FORBIDDEN] = 403,
		[NOT_FOUND] = 404, [CONFLICT] = 409, [STALE] = 412,	      [MATCH_REQUIRED] = 428,
		[TOO_MANY] = 429,  [BUSY] = 503,     [NO_MEMORY] = 500,	      [FAILED] = 500,
	};

	return by_status[status];
}

json_t *http_problem(int http_status, const struct err *err)
{
	const char *detail = err->message;
	size_t last = sizeof problems / sizeof *problems - 1, i = 0;
	json_t *problem;

	while (i < last && problems[i].http_status != http_status)
		i++;
	if (http_status == 500)
		detail = "The server could not do this. What happened stands in its log.";
	problem = json_pack("{s:s, s:s, s:i, s:s}", "type", problems[i].type, "title", problems[i].title, "status",
			    http_status, "detail", detail);
	if (problem && err->field[0] && http_status != 500)
		json_object_set_new(problem, "errors",
				    json_pack("[{s:s, s:s}]", "pointer", err->field, "detail", err->message));
	return problem;
}
