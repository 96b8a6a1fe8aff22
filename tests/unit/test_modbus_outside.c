/*
 * What client and simulated device send, over TCP and on a line, through the dissectors of tshark: no field is malformed, checksums
 * are right, and the values are those that were meant. So the two cannot agree on a mistake of their own.
 */
#include "modbus_line_fixture.h"

static char folder[] = "/tmp/modbus-XXXXXX";

#define TCP  "-o mbtcp.tcp.port:5020"
#define LINE "-o mbrtu.tcp.port:5020 -o mbrtu.crc_verification:TRUE"

static int run(const char *line, char *out, size_t room)
{
	char command[1200];
	size_t n;
	FILE *pipe;

	snprintf(command, sizeof command, "cd %s && %s", folder, line);
	pipe = popen(command, "r"); // NOLINT(cert-env33-c): a fixed command
	assert_non_null(pipe);
	n = fread(out, 1, room - 1, pipe);
	out[n] = 0;
	return pclose(pipe);
}

/* Each message as a packet of its own, as text2pcap reads it: I is to the device. */
static void write_packets(void)
{
	char path[100], out[2000];
	FILE *f;

	snprintf(path, sizeof path, "%s/said.txt", folder);
	f = fopen(path, "w");
	assert_non_null(f);
	for (size_t i = 0; i < modbus.count; i++) {
		fprintf(f, "%c\n000000", modbus.said[i].by_device ? 'O' : 'I');
		for (size_t k = 0; k < modbus.said[i].size; k++)
			fprintf(f, " %02x", modbus.said[i].bytes[k]);
		fprintf(f, "\n");
	}
	fclose(f);
	assert_int_equal(run("text2pcap -q -D -T 40000,5020 said.txt said.pcap 2>/dev/null", out, sizeof out), 0);
}

/* All that were said are Modbus to it, and none is malformed or worth an error. */
static void nothing_is_malformed(const char *how)
{
	char command[500], out[20000], count[20];

	snprintf(count, sizeof count, "%zu\n", modbus.count);
	snprintf(command, sizeof command, "tshark -r said.pcap %s -Y modbus 2>/dev/null | grep -cE 'Query|Response'",
		 how);
	run(command, out, sizeof out);
	assert_string_equal(out, count);
	/* Errors, and warnings but for those of a TCP that never shook hands. */
	snprintf(
		command, sizeof command,
		"tshark -r said.pcap %s -Y '_ws.malformed || _ws.expert.severity >= 8388608 || mbrtu.crc16.status == 0 || "
		"mbtcp.cannot_classify || modbus.data.decode' 2>/dev/null",
		how);
	run(command, out, sizeof out);
	assert_string_equal(out, "");
}

/* What the fields of these packets say, each value once, on lines. */
static void expect(const char *how, const char *filter, const char *fields, const char *expected)
{
	char command[700], out[20000];

	snprintf(command, sizeof command,
		 "tshark -r said.pcap %s -Y '%s' -T fields -E separator=' ' -e %s 2>/dev/null | sort -u", how, filter,
		 fields);
	run(command, out, sizeof out);
	if (strcmp(out, expected) != 0)
		print_error("%s: %s\n", filter, command);
	assert_string_equal(out, expected);
}

static struct field_source *begin(struct field_config c, const char *host_or_line, int port)
{
	struct field_source *source;
	struct err err = {0};

	if (port) {
		c.port = port;
	} else {
		c.protocol = FIELD_MODBUS_RTU;
		c.baud = 115200;
		c.timeout_ms = 2000;
		snprintf(c.device, sizeof c.device, "%s", host_or_line);
	}
	if (field_open(&source, &c, &err))
		fail_msg("%s", err.message);
	return source;
}

/* Every function, every format, and a refusal. */
static void say_everything(const char *line, int port)
{
	static const struct {
		int reg;
		const char *format;
		double level;
	} rows[] = {{0, "f32-abcd", (double)12.345f}, {2, "f32-cdab", 62.5}, {4, "f32-badc", -0.75},
		    {6, "f32-dcba", 8192.5},	      {8, "i16", -2},	     {9, "u16", 65534},
		    {10, "i32-abcd", -65538},	      {12, "i32-cdab", 7},   {14, "u32-abcd", 4294967294.0},
		    {16, "u32-cdab", 65538},	      {20, "f32-abcd", 99}};
	struct field_config input = modbus_config(0, 4, 0, "f32-abcd"), none = modbus_config(0, 3, 100, "u16");
	struct field_source *source;
	struct field_identity who;
	struct field_reading r;
	struct err err = {0};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_config c = modbus_config(0, 3, rows[i].reg, rows[i].format);

		/* One value is behind all whole numbers, and not each fits in each; on a line it is read before it is written. */
		modbus.value[0] = modbus.value[1] = modbus.value[7] = line ? rows[i].level : 0;
		c.set_reg = rows[i].reg;
		c.drivable = true;
		c.drive_low = c.safe = rows[i].level;
		c.drive_high = rows[i].level + 1;
		source = begin(c, line, port);
		if (field_drive(source, rows[i].level, &err) || field_read(source, &r, &err) ||
		    field_identify(source, &who, &err))
			fail_msg("%s", err.message);
		assert_near(r.value, rows[i].level, 0);
		field_close(source);
	}
	source = begin(input, line, port);
	modbus.value[4] = -10;
	assert_int_equal(field_read(source, &r, &err), OK);
	field_close(source);
	source = begin(none, line, port);
	assert_int_equal(field_read(source, &r, &err), FAILED);
	field_close(source);
}

/* Expected values: the levels above, as IEEE 754 and two's complement write them. */
static void values_are_those_that_were_meant(const char *how)
{
#define ASKED	 "tcp.dstport == 5020 && modbus.func_code == "
#define ANSWERED "tcp.srcport == 5020 && modbus.func_code == "
#define WORDS	 "modbus.regnum16 -e modbus.regval_uint16"

	nothing_is_malformed(how);
	expect(how, ASKED "6 && modbus.reference_num == 8", "modbus.data", "fffe\n");
	expect(how, ANSWERED "6 && modbus.reference_num == 9", "modbus.data", "fffe\n");
	expect(how, ASKED "16 && modbus.reference_num == 0",
	       "modbus.word_cnt -e modbus.byte_cnt -e modbus.regval_uint16", "2 4 16709,34079\n");
	expect(how, ANSWERED "16 && modbus.reference_num == 2", "modbus.word_cnt", "2\n");
	expect(how, ANSWERED "3 && modbus.regnum16 == 0", WORDS, "0,1 16709,34079\n"); /* 4145 851f */
	expect(how, ANSWERED "3 && modbus.regnum16 == 2", WORDS, "2,3 0,17018\n");     /* 62.5: 427a 0000 */
	expect(how, ANSWERED "3 && modbus.regnum16 == 4", WORDS, "4,5 16575,0\n");     /* -0.75: bf40 0000 */
	expect(how, ANSWERED "3 && modbus.regnum16 == 6", WORDS, "6,7 2,70\n");	       /* 8192.5: 4600 0200 */
	expect(how, ANSWERED "3 && modbus.regnum16 == 8", WORDS, "8 65534\n");
	expect(how, ANSWERED "3 && modbus.regnum16 == 10", WORDS, "10,11 65534,65534\n");
	expect(how, ANSWERED "3 && modbus.regnum16 == 14", WORDS, "14,15 65535,65534\n");
	expect(how, ANSWERED "3 && modbus.regnum16 == 16", WORDS, "16,17 2,1\n");
	expect(how, ANSWERED "4", WORDS, "0,1 49440,0\n"); /* -10: c120 0000 */
	expect(how, "modbus.exception_code", "modbus.func_code -e modbus.exception_code", "3 2\n");
	expect(how, ASKED "43", "modbus.mei -e modbus.read_device_id -e modbus.object_id", "14 2 0\n");
	expect(how, ANSWERED "43",
	       "modbus.conformity_level -e modbus.more_follows -e modbus.num_objects -e modbus.object_str_value",
	       "0x82 0x00 7 Quillstrand,PM-100k,3.1,,PM-100k,PM-100k,40-FQ-2201\n");
}

static int setup(void **state)
{
	(void)state;
	strcpy(folder + sizeof folder - 7, "XXXXXX");
	return mkdtemp(folder) ? 0 : -1;
}

static int teardown(void **state)
{
	char out[100];

	(void)state;
	run("rm -f said.txt said.pcap", out, sizeof out);
	return rmdir(folder);
}

static void an_outside_decoder_reads_every_message_over_tcp_as_it_was_meant(void **state)
{
	struct sim_server *server = modbus_serve();

	(void)state;
	say_everything(NULL, sim_server_port(server, 0, false));
	sim_server_stop(server);
	assert_true(modbus.count > 80 && modbus.count < SAID_MAX);
	write_packets();
	values_are_those_that_were_meant(TCP);
	expect(TCP, "modbus", "mbtcp.prot_id -e mbtcp.unit_id", "0 17\n");
}

static void an_outside_decoder_reads_every_frame_of_a_line_as_it_was_meant(void **state)
{
	struct line_device d;

	(void)state;
	line_begin(&d, CLEAN);
	say_everything(d.path, 0);
	line_end(&d);
	assert_true(modbus.count > 80 && modbus.count < SAID_MAX);
	write_packets();
	values_are_those_that_were_meant(LINE);
	expect(LINE, "modbus", "mbrtu.unit_id -e mbrtu.crc16.status", "17 1\n");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(an_outside_decoder_reads_every_message_over_tcp_as_it_was_meant, setup,
						teardown),
		cmocka_unit_test_setup_teardown(an_outside_decoder_reads_every_frame_of_a_line_as_it_was_meant, setup,
						teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
