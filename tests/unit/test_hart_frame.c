/*
 * HART's bytes against messages that other implementations sent, with their decoding (tests/data/field/README.md). Numbers of
 * those come from public captures, their decoding was made outside the product and agrees with a protocol analyser's fields.
 */
#include "field/hart_data.h"
#include "metrology/unit.h"
#include "support/check.h"

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static cJSON *vectors_of(const char *name)
{
	static char text[200000];
	char path[300];
	cJSON *json;
	FILE *f;

	snprintf(path, sizeof path, SOURCE_DIR "/tests/data/field/%s", name);
	f = fopen(path, "r");
	assert_non_null(f);
	text[fread(text, 1, sizeof text - 1, f)] = 0;
	fclose(f);
	json = cJSON_Parse(text);
	assert_non_null(json);
	return json;
}

static size_t bytes_of(const char *hex, uint8_t *out)
{
	size_t n = 0;
	unsigned byte;

	for (; sscanf(hex + 2 * n, "%2x", &byte) == 1; n++)
		out[n] = (uint8_t)byte;
	return n;
}

static double number(const cJSON *of, const char *name)
{
	const cJSON *member = cJSON_GetObjectItem(of, name);

	if (!member)
		fail_msg("the vector has no %s", name);
	return cJSON_IsString(member) ? (double)NAN : member->valuedouble;
}

static bool flag(const cJSON *of, const char *name)
{
	return cJSON_IsTrue(cJSON_GetObjectItem(of, name));
}

static unsigned hex_number(const cJSON *of, const char *name)
{
	return (unsigned)strtoul(cJSON_GetStringValue(cJSON_GetObjectItem(of, name)), NULL, 16);
}

/* Equal to the vector's last digit, of which it has 9: more than a float has. */
static void same_number(const cJSON *of, const char *name, double value)
{
	double expected = number(of, name);

	if (isnan(expected))
		assert_true(isnan(value));
	else
		assert_near(value, expected, 1e-8 * fabs(expected));
}

static void same_text(const cJSON *of, const char *name, const char *value)
{
	char expected[100];
	size_t n;

	snprintf(expected, sizeof expected, "%s", cJSON_GetStringValue(cJSON_GetObjectItem(of, name)));
	for (n = strlen(expected); n > 0 && expected[n - 1] == ' ';)
		expected[--n] = 0;
	assert_string_equal(value, expected);
}

static void same_device(const cJSON *v, const struct hart_device *d)
{
	same_number(v, "expanded_device_type", d->type);
	same_number(v, "min_req_preambles", d->preambles);
	same_number(v, "universal_rev", d->universal);
	same_number(v, "device_rev", d->revision);
	same_number(v, "software_rev", d->software);
	same_number(v, "hw_rev", d->hardware);
	same_number(v, "signalling", d->signalling);
	same_number(v, "flags", d->flags);
	assert_int_equal(d->id, hex_number(v, "device_id"));
	same_number(v, "min_rsp_preambles", d->preambles_back);
	same_number(v, "max_device_vars", d->variables);
	same_number(v, "config_change_counter", d->changes);
	same_number(v, "ext_device_status", d->extended);
	same_number(v, "manufacturer_id", d->maker);
	same_number(v, "private_label", d->label);
	same_number(v, "profile", d->profile);
}

static void same_variables(const cJSON *list, const struct hart_values *values, bool slots)
{
	assert_int_equal(cJSON_GetArraySize(list), values->count);
	for (size_t i = 0; i < values->count; i++) {
		const cJSON *v = cJSON_GetArrayItem(list, (int)i);

		same_number(v, "unit", values->variables[i].unit);
		same_number(v, "value", values->variables[i].value);
		if (!slots)
			continue;
		same_number(v, "code", values->variables[i].code);
		same_number(v, "cls", values->variables[i].classification);
		same_number(v, "status", values->variables[i].status);
	}
}

static void same_values(const cJSON *v, const struct hart_data *d)
{
	switch (d->command) {
	case 0:
		same_device(v, &d->device);
		break;
	case 1:
		same_number(v, "pv", d->values.variables[0].value);
		same_number(v, "pv_unit", d->values.variables[0].unit);
		break;
	case 2:
		same_number(v, "loop_mA", d->values.current);
		same_number(v, "percent", d->values.percent);
		break;
	case 3:
		same_number(v, "loop_mA", d->values.current);
		same_variables(cJSON_GetObjectItem(v, "vars"), &d->values, false);
		break;
	case 9:
		same_number(v, "ext_device_status", d->values.extended);
		same_number(v, "time_stamp_ms", d->values.time_32 / 32.0);
		same_variables(cJSON_GetObjectItem(v, "slots"), &d->values, true);
		break;
	case 12:
		same_text(v, "message", d->text);
		break;
	case 13:
		same_text(v, "tag", d->tag);
		same_text(v, "descriptor", d->descriptor);
		same_number(v, "day", d->day);
		same_number(v, "month", d->month);
		same_number(v, "year", d->year);
		break;
	case 14:
		assert_int_equal(d->range.serial, hex_number(v, "serial"));
		same_number(v, "unit", d->range.unit);
		same_number(v, "usl", d->range.upper);
		same_number(v, "lsl", d->range.lower);
		same_number(v, "min_span", d->range.span);
		break;
	case 16:
		same_number(v, "final_assembly", d->assembly);
		break;
	case 20:
		same_text(v, "long_tag", d->text);
		break;
	}
}

static void same_frame(const cJSON *v, const struct hart_frame *f)
{
	static const char *const types[] = {[HART_BURST] = "BACK", [HART_REQUEST] = "STX", [HART_ANSWER] = "ACK"};
	uint8_t payload[300];

	assert_string_equal(types[f->type], cJSON_GetStringValue(cJSON_GetObjectItem(v, "frame_type")));
	assert_int_equal(f->address.is_long, flag(v, "long"));
	assert_int_equal(f->address.primary, flag(v, "primary_master"));
	assert_int_equal(f->burst_mode, flag(v, "burst"));
	same_number(v, "command", f->command);
	if (f->address.is_long) {
		same_number(v, "expanded_device_type", f->address.device_type);
		assert_int_equal(f->address.device_id, hex_number(v, "device_id"));
	} else {
		same_number(v, "poll_address", f->address.poll);
	}
	assert_int_equal(bytes_of(cJSON_GetStringValue(cJSON_GetObjectItem(v, "payload_hex")), payload), f->size);
	assert_memory_equal(payload, f->data, f->size);
	if (f->type == HART_REQUEST)
		return;
	same_number(v, "response_code", f->code);
	same_number(v, "device_status", f->status);
}

/* Also what is made from the parts of a frame is the frame again; requests: of those that read. */
static void comes_out_again(const struct hart_frame *f, const uint8_t *bytes, size_t size)
{
	uint8_t out[HART_FRAME_MAX];
	size_t n = f->type == HART_REQUEST ? hart_request(out, sizeof out, &f->address, f->command, f->data, f->size) :
					     hart_answer(out, sizeof out, f);

	if (f->type == HART_REQUEST && !hart_is_query(f->command)) {
		assert_int_equal(n, 0);
		return;
	}
	assert_int_equal(n, size);
	assert_memory_equal(out, bytes, size);
}

static void check_frame(const cJSON *v, const uint8_t *bytes, size_t size, enum hart_result rc,
			const struct hart_frame *f)
{
	const cJSON *values = cJSON_GetObjectItem(v, "values");
	struct hart_data data;

	assert_int_equal(rc, flag(v, "checksum_ok") ? HART_OK : HART_CHECKSUM);
	if (rc != HART_OK)
		return;
	same_frame(v, f);
	comes_out_again(f, bytes, size);
	if (f->type != HART_ANSWER || f->code || !values || !values->child)
		return;
	assert_true(hart_decode(f, &data));
	same_values(values, &data);
}

static void every_captured_message_is_understood_as_its_decoding_says(void **state)
{
	cJSON *list = vectors_of("hart_ip.json");
	const cJSON *v;
	int messages = 0, frames = 0;

	(void)state;
	cJSON_ArrayForEach(v, list)
	{
		const cJSON *decoded = cJSON_GetObjectItem(v, "decoded"), *pdu = cJSON_GetObjectItem(decoded, "pdu");
		uint8_t bytes[400], again[HART_IP_HEAD];
		size_t taken, n = bytes_of(cJSON_GetStringValue(cJSON_GetObjectItem(v, "hex")), bytes);
		struct hart_ip_head head;
		struct hart_frame f;

		assert_true(hart_ip_head_parse(bytes, n, &head));
		same_number(decoded, "version", head.version);
		same_number(decoded, "msg_id", head.id);
		same_number(decoded, "status", head.status);
		same_number(decoded, "seq", head.sequence);
		same_number(decoded, "length", head.length);
		assert_int_equal(head.type,
				 !strcmp(cJSON_GetStringValue(cJSON_GetObjectItem(decoded, "msg_type")), "response"));
		assert_int_equal(head.length, n);
		hart_ip_head_write(again, &head);
		assert_memory_equal(again, bytes, HART_IP_HEAD);
		messages++;
		if (!pdu)
			continue;
		check_frame(pdu, bytes + HART_IP_HEAD, n - HART_IP_HEAD,
			    hart_parse(bytes + HART_IP_HEAD, n - HART_IP_HEAD, &f, &taken), &f);
		assert_int_equal(taken, n - HART_IP_HEAD);
		frames++;
	}
	cJSON_Delete(list);
	assert_int_equal(messages, 159);
	assert_true(frames > 100);
}

/* With and without preambles, garbage among them; the last row but the requests' has a wrong checksum. */
static void frames_on_a_line_are_found_behind_their_preambles(void **state)
{
	cJSON *list = vectors_of("hart_serial.json");
	const cJSON *v;
	int found = 0;

	(void)state;
	cJSON_ArrayForEach(v, list)
	{
		const cJSON *decoded = cJSON_GetObjectItem(v, "decoded");
		uint8_t bytes[300];
		size_t taken, n = bytes_of(cJSON_GetStringValue(cJSON_GetObjectItem(v, "hex")), bytes), length = 0;
		struct hart_frame f;
		enum hart_result rc;

		if (bytes[0] != 0xff) {
			check_frame(decoded, bytes, n, hart_parse(bytes, n, &f, &taken), &f);
			continue;
		}
		rc = hart_find(bytes, n, true, &f, &taken);
		if (!flag(decoded, "checksum_ok")) {
			assert_int_equal(rc, HART_BROKEN);
			continue;
		}
		assert_int_equal(rc, HART_OK);
		assert_int_equal(taken, n);
		length = (f.address.is_long ? 6U : 2U) + 2 + (size_t)number(decoded, "byte_count") + 1;
		check_frame(decoded, bytes + n - length, length, rc, &f);
		for (size_t i = 0; i < n; i++) /* it comes byte by byte */
			assert_int_not_equal(hart_find(bytes, i, false, &f, &taken), HART_OK);
		found++;
	}
	cJSON_Delete(list);
	assert_int_equal(found, 23);
}

/* hart-ip.pcap's loop current, 7F A0 00 00, and what else is no number (IEEE 754: exponent all ones). */
static void a_value_that_is_no_number_is_no_value(void **state)
{
	static const uint8_t gaps[][4] = {
		{0x7f, 0xa0, 0, 0}, {0x7f, 0xc0, 0, 0}, {0xff, 0xa0, 0, 1}, {0x7f, 0x80, 0, 0}, {0xff, 0x80, 0, 0}};
	static const uint8_t one[4] = {0x3f, 0x80, 0, 0};
	uint8_t out[4];

	(void)state;
	for (size_t i = 0; i < sizeof gaps / sizeof *gaps; i++)
		assert_true(isnan(hart_float(gaps[i])));
	assert_near(hart_float(one), 1, 0);
	hart_float_write(out, (double)NAN);
	assert_memory_equal(out, gaps[0], 4);
	hart_float_write(out, 1e300);
	assert_memory_equal(out, gaps[0], 4);
	hart_float_write(out, 1);
	assert_memory_equal(out, one, 4);
}

/* "PT-1001A" = 41 4b 71 c3 0c 41: by hand from the alphabet of 6 bits. */
static void tags_are_packed_in_six_bits_a_character(void **state)
{
	static const uint8_t packed[6] = {0x41, 0x4b, 0x71, 0xc3, 0x0c, 0x41};
	uint8_t out[6];
	char text[9];

	(void)state;
	hart_unpack(packed, 8, text);
	assert_string_equal(text, "PT-1001A");
	hart_pack("pt-1001a", 8, out);
	assert_memory_equal(out, packed, 6);
	hart_pack("AB", 8, out);
	hart_unpack(out, 8, text);
	assert_string_equal(text, "AB      ");
}

/* Both decoders of the data name a unit; ours must be one the program converts. */
static void every_unit_code_has_a_symbol_of_ours_or_is_known_to_have_none(void **state)
{
	static const int without[] = {9, 77, 93, 117, 118};
	cJSON *list = vectors_of("hart_units.json");
	const cJSON *v;
	int with = 0;

	(void)state;
	cJSON_ArrayForEach(v, list)
	{
		uint8_t code = (uint8_t)number(v, "code");
		const char *symbol = hart_unit_symbol(code);
		bool none = false;

		for (size_t i = 0; i < sizeof without / sizeof *without; i++)
			none = none || without[i] == code;
		assert_int_equal(!symbol, none);
		if (!symbol || !*symbol)
			continue;
		if (!unit_find(symbol))
			fail_msg("%s is no unit of ours", symbol);
		assert_int_equal(hart_unit_code(symbol), code);
		/* Where the decoder's spelling is a unit of ours too, it must be the same one; waters differ by temperature. */
		if (unit_find(cJSON_GetStringValue(cJSON_GetObjectItem(v, "b"))) && code != 1 && code != 4)
			assert_ptr_equal(unit_find(cJSON_GetStringValue(cJSON_GetObjectItem(v, "b"))),
					 unit_find(symbol));
		with++;
	}
	cJSON_Delete(list);
	assert_true(with >= 60);
	assert_int_equal(hart_unit_code("nonsense"), HART_NONE);
}

/* Writing commands change trim, range or address of a device in the plant; the list is that of the safety rule. */
static void no_request_but_a_query_can_be_made(void **state)
{
	static const int queries[] = {0, 1, 2, 3, 7, 8, 9, 12, 13, 14, 15, 16, 20, 48};
	const struct hart_address to = {.is_long = true, .primary = true, .device_type = 0x264e, .device_id = 0xd2};
	uint8_t out[HART_FRAME_MAX], data[9] = {246};

	(void)state;
	for (int command = 0; command < 256; command++) {
		bool query = false;

		for (size_t i = 0; i < sizeof queries / sizeof *queries; i++)
			query = query || queries[i] == command;
		assert_int_equal(hart_request(out, sizeof out, &to, (uint8_t)command, NULL, 0), query ? 9 : 0);
		assert_int_equal(hart_request(out, sizeof out, &to, (uint8_t)command, data, 1), command == 9 ? 10 : 0);
	}
	assert_int_equal(hart_request(out, sizeof out, &to, 9, data, 9), 0);
	assert_int_equal(hart_request(out, 8, &to, 0, NULL, 0), 0);
}

/* A false beginning that claims 255 bytes, then a true frame: found once nothing more comes. */
static void a_frame_behind_a_false_beginning_is_found_when_the_line_is_quiet(void **state)
{
	uint8_t bytes[40] = {0xff, 0xff, 0x06, 0x80, 0x00, 0xff};
	size_t taken, n = 6;
	struct hart_frame f;

	(void)state;
	n += bytes_of("ffff06aa0003010203af", bytes + n);
	assert_int_equal(hart_find(bytes, n, false, &f, &taken), HART_INCOMPLETE);
	assert_int_equal(hart_find(bytes, n, true, &f, &taken), HART_OK);
	assert_int_equal(f.address.poll, 42);
	assert_int_equal(taken, n);
}

static void every_single_changed_bit_is_noticed(void **state)
{
	uint8_t good[100], bytes[100];
	size_t taken, n = bytes_of("86997212345601070000"
				   "0c437b278b83",
				   good);
	struct hart_frame f, changed;

	(void)state;
	assert_int_equal(hart_parse(good, n, &f, &taken), HART_OK);
	for (size_t bit = 0; bit < 8 * n; bit++) {
		memcpy(bytes, good, n);
		bytes[bit / 8] ^= (uint8_t)(1 << bit % 8);
		assert_true(hart_parse(bytes, n, &changed, &taken) != HART_OK || taken != n);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_captured_message_is_understood_as_its_decoding_says),
		cmocka_unit_test(frames_on_a_line_are_found_behind_their_preambles),
		cmocka_unit_test(a_value_that_is_no_number_is_no_value),
		cmocka_unit_test(tags_are_packed_in_six_bits_a_character),
		cmocka_unit_test(every_unit_code_has_a_symbol_of_ours_or_is_known_to_have_none),
		cmocka_unit_test(no_request_but_a_query_can_be_made),
		cmocka_unit_test(a_frame_behind_a_false_beginning_is_found_when_the_line_is_quiet),
		cmocka_unit_test(every_single_changed_bit_is_noticed),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
