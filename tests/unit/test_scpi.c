/*
 * SCPI: numbers and error entries as the standards write them, a transcript of another program's instrument, and a source driven
 * over a real connection.
 */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "field/scpi.h"
#include "field/sim_server.h"

static void numbers_are_read_in_all_three_forms_and_nothing_else_is(void **state)
{
	/* IEEE 488.2-1992 8.7.2 to 8.7.4: NR1, NR2, NR3 */
	static const struct {
		const char *text;
		double value;
	} good[] = {{"0", 0},
		    {"-3", -3},
		    {"+12", 12},
		    {"12.345", 12.345},
		    {"-0.002", -0.002},
		    {"+1.2345E-02", 0.012345},
		    {"  4.000E+00 ", 4},
		    {".5", .5}};
	static const char *const bad[] = {"",	   " ",	 "nan", "inf",	 "0x10", "1,2",
					  "12 mA", "1e", "--1", "1e999", "+",	 "4.0;5.0"};
	unsigned status = 1;
	double value = 0;

	(void)state;
	for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
		assert_true(scpi_number(good[i].text, &value, &status));
		assert_true(value == good[i].value);
		assert_int_equal(status, 0);
	}
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(scpi_number(bad[i], &value, &status));
	/* SCPI-99 7.2.1.4 and 7.2.1.5, from memory: 9.9E37 infinity, 9.91E37 not a number */
	assert_true(scpi_number("9.9E37", &value, &status));
	assert_true(isnan(value) && status == FIELD_OVERLOAD);
	assert_true(scpi_number("-9.900000E+37", &value, &status));
	assert_true(isnan(value) && status == FIELD_OVERLOAD);
	assert_true(scpi_number("9.91E37", &value, &status));
	assert_true(isnan(value) && status == FIELD_BAD);
}

/* Lines of a transcript: scpi-parser 8866159, examples/test-tcp, at loopback port 5025. */
static void entries_of_the_error_queue_are_read(void **state)
{
	char words[80];
	int number;

	(void)state;
	assert_true(scpi_error("-113,\"Undefined header;SOUR:CURR 0.012\"", &number, words, sizeof words));
	assert_int_equal(number, -113);
	assert_string_equal(words, "Undefined header;SOUR:CURR 0.012");
	assert_true(scpi_error("0,\"No error\"", &number, words, sizeof words));
	assert_int_equal(number, 0);
	assert_true(scpi_error("-100,\"say \"\"no\"\"\"", &number, words, sizeof words)); /* quotes are doubled */
	assert_string_equal(words, "say \"no\"");
	assert_false(scpi_error("0", &number, words, sizeof words));
	assert_false(scpi_error("0,\"open", &number, words, sizeof words));
	assert_false(scpi_error("0,\"No error\" more", &number, words, sizeof words));
	assert_false(scpi_error("99999999,\"x\"", &number, words, sizeof words));
}

static void an_instrument_says_who_it_is_in_four_fields(void **state)
{
	struct field_identity who;

	(void)state;
	assert_true(scpi_identity("MANUFACTURE,INSTR2013,0,01-02", &who)); /* the same transcript */
	assert_string_equal(who.maker, "MANUFACTURE");
	assert_string_equal(who.model, "INSTR2013");
	assert_string_equal(who.revision, "01-02");
	assert_string_equal(who.device_id, "INSTR2013"); /* a serial number of 0 is none */
	assert_false(scpi_identity("MANUFACTURE,INSTR2013,0", &who));
	assert_false(scpi_identity("", &who));
}

/* ---- over a connection ---- */

struct loop {
	double level; /* mA */
	int sets;
};

static bool loop_read(void *plant, const char *what, struct sim_value *out)
{
	const struct loop *l = plant;

	out->value = strcmp(what, "output") ? l->level : 1;
	out->status = 0;
	return !strcmp(what, "current") || !strcmp(what, "output");
}

static bool loop_set(void *plant, const char *what, double value)
{
	struct loop *l = plant;

	if (strcmp(what, "current") != 0 || value < 0 || value > 24)
		return false;
	l->level = value;
	l->sets++;
	return true;
}

static struct loop loop;
static struct sim_server *server;
static struct field_source *source;

static struct sim_device device = {.maker = "Fenwold",
				   .model = "CS-24",
				   .serial = "1187",
				   .revision = "1",
				   .plant = &loop,
				   .read = loop_read,
				   .set = loop_set};

static int setup(void **state)
{
	struct sim_endpoint endpoint = {&device, sim_scpi_answer, false, 0, false};
	struct field_config config = {.protocol = FIELD_SCPI,
				      .host = "127.0.0.1",
				      .timeout_ms = 300,
				      .query = "MEAS:CURR:DC?",
				      .unit = "mA",
				      .set = "SOUR:CURR %s",
				      .set_factor = 0.001,
				      .read_factor = 1000,
				      .drivable = true,
				      .drive_low = 3.8,
				      .drive_high = 20.5,
				      .safe = 4};
	struct err err = {0};

	(void)state;
	loop = (struct loop){.level = 4};
	if (sim_server_start(&server, &endpoint, 1, &err))
		return -1;
	config.port = sim_server_port(server, 0, false);
	if (field_open(&source, &config, &err)) {
		print_error("%s %s\n", err.field, err.message);
		return -1;
	}
	return 0;
}

static int teardown(void **state)
{
	(void)state;
	field_close(source);
	sim_server_stop(server);
	return 0;
}

static void a_value_comes_in_the_unit_of_its_channel(void **state)
{
	struct field_reading r;
	struct field_identity who;
	struct err err = {0};

	(void)state;
	loop.level = 12.345;
	assert_int_equal(field_read(source, &r, &err), OK);
	assert_true(fabs(r.value - 12.345) < 1e-6);
	assert_string_equal(r.unit, "mA");
	assert_string_equal(r.raw, "+1.23450000E-02");
	assert_true(r.at_ms > 0);
	loop.level = NAN;
	assert_int_equal(field_read(source, &r, &err), OK);
	assert_true(isnan(r.value) && r.status == FIELD_BAD);
	assert_int_equal(field_identify(source, &who, &err), OK);
	assert_string_equal(who.device_id, "1187");
	assert_int_equal(loop.sets, 0); /* reading sets nothing */
}

static void a_source_is_driven_within_its_limits_only(void **state)
{
	static const double beyond[] = {3.79, 20.51, -1, 1e9};
	struct err err = {0};

	(void)state;
	assert_int_equal(field_drive(source, 12, &err), OK);
	assert_true(fabs(loop.level - 12) < 1e-9);
	for (size_t i = 0; i < sizeof beyond / sizeof *beyond; i++)
		assert_int_equal(field_drive(source, beyond[i], &err), INVALID);
	assert_int_equal(field_drive(source, NAN, &err), INVALID);
	assert_int_equal(loop.sets, 1);
	assert_int_equal(field_safe(source, &err), OK);
	assert_true(fabs(loop.level - 4) < 1e-9);
}

static void a_query_that_the_instrument_does_not_know_is_explained(void **state)
{
	struct field_config config = {.protocol = FIELD_SCPI,
				      .host = "127.0.0.1",
				      .port = sim_server_port(server, 0, false),
				      .timeout_ms = 200,
				      .query = "MEAS:PRES?",
				      .unit = "bar"};
	struct field_source *other;
	struct field_reading r;
	struct err err = {0};

	(void)state;
	assert_int_equal(field_open(&other, &config, &err), OK);
	assert_int_equal(field_read(other, &r, &err), FAILED);
	assert_non_null(strstr(err.message, "-113, Undefined header"));
	field_close(other);
}

/* The server ends and begins at the same port, with this device. */
static void serve_again(struct sim_device *d)
{
	struct sim_endpoint endpoint = {d, sim_scpi_answer, false, sim_server_port(server, 0, false), false};
	struct err err = {0};

	sim_server_stop(server);
	assert_int_equal(sim_server_start(&server, &endpoint, 1, &err), OK);
}

static void a_connection_that_ended_is_made_anew(void **state)
{
	struct field_reading r;
	struct err err = {0};

	(void)state;
	serve_again(&device);
	assert_int_equal(field_read(source, &r, &err), OK);
	serve_again(&device);
	assert_int_equal(field_drive(source, 12, &err), OK);
	assert_near(loop.level, 12, 1e-9);
	sim_server_stop(server);
	server = NULL;
	assert_int_equal(field_read(source, &r, &err), BUSY);
	assert_int_equal(field_drive(source, 12, &err), BUSY);
}

static void another_instrument_at_the_address_is_named_and_neither_read_nor_driven(void **state)
{
	struct sim_device other = device;
	struct field_reading r;
	struct err err = {0};

	(void)state;
	other.serial = "1188";
	serve_again(&other);
	assert_int_equal(field_drive(source, 12, &err), BUSY);
	assert_int_equal(field_read(source, &r, &err), BUSY);
	assert_non_null(strstr(err.message, "Fenwold,CS-24,1188"));
	assert_int_equal(loop.sets, 0);
	serve_again(&device);
	assert_int_equal(field_read(source, &r, &err), OK);
}

static void what_could_not_be_meant_is_refused_before_it_is_sent(void **state)
{
	struct field_config config = {.protocol = FIELD_SCPI, .host = "127.0.0.1", .query = "*RST", .unit = "mA"};
	struct field_source *other;
	struct err err = {0};

	(void)state;
	assert_int_equal(field_open(&other, &config, &err), INVALID);
	assert_string_equal(err.field, "/query");
	strcpy(config.query, "READ?;*RST");
	assert_int_equal(field_open(&other, &config, &err), INVALID);
	strcpy(config.query, "READ?");
	strcpy(config.set, "SOUR:CURR %d");
	assert_int_equal(field_open(&other, &config, &err), INVALID);
	assert_string_equal(err.field, "/set");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(numbers_are_read_in_all_three_forms_and_nothing_else_is),
		cmocka_unit_test(entries_of_the_error_queue_are_read),
		cmocka_unit_test(an_instrument_says_who_it_is_in_four_fields),
		cmocka_unit_test_setup_teardown(a_value_comes_in_the_unit_of_its_channel, setup, teardown),
		cmocka_unit_test_setup_teardown(a_source_is_driven_within_its_limits_only, setup, teardown),
		cmocka_unit_test_setup_teardown(a_query_that_the_instrument_does_not_know_is_explained, setup,
						teardown),
		cmocka_unit_test_setup_teardown(a_connection_that_ended_is_made_anew, setup, teardown),
		cmocka_unit_test_setup_teardown(another_instrument_at_the_address_is_named_and_neither_read_nor_driven,
						setup, teardown),
		cmocka_unit_test_setup_teardown(what_could_not_be_meant_is_refused_before_it_is_sent, setup, teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
