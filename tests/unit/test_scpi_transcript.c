/*
 * SCPI against the transcript of another program's instrument (scpi-parser 8866159, examples/test-tcp, at loopback port 5025): our
 * driver hears its answers over a real connection, byte for byte; and the simulated instrument is told the same lines.
 */
#include "support/check.h"

#include <stdio.h>
#include <string.h>

#include "field/scpi.h"
#include "field/sim_server.h"

#define UNDEFINED(line) "-113,\"Undefined header;" line "\""
#define NO_ERROR	"0,\"No error\""
#define IDENTITY	"MANUFACTURE,INSTR2013,0,01-02"

/* Each line of the transcript; NULL: no answer. */
static const struct row {
	const char *line, *answer;
} rows[] = {
	{"*IDN?", IDENTITY},
	{"SYST:VERS?", "1999.0"},
	{"MEAS:CURR:DC?", "0"},
	{"MEASURE:CURRENT:DC?", "0"},
	{"meas:volt:dc? 10,0.001", "0"},
	{"SOUR:CURR 0.012", NULL},
	{"READ?", NULL},
	{"FETC?", NULL},
	{"SYST:ERR:COUN?", "3"},
	{"SYST:ERR?", UNDEFINED("SOUR:CURR 0.012")},
	{"SYST:ERR?", UNDEFINED("READ?")},
	{"SYST:ERR?", UNDEFINED("FETC?")},
	{"SYST:ERR?", NO_ERROR},
	{"*ESR?", "32"},
	{"*ESR?", "0"},
	{"*OPC?", "1"},
	{"*STB?", "0"},
	{"*IDN?;:SYST:ERR?", IDENTITY ";" NO_ERROR},
	{"*IDN", NULL},
	{"SYST:ERR?", UNDEFINED("*IDN")},
};

#define ROWS (sizeof rows / sizeof *rows)

/* ---- the instrument of the transcript ---- */

static char waiting[8][80]; /* entries of its error queue, as it wrote them */
static size_t waiting_count;
static unsigned asked_events;

static const char *next_entry(void)
{
	static char entry[80];

	if (waiting_count == 0)
		return NO_ERROR;
	memcpy(entry, waiting[0], sizeof entry);
	memmove(waiting[0], waiting[1], --waiting_count * sizeof *waiting);
	return entry;
}

static const char *answer_of(const char *line)
{
	char entry[sizeof *waiting];

	if (!strcmp(line, "SYST:ERR?"))
		return next_entry();
	if (!strcmp(line, "*ESR?"))
		return asked_events++ ? "0" : "32";
	for (size_t i = 0; i < ROWS; i++) {
		if (!strcmp(rows[i].line, line) && rows[i].answer)
			return rows[i].answer;
	}
	snprintf(entry, sizeof entry, UNDEFINED("%.40s"), line);
	memcpy(waiting[waiting_count++ % 8], entry, sizeof entry);
	return NULL;
}

static long transcript(struct sim_device *device, struct sim_session *session, const uint8_t *in, size_t size,
		       uint8_t *out, size_t room, size_t *out_size)
{
	const uint8_t *end = memchr(in, '\n', size);
	const char *answer;
	char line[100];

	(void)device;
	(void)session;
	*out_size = 0;
	if (!end)
		return 0;
	snprintf(line, sizeof line, "%.*s", (int)(end - in), (const char *)in);
	answer = answer_of(line);
	if (answer)
		*out_size = (size_t)snprintf((char *)out, room, "%s\r\n", answer);
	return end - in + 1;
}

static struct sim_server *server;
static struct field_config config;

static int setup(void **state)
{
	static struct sim_device nothing;
	struct sim_endpoint endpoint = {&nothing, transcript, false, 0, false};
	struct err err = {0};

	(void)state;
	waiting_count = 0;
	asked_events = 0;
	if (sim_server_start(&server, &endpoint, 1, &err))
		return -1;
	config = (struct field_config){.protocol = FIELD_SCPI,
				       .host = "127.0.0.1",
				       .port = sim_server_port(server, 0, false),
				       .timeout_ms = 300,
				       .query = "READ?",
				       .unit = "mA",
				       .set_reg = -1};
	return 0;
}

static int teardown(void **state)
{
	(void)state;
	sim_server_stop(server);
	return 0;
}

static enum status ask(const char *query, struct field_reading *r, struct err *err)
{
	struct field_source *source;
	enum status rc;

	snprintf(config.query, sizeof config.query, "%s", query);
	rc = field_open(&source, &config, err);
	if (!rc)
		rc = field_read(source, r, err);
	field_close(source);
	return rc;
}

/* ---- what the driver makes of it ---- */

static void each_number_of_the_transcript_is_read(void **state)
{
	static const struct {
		const char *query, *raw;
		double value;
	} numbers[] = {{"SYST:VERS?", "1999.0", 1999},
		       {"MEAS:CURR:DC?", "0", 0},
		       {"MEASURE:CURRENT:DC?", "0", 0},
		       {"meas:volt:dc? 10,0.001", "0", 0},
		       {"SYST:ERR:COUN?", "3", 3},
		       {"*ESR?", "32", 32},
		       {"*ESR?", "0", 0},
		       {"*OPC?", "1", 1},
		       {"*STB?", "0", 0}};

	(void)state;
	for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
		struct field_reading r;
		struct err err = {0};

		if (ask(numbers[i].query, &r, &err))
			fail_msg("%s: %s", numbers[i].query, err.message);
		assert_near(r.value, numbers[i].value, 0);
		assert_string_equal(r.raw, numbers[i].raw);
		assert_int_equal(r.status, 0);
	}
}

static void a_query_without_an_answer_is_explained_by_the_transcripts_error(void **state)
{
	static const char *const queries[] = {"READ?", "FETC?"};

	(void)state;
	for (size_t i = 0; i < 2; i++) {
		struct field_reading r;
		struct err err = {0};
		char words[80];

		snprintf(words, sizeof words, "-113, Undefined header;%s", queries[i]);
		assert_int_equal(ask(queries[i], &r, &err), FAILED);
		assert_non_null(strstr(err.message, words));
		assert_int_equal(waiting_count, 0); /* the queue was read to its end */
	}
}

static void a_level_that_the_instrument_does_not_know_how_to_take_is_refused(void **state)
{
	struct field_source *source;
	struct err err = {0};

	(void)state;
	strcpy(config.set, "SOUR:CURR %s");
	config.set_factor = 0.001;
	config.drivable = true;
	config.drive_high = 20;
	assert_int_equal(field_open(&source, &config, &err), OK);
	assert_int_equal(field_drive(source, 12, &err), FAILED);
	assert_non_null(strstr(err.message, "refuses SOUR:CURR 0.012: -113, Undefined header;SOUR:CURR 0.012"));
	field_close(source);
}

static void who_it_is_is_read_and_an_error_behind_it_is_no_part_of_that(void **state)
{
	struct field_source *source;
	struct field_identity who;
	struct field_reading r;
	struct err err = {0};
	double value;
	unsigned status;
	char words[80];
	int number;

	(void)state;
	assert_int_equal(field_open(&source, &config, &err), OK);
	assert_int_equal(field_identify(source, &who, &err), OK);
	field_close(source);
	assert_string_equal(who.maker, "MANUFACTURE");
	assert_string_equal(who.model, "INSTR2013");
	assert_string_equal(who.revision, "01-02");
	assert_string_equal(who.device_id, "INSTR2013"); /* a serial number of 0 is none */
	/* Two queries on a line, and a command that is none, are never sent. */
	assert_int_equal(ask("*IDN?;:SYST:ERR?", &r, &err), INVALID);
	assert_int_equal(ask("*IDN", &r, &err), INVALID);
	assert_false(scpi_identity(IDENTITY ";" NO_ERROR, &who));
	assert_false(scpi_number(IDENTITY ";" NO_ERROR, &value, &status));
	assert_false(scpi_error(IDENTITY ";" NO_ERROR, &number, words, sizeof words));
}

static void each_entry_of_the_error_queue_is_read(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS; i++) {
		char words[80], expected[80];
		int number = 1;

		if (strcmp(rows[i].line, "SYST:ERR?") != 0)
			continue;
		assert_true(scpi_error(rows[i].answer, &number, words, sizeof words));
		assert_int_equal(number, strcmp(rows[i].answer, NO_ERROR) ? -113 : 0);
		snprintf(expected, sizeof expected, number ? "-113,\"%s\"" : "0,\"%s\"", words);
		assert_string_equal(expected, rows[i].answer);
	}
}

/* ---- what the simulated instrument says to the same ---- */

static bool meter_read(void *plant, const char *what, struct sim_value *out)
{
	(void)plant;
	*out = (struct sim_value){.value = 0};
	return !strcmp(what, "current");
}

/* A meter: it can read where that instrument could not, and measures no voltage. What it says behind its own name, and whether it
 * says the unknown line after the words of its error, is its own. */
static void the_simulated_meter_says_the_same_where_it_is_alike(void **state)
{
	static const struct row said[] = {
		{"SYST:VERS?", "1999.0"}, {"SYST:ERR?", NO_ERROR}, {"SOUR:CURR 0.012", NULL},
		{"*IDN", NULL},		  {"SYST:ERR:COUN?", "2"}, {"*ESR?", "32"},
		{"*ESR?", "0"},		  {"*OPC?", "1"},	   {"*STB?", "0"},
	};
	struct sim_device meter = {
		.maker = "Fenwold", .model = "CS-24", .serial = "1188", .revision = "1", .read = meter_read};
	struct sim_session session = {0};
	char line[100], out[SIM_MESSAGE + 1], expected[100];
	size_t n;

	(void)state;
	for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
		snprintf(line, sizeof line, "%s\n", said[i].line);
		snprintf(expected, sizeof expected, "%s%s", said[i].answer ? said[i].answer : "",
			 said[i].answer ? "\r\n" : "");
		assert_int_equal(sim_scpi_answer(&meter, &session, (const uint8_t *)line, strlen(line), (uint8_t *)out,
						 SIM_MESSAGE, &n),
				 strlen(line));
		out[n] = '\0';
		assert_string_equal(out, expected);
	}
	for (int i = 0; i < 3; i++) {
		sim_scpi_answer(&meter, &session, (const uint8_t *)"*IDN?;:SYST:ERR?\n", 17, (uint8_t *)out,
				SIM_MESSAGE, &n);
		out[n] = '\0';
		assert_string_equal(out, i < 2 ? "Fenwold,CS-24,1188,1;-113,\"Undefined header\"\r\n" :
						 "Fenwold,CS-24,1188,1;0,\"No error\"\r\n");
	}
}

static void short_and_long_headers_of_the_transcript_are_one(void **state)
{
	static const char *const lines[] = {"MEAS:CURR:DC?\n", "MEASURE:CURRENT:DC?\n", "meas:curr:dc? 10,0.001\n"};
	struct sim_device meter = {.read = meter_read};
	struct sim_session session = {0};

	(void)state;
	for (size_t i = 0; i < 3; i++) {
		char out[SIM_MESSAGE + 1];
		double value = 1;
		unsigned status;
		size_t n;

		sim_scpi_answer(&meter, &session, (const uint8_t *)lines[i], strlen(lines[i]), (uint8_t *)out,
				SIM_MESSAGE, &n);
		assert_true(n > 2);
		out[n - 2] = '\0';
		assert_true(scpi_number(out, &value, &status));
		assert_near(value, 0, 0);
	}
	assert_int_equal(session.error_count, 0);
}

int main(void)
{
#define WITH_INSTRUMENT(test) cmocka_unit_test_setup_teardown(test, setup, teardown)
	const struct CMUnitTest tests[] = {
		WITH_INSTRUMENT(each_number_of_the_transcript_is_read),
		WITH_INSTRUMENT(a_query_without_an_answer_is_explained_by_the_transcripts_error),
		WITH_INSTRUMENT(a_level_that_the_instrument_does_not_know_how_to_take_is_refused),
		WITH_INSTRUMENT(who_it_is_is_read_and_an_error_behind_it_is_no_part_of_that),
		cmocka_unit_test(each_entry_of_the_error_queue_is_read),
		cmocka_unit_test(the_simulated_meter_says_the_same_where_it_is_alike),
		cmocka_unit_test(short_and_long_headers_of_the_transcript_are_one),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
