/* HART over a serial line: a pair of pseudo terminals, the device at its other end. Faster than a modem, so that it ends. */
#include "hart_fixture.h"

#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

enum line { CLEAN, GARBAGE, ECHO, FIRST_BROKEN, SLOW, OTHERS, DEAF, ENDLESS_LINE };

struct device {
	int fd;
	pthread_t thread;
	_Atomic int how;
	_Atomic bool stop;
	int answers;
	_Atomic size_t heard;
	char path[100];
};

static void send_bytes(struct device *d, const uint8_t *bytes, size_t size)
{
	for (size_t i = 0; i < size; i++) {
		if (write(d->fd, bytes + i, 1) != 1)
			return;
		if (d->how == SLOW)
			usleep(3000);
	}
}

static void answer_line(struct device *d, const uint8_t *in, size_t taken, uint8_t *out, size_t size)
{
	static const uint8_t garbage[] = {0xff, 0x10, 0xff, 0xff, 0x06, 0x13, 0xaa, 0xff, 0xff, 0x55};
	/* Another master's exchange with another device (captured frames). */
	static const uint8_t others[] = {0xff, 0xff, 0xff, 0x82, 0x26, 0x4e, 0x00, 0x00, 0xd2, 0x01, 0x00,
					 0x39, 0xff, 0xff, 0xff, 0x86, 0x26, 0x4e, 0x00, 0x00, 0xd2, 0x01,
					 0x07, 0x00, 0xd0, 0xfb, 0x00, 0x00, 0x00, 0x00, 0x11};

	d->answers++;
	if (d->how >= DEAF)
		return;
	if (d->how == ECHO)
		send_bytes(d, in, taken);
	if (d->how == GARBAGE)
		send_bytes(d, garbage, sizeof garbage);
	if (d->how == OTHERS)
		send_bytes(d, others, sizeof others);
	if (d->how == FIRST_BROKEN && d->answers % 2)
		out[size - 3] ^= 4;
	send_bytes(d, out, size);
}

static void *device_main(void *arg)
{
	struct device *d = arg;
	uint8_t in[512], out[SIM_MESSAGE];
	size_t size = 0, out_size;
	struct sim_session session = {0};

	while (!d->stop) {
		struct pollfd p = {.fd = d->fd, .events = POLLIN};
		ssize_t n;
		long taken;

		if (d->how == ENDLESS_LINE)
			send_bytes(d, (const uint8_t[4]){0xff, 0xff, 0x06, 0x80}, 4);
		if (poll(&p, 1, 2) <= 0 || !(p.revents & POLLIN))
			continue;
		n = read(d->fd, in + size, sizeof in - size);
		if (n <= 0)
			continue;
		size += (size_t)n;
		d->heard += (size_t)n;
		taken = sim_hart_answer(&hart_device, &session, in, size, out, sizeof out, &out_size);
		if (out_size > 0)
			answer_line(d, in, (size_t)taken, out, out_size);
		memmove(in, in + taken, size - (size_t)taken);
		size -= (size_t)taken;
	}
	return NULL;
}

static struct field_source *begin_at(int baud, struct device *d, enum line how, struct field_config *c)
{
	struct field_source *source;
	struct err err = {0};

	*d = (struct device){.fd = posix_openpt(O_RDWR | O_NOCTTY), .how = how};
	assert_true(d->fd >= 0);
	assert_int_equal(grantpt(d->fd), 0);
	assert_int_equal(unlockpt(d->fd), 0);
	assert_int_equal(ptsname_r(d->fd, d->path, sizeof d->path), 0);
	pthread_create(&d->thread, NULL, device_main, d);
	*c = (struct field_config){
		.protocol = FIELD_HART_SERIAL, .baud = baud, .address = 3, .variable = "pv", .timeout_ms = 1500};
	snprintf(c->device, sizeof c->device, "%s", d->path);
	if (field_open(&source, c, &err)) {
		assert_true(how >= DEAF);
		assert_int_equal(err.status, BUSY);
		assert_non_null(strstr(err.message, d->path));
	}
	return source;
}

static struct field_source *begin(struct device *d, enum line how, struct field_config *c)
{
	return begin_at(38400, d, how, c);
}

static void end(struct device *d, struct field_source *source)
{
	field_close(source);
	d->stop = true;
	pthread_join(d->thread, NULL);
	close(d->fd);
}

static void reads_with(enum line how)
{
	struct device d;
	struct field_config c;
	struct field_source *source = begin(&d, how, &c);
	struct field_identity id;
	struct field_reading r;
	struct err err = {0};

	assert_non_null(source);
	for (int i = 0; i < 5; i++) {
		if (field_read(source, &r, &err))
			fail_msg("%s", err.message);
		assert_near(r.value, 137.25, 0);
		assert_string_equal(r.unit, "mbar");
	}
	assert_int_equal(field_identify(source, &id, &err), OK);
	assert_string_equal(id.tag, "10-PT-1001A intake");
	end(&d, source);
}

static void values_come_over_a_serial_line(void **state)
{
	(void)state;
	reads_with(CLEAN);
}

static void a_frame_is_found_behind_garbage(void **state)
{
	(void)state;
	reads_with(GARBAGE);
}

static void our_own_bytes_given_back_are_passed_over(void **state)
{
	(void)state;
	reads_with(ECHO);
}

static void a_damaged_answer_is_asked_for_again(void **state)
{
	(void)state;
	reads_with(FIRST_BROKEN);
}

static void bytes_may_come_one_by_one(void **state)
{
	(void)state;
	reads_with(SLOW);
}

static void another_masters_exchange_is_not_ours(void **state)
{
	(void)state;
	reads_with(OTHERS);
}

static const uint8_t others_question[] = {0xff, 0xff, 0xff, 0x02, 0x01, 0x00, 0x00, 0x03};
static const uint8_t others_answer[] = {0xff, 0xff, 0xff, 0x06, 0x01, 0x01, 0x02, 0x40, 0x00, 0x44};

struct other_master {
	struct device *d;
	bool answered;
	size_t heard; /* of us, between its question and the answer to it */
};

/* The device that it asks takes its time, preambles first. */
static void *other_master_main(void *arg)
{
	struct other_master *o = arg;
	size_t before = o->d->heard;

	send_bytes(o->d, others_question, sizeof others_question);
	for (int i = 0; i < 8; i++) {
		usleep(25000);
		send_bytes(o->d, (const uint8_t[1]){0xff}, 1);
	}
	o->heard = o->d->heard - before;
	if (o->answered)
		send_bytes(o->d, others_answer, sizeof others_answer);
	return NULL;
}

static void another_master_has_its_turn_and_then_we_have_ours(void **state)
{
	struct device d;
	struct field_config c;
	struct field_source *source = begin_at(1200, &d, CLEAN, &c);
	struct field_reading r;
	struct err err = {0};

	(void)state;
	assert_non_null(source);
	for (int answered = 0; answered < 2; answered++) {
		struct other_master other = {.d = &d, .answered = answered};
		pthread_t thread;

		pthread_create(&thread, NULL, other_master_main, &other);
		usleep(10000);
		if (field_read(source, &r, &err))
			fail_msg("%s", err.message);
		assert_near(r.value, 137.25, 0);
		pthread_join(thread, NULL);
		assert_int_equal(other.heard, 0);
	}
	end(&d, source);
}

static void a_line_is_opened_again_and_by_one_at_a_time(void **state)
{
	struct device d;
	struct field_config c;
	struct field_source *source = begin(&d, CLEAN, &c), *second;
	struct field_reading r;
	struct err err = {0};

	(void)state;
	assert_non_null(source);
	assert_int_equal(field_open(&second, &c, &err), BUSY);
	assert_string_equal(err.field, "/device");
	for (int i = 0; i < 3; i++) {
		field_close(source);
		if (field_open(&source, &c, &err))
			fail_msg("%s", err.message);
		assert_int_equal(field_read(source, &r, &err), OK);
		assert_near(r.value, 137.25, 0);
	}
	end(&d, source);
}

static void a_line_without_an_answer_ends_in_time(void **state)
{
	(void)state;
	for (int how = DEAF; how <= ENDLESS_LINE; how++) {
		struct device d;
		struct field_config c;
		int64_t begun = hart_now_ms();

		assert_null(begin(&d, (enum line)how, &c));
		assert_in_range(hart_now_ms() - begun, 1000, 2500); /* the time-out is 1500 */
		end(&d, NULL);
	}
}

static void what_is_no_serial_line_is_refused(void **state)
{
	struct field_config c = {.protocol = FIELD_HART_SERIAL, .variable = "pv", .device = "/dev/null"};
	struct field_source *source;
	struct err err = {0};

	(void)state;
	assert_int_equal(field_open(&source, &c, &err), INVALID);
	assert_string_equal(err.field, "/device");
	snprintf(c.device, sizeof c.device, "/dev/there-is-none");
	assert_int_equal(field_open(&source, &c, &err), BUSY);
	c.baud = 1234;
	assert_int_equal(field_open(&source, &c, &err), INVALID);
	assert_string_equal(err.field, "/baud");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(values_come_over_a_serial_line),
		cmocka_unit_test(a_frame_is_found_behind_garbage),
		cmocka_unit_test(our_own_bytes_given_back_are_passed_over),
		cmocka_unit_test(a_damaged_answer_is_asked_for_again),
		cmocka_unit_test(bytes_may_come_one_by_one),
		cmocka_unit_test(another_masters_exchange_is_not_ours),
		cmocka_unit_test(another_master_has_its_turn_and_then_we_have_ours),
		cmocka_unit_test(a_line_is_opened_again_and_by_one_at_a_time),
		cmocka_unit_test(a_line_without_an_answer_ends_in_time),
		cmocka_unit_test(what_is_no_serial_line_is_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
