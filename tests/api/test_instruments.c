/* Areas, instruments and units through the API: docs/api.md. */
#include "register.h"

#include <stdlib.h>

static struct fixture *lead(void **state)
{
	struct fixture *f = *state;

	f->as = LEAD;
	return f;
}

static void areas_nest_and_tell_their_path(void **state)
{
	struct fixture *f = lead(state);
	char filters[40], hall[40];
	cJSON *a;

	add_area(f, "Filters", NULL, filters);
	add_area(f, "Filter hall", filters, hall);
	a = call(f, "GET", "/api/v1/areas", NULL);
	assert_string_equal(text_at(a, "/items/0/path"), "Filters");
	assert_string_equal(text_at(a, "/items/1/path"), "Filters / Filter hall");
	assert_string_equal(text_at(a, "/items/1/parent_id"), filters);
}

static void an_area_cannot_lie_inside_itself(void **state)
{
	struct fixture *f = lead(state);
	char filters[40], hall[40], body[120];

	add_area(f, "Filters", NULL, filters);
	add_area(f, "Filter hall", filters, hall);
	snprintf(body, sizeof body, "{\"name\": \"Filters\", \"parent_id\": \"%s\"}", hall);
	call_version(f, 1, "PUT", path_of("areas", filters, ""), body);
	expect_refusal(f, 422, "/parent_id");
	snprintf(body, sizeof body, "{\"name\": \"Filters\", \"parent_id\": \"%s\"}", filters);
	call_version(f, 1, "PUT", path_of("areas", filters, ""), body);
	expect_refusal(f, 422, "/parent_id");
}

static void an_area_name_is_taken_once_under_a_parent(void **state)
{
	struct fixture *f = lead(state);
	char filters[40], sludge[40], id[40];

	add_area(f, "Filters", NULL, filters);
	add_area(f, "Sludge", NULL, sludge);
	add_area(f, "Hall", filters, id);
	add_area(f, "Hall", sludge, id);
	callf(f, "POST", "/api/v1/areas", "{\"name\": \"hall\", \"parent_id\": \"%s\"}", filters);
	expect_refusal(f, 409, "/name");
}

static void an_instrument_reads_back_as_it_was_written(void **state)
{
	struct fixture *f = lead(state);
	char area[40], id[40];
	cJSON *a;

	add_area(f, "Backwash", NULL, area);
	add_valve(f, "FCV-2107", area, id);
	a = call(f, "GET", path_of("instruments", id, ""), NULL);
	expect_status(f, 200);
	assert_string_equal(text_at(a, "/tag"), "FCV-2107");
	assert_string_equal(text_at(a, "/area"), "Backwash");
	assert_string_equal(text_at(a, "/characteristic/kind"), "linear");
	assert_near(number_at(a, "/input/low"), 4, 0);
	assert_near(number_at(a, "/output/high"), 100, 0);
	assert_string_equal(text_at(a, "/output/unit"), "%");
	assert_near(number_at(a, "/loop/series_ohm"), 250, 0);
	assert_string_equal(text_at(a, "/hazards/0"), "Pinch point at the stem.");
	assert_true(is_null_at(a, "/maker"));
	assert_non_null(at(a, "/schedules"));
	assert_non_null(at(a, "/records"));
	assert_string_equal(f->etag, "\"v1\"");
}

static void a_tag_is_unique_regardless_of_case(void **state)
{
	struct fixture *f = lead(state);
	char area[40], id[40];

	add_area(f, "Backwash", NULL, area);
	add_valve(f, "FCV-2107", area, id);
	callf(f, "POST", "/api/v1/instruments", VALVE, "fcv-2107", area);
	expect_refusal(f, 409, "/tag");
}

static void markup_in_a_tag_is_just_text(void **state)
{
	struct fixture *f = lead(state);
	char area[40];
	cJSON *a;

	add_area(f, "Backwash", NULL, area);
	a = callf(f, "POST", "/api/v1/instruments", VALVE, "<script>", area);
	expect_status(f, 201);
	assert_string_equal(text_at(a, "/tag"), "<script>");
}

/* {member to set (pointer), value as JSON; NULL: removed, pointer in the refusal} */
static const struct fault {
	const char *member, *value, *pointer;
} faults[] = {
	{"/tag", NULL, "/tag"},
	{"/tag", "7", "/tag"},
	{"/tag", "\"\"", "/tag"},
	{"/tag", "\"FCV\\u0007\"", "/tag"},
	{"/tag", "\"FCV\\t1\"", "/tag"},
	{"/tag", "\"12345678901234567890123456789012345678901\"", "/tag"},
	{"/service", NULL, "/service"},
	{"/kind", "\"valve\"", "/kind"},
	{"/area_id", "\"nowhere\"", "/area_id"},
	{"/area_id", "\"01890000-0000-7000-8000-000000000000\"", "/area_id"},
	{"/input", NULL, "/input"},
	{"/input", "4", "/input"},
	{"/input/low", "1e308", "/input/low"},
	{"/input/low", "-2e9", "/input/low"},
	{"/input/high", "\"20\"", "/input/high"},
	{"/input/high", "4", "/input/high"},
	{"/input/unit", "\"mAmp\"", "/input/unit"},
	{"/input/quantity", NULL, "/input/quantity"},
	{"/input/span", "16", "/input/span"},
	{"/output/high", "0", "/output/high"},
	{"/output/unit", NULL, "/output/unit"},
	{"/characteristic", NULL, "/characteristic"},
	{"/characteristic/kind", "\"wavy\"", "/characteristic/kind"},
	{"/characteristic/r0", "100", "/characteristic/r0"},
	{"/characteristic", "{\"kind\": \"rtd\", \"r0\": 100}", "/input/unit"},
	{"/characteristic", "{\"kind\": \"thermocouple\", \"type\": \"K\"}", "/input/unit"},
	{"/loop/supply_v", "0", "/loop/supply_v"},
	{"/loop/cable_ohm", "-1", "/loop/cable_ohm"},
	{"/loop/hart", "1", "/loop/hart"},
	{"/loop/colour", "\"red\"", "/loop/colour"},
	{"/hazards", NULL, "/hazards"},
	{"/hazards", "[\"fine\", 3]", "/hazards/1"},
	{"/hazards", "\"hot\"", "/hazards"},
	{"/status", "\"broken\"", "/status"},
	{"/due_on", "\"2026-11-25\"", "/due_on"},
};

static void set(cJSON *json, const char *pointer, const char *value)
{
	const char *name = strrchr(pointer, '/') + 1;
	cJSON *object = json;
	char parent[40] = "";

	if (name - pointer > 1) {
		snprintf(parent, sizeof parent, "%.*s", (int)(name - pointer - 2), pointer + 1);
		object = cJSON_GetObjectItem(json, parent);
	}
	cJSON_DeleteItemFromObject(object, name);
	if (value)
		cJSON_AddRawToObject(object, name, value);
}

static void every_fault_of_an_instrument_is_pointed_at(void **state)
{
	struct fixture *f = lead(state);
	char area[40], body[1200];

	add_area(f, "Backwash", NULL, area);
	snprintf(body, sizeof body, VALVE, "FCV-2107", area);
	for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
		cJSON *json = cJSON_Parse(body);
		char *text;

		set(json, faults[i].member, faults[i].value);
		text = cJSON_PrintUnformatted(json);
		call(f, "POST", "/api/v1/instruments", text);
		if (f->status < 400)
			print_error("taken: %s = %s\n", faults[i].member, faults[i].value);
		expect_refusal(f, 422, faults[i].pointer);
		free(text);
		cJSON_Delete(json);
	}
	assert_int_equal(fixture_sql_int(f, "SELECT count(*) FROM instrument"), 0);
}

static void a_resistance_thermometer_reads_celsius_and_gives_ohm(void **state)
{
	struct fixture *f = lead(state);
	char area[40];
	static const char element[] = JSON({
		"tag" : "TE-4106",
		"service" : "Bearing",
		"kind" : "sensing_element",
		"area_id" : "%s",
		"input" : {"quantity" : "temperature", "low" : 0, "high" : 150, "unit" : "°C"},
		"output" : {"quantity" : "resistance", "low" : 100, "high" : 157.325, "unit" : "%s"},
		"characteristic" : {"kind" : "rtd", "r0" : 100},
		"loop" : null,
		"hazards" : [],
		"status" : "in_service"
	});
	char body[800];

	add_area(f, "Pump hall", NULL, area);
	snprintf(body, sizeof body, element, area, "mV");
	call(f, "POST", "/api/v1/instruments", body);
	expect_refusal(f, 422, "/output/unit");
	snprintf(body, sizeof body, element, area, "ohm");
	call(f, "POST", "/api/v1/instruments", body);
	expect_status(f, 201);
}

static void a_change_needs_the_version_that_was_read(void **state)
{
	struct fixture *f = lead(state);
	char area[40], id[40], body[1200];

	add_area(f, "Backwash", NULL, area);
	add_valve(f, "FCV-2107", area, id);
	snprintf(body, sizeof body, VALVE, "FCV-2107A", area);
	call(f, "PUT", path_of("instruments", id, ""), body);
	expect_status(f, 428);
	call_version(f, 1, "PUT", path_of("instruments", id, ""), body);
	expect_status(f, 200);
	assert_string_equal(f->etag, "\"v2\"");
	call_version(f, 1, "PUT", path_of("instruments", id, ""), body);
	expect_status(f, 412);
}

static void a_change_leaves_before_and_after_in_the_ledger(void **state)
{
	struct fixture *f = lead(state);
	char area[40], id[40], body[1200];
	cJSON *a;

	add_area(f, "Backwash", NULL, area);
	add_valve(f, "FCV-2107", area, id);
	snprintf(body, sizeof body, VALVE, "FCV-2107A", area);
	call_version(f, 1, "PUT", path_of("instruments", id, ""), body);
	snprintf(body, sizeof body, "/api/v1/ledger?thing=instrument&thing_id=%s", id);
	a = call(f, "GET", body, NULL);
	assert_string_equal(text_at(a, "/items/0/action"), "change");
	assert_string_equal(text_at(a, "/items/0/before/tag"), "FCV-2107");
	assert_string_equal(text_at(a, "/items/0/after/tag"), "FCV-2107A");
	assert_string_equal(text_at(a, "/items/1/action"), "add");
}

static void a_technician_reads_the_register_but_does_not_write_it(void **state)
{
	struct fixture *f = lead(state);
	char area[40];

	add_area(f, "Backwash", NULL, area);
	f->as = TECHNICIAN;
	callf(f, "POST", "/api/v1/instruments", VALVE, "FCV-2107", area);
	expect_status(f, 403);
	call(f, "GET", "/api/v1/instruments", NULL);
	expect_status(f, 200);
}

static void a_list_pages_through_every_tag_once_in_order(void **state)
{
	struct fixture *f = lead(state);
	char area[40], id[40], tag[20], path[120], last[20] = "";
	int seen = 0;

	add_area(f, "Backwash", NULL, area);
	for (int i = 0; i < 7; i++) {
		snprintf(tag, sizeof tag, "%s-%d", i % 2 ? "PT" : "pt", 101 + (i * 5) % 7);
		add_valve(f, tag, area, id);
	}
	snprintf(path, sizeof path, "/api/v1/instruments?limit=3");
	for (int page = 0; page < 3; page++) {
		cJSON *a = call(f, "GET", path, NULL);

		expect_status(f, 200);
		for (int i = 0; i < cJSON_GetArraySize(cJSON_GetObjectItem(a, "items")); i++, seen++) {
			char pointer[32];

			snprintf(pointer, sizeof pointer, "/items/%d/tag", i);
			assert_true(strcasecmp(last, text_at(a, pointer)) < 0);
			snprintf(last, sizeof last, "%s", text_at(a, pointer));
		}
		if (is_null_at(a, "/next"))
			break;
		snprintf(path, sizeof path, "/api/v1/instruments?limit=3&after=%s", text_at(a, "/next"));
	}
	assert_int_equal(seen, 7);
}

static int found(struct fixture *f, const char *query)
{
	char path[120];
	cJSON *a;

	snprintf(path, sizeof path, "/api/v1/instruments?%s", query);
	a = call(f, "GET", path, NULL);
	expect_status(f, 200);
	return cJSON_GetArraySize(cJSON_GetObjectItem(a, "items"));
}

static void a_search_takes_percent_and_underscore_as_they_are(void **state)
{
	struct fixture *f = lead(state);
	char area[40], id[40];

	add_area(f, "Backwash", NULL, area);
	add_valve(f, "FCV_1", area, id);
	add_valve(f, "FCV-2", area, id);
	assert_int_equal(found(f, "q=fcv_"), 1);
	assert_int_equal(found(f, "q=%25"), 0);
	assert_int_equal(found(f, "q=BACKWASH"), 2);
}

static void an_area_takes_in_those_inside_it(void **state)
{
	struct fixture *f = lead(state);
	char filters[40], hall[40], sludge[40], id[40], query[60];

	add_area(f, "Filters", NULL, filters);
	add_area(f, "Hall", filters, hall);
	add_area(f, "Sludge", NULL, sludge);
	add_valve(f, "FCV-1", hall, id);
	add_valve(f, "FCV-2", sludge, id);
	snprintf(query, sizeof query, "area=%s", filters);
	assert_int_equal(found(f, query), 1);
	assert_int_equal(found(f, "kind=control_valve"), 2);
	assert_int_equal(found(f, "kind=switch"), 0);
	assert_int_equal(found(f, "status=retired"), 0);
}

static void a_filter_that_means_nothing_is_refused(void **state)
{
	struct fixture *f = lead(state);

	call(f, "GET", "/api/v1/instruments?limit=0", NULL);
	expect_refusal(f, 422, "/limit");
	call(f, "GET", "/api/v1/instruments?limit=201", NULL);
	expect_refusal(f, 422, "/limit");
	call(f, "GET", "/api/v1/instruments?kind=valve", NULL);
	expect_refusal(f, 422, "/kind");
	call(f, "GET", "/api/v1/instruments?area=1", NULL);
	expect_refusal(f, 422, "/area");
}

static void units_are_listed_with_their_dimension(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a = call(f, "GET", "/api/v1/units", NULL), *item;
	bool seen = false;

	cJSON_ArrayForEach(item, cJSON_GetObjectItem(a, "items"))
		seen |= !strcmp(text_at(item, "/symbol"), "mA") && !strcmp(text_at(item, "/dimension"), "current");
	assert_true(seen);
}

/* IEC 60751:2008: class A of a wire-wound element is 0.15 + 0.002 |t|, -100 to 450 degC. */
static void tolerance_classes_come_as_rules(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a = call(f, "GET", "/api/v1/tolerance-classes", NULL), *item;
	bool seen = false;

	cJSON_ArrayForEach(item, cJSON_GetObjectItem(a, "items"))
	{
		if (strcmp(text_at(item, "/code"), "iec60751_a_wire"))
			continue;
		seen = true;
		assert_string_equal(text_at(item, "/words"), "±(0.15 + 0.002 |t|) °C");
		assert_string_equal(text_at(item, "/rule/join"), "sum");
		assert_string_equal(text_at(item, "/rule/terms/1/kind"), "percent_of_reading");
		assert_near(number_at(item, "/rule/terms/1/plus"), 0.2, 1e-12);
		assert_near(number_at(item, "/high"), 450, 0);
	}
	assert_true(seen);
}

/*
 * IEC 60751, class B of Pt100, as the standard prints it: 0.30 degC and 0.12 ohm at 0 degC, 0.80 and 0.30 at 100, 1.3 and
 * 0.48 at 200; 138.51 ohm at 100 degC. A temperature beyond the class is refused by its place in the list.
 */
static void a_tolerance_class_is_worked_out_over_temperature(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a = call(f, "POST", "/api/v1/compute/tolerance_class",
			"{\"code\": \"iec60751_b_wire\", \"temperatures\": [0, 100, 200]}");

	expect_status(f, 200);
	assert_string_equal(text_at(a, "/output_unit"), "ohm");
	assert_near(number_at(a, "/values/0/limit"), 0.30, 1e-12);
	assert_near(number_at(a, "/values/1/limit"), 0.80, 1e-12);
	assert_near(number_at(a, "/values/2/limit"), 1.3, 1e-12);
	assert_near(number_at(a, "/values/0/output_limit"), 0.12, 0.005);
	assert_near(number_at(a, "/values/1/output_limit"), 0.30, 0.005);
	assert_near(number_at(a, "/values/2/output_limit"), 0.48, 0.005);
	assert_near(number_at(a, "/values/1/output"), 138.51, 0.005);
	assert_string_equal(text_at(a, "/values/1/shown_limit"), "0.80");
	call(f, "POST", "/api/v1/compute/tolerance_class",
	     "{\"code\": \"iec60751_b_wire\", \"temperatures\": [0, 601]}");
	expect_refusal(f, 422, "/temperatures/1");
	call(f, "POST", "/api/v1/compute/tolerance_class", "{\"code\": \"nothing\", \"temperatures\": [0]}");
	expect_refusal(f, 422, "/code");
}

static void a_tolerance_rule_keeps_its_terms(void **state)
{
	struct fixture *f = lead(state);
	cJSON *a = call(f, "POST", "/api/v1/tolerance-rules", JSON({
				"name" : "Two parts",
				"rule" : {
					"terms" : [
						{"kind" : "percent_of_reading", "plus" : 2, "minus" : 1},
						{"kind" : "absolute", "plus" : 0.5}
					],
					"join" : "greatest"
				}
			}));
	char id[40];

	expect_status(f, 201);
	keep_id(a, id);
	assert_near(number_at(a, "/rule/terms/0/minus"), 1, 0);
	assert_string_equal(text_at(a, "/rule/join"), "greatest");
	call(f, "POST", "/api/v1/tolerance-rules",
	     JSON({"name" : "two parts", "rule" : {"terms" : [ {"kind" : "absolute", "plus" : 1} ], "join" : "sum"}}));
	expect_refusal(f, 409, "/name");
	call_version(f, 1, "PUT", path_of("tolerance-rules", id, ""),
		     JSON({"name" : "Two", "rule" : {"terms" : [], "join" : "sum"}}));
	expect_refusal(f, 422, "/rule/terms");
	call_version(
		f, 1, "PUT", path_of("tolerance-rules", id, ""),
		JSON({"name" : "Two", "rule" : {"terms" : [ {"kind" : "absolute", "plus" : 1} ], "join" : "sum"}}));
	expect_status(f, 200);
	assert_near(number_at(f->answer, "/version"), 2, 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(areas_nest_and_tell_their_path),
		TEST(an_area_cannot_lie_inside_itself),
		TEST(an_area_name_is_taken_once_under_a_parent),
		TEST(an_instrument_reads_back_as_it_was_written),
		TEST(a_tag_is_unique_regardless_of_case),
		TEST(markup_in_a_tag_is_just_text),
		TEST(every_fault_of_an_instrument_is_pointed_at),
		TEST(a_resistance_thermometer_reads_celsius_and_gives_ohm),
		TEST(a_change_needs_the_version_that_was_read),
		TEST(a_change_leaves_before_and_after_in_the_ledger),
		TEST(a_technician_reads_the_register_but_does_not_write_it),
		TEST(a_list_pages_through_every_tag_once_in_order),
		TEST(a_search_takes_percent_and_underscore_as_they_are),
		TEST(an_area_takes_in_those_inside_it),
		TEST(a_filter_that_means_nothing_is_refused),
		TEST(units_are_listed_with_their_dimension),
		TEST(tolerance_classes_come_as_rules),
		TEST(a_tolerance_class_is_worked_out_over_temperature),
		TEST(a_tolerance_rule_keeps_its_terms),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
