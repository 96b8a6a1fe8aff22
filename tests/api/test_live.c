/*
 * Live values and runs that read by themselves, on a simulated loop: a current source over SCPI, a positioner over HART-IP. What is
 * driven ends at its safe value, however it ends.
 */
#include "plant.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "field/sim_plant.h"
#include "field/sim_server.h"

#define SAFE 4.0

static const struct sim_plant_model model = {
	.source = {.gain = 1, .settle_s = 0.05, .noise = 0.0005},
	.meter = {.gain = 1},
	.valve = {.s = 0.6, .j = 0.2, .dead_time_s = 0.2, .lag_s = 0.8, .zero = 0.3, .noise = 0.01},
};

struct rig {
	struct plant *p;
	struct sim_plant *plant;
	struct sim_part source_part, valve_part;
	struct sim_device source, valve;
	struct sim_server *source_server, *valve_server;
	char source_channel[37], valve_channel[37];
};

static double now_s(void *arg)
{
	struct timespec t;

	(void)arg;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void pause_ms(int ms)
{
	struct timespec t = {ms / 1000, ms % 1000 * 1000000L};

	nanosleep(&t, NULL);
}

static struct sim_server *serve(struct sim_device *device, sim_answer *answer)
{
	struct sim_endpoint endpoint = {.device = device, .answer = answer};
	struct sim_server *server;
	struct err err = {0};

	if (sim_server_start(&server, &endpoint, 1, &err))
		fail_msg("%s", err.message);
	return server;
}

/* The positioner warns of a changed configuration with every answer; that is recorded, and forbids nothing. */
static bool read_warning(void *part, const char *what, struct sim_value *out)
{
	if (!sim_part_read(part, what, out))
		return false;
	out->status |= FIELD_CONFIG_CHANGED;
	return true;
}

static void add_channel(struct rig *g, const char *owner, const char *id, const char *source, char out[37])
{
	char body[700];

	snprintf(body, sizeof body, "{\"%s\": \"%s\", \"side\": \"output\", \"period_ms\": 100, \"source\": %s}", owner,
		 id, source);
	g->p->f->as = LEAD;
	assert_int_equal(ask(g->p, "POST", "/api/v1/channels", body), 201);
	snprintf(out, 37, "%s", text_of(g->p, "/id"));
}

/* The source over Modbus, in counts of 1 uA: what flows as an input register, what was asked for as a holding register. */
static const struct sim_register source_registers[] = {
	{.function = 4, .reg = 7, .format = "i16", .raw_high = 24000, .high = 24, .what = "current"},
	{.function = 3, .reg = 2, .format = "i16", .raw_high = 24000, .high = 24, .what = "set", .writable = true},
};

static void source_over_modbus(struct rig *g, char *source, size_t size)
{
	g->source.address = 17;
	g->source.registers = source_registers;
	g->source.register_count = sizeof source_registers / sizeof *source_registers;
	g->source_server = serve(&g->source, sim_modbus_answer);
	snprintf(
		source, size,
		"{\"protocol\": \"modbus_tcp\", \"host\": \"127.0.0.1\", \"port\": %d, \"address\": 17, \"registers\": \"input\","
		" \"register\": 7, \"format\": \"i16\", \"scale\": {\"raw_low\": 0, \"raw_high\": 24000, \"low\": 0, \"high\": 24},"
		" \"set_register\": 2, \"unit\": \"mA\", \"timeout_ms\": 500, \"drive\": {\"low\": 3.8, \"high\": 20.5, \"safe\": 4}}",
		sim_server_port(g->source_server, 0, false));
}

static void source_over_scpi(struct rig *g, char *source, size_t size)
{
	g->source_server = serve(&g->source, sim_scpi_answer);
	snprintf(
		source, size,
		"{\"protocol\": \"scpi\", \"host\": \"127.0.0.1\", \"port\": %d, \"query\": \"MEAS:CURR:DC?\", \"read_factor\": 1000,"
		" \"set\": \"SOUR:CURR %%s\", \"set_factor\": 0.001, \"unit\": \"mA\", \"timeout_ms\": 500,"
		" \"drive\": {\"low\": 3.8, \"high\": 20.5, \"safe\": 4}}",
		sim_server_port(g->source_server, 0, false));
}

static int rig_with(void **state, void (*begin_source)(struct rig *g, char *source, size_t size))
{
	struct rig *g = calloc(1, sizeof *g);
	char source[500];
	void *plant;

	assert_non_null(g);
	if (plant_setup(&plant))
		return -1;
	g->p = plant;
	g->plant = sim_plant_new(&model, 7, 10, now_s, NULL); /* ten times as fast as a valve is */
	assert_non_null(g->plant);
	g->source_part = (struct sim_part){g->plant, SIM_SOURCE, 0};
	g->valve_part = (struct sim_part){g->plant, SIM_POSITIONER, 0};
	g->source = (struct sim_device){.maker = "Fenwold",
					.model = "CS-24",
					.serial = "1187",
					.revision = "1",
					.plant = &g->source_part,
					.read = sim_part_read,
					.set = sim_part_set};
	g->valve = (struct sim_device){.tag = "FV-301",
				       .long_tag = "FV-301",
				       .descriptor = "VALVE",
				       .maker = "Vennoric",
				       .model = "VX-200",
				       .serial = "V301",
				       .revision = "1",
				       .hart_type = 0xf9e0,
				       .hart_id = 0x000301,
				       .unit = "%",
				       .lrv = 0,
				       .urv = 100,
				       .sensor_low = 0,
				       .sensor_high = 100,
				       .span_min = 10,
				       .plant = &g->valve_part,
				       .read = read_warning,
				       .set = sim_part_set};
	g->valve_server = serve(&g->valve, sim_hart_ip_answer);
	begin_source(g, source, sizeof source);
	add_channel(g, "standard_id", g->p->source, source, g->source_channel);
	snprintf(
		source, sizeof source,
		"{\"protocol\": \"hart_ip_tcp\", \"host\": \"127.0.0.1\", \"port\": %d, \"variable\": \"pv\", \"unit\": \"%%\","
		" \"timeout_ms\": 500}",
		sim_server_port(g->valve_server, 0, false));
	add_channel(g, "instrument_id", g->p->valve, source, g->valve_channel);
	*state = g;
	return 0;
}

static int rig_setup(void **state)
{
	return rig_with(state, source_over_scpi);
}

static int rig_setup_modbus(void **state)
{
	return rig_with(state, source_over_modbus);
}

static int rig_teardown(void **state)
{
	struct rig *g = *state;
	void *plant = g->p;
	int rc = plant_teardown(&plant);

	sim_server_stop(g->source_server);
	sim_server_stop(g->valve_server);
	sim_plant_free(g->plant);
	free(g);
	return rc;
}

static void at_readings(struct rig *g)
{
	g->p->f->as = TECHNICIAN;
	open_record(g->p);
	/* the procedure's hold of 10 s a point, shortened for the test */
	fixture_sql(
		g->p->f,
		"UPDATE test_record SET procedure_json = replace(procedure_json, '\"settle_s\":10', '\"settle_s\":0')");
	prepare(g->p);
	prove(g->p);
}

static int arm(struct rig *g, char token[64])
{
	int status = record_ask(g->p, "POST", "/live",
				"{\"mode\": \"driven\", \"window_s\": 1, \"rate\": 16, \"minutes\": 5}");

	if (status == 200)
		snprintf(token, 64, "%s", text_of(g->p, "/token"));
	return status;
}

static int start(struct rig *g, const char *token)
{
	char body[120];

	snprintf(body, sizeof body, "{\"token\": \"%s\"}", token);
	return record_ask(g->p, "POST", "/live/start", body);
}

static void arm_and_start(struct rig *g)
{
	char token[64];

	assert_int_equal(arm(g, token), 200);
	assert_string_equal(text_of(g->p, "/run/phase"), "armed");
	pause_ms(1700);
	if (start(g, token) != 200)
		fail_msg("%s", g->p->f->text);
}

/* Until the run has ended, the page saying that it is there as long as alive is true. */
static void wait_for_end(struct rig *g, bool alive, int seconds)
{
	for (int i = 0; i < seconds * 5; i++) {
		int status = alive ? record_ask(g->p, "POST", "/live/alive", "{}") :
				     record_ask(g->p, "GET", "/live", NULL);

		assert_int_equal(status, 200);
		if (cJSON_IsTrue(at(g->p->f->answer, "/run/ended")))
			return;
		pause_ms(200);
	}
	fail_msg("it does not end: %s", text_of(g->p, "/run/sentence"));
}

static void expect_safe(struct rig *g)
{
	for (int i = 0; i < 50 && fabs(sim_plant_current(g->plant) - SAFE) > 0.01; i++)
		pause_ms(20);
	assert_true(fabs(sim_plant_current(g->plant) - SAFE) < 0.01);
	assert_int_equal(fixture_sql_int(g->p->f, "SELECT count(*) FROM driven"), 0);
}

static long long entries(struct rig *g, const char *action)
{
	char sql[120];

	snprintf(sql, sizeof sql, "SELECT count(*) FROM ledger_entry WHERE action = '%s'", action);
	return fixture_sql_int(g->p->f, sql);
}

static void a_driven_run_goes_through_all_points_and_ends_safe(void **state)
{
	struct rig *g = *state;
	struct plant *p = g->p;
	int points;

	at_readings(g);
	arm_and_start(g);
	wait_for_end(g, true, 60);
	assert_string_equal(text_of(p, "/run/phase"), "finished");
	expect_safe(g);
	look(p);
	points = count_of(p, "/runs/0/points");
	assert_true(points >= 5);
	for (int i = 0; i < points; i++) {
		char pointer[80];
		double set, error;

		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/set", i);
		set = number_of(p, pointer);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/applied", i);
		assert_true(fabs(number_of(p, pointer) - set) < 0.02);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/error_percent", i);
		error = number_of(p, pointer); /* zero of 0.3 %, a stick band of 0.6 %: chosen above */
		assert_true(error > -0.8 && error < 1.2);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/captured/output/device", i);
		assert_true(strlen(text_of(p, pointer)) > 4);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/captured/output/warnings/0", i);
		assert_string_equal(text_of(p, pointer), "configuration was changed");
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/captured/input/warnings", i);
		assert_int_equal(count_of(p, pointer), 0);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading/captured/output/n", i);
		assert_true(number_of(p, pointer) >= 5);
	}
	assert_non_null(strstr(text_of(p, "/runs/0/captured"),
			       "All readings were taken from devices: input from SCPI 127.0.0.1"));
	assert_non_null(strstr(text_of(p, "/runs/0/captured"), "output from HART-IP 127.0.0.1, primary variable"));
	assert_int_equal(entries(g, "arm"), 1);
	assert_int_equal(entries(g, "start"), 1);
	assert_int_equal(entries(g, "drive"), points);
	assert_int_equal(entries(g, "safe"), 1);
	assert_int_equal(entries(g, "finish"), 1);
	assert_int_equal(record_ask(p, "GET", "/traces", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 3);
	assert_int_equal(record_ask(p, "GET", "/traces.csv", NULL), 200);
	assert_memory_equal(p->f->text, "run,attempt,channel,unit,started_at,seconds,value\r\n", 50);
	/* and the test goes on to its signature like any other */
	p->f->as = TECHNICIAN;
	assert_int_equal(record_ask(p, "PUT", "/adjustment", "{\"made\": false}"), 200);
	assert_int_equal(sign(p, "performed"), 200);
	assert_non_null(strstr(text_of(p, "/runs/0/captured"), "All readings"));
}

static void a_source_over_modbus_is_driven_through_all_points_and_ends_safe(void **state)
{
	struct rig *g = *state;

	at_readings(g);
	arm_and_start(g);
	wait_for_end(g, true, 60);
	assert_string_equal(text_of(g->p, "/run/phase"), "finished");
	expect_safe(g);
	look(g->p);
	assert_non_null(strstr(text_of(g->p, "/runs/0/captured"), "input from Modbus 127.0.0.1, unit 17, register 7"));
	assert_string_equal(text_of(g->p, "/runs/0/points/0/reading/captured/input/device"), "CS-24");
}

static void a_source_over_modbus_goes_safe_when_its_page_is_gone(void **state)
{
	struct rig *g = *state;

	at_readings(g);
	arm_and_start(g);
	wait_for_end(g, false, 30);
	assert_string_equal(text_of(g->p, "/run/phase"), "stopped");
	expect_safe(g);
}

static void arming_needs_a_held_button_and_the_right_person(void **state)
{
	struct rig *g = *state;
	char token[64];

	at_readings(g);
	assert_int_equal(arm(g, token), 200);
	assert_int_equal(start(g, token), 409);
	expect_detail(g->p, "hold the button");
	assert_int_equal(start(g, "something else"), 409);
	pause_ms(1700);
	g->p->f->as = TECHNICIAN_2;
	assert_int_equal(start(g, token), 409);
	expect_detail(g->p, "has armed it");
	assert_true(fabs(sim_plant_current(g->plant) - SAFE) < 0.01); /* nothing has moved */
	assert_int_equal(arm(g, token), 409);
	g->p->f->as = AUDITOR;
	assert_int_equal(record_ask(g->p, "POST", "/live/stop", "{}"), 200); /* anybody may stop */
	assert_string_equal(text_of(g->p, "/run/phase"), "stopped");
}

static void a_page_that_is_gone_ends_it_at_the_safe_value(void **state)
{
	struct rig *g = *state;

	at_readings(g);
	arm_and_start(g);
	wait_for_end(g, false, 20);
	assert_string_equal(text_of(g->p, "/run/phase"), "stopped");
	assert_non_null(strstr(text_of(g->p, "/run/sentence"), "the page that watched it is gone"));
	expect_safe(g);
	assert_int_equal(entries(g, "stop"), 1);
}

static void anybody_stops_it_from_any_page(void **state)
{
	struct rig *g = *state;

	at_readings(g);
	arm_and_start(g);
	pause_ms(1500);
	g->p->f->as = AUDITOR;
	assert_int_equal(ask(g->p, "GET", "/api/v1/live-runs", NULL), 200);
	assert_string_equal(text_of(g->p, "/items/0/tag"), "FV-301");
	assert_int_equal(ask(g->p, "POST", "/api/v1/live-runs/stop", "{}"), 200);
	wait_for_end(g, false, 5);
	assert_non_null(strstr(text_of(g->p, "/run/sentence"), "stopped it"));
	expect_safe(g);
}

static void an_instrument_that_falls_silent_ends_it(void **state)
{
	struct rig *g = *state;

	at_readings(g);
	arm_and_start(g);
	pause_ms(1200);
	sim_server_stop(g->valve_server);
	g->valve_server = NULL;
	wait_for_end(g, true, 20);
	assert_non_null(strstr(text_of(g->p, "/run/sentence"), "the instrument no longer answers"));
	expect_safe(g);
}

static void a_program_that_stops_leaves_the_source_safe(void **state)
{
	struct rig *g = *state;
	struct err err = {0};

	at_readings(g);
	arm_and_start(g);
	pause_ms(1500);
	live_runs_free(g->p->f->app.live_runs);
	expect_safe(g);
	assert_int_equal(live_runs_new(&g->p->f->app.live_runs, g->p->f->app.store, g->p->f->app.live, NULL, &err), OK);
}

/* As after a crash of the whole machine: a row says that the source was driven, and the next start makes it safe. */
static void what_was_left_driven_is_made_safe_at_the_next_start(void **state)
{
	struct rig *g = *state;
	char sql[400];

	at_readings(g);
	assert_true(sim_part_set(&g->source_part, "current", 17));
	snprintf(sql, sizeof sql, "INSERT INTO driven SELECT '%s', '%s', id, 0 FROM person LIMIT 1", g->source_channel,
		 g->p->record);
	fixture_sql(g->p->f, sql);
	live_runs_recover(g->p->f->app.live_runs);
	expect_safe(g);
	assert_int_equal(entries(g, "safe"), 1);
}

/* The person sets the source, here by the simulated knob; the program sees, waits, and reads. */
static void a_follow_run_reads_what_a_person_sets(void **state)
{
	struct rig *g = *state;
	struct plant *p = g->p;
	char body[160];
	int points;

	at_readings(g);
	look(p);
	points = count_of(p, "/runs/0/points");
	assert_int_equal(record_ask(p, "POST", "/live",
				    "{\"mode\": \"follow\", \"also\": [\"00000000-0000-7000-8000-000000000000\"]}"),
			 422);
	assert_string_equal(text_of(p, "/errors/0/pointer"), "/also");
	assert_int_equal(record_ask(p, "GET", "/live", NULL), 200);
	snprintf(body, sizeof body, "{\"mode\": \"follow\", \"window_s\": 1, \"also\": [\"%s\"]}",
		 text_of(p, "/input/id"));
	assert_int_equal(record_ask(p, "POST", "/live", body), 200);
	for (int i = 0; i < points; i++) {
		char pointer[80];
		double set;

		look(p);
		snprintf(pointer, sizeof pointer, "/runs/0/points/%d/set", i);
		set = number_of(p, pointer);
		assert_true(sim_part_set(&g->source_part, "current", set));
		for (int k = 0; k < 100; k++) {
			look(p);
			snprintf(pointer, sizeof pointer, "/runs/0/points/%d/reading", i);
			if (!is_null_at(p->f->answer, pointer))
				break;
			pause_ms(100);
		}
		assert_false(is_null_at(p->f->answer, pointer));
	}
	wait_for_end(g, false, 5);
	assert_string_equal(text_of(p, "/run/phase"), "finished");
	assert_int_equal(record_ask(p, "GET", "/traces", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 3); /* input, output, and the one that was asked for */
	for (int i = 0; i < 3; i++) {
		char pointer[40];

		snprintf(pointer, sizeof pointer, "/items/%d/samples", i);
		assert_true(count_of(p, pointer) >= 5 * points);
	}
	assert_int_equal(entries(g, "drive"), 0); /* nothing was moved by us */
}

static void the_wrong_valve_is_refused_by_name(void **state)
{
	struct rig *g = *state;
	char path[120];

	g->p->f->as = TECHNICIAN;
	g->valve.tag = g->valve.long_tag = "FV-302";
	snprintf(path, sizeof path, "/api/v1/channels/%s/ask", g->valve_channel);
	assert_int_equal(ask(g->p, "POST", path, "{}"), 200);
	assert_true(cJSON_IsFalse(at(g->p->f->answer, "/fits")));
	assert_non_null(strstr(text_of(g->p, "/why"), "calls itself FV-302, not FV-301"));
	at_readings(g);
	assert_int_equal(record_ask(g->p, "POST", "/live", "{\"mode\": \"driven\", \"window_s\": 1}"), 200);
	pause_ms(1700);
	assert_int_equal(start(g, text_of(g->p, "/token")), 409);
	expect_detail(g->p, "calls itself FV-302");
}

static void limits_of_driving_are_judged_before_anything_moves(void **state)
{
	static const struct {
		const char *body, *pointer;
	} bad[] = {{"{\"mode\": \"driven\", \"low\": 3}", "/low"},
		   {"{\"mode\": \"driven\", \"high\": 22}", "/high"},
		   {"{\"mode\": \"driven\", \"low\": 6}", "/low"}, /* the test has a point at 4 mA */
		   {"{\"mode\": \"driven\", \"high\": 18}", "/high"},
		   {"{\"mode\": \"driven\", \"rate\": 17}", "/rate"}};
	struct rig *g = *state;

	at_readings(g);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_int_equal(record_ask(g->p, "POST", "/live", bad[i].body), 422);
		expect_refusal(g->p->f, 422, bad[i].pointer);
	}
	assert_int_equal(fixture_sql_int(g->p->f, "SELECT count(*) FROM ledger_entry WHERE action = 'arm'"), 0);
}

static void without_its_readings_at_hand_nothing_begins(void **state)
{
	struct rig *g = *state;

	g->p->f->as = TECHNICIAN;
	open_record(g->p);
	assert_int_equal(record_ask(g->p, "POST", "/live", "{\"mode\": \"driven\"}"), 409); /* cautions come first */
	prepare(g->p);
	prove(g->p);
	fixture_sql(g->p->f, "DELETE FROM channel WHERE instrument_id IS NOT NULL");
	assert_int_equal(record_ask(g->p, "POST", "/live", "{\"mode\": \"driven\"}"), 409);
	expect_detail(g->p, "there is no channel for the output");
}

#define T(f) cmocka_unit_test_setup_teardown(f, rig_setup, rig_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(a_driven_run_goes_through_all_points_and_ends_safe),
		cmocka_unit_test_setup_teardown(a_source_over_modbus_is_driven_through_all_points_and_ends_safe,
						rig_setup_modbus, rig_teardown),
		cmocka_unit_test_setup_teardown(a_source_over_modbus_goes_safe_when_its_page_is_gone, rig_setup_modbus,
						rig_teardown),
		T(arming_needs_a_held_button_and_the_right_person),
		T(a_page_that_is_gone_ends_it_at_the_safe_value),
		T(anybody_stops_it_from_any_page),
		T(an_instrument_that_falls_silent_ends_it),
		T(a_program_that_stops_leaves_the_source_safe),
		T(what_was_left_driven_is_made_safe_at_the_next_start),
		T(a_follow_run_reads_what_a_person_sets),
		T(the_wrong_valve_is_refused_by_name),
		T(limits_of_driving_are_judged_before_anything_moves),
		T(without_its_readings_at_hand_nothing_begins),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
