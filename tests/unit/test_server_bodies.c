/* What a request brings: JSON and nothing else, up to a limit that is known before it is read. */
#include "unit/server_fixture.h"

static void a_body_must_say_that_it_is_json_and_be_it(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(post(f, "/api/v1/tell", "application/json", "{\"a\":1}", 7), 200);
	assert_non_null(strstr(content(f), "\"size\":7"));
	assert_int_equal(post(f, "/api/v1/tell", "Application/JSON; charset=utf-8", "{\"a\":1}", 7), 200);
	assert_int_equal(post(f, "/api/v1/tell", NULL, "{\"a\":1}", 7), 415);
	assert_int_equal(post(f, "/api/v1/tell", "text/plain", "{\"a\":1}", 7), 415);
	assert_int_equal(post(f, "/api/v1/tell", "application/jsonx", "{\"a\":1}", 7), 415);
	assert_int_equal(post(f, "/api/v1/tell", "application/x-www-form-urlencoded", "a=1", 3), 415);
	assert_int_equal(post(f, "/api/v1/tell", NULL, "", 0), 200);
	assert_int_equal(post(f, "/api/v1/tell", "application/json", "{\"a\":", 5), 400);
	assert_non_null(strstr(content(f), "ends too early"));
	assert_int_equal(post(f, "/api/v1/tell", "application/json", "{\"a\":\"\0\"}", 9), 400);
	assert_non_null(strstr(content(f), "NUL"));
	assert_int_equal(post(f, "/api/v1/tell", "application/json", "{\"a\":\"\xff\"}", 9), 400);
	assert_non_null(strstr(content(f), "UTF-8"));
}

/* A JSON document of exactly size bytes: one long text. */
static char *long_document(size_t size)
{
	char *text = malloc(size + 1);

	memset(text, 'x', size);
	memcpy(text, "{\"a\":\"", 6);
	memcpy(text + size - 2, "\"}", 3);
	return text;
}

static void ten_megabytes_are_taken_and_one_byte_too_many_is_refused(void **state)
{
	struct fixture *f = *state;
	char *text = long_document(BODY_MAX + 1), most[80];

	snprintf(most, sizeof most, "too long: %d bytes are the most", (int)BODY_MAX);
	assert_int_equal(post(f, "/api/v1/tell", "application/json", text, BODY_MAX + 1), 413);
	assert_non_null(strstr(content(f), most));
	memcpy(text + BODY_MAX - 2, "\"}", 3);
	assert_int_equal(post(f, "/api/v1/tell", "application/json", text, BODY_MAX), 200);
	memcpy(text + (10 << 20) - 2, "\"}", 3);
	assert_int_equal(post(f, "/api/v1/tell", "application/json", text, 10 << 20), 200);
	assert_non_null(strstr(content(f), "\"size\":10485760"));
	free(text);
}

static void a_body_of_unknown_length_has_the_same_limit(void **state)
{
	static const char head[] = "POST /api/v1/tell HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
				   "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n";
	struct fixture *f = *state;
	char *text = long_document(1 << 20);
	int fd = dial(f->server);

	say(fd, head, strlen(head));
	say(fd, "7\r\n{\"a\":1}\r\n0\r\n\r\n", 17);
	assert_int_equal(hear(f, fd), 200);
	fd = dial(f->server);
	say(fd, head, strlen(head));
	for (int i = 0; i < 13; i++) {
		say(fd, "100000\r\n", 8);
		say(fd, text, 1 << 20);
		say(fd, "\r\n", 2);
	}
	say(fd, "0\r\n\r\n", 5);
	assert_int_equal(hear(f, fd), 413);
	free(text);
}

static void who_announces_far_too_much_or_asks_first_is_told_at_once(void **state)
{
	struct fixture *f = *state;

	assert_int_equal(
		ask(f, "POST", "/api/v1/tell", "Content-Type: application/json\r\nContent-Length: 99999999999\r\n"),
		413);
	assert_int_equal(ask(f, "POST", "/api/v1/tell",
			     "Content-Type: application/json\r\nExpect: 100-continue\r\n"
			     "Content-Length: 12582913\r\n"),
			 413);
}

/* A route that takes a file takes any bytes of any type, up to a limit of its own. */
static void a_file_is_taken_as_it_is(void **state)
{
	struct fixture *f = *state;
	char bytes[FILE_MAX + 1];

	for (size_t i = 0; i < sizeof bytes; i++)
		bytes[i] = (char)(i * 7);
	assert_int_equal(post(f, "/api/v1/file", "application/pdf", bytes, FILE_MAX), 200);
	assert_non_null(strstr(content(f), "\"size\":5000"));
	assert_int_equal(post(f, "/api/v1/file", NULL, bytes, 10), 200);
	assert_int_equal(post(f, "/api/v1/file", "application/json", "{", 1), 200);
	assert_int_equal(post(f, "/api/v1/file", "application/pdf", bytes, FILE_MAX + 1), 413);
	assert_int_equal(post(f, "/api/v1/tell", "application/pdf", bytes, 10), 415); /* and no other does */
}

/* Four files may be on their way at once; a fifth is told to wait, and what is no file goes on as ever. */
static void files_that_wait_take_no_room_from_other_requests(void **state)
{
	static const char head[] = "POST /api/v1/file HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
				   "Content-Length: 5000\r\n\r\n";
	struct fixture *f = *state;
	char bytes[FILE_MAX] = {0}, *text = long_document(BODY_MAX);
	int fd[4], refused = 0;

	for (int i = 0; i < 4; i++) {
		fd[i] = dial(f->server);
		say(fd[i], head, strlen(head));
		say(fd[i], bytes, FILE_MAX - 1);
	}
	/* What was said may still be on its way to the server, so the fifth asks until it meets the limit. */
	for (int i = 0; i < 1000 && !refused; i++)
		refused = post(f, "/api/v1/file", "application/pdf", bytes, FILE_MAX) == 503;
	assert_true(refused);
	assert_int_equal(post(f, "/api/v1/tell", "application/json", text, BODY_MAX), 200);
	for (int i = 0; i < 4; i++) {
		say(fd[i], bytes, 1);
		assert_int_equal(hear(f, fd[i]), 200);
	}
	assert_int_equal(post(f, "/api/v1/file", "application/pdf", bytes, FILE_MAX), 200);
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(a_body_must_say_that_it_is_json_and_be_it, setup, teardown),
		cmocka_unit_test_setup_teardown(ten_megabytes_are_taken_and_one_byte_too_many_is_refused, setup,
						teardown),
		cmocka_unit_test_setup_teardown(a_file_is_taken_as_it_is, setup, teardown),
		cmocka_unit_test_setup_teardown(files_that_wait_take_no_room_from_other_requests, setup, teardown),
		cmocka_unit_test_setup_teardown(a_body_of_unknown_length_has_the_same_limit, setup, teardown),
		cmocka_unit_test_setup_teardown(who_announces_far_too_much_or_asks_first_is_told_at_once, setup,
						teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
