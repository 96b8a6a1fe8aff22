/* One POST to a time stamp authority: http or https alone, no redirects, a limit on time and size. */
#include <curl/curl.h>
#include <pthread.h>
#include <string.h>
#include <strings.h>
#include "seal_stamp_internal.h"

static pthread_once_t once = PTHREAD_ONCE_INIT;

static void start(void)
{
	curl_global_init(CURL_GLOBAL_DEFAULT);
}

struct answer {
	struct bytes *body;
	size_t max;
	bool too_long;
};

static size_t take(char *data, size_t size, size_t count, void *context)
{
	struct answer *a = context;

	if (a->body->size + size * count > a->max) {
		a->too_long = true;
		return 0;
	}
	bytes_add(a->body, data, size * count);
	return a->body->failed ? 0 : size * count;
}

static enum status explain(CURLcode code, long status, const struct answer *a, const char *url, struct err *err)
{
	if (a->too_long)
		return err_set(err, BUSY, "", "the time stamp authority %.150s sends more than a time stamp", url);
	if (code == CURLE_OPERATION_TIMEDOUT)
		return err_set(err, BUSY, "", "the time stamp authority %.150s does not answer in time", url);
	if (code != CURLE_OK)
		return err_set(err, BUSY, "", "the time stamp authority %.150s cannot be reached: %s", url,
			       curl_easy_strerror(code));
	return err_set(err, BUSY, "", "the time stamp authority %.150s answers with HTTP status %ld", url, status);
}

static void set_up(CURL *curl, const char *url, struct curl_slist *headers, const char *body, size_t size,
		   long timeout_ms, struct answer *answer)
{
	curl_easy_setopt(curl, CURLOPT_URL, url);
	curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "http,https");
	curl_easy_setopt(curl, CURLOPT_FOLLOWLOCATION, 0L);
	curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
	curl_easy_setopt(curl, CURLOPT_TIMEOUT_MS, timeout_ms);
	curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT_MS, timeout_ms);
	curl_easy_setopt(curl, CURLOPT_HTTPHEADER, headers);
	curl_easy_setopt(curl, CURLOPT_POSTFIELDS, body);
	curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE, (long)size);
	curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, take);
	curl_easy_setopt(curl, CURLOPT_WRITEDATA, answer);
}

enum status seal_http_post(const char *url, const char *type, const char *body, size_t size, long timeout_ms,
			   size_t max, struct bytes *out, struct err *err)
{
	struct answer answer = {.body = out, .max = max};
	struct curl_slist *headers;
	CURLcode code;
	CURL *curl;
	long status = 0;

	if (!url || (strncasecmp(url, "http://", 7) != 0 && strncasecmp(url, "https://", 8) != 0))
		return err_set(err, INVALID, "url",
			       "the address of a time stamp authority begins with http:// or https://");
	pthread_once(&once, start);
	curl = curl_easy_init();
	headers = curl_slist_append(NULL, type);
	if (!curl || !headers) {
		curl_slist_free_all(headers);
		curl_easy_cleanup(curl);
		return err_set(err, NO_MEMORY, "", "out of memory");
	}
	set_up(curl, url, headers, body, size, timeout_ms, &answer);
	code = curl_easy_perform(curl);
	curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &status);
	curl_easy_cleanup(curl);
	curl_slist_free_all(headers);
	return code == CURLE_OK && status == 200 ? OK : explain(code, status, &answer, url, err);
}
