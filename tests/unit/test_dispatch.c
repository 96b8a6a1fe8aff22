#include "support/check.h"

#include <stdlib.h>
#include <string.h>

#include "http/http.h"

/* An application of which the test says how each hook answers, and which notes what it was asked. */
struct fixture {
	struct request req;
	struct reply reply;
	const char *origin, *host, *if_match;
	enum status identified, allowed, confirmed;
	bool token_fits, signed_in;
	char asked[64]; /* the hooks in the order of their calls: i a c r */
	const struct route *ran;
};

static const char *on_header(struct request *req, const char *name)
{
	struct fixture *f = req->app;

	if (!strcmp(name, "Origin"))
		return f->origin;
	if (!strcmp(name, "Host"))
		return f->host;
	return strcmp(name, "If-Match") ? NULL : f->if_match;
}

static enum status identify(struct request *req, struct err *err)
{
	struct fixture *f = req->app;

	strcat(f->asked, "i");
	req->actor = f->signed_in ? f : NULL;
	return f->identified ? err_set(err, f->identified, "", "cannot say who this is") : OK;
}

static enum status allow(const struct request *req, const struct route *route, struct err *err)
{
	struct fixture *f = req->app;

	(void)route;
	strcat(f->asked, "a");
	return f->allowed ? err_set(err, f->allowed, "", "only a lead may do this") : OK;
}

static bool token_fits(const struct request *req)
{
	return ((struct fixture *)req->app)->token_fits;
}

static enum status confirm(struct request *req, struct err *err)
{
	struct fixture *f = req->app;

	strcat(f->asked, "c");
	return f->confirmed ? err_set(err, f->confirmed, "password", "the password is wrong") : OK;
}

static enum status run(const struct route *route, struct request *req, struct reply *reply)
{
	struct fixture *f = req->app;

	strcat(f->asked, "r");
	f->ran = route;
	return route->handler(req, reply);
}

static const struct http_hooks hooks = {identify, allow, token_fits, confirm, run};

static enum status answer(struct request *req, struct reply *reply)
{
	(void)req;
	reply->json = json_pack("{s:s}", "answer", "yes");
	return OK;
}

static enum status fail_half_way(struct request *req, struct reply *reply)
{
	(void)req;
	reply->json = json_pack("{s:s}", "secret", "half");
	reply->bytes = strdup("half");
	strcpy(reply->set_cookie, "a=b");
	http_etag(reply, 3);
	return err_set(&reply->err, CONFLICT, "tag", "tag 20-FT-101 is already in use");
}

static enum status break_down(struct request *req, struct reply *reply)
{
	(void)req;
	return err_set(&reply->err, FAILED, "x", "disk sector 17 of /var/plant is unreadable");
}

static enum status answer_nothing(struct request *req, struct reply *reply)
{
	(void)req, (void)reply;
	return OK;
}

static enum status answer_no_content(struct request *req, struct reply *reply)
{
	(void)req;
	reply->http_status = 204;
	return OK;
}

static const struct route routes[] = {
	{"GET", "/api/v1/instruments", 1, ROUTE_READ, false, answer},
	{"POST", "/api/v1/instruments", 2, ROUTE_WRITE, false, answer},
	{"GET", "/api/v1/instruments/export", 1, ROUTE_READ, false, answer_no_content},
	{"GET", "/api/v1/instruments/{id}", 1, ROUTE_READ, false, answer},
	{"PATCH", "/api/v1/instruments/{id}", 2, ROUTE_WRITE, false, fail_half_way},
	{"GET", "/api/v1/records/{id}/runs/{kind}/readings/{point}", 1, ROUTE_READ, false, answer},
	{"POST", "/api/v1/records/{id}/sign", 2, ROUTE_WRITE, true, answer},
	{"GET", "/api/v1/broken", 1, ROUTE_READ, false, break_down},
	{"GET", "/api/v1/nothing", 1, ROUTE_READ, false, answer_nothing},
	{"GET", "*", 0, ROUTE_PLAIN, false, answer},
	{NULL, NULL, 0, ROUTE_PLAIN, false, NULL},
};

static int setup(void **state)
{
	struct fixture *f = *state = test_calloc(1, sizeof *f);

	f->host = "plant.test:8080";
	return 0;
}

static void finish(struct fixture *f)
{
	json_decref(f->reply.json);
	free(f->reply.bytes);
	arena_clear(&f->req.arena);
	f->reply = (struct reply){0};
	f->asked[0] = '\0';
	f->ran = NULL;
}

static int teardown(void **state)
{
	finish(*state);
	test_free(*state);
	return 0;
}

static int call(struct fixture *f, const char *method, const char *path)
{
	finish(f);
	f->req = (struct request){
		.method = method, .path = path, .header = on_header, .app = f, .cookie = f->signed_in ? "token" : NULL};
	http_dispatch(routes, &hooks, &f->req, &f->reply);
	return f->reply.http_status;
}

static const char *said(struct fixture *f, const char *member)
{
	const char *text = json_string_value(json_object_get(f->reply.json, member));

	return text ? text : "";
}

static void a_path_leads_to_its_route(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(call(f, "GET", "/api/v1/instruments"), 200);
	assert_ptr_equal(f->ran, &routes[0]);
	assert_int_equal(call(f, "POST", "/api/v1/instruments"), 200);
	assert_ptr_equal(f->ran, &routes[1]);
	assert_string_equal(said(f, "answer"), "yes");
}

static void what_stands_in_the_path_reaches_the_handler(void **state)
{
	struct fixture *f = *state;

	call(f, "GET", "/api/v1/records/r-1/runs/as_found/readings/12");
	assert_ptr_equal(f->ran, &routes[5]);
	assert_string_equal(f->req.params[0], "r-1");
	assert_string_equal(f->req.params[1], "as_found");
	assert_string_equal(f->req.params[2], "12");
	call(f, "GET", "/api/v1/instruments/abc");
	assert_string_equal(f->req.params[0], "abc");
	assert_null(f->req.params[1]);
	assert_int_equal(call(f, "GET", "/api/v1/instruments/export"), 204); /* the first that fits */
}

static void a_parameter_takes_one_whole_segment(void **state)
{
	static const char *const paths[] = {"/api/v1/instruments/", "/api/v1/instruments/a/b",
					    "/api/v1/instrumentsx", "/api/v1/records//runs/as_found/readings/1",
					    "/api/v1/instrument",   ""};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
		call(f, "GET", paths[i]);
		if (f->ran != &routes[9])
			fail_msg("%s is taken by %s", paths[i], f->ran ? f->ran->pattern : "nobody");
	}
}

static void head_is_answered_as_get(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(call(f, "HEAD", "/api/v1/instruments"), 200);
	assert_ptr_equal(f->ran, &routes[0]);
}

static void a_known_path_tells_which_methods_it_takes(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(call(f, "DELETE", "/api/v1/instruments/abc"), 405);
	assert_string_equal(f->reply.allow, "GET, HEAD, PATCH");
	assert_int_equal(call(f, "GET", "/api/v1/records/r-1/sign"), 405); /* not left to the pages */
	assert_string_equal(f->reply.allow, "POST");
	assert_string_equal(f->asked, "");
}

static void an_unknown_path_is_not_found(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(call(f, "POST", "/api/v1/nowhere"), 404);
	assert_string_equal(said(f, "detail"), "there is nothing at /api/v1/nowhere");
	assert_string_equal(f->reply.allow, "");
	assert_int_equal(call(f, "GET", "/due.html"), 200);
	assert_ptr_equal(f->ran, &routes[9]);
}

static void the_hooks_are_asked_in_order(void **state)
{
	struct fixture *f = *state;

	call(f, "POST", "/api/v1/records/r-1/sign");
	assert_string_equal(f->asked, "iacr");
	call(f, "GET", "/api/v1/instruments");
	assert_string_equal(f->asked, "iar");
	f->allowed = FORBIDDEN;
	assert_int_equal(call(f, "POST", "/api/v1/records/r-1/sign"), 403);
	assert_string_equal(f->asked, "ia");
	f->allowed = OK;
	f->confirmed = UNAUTHENTICATED;
	assert_int_equal(call(f, "POST", "/api/v1/records/r-1/sign"), 401);
	assert_string_equal(f->asked, "iac");
	f->identified = BUSY;
	assert_int_equal(call(f, "POST", "/api/v1/records/r-1/sign"), 503);
	assert_string_equal(f->asked, "i");
}

/* Who sends what, and whether the change is made: the rule in words stands above judge_origin. */
static void a_change_must_come_from_a_page_of_ours(void **state)
{
	static const struct {
		const char *label, *origin;
		bool signed_in, token_fits;
		int http_status;
	} rows[] = {
		{"a program without cookie and origin", NULL, false, false, 200},
		{"our sign-in page", "http://plant.test:8080", false, false, 200},
		{"a foreign page without session", "http://evil.test", false, false, 403},
		{"our page", "http://plant.test:8080", true, false, 200},
		{"our page behind TLS", "https://PLANT.test:8080", true, false, 200},
		{"a page of ours that sends no origin but the token", NULL, true, true, 200},
		{"a request with a cookie alone", NULL, true, false, 403},
		{"a foreign page with the cookie", "http://evil.test", true, false, 403},
		{"a foreign page with cookie and token", "http://evil.test", true, true, 403},
		{"another port of this machine", "http://plant.test:9999", true, false, 403},
		{"a page from a file", "null", true, false, 403},
		{"a name that begins like ours", "http://plant.test:8080.evil.test", true, false, 403},
		{"an origin without scheme", "plant.test:8080", true, false, 403},
	};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		f->origin = rows[i].origin;
		f->signed_in = rows[i].signed_in;
		f->token_fits = rows[i].token_fits;
		if (call(f, "POST", "/api/v1/instruments") != rows[i].http_status)
			fail_msg("%s: %d, expected %d", rows[i].label, f->reply.http_status, rows[i].http_status);
	}
	assert_int_equal(call(f, "GET", "/api/v1/instruments"), 200); /* reading is judged by permission alone */
}

/* RFC 9457 section 3. */
static void a_failure_becomes_problem_details_and_nothing_else(void **state)
{
	struct fixture *f = *state;
	json_t *first;

	assert_int_equal(call(f, "PATCH", "/api/v1/instruments/abc"), 409);
	assert_string_equal(f->reply.content_type, "application/problem+json");
	assert_string_equal(said(f, "type"), "/problems/conflict");
	assert_int_equal(json_integer_value(json_object_get(f->reply.json, "status")), 409);
	assert_string_equal(said(f, "detail"), "tag 20-FT-101 is already in use");
	first = json_array_get(json_object_get(f->reply.json, "errors"), 0);
	assert_string_equal(json_string_value(json_object_get(first, "pointer")), "/tag");
	assert_string_equal(json_string_value(json_object_get(first, "detail")), "tag 20-FT-101 is already in use");
	assert_null(json_object_get(f->reply.json, "secret"));
	assert_null(f->reply.bytes);
	assert_string_equal(f->reply.set_cookie, "");
	assert_string_equal(f->reply.etag, "");
}

static void a_failure_of_ours_is_told_to_the_log_not_to_the_browser(void **state)
{
	struct fixture *f = *state;
	char *text;

	assert_int_equal(call(f, "GET", "/api/v1/broken"), 500);
	text = json_dumps(f->reply.json, 0);
	assert_null(strstr(text, "sector"));
	assert_null(json_object_get(f->reply.json, "errors"));
	free(text);
}

static void an_answer_that_could_not_be_built_is_a_failure(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(call(f, "GET", "/api/v1/nothing"), 500);
	assert_int_equal(call(f, "GET", "/api/v1/instruments/export"), 204);
}

static void every_failure_has_its_http_status_and_title(void **state)
{
	static const struct {
		enum status status;
		int http_status; /* RFC 9110 section 15, RFC 6585 for 428 and 429 */
		const char *type;
	} rows[] = {
		{INVALID, 422, "/problems/invalid"},
		{UNAUTHENTICATED, 401, "/problems/unauthenticated"},
		{FORBIDDEN, 403, "/problems/forbidden"},
		{NOT_FOUND, 404, "/problems/not-found"},
		{CONFLICT, 409, "/problems/conflict"},
		{STALE, 412, "/problems/stale"},
		{MATCH_REQUIRED, 428, "/problems/match-required"},
		{TOO_MANY, 429, "/problems/too-many"},
		{BUSY, 503, "/problems/busy"},
		{NO_MEMORY, 500, "/problems/failed"},
		{FAILED, 500, "/problems/failed"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct err err = {.status = rows[i].status, .message = "why"};
		json_t *problem = http_problem(http_status_of(rows[i].status), &err);

		assert_int_equal(http_status_of(rows[i].status), rows[i].http_status);
		assert_string_equal(json_string_value(json_object_get(problem, "type")), rows[i].type);
		json_decref(problem);
	}
}

static enum status match(struct fixture *f, const char *tag, int *version)
{
	f->if_match = tag;
	f->req = (struct request){.header = on_header, .app = f};
	return http_if_match(&f->req, version, &f->reply.err);
}

static void if_match_names_the_version_that_was_read(void **state)
{
	struct fixture *f = *state;
	int version = 0;

	assert_int_equal(match(f, "\"v3\"", &version), OK);
	assert_int_equal(version, 3);
	assert_int_equal(match(f, "\"v2147483647\"", &version), OK);
	assert_int_equal(match(f, NULL, &version), MATCH_REQUIRED);
	assert_int_equal(match(f, "v3", &version), STALE);
	assert_int_equal(match(f, "\"v3", &version), STALE);
	assert_int_equal(match(f, "\"v0\"", &version), STALE);
	assert_int_equal(match(f, "\"v-1\"", &version), STALE);
	assert_int_equal(match(f, "\"v99999999999999999999\"", &version), STALE);
	assert_int_equal(match(f, "W/\"v3\"", &version), STALE); /* RFC 9110 13.1.1: the comparison is strong */
	assert_int_equal(match(f, "*", &version), STALE);
	http_etag(&f->reply, 12);
	assert_string_equal(f->reply.etag, "\"v12\"");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(a_path_leads_to_its_route, setup, teardown),
		cmocka_unit_test_setup_teardown(what_stands_in_the_path_reaches_the_handler, setup, teardown),
		cmocka_unit_test_setup_teardown(a_parameter_takes_one_whole_segment, setup, teardown),
		cmocka_unit_test_setup_teardown(head_is_answered_as_get, setup, teardown),
		cmocka_unit_test_setup_teardown(a_known_path_tells_which_methods_it_takes, setup, teardown),
		cmocka_unit_test_setup_teardown(an_unknown_path_is_not_found, setup, teardown),
		cmocka_unit_test_setup_teardown(the_hooks_are_asked_in_order, setup, teardown),
		cmocka_unit_test_setup_teardown(a_change_must_come_from_a_page_of_ours, setup, teardown),
		cmocka_unit_test_setup_teardown(a_failure_becomes_problem_details_and_nothing_else, setup, teardown),
		cmocka_unit_test_setup_teardown(a_failure_of_ours_is_told_to_the_log_not_to_the_browser, setup,
						teardown),
		cmocka_unit_test_setup_teardown(an_answer_that_could_not_be_built_is_a_failure, setup, teardown),
		cmocka_unit_test_setup_teardown(every_failure_has_its_http_status_and_title, setup, teardown),
		cmocka_unit_test_setup_teardown(if_match_names_the_version_that_was_read, setup, teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
