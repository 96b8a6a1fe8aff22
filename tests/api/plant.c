#include "plant.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int ask(struct plant *p, const char *method, const char *path, const char *body)
{
	call(p->f, method, path, body);
	return p->f->status;
}

int record_ask(struct plant *p, const char *method, const char *path, const char *body)
{
	char full[240];

	snprintf(full, sizeof full, "/api/v1/test-records/%s%s", p->record, path);
	return ask(p, method, full, body);
}

const char *text_of(struct plant *p, const char *pointer)
{
	return text_at(p->f->answer, pointer);
}

double number_of(struct plant *p, const char *pointer)
{
	return number_at(p->f->answer, pointer);
}

int count_of(struct plant *p, const char *pointer)
{
	const cJSON *list = at(p->f->answer, pointer);

	assert_true(cJSON_IsArray(list));
	return cJSON_GetArraySize(list);
}

bool has_word(struct plant *p, const char *pointer, const char *word)
{
	const cJSON *list = at(p->f->answer, pointer);

	for (const cJSON *j = list ? list->child : NULL; j; j = j->next) {
		if (cJSON_IsString(j) && !strcmp(j->valuestring, word))
			return true;
	}
	return false;
}

void expect_detail(struct plant *p, const char *part)
{
	const char *detail = text_of(p, "/detail");

	if (!strstr(detail, part))
		print_error("\"%s\" does not say \"%s\"\n", detail, part);
	assert_non_null(strstr(detail, part));
}

static void must(struct plant *p, int status, int expected)
{
	(void)status; /* asked in the same expression */
	expect_status(p->f, expected);
}

static void keep_id(struct plant *p, const char *pointer, char out[37])
{
	snprintf(out, 37, "%s", text_of(p, pointer));
}

void look(struct plant *p)
{
	must(p, record_ask(p, "GET", "", NULL), 200);
}

static const char valve[] =
	"{\"tag\": \"FV-301\", \"service\": \"Backwash water to filter 3\", \"kind\": \"control_valve\", \"area_id\": \"%s\","
	" \"input\": {\"quantity\": \"current\", \"low\": 4, \"high\": 20, \"unit\": \"mA\"},"
	" \"output\": {\"quantity\": \"travel\", \"low\": 0, \"high\": 100, \"unit\": \"%%\"},"
	" \"characteristic\": {\"kind\": \"linear\"},"
	" \"loop\": {\"supply_v\": 24, \"device_v\": 9.5, \"series_ohm\": 250, \"cable_ohm\": 20, \"hart\": true},"
	" \"hazards\": [\"The stem moves without warning\"], \"status\": \"in_service\"}";

static const char procedure[] =
	"{\"code\": \"CV-5\", \"document\": {\"title\": \"Control valve, five points\", \"purpose\": \"Travel against signal\","
	" \"kinds\": [\"control_valve\"], \"preparation\": [\"Ask the control room\"],"
	" \"cautions\": [{\"id\": \"bypass\", \"text\": \"The bypass is open and the control room agrees\"}],"
	" \"needs\": [{\"role\": \"input\", \"text\": \"Current source\", \"optional\": false},"
	" {\"role\": \"output\", \"text\": \"Travel gauge\", \"optional\": true}],"
	" \"steps\": [{\"kind\": \"checklist\", \"title\": \"Prove the connection\", \"items\": ["
	" {\"id\": \"moves\", \"text\": \"The valve moves at 5 mA\", \"apply\": 6.25},"
	" {\"id\": \"hart\", \"text\": \"250 ohm are in the loop\", \"apply\": null}]},"
	" {\"kind\": \"points\", \"title\": \"Five points up and down\", \"percent\": [0, 25, 50, 75, 100],"
	" \"pattern\": \"up_down\", \"cycles\": 1, \"settle_s\": 10}],"
	" \"tolerance\": {"
	" \"as_found\": {\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": 3}], \"join\": \"sum\"},"
	" \"adjust\": {\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": 1}], \"join\": \"sum\"},"
	" \"as_left\": {\"terms\": [{\"kind\": \"percent_of_span\", \"plus\": 1}], \"join\": \"sum\"}},"
	" \"decision\": {\"rule\": \"simple\"}, \"environment\": true, \"adjustment\": \"Trim the positioner's zero\"}}";

static void add_standard(struct plant *p, const char *code, const char *quantity, const char *range,
			 const char *valid_until, char out[37])
{
	char body[900];

	snprintf(body, sizeof body,
		 "{\"code\": \"%s\", \"name\": \"Bench reference\", \"quantity\": \"%s\", \"serial\": \"0017\","
		 " \"calibration\": {\"certificate_number\": \"K-%s\", \"issued_by\": \"Harrow Vale Metrology\","
		 " \"calibrated_on\": \"2020-01-10\", \"valid_until\": \"%s\", %s, \"coverage_factor\": 2,"
		 " \"traceability\": \"National standards through K-%s\"}}",
		 code, quantity, code, valid_until, range, code);
	must(p, ask(p, "POST", "/api/v1/standards", body), 201);
	keep_id(p, "/id", out);
}

static void add_procedure(struct plant *p)
{
	char path[120], body[300];

	must(p, ask(p, "POST", "/api/v1/procedures", procedure), 201);
	keep_id(p, "/id", p->procedure);
	snprintf(body, sizeof body, "{\"password\": \"" FIXTURE_PASSWORD "\", \"content_sha256\": \"%s\"}",
		 text_of(p, "/draft/content_sha256"));
	snprintf(path, sizeof path, "/api/v1/procedures/%s/approve", p->procedure);
	must(p, ask(p, "POST", path, body), 200);
}

static void add_register(struct plant *p)
{
	char body[1600];

	must(p, ask(p, "POST", "/api/v1/areas", "{\"name\": \"Filter hall\"}"), 201);
	keep_id(p, "/id", p->area);
	snprintf(body, sizeof body, valve, p->area);
	must(p, ask(p, "POST", "/api/v1/instruments", body), 201);
	keep_id(p, "/id", p->valve);
	add_procedure(p);
	snprintf(body, sizeof body,
		 "{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\", \"interval_months\": 12,"
		 " \"due_on\": \"2020-06-30\"}",
		 p->valve, p->procedure);
	must(p, ask(p, "POST", "/api/v1/schedules", body), 201);
	keep_id(p, "/id", p->schedule);
}

static void add_standards(struct plant *p)
{
	static const char milliamp[] = "\"low\": 0, \"high\": 24, \"unit\": \"mA\", \"expanded_uncertainty\": 0.004";

	add_standard(p, "MA-1", "current", milliamp, "2199-12-31", p->source);
	add_standard(p, "MA-2", "current", milliamp, "2021-01-31", p->expired);
	add_standard(p, "MA-3", "current",
		     "\"low\": 0, \"high\": 10, \"unit\": \"mA\", \"expanded_uncertainty\": 0.004", "2199-12-31",
		     p->small);
	add_standard(p, "PG-1", "pressure",
		     "\"low\": 0, \"high\": 6, \"unit\": \"bar\", \"expanded_uncertainty\": 0.003", "2199-12-31",
		     p->gauge);
}

int plant_setup(void **state)
{
	struct plant *p = calloc(1, sizeof *p);
	void *f = NULL;

	assert_non_null(p);
	fixture_setup(&f);
	p->f = f;
	fixture_sql(p->f, "INSERT INTO setting (key, value, updated_at) VALUES ('plant_name', 'Harrow Vale Works', 0)");
	p->f->as = LEAD;
	add_register(p);
	add_standards(p);
	p->f->as = TECHNICIAN;
	*state = p;
	return 0;
}

int plant_teardown(void **state)
{
	struct plant *p = *state;
	void *f = p->f;

	fixture_teardown(&f);
	free(p);
	return 0;
}

void open_record(struct plant *p)
{
	char body[80];

	snprintf(body, sizeof body, "{\"schedule_id\": \"%s\"}", p->schedule);
	must(p, ask(p, "POST", "/api/v1/test-records", body), 201);
	keep_id(p, "/id", p->record);
}

void prepare(struct plant *p)
{
	char body[160];

	must(p, record_ask(p, "PUT", "/cautions/bypass", "{}"), 200);
	must(p, record_ask(p, "PUT", "/cautions/hazard.1", "{}"), 200);
	snprintf(body, sizeof body, "{\"standards\": [{\"role\": \"input\", \"standard_id\": \"%s\"}]}", p->source);
	must(p, record_ask(p, "PUT", "/standards", body), 200);
	must(p, record_ask(p, "PUT", "/environment", "{\"temperature_c\": 21}"), 200);
}

void prove(struct plant *p)
{
	must(p, record_ask(p, "PUT", "/checks/moves", "{\"answer\": \"yes\", \"observed\": \"6 %\"}"), 200);
	must(p, record_ask(p, "PUT", "/checks/hart", "{\"answer\": \"yes\"}"), 200);
}

int reading(struct plant *p, const char *run, int point, const char *applied, const char *observed)
{
	char body[240];

	if (applied)
		snprintf(body, sizeof body,
			 "{\"run\": \"%s\", \"point\": %d, \"applied\": \"%s\", \"observed\": \"%s\"}", run, point,
			 applied, observed);
	else
		snprintf(body, sizeof body, "{\"run\": \"%s\", \"point\": %d, \"observed\": \"%s\"}", run, point,
			 observed);
	return record_ask(p, "POST", "/readings", body);
}

void read_run(struct plant *p, const char *run, double offset)
{
	static const double percent[] = {0, 25, 50, 75, 100, 75, 50, 25, 0};
	char observed[20];

	for (int i = 0; i < 9; i++) {
		snprintf(observed, sizeof observed, "%.1f", percent[i] + offset);
		must(p, reading(p, run, i, NULL, observed), 201);
	}
}

int sign(struct plant *p, const char *meaning)
{
	char body[240];

	look(p);
	snprintf(body, sizeof body,
		 "{\"meaning\": \"%s\", \"password\": \"" FIXTURE_PASSWORD "\", \"content_sha256\": \"%s\"}", meaning,
		 text_of(p, "/content_sha256"));
	return record_ask(p, "POST", "/sign", body);
}

void perform(struct plant *p, double offset)
{
	open_record(p);
	prepare(p);
	prove(p);
	read_run(p, "as_found", offset);
	must(p, record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	must(p, sign(p, "performed"), 200);
}

void review(struct plant *p)
{
	p->f->as = LEAD_2;
	must(p, sign(p, "reviewed"), 200);
}
