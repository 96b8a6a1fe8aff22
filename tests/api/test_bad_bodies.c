/*
 * Every body that the server takes, spoiled in every member: another type, nothing there, a member nobody knows, 1e308, a day
 * that no calendar has, a text without end. What counts as spoiled is said by docs/openapi.json, not by the server. Each must
 * be refused with the member named, and nothing may have been written.
 */
#include "plant.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/openapi.h"

#define PASSWORD     "\"password\": \"" FIXTURE_PASSWORD "\""
#define LONG_TEXT    200000
#define POINTER_SIZE 160
#define BODY_SIZE    4000
#define TOLERANCE    "{\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": 1, \"minus\": 2}], \"join\": \"sum\"}"

struct spoiler {
	struct plant *p;
	const char *method, *path, *body;
	const cJSON *schema;
	int tried, wrong;
};

/* The body with the member at a pointer replaced (value is taken over), or removed when value is NULL. */
static cJSON *spoiled(const struct spoiler *s, const char *pointer, cJSON *value)
{
	cJSON *body = cJSON_Parse(s->body), *holder, *member;
	char parent[POINTER_SIZE];
	const char *name = strrchr(pointer, '/') + 1;

	snprintf(parent, sizeof parent, "%.*s", (int)(name - 1 - pointer), pointer);
	holder = (cJSON *)(uintptr_t)at(body, parent);
	member = (cJSON *)(uintptr_t)at(body, pointer);
	if (!member)
		cJSON_AddItemToObject(holder, name, value);
	else if (!value)
		cJSON_Delete(cJSON_DetachItemViaPointer(holder, member));
	else if (cJSON_IsArray(holder))
		cJSON_ReplaceItemInArray(holder, atoi(name), value);
	else
		cJSON_ReplaceItemInObjectCaseSensitive(holder, name, value);
	return body;
}

/* The pointer named is the spoiled member, or a place inside it. */
static bool names(const cJSON *found, const char *pointer)
{
	size_t length = strlen(pointer);

	return cJSON_IsString(found) && !strncmp(found->valuestring, pointer, length) &&
	       (found->valuestring[length] == '\0' || found->valuestring[length] == '/');
}

/* always: spoiled whatever the description says; else only when the body does not fit it any more. Takes value over. */
static void spoil(struct spoiler *s, const char *pointer, cJSON *value, bool always)
{
	struct fixture *f = s->p->f;
	cJSON *body = spoiled(s, pointer, value);
	char fault[300], *text = cJSON_PrintUnformatted(body);

	if (always || !openapi_fits(s->schema, body, fault, sizeof fault)) {
		call(f, s->method, s->path, text);
		if (f->status != 422 || !names(at(f->answer, "/errors/0/pointer"), pointer)) {
			print_error("%s %s, %s spoiled in %.300s: %d %.400s\n", s->method, s->path, pointer, text,
				    f->status, f->text);
			s->wrong++;
		}
		s->tried++;
	}
	free(text);
	cJSON_Delete(body);
}

static void of_another_type(struct spoiler *s, const char *pointer)
{
	spoil(s, pointer, cJSON_CreateNull(), false);
	spoil(s, pointer, cJSON_CreateTrue(), false);
	spoil(s, pointer, cJSON_CreateString("\"><script>alert(1)</script>"), false);
	spoil(s, pointer, cJSON_CreateNumber(-7.5), false);
	spoil(s, pointer, cJSON_CreateArray(), false);
	spoil(s, pointer, cJSON_CreateObject(), false);
	spoil(s, pointer, NULL, false);
}

static bool is_a_day(const char *text)
{
	return strlen(text) == 10 && text[4] == '-' && text[7] == '-';
}

/* A text that grew without end; of 10 MB once, for the rest enough to be beyond every limit. */
static void without_end(struct spoiler *s, const char *pointer)
{
	size_t size = s->tried % 50 == 0 ? 9u << 20 : LONG_TEXT;
	char *text = malloc(size + 1);

	assert_non_null(text);
	memset(text, 'w', size);
	text[size] = '\0';
	spoil(s, pointer, cJSON_CreateString(text), true);
	free(text);
}

static void walk(struct spoiler *s, const cJSON *value, const char *pointer)
{
	char inside[POINTER_SIZE];
	const cJSON *child;
	int i = 0;

	if (*pointer)
		of_another_type(s, pointer);
	if (cJSON_IsNumber(value))
		spoil(s, pointer, cJSON_CreateNumber(1e308), true);
	if (cJSON_IsString(value))
		without_end(s, pointer);
	if (cJSON_IsString(value) && is_a_day(value->valuestring))
		spoil(s, pointer, cJSON_CreateString("2026-02-30"), true);
	if (cJSON_IsObject(value)) {
		snprintf(inside, sizeof inside, "%s/unheard_of", pointer);
		spoil(s, inside, cJSON_CreateNumber(1), true);
	}
	cJSON_ArrayForEach(child, value)
	{
		if (child->string)
			snprintf(inside, sizeof inside, "%s/%s", pointer, child->string);
		else
			snprintf(inside, sizeof inside, "%s/%d", pointer, i++);
		walk(s, child, inside);
	}
}

/* ---- one good body of each kind ---- */

struct good {
	enum caller who;
	const char *method, *path;
	const char *body;
	int status; /* of the whole body */
};

/* What may stand between { and } in a path or a body: ids of the plant; "last" is what was added last. */
enum { AREA, VALVE, PROCEDURE, SCHEDULE, SOURCE, GAUGE, RECORD, PERSON, RULE, FINDING, HASH, LAST, IDS };
static const char *const names_of_ids[IDS] = {"area",	"valve",  "procedure", "schedule", "source", "gauge",
					      "record", "person", "rule",      "finding",  "hash",   "last"};

struct ids {
	char of[IDS][65];
};

static void fill(const char *from, const struct ids *ids, char *to, size_t size)
{
	size_t n = 0;

	while (*from) {
		bool found = false;

		for (size_t i = 0; i < IDS && *from == '{' && !found; i++) {
			size_t length = strlen(names_of_ids[i]);

			if (strncmp(from + 1, names_of_ids[i], length) != 0 || from[1 + length] != '}')
				continue;
			n += (size_t)snprintf(to + n, size - n, "%s", ids->of[i]);
			from += length + 2;
			found = true;
		}
		if (!found)
			to[n++] = *from++;
		assert_true(n < size - 1);
	}
	to[n] = '\0';
}

static void keep(char to[65], const char *id)
{
	snprintf(to, 65, "%s", id);
}

/* Spoils a good body in every way, shows that nothing was written, and then that the good one is taken. */
static int spoil_all(struct plant *p, struct ids *ids, const struct good *g)
{
	char path[200], body[BODY_SIZE];
	struct spoiler s = {.p = p, .method = g->method, .path = path, .body = body};
	cJSON *whole;
	long long entries;
	char fault[300];

	fill(g->path, ids, path, sizeof path);
	fill(g->body, ids, body, sizeof body);
	s.schema = openapi_body(openapi_operation(g->method, path));
	whole = cJSON_Parse(body);
	assert_non_null(whole);
	if (!openapi_fits(s.schema, whole, fault, sizeof fault))
		fail_msg("%s %s: the good body is none: %s", g->method, path, fault);
	p->f->as = g->who;
	p->f->if_match = !strcmp(g->method, "PUT") && !strstr(path, "/test-records/") ? "\"v1\"" : NULL;
	entries = fixture_sql_int(p->f, "SELECT count(*) FROM ledger_entry");
	walk(&s, whole, "");
	assert_int_equal(s.wrong, 0);
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM ledger_entry"), entries);
	call(p->f, g->method, path, body);
	expect_status(p->f, g->status);
	if (g->status == 201 && cJSON_IsString(at(p->f->answer, "/id")))
		keep(ids->of[LAST], text_of(p, "/id"));
	p->f->if_match = NULL;
	cJSON_Delete(whole);
	return s.tried;
}

#define POINTS_STEP                                                                                          \
	"{\"kind\": \"points\", \"title\": \"Travel\", \"percent\": [0, 50, 100], \"pattern\": \"up_down\"," \
	" \"cycles\": 1, \"settle_s\": 5, \"dead_band\": {\"percent\": [10, 50], \"limit\": 0.5}}"
#define DOCUMENT                                                                                          \
	"{\"title\": \"Valve\", \"purpose\": \"Travel\", \"kinds\": [\"control_valve\"],"                 \
	" \"preparation\": [\"Ask first\"], \"cautions\": [{\"id\": \"pinch\", \"text\": \"It moves\"}]," \
	" \"needs\": [{\"role\": \"input\", \"text\": \"Source\", \"optional\": false}],"                 \
	" \"steps\": [{\"kind\": \"checklist\", \"title\": \"Prove\", \"items\": [{\"id\": \"moves\","    \
	" \"text\": \"It moves\", \"apply\": 10}]}, " POINTS_STEP "],"                                    \
	" \"tolerance\": {\"as_found\": " TOLERANCE ", \"adjust\": null, \"as_left\": " TOLERANCE "},"    \
	" \"decision\": {\"rule\": \"guarded\", \"guard_factor\": 1}, \"environment\": false,"            \
	" \"adjustment\": \"Trim it\"}"
#define INSTRUMENT(TAG)                                                                                                   \
	"{\"tag\": \"" TAG "\", \"service\": \"Backwash\", \"kind\": \"control_valve\", \"area_id\": \"{area}\","         \
	" \"location\": \"Gallery\", \"maker\": \"Own\", \"model\": \"M\", \"serial\": \"1\","                            \
	" \"input\": {\"quantity\": \"current\", \"low\": 4, \"high\": 20, \"unit\": \"mA\"},"                            \
	" \"output\": {\"quantity\": \"travel\", \"low\": 0, \"high\": 100, \"unit\": \"%\"},"                            \
	" \"characteristic\": {\"kind\": \"linear\"}, \"loop\": {\"supply_v\": 24, \"device_v\": 9, \"series_ohm\": 250," \
	" \"cable_ohm\": 12, \"hart\": true}, \"hazards\": [\"It moves\"], \"status\": \"in_service\"}"
#define CALIBRATION                                                                                                    \
	"{\"certificate_number\": \"K-9\", \"issued_by\": \"A laboratory\", \"calibrated_on\": \"2024-01-10\","        \
	" \"valid_until\": \"2199-01-10\", \"low\": 0, \"high\": 24, \"unit\": \"mA\", \"expanded_uncertainty\": 0.1," \
	" \"coverage_factor\": 2, \"traceability\": \"National standards\"}"

static const struct good register_bodies[] = {
	{NOBODY, "POST", "/api/v1/setup",
	 "{\"plant_name\": \"A plant\", \"name\": \"Ann\", \"sign_in\": \"ann\", \"password\": \"a long enough one\"}",
	 409},
	{NOBODY, "POST", "/api/v1/session", "{\"sign_in\": \"tessa\", " PASSWORD "}", 201},
	{TECHNICIAN_2, "POST", "/api/v1/session/password",
	 "{" PASSWORD ", \"new_password\": \"another long enough one\"}", 204},
	{ADMINISTRATOR, "PUT", "/api/v1/settings",
	 "{\"plant_name\": \"A plant\", \"certificate_prefix\": \"APL\", \"paper\": \"letter\", \"plant_address\": \"Weir\", \"country\": \"GB\","
	 " \"public_address\": \"https://plant.example\"}",
	 200},
	{ADMINISTRATOR, "POST", "/api/v1/people",
	 "{\"sign_in\": \"ann\", \"name\": \"Ann\", \"roles\": [\"technician\", \"lead\"], \"password\": \"a long enough one\"}",
	 201},
	{ADMINISTRATOR, "PUT", "/api/v1/people/{person}",
	 "{\"name\": \"Ada Fenwick\", \"roles\": [\"auditor\"], \"active\": true}", 200},
	{ADMINISTRATOR, "POST", "/api/v1/people/{person}/password", "{\"new_password\": \"another long enough one\"}",
	 204},
	{LEAD, "POST", "/api/v1/areas", "{\"name\": \"Weir\", \"parent_id\": \"{area}\"}", 201},
	{LEAD, "PUT", "/api/v1/areas/{area}", "{\"name\": \"Hall\", \"parent_id\": null, \"position\": 2}", 200},
	{LEAD, "POST", "/api/v1/instruments", INSTRUMENT("FV-900"), 201},
	{LEAD, "PUT", "/api/v1/instruments/{valve}", INSTRUMENT("FV-301"), 200},
	{LEAD, "POST", "/api/v1/tolerance-rules", "{\"name\": \"Wide\", \"rule\": " TOLERANCE "}", 201},
	{LEAD, "PUT", "/api/v1/tolerance-rules/{rule}", "{\"name\": \"One\", \"rule\": " TOLERANCE "}", 200},
	{LEAD, "POST", "/api/v1/procedures", "{\"code\": \"CV-9\", \"document\": " DOCUMENT "}", 201},
	{LEAD, "PUT", "/api/v1/procedures/{last}/draft", "{\"document\": " DOCUMENT "}", 200},
	{LEAD, "POST", "/api/v1/procedures/{last}/approve", "{" PASSWORD ", \"content_sha256\": \"{hash}\"}", 409},
	{LEAD, "POST", "/api/v1/procedures/example", "{\"document\": " DOCUMENT ", \"instrument_id\": \"{valve}\"}",
	 200},
	{LEAD, "POST", "/api/v1/standards",
	 "{\"code\": \"MA-9\", \"name\": \"Source\", \"quantity\": \"current\", \"maker\": \"Own\", \"model\": \"M\","
	 " \"serial\": \"1\", \"calibration\": " CALIBRATION "}",
	 201},
	{LEAD, "POST", "/api/v1/standards/{source}/calibrations", CALIBRATION, 201},
	{LEAD, "PUT", "/api/v1/standards/{gauge}",
	 "{\"code\": \"PG-1\", \"name\": \"Gauge\", \"quantity\": \"pressure\", \"maker\": \"Own\", \"model\": \"M\","
	 " \"serial\": \"1\", \"status\": \"failed\", \"status_reason\": \"It fell\"}",
	 200},
	{LEAD, "POST", "/api/v1/instruments", INSTRUMENT("FV-901"), 201},
	{LEAD, "POST", "/api/v1/schedules",
	 "{\"instrument_id\": \"{last}\", \"procedure_id\": \"{procedure}\", \"interval_months\": 6,"
	 " \"due_on\": \"2027-01-31\", \"assigned_to\": null, \"evidence\": \"Habit\"}",
	 201},
	{LEAD, "PUT", "/api/v1/schedules/{schedule}",
	 "{\"interval_months\": 6, \"due_on\": \"2027-01-31\", \"active\": true, \"assigned_to\": null, \"evidence\": \"\"}",
	 200},
};

static const struct good test_bodies[] = {
	{TECHNICIAN, "POST", "/api/v1/test-records",
	 "{\"instrument_id\": \"{valve}\", \"procedure_id\": \"{procedure}\"}", 200},
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/cautions/bypass", "{}", 200},
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/cautions/hazard.1", "{}", 200},
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/standards",
	 "{\"standards\": [{\"role\": \"input\", \"standard_id\": \"{source}\"}]}", 200},
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/environment",
	 "{\"temperature_c\": 21.5, \"humidity_percent\": 45, \"pressure_hpa\": 1013}", 200},
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/notes", "{\"condition\": \"Clean\", \"remarks\": \"None\"}",
	 200},
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/checks/moves",
	 "{\"answer\": \"yes\", \"observed\": \"6 %\", \"note\": \"Slowly\"}", 200},
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/checks/hart", "{\"answer\": \"yes\"}", 200},
	{TECHNICIAN, "POST", "/api/v1/test-records/{record}/readings",
	 "{\"run\": \"as_found\", \"point\": 0, \"applied\": 4.0, \"observed\": 3.6,"
	 " \"taken_at\": \"2026-01-02T03:04:05.000Z\", \"client_verdict\": \"fail\"}",
	 201},
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/dead-band/0",
	 "{\"run\": \"as_found\", \"rising\": 12.02, \"falling\": 11.98}", 409},
};
static const struct good sign_bodies[] = {
	{TECHNICIAN, "PUT", "/api/v1/test-records/{record}/adjustment", "{\"made\": false, \"text\": \"None\"}", 200},
	{TECHNICIAN, "POST", "/api/v1/test-records/{record}/as-left", "{}", 409},
	{TECHNICIAN, "POST", "/api/v1/test-records/{record}/sign",
	 "{\"meaning\": \"performed\", " PASSWORD ", \"content_sha256\": \"{hash}\", \"remark\": \"Done\"}", 200},
};
static const struct good review_bodies[] = {
	{LEAD_2, "POST", "/api/v1/test-records/{record}/certificate", "{}", 409},
	{LEAD, "POST", "/api/v1/channels",
	 "{\"instrument_id\": \"{valve}\", \"side\": \"output\", \"period_ms\": 1000, \"source\": {\"protocol\": \"hart_ip_udp\","
	 " \"host\": \"127.0.0.1\", \"port\": 9, \"address\": 0, \"variable\": \"pv\", \"unit\": \"%\", \"timeout_ms\": 50}}",
	 201},
	{LEAD, "PUT", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c",
	 "{\"period_ms\": 1000, \"source\": {\"protocol\": \"scpi\", \"host\": \"127.0.0.1\", \"query\": \"READ?\", \"read_factor\": 1000,"
	 " \"set\": \"SOUR:CURR %s\", \"set_factor\": 0.001, \"unit\": \"mA\", \"drive\": {\"low\": 3.8, \"high\": 20.5, \"safe\": 4}}}",
	 404},
	{LEAD, "PUT", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c",
	 "{\"period_ms\": 1000, \"source\": {\"protocol\": \"modbus_rtu\", \"device\": \"/dev/ttyUSB0\", \"baud\": 9600,"
	 " \"parity\": \"even\", \"address\": 1, \"registers\": \"holding\", \"register\": 0, \"format\": \"i16\", \"scale\":"
	 " {\"raw_low\": 0, \"raw_high\": 27648, \"low\": 0, \"high\": 100}, \"set_register\": 1, \"unit\": \"mA\"}}",
	 404},
	{TECHNICIAN, "POST", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c/ask", "{}", 404},
	{TECHNICIAN, "POST", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c/confirm",
	 "{\"device_id\": \"f9fd-000001\"}", 404},
	{LEAD, "PUT", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c",
	 "{\"period_ms\": 1000, \"source\": {\"protocol\": \"hart_browser\", \"address\": 0, \"variable\": \"pv\","
	 " \"unit\": \"%\"}}",
	 404},
	{TECHNICIAN, "POST", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c/frames",
	 "{\"frames\": [{\"hex\": \"0680\", \"age_ms\": 10}]}", 404},
	{TECHNICIAN, "POST", "/api/v1/test-records/{record}/live",
	 "{\"mode\": \"follow\", \"window_s\": 10, \"minutes\": 30}", 409},
	{TECHNICIAN, "POST", "/api/v1/test-records/{record}/live/start", "{\"token\": \"x\"}", 409},
	{TECHNICIAN, "POST", "/api/v1/test-records/{record}/live/alive", "{}", 404},
	{TECHNICIAN, "POST", "/api/v1/test-records/{record}/live/stop", "{}", 200},
	{TECHNICIAN, "POST", "/api/v1/live-runs/stop", "{}", 200},
	{LEAD, "POST", "/api/v1/certificate-batches", "{\"what\": \"archive\", \"records\": [\"{record}\"]}", 202},
	{LEAD, "POST", "/api/v1/findings/{finding}/close", "{\"disposition\": \"No harm\", " PASSWORD "}", 200},
	{LEAD_2, "POST", "/api/v1/test-records/{record}/return", "{\"reason\": \"Again\", " PASSWORD "}", 200},
	{LEAD_2, "POST", "/api/v1/test-records/{record}/limitation", "{\"text\": \"Indication only\"}", 409},
	{LEAD_2, "POST", "/api/v1/test-records/{record}/limitation/lift", "{\"reason\": \"New element\"}", 409},
	{LEAD_2, "POST", "/api/v1/test-records/{record}/amend", "{\"reason\": \"Wrong value\", " PASSWORD "}", 409},
	{LEAD_2, "POST", "/api/v1/test-records/{record}/void", "{\"reason\": \"Wrong valve\", " PASSWORD "}", 200},
};

static int spoil_list(struct plant *p, struct ids *ids, const struct good *list, size_t n)
{
	int tried = 0;

	for (size_t i = 0; i < n; i++)
		tried += spoil_all(p, ids, &list[i]);
	return tried;
}

static void begin(struct plant *p, struct ids *ids)
{
	keep(ids->of[AREA], p->area);
	keep(ids->of[VALVE], p->valve);
	keep(ids->of[PROCEDURE], p->procedure);
	keep(ids->of[SCHEDULE], p->schedule);
	keep(ids->of[SOURCE], p->source);
	keep(ids->of[GAUGE], p->gauge);
	keep(ids->of[PERSON], p->f->people[AUDITOR].id);
	snprintf(ids->of[HASH], sizeof ids->of[HASH], "%064d", 0);
}

static void the_register_takes_nothing_that_its_description_does_not_allow(void **state)
{
	struct plant *p = *state;
	struct ids ids = {0};
	int tried;

	begin(p, &ids);
	p->f->as = LEAD;
	assert_int_equal(ask(p, "POST", "/api/v1/tolerance-rules", "{\"name\": \"R\", \"rule\": " TOLERANCE "}"), 201);
	keep(ids.of[RULE], text_of(p, "/id"));
	tried = spoil_list(p, &ids, register_bodies, sizeof register_bodies / sizeof *register_bodies);
	print_message("%d bad bodies refused\n", tried);
	assert_true(tried > 1000);
}

static void a_test_takes_nothing_that_its_description_does_not_allow(void **state)
{
	struct plant *p = *state;
	struct ids ids = {0};
	int tried;

	begin(p, &ids);
	open_record(p);
	keep(ids.of[RECORD], p->record);
	tried = spoil_list(p, &ids, test_bodies, sizeof test_bodies / sizeof *test_bodies);
	p->f->as = TECHNICIAN;
	for (int i = 1; i < 9; i++)
		assert_int_equal(reading(p, "as_found", i, NULL, "50.0"), 201);
	tried += spoil_list(p, &ids, sign_bodies, 1);
	look(p);
	keep(ids.of[HASH], text_of(p, "/content_sha256"));
	tried += spoil_list(p, &ids, sign_bodies + 1, sizeof sign_bodies / sizeof *sign_bodies - 1);
	look(p);
	keep(ids.of[FINDING], text_of(p, "/finding/id"));
	tried += spoil_list(p, &ids, review_bodies, sizeof review_bodies / sizeof *review_bodies);
	print_message("%d bad bodies refused\n", tried);
	assert_true(tried > 150);
}

/* Bodies with members that no list above has would go untried. */
static void every_described_body_is_tried(void **state)
{
	static const struct {
		const struct good *list;
		size_t n;
	} lists[] = {{register_bodies, sizeof register_bodies / sizeof *register_bodies},
		     {test_bodies, sizeof test_bodies / sizeof *test_bodies},
		     {sign_bodies, sizeof sign_bodies / sizeof *sign_bodies},
		     {review_bodies, sizeof review_bodies / sizeof *review_bodies}};
	const cJSON *item, *operation;

	(void)state;
	cJSON_ArrayForEach(item, at(openapi(), "/paths"))
	{
		cJSON_ArrayForEach(operation, item)
		{
			bool tried = !openapi_body(operation) || !strcmp(item->string, "/compute/{kind}");

			for (size_t l = 0; l < 4; l++) {
				for (size_t i = 0; i < lists[l].n && !tried; i++)
					tried = openapi_operation(lists[l].list[i].method, lists[l].list[i].path) ==
						operation;
			}
			if (!tried)
				print_error("no bad body is tried for %s %s\n", operation->string, item->string);
			assert_true(tried);
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(the_register_takes_nothing_that_its_description_does_not_allow,
						plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(a_test_takes_nothing_that_its_description_does_not_allow, plant_setup,
						plant_teardown),
		cmocka_unit_test(every_described_body_is_tried),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
