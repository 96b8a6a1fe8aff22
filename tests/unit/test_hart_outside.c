/*
 * What client and simulated device send, through the dissector of tshark: no field is malformed, and its values are those
 * that were meant. So the two cannot agree on a mistake of their own.
 */
#include "hart_fixture.h"

#include <unistd.h>

static char folder[] = "/tmp/hart-XXXXXX";

/* Each message as a packet of its own, as text2pcap reads it. */
static void write_packets(void)
{
	char path[100];
	FILE *f;

	snprintf(path, sizeof path, "%s/said.txt", folder);
	f = fopen(path, "w");
	assert_non_null(f);
	for (size_t i = 0; i < hart.count; i++) {
		fprintf(f, "000000");
		for (size_t k = 0; k < hart.said[i].size; k++)
			fprintf(f, " %02x", hart.said[i].bytes[k]);
		fprintf(f, "\n");
	}
	fclose(f);
}

static int run(const char *format, char *out, size_t room)
{
	char command[1200];
	size_t n;
	FILE *pipe;

	snprintf(command, sizeof command, "cd %s && %s", folder, format);
	pipe = popen(command, "r"); // NOLINT(cert-env33-c): a fixed command
	assert_non_null(pipe);
	n = fread(out, 1, room - 1, pipe);
	out[n] = 0;
	return pclose(pipe);
}

static void expect(const char *filter, const char *fields, const char *expected)
{
	static char out[20000];
	char command[1000], *line;

	snprintf(command, sizeof command,
		 "tshark -r said.pcap -Y '%s' -T fields -E separator=, -e %s 2>/dev/null | sort -u", filter, fields);
	run(command, out, sizeof out);
	line = strchr(out, '\n');
	if (line)
		*line = 0;
	assert_string_equal(out, expected);
}

static void ask_directly(struct sim_session *session, uint8_t command, const uint8_t *data, size_t size)
{
	const struct hart_address to = {
		.is_long = true, .primary = true, .device_type = 0xe1a2 & 0x3fff, .device_id = hart_device.hart_id};
	uint8_t in[HART_IP_HEAD + HART_FRAME_MAX], out[SIM_MESSAGE];
	size_t n = hart_request(in + HART_IP_HEAD, HART_FRAME_MAX, &to, command, data, size), got;

	hart_ip_head_write(in, &(struct hart_ip_head){.version = 1,
						      .id = HART_IP_PDU,
						      .sequence = command,
						      .length = (uint16_t)(HART_IP_HEAD + n)});
	assert_int_equal(spoiling_answer(&hart_device, session, in, HART_IP_HEAD + n, out, sizeof out, &got),
			 HART_IP_HEAD + n);
	assert_true(got > 0);
}

/* A whole session over a socket, and every query there is. */
static void say_everything(void)
{
	static const uint8_t queries[] = {0, 1, 2, 3, 7, 8, 9, 12, 13, 14, 15, 16, 20, 48};
	static const uint8_t slots[] = {HART_VARIABLE_PV, HART_VARIABLE_SV, HART_VARIABLE_CURRENT,
					HART_VARIABLE_PERCENT};
	static const char *const variables[] = {"pv", "sv", "current", "percent"};
	struct sim_session session = {.open = true};
	struct sim_server *server = hart_serve(true, false);

	for (size_t i = 0; i < 4; i++) {
		struct field_config c = hart_config(server, true, variables[i]);
		struct field_source *source;
		struct field_identity id;
		struct field_reading r;
		struct err err = {0};

		assert_int_equal(field_open(&source, &c, &err), OK);
		assert_int_equal(field_read(source, &r, &err), OK);
		assert_int_equal(field_identify(source, &id, &err), OK);
		field_close(source);
	}
	sim_server_stop(server);
	for (size_t i = 0; i < sizeof queries; i++)
		ask_directly(&session, queries[i], slots, queries[i] == 9 ? sizeof slots : 0);
}

static void an_outside_decoder_reads_every_message_as_it_was_meant(void **state)
{
	static char out[200000], count[20];

	(void)state;
	assert_non_null(mkdtemp(folder));
	say_everything();
	write_packets();
	assert_int_equal(run("text2pcap -q -u 5094,40000 said.txt said.pcap 2>/dev/null", out, sizeof out), 0);
	snprintf(count, sizeof count, "%zu\n", hart.count);
	run("tshark -r said.pcap -Y hart_ip 2>/dev/null | wc -l", out, sizeof out);
	assert_string_equal(out, count);
	run("tshark -r said.pcap -Y '_ws.malformed || hart_ip.data.unexpected || _ws.expert.severity >= 6291456' 2>/dev/null",
	    out, sizeof out);
	assert_string_equal(out, "");

	expect("hart_ip.message_id == 0 && hart_ip.message_type == 0",
	       "hart_ip.session_init.master_type -e hart_ip.session_init.inactivity_close_timer", "1,30000");
#define ANSWER(command) "hart_ip.message_type == 1 && hart_ip.pt.command == " command
#define RSP(field)	"hart_ip.pt.rsp." field
	expect(ANSWER("0") " && hart_ip.pt.long_address",
	       "hart_ip.pt.long_address -e " RSP("expanded_device_type") " -e " RSP("device_id") " -e " RSP(
		       "hart_univ_rev"),
	       "a1a200b4d7,0xe1a2,00b4d7,7");
	expect(ANSWER("1"), RSP("pv_units") " -e " RSP("pv"), "8,137.25");
	/* Six digits are printed; 35.15625 lies between two and goes to the even one. */
	expect(ANSWER("2"), RSP("pv_loop_current") " -e " RSP("pv_percent_range"), "9.625,35.1562");
	/* The dissector knows this command with all four variables only. */
	expect(ANSWER("3"),
	       RSP("pv_loop_current") " -e " RSP("pv") " -e " RSP("sv_units") " -e " RSP("sv") " -e " RSP(
		       "tv") " -e " RSP("qv_units") " -e " RSP("qv"),
	       "9.625,137.25,32,21.5,62.5,7,6.125");
	expect(ANSWER("9") " && hart_ip.pt.rsp.slot3_device_var",
	       RSP("slot0_device_var_value") " -e " RSP("slot1_device_var_value") " -e " RSP(
		       "slot2_device_var_value") " -e " RSP("slot3_device_var_value"),
	       "137.25,21.5,9.625,35.1562");
	expect(ANSWER("13"), RSP("tag") " -e " RSP("descriptor"), "PT-1001A,INTAKE PRESSURE ");
	expect(ANSWER("14"),
	       RSP("upper_transducer_limit") " -e " RSP("lower_transducer_limit") " -e " RSP("minimum_span"),
	       "1000,-100,10");
	expect(ANSWER("15"),
	       RSP("pv_upper_range_value") " -e " RSP("pv_lower_range_value") " -e " RSP("pv_damping_value"),
	       "400,0,0.5");
	expect(ANSWER("20"), RSP("tag"), "10-PT-1001A intake");
	snprintf(out, sizeof out, "%s", folder);
	run("rm -f said.txt said.pcap", out, sizeof out);
	rmdir(folder);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(an_outside_decoder_reads_every_message_as_it_was_meant),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
