/* Modbus over TCP against the simulated device: what is read, refused, driven, and what bad answers bring about. */
#include "modbus_fixture.h"

static struct sim_server *server;
static int port;

static int setup(void **state)
{
	(void)state;
	server = modbus_serve();
	port = sim_server_port(server, 0, false);
	return 0;
}

static int teardown(void **state)
{
	(void)state;
	sim_server_stop(server);
	server = NULL;
	return 0;
}

static struct field_source *begin(const struct field_config *c)
{
	struct field_source *source;
	struct err err = {0};

	if (field_open(&source, c, &err))
		fail_msg("%s %s", err.field, err.message);
	return source;
}

static struct field_config drivable(int reg, const char *format, double low, double high, double safe)
{
	struct field_config c = modbus_config(port, 3, reg, format);

	c.set_reg = reg;
	c.drivable = true;
	c.drive_low = low;
	c.drive_high = high;
	c.safe = safe;
	return c;
}

/* ---- reading ---- */

static double read_at(int function, int reg, const char *format)
{
	struct field_config c = modbus_config(port, function, reg, format);
	struct field_source *source = begin(&c);
	struct field_reading r;
	struct err err = {0};

	if (field_read(source, &r, &err))
		fail_msg("%s", err.message);
	field_close(source);
	return r.value;
}

static void a_value_is_read_in_the_format_of_its_channel(void **state)
{
	static const struct {
		int function, reg;
		const char *format;
		double value;
	} rows[] = {{3, 0, "f32-abcd", 2.375}, {3, 2, "f32-cdab", 2.375}, {3, 4, "f32-badc", 2.375},
		    {3, 6, "f32-dcba", 2.375}, {3, 8, "i16", 1234},	  {3, 9, "u16", 1234},
		    {3, 10, "i32-abcd", 1234}, {3, 12, "i32-cdab", 1234}, {3, 14, "u32-abcd", 1234},
		    {3, 16, "u32-cdab", 1234}, {4, 0, "f32-abcd", -7.5},  {4, 65535, "i16", -32768}};

	(void)state;
	modbus.value[0] = 2.375;
	modbus.value[1] = 1234;
	modbus.value[4] = -7.5;
	modbus.value[5] = -32768;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_near(read_at(rows[i].function, rows[i].reg, rows[i].format), rows[i].value, 0);
}

static void a_reading_says_its_unit_its_time_and_its_bytes(void **state)
{
	struct field_config c = modbus_config(port, 3, 0, "f32-abcd");
	struct field_source *source = begin(&c);
	struct field_reading r;
	struct err err = {0};

	(void)state;
	modbus.value[0] = (double)12.345f;
	assert_int_equal(field_read(source, &r, &err), OK);
	assert_string_equal(r.unit, "kPa");
	assert_string_equal(r.raw, "03044145851f"); /* IEEE 754: 12.345 as a float is 41 45 85 1f */
	assert_int_equal(r.status, 0);
	assert_true(r.at_ms > 1500000000000);
	field_close(source);
}

static void counts_are_scaled_to_the_unit(void **state)
{
	struct field_config c = modbus_config(port, 3, 18, "u16");
	struct field_source *source;
	struct field_reading r;
	struct err err = {0};

	(void)state;
	modbus.value[2] = 62.5; /* 2500 of 4000 counts */
	c.raw_high = 4000;
	c.high = 100;
	source = begin(&c);
	assert_int_equal(field_read(source, &r, &err), OK);
	assert_near(r.value, 62.5, 1e-9);
	assert_string_equal(r.raw, "030209c4");
	field_close(source);
}

static void no_number_in_a_register_is_a_bad_value_and_not_0(void **state)
{
	struct field_config c = modbus_config(port, 4, 2, "f32-dcba");
	struct field_source *source = begin(&c);
	struct field_reading r;
	struct err err = {0};

	(void)state;
	assert_int_equal(field_read(source, &r, &err), OK);
	assert_true(isnan(r.value));
	assert_int_equal(r.status, FIELD_BAD);
	assert_string_equal(r.raw, "04040000c07f"); /* IEEE 754: 7f c0 00 00, its bytes turned round */
	field_close(source);
}

static void reading_asks_by_functions_3_and_4_and_who_it_is_alone(void **state)
{
	struct field_config c = drivable(0, "f32-abcd", 0, 10, 0);
	struct field_source *source = begin(&c);
	struct field_identity who;
	struct field_reading r;
	struct err err = {0};

	(void)state;
	assert_int_equal(field_read(source, &r, &err), OK);
	assert_int_equal(field_identify(source, &who, &err), OK);
	assert_int_equal(field_keep(source, &err), OK);
	field_close(source);
	assert_int_equal(modbus.count, 4);
	assert_int_equal(modbus.said[0].bytes[7], 3);
	assert_int_equal(modbus.said[2].bytes[7], 43);
	assert_int_equal(modbus.sets, 0);
}

/* ---- who it is ---- */

static void a_device_says_who_it_is(void **state)
{
	struct field_config c = modbus_config(port, 3, 0, "f32-abcd");
	struct field_source *source = begin(&c);
	struct field_identity who;
	struct err err = {0};

	(void)state;
	assert_int_equal(field_identify(source, &who, &err), OK);
	assert_string_equal(who.maker, "Quillstrand");
	assert_string_equal(who.model, "PM-100k");
	assert_string_equal(who.revision, "3.1");
	assert_string_equal(who.device_id, "PM-100k");
	assert_string_equal(who.tag, "");
	assert_string_equal(who.serial, "");
	field_close(source);
}

static void a_device_that_cannot_say_who_it_is_has_no_name_and_is_read_all_the_same(void **state)
{
	static const enum spoil ways[] = {NO_IDENTITY, MUTE_IDENTITY};
	struct field_config c = modbus_config(port, 3, 0, "f32-abcd");
	struct field_source *source = begin(&c);

	(void)state;
	for (int i = 0; i < 2; i++) {
		struct field_identity who = {.model = "x"};
		struct field_reading r;
		struct err err = {0};

		modbus.spoil = ways[i];
		assert_int_equal(field_identify(source, &who, &err), OK);
		assert_string_equal(who.model, "");
		assert_string_equal(who.device_id, "");
		assert_int_equal(field_read(source, &r, &err), OK);
	}
	field_close(source);
}

static void a_device_that_is_not_there_does_not_pass_for_one_without_a_name(void **state)
{
	struct field_config c = modbus_config(port, 3, 0, "f32-abcd");
	struct field_source *source = begin(&c);
	struct field_identity who;
	struct err err = {0};

	(void)state;
	modbus.spoil = SILENT;
	assert_int_equal(field_identify(source, &who, &err), BUSY);
	modbus.spoil = EXCEPTION;
	modbus.exception = MODBUS_NO_TARGET;
	assert_int_equal(field_identify(source, &who, &err), BUSY);
	field_close(source);
}

/* ---- refusals ---- */

static void what_cannot_be_meant_is_refused_by_its_member(void **state)
{
	static const struct {
		const char *member;
		struct field_config c;
	} rows[] = {
		{"/host", {.format = "i16"}},
		{"/port", {.host = "h", .port = 65536, .format = "i16"}},
		{"/format", {.host = "h"}},
		{"/format", {.host = "h", .format = "f64"}},
		{"/format", {.host = "h", .format = "F32-ABCD"}},
		{"/function", {.host = "h", .format = "i16", .function = 1}},
		{"/function", {.host = "h", .format = "i16", .function = 6}},
		{"/address", {.host = "h", .format = "i16", .address = -1}},
		{"/address", {.host = "h", .format = "i16", .address = 248}},
		{"/reg", {.host = "h", .format = "i16", .reg = -1}},
		{"/reg", {.host = "h", .format = "i16", .reg = 65536}},
		{"/reg", {.host = "h", .format = "f32-abcd", .reg = 65535}}, /* its second half would be beyond */
		{"/raw_high", {.host = "h", .format = "i16", .raw_low = 5, .raw_high = 5, .high = 1}},
		{"/raw_high", {.host = "h", .format = "i16", .raw_high = NAN, .high = 1}},
		{"/raw_high", {.host = "h", .format = "f32-abcd", .raw_high = 100, .high = 1}},
		{"/high", {.host = "h", .format = "i16", .raw_high = 100}},
		{"/high", {.host = "h", .format = "i16", .raw_high = 100, .high = INFINITY}},
		{"/set_reg", {.host = "h", .format = "i16", .set_reg = -1, .drivable = true, .drive_high = 1}},
		{"/set_reg", {.host = "h", .format = "f32-abcd", .set_reg = 65535, .drivable = true, .drive_high = 1}},
		{"/drive_low", {.host = "h", .format = "u16", .drivable = true, .drive_low = -1, .drive_high = 1}},
		{"/drive_high", {.host = "h", .format = "u16", .drivable = true, .drive_high = 65536}},
		{"/safe", {.host = "h", .format = "u16", .drivable = true, .drive_high = 10, .safe = 11}},
		{"/device", {.protocol = FIELD_MODBUS_RTU, .address = 1, .format = "i16"}},
		{"/address", {.protocol = FIELD_MODBUS_RTU, .device = "/dev/null", .format = "i16"}},
		{"/baud",
		 {.protocol = FIELD_MODBUS_RTU, .device = "/dev/null", .address = 1, .format = "i16", .baud = 1000}},
		{"/parity",
		 {.protocol = FIELD_MODBUS_RTU, .device = "/dev/null", .address = 1, .format = "i16", .parity = 'e'}},
		{"/device", {.protocol = FIELD_MODBUS_RTU, .device = "/dev/null", .address = 1, .format = "i16"}},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_config c = rows[i].c;
		struct field_source *source;
		struct err err = {0};

		if (c.protocol != FIELD_MODBUS_RTU)
			c.protocol = FIELD_MODBUS_TCP;
		assert_int_equal(field_open(&source, &c, &err), INVALID);
		assert_null(source);
		if (strcmp(err.field, rows[i].member) != 0)
			print_error("row %zu: %s %s\n", i, err.field, err.message);
		assert_string_equal(err.field, rows[i].member);
		assert_true(*err.message);
	}
}

static void a_refusal_is_said_in_words_with_its_number(void **state)
{
	static const struct {
		int exception;
		enum status rc;
		const char *words;
	} rows[] = {{1, FAILED, "does not know this function"},
		    {2, FAILED, "has no such register"},
		    {3, FAILED, "does not take this value"},
		    {4, FAILED, "failure of its own"},
		    {5, BUSY, "needs more time"},
		    {6, BUSY, "is busy"},
		    {8, FAILED, "memory"},
		    {10, FAILED, "gateway has no way"},
		    {11, BUSY, "behind the gateway"},
		    {99, FAILED, "refuses"}};
	struct field_config c = modbus_config(port, 3, 0, "f32-abcd");
	struct field_source *source = begin(&c);

	(void)state;
	modbus.spoil = EXCEPTION;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_reading r = {.value = -77};
		struct err err = {0};
		char number[30];

		modbus.exception = rows[i].exception;
		snprintf(number, sizeof number, "exception %d", rows[i].exception);
		assert_int_equal(field_read(source, &r, &err), rows[i].rc);
		assert_near(r.value, -77, 0);
		assert_non_null(strstr(err.message, rows[i].words));
		assert_non_null(strstr(err.message, number));
		assert_non_null(strstr(err.message, "127.0.0.1, unit 17"));
	}
	field_close(source);
}

static void the_device_refuses_what_it_does_not_have(void **state)
{
	static const struct {
		int reg;
		const char *format;
		int unit, exception;
	} rows[] = {{22, "u16", 17, 2}, {23, "u32-abcd", 17, 2}, {65535, "u16", 17, 2}, {0, "u16", 18, 11}};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_config c = modbus_config(port, 3, rows[i].reg, rows[i].format);
		struct field_source *source;
		struct field_reading r;
		struct err err = {0};
		char number[30];

		c.address = rows[i].unit;
		source = begin(&c);
		snprintf(number, sizeof number, "exception %d)", rows[i].exception);
		assert_int_equal(field_read(source, &r, &err), rows[i].unit == 17 ? FAILED : BUSY);
		assert_non_null(strstr(err.message, number));
		field_close(source);
	}
}

/* Exceptions of the application protocol V1.1b3, clause 7, and which comes when, from the state diagrams of its functions (memory). */
static void the_simulated_device_refuses_as_the_protocol_wants(void **state)
{
	static const struct {
		const char *what;
		struct modbus_pdu q;
		int exception; /* 0: it answers */
	} rows[] = {
		{"coils", {5, {1, 0, 0, 0, 1}}, 1},
		{"a function that nobody has", {1, {99}}, 1},
		{"no register", {5, {3, 0, 0, 0, 0}}, 3},
		{"one register too many", {5, {3, 0, 0, 0, 126}}, 3},
		{"as many as there are", {5, {3, 0, 0, 0, 22}}, 0},
		{"one beyond the last", {5, {3, 0, 0, 0, 23}}, 2},
		{"beyond the last number", {5, {4, 0xff, 0xff, 0, 2}}, 2},
		{"an input register as a holding one", {5, {3, 0xff, 0xff, 0, 1}}, 2},
		{"a question cut off", {4, {3, 0, 0, 0}}, 3},
		{"a question too long", {6, {3, 0, 0, 0, 1, 0}}, 3},
		{"a register is set", {5, {6, 0, 8, 0, 1}}, 0},
		{"one that only reads", {5, {6, 0, 19, 0, 1}}, 2},
		{"half a float", {5, {6, 0, 0, 0, 1}}, 2},
		{"the other half", {10, {16, 0, 1, 0, 2, 4, 0, 0, 0, 0}}, 2},
		{"two floats", {14, {16, 0, 0, 0, 4, 8, 0, 0, 0, 0, 0, 0, 0, 0}}, 0},
		{"a float and a half", {12, {16, 0, 0, 0, 3, 6, 0, 0, 0, 0, 0, 0}}, 2},
		{"none to set", {6, {16, 0, 0, 0, 0, 0}}, 3},
		{"a count that does not fit", {10, {16, 0, 0, 0, 2, 3, 0, 0, 0, 0}}, 3},
		{"bytes that are missing", {9, {16, 0, 0, 0, 2, 4, 0, 0, 0}}, 3},
		{"a level beyond what it takes", {10, {16, 0, 20, 0, 2, 4, 0x42, 0xca, 0, 0}}, 3}, /* 101 */
		{"no number", {10, {16, 0, 0, 0, 2, 4, 0x7f, 0xc0, 0, 0}}, 3},
		{"who it is", {4, {43, 14, 1, 0}}, 0},
		{"one object", {4, {43, 14, 4, 2}}, 0},
		{"an object that it lacks", {4, {43, 14, 4, 7}}, 2},
		{"a level of identification that nobody has", {4, {43, 14, 5, 0}}, 3},
		{"another use of function 43", {4, {43, 13, 1, 0}}, 3},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		uint8_t in[MODBUS_FRAME_MAX], out[SIM_MESSAGE], sound[2];
		size_t size = modbus_tcp_frame(in, 0x1234, 17, &rows[i].q), n;
		struct sim_session session = {0};

		assert_int_equal(sim_modbus_answer(&modbus_device, &session, in, size, out, sizeof out, &n), size);
		sound[0] = (uint8_t)(rows[i].q.bytes[0] | 0x80);
		sound[1] = (uint8_t)rows[i].exception;
		if (!rows[i].exception != (out[7] == rows[i].q.bytes[0]) ||
		    (rows[i].exception && memcmp(out + 7, sound, 2) != 0))
			fail_msg("%s: function %02x, exception %d", rows[i].what, out[7], out[8]);
		assert_true(rows[i].exception == 0 || n == 9);
	}
}

/* ---- bad answers ---- */

static void an_answer_that_is_not_the_one_asked_for_gives_no_value(void **state)
{
	static const struct {
		enum spoil spoil;
		enum status rc;
		const char *words;
	} rows[] = {{SILENT, BUSY, "no answer within the time"},
		    {OTHER_TRANSACTION, BUSY, "no answer within the time"},
		    {OTHER_UNIT, FAILED, "unit 18 answers instead"},
		    {OTHER_FUNCTION, FAILED, "to something else"},
		    {OTHER_COUNT, FAILED, "another number of registers"},
		    {OTHER_PROTOCOL, FAILED, "no Modbus message"},
		    {NO_LENGTH, FAILED, "no Modbus message"},
		    {HUNG_UP, BUSY, "closed the connection"}};
	struct field_config c = modbus_config(port, 3, 0, "f32-abcd");
	struct field_source *source = begin(&c);
	struct err err = {0};
	struct field_reading r;

	(void)state;
	modbus.value[0] = 2.375;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		r.value = -77;
		modbus.spoil = rows[i].spoil;
		assert_int_equal(field_read(source, &r, &err), rows[i].rc);
		assert_near(r.value, -77, 0);
		if (!strstr(err.message, rows[i].words))
			print_error("%s\n", err.message);
		assert_non_null(strstr(err.message, rows[i].words));
		modbus.spoil = SOUND; /* and the next one is good again */
		assert_int_equal(field_read(source, &r, &err), OK);
		assert_near(r.value, 2.375, 0);
	}
	field_close(source);
}

static void a_late_answer_is_passed_over(void **state)
{
	struct field_config c = modbus_config(port, 3, 0, "f32-abcd");
	struct field_source *source = begin(&c);
	struct field_reading r;
	struct err err = {0};

	(void)state;
	modbus.value[0] = 2.375;
	modbus.spoil = LATE_FIRST;
	for (int i = 0; i < 5; i++) {
		assert_int_equal(field_read(source, &r, &err), OK);
		assert_near(r.value, 2.375, 0);
	}
	field_close(source);
}

static void a_connection_that_ended_meanwhile_is_made_anew(void **state)
{
	struct field_config c = drivable(0, "f32-abcd", 0, 10, 1);
	struct field_source *source = begin(&c);
	struct field_reading r;
	struct err err = {0};

	(void)state;
	modbus.spoil = HUNG_UP;
	modbus.spoils_left = 1;
	assert_int_equal(field_read(source, &r, &err), OK);
	modbus.spoils_left = 1;
	assert_int_equal(field_drive(source, 5, &err), OK);
	assert_near(modbus.value[0], 5, 0);
	modbus.spoils_left = 2; /* also while the safe value is written: a second connection more */
	assert_int_equal(field_safe(source, &err), OK);
	assert_near(modbus.value[0], 1, 0);
	field_close(source);
}

static void where_nobody_listens_it_is_said_who_was_asked(void **state)
{
	struct field_config c = modbus_config(1, 3, 0, "f32-abcd");
	struct field_source *source;
	struct err err = {0};

	(void)state;
	assert_int_equal(field_open(&source, &c, &err), BUSY);
	assert_null(source);
	assert_non_null(strstr(err.message, "Modbus device at 127.0.0.1, unit 17"));
}

/* ---- driving ---- */

static void a_register_is_driven_in_each_format_and_read_back(void **state)
{
	static const struct {
		int reg, value;
		const char *format;
	} rows[] = {{0, 0, "f32-abcd"},	 {2, 0, "f32-cdab"}, {4, 0, "f32-badc"},  {6, 0, "f32-dcba"},
		    {8, 1, "i16"},	 {9, 1, "u16"},	     {10, 1, "i32-abcd"}, {12, 1, "i32-cdab"},
		    {14, 1, "u32-abcd"}, {16, 1, "u32-cdab"}};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_config c = drivable(rows[i].reg, rows[i].format, 0, 9000, 0);
		struct field_source *source = begin(&c);
		struct err err = {0};
		size_t before = modbus.count;

		assert_int_equal(field_drive(source, 8192, &err), OK);
		assert_near(modbus.value[rows[i].value], 8192, 0);
		/* Written by 6 or 16, then read. */
		assert_int_equal(modbus.count, before + 4);
		assert_int_equal(modbus.said[before].bytes[7], strstr(rows[i].format, "16") ? 6 : 16);
		assert_int_equal(modbus.said[before + 2].bytes[7], 3);
		assert_int_equal(field_safe(source, &err), OK);
		assert_near(modbus.value[rows[i].value], 0, 0);
		field_close(source);
	}
}

static void nothing_beyond_the_limits_is_ever_sent(void **state)
{
	static const double beyond[] = {-0.001, 50.001, 1e30, -INFINITY, NAN};
	struct field_config c = drivable(0, "f32-abcd", 0, 50, 10), only_read = modbus_config(port, 3, 0, "f32-abcd");
	struct field_source *source = begin(&c);
	struct err err = {0};

	(void)state;
	for (size_t i = 0; i < sizeof beyond / sizeof *beyond; i++)
		assert_int_equal(field_drive(source, beyond[i], &err), INVALID);
	field_close(source);
	source = begin(&only_read);
	assert_int_equal(field_drive(source, 5, &err), INVALID);
	assert_int_equal(field_safe(source, &err), INVALID);
	field_close(source);
	assert_int_equal(modbus.sets, 0);
	assert_int_equal(modbus.count, 0);
}

/* 40 counts are one kPa. The limits 10.01 and 89.99 lie at 400.4 and 3599.6 counts: what is nearest is beyond them. */
static void rounding_to_a_count_does_not_carry_a_level_over_a_limit(void **state)
{
	struct field_config c = drivable(18, "u16", 10.01, 89.99, 10.01);
	struct field_source *source;
	struct err err = {0};

	(void)state;
	c.raw_high = 4000;
	c.high = 100;
	source = begin(&c);
	assert_int_equal(field_drive(source, 89.99, &err), OK);
	assert_near(modbus.value[2], 3599 / 40.0, 1e-9);
	assert_int_equal(field_drive(source, 10.01, &err), OK);
	assert_near(modbus.value[2], 401 / 40.0, 1e-9);
	assert_int_equal(field_drive(source, 50.012, &err), OK); /* 2000.48 counts */
	assert_near(modbus.value[2], 2000 / 40.0, 1e-9);
	field_close(source);
}

static void a_level_that_does_not_read_back_was_not_taken(void **state)
{
	struct field_config c = drivable(0, "f32-abcd", 0, 50, 10);
	struct field_source *source = begin(&c);
	struct err err = {0};

	(void)state;
	modbus.value[0] = 3;
	modbus.spoil = DEAF_TO_WRITES;
	assert_int_equal(field_drive(source, 20, &err), FAILED);
	assert_non_null(strstr(err.message, "says 3 after 20 was written"));
	field_close(source);
}

static void a_device_that_refuses_a_level_is_heard(void **state)
{
	struct field_config c = drivable(20, "f32-abcd", 0, 200, 50), fixed = drivable(19, "u16", 0, 9, 0);
	struct field_source *source = begin(&c);
	struct err err = {0};

	(void)state;
	assert_int_equal(field_drive(source, 101, &err), FAILED);
	assert_non_null(strstr(err.message, "exception 3"));
	assert_int_equal(field_safe(source, &err), OK);
	assert_near(modbus.value[7], 50, 0);
	field_close(source);
	source = begin(&fixed); /* it can be read only */
	assert_int_equal(field_drive(source, 5, &err), FAILED);
	assert_non_null(strstr(err.message, "exception 2"));
	field_close(source);
}

static void a_driven_register_goes_to_its_safe_value(void **state)
{
	struct field_config c = drivable(0, "f32-cdab", 2, 50, 2.5);
	struct field_source *source;
	struct err err = {0};

	(void)state;
	c.reg = 0;
	c.set_reg = 2;
	source = begin(&c);
	assert_int_equal(field_drive(source, 49.5, &err), OK);
	assert_near(modbus.value[0], 49.5, 0);
	assert_int_equal(field_safe(source, &err), OK);
	assert_near(modbus.value[0], 2.5, 0);
	/* To close a source moves nothing. */
	assert_int_equal(field_drive(source, 40, &err), OK);
	field_close(source);
	assert_near(modbus.value[0], 40, 0);
}

int main(void)
{
#define WITH_DEVICE(test) cmocka_unit_test_setup_teardown(test, setup, teardown)
	const struct CMUnitTest tests[] = {
		WITH_DEVICE(a_value_is_read_in_the_format_of_its_channel),
		WITH_DEVICE(a_reading_says_its_unit_its_time_and_its_bytes),
		WITH_DEVICE(counts_are_scaled_to_the_unit),
		WITH_DEVICE(no_number_in_a_register_is_a_bad_value_and_not_0),
		WITH_DEVICE(reading_asks_by_functions_3_and_4_and_who_it_is_alone),
		WITH_DEVICE(a_device_says_who_it_is),
		WITH_DEVICE(a_device_that_cannot_say_who_it_is_has_no_name_and_is_read_all_the_same),
		WITH_DEVICE(a_device_that_is_not_there_does_not_pass_for_one_without_a_name),
		WITH_DEVICE(what_cannot_be_meant_is_refused_by_its_member),
		WITH_DEVICE(a_refusal_is_said_in_words_with_its_number),
		WITH_DEVICE(the_device_refuses_what_it_does_not_have),
		WITH_DEVICE(the_simulated_device_refuses_as_the_protocol_wants),
		WITH_DEVICE(an_answer_that_is_not_the_one_asked_for_gives_no_value),
		WITH_DEVICE(a_late_answer_is_passed_over),
		WITH_DEVICE(a_connection_that_ended_meanwhile_is_made_anew),
		WITH_DEVICE(where_nobody_listens_it_is_said_who_was_asked),
		WITH_DEVICE(a_register_is_driven_in_each_format_and_read_back),
		WITH_DEVICE(nothing_beyond_the_limits_is_ever_sent),
		WITH_DEVICE(rounding_to_a_count_does_not_carry_a_level_over_a_limit),
		WITH_DEVICE(a_level_that_does_not_read_back_was_not_taken),
		WITH_DEVICE(a_device_that_refuses_a_level_is_heard),
		WITH_DEVICE(a_driven_register_goes_to_its_safe_value),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
