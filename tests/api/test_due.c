/* What is due: counts by date, groups by area, the load of the months. */
#include "register.h"

struct plant {
	char filters[40], hall[40], sludge[40], procedure[40];
	char overdue[40], today[40], week[40], later[40]; /* valves */
};

/* FCV-1 overdue by a day, FCV-2 due today, FCV-3 in 7 days, FCV-4 in 8 days; the last one stands in another area. */
static struct fixture *four_valves(void **state, struct plant *p)
{
	struct fixture *f = *state;
	char id[40];

	f->as = LEAD;
	add_area(f, "Filters", NULL, p->filters);
	add_area(f, "Hall", p->filters, p->hall);
	add_area(f, "Sludge", NULL, p->sludge);
	add_procedure(f, "CV-5", p->procedure);
	add_valve(f, "FCV-1", p->hall, p->overdue);
	add_valve(f, "FCV-2", p->hall, p->today);
	add_valve(f, "FCV-3", p->filters, p->week);
	add_valve(f, "FCV-4", p->sludge, p->later);
	add_schedule(f, p->overdue, p->procedure, -1, id);
	add_schedule(f, p->today, p->procedure, 0, id);
	add_schedule(f, p->week, p->procedure, 7, id);
	add_schedule(f, p->later, p->procedure, 8, id);
	return f;
}

static void counts_follow_the_calendar(void **state)
{
	struct plant p;
	struct fixture *f = four_valves(state, &p);
	cJSON *a = call(f, "GET", "/api/v1/due", NULL);

	expect_status(f, 200);
	assert_near(number_at(a, "/counts/overdue"), 1, 0);
	assert_near(number_at(a, "/counts/this_week"), 2, 0); /* today and in 7 days */
	assert_near(number_at(a, "/counts/within"), 3, 0);    /* 30 days, when nothing is said */
	assert_near(number_at(a, "/counts/in_progress"), 0, 0);
	assert_near(number_at(a, "/counts/waiting_for_review"), 0, 0);
}

static void the_list_is_grouped_by_area_in_the_order_of_a_round(void **state)
{
	struct plant p;
	struct fixture *f = four_valves(state, &p);
	cJSON *a = call(f, "GET", "/api/v1/due", NULL);

	assert_string_equal(text_at(a, "/areas/0/area"), "Filters");
	assert_string_equal(text_at(a, "/areas/1/area"), "Hall");
	assert_string_equal(text_at(a, "/areas/1/items/0/tag"), "FCV-1");
	assert_near(number_at(a, "/areas/1/items/0/days"), -1, 0);
	assert_string_equal(text_at(a, "/areas/1/items/1/tag"), "FCV-2");
	assert_string_equal(text_at(a, "/areas/2/area"), "Sludge");
}

static void within_narrows_the_list_but_overdue_stays(void **state)
{
	struct plant p;
	struct fixture *f = four_valves(state, &p);
	cJSON *a = call(f, "GET", "/api/v1/due?within=0", NULL);

	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(a, "areas")), 1);
	assert_string_equal(text_at(a, "/areas/0/items/0/tag"), "FCV-1");
	assert_string_equal(text_at(a, "/areas/0/items/1/tag"), "FCV-2");
	call(f, "GET", "/api/v1/due?within=367", NULL);
	expect_refusal(f, 422, "/within");
	call(f, "GET", "/api/v1/due?within=-1", NULL);
	expect_refusal(f, 422, "/within");
}

static void an_area_takes_in_those_inside_it(void **state)
{
	struct plant p;
	struct fixture *f = four_valves(state, &p);
	char path[100];
	cJSON *a;

	snprintf(path, sizeof path, "/api/v1/due?area=%s", p.filters);
	a = call(f, "GET", path, NULL);
	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(a, "areas")), 2);
	assert_near(number_at(a, "/counts/within"), 2, 0);
}

static void mine_are_those_assigned_to_me(void **state)
{
	struct plant p;
	struct fixture *f = four_valves(state, &p);
	char sql[200];
	cJSON *a;

	snprintf(sql, sizeof sql, "UPDATE schedule SET assigned_to = '%s' WHERE instrument_id = '%s'",
		 f->people[TECHNICIAN].id, p.week);
	fixture_sql(f, sql);
	a = call_as(f, TECHNICIAN, "GET", "/api/v1/due?mine=1", NULL);
	assert_near(number_at(a, "/counts/this_week"), 1, 0);
	assert_near(number_at(a, "/counts/overdue"), 0, 0);
	assert_string_equal(text_at(a, "/areas/0/items/0/tag"), "FCV-3");
}

static void what_is_retired_or_switched_off_is_not_due(void **state)
{
	struct plant p;
	struct fixture *f = four_valves(state, &p);
	cJSON *a;

	fixture_sql(f, "UPDATE instrument SET status = 'retired' WHERE tag = 'FCV-1'");
	fixture_sql(
		f,
		"UPDATE schedule SET active = 0 WHERE instrument_id = (SELECT id FROM instrument WHERE tag = 'FCV-2')");
	a = call(f, "GET", "/api/v1/due", NULL);
	assert_near(number_at(a, "/counts/overdue"), 0, 0);
	assert_near(number_at(a, "/counts/this_week"), 1, 0);
	a = call(f, "GET", "/api/v1/instruments", NULL);
	assert_true(is_null_at(a, "/items/0/due_on"));
	assert_true(is_null_at(a, "/items/1/due_on"));
}

/* Every schedule but those of past months falls into one of the twelve months, since all are due within days. */
static void twelve_months_hold_what_comes(void **state)
{
	struct plant p;
	struct fixture *f = four_valves(state, &p);
	cJSON *a = call(f, "GET", "/api/v1/due", NULL), *month;
	char today[DATE_TEXT_SIZE], yesterday[DATE_TEXT_SIZE];
	int due = 0;

	day(0, today);
	day(-1, yesterday);
	assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(a, "months")), 12);
	assert_memory_equal(text_at(a, "/months/0/month"), today, 7);
	cJSON_ArrayForEach(month, cJSON_GetObjectItem(a, "months")) due += (int)number_at(month, "/due");
	assert_int_equal(due, memcmp(today, yesterday, 7) ? 3 : 4);
	assert_near(number_at(a, "/months/0/done"), 0, 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(counts_follow_the_calendar),
		TEST(the_list_is_grouped_by_area_in_the_order_of_a_round),
		TEST(within_narrows_the_list_but_overdue_stays),
		TEST(an_area_takes_in_those_inside_it),
		TEST(mine_are_those_assigned_to_me),
		TEST(what_is_retired_or_switched_off_is_not_due),
		TEST(twelve_months_hold_what_comes),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
