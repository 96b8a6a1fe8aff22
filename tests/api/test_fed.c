/*
 * A channel that a page feeds: the simulated positioner answers the bytes that a modem would bring, and what it answered is pushed
 * as a page does. The source of the loop is read by the server itself, over SCPI.
 */
#include "plant.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "field/hart_data.h"
#include "field/sim_plant.h"
#include "field/sim_server.h"

static const struct sim_plant_model model = {.source = {.gain = 1, .settle_s = 0.05}, .meter = {.gain = 1}};

struct rig {
	struct plant *p;
	struct sim_plant *plant;
	struct sim_part part;
	struct sim_device source, valve;
	struct sim_server *server;
	char channel[37], path[120];
	unsigned status; /* of the positioner */
	char frames[6][2 * HART_ANSWER_MAX + 1];
	size_t n;
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

/* 0 % at 4 mA, 100 % at 20 mA, and 41.25 % more of it: a number that float32 holds exactly, 42 25 00 00 (IEEE 754) at 4 mA. */
static bool travel(void *plant, const char *what, struct sim_value *out)
{
	struct rig *g = plant;
	double ma = sim_plant_current(g->plant);

	*out = (struct sim_value){.value = ma, .status = g->status, .unit = "mA"};
	if (!strcmp(what, "pv")) {
		out->value = 41.25 + (ma - 4) / 16 * 100;
		snprintf(out->unit, sizeof out->unit, "%s", g->valve.unit);
	}
	return !strcmp(what, "pv") || !strcmp(what, "current");
}

static void add_channel(struct rig *g, const char *owner, const char *id, const char *rest)
{
	char body[700];

	snprintf(body, sizeof body, "{\"%s\": \"%s\", \"side\": \"output\", %s}", owner, id, rest);
	g->p->f->as = LEAD;
	assert_int_equal(ask(g->p, "POST", "/api/v1/channels", body), 201);
	snprintf(g->channel, sizeof g->channel, "%s", text_of(g->p, "/id"));
}

static int rig_setup(void **state)
{
	struct rig *g = calloc(1, sizeof *g);
	struct sim_endpoint endpoint = {.answer = sim_scpi_answer};
	struct err err = {0};
	char rest[400];
	void *plant;

	assert_non_null(g);
	if (plant_setup(&plant))
		return -1;
	g->p = plant;
	g->plant = sim_plant_new(&model, 7, 10, now_s, NULL);
	assert_non_null(g->plant);
	g->part = (struct sim_part){g->plant, SIM_SOURCE, 0};
	g->source = (struct sim_device){.maker = "Fenwold",
					.model = "CS-24",
					.serial = "1187",
					.revision = "1",
					.plant = &g->part,
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
				       .urv = 100,
				       .sensor_high = 100,
				       .plant = g,
				       .read = travel};
	endpoint.device = &g->source;
	if (sim_server_start(&g->server, &endpoint, 1, &err))
		fail_msg("%s", err.message);
	snprintf(rest, sizeof rest,
		 "\"period_ms\": 100, \"source\": {\"protocol\": \"scpi\", \"host\": \"127.0.0.1\", \"port\": %d,"
		 " \"query\": \"MEAS:CURR:DC?\", \"read_factor\": 1000, \"unit\": \"mA\"}",
		 sim_server_port(g->server, 0, false));
	add_channel(g, "standard_id", g->p->source, rest);
	add_channel(
		g, "instrument_id", g->p->valve,
		"\"period_ms\": 500, \"source\": {\"protocol\": \"hart_browser\", \"variable\": \"pv\", \"unit\": \"%\"}");
	snprintf(g->path, sizeof g->path, "/api/v1/channels/%s/frames", g->channel);
	g->p->f->as = TECHNICIAN;
	*state = g;
	return 0;
}

static int rig_teardown(void **state)
{
	struct rig *g = *state;
	void *plant = g->p;
	int rc = plant_teardown(&plant);

	sim_server_stop(g->server);
	sim_plant_free(g->plant);
	free(g);
	return rc;
}

/* ---- the page's side ---- */

/* Asks the positioner as a modem does, and keeps its answer as a page gives it. data: of command 9. */
static void modem_asks(struct rig *g, bool is_long, uint8_t command)
{
	struct hart_address to = {
		.is_long = is_long, .primary = true, .device_type = 0x39e0, .device_id = g->valve.hart_id};
	uint8_t pv = HART_VARIABLE_PV, in[HART_FRAME_MAX + 5] = {0xff, 0xff, 0xff, 0xff, 0xff}, out[SIM_MESSAGE];
	size_t size = 5 + hart_request(in + 5, sizeof in - 5, &to, command, &pv, command == 9), n, taken;
	struct sim_session session = {0};
	struct hart_frame frame;
	char *hex = g->frames[g->n++];

	assert_int_equal(sim_hart_answer(&g->valve, &session, in, size, out, sizeof out, &n), (long)size);
	assert_int_equal(hart_find(out, n, true, &frame, &taken), HART_OK);
	for (size_t i = 0; i < n && out[i] == 0xff; i++)
		taken--;
	for (size_t i = n - taken; i < n; i++, hex += 2)
		snprintf(hex, 3, "%02x", out[i]);
}

static int push(struct rig *g)
{
	char body[4096] = "{\"frames\": [";
	size_t length = strlen(body);

	for (size_t i = 0; i < g->n; i++)
		length += (size_t)snprintf(body + length, sizeof body - length, "%s{\"hex\": \"%s\", \"age_ms\": %d}",
					   i ? ", " : "", g->frames[i], (int)(g->n - i - 1) * 5);
	snprintf(body + length, sizeof body - length, "]}");
	g->n = 0;
	return ask(g->p, "POST", g->path, body);
}

static int push_identity(struct rig *g)
{
	modem_asks(g, false, 0);
	modem_asks(g, true, 20);
	modem_asks(g, true, 13);
	return push(g);
}

static int push_value(struct rig *g)
{
	modem_asks(g, true, 9);
	return push(g);
}

static void attach(struct rig *g)
{
	if (push_identity(g) != 200)
		fail_msg("%s", g->p->f->text);
}

static int push_hex(struct rig *g, const char *hex)
{
	snprintf(g->frames[g->n++], sizeof g->frames[0], "%s", hex);
	return push(g);
}

/* ---- tests ---- */

static void a_pushed_answer_is_the_value_of_the_channel(void **state)
{
	struct rig *g = *state;

	attach(g);
	assert_string_equal(text_of(g->p, "/device"), "f9e0-000301");
	assert_string_equal(text_of(g->p, "/tag"), "FV-301");
	assert_true(cJSON_IsFalse(at(g->p->f->answer, "/good")));
	assert_int_equal(push_value(g), 200);
	assert_near(number_of(g->p, "/value"), 41.25, 0);
	assert_string_equal(text_of(g->p, "/unit"), "%");
	assert_true(cJSON_IsTrue(at(g->p->f->answer, "/good")));
	assert_int_equal(fixture_sql_int(g->p->f, "SELECT count(*) FROM ledger_entry WHERE action = 'attach'"), 1);
}

static void commands_1_and_3_hold_the_primary_variable_too(void **state)
{
	struct rig *g = *state;

	attach(g);
	modem_asks(g, true, 1);
	assert_int_equal(push(g), 200);
	assert_near(number_of(g->p, "/value"), 41.25, 0);
	modem_asks(g, true, 3);
	assert_int_equal(push(g), 200);
	assert_near(number_of(g->p, "/value"), 41.25, 0);
	modem_asks(g, true, 2);
	assert_int_equal(push(g), 422);
	expect_refusal(g->p->f, 422, "/frames/0/hex");
}

static void who_answers_is_said_before_any_value(void **state)
{
	struct rig *g = *state;

	assert_int_equal(push_value(g), 409);
	expect_detail(g->p, "command 0 comes first");
	modem_asks(g, false, 0);
	assert_int_equal(push(g), 422);
	expect_refusal(g->p->f, 422, "/frames");
	modem_asks(g, false, 0);
	modem_asks(g, true, 9);
	assert_int_equal(push(g), 422);
	expect_refusal(g->p->f, 422, "/frames/1/hex");
	expect_detail(g->p, "tag comes before");
}

static void the_short_tag_alone_says_who_answers(void **state)
{
	struct rig *g = *state;

	modem_asks(g, false, 0);
	modem_asks(g, true, 13);
	modem_asks(g, true, 9);
	assert_int_equal(push(g), 200);
	assert_string_equal(text_of(g->p, "/tag"), "FV-301");
	assert_near(number_of(g->p, "/value"), 41.25, 0);
}

static void the_wrong_device_is_refused_by_name(void **state)
{
	struct rig *g = *state;

	g->valve.tag = g->valve.long_tag = "FV-302";
	assert_int_equal(push_identity(g), 409);
	expect_detail(g->p, "calls itself FV-302, not FV-301");
	assert_int_equal(push_value(g), 409); /* it has not begun */
	assert_int_equal(fixture_sql_int(g->p->f, "SELECT count(*) FROM ledger_entry WHERE action = 'attach'"), 0);
}

static void another_device_than_the_confirmed_one_is_refused_by_name(void **state)
{
	struct rig *g = *state;
	char path[120];

	attach(g);
	snprintf(path, sizeof path, "/api/v1/channels/%s/confirm", g->channel);
	assert_int_equal(ask(g->p, "POST", path, "{\"device_id\": \"f9e0-000302\"}"), 409);
	assert_int_equal(ask(g->p, "POST", path, "{\"device_id\": \"f9e0-000301\"}"), 200);
	assert_int_equal(ask(g->p, "DELETE", g->path, NULL), 204);
	pause_ms(600); /* nobody watches any more; what the channel is, is read anew */
	g->valve.hart_id = 0x000302;
	assert_int_equal(push_identity(g), 409);
	expect_detail(g->p, "f9e0-000301 was confirmed");
}

/* The cable goes to another device without a word. */
static void a_value_of_another_device_ends_the_feed(void **state)
{
	struct rig *g = *state;

	attach(g);
	g->valve.hart_id = 0x000302;
	assert_int_equal(push_value(g), 409);
	expect_detail(g->p, "another device answers now: f9e0-000302 instead of f9e0-000301");
	g->valve.hart_id = 0x000301;
	assert_int_equal(push_value(g), 409);
	attach(g);
	assert_int_equal(push_value(g), 200);
}

static void one_session_feeds_a_channel_at_a_time(void **state)
{
	struct rig *g = *state;

	attach(g);
	g->p->f->as = TECHNICIAN_2;
	assert_int_equal(push_identity(g), 409);
	expect_detail(g->p, "feeds FV-301 now");
	assert_int_equal(ask(g->p, "DELETE", g->path, NULL), 409);
	g->p->f->as = TECHNICIAN;
	assert_int_equal(push_value(g), 200);
	assert_int_equal(ask(g->p, "DELETE", g->path, NULL), 204);
	assert_int_equal(ask(g->p, "DELETE", g->path, NULL), 204); /* nothing to detach is no trouble */
	g->p->f->as = TECHNICIAN_2;
	attach(g);
}

static void a_modem_that_says_nothing_any_more_has_no_value(void **state)
{
	struct rig *g = *state;
	char path[120];

	snprintf(path, sizeof path, "/api/v1/channels/%s/ask", g->channel);
	attach(g);
	assert_int_equal(push_value(g), 200);
	assert_int_equal(ask(g->p, "POST", path, "{}"), 200);
	assert_near(number_of(g->p, "/value"), 41.25, 0);
	assert_true(cJSON_IsTrue(at(g->p->f->answer, "/fits")));
	for (int i = 0; i < 100 && !is_null_at(g->p->f->answer, "/value"); i++) {
		pause_ms(100);
		assert_int_equal(ask(g->p, "POST", path, "{}"), 200);
	}
	assert_true(is_null_at(g->p->f->answer, "/value"));
	assert_int_equal(push_value(g), 409);
	expect_detail(g->p, "command 0 comes first");
	g->p->f->as = TECHNICIAN_2; /* and the place is free */
	attach(g);
}

static void what_breaks_the_protocol_is_refused_by_its_member(void **state)
{
	/* The frames of requests, bursts and broken sums are captured ones, or those with a byte changed (tests/data/field). */
	static const struct {
		const char *hex, *detail;
	} bad[] = {
		{"86", "not complete"},
		{"8", "no bytes in hexadecimal"},
		{"8g", "no bytes in hexadecimal"},
		{"ffffff068000180000fe9972050707036400123456050100000000990099009d",
		 "no HART frame from its delimiter"},
		{"068000180000fe9972050707036400123456050100000000990099009e", "checksum"},
		{"068000180000fe9972050707036400123456050100000000990099009d00", "behind the HART frame"},
		{"0280000082", "no answer of a device"},
		{"060000180000fe9972050707036400123456050100000000990099001d", "another master"},
		{"0681001800"
		 "00fe9972050707036400123456050100000000990099009c",
		 "poll address 1"},
	};
	struct rig *g = *state;

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_int_equal(push_hex(g, bad[i].hex), 422);
		expect_refusal(g->p->f, 422, "/frames/0/hex");
		expect_detail(g->p, bad[i].detail);
	}
	attach(g);
	modem_asks(g, true, 9);
	snprintf(g->frames[g->n++], sizeof g->frames[0], "86");
	assert_int_equal(push(g), 422);
	expect_refusal(g->p->f, 422, "/frames/1/hex");
}

static void ages_go_down_and_an_old_value_is_none(void **state)
{
	struct rig *g = *state;
	char body[1200];

	attach(g);
	modem_asks(g, true, 9);
	snprintf(body, sizeof body, "{\"frames\": [{\"hex\": \"%s\", \"age_ms\": 3001}]}", g->frames[0]);
	assert_int_equal(ask(g->p, "POST", g->path, body), 422);
	expect_refusal(g->p->f, 422, "/frames/0/age_ms");
	snprintf(body, sizeof body,
		 "{\"frames\": [{\"hex\": \"%s\", \"age_ms\": 5}, {\"hex\": \"%s\", \"age_ms\": 6}]}", g->frames[0],
		 g->frames[0]);
	assert_int_equal(ask(g->p, "POST", g->path, body), 422);
	expect_refusal(g->p->f, 422, "/frames/1/age_ms");
	snprintf(body, sizeof body, "{\"frames\": [{\"hex\": \"%s\", \"age_ms\": 3000}]}", g->frames[0]);
	assert_int_equal(ask(g->p, "POST", g->path, body), 200);
	assert_int_equal(ask(g->p, "POST", g->path, "{\"frames\": []}"), 422);
	expect_refusal(g->p->f, 422, "/frames");
}

static void a_status_that_forbids_recording_is_told(void **state)
{
	struct rig *g = *state;

	attach(g);
	g->status = FIELD_FIXED;
	assert_int_equal(push_value(g), 200);
	assert_true(cJSON_IsTrue(at(g->p->f->answer, "/blocks")));
	assert_true(has_word(g->p, "/status", "loop current is fixed or the value simulated"));
}

static void another_unit_than_the_channels_is_no_value(void **state)
{
	struct rig *g = *state;

	g->valve.unit = "bar";
	attach(g);
	assert_int_equal(push_value(g), 200);
	assert_true(cJSON_IsFalse(at(g->p->f->answer, "/good")));
	assert_string_equal(text_of(g->p, "/why"), "the device answers in bar, the channel is set to %");
}

static void only_a_channel_of_this_kind_is_fed(void **state)
{
	struct rig *g = *state;
	char path[120];

	assert_int_equal(ask(g->p, "GET", "/api/v1/channels", NULL), 200);
	for (int i = 0; i < 2; i++) {
		char pointer[40];

		snprintf(pointer, sizeof pointer, "/items/%d/id", i);
		if (strcmp(text_of(g->p, pointer), g->channel) != 0)
			snprintf(path, sizeof path, "/api/v1/channels/%s/frames", text_of(g->p, pointer));
	}
	snprintf(g->path, sizeof g->path, "%s", path);
	assert_int_equal(push_identity(g), 409);
	expect_detail(g->p, "it is read from SCPI 127.0.0.1");
}

static void a_modem_is_not_asked_more_often_than_it_can_answer_nor_driven(void **state)
{
	struct rig *g = *state;

	g->p->f->as = LEAD;
	call_version(
		g->p->f, 1, "PUT", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c",
		"{\"period_ms\": 499, \"source\": {\"protocol\": \"hart_browser\", \"variable\": \"pv\", \"unit\": \"%\"}}");
	expect_refusal(g->p->f, 422, "/period_ms");
	call_version(g->p->f, 1, "PUT", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c",
		     "{\"source\": {\"protocol\": \"hart_browser\", \"variable\": \"pv\", \"unit\": \"%\", \"drive\":"
		     " {\"low\": 0, \"high\": 1, \"safe\": 0}}}");
	expect_refusal(g->p->f, 422, "/source/drive");
	call_version(
		g->p->f, 1, "PUT", "/api/v1/channels/01a1de7d-c156-7126-961b-ad32f134cb1c",
		"{\"source\": {\"protocol\": \"hart_browser\", \"host\": \"10.0.0.1\", \"variable\": \"pv\", \"unit\": \"%\"}}");
	expect_refusal(g->p->f, 422, "/source/host");
}

static void a_follow_run_records_pushed_values_with_the_raw_answer(void **state)
{
	struct rig *g = *state;
	struct plant *p = g->p;
	char raw[2 * HART_ANSWER_MAX + 1] = "";

	open_record(p);
	fixture_sql(
		p->f,
		"UPDATE test_record SET procedure_json = replace(procedure_json, '\"settle_s\":10', '\"settle_s\":0')");
	prepare(p);
	prove(p);
	assert_true(sim_part_set(&g->part, "current", 4));
	attach(g);
	assert_int_equal(record_ask(p, "POST", "/live", "{\"mode\": \"follow\", \"window_s\": 3}"), 200);
	for (int i = 0; i < 60; i++) {
		modem_asks(g, true, 9);
		snprintf(raw, sizeof raw, "%s", g->frames[0]);
		assert_int_equal(push(g), 200);
		look(p);
		if (!is_null_at(p->f->answer, "/runs/0/points/0/reading"))
			break;
		pause_ms(500);
	}
	assert_near(number_of(p, "/runs/0/points/0/reading/observed"), 41.25, 0.001);
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/captured/output/device"), "f9e0-000301");
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/captured/output/raw"), raw);
	assert_non_null(strstr(raw, "42250000"));
	assert_string_equal(text_of(p, "/runs/0/points/0/reading/captured/output/from"),
			    "HART modem at a browser, primary variable");
	assert_int_equal(record_ask(p, "POST", "/live/stop", "{}"), 200);
}

#define T(f) cmocka_unit_test_setup_teardown(f, rig_setup, rig_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(a_pushed_answer_is_the_value_of_the_channel),
		T(commands_1_and_3_hold_the_primary_variable_too),
		T(who_answers_is_said_before_any_value),
		T(the_short_tag_alone_says_who_answers),
		T(the_wrong_device_is_refused_by_name),
		T(another_device_than_the_confirmed_one_is_refused_by_name),
		T(a_value_of_another_device_ends_the_feed),
		T(one_session_feeds_a_channel_at_a_time),
		T(a_modem_that_says_nothing_any_more_has_no_value),
		T(what_breaks_the_protocol_is_refused_by_its_member),
		T(ages_go_down_and_an_old_value_is_none),
		T(a_status_that_forbids_recording_is_told),
		T(another_unit_than_the_channels_is_no_value),
		T(only_a_channel_of_this_kind_is_fed),
		T(a_modem_is_not_asked_more_often_than_it_can_answer_nor_driven),
		T(a_follow_run_records_pushed_values_with_the_raw_answer),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
