/* Channels over Modbus: what is taken and refused, and a device asked through one. The device is the simulated one. */
#include "plant.h"

#include <stdio.h>
#include <string.h>

#include "field/sim_server.h"

#define TCP  "{\"protocol\": \"modbus_tcp\", \"host\": \"127.0.0.1\", \"unit\": \"%\", "
#define LINE "{\"protocol\": \"modbus_rtu\", \"device\": \"/dev/ttyUSB0\", \"unit\": \"%\", "
#define I16  "\"register\": 4, \"format\": \"i16\", "

static double stem = 37.5;

static bool valve_read(void *plant, const char *what, struct sim_value *out)
{
	(void)what;
	*out = (struct sim_value){.value = *(double *)plant};
	return true;
}

static int add(struct plant *p, const char *source)
{
	char body[700];

	snprintf(body, sizeof body, "{\"instrument_id\": \"%s\", \"side\": \"output\", \"source\": %s}", p->valve,
		 source);
	p->f->as = LEAD;
	return ask(p, "POST", "/api/v1/channels", body);
}

static void a_channel_over_modbus_is_kept_with_its_members(void **state)
{
	static const char *const sources[] = {
		TCP
		"\"port\": 1502, \"address\": 17, \"registers\": \"input\", \"register\": 4, \"format\": \"f32-cdab\"}",
		TCP "\"register\": 65534, \"format\": \"u32-abcd\"}",
		TCP "\"register\": 65535, \"format\": \"u16\"}",
		TCP I16
		"\"scale\": {\"raw_low\": 0, \"raw_high\": 27648, \"low\": 0, \"high\": 100}, \"set_register\": 5,"
		" \"drive\": {\"low\": 0, \"high\": 100, \"safe\": 0}}",
		LINE I16 "\"address\": 247, \"baud\": 19200, \"parity\": \"none\"}",
	};
	struct plant *p = *state;

	for (size_t i = 0; i < sizeof sources / sizeof *sources; i++) {
		assert_int_equal(add(p, sources[i]), 201);
		fixture_sql(p->f, "DELETE FROM channel");
	}
	assert_int_equal(add(p, TCP "\"address\": 17, \"register\": 4, \"format\": \"f32-cdab\"}"), 201);
	assert_string_equal(text_of(p, "/words"), "Modbus 127.0.0.1, unit 17, register 4");
	assert_string_equal(text_of(p, "/source/format"), "f32-cdab");
}

static void what_cannot_be_meant_is_refused_by_its_member(void **state)
{
	static const struct {
		const char *source, *pointer;
	} rows[] = {
		{TCP "\"format\": \"i16\"}", "/source/register"},
		{TCP "\"register\": 4}", "/source/format"},
		{TCP "\"register\": 4, \"format\": \"f64\"}", "/source/format"},
		{TCP "\"register\": 65535, \"format\": \"f32-abcd\"}", "/source/register"},
		{TCP "\"register\": -1, \"format\": \"i16\"}", "/source/register"},
		{TCP "\"register\": 40001.5, \"format\": \"i16\"}", "/source/register"},
		{TCP I16 "\"registers\": \"coil\"}", "/source/registers"},
		{TCP I16 "\"address\": 248}", "/source/address"},
		{TCP I16 "\"scale\": {\"raw_low\": 1, \"raw_high\": 1, \"low\": 0, \"high\": 1}}",
		 "/source/scale/raw_high"},
		{TCP I16 "\"scale\": {\"raw_low\": 0, \"raw_high\": 1, \"low\": 1, \"high\": 1}}",
		 "/source/scale/high"},
		{TCP I16 "\"scale\": {\"raw_low\": 0, \"raw_high\": 1, \"low\": 1}}", "/source/scale/high"},
		{TCP
		 "\"register\": 4, \"format\": \"f32-abcd\", \"scale\": {\"raw_low\": 0, \"raw_high\": 1, \"low\": 0,"
		 " \"high\": 1}}",
		 "/source/scale"},
		{TCP I16 "\"drive\": {\"low\": 0, \"high\": 1, \"safe\": 0}}", "/source/drive"},
		{TCP I16 "\"set_register\": 65536}", "/source/set_register"},
		{TCP I16 "\"variable\": \"pv\"}", "/source/variable"},
		{TCP I16 "\"baud\": 9600}", "/source/baud"},
		{LINE I16 "\"address\": 0}", "/source/address"},
		{LINE I16 "\"baud\": 9601}", "/source/baud"},
		{LINE I16 "\"parity\": \"mark\"}", "/source/parity"},
		{LINE I16 "\"host\": \"127.0.0.1\"}", "/source/host"},
	};
	struct plant *p = *state;

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		if (add(p, rows[i].source) != 422)
			print_error("row %zu: %s\n", i, p->f->text);
		expect_refusal(p->f, 422, rows[i].pointer);
	}
	assert_int_equal(fixture_sql_int(p->f, "SELECT count(*) FROM channel"), 0);
}

/* 37.5 % is 6000 of 16000 counts: 1770 hexadecimal. */
static void a_device_is_asked_through_its_channel(void **state)
{
	static const struct sim_register registers[] = {{3, 4, "i16", 0, 16000, 0, 100, "pv", false}};
	struct sim_device device = {.maker = "Vennoric",
				    .model = "VX-200",
				    .revision = "1",
				    .address = 17,
				    .registers = registers,
				    .register_count = 1,
				    .plant = &stem,
				    .read = valve_read};
	struct sim_endpoint endpoint = {.device = &device, .answer = sim_modbus_answer};
	struct plant *p = *state;
	struct sim_server *server;
	struct err err = {0};
	char source[400], path[120];

	assert_int_equal(sim_server_start(&server, &endpoint, 1, &err), OK);
	snprintf(
		source, sizeof source,
		"%s\"port\": %d, \"address\": 17, %s\"scale\": {\"raw_low\": 0, \"raw_high\": 16000, \"low\": 0, \"high\": 100}}",
		TCP, sim_server_port(server, 0, false), I16);
	assert_int_equal(add(p, source), 201);
	snprintf(path, sizeof path, "/api/v1/channels/%s/ask", text_of(p, "/id"));
	p->f->as = TECHNICIAN;
	assert_int_equal(ask(p, "POST", path, "{}"), 200);
	assert_near(number_of(p, "/value"), 37.5, 1e-9);
	assert_string_equal(text_of(p, "/unit"), "%");
	assert_string_equal(text_of(p, "/raw"), "03021770");
	assert_string_equal(text_of(p, "/device/model"), "VX-200");
	assert_true(cJSON_IsTrue(at(p->f->answer, "/fits")));
	sim_server_stop(server);
	assert_int_equal(ask(p, "POST", path, "{}"), 503);
	expect_detail(p, "Modbus device at 127.0.0.1, unit 17");
}

#define T(f) cmocka_unit_test_setup_teardown(f, plant_setup, plant_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(a_channel_over_modbus_is_kept_with_its_members),
		T(what_cannot_be_meant_is_refused_by_its_member),
		T(a_device_is_asked_through_its_channel),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
