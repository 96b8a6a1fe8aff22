/*
 * Modbus messages. Vectors: a live exchange over TCP with libmodbus 3.1.6 (Debian) at both ends, bytes from its debug output. Checksums: the
 * catalogue of parametrised CRC algorithms (CRC-16/MODBUS) and the examples of the guide for serial lines, from memory.
 */
#include "field/modbus_frame.h"
#include "support/check.h"

#include <string.h>

/* FC03 from register 0, nine of them; unit 255. Floats of 12.345 in four orders, and 27648. */
static const uint8_t ask_nine[] = {0x00, 0x01, 0x00, 0x00, 0x00, 0x06, 0xff, 0x03, 0x00, 0x00, 0x00, 0x09};
static const uint8_t nine[] = {0x00, 0x01, 0x00, 0x00, 0x00, 0x15, 0xff, 0x03, 0x12, 0x45, 0x41, 0x1f, 0x85, 0x1f,
			       0x85, 0x45, 0x41, 0x41, 0x45, 0x85, 0x1f, 0x85, 0x1f, 0x41, 0x45, 0x6c, 0x00};
/* FC04, one register: -32768. */
static const uint8_t ask_one[] = {0x00, 0x02, 0x00, 0x00, 0x00, 0x06, 0xff, 0x04, 0x00, 0x00, 0x00, 0x01};
static const uint8_t one[] = {0x00, 0x02, 0x00, 0x00, 0x00, 0x05, 0xff, 0x04, 0x02, 0x80, 0x00};
/* FC03 from register 100, which is not there: exception 2. */
static const uint8_t ask_beyond[] = {0x00, 0x03, 0x00, 0x00, 0x00, 0x06, 0xff, 0x03, 0x00, 0x64, 0x00, 0x02};
static const uint8_t refused[] = {0x00, 0x03, 0x00, 0x00, 0x00, 0x03, 0xff, 0x83, 0x02};

static const struct vector {
	int transaction, function, reg, words, exception;
	const uint8_t *ask, *answer;
	size_t ask_size, answer_size;
} vectors[] = {
	{1, 3, 0, 9, 0, ask_nine, nine, sizeof ask_nine, sizeof nine},
	{2, 4, 0, 1, 0, ask_one, one, sizeof ask_one, sizeof one},
	{3, 3, 100, 2, 2, ask_beyond, refused, sizeof ask_beyond, sizeof refused},
};

static void questions_are_the_bytes_that_another_library_sends(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
		const struct vector *v = &vectors[i];
		uint8_t bytes[MODBUS_FRAME_MAX];
		struct modbus_pdu q;

		modbus_ask_registers(&q, v->function, v->reg, v->words);
		assert_int_equal(modbus_tcp_frame(bytes, v->transaction, 255, &q), v->ask_size);
		assert_memory_equal(bytes, v->ask, v->ask_size);
	}
}

static void answers_of_another_library_are_understood(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
		const struct vector *v = &vectors[i];
		struct modbus_message m;
		struct modbus_pdu q;
		size_t taken;

		modbus_ask_registers(&q, v->function, v->reg, v->words);
		assert_int_equal(modbus_tcp_parse(v->answer, v->answer_size, &m, &taken), MODBUS_WHOLE);
		assert_int_equal(taken, v->answer_size);
		assert_int_equal(m.transaction, v->transaction);
		assert_int_equal(m.unit, 255);
		assert_null(modbus_answer_fault(&q, &m.pdu));
		assert_int_equal(modbus_exception(&m.pdu), v->exception);
		if (!v->exception)
			assert_memory_equal(m.pdu.bytes + 2, v->answer + 9, (size_t)v->words * 2);
	}
}

static void a_message_cut_short_is_waited_for(void **state)
{
	struct modbus_message m;
	size_t taken;

	(void)state;
	for (size_t n = 0; n < sizeof nine; n++) {
		assert_int_equal(modbus_tcp_parse(nine, n, &m, &taken), MODBUS_MORE);
		assert_int_equal(taken, 0);
	}
}

static void what_is_no_message_is_told_from_a_short_one(void **state)
{
	uint8_t bytes[300] = {0, 1, 0, 0, 0, 5, 1, 3, 2, 0, 0};
	struct modbus_message m;
	size_t taken;

	(void)state;
	assert_int_equal(modbus_tcp_parse(bytes, sizeof bytes, &m, &taken), MODBUS_WHOLE);
	bytes[2] = 1; /* another protocol */
	assert_int_equal(modbus_tcp_parse(bytes, sizeof bytes, &m, &taken), MODBUS_BROKEN);
	bytes[2] = 0;
	bytes[3] = 1;
	assert_int_equal(modbus_tcp_parse(bytes, sizeof bytes, &m, &taken), MODBUS_BROKEN);
	bytes[3] = 0;
	bytes[5] = 1; /* a unit and nothing behind it */
	assert_int_equal(modbus_tcp_parse(bytes, sizeof bytes, &m, &taken), MODBUS_BROKEN);
	bytes[5] = 254; /* the longest that there is */
	assert_int_equal(modbus_tcp_parse(bytes, sizeof bytes, &m, &taken), MODBUS_WHOLE);
	assert_int_equal(m.pdu.size, 253);
	bytes[5] = 255;
	assert_int_equal(modbus_tcp_parse(bytes, sizeof bytes, &m, &taken), MODBUS_BROKEN);
}

static void an_answer_that_does_not_fit_its_question_is_none(void **state)
{
	static const struct modbus_pdu read = {5, {3, 0, 0x10, 0, 2}}, write = {5, {6, 0, 0x10, 0x12, 0x34}},
				       several = {10, {16, 0, 0x10, 0, 2, 4, 1, 2, 3, 4}},
				       identity = {4, {43, 14, 2, 0}};
	static const struct {
		const struct modbus_pdu *q;
		struct modbus_pdu a;
		bool fits;
	} rows[] = {
		{&read, {6, {3, 4, 1, 2, 3, 4}}, true},
		{&read, {6, {4, 4, 1, 2, 3, 4}}, false}, /* another function */
		{&read, {4, {3, 2, 1, 2}}, false},	 /* one register instead of two */
		{&read, {5, {3, 4, 1, 2, 3}}, false},	 /* cut off */
		{&read, {7, {3, 4, 1, 2, 3, 4, 5}}, false},
		{&read, {1, {3}}, false},
		{&read, {0, {0}}, false},
		{&read, {2, {0x83, 2}}, true},
		{&read, {2, {0x84, 2}}, false},
		{&read, {2, {0x83, 0}}, false}, /* there is no exception 0 */
		{&read, {3, {0x83, 2, 0}}, false},
		{&write, {5, {6, 0, 0x10, 0x12, 0x34}}, true},
		{&write, {5, {6, 0, 0x10, 0x12, 0x35}}, false}, /* another value */
		{&write, {5, {6, 0, 0x11, 0x12, 0x34}}, false}, /* another register */
		{&several, {5, {16, 0, 0x10, 0, 2}}, true},
		{&several, {5, {16, 0, 0x10, 0, 1}}, false},
		{&several, {4, {16, 0, 0x10, 0}}, false},
		{&identity, {12, {43, 14, 2, 0x82, 0, 0, 1, 0, 3, 'a', 'b', 'c'}}, true},
		{&identity, {12, {43, 14, 1, 0x01, 0, 0, 1, 0, 3, 'a', 'b', 'c'}}, true},  /* it has less */
		{&identity, {12, {43, 14, 3, 0x83, 0, 0, 1, 0, 3, 'a', 'b', 'c'}}, false}, /* more than asked for */
		{&identity, {12, {43, 13, 2, 0x82, 0, 0, 1, 0, 3, 'a', 'b', 'c'}}, false}, /* another type */
		{&identity, {12, {43, 14, 2, 0x82, 0, 0, 1, 0, 4, 'a', 'b', 'c'}}, false}, /* a text cut off */
		{&identity, {12, {43, 14, 2, 0x82, 0, 0, 2, 0, 3, 'a', 'b', 'c'}}, false}, /* an object is missing */
		{&identity, {12, {43, 14, 2, 0x82, 0, 0, 1, 0, 2, 'a', 'b', 'c'}}, false}, /* a byte too many */
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		bool fits = !modbus_answer_fault(rows[i].q, &rows[i].a);

		if (fits != rows[i].fits)
			print_error("row %zu: %s\n", i, fits ? "fits" : modbus_answer_fault(rows[i].q, &rows[i].a));
		assert_int_equal(fits, rows[i].fits);
	}
}

static void checksums_are_those_of_the_published_examples(void **state)
{
	static const uint8_t guide[] = {0x02, 0x07}, read[] = {0x11, 0x03, 0x00, 0x6b, 0x00, 0x03};
	uint8_t bytes[MODBUS_FRAME_MAX];
	struct modbus_pdu q;

	(void)state;
	assert_int_equal(modbus_crc((const uint8_t *)"123456789", 9), 0x4b37);
	assert_int_equal(modbus_crc(guide, sizeof guide), 0x1241);
	modbus_ask_registers(&q, 3, 0x6b, 3);
	assert_int_equal(modbus_rtu_frame(bytes, 0x11, &q), 8);
	assert_memory_equal(bytes, read, sizeof read);
	assert_int_equal(bytes[6], 0x76);
	assert_int_equal(bytes[7], 0x87);
}

/* The application protocol's example of function 3, from memory: 555, 0, 100 in three registers. */
static size_t line_answer(uint8_t *out)
{
	static const struct modbus_pdu a = {8, {3, 6, 0x02, 0x2b, 0x00, 0x00, 0x00, 0x64}};

	return modbus_rtu_frame(out, 0x11, &a);
}

static void an_answer_is_found_behind_noise_and_other_units(void **state)
{
	/* Noise; another unit's answer; the beginning of one of ours that breaks off. */
	static const uint8_t before[] = {0x00, 0xff, 0x12, 0x03, 0x02, 0x00, 0x01, 0x11, 0x03, 0x06, 0x02};
	uint8_t bytes[sizeof before + MODBUS_FRAME_MAX];
	struct modbus_message m;
	size_t size;

	(void)state;
	memcpy(bytes, before, sizeof before);
	size = sizeof before + line_answer(bytes + sizeof before);
	for (size_t n = 0; n < size; n++)
		assert_int_equal(modbus_rtu_find(bytes, n, 0x11, 3, &m), MODBUS_MORE);
	assert_int_equal(modbus_rtu_find(bytes, size, 0x11, 3, &m), MODBUS_WHOLE);
	assert_int_equal(m.pdu.size, 8);
	assert_int_equal(m.pdu.bytes[3], 0x2b);
	assert_int_equal(modbus_rtu_find(bytes, size, 0x12, 3, &m), MODBUS_MORE);
	assert_int_equal(modbus_rtu_find(bytes, size, 0x11, 4, &m), MODBUS_MORE);
}

static void no_single_damaged_byte_of_a_line_gives_an_answer(void **state)
{
	uint8_t bytes[MODBUS_FRAME_MAX];
	size_t size = line_answer(bytes);
	struct modbus_message m;

	(void)state;
	for (size_t i = 0; i < size; i++)
		for (int change = 1; change < 256; change++) {
			bytes[i] ^= (uint8_t)change;
			assert_int_equal(modbus_rtu_find(bytes, size, 0x11, 3, &m), MODBUS_MORE);
			bytes[i] ^= (uint8_t)change;
		}
	assert_int_equal(modbus_rtu_find(bytes, size, 0x11, 3, &m), MODBUS_WHOLE);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(questions_are_the_bytes_that_another_library_sends),
		cmocka_unit_test(answers_of_another_library_are_understood),
		cmocka_unit_test(a_message_cut_short_is_waited_for),
		cmocka_unit_test(what_is_no_message_is_told_from_a_short_one),
		cmocka_unit_test(an_answer_that_does_not_fit_its_question_is_none),
		cmocka_unit_test(checksums_are_those_of_the_published_examples),
		cmocka_unit_test(an_answer_is_found_behind_noise_and_other_units),
		cmocka_unit_test(no_single_damaged_byte_of_a_line_gives_an_answer),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
