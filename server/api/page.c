/*
 * The pages, as they are built into the program: exact paths only, so nothing outside the table can be asked for. "/due" stands
 * for "/due.html" and "/" for the due page. They hold no data, so they are public; what they may show the API decides.
 */
#include "pages.h"

#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "api/api.h"
#include "api/handlers.h"
#include "base/text.h"

#define FIRST_PAGE   "/due.html"
#define MISSING_PAGE "/missing.html"
#define OPENAPI	     "/openapi.json"
#define FILE_MOST    (16 << 20)

/* fresh: asked for anew each time, and answered by 304 while the tag fits; the rest changes so rarely that a day does no harm. */
static const struct {
	const char *ending, *type;
	bool fresh;
} kinds[] = {
	{".html", "text/html; charset=utf-8", true},
	{".css", "text/css; charset=utf-8", true},
	{".js", "text/javascript; charset=utf-8", true},
	{".json", "application/json", true},
	{".wasm", "application/wasm", true},
	{".svg", "image/svg+xml", false},
	{".png", "image/png", false},
	{".ico", "image/vnd.microsoft.icon", false},
	{".woff2", "font/woff2", false},
	{".webmanifest", "application/manifest+json", true},
	{".txt", "text/plain; charset=utf-8", true},
};

struct entry {
	const struct page *page;
	char etag[40];
};

static struct entry *table; /* by path; made once, kept while the program runs */
static pthread_once_t made = PTHREAD_ONCE_INIT;

static int by_path(const void *a, const void *b)
{
	return strcmp(((const struct entry *)a)->page->path, ((const struct entry *)b)->page->path);
}

static void make_table(void)
{
	char hash[SHA256_HEX_SIZE];

	table = calloc((size_t)pages_count, sizeof *table);
	for (int i = 0; table && i < pages_count; i++) {
		table[i].page = &pages[i];
		sha256_hex(pages[i].start, (size_t)(pages[i].end - pages[i].start), hash);
		snprintf(table[i].etag, sizeof table[i].etag, "\"%.32s\"", hash);
	}
	if (table)
		qsort(table, (size_t)pages_count, sizeof *table, by_path);
}

static const struct entry *find(const char *path)
{
	struct page page = {.path = path};
	struct entry key = {.page = &page};

	pthread_once(&made, make_table);
	return table ? bsearch(&key, table, (size_t)pages_count, sizeof *table, by_path) : NULL;
}

static void set_kind(struct reply *reply, const char *path)
{
	const char *ending = strrchr(path, '.');

	reply->content_type = "application/octet-stream";
	reply->cache = "no-cache";
	for (size_t i = 0; ending && i < sizeof kinds / sizeof *kinds; i++) {
		if (strcmp(kinds[i].ending, ending) != 0)
			continue;
		reply->content_type = kinds[i].type;
		reply->cache = kinds[i].fresh ? "no-cache" : "max-age=86400";
	}
}

static void give(struct reply *reply, const struct entry *e)
{
	set_kind(reply, e->page->path);
	reply->borrowed = (const char *)e->page->start;
	reply->size = (size_t)(e->page->end - e->page->start);
	memcpy(reply->etag, e->etag, sizeof e->etag);
}

enum status api_openapi(struct request *req, struct reply *reply)
{
	const struct entry *e = find(OPENAPI);

	(void)req;
	if (!e)
		return err_set(&reply->err, NOT_FOUND, "", "the description is not built in");
	give(reply, e);
	return OK;
}

/* Both spellings of a page's path: as asked for, and with the ending that people leave out. NULL for no memory. Of a certificate's
 * printed address the number is for the page itself to read. */
static const char *with_ending(struct request *req)
{
	static const char verify[] = "/verify/";

	if (!strncmp(req->path, verify, sizeof verify - 1) && !strchr(req->path + sizeof verify - 1, '/'))
		return "/verify.html";
	return strcmp(req->path, "/") ? arena_printf(&req->arena, "%s.html", req->path) : FIRST_PAGE;
}

static bool is_plain_page(const char *path)
{
	return strcmp(path, OPENAPI) != 0; /* that one stands under /api/v1 */
}

static enum status from_table(struct request *req, const char *longer, struct reply *reply)
{
	const struct entry *e = is_plain_page(req->path) ? find(req->path) : NULL;

	if (!e)
		e = find(longer);
	if (e) {
		give(reply, e);
		return OK;
	}
	e = find(MISSING_PAGE);
	if (!e)
		return err_set(&reply->err, NOT_FOUND, "", "there is no page at %s", req->path);
	give(reply, e);
	reply->etag[0] = '\0';
	reply->http_status = 404;
	return OK;
}

/* ---- pages from a folder, for working on them ---- */

static enum status read_whole(int fd, size_t size, struct reply *reply)
{
	size_t done = 0;
	ssize_t n = 1;

	reply->bytes = malloc(size + 1);
	while (reply->bytes && done < size && n > 0) {
		n = read(fd, reply->bytes + done, size - done);
		done += n > 0 ? (size_t)n : 0;
	}
	if (!reply->bytes || n < 0)
		return err_set(&reply->err, FAILED, "", "a page could not be read");
	reply->size = done;
	return OK;
}

static bool has_ending(const char *path, const char *ending)
{
	size_t n = strlen(path), m = strlen(ending);

	return n >= m && !strcmp(path + n - m, ending);
}

/* NOT_FOUND also for what lies outside the folder, by .. or by a link. */
static enum status from_file(const char *folder, const char *path, struct reply *reply)
{
	char top[PATH_MAX], whole[PATH_MAX], real[PATH_MAX];
	struct stat st;
	enum status rc = NOT_FOUND;
	size_t length;
	int fd;

	if (!realpath(folder, top) || snprintf(whole, sizeof whole, "%s%s", top, path) >= (int)sizeof whole ||
	    !realpath(whole, real))
		return NOT_FOUND;
	length = strlen(top);
	if (strncmp(real, top, length) != 0 || real[length] != '/')
		return NOT_FOUND;
	fd = open(real, O_RDONLY | O_CLOEXEC);
	if (fd < 0)
		return NOT_FOUND;
	if (!fstat(fd, &st) && S_ISREG(st.st_mode) && st.st_size <= FILE_MOST)
		rc = read_whole(fd, (size_t)st.st_size, reply);
	close(fd);
	if (!rc) {
		set_kind(reply, real);
		reply->cache = NULL;
	}
	return rc;
}

static enum status from_folder(const char *folder, struct request *req, const char *longer, struct reply *reply)
{
	const struct entry *built = has_ending(req->path, ".wasm") ? find(req->path) : NULL;
	enum status rc = from_file(folder, req->path, reply);

	if (rc == NOT_FOUND)
		rc = from_file(folder, longer, reply);
	if (rc == NOT_FOUND && built) { /* compiled, so it lies in no folder of pages */
		give(reply, built);
		return OK;
	}
	if (rc != NOT_FOUND)
		return rc;
	rc = from_file(folder, MISSING_PAGE, reply);
	if (rc)
		return err_set(&reply->err, NOT_FOUND, "", "there is no page at %s", req->path);
	reply->http_status = 404;
	return OK;
}

enum status api_page(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	const char *longer = with_ending(req);

	if (!strncmp(req->path, "/api/", 5))
		return err_set(&reply->err, NOT_FOUND, "", "there is nothing at %s", req->path);
	if (!longer)
		return err_set(&reply->err, NO_MEMORY, "", "out of memory");
	return app->static_dir ? from_folder(app->static_dir, req, longer, reply) : from_table(req, longer, reply);
}
