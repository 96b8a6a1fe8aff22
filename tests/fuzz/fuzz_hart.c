/*
 * What a HART device may send: any bytes, as a frame, on a line, as HART-IP messages; and any request to the simulated device.
 * Every byte read lies within what was given (AddressSanitizer sees to that), and what is understood keeps its bounds.
 */
#include <math.h>
#include <string.h>

#include "field/hart_data.h"
#include "field/hart_line.h"
#include "field/hart_pushed.h"
#include "field/sim.h"
#include "fuzz.h"

static void values_understood(const struct hart_values *v)
{
	promise(v->count <= 8, "a frame has at most eight variables");
	for (size_t i = 0; i < v->count; i++)
		promise(!isinf(v->variables[i].value), "a value is a number or none");
}

static void frame_understood(const struct hart_frame *f, const uint8_t *bytes, size_t size)
{
	uint8_t again[HART_FRAME_MAX];
	struct hart_frame back;
	struct hart_data data;
	size_t n, taken;

	promise(f->data >= bytes && f->data + f->size <= bytes + size, "data lie within the frame");
	if (hart_decode(f, &data)) {
		promise(strlen(data.text) <= 64 && strlen(data.tag) <= 8 && strlen(data.descriptor) <= 16,
			"texts keep their lengths");
		promise(data.more_count <= sizeof data.more, "more status keeps its length");
		values_understood(&data.values);
	}
	n = f->type == HART_REQUEST ? hart_request(again, sizeof again, &f->address, f->command, f->data, f->size) :
				      hart_answer(again, sizeof again, f);
	if (n == 0)
		return;
	promise(hart_parse(again, n, &back, &taken) == HART_OK && taken == n, "a frame made anew is a frame");
	promise(back.command == f->command && back.size == f->size && !memcmp(back.data, f->data, f->size),
		"a frame made anew says the same");
}

static void as_line(const uint8_t *bytes, size_t size)
{
	struct hart_frame f;
	size_t at = 0, taken;
	enum hart_result rc;

	do {
		rc = hart_find(bytes + at, size - at, true, &f, &taken);
		promise(taken <= size - at, "no more is taken than there is");
		if (rc == HART_OK)
			frame_understood(&f, bytes + at, taken);
		at += taken;
	} while (rc == HART_OK);
	promise(rc == HART_BROKEN && at == size, "a line that has ended leaves nothing to wait for");
	hart_find(bytes, size, false, &f, &taken);
	promise(taken <= size, "no more is taken than there is");
}

/* As a modem brings them, in lots of some size, while an answer to command 3 of this device is waited for. */
static void in_lots(const uint8_t *bytes, size_t size, size_t lot)
{
	static struct hart_line line;
	struct hart_frame asked = {.command = 3}, answer;

	asked.address = (struct hart_address){
		.is_long = true, .primary = true, .device_type = 0x264e, .device_id = 0xd2};
	hart_line_clear(&line);
	for (size_t at = 0; at < size; at += lot) {
		hart_line_add(&line, bytes + at, size - at < lot ? size - at : lot);
		if (hart_line_answer(&line, &asked, false, &answer)) {
			promise(answer.type == HART_ANSWER && answer.command == 3, "an answer is to what was asked");
			frame_understood(&answer, line.bytes, line.size);
			return;
		}
		promise(line.size < HART_LINE_MAX, "a line has room for what comes next");
	}
	hart_line_answer(&line, &asked, true, &answer);
}

/* As a page pushes them: first anybody's word of who he is, then as an answer of a device that is known. */
static void as_pushed(const uint8_t *bytes, size_t size)
{
	struct field_config config = {.protocol = FIELD_HART_BROWSER, .variable = "pv"};
	struct hart_pushed p = {0}, before = {.known = true, .tagged = true, .type = 0x264e, .id = 0xd2},
			   after = before;
	struct field_reading out = {0};
	struct err err;
	bool holds;

	if (!hart_pushed_take(&p, &config, bytes, size, &out, &holds, &err))
		promise(p.known && !p.tagged && !holds, "nobody is known before command 0 is answered");
	if (hart_pushed_take(&after, &config, bytes, size, &out, &holds, &err))
		promise(!memcmp(&after, &before, sizeof after), "what is refused changes nothing");
	else if (holds)
		promise(!isinf(out.value) && (!isnan(out.value) || out.status & FIELD_BAD),
			"a value is a number, or marked as none");
	promise(memchr(after.device.tag, 0, sizeof after.device.tag) && memchr(out.raw, 0, sizeof out.raw),
		"texts keep their lengths");
}

static bool sim_read(void *plant, const char *what, struct sim_value *out)
{
	*out = (struct sim_value){.value = what[0] == 'q' ? (double)NAN : 1.5, .unit = "mA"};
	(void)plant;
	return true;
}

static void to_device(sim_answer *device, const uint8_t *bytes, size_t size)
{
	struct sim_device d = {
		.tag = "T", .long_tag = "a tag", .unit = "bar", .hart_type = 0x264e, .hart_id = 0xd2, .read = sim_read};
	struct sim_session session = {.open = true};
	uint8_t out[SIM_MESSAGE];
	size_t n;
	long taken = device(&d, &session, bytes, size, out, sizeof out, &n);

	promise(taken >= -1 && taken <= (long)size, "a device takes no more than there is");
	promise(n <= sizeof out, "a device's answer keeps its length");
}

void fuzz_hart(const char *text, size_t size)
{
	const uint8_t *bytes = (const uint8_t *)text;
	struct hart_frame f;
	struct hart_ip_head head;
	size_t taken;

	if (hart_parse(bytes, size, &f, &taken) == HART_OK) {
		promise(taken <= size, "a frame is no longer than what was given");
		frame_understood(&f, bytes, size);
	}
	if (hart_ip_head_parse(bytes, size, &head)) {
		promise(head.length >= HART_IP_HEAD && head.length <= HART_IP_MAX, "a message keeps its bounds");
		if (hart_parse(bytes + HART_IP_HEAD, size - HART_IP_HEAD, &f, &taken) == HART_OK)
			frame_understood(&f, bytes + HART_IP_HEAD, size - HART_IP_HEAD);
	}
	as_line(bytes, size);
	in_lots(bytes, size, size > 0 ? 1 + bytes[0] % 64 : 1);
	as_pushed(bytes, size);
	to_device(sim_hart_ip_answer, bytes, size);
	to_device(sim_hart_answer, bytes, size);
}
