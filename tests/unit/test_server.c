#include "unit/server_fixture.h"

static void what_is_asked_reaches_the_handler(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(ask(f, "GET", "/api/v1/tell?a=1&q=20-FT%2B1+x%25&q=second",
			     "User-Agent: tablet\r\nCookie: other=1; loopledger_session=abc-DEF_1\r\n"),
			 200);
	assert_string_equal(content(f), "{\"q\":\"20-FT+1 x%\",\"agent\":\"tablet\",\"cookie\":\"abc-DEF_1\","
					"\"remote\":\"127.0.0.1\",\"size\":0,\"tenth\":0.1}");
	assert_string_equal(header(f, "Content-Type"), "application/json");
	assert_string_equal(header(f, "Cache-Control"), "no-store");
	ask(f, "GET", "/api/v1/tell?q", "");
	assert_non_null(strstr(content(f), "\"q\":\"\""));
	ask(f, "GET", "/api/v1/tell?q=%ff", "");
	assert_non_null(strstr(content(f), "\"q\":null"));
}

static void only_one_plain_session_cookie_counts(void **state)
{
	static const char *const cookies[] = {
		"",
		"Cookie: loopledger_session=\r\n",
		"Cookie: loopledger_session=a; loopledger_session=b\r\n",
		"Cookie: loopledger_session=a.b\r\n",
		"Cookie: xloopledger_session=a\r\n",
		"Cookie: loopledger_session=\"a\\\"b\"\r\n",
	};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof cookies / sizeof *cookies; i++) {
		assert_int_equal(ask(f, "GET", "/api/v1/tell", cookies[i]), 200);
		if (!strstr(content(f), "\"cookie\":null"))
			fail_msg("%s is taken as a session", cookies[i]);
	}
}

/* The policy that DESIGN asks for: our own scripts, the core as WebAssembly, no frames. */
static void every_reply_carries_the_rules_for_the_browser(void **state)
{
	static const char *const paths[] = {"/api/v1/tell", "/due.html", "/api/v1/%ff"};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
		ask(f, "GET", paths[i], "");
		assert_string_equal(header(f, "Content-Security-Policy"),
				    "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; object-src 'none'; "
				    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'");
		assert_string_equal(header(f, "X-Content-Type-Options"), "nosniff");
		assert_string_equal(header(f, "Referrer-Policy"), "same-origin");
		assert_string_equal(header(f, "Permissions-Policy"), "camera=(self)");
		assert_string_equal(header(f, "Cross-Origin-Opener-Policy"), "same-origin");
	}
}

static void a_page_is_sent_as_it_stands(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(ask(f, "GET", "/due.html", ""), 200);
	assert_string_equal(content(f), "<!doctype html>");
	assert_string_equal(header(f, "Content-Type"), "text/html; charset=utf-8");
	assert_string_equal(header(f, "Cache-Control"), "no-cache");
}

static void what_a_handler_says_beside_the_content_is_sent(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(post(f, "/api/v1/created", "application/json", "{}", 2), 201);
	assert_string_equal(content(f), "%PDF");
	assert_string_equal(header(f, "Location"), "/api/v1/things/7");
	assert_string_equal(header(f, "Set-Cookie"), "loopledger_session=abc; HttpOnly");
	assert_string_equal(header(f, "Content-Type"), "application/pdf");
	/* RFC 6266 section 5: the plain name first, the true one in UTF-8 after it */
	assert_string_equal(header(f, "Content-Disposition"),
			    "inline; filename=\"Pr__fung _7_.pdf\"; filename*=UTF-8''Pr%C3%BCfung%20%227%22.pdf");
}

/* RFC 9110 10.2.3 */
static void a_refusal_for_now_says_when_to_try_again(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(ask(f, "GET", "/api/v1/throttled", ""), 429);
	assert_string_equal(header(f, "Retry-After"), "90");
	assert_int_equal(ask(f, "GET", "/api/v1/busy", ""), 503);
	assert_string_equal(header(f, "Retry-After"), "2");
}

static void head_sends_the_headers_alone(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(ask(f, "HEAD", "/due.html", ""), 200);
	assert_string_equal(content(f), "");
	assert_string_equal(header(f, "Content-Length"), "15");
}

static void what_the_browser_has_already_is_not_sent_again(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(ask(f, "GET", "/api/v1/versioned", ""), 200);
	assert_string_equal(header(f, "ETag"), "\"v3\"");
	assert_int_equal(ask(f, "GET", "/api/v1/versioned", "If-None-Match: \"v2\"\r\n"), 200);
	assert_int_equal(ask(f, "GET", "/api/v1/versioned", "If-None-Match: \"v33\"\r\n"), 200);
	assert_int_equal(ask(f, "GET", "/api/v1/versioned", "If-None-Match: \"v3\"\r\n"), 304);
	assert_string_equal(content(f), "");
	assert_string_equal(header(f, "ETag"), "\"v3\"");
	assert_int_equal(ask(f, "GET", "/api/v1/versioned", "If-None-Match: \"v2\", W/\"v3\"\r\n"), 304);
	assert_int_equal(ask(f, "GET", "/api/v1/versioned", "If-None-Match: *\r\n"), 304);
}

static void a_method_the_path_does_not_take_is_named_with_those_it_does(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(ask(f, "DELETE", "/api/v1/tell", ""), 405);
	assert_string_equal(header(f, "Allow"), "GET, HEAD, POST");
	assert_string_equal(header(f, "Content-Type"), "application/problem+json");
}

static int ask_as(struct fixture *f, const char *host)
{
	char request[256];

	snprintf(request, sizeof request, "GET /due.html HTTP/1.1\r\n%s%s\r\nConnection: close\r\n\r\n",
		 host ? "Host: " : "X: ", host ? host : "");
	return exchange(f, request, strlen(request));
}

static void only_names_of_ours_are_answered(void **state)
{
	static const char *const ours[] = {"127.0.0.1", "127.0.0.1:8080", "localhost:1",
					   "LOCALHOST", "plant.test",	  "book.test:8080"};
	static const char *const foreign[] = {"evil.test",
					      "127.0.0.1.evil.test",
					      "localhost.evil.test:80",
					      "test",
					      "plant.tes",
					      "",
					      "plant.test, book.test",
					      "127.0.0.2",
					      "[::1]"};
	struct fixture *f = *state;

	for (size_t i = 0; i < sizeof ours / sizeof *ours; i++) {
		if (ask_as(f, ours[i]) != 200)
			fail_msg("%s is not answered", ours[i]);
	}
	for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++) {
		if (ask_as(f, foreign[i]) != 421)
			fail_msg("%s is answered", foreign[i]);
	}
	assert_int_not_equal(ask_as(f, NULL), 200);
}

static void an_address_that_is_no_text_leads_nowhere(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(ask(f, "GET", "/due%ff.html", ""), 404);
	assert_int_equal(ask(f, "GET", "/due%0d%0aX:1", ""), 404);
	assert_string_equal(header(f, "X"), "");
}

static void a_client_that_stops_half_way_holds_up_nobody(void **state)
{
	struct fixture *f = *state;
	int stuck[3];

	for (int i = 0; i < 3; i++)
		stuck[i] = dial(f->server);
	say(stuck[0], "GET /due.html HT", 16);
	say(stuck[1], "POST /api/v1/tell HTTP/1.1\r\nHost: localhost\r\nContent-Length: 50\r\n\r\n{\"a\":", 72);
	assert_int_equal(ask(f, "GET", "/due.html", ""), 200);
	for (int i = 0; i < 3; i++)
		close(stuck[i]);
	assert_int_equal(ask(f, "GET", "/due.html", ""), 200);
}

static void a_silent_client_is_cut_off(void **state)
{
	struct fixture *f = *state;
	int fd;

	http_server_stop(f->server);
	f->server = start(2, 1);
	fd = dial(f->server);
	say(fd, "GET /due.html HT", 16);
	assert_int_equal(hear(f, fd), 0); /* within the ten seconds this client waits */
	assert_int_equal(f->size, 0);
}

static void *stop(void *server)
{
	struct timespec pause = {.tv_nsec = 100000000};

	nanosleep(&pause, NULL);
	http_server_stop(server);
	return NULL;
}

static void what_has_begun_is_answered_before_the_server_stops(void **state)
{
	struct fixture *f = *state;
	pthread_t thread;

	assert_int_equal(pthread_create(&thread, NULL, stop, f->server), 0);
	assert_int_equal(ask(f, "GET", "/api/v1/slow", ""), 204);
	pthread_join(thread, NULL);
	f->server = NULL;
}

static void a_server_that_cannot_listen_says_so(void **state)
{
	struct fixture *f = *state;
	struct http_config config = {
		.threads = 1, .body_max = 1, .routes = routes, .hooks = &hooks, .port = http_server_port(f->server)};
	struct http_server *second = NULL;
	struct err err = {0};

	assert_int_equal(http_server_start(&second, &config, &err), FAILED);
	assert_non_null(strstr(err.message, "cannot listen on 127.0.0.1"));
	config.listen = "plant";
	assert_int_equal(http_server_start(&second, &config, &err), INVALID);
	assert_null(second);
}

static void ipv6_is_listened_to_and_answered_by_its_address(void **state)
{
	struct http_config config = {
		.threads = 2, .body_max = 1000, .routes = routes, .hooks = &hooks, .listen = "::1"};
	struct sockaddr_in6 to = {.sin6_family = AF_INET6, .sin6_addr = in6addr_loopback};
	struct fixture *f = *state;
	struct err err = {0};
	int fd;

	http_server_stop(f->server);
	f->server = NULL;
	fd = socket(AF_INET6, SOCK_STREAM | SOCK_CLOEXEC, 0);
	if (fd < 0 || bind(fd, (struct sockaddr *)&to, sizeof to)) {
		close(fd);
		skip(); /* this machine has no IPv6 */
	}
	close(fd);
	assert_int_equal(http_server_start(&f->server, &config, &err), OK);
	to.sin6_port = htons(http_server_port(f->server));
	fd = socket(AF_INET6, SOCK_STREAM | SOCK_CLOEXEC, 0);
	assert_int_equal(connect(fd, (struct sockaddr *)&to, sizeof to), 0);
	say(fd, "GET / HTTP/1.1\r\nHost: [::1]:80\r\nConnection: close\r\n\r\n", 53);
	assert_int_equal(hear(f, fd), 200);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(what_is_asked_reaches_the_handler, setup, teardown),
		cmocka_unit_test_setup_teardown(only_one_plain_session_cookie_counts, setup, teardown),
		cmocka_unit_test_setup_teardown(every_reply_carries_the_rules_for_the_browser, setup, teardown),
		cmocka_unit_test_setup_teardown(a_page_is_sent_as_it_stands, setup, teardown),
		cmocka_unit_test_setup_teardown(what_a_handler_says_beside_the_content_is_sent, setup, teardown),
		cmocka_unit_test_setup_teardown(a_refusal_for_now_says_when_to_try_again, setup, teardown),
		cmocka_unit_test_setup_teardown(head_sends_the_headers_alone, setup, teardown),
		cmocka_unit_test_setup_teardown(what_the_browser_has_already_is_not_sent_again, setup, teardown),
		cmocka_unit_test_setup_teardown(a_method_the_path_does_not_take_is_named_with_those_it_does, setup,
						teardown),
		cmocka_unit_test_setup_teardown(only_names_of_ours_are_answered, setup, teardown),
		cmocka_unit_test_setup_teardown(an_address_that_is_no_text_leads_nowhere, setup, teardown),
		cmocka_unit_test_setup_teardown(a_client_that_stops_half_way_holds_up_nobody, setup, teardown),
		cmocka_unit_test_setup_teardown(a_silent_client_is_cut_off, setup, teardown),
		cmocka_unit_test_setup_teardown(what_has_begun_is_answered_before_the_server_stops, setup, teardown),
		cmocka_unit_test_setup_teardown(a_server_that_cannot_listen_says_so, setup, teardown),
		cmocka_unit_test_setup_teardown(ipv6_is_listened_to_and_answered_by_its_address, setup, teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
