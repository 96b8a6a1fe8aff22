/* Modbus on a serial line: bad lines, several sources on one, and the line's own lock. Pseudo terminals stand for lines. */
#include "modbus_line_fixture.h"

#include <sys/file.h>
#include <termios.h>

static struct field_source *begin(const struct field_config *c)
{
	struct field_source *source;
	struct err err = {0};

	if (field_open(&source, c, &err))
		fail_msg("%s %s", err.field, err.message);
	return source;
}

static struct field_config drivable(const struct line_device *d, int reg, const char *format)
{
	struct field_config c = line_config(d->path, 17, reg, format);

	c.drivable = true;
	c.set_reg = reg;
	c.drive_high = 100;
	c.safe = 5;
	return c;
}

static void reads_with(enum line_how how)
{
	struct line_device d;
	struct field_config c;
	struct field_source *source;
	struct field_identity who;
	struct field_reading r;
	struct err err = {0};

	line_begin(&d, how);
	c = line_config(d.path, 17, 0, "f32-abcd");
	source = begin(&c);
	for (int i = 1; i < 6; i++) {
		modbus.value[0] = i;
		if (field_read(source, &r, &err))
			fail_msg("%s", err.message);
		assert_near(r.value, i, 0);
	}
	if (field_identify(source, &who, &err))
		fail_msg("%s", err.message);
	assert_string_equal(who.model, "PM-100k");
	field_close(source);
	line_end(&d);
}

static void values_come_over_a_serial_line(void **state)
{
	(void)state;
	reads_with(CLEAN);
}

static void an_answer_is_found_behind_noise(void **state)
{
	(void)state;
	reads_with(NOISE);
}

static void another_masters_exchange_is_passed_over(void **state)
{
	(void)state;
	reads_with(OTHERS);
}

static void our_own_bytes_given_back_are_passed_over(void **state)
{
	(void)state;
	reads_with(ECHOING);
}

static void bytes_may_come_one_by_one(void **state)
{
	(void)state;
	reads_with(SLOW);
}

static void a_damaged_answer_is_asked_for_again(void **state)
{
	(void)state;
	reads_with(DAMAGED_ONCE);
}

static void a_line_without_an_answer_is_said_to_be_that(void **state)
{
	/* What an endless line does to a question goes by chance. */
	static const struct {
		enum line_how how;
		const char *words;
	} rows[] = {{DEAF, "no answer within the time"}, {DAMAGED, "the answer is damaged"}, {ENDLESS, ""}};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_reading r = {.value = -77};
		struct field_source *source;
		struct err err = {0};
		struct field_config c;
		struct line_device d;

		line_begin(&d, rows[i].how);
		c = line_config(d.path, 17, 0, "f32-abcd");
		source = begin(&c);
		assert_int_equal(field_read(source, &r, &err), BUSY);
		assert_near(r.value, -77, 0);
		if (!strstr(err.message, rows[i].words))
			print_error("%s\n", err.message);
		assert_non_null(strstr(err.message, rows[i].words));
		assert_non_null(strstr(err.message, d.path));
		d.how = CLEAN; /* and the next one is good again */
		modbus.value[0] = 3;
		if (field_read(source, &r, &err))
			fail_msg("%s", err.message);
		assert_near(r.value, 3, 0);
		field_close(source);
		line_end(&d);
	}
}

/* Nothing in a late answer says that it is one: what it says was true before it was asked again. */
static void a_late_answer_is_not_taken_for_the_next(void **state)
{
	struct field_reading r = {.value = -77};
	struct field_source *source;
	struct err err = {0};
	struct field_config c;
	struct line_device d;

	(void)state;
	line_begin(&d, LATE);
	modbus.value[0] = 1;
	c = line_config(d.path, 17, 0, "f32-abcd");
	source = begin(&c);
	assert_int_equal(field_read(source, &r, &err), BUSY);
	modbus.value[0] = 2;
	if (field_read(source, &r, &err))
		fail_msg("%s", err.message);
	assert_near(r.value, 2, 0);
	field_close(source);
	line_end(&d);
}

static void a_unit_that_is_not_there_gives_no_value(void **state)
{
	struct field_reading r = {.value = -77};
	struct field_source *source;
	struct err err = {0};
	struct field_config c;
	struct line_device d;

	(void)state;
	line_begin(&d, CLEAN);
	c = line_config(d.path, 18, 0, "f32-abcd");
	source = begin(&c);
	assert_int_equal(field_read(source, &r, &err), BUSY);
	assert_near(r.value, -77, 0);
	field_close(source);
	line_end(&d);
}

static void registers_of_a_line_are_driven_and_go_safe(void **state)
{
	static const enum line_how ways[] = {CLEAN, ECHOING, DAMAGED_ONCE};

	(void)state;
	for (size_t i = 0; i < 3; i++) {
		struct field_source *one, *two;
		struct field_config c;
		struct line_device d;
		struct err err = {0};

		line_begin(&d, ways[i]);
		c = drivable(&d, 9, "u16"); /* by function 6 */
		one = begin(&c);
		c = drivable(&d, 0, "f32-abcd"); /* by function 16 */
		two = begin(&c);
		for (int level = 10; level < 13; level++) {
			if (field_drive(one, level, &err) || field_drive(two, level + 0.5, &err))
				fail_msg("%s", err.message);
			assert_near(modbus.value[1], level, 0);
			assert_near(modbus.value[0], level + 0.5, 0);
		}
		assert_int_equal(field_drive(one, 101, &err), INVALID);
		assert_int_equal(field_safe(one, &err), OK);
		assert_int_equal(field_safe(two, &err), OK);
		assert_near(modbus.value[1], 5, 0);
		assert_near(modbus.value[0], 5, 0);
		assert_int_equal(d.overlaps, 0);
		field_close(one);
		field_close(two);
		line_end(&d);
	}
}

/* ---- one line, several sources ---- */

#define READINGS 60

struct reader {
	pthread_t thread;
	struct field_config config;
	double least, most;
	int good;
	char trouble[400];
};

static void *read_many(void *arg)
{
	struct reader *reader = arg;
	struct field_source *source;
	struct err err = {0};

	if (field_open(&source, &reader->config, &err)) {
		snprintf(reader->trouble, sizeof reader->trouble, "%s", err.message);
		return NULL;
	}
	for (int i = 0; i < READINGS; i++) {
		struct field_reading r;

		if (field_read(source, &r, &err))
			snprintf(reader->trouble, sizeof reader->trouble, "%s", err.message);
		else if (r.value >= reader->least && r.value <= reader->most)
			reader->good++;
	}
	field_close(source);
	return NULL;
}

/* Units 17 and 18, the latter twice: whoever got another's answer would see a number of the other hundred. */
static void sources_of_one_line_take_turns(void **state)
{
	static const int units[] = {17, 18, 18};
	static const int registers[] = {0, 0, 19};
	struct sim_device other = modbus_device;
	struct reader readers[3];
	struct line_device d;

	(void)state;
	line_begin(&d, CLEAN);
	other.address = 18;
	d.units[1] = &other;
	modbus.value[0] = 100;
	modbus.value[3] = 300;
	for (int i = 0; i < 3; i++) {
		readers[i] = (struct reader){
			.config = line_config(d.path, units[i], registers[i], registers[i] ? "u16" : "f32-abcd")};
		readers[i].config.timeout_ms = 5000;
		readers[i].least = readers[i].most = registers[i] ? 300 : 100;
		pthread_create(&readers[i].thread, NULL, read_many, &readers[i]);
	}
	for (int i = 0; i < 3; i++) {
		pthread_join(readers[i].thread, NULL);
		assert_string_equal(readers[i].trouble, "");
		assert_int_equal(readers[i].good, READINGS);
	}
	assert_int_equal(d.overlaps, 0);
	assert_int_equal(d.answers, 3 * READINGS);
	line_end(&d);
}

static void a_line_is_known_by_any_of_its_names_and_has_one_speed(void **state)
{
	char link[] = "/tmp/modbus-line-XXXXXX", name[64];
	struct field_source *one, *two;
	struct field_config c;
	struct line_device d;
	struct err err = {0};
	struct field_reading r;

	(void)state;
	line_begin(&d, CLEAN);
	assert_non_null(mkdtemp(link));
	snprintf(name, sizeof name, "%s/line", link);
	assert_int_equal(symlink(d.path, name), 0);
	c = line_config(d.path, 17, 0, "f32-abcd");
	one = begin(&c);
	c = line_config(name, 17, 2, "f32-cdab");
	two = begin(&c);
	assert_int_equal(field_read(one, &r, &err), OK);
	assert_int_equal(field_read(two, &r, &err), OK);
	field_close(two);
	c.baud = 9600;
	assert_int_equal(field_open(&two, &c, &err), INVALID);
	assert_string_equal(err.field, "/baud");
	c.baud = 115200;
	c.parity = 'N';
	assert_int_equal(field_open(&two, &c, &err), INVALID);
	assert_string_equal(err.field, "/parity");
	field_close(one);
	two = begin(&c); /* nobody else uses it any more */
	field_close(two);
	unlink(name);
	rmdir(link);
	line_end(&d);
}

/* The guide for serial lines V1.02, 2.5.1 (from memory): 11 bits a character, so a second stop bit where parity has none. */
static void a_line_is_set_as_its_channel_says(void **state)
{
	static const struct {
		char parity;
		bool two_stops;
	} rows[] = {{'N', true}, {'E', false}, {'O', false}, {0, false}};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_source *source;
		struct field_config c;
		struct line_device d;
		struct termios t;

		line_begin(&d, CLEAN);
		c = line_config(d.path, 17, 0, "f32-abcd");
		c.parity = rows[i].parity;
		source = begin(&c);
		assert_int_equal(tcgetattr(d.fd, &t), 0);
		assert_int_equal(cfgetospeed(&t), B115200);
		assert_int_equal((t.c_cflag & CSTOPB) != 0, rows[i].two_stops);
		assert_int_equal(t.c_lflag & (ICANON | ECHO), 0);
		field_close(source);
		line_end(&d);
	}
}

static void a_line_that_another_program_holds_is_left_to_it(void **state)
{
	struct field_source *source;
	struct field_config c;
	struct line_device d;
	struct err err = {0};
	int fd;

	(void)state;
	line_begin(&d, CLEAN);
	fd = open(d.path, O_RDWR | O_NOCTTY);
	assert_true(fd >= 0);
	assert_int_equal(flock(fd, LOCK_EX | LOCK_NB), 0);
	c = line_config(d.path, 17, 0, "f32-abcd");
	assert_int_equal(field_open(&source, &c, &err), BUSY);
	assert_non_null(strstr(err.message, "somebody else uses the line"));
	assert_int_equal(modbus.count, 0);
	close(fd);
	source = begin(&c);
	field_close(source);
	line_end(&d);
}

static void an_adapter_that_is_pulled_out_is_no_silent_device(void **state)
{
	struct field_source *source;
	struct field_config c;
	struct field_reading r;
	struct line_device d;
	struct err err = {0};

	(void)state;
	line_begin(&d, CLEAN);
	c = line_config(d.path, 17, 0, "f32-abcd");
	source = begin(&c);
	assert_int_equal(field_read(source, &r, &err), OK);
	line_end(&d);
	assert_int_equal(field_read(source, &r, &err), BUSY);
	assert_null(strstr(err.message, "no answer within the time"));
	assert_int_equal(field_read(source, &r, &err), BUSY);
	assert_non_null(strstr(err.message, d.path));
	field_close(source);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(values_come_over_a_serial_line),
		cmocka_unit_test(an_answer_is_found_behind_noise),
		cmocka_unit_test(another_masters_exchange_is_passed_over),
		cmocka_unit_test(our_own_bytes_given_back_are_passed_over),
		cmocka_unit_test(bytes_may_come_one_by_one),
		cmocka_unit_test(a_damaged_answer_is_asked_for_again),
		cmocka_unit_test(a_line_without_an_answer_is_said_to_be_that),
		cmocka_unit_test(a_late_answer_is_not_taken_for_the_next),
		cmocka_unit_test(a_unit_that_is_not_there_gives_no_value),
		cmocka_unit_test(registers_of_a_line_are_driven_and_go_safe),
		cmocka_unit_test(sources_of_one_line_take_turns),
		cmocka_unit_test(a_line_is_known_by_any_of_its_names_and_has_one_speed),
		cmocka_unit_test(a_line_is_set_as_its_channel_says),
		cmocka_unit_test(a_line_that_another_program_holds_is_left_to_it),
		cmocka_unit_test(an_adapter_that_is_pulled_out_is_no_silent_device),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
