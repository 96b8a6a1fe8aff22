#include "support/api_fixture.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "base/time.h"
#include "domain/ledger.h"
#include "domain/password.h"
#include "domain/person.h"
#include "domain/session.h"
#include "support/openapi.h"

static const struct {
	const char *sign_in, *name;
	int roles;
} crew[CALLERS] = {
	[TECHNICIAN] = {"tessa", "Tessa Quill", ROLE_TECHNICIAN},
	[TECHNICIAN_2] = {"milo", "Milo Brandt-Osei", ROLE_TECHNICIAN},
	[LEAD] = {"leda", "Leda Marsh", ROLE_LEAD},
	[LEAD_2] = {"corin", "Corin Vale", ROLE_LEAD},
	[AUDITOR] = {"ada", "Ada Fenwick", ROLE_AUDITOR},
	[ADMINISTRATOR] = {"root-anna", "Anna Holt", ROLE_ADMINISTRATOR},
	[LEAD_ADMINISTRATOR] = {"both", "Bo Thornley", ROLE_LEAD | ROLE_ADMINISTRATOR},
};

struct query {
	char names[8][32], values[8][200];
	int n;
};

/* What the connection of a request points at. */
struct line {
	const struct fixture *f;
	struct query query;
};

static const char *on_query(struct request *req, const char *name)
{
	struct line *l = req->connection;

	for (int i = 0; i < l->query.n; i++) {
		if (!strcmp(l->query.names[i], name))
			return l->query.values[i];
	}
	return NULL;
}

static const char *own_token(const struct fixture *f)
{
	if (f->without_token)
		return NULL;
	return f->token ? f->token : f->people[f->as].token[0] ? f->people[f->as].token : NULL;
}

static const char *on_header(struct request *req, const char *name)
{
	const struct fixture *f = ((struct line *)req->connection)->f;

	if (!strcasecmp(name, "Origin"))
		return f->origin;
	if (!strcasecmp(name, "Host"))
		return f->host ? f->host : "plant.example:8470";
	if (!strcasecmp(name, "X-Session-Token"))
		return own_token(f);
	if (!strcasecmp(name, "If-Match"))
		return f->if_match;
	if (!strcasecmp(name, "Idempotency-Key"))
		return f->idempotency_key;
	if (!strcasecmp(name, "Prefer"))
		return f->prefer;
	if (!strcasecmp(name, "Content-Type"))
		return "application/json";
	return NULL;
}

static void decode(const char *from, size_t length, char *to, size_t size)
{
	size_t n = 0;

	for (size_t i = 0; i < length; i++) {
		unsigned value = (unsigned char)from[i];

		assert_true(n + 1 < size);
		if (from[i] == '%' && i + 2 < length) {
			assert_int_equal(sscanf(from + i + 1, "%2x", &value), 1);
			i += 2;
		} else if (from[i] == '+') {
			value = ' ';
		}
		to[n++] = (char)value;
	}
	to[n] = '\0';
}

static void split_query(const char *text, struct query *q)
{
	while (text && *text) {
		size_t length = strcspn(text, "&"), name = strcspn(text, "=&");

		assert_true(q->n < 8);
		decode(text, name, q->names[q->n], sizeof q->names[0]);
		if (name < length)
			decode(text + name + 1, length - name - 1, q->values[q->n], sizeof q->values[0]);
		q->n++;
		text += length + (text[length] == '&');
	}
}

static void clear_answer(struct fixture *f)
{
	cJSON_Delete(f->answer);
	free(f->text);
	f->answer = NULL;
	f->text = NULL;
}

static size_t reply_file_size(FILE *file)
{
	assert_int_equal(fseek(file, 0, SEEK_END), 0);
	return (size_t)ftell(file);
}

/* The bytes as they would go out. */
static void keep(struct fixture *f, const struct request *req, const struct reply *reply)
{
	struct arena a = {0};
	const char *text = reply->bytes ? reply->bytes : reply->borrowed;
	size_t size = reply->size;

	if (reply->file) {
		char *read = arena_alloc(&a, reply_file_size(reply->file) + 1);

		assert_non_null(read);
		size = reply_file_size(reply->file);
		rewind(reply->file);
		assert_int_equal(fread(read, 1, size, reply->file), size);
		text = read;
	}
	if (reply->json) {
		text = json_text(reply->json, &a);
		assert_non_null(text);
		size = strlen(text);
	}
	f->status = reply->http_status;
	f->size = text ? size : 0;
	f->text = calloc(1, f->size + 1);
	assert_non_null(f->text);
	if (text && strcmp(req->method, "HEAD") != 0)
		memcpy(f->text, text, f->size);
	if (reply->json) {
		f->answer = cJSON_ParseWithLength(f->text, f->size);
		assert_non_null(f->answer);
	}
	snprintf(f->content_type, sizeof f->content_type, "%s", reply->content_type ? reply->content_type : "");
	snprintf(f->cache, sizeof f->cache, "%s", reply->cache ? reply->cache : "");
	memcpy(f->etag, reply->etag, sizeof f->etag);
	memcpy(f->location, reply->location, sizeof f->location);
	memcpy(f->set_cookie, reply->set_cookie, sizeof f->set_cookie);
	memcpy(f->allow, reply->allow, sizeof f->allow);
	f->retry_after_s = reply->err.retry_after_s;
	arena_clear(&a);
}

static void hold(const cJSON *schema, const cJSON *json, const char *what, const struct request *req)
{
	char fault[300];

	if (!schema || openapi_fits(schema, json, fault, sizeof fault))
		return;
	print_error("docs/openapi.json does not fit the %s of %s %s: %s\n", what, req->method, req->path, fault);
	fail();
}

/* Whatever any test sends with success, and gets, must be what docs/openapi.json says. */
static void hold_against_description(const struct fixture *f, const struct request *req, const char *body)
{
	const cJSON *operation = openapi_operation(req->method, req->path);
	cJSON *sent;

	if (!operation || f->status >= 300)
		return;
	if (f->answer)
		hold(openapi_answer(operation, f->status), f->answer, "answer", req);
	sent = body ? cJSON_Parse(body) : NULL;
	if (sent)
		hold(openapi_body(operation), sent, "body", req);
	cJSON_Delete(sent);
}

/* body is JSON, or nothing when req holds a file already. */
static void dispatch(struct fixture *f, struct request *req, const char *body)
{
	struct reply reply = {0};

	if (body) {
		req->body_text = body;
		req->body_size = strlen(body);
		req->body = json_parse(body, req->body_size, &reply.err);
		if (!req->body) /* a fault of the test itself; what the server does with it is tested over the socket */
			print_error("the body is no JSON: %s\n%s\n", reply.err.message, body);
		assert_non_null(req->body);
	}
	http_dispatch(api_routes, &api_hooks, req, &reply);
	keep(f, req, &reply);
	hold_against_description(f, req, body);
	json_decref(req->body);
	json_decref(reply.json);
	free(reply.bytes);
	if (reply.file)
		fclose(reply.file);
	arena_clear(&req->arena);
}

static cJSON *call_with(struct fixture *f, const char *method, const char *path, const char *body, const char *file,
			size_t size)
{
	struct line line = {.f = f};
	char plain[512];
	size_t length = strcspn(path, "?");
	const char *cookie = f->cookie ? f->cookie : f->people[f->as].cookie;
	struct request req = {
		.method = method,
		.path = plain,
		.query = on_query,
		.header = on_header,
		.cookie = *cookie ? cookie : NULL,
		.remote = f->remote ? f->remote : "192.0.2.7",
		.secure = f->secure,
		.app = &f->app,
		.connection = &line,
		.body_text = file,
		.body_size = size,
	};

	decode(path, length, plain, sizeof plain);
	split_query(path[length] ? path + length + 1 : NULL, &line.query);
	clear_answer(f);
	dispatch(f, &req, body);
	return f->answer;
}

cJSON *call(struct fixture *f, const char *method, const char *path, const char *body)
{
	return call_with(f, method, path, body, NULL, 0);
}

cJSON *call_file(struct fixture *f, const char *path, const void *bytes, size_t size)
{
	return call_with(f, "POST", path, NULL, bytes, size);
}

cJSON *call_as(struct fixture *f, enum caller as, const char *method, const char *path, const char *body)
{
	f->as = as;
	return call(f, method, path, body);
}

cJSON *callf(struct fixture *f, const char *method, const char *path, const char *body, ...)
{
	char *text;
	va_list ap;

	va_start(ap, body);
	assert_true(vasprintf(&text, body, ap) >= 0);
	va_end(ap);
	call(f, method, path, text);
	free(text);
	return f->answer;
}

cJSON *call_version(struct fixture *f, int version, const char *method, const char *path, const char *body)
{
	char tag[24];

	snprintf(tag, sizeof tag, "\"v%d\"", version);
	f->if_match = tag;
	call(f, method, path, body);
	f->if_match = NULL;
	return f->answer;
}

/* ---- a plant with its crew ---- */

struct entry {
	struct fixture *f;
	struct arena a;
	const char *hash;
	char key[100], seal[100];
	enum caller who;
};

static enum status add_crew(struct db *db, void *context, struct err *err)
{
	struct entry *e = context;

	for (int i = TECHNICIAN; i < CALLERS; i++) {
		struct person p = {.sign_in = crew[i].sign_in,
				   .name = crew[i].name,
				   .roles = crew[i].roles,
				   .password_hash = e->hash,
				   .active = true};
		enum status rc = person_add(db, NULL, &p, &e->a, err);

		if (rc)
			return rc;
		snprintf(e->f->people[i].id, sizeof e->f->people[i].id, "%s", p.id);
	}
	return OK;
}

static enum status open_session(struct db *db, void *context, struct err *err)
{
	struct entry *e = context;
	struct session_limits limits = {e->f->app.session_idle_ms, e->f->app.session_absolute_ms};
	struct opened_session opened;
	struct person p;
	enum status rc = store_person_get(db, e->f->people[e->who].id, &e->a, &p, err);

	if (!rc)
		rc = session_open(db, &p, "192.0.2.7", &limits, &e->a, &opened, err);
	if (rc)
		return rc;
	snprintf(e->f->people[e->who].cookie, sizeof e->f->people[e->who].cookie, "%s", opened.cookie);
	snprintf(e->f->people[e->who].token, sizeof e->f->people[e->who].token, "%s", opened.actor.token);
	return OK;
}

static void write_or_fail(struct fixture *f, store_job job, struct entry *e)
{
	struct err err = {0};
	enum status rc = store_write(f->app.store, job, e, &err);

	if (rc)
		print_error("fixture: %s\n", err.message);
	assert_int_equal(rc, OK);
}

void fixture_sign_in(struct fixture *f, enum caller who)
{
	struct entry e = {.f = f, .who = who};

	write_or_fail(f, open_session, &e);
	arena_clear(&e.a);
}

int fixture_setup(void **state)
{
	struct fixture *f = calloc(1, sizeof *f);
	struct entry e = {.f = f};
	struct err err = {0};

	assert_non_null(f);
	password_set_cost(1, 8192); /* the least there is: these tests are about rules, not about guessing */
	time_set_offset_ms(0);
	strcpy(f->folder, "/tmp/loopledger-test-XXXXXX");
	assert_non_null(mkdtemp(f->folder));
	snprintf(f->path, sizeof f->path, "%s/plant.db", f->folder);
	f->app = (struct app){
		.version = "test", .session_idle_ms = 2 * 3600 * 1000LL, .session_absolute_ms = 12 * 3600 * 1000LL};
	snprintf(e.seal, sizeof e.seal, "%s/seal", f->folder);
	f->app.issuer = issuer_new(&(struct issuer_config){.folder = e.seal, .program = "Loopledger test"});
	assert_non_null(f->app.issuer);
	issuer_set_port(f->app.issuer, 8470);
	assert_int_equal(store_open(&f->app.store, f->path, 2, &err), OK);
	f->app.batches = batches_new(f->app.store, f->app.issuer);
	assert_non_null(f->app.batches);
	assert_int_equal(live_new(&f->app.live, f->app.store, &err), OK);
	assert_int_equal(live_runs_new(&f->app.live_runs, f->app.store, f->app.live, NULL, &err), OK);
	snprintf(e.key, sizeof e.key, "%s/ledger.key", f->folder);
	assert_int_equal(ledger_open(f->app.store, e.key, &err), OK);
	assert_int_equal(password_hash(FIXTURE_PASSWORD, &e.a, &e.hash, &err), OK);
	write_or_fail(f, add_crew, &e);
	arena_clear(&e.a);
	for (int i = TECHNICIAN; i < CALLERS; i++)
		fixture_sign_in(f, (enum caller)i);
	*state = f;
	return 0;
}

int fixture_teardown(void **state)
{
	struct fixture *f = *state;
	char name[128];

	clear_answer(f);
	batches_free(f->app.batches);
	live_runs_free(f->app.live_runs);
	live_free(f->app.live);
	store_close(f->app.store);
	issuer_free(f->app.issuer);
	snprintf(name, sizeof name, "rm -r '%s'", f->folder);
	assert_int_equal(system(name), 0);
	free(f);
	time_set_offset_ms(0);
	return 0;
}

/* ---- reading answers ---- */

static const cJSON *step(const cJSON *json, const char *name, size_t length)
{
	char key[96];

	assert_true(length < sizeof key);
	memcpy(key, name, length);
	key[length] = '\0';
	if (cJSON_IsArray(json))
		return strspn(key, "0123456789") == length ? cJSON_GetArrayItem(json, atoi(key)) : NULL;
	return cJSON_GetObjectItemCaseSensitive(json, key);
}

const cJSON *at(const cJSON *json, const char *pointer)
{
	while (json && *pointer == '/') {
		size_t length = strcspn(pointer + 1, "/");

		json = step(json, pointer + 1, length);
		pointer += 1 + length;
	}
	return json;
}

const char *text_at(const cJSON *json, const char *pointer)
{
	const cJSON *v = at(json, pointer);

	if (!cJSON_IsString(v))
		print_error("no text at %s\n", pointer);
	assert_true(cJSON_IsString(v));
	return v->valuestring;
}

double number_at(const cJSON *json, const char *pointer)
{
	const cJSON *v = at(json, pointer);

	if (!cJSON_IsNumber(v))
		print_error("no number at %s\n", pointer);
	assert_true(cJSON_IsNumber(v));
	return v->valuedouble;
}

bool is_null_at(const cJSON *json, const char *pointer)
{
	return cJSON_IsNull(at(json, pointer));
}

void expect_status(const struct fixture *f, int status)
{
	if (f->status != status)
		print_error("the answer is %d, expected %d: %s\n", f->status, status, f->text);
	assert_int_equal(f->status, status);
}

void expect_refusal(const struct fixture *f, int status, const char *pointer)
{
	const cJSON *named = at(f->answer, "/errors/0/pointer");
	const char *found = cJSON_IsString(named) ? named->valuestring : NULL;

	expect_status(f, status);
	if (pointer ? !found || strcmp(found, pointer) : found != NULL)
		print_error("the refusal names %s, expected %s: %s\n", found ? found : "none",
			    pointer ? pointer : "none", f->text);
	if (!pointer)
		assert_null(found);
	else
		assert_string_equal(found ? found : "", pointer);
}

static sqlite3 *open_file(const struct fixture *f)
{
	sqlite3 *db;

	assert_int_equal(sqlite3_open(f->path, &db), SQLITE_OK);
	sqlite3_busy_timeout(db, 5000);
	return db;
}

void fixture_sql(const struct fixture *f, const char *sql)
{
	sqlite3 *db = open_file(f);
	char *message = NULL;

	if (sqlite3_exec(db, sql, NULL, NULL, &message))
		print_error("%s: %s\n", sql, message ? message : "");
	assert_null(message);
	sqlite3_close(db);
}

long long fixture_sql_int(const struct fixture *f, const char *sql)
{
	sqlite3 *db = open_file(f);
	sqlite3_stmt *q = NULL;
	long long value;

	assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &q, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_step(q), SQLITE_ROW);
	value = sqlite3_column_int64(q, 0);
	sqlite3_finalize(q);
	sqlite3_close(db);
	return value;
}
