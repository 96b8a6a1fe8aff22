/* Schedules through the API. */
#include "register.h"

struct pair {
	char area[40], valve[40], procedure[40];
};

static struct fixture *lead_with(void **state, struct pair *p)
{
	struct fixture *f = *state;

	f->as = LEAD;
	add_area(f, "Backwash", NULL, p->area);
	add_valve(f, "FCV-2107", p->area, p->valve);
	add_procedure(f, "CV-5", p->procedure);
	return f;
}

static void a_schedule_names_what_it_joins(void **state)
{
	struct pair p;
	struct fixture *f = lead_with(state, &p);
	char id[40];
	cJSON *a;

	add_schedule(f, p.valve, p.procedure, 5, id);
	a = f->answer;
	assert_string_equal(text_at(a, "/tag"), "FCV-2107");
	assert_string_equal(text_at(a, "/area"), "Backwash");
	assert_string_equal(text_at(a, "/procedure_code"), "CV-5");
	assert_string_equal(text_at(a, "/procedure_title"), "Control valve, five points");
	assert_true(cJSON_IsTrue(at(a, "/runnable")));
	assert_true(cJSON_IsTrue(at(a, "/active")));
	assert_near(number_at(a, "/days"), 5, 0);
	assert_true(is_null_at(a, "/assigned_to"));
	assert_true(is_null_at(a, "/open_record"));
	a = call(f, "GET", path_of("instruments", p.valve, ""), NULL);
	assert_string_equal(text_at(a, "/schedules/0/id"), id);
}

static void a_pair_is_scheduled_once(void **state)
{
	struct pair p;
	struct fixture *f = lead_with(state, &p);
	char id[40];

	add_schedule(f, p.valve, p.procedure, 5, id);
	callf(f, "POST", "/api/v1/schedules",
	      "{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\", \"interval_months\": 6, \"due_on\": \"2027-01-01\"}",
	      p.valve, p.procedure);
	expect_refusal(f, 409, "/procedure_id");
}

static void a_draft_can_be_scheduled_but_not_run(void **state)
{
	struct pair p;
	struct fixture *f = lead_with(state, &p);
	char draft[40], id[40];

	keep_id(callf(f, "POST", "/api/v1/procedures", "{\"code\": \"CV-3\", \"document\": %s}", DOCUMENT_4_PERCENT),
		draft);
	add_schedule(f, p.valve, draft, 5, id);
	assert_true(cJSON_IsFalse(at(f->answer, "/runnable")));
	assert_string_equal(text_at(f->answer, "/procedure_title"), "Control valve, wider");
	call(f, "DELETE", path_of("procedures", draft, "/draft"), NULL);
	expect_status(f, 409);
}

static void faults_are_pointed_at(void **state)
{
	static const struct {
		const char *member, *pointer;
	} cases[] = {
		{"\"interval_months\": 0, \"due_on\": \"2027-01-01\"", "/interval_months"},
		{"\"interval_months\": 121, \"due_on\": \"2027-01-01\"", "/interval_months"},
		{"\"interval_months\": 1.5, \"due_on\": \"2027-01-01\"", "/interval_months"},
		{"\"interval_months\": 12, \"due_on\": \"2027-02-29\"", "/due_on"},
		{"\"interval_months\": 12, \"due_on\": \"soon\"", "/due_on"},
		{"\"interval_months\": 12", "/due_on"},
		{"\"interval_months\": 12, \"due_on\": \"2027-01-01\", \"active\": true", "/active"},
		{"\"interval_months\": 12, \"due_on\": \"2027-01-01\", \"assigned_to\": \"01890000-0000-7000-8000-000000000000\"",
		 "/assigned_to"},
	};
	struct pair p;
	struct fixture *f = lead_with(state, &p);

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		callf(f, "POST", "/api/v1/schedules", "{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\", %s}",
		      p.valve, p.procedure, cases[i].member);
		expect_refusal(f, 422, cases[i].pointer);
	}
	callf(f, "POST", "/api/v1/schedules",
	      "{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\", \"interval_months\": 1, \"due_on\": \"2027-01-01\"}",
	      p.procedure, p.procedure);
	expect_refusal(f, 422, "/instrument_id");
}

static void only_those_who_test_are_assigned(void **state)
{
	struct pair p;
	struct fixture *f = lead_with(state, &p);
	static const char body[] =
		"{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\", \"interval_months\": 12, \"due_on\": \"2027-01-01\","
		" \"assigned_to\": \"%s\"}";
	char text[400];

	snprintf(text, sizeof text, body, p.valve, p.procedure, f->people[AUDITOR].id);
	call(f, "POST", "/api/v1/schedules", text);
	expect_refusal(f, 422, "/assigned_to");
	snprintf(text, sizeof text, body, p.valve, p.procedure, f->people[TECHNICIAN].id);
	call(f, "POST", "/api/v1/schedules", text);
	expect_status(f, 201);
	assert_string_equal(text_at(f->answer, "/assigned_to/id"), f->people[TECHNICIAN].id);
}

static void a_change_keeps_the_pair_and_raises_the_version(void **state)
{
	struct pair p;
	struct fixture *f = lead_with(state, &p);
	static const char body[] =
		"{\"interval_months\": 6, \"due_on\": \"2027-03-31\", \"evidence\": \"Three tests inside.\", \"active\": false}";
	char id[40];
	cJSON *a;

	add_schedule(f, p.valve, p.procedure, 5, id);
	a = call_version(f, 1, "PUT", path_of("schedules", id, ""), body);
	expect_status(f, 200);
	assert_near(number_at(a, "/interval_months"), 6, 0);
	assert_string_equal(text_at(a, "/due_on"), "2027-03-31");
	assert_string_equal(text_at(a, "/evidence"), "Three tests inside.");
	assert_true(cJSON_IsFalse(at(a, "/active")));
	assert_near(number_at(a, "/version"), 2, 0);
	call_version(f, 1, "PUT", path_of("schedules", id, ""), body);
	expect_status(f, 412);
}

static void a_list_pages_by_due_date(void **state)
{
	struct pair p;
	struct fixture *f = lead_with(state, &p);
	char valve[40], id[40], path[160];
	cJSON *a;

	add_schedule(f, p.valve, p.procedure, 9, id);
	add_valve(f, "FCV-2108", p.area, valve);
	add_schedule(f, valve, p.procedure, 3, id);
	a = call(f, "GET", "/api/v1/schedules?limit=1", NULL);
	assert_string_equal(text_at(a, "/items/0/tag"), "FCV-2108");
	snprintf(path, sizeof path, "/api/v1/schedules?limit=1&after=%s", text_at(a, "/next"));
	a = call(f, "GET", path, NULL);
	assert_string_equal(text_at(a, "/items/0/tag"), "FCV-2107");
	assert_true(is_null_at(a, "/next"));
	call(f, "GET", "/api/v1/schedules?after=yesterday", NULL);
	expect_refusal(f, 422, "/after");
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(a_schedule_names_what_it_joins),
		TEST(a_pair_is_scheduled_once),
		TEST(a_draft_can_be_scheduled_but_not_run),
		TEST(faults_are_pointed_at),
		TEST(only_those_who_test_are_assigned),
		TEST(a_change_keeps_the_pair_and_raises_the_version),
		TEST(a_list_pages_by_due_date),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
