/*
 * The clients on a bad line. The device counts its answers, so that each value it ever gave is known, and when. The claim: a
 * reading is one that the device gave after it was asked for, or there is an error; never another device's, never an old one,
 * never one that the line made up; a level that it says it went to is where the device stands; and no call outlasts its time by
 * more than what a busy machine needs.
 *
 * A byte of a HART frame that is spoiled shows in its parity byte; two spoiled bytes may not, which no client can mend, so one
 * is spoiled at a time. Modbus over TCP and SCPI leave their data to the checksum of TCP, so that only what they can judge is
 * spoiled: head, function and count of the one, a letter that becomes none of the other. Nor has SCPI a number by which a doubled
 * answer would be known; TCP doubles nothing. FAULT_SEED and FAULT_CASES in the environment try others and more.
 */
#include "field/sim_server.h"
#include "field/source.h"
#include "support/check.h"
#include "support/fault_proxy.h"

#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define STEP	   0.125 /* exact in a float32 for all that is counted here */
#define TIMEOUT_MS 12
#define SLACK_MS   1500
#define CASES	   2500 /* of each of the four lines */

/* ---- the device ---- */

static atomic_uint given; /* values so far; the n-th is n * STEP */
static _Atomic double level;
static const char *counted; /* what is counted; the others stand still */

static bool counted_read(void *plant, const char *what, struct sim_value *out)
{
	(void)plant;
	*out = (struct sim_value){.value = strcmp(what, "level") ? 12 : atomic_load(&level), .unit = "mA"};
	if (!strcmp(what, counted))
		*out = (struct sim_value){.value = STEP * (atomic_fetch_add(&given, 1) + 1), .unit = "%"};
	return true;
}

static bool level_set(void *plant, const char *what, double value)
{
	(void)plant;
	(void)what;
	atomic_store(&level, value);
	return true;
}

static bool stranger_set(void *plant, const char *what, double value)
{
	(void)plant;
	(void)what;
	(void)value;
	return true;
}

static bool stranger_read(void *plant, const char *what, struct sim_value *out)
{
	(void)plant;
	(void)what;
	*out = (struct sim_value){.value = -1, .unit = "%"};
	return true;
}

#define LEVEL 8 /* the register of the level */

static const struct sim_register registers[] = {
	{.function = 3, .format = "f32-cdab", .what = "pv"},
	{.function = 3, .reg = LEVEL, .format = "f32-cdab", .what = "level", .writable = true}};

static struct sim_device device = {.tag = "FCV-2107",
				   .long_tag = "Filter 7 backwash flow control",
				   .descriptor = "BACKWASH VALVE",
				   .maker = "Vennoric",
				   .model = "VX-200",
				   .serial = "V2107",
				   .revision = "1",
				   .hart_type = 0xf9e0,
				   .hart_id = 0x021070,
				   .unit = "%",
				   .urv = 100,
				   .sensor_high = 100,
				   .span_min = 10,
				   .registers = registers,
				   .register_count = 2,
				   .read = counted_read,
				   .set = level_set},
			 stranger;

/* ---- one line ---- */

struct line {
	const char *name;
	enum field_protocol protocol;
	sim_answer *answer;
	bool moves;
	unsigned per_mille[FAULTS];
	const char *id; /* what the device calls itself */
	int unit;	/* Modbus */
	unsigned corrupt_first;
	uint8_t corrupt_bits;
	const char *counted;
	bool drives;
};

struct run {
	const struct line *line;
	struct field_config config;
	struct sim_server *server;
	struct fault_proxy *proxy;
	struct field_source *source;
	unsigned read, refused, opened, driven, not_driven;
	int64_t longest_ms;
};

static int64_t now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

static unsigned from_environment(const char *name, unsigned absent)
{
	const char *text = getenv(name);

	return text ? (unsigned)strtoul(text, NULL, 10) : absent;
}

static void timed(struct run *r, int64_t begun, const char *what)
{
	int64_t took = now_ms() - begun;

	if (took > TIMEOUT_MS + SLACK_MS)
		print_error("%s: %s took %lld ms\n", r->line->name, what, (long long)took);
	assert_true(took <= TIMEOUT_MS + SLACK_MS);
	if (took > r->longest_ms)
		r->longest_ms = took;
}

/* Until there is a source that has said that it is the device and not the stranger. */
static void open_source(struct run *r)
{
	for (int i = 0; i < 1000 && !r->source; i++) {
		struct field_identity identity;
		struct err err = {0};
		int64_t begun = now_ms();
		enum status rc = field_open(&r->source, &r->config, &err);

		timed(r, begun, "open");
		if (rc) {
			assert_true(*err.message);
			continue;
		}
		begun = now_ms();
		rc = field_identify(r->source, &identity, &err);
		timed(r, begun, "identify");
		if (!rc && !strcmp(identity.device_id, r->line->id)) {
			r->opened++;
			return;
		}
		field_close(r->source);
		r->source = NULL;
	}
	assert_non_null(r->source);
}

static void read_once(struct run *r)
{
	unsigned before = atomic_load(&given), n;
	struct field_reading reading = {.value = -77};
	struct err err = {0};
	int64_t begun = now_ms();
	enum status rc = field_read(r->source, &reading, &err);

	timed(r, begun, "read");
	if (rc) {
		assert_true(rc == BUSY || rc == FAILED);
		assert_true(*err.message);
		assert_near(reading.value, -77, 0); /* untouched */
		r->refused++;
		return;
	}
	n = reading.value > 0 && reading.value < 1e6 ? (unsigned)(reading.value / STEP + 0.5) : 0;
	if (fabs(reading.value - n * STEP) > 1e-9 || n <= before || n > atomic_load(&given))
		print_error("%s: read %.9g (value %u); before %u, now %u; %s\n", r->line->name, reading.value, n,
			    before, atomic_load(&given), reading.raw);
	assert_near(reading.value, n * STEP, 1e-9); /* amperes and back */
	assert_true(n > before && n <= atomic_load(&given));
	r->read++;
}

/* The n-th level; exact in a float32. */
static void drive_once(struct run *r, unsigned n)
{
	double to = 4 + n % 128 * STEP;
	struct err err = {0};
	int64_t begun = now_ms();
	enum status rc = field_drive(r->source, to, &err);

	timed(r, begun, "drive");
	if (rc) {
		assert_true(rc == BUSY || rc == FAILED);
		assert_true(*err.message);
		r->not_driven++;
		return;
	}
	assert_near(atomic_load(&level), to, 1e-9); /* amperes and back */
	r->driven++;
}

static struct field_config config_of(const struct line *line)
{
	bool scpi = line->protocol == FIELD_SCPI;

	return (struct field_config){.protocol = line->protocol,
				     .host = "127.0.0.1",
				     .timeout_ms = TIMEOUT_MS,
				     .variable = "pv",
				     .format = "f32-cdab",
				     .address = line->unit,
				     .query = "MEAS:CURR?",
				     .read_factor = scpi ? 1000 : 0,
				     .set = "SOUR:CURR %s",
				     .set_factor = scpi ? 0.001 : 0,
				     .set_reg = line->drives ? LEVEL : -1,
				     .drivable = line->drives,
				     .drive_low = line->drives ? 4 : 0,
				     .drive_high = line->drives ? 20 : 0,
				     .safe = line->drives ? 4 : 0};
}

static void begin(struct run *r, const struct line *line)
{
	bool udp = line->protocol == FIELD_HART_IP_UDP;
	struct sim_endpoint endpoints[2] = {{&device, line->answer, udp, 0, line->moves},
					    {&stranger, line->answer, udp, 0, false}};
	struct fault_plan plan = {.udp = udp,
				  .seed = from_environment("FAULT_SEED", 2107),
				  .delay_ms = 2 * TIMEOUT_MS,
				  .corrupt_first = line->corrupt_first,
				  .corrupt_bits = line->corrupt_bits};
	struct err err = {0};

	*r = (struct run){.line = line, .config = config_of(line)};
	counted = line->counted;
	device.address = line->unit;
	stranger.address = line->unit;
	assert_int_equal(sim_server_start(&r->server, endpoints, 2, &err), OK);
	plan.to_port = sim_server_port(r->server, 0, false);
	plan.stranger_port = sim_server_port(r->server, 1, false);
	memcpy(plan.per_mille, line->per_mille, sizeof plan.per_mille);
	r->proxy = fault_proxy_start(&plan);
	assert_non_null(r->proxy);
	r->config.port = fault_proxy_port(r->proxy);
}

static void end(struct run *r, unsigned done[FAULTS])
{
	field_close(r->source);
	fault_proxy_stop(r->proxy, done);
	sim_server_stop(r->server);
	print_message("%s: %u read, %u refused, %u driven, %u not, %u opened, longest call %lld ms; drop %u delay %u "
		      "reorder %u duplicate %u corrupt %u cut %u dribble %u stranger %u\n",
		      r->line->name, r->read, r->refused, r->driven, r->not_driven, r->opened, (long long)r->longest_ms,
		      done[FAULT_DROP], done[FAULT_DELAY], done[FAULT_REORDER], done[FAULT_DUPLICATE],
		      done[FAULT_CORRUPT], done[FAULT_CUT], done[FAULT_DRIBBLE], done[FAULT_STRANGER]);
}

static void run_line(const struct line *line)
{
	unsigned cases = from_environment("FAULT_CASES", CASES), done[FAULTS];
	struct run r;

	begin(&r, line);
	for (unsigned i = 0; i < cases; i++) {
		if (i % 25 == 0) {
			field_close(r.source);
			r.source = NULL;
		}
		if (!r.source)
			open_source(&r);
		if (line->drives && i % 2)
			drive_once(&r, i);
		else
			read_once(&r);
	}
	end(&r, done);
	/* The claim is about something: much was read, and much went wrong. */
	assert_true(r.read > cases / 20);
	assert_true(r.refused > cases / 100);
	assert_true(!line->drives || (r.driven > cases / 50 && r.not_driven > cases / 100));
	for (int f = 0; f < FAULTS; f++)
		assert_true(line->per_mille[f] == 0 || done[f] > 0);
}

static int setup(void **state)
{
	(void)state;
	stranger = device;
	stranger.tag = "FCV-3106";
	stranger.long_tag = "Dosing water flow control";
	stranger.hart_id = 0x031060;
	stranger.model = "VX-100";
	stranger.serial = "V3106";
	stranger.read = stranger_read;
	stranger.set = stranger_set;
	return 0;
}

#define ALL_FAULTS                                                                                   \
	{                                                                                            \
		[FAULT_DROP] = 50, [FAULT_DELAY] = 60, [FAULT_REORDER] = 40, [FAULT_DUPLICATE] = 50, \
		[FAULT_CORRUPT] = 60, [FAULT_CUT] = 30, [FAULT_DRIBBLE] = 30, [FAULT_STRANGER] = 20  \
	}

#define HART_ID "f9e0-021070"

static void hart_over_datagrams_reads_what_the_device_said_or_nothing(void **state)
{
	static const struct line line = {
		"HART-IP, UDP", FIELD_HART_IP_UDP, sim_hart_ip_answer, false, ALL_FAULTS, HART_ID, 0, 0, 0, "pv",
		false};

	(void)state;
	run_line(&line);
}

static void hart_over_a_stream_reads_what_the_device_said_or_nothing(void **state)
{
	static const struct line line = {
		"HART-IP, TCP", FIELD_HART_IP_TCP, sim_hart_ip_answer, false, ALL_FAULTS, HART_ID, 0, 0, 0, "pv",
		false};

	(void)state;
	run_line(&line);
}

static void modbus_over_a_stream_reads_what_the_device_said_or_nothing(void **state)
{
	static const struct line line = {
		"Modbus, TCP", FIELD_MODBUS_TCP, sim_modbus_answer, false, ALL_FAULTS, "VX-200", 17, 9, 0, "pv", true};

	(void)state;
	run_line(&line);
}

static void scpi_reads_what_the_instrument_said_or_nothing(void **state)
{
	static const struct line line = {"SCPI",
					 FIELD_SCPI,
					 sim_scpi_answer,
					 false,
					 {[FAULT_DROP] = 50,
					  [FAULT_DELAY] = 60,
					  [FAULT_REORDER] = 40,
					  [FAULT_CORRUPT] = 60,
					  [FAULT_CUT] = 30,
					  [FAULT_DRIBBLE] = 30,
					  [FAULT_STRANGER] = 20},
					 "V2107",
					 0,
					 0,
					 0x80,
					 "current",
					 true};

	(void)state;
	run_line(&line);
}

/* Some comes twice, and there is time for it between two readings. */
static void scpi_takes_nothing_that_came_before_it_asked(void **state)
{
	static const struct line line = {
		"SCPI, doubled", FIELD_SCPI, sim_scpi_answer, false, {[FAULT_DUPLICATE] = 200}, "V2107", 0, 0, 0,
		"current",	 false};
	unsigned done[FAULTS];
	struct run r;

	(void)state;
	begin(&r, &line);
	open_source(&r);
	for (int i = 0; i < 60; i++) {
		usleep(4 * TIMEOUT_MS * 1000);
		read_once(&r);
	}
	end(&r, done);
	assert_true(r.read > 5 && done[FAULT_DUPLICATE] > 5);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(hart_over_datagrams_reads_what_the_device_said_or_nothing),
		cmocka_unit_test(hart_over_a_stream_reads_what_the_device_said_or_nothing),
		cmocka_unit_test(modbus_over_a_stream_reads_what_the_device_said_or_nothing),
		cmocka_unit_test(scpi_reads_what_the_instrument_said_or_nothing),
		cmocka_unit_test(scpi_takes_nothing_that_came_before_it_asked),
	};

	return cmocka_run_group_tests(tests, setup, NULL);
}
