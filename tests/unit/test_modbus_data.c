/* Numbers in Modbus registers, against captured bytes and independent arithmetic. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "field/modbus_data.h"

static struct field_config as(const char *format)
{
	struct field_config c = {0};

	snprintf(c.format, sizeof c.format, "%s", format);
	return c;
}

static void a_float_is_read_and_written_in_all_four_orders(void **state)
{
	/* 12.345 as float32 is 41 45 85 1f (IEEE 754); the orders as in the captured exchange of modbus_vectors.json */
	static const struct {
		const char *format;
		uint8_t bytes[4];
	} rows[] = {{"f32-abcd", {0x41, 0x45, 0x85, 0x1f}},
		    {"f32-cdab", {0x85, 0x1f, 0x41, 0x45}},
		    {"f32-badc", {0x45, 0x41, 0x1f, 0x85}},
		    {"f32-dcba", {0x1f, 0x85, 0x45, 0x41}}};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_config c = as(rows[i].format);
		uint8_t bytes[4] = {0};

		assert_int_equal(modbus_words(c.format), 2);
		assert_true(modbus_decode(&c, rows[i].bytes) == (double)12.345f);
		assert_true(modbus_encode(&c, 12.345, bytes));
		assert_memory_equal(bytes, rows[i].bytes, 4);
	}
}

static void an_integer_has_its_sign_and_its_order_of_words(void **state)
{
	/* 80 00 is -32768 in modbus_vectors.json; the others are two's complement by hand: ff fe = -2, 0x00010002 = 65538 */
	static const struct {
		const char *format;
		uint8_t bytes[4];
		double value;
	} rows[] = {{"i16", {0x80, 0x00}, -32768},
		    {"u16", {0x80, 0x00}, 32768},
		    {"i32-abcd", {0xff, 0xff, 0xff, 0xfe}, -2},
		    {"i32-cdab", {0xff, 0xfe, 0xff, 0xff}, -2},
		    {"u32-abcd", {0, 1, 0, 2}, 65538},
		    {"u32-cdab", {0, 2, 0, 1}, 65538}};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct field_config c = as(rows[i].format);
		uint8_t bytes[4] = {0};

		assert_true(modbus_decode(&c, rows[i].bytes) == rows[i].value);
		assert_true(modbus_encode(&c, rows[i].value, bytes));
		assert_memory_equal(bytes, rows[i].bytes, (size_t)modbus_words(c.format) * 2);
	}
	assert_int_equal(modbus_words("i16"), 1);
	assert_int_equal(modbus_words("f64"), 0);
}

static void a_scaled_integer_follows_its_line(void **state)
{
	struct field_config c = as("u16");
	const uint8_t middle[2] = {0x36, 0xb0}; /* 14000 */
	uint8_t bytes[4] = {0};

	(void)state;
	c.raw_low = 4000;
	c.raw_high = 20000;
	c.low = 0;
	c.high = 160; /* 10000 / 16000 of 160 = 100 */
	assert_true(modbus_decode(&c, middle) == 100);
	assert_true(modbus_encode(&c, 100, bytes));
	assert_memory_equal(bytes, middle, 2);
}

static void what_does_not_fit_is_not_written(void **state)
{
	struct field_config i16 = as("i16"), u16 = as("u16"), f32 = as("f32-abcd");
	const uint8_t none[4] = {0x7f, 0xc0, 0, 0}; /* a NaN of IEEE 754 */
	uint8_t bytes[4] = {9, 9, 9, 9};

	(void)state;
	assert_false(modbus_encode(&i16, 32768, bytes));
	assert_false(modbus_encode(&u16, -1, bytes));
	assert_false(modbus_encode(&f32, 1e39, bytes));
	assert_false(modbus_encode(&f32, NAN, bytes));
	assert_int_equal(bytes[0], 9);
	assert_true(isnan(modbus_decode(&f32, none)));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_float_is_read_and_written_in_all_four_orders),
		cmocka_unit_test(an_integer_has_its_sign_and_its_order_of_words),
		cmocka_unit_test(a_scaled_integer_follows_its_line),
		cmocka_unit_test(what_does_not_fit_is_not_written),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
