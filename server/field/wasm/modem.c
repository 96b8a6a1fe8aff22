#include "modem.h"

#include "field/hart_data.h"
#include "field/hart_line.h"

_Static_assert(MODEM_BUFFER >= HART_PREAMBLES_MAX + HART_FRAME_MAX, "a request fits");

static struct {
	uint8_t buffer[MODEM_BUFFER];
	struct hart_line line;
	struct hart_address address;
	struct hart_device device;
	struct hart_frame asked;
	uint8_t answer[HART_FRAME_MAX];
	size_t answer_size;
} m;

int modem_version(void)
{
	return MODEM_VERSION;
}

uint8_t *modem_buffer(void)
{
	return m.buffer;
}

void modem_begin(int poll)
{
	m.device = (struct hart_device){0};
	m.address = (struct hart_address){.poll = (uint8_t)(poll & 0x3f), .primary = true};
	m.answer_size = 0;
	hart_line_clear(&m.line);
}

int modem_request(int command, int n)
{
	uint8_t frame[HART_FRAME_MAX];
	size_t preambles = hart_preambles(m.device.preambles), size = 0;

	if (command >= 0 && command <= 255 && n >= 0 && n <= 8)
		size = hart_request(frame, sizeof frame, &m.address, (uint8_t)command, m.buffer, (size_t)n);
	if (!size)
		return 0;
	m.asked = (struct hart_frame){.address = m.address, .command = (uint8_t)command};
	m.answer_size = 0;
	hart_line_clear(&m.line);
	for (size_t i = 0; i < preambles; i++)
		m.buffer[i] = 0xff;
	for (size_t i = 0; i < size; i++)
		m.buffer[preambles + i] = frame[i];
	return (int)(preambles + size);
}

void modem_take(int n)
{
	if (n > 0 && n <= MODEM_BUFFER)
		hart_line_add(&m.line, m.buffer, (size_t)n);
}

/* Written anew from its parts, without preambles and expansion bytes, as over a line of the server's own. */
int modem_answer(bool ended)
{
	struct hart_frame frame;

	m.answer_size = 0;
	if (!hart_line_answer(&m.line, &m.asked, ended, &frame))
		return 0;
	m.answer_size = hart_answer(m.answer, sizeof m.answer, &frame);
	for (size_t i = 0; i < m.answer_size; i++)
		m.buffer[i] = m.answer[i];
	return (int)m.answer_size;
}

static bool last_answer(struct hart_frame *out)
{
	size_t taken;

	return m.answer_size > 0 && hart_parse(m.answer, m.answer_size, out, &taken) == HART_OK;
}

int modem_code(void)
{
	struct hart_frame frame;

	return last_answer(&frame) ? frame.code : -1;
}

bool modem_learn(void)
{
	struct hart_frame frame;
	struct hart_data data;

	if (!last_answer(&frame) || frame.command != 0 || !hart_decode(&frame, &data))
		return false;
	m.device = data.device;
	m.address = (struct hart_address){.is_long = true,
					  .primary = true,
					  .device_type = data.device.type & 0x3fff,
					  .device_id = data.device.id};
	return true;
}

int modem_universal(void)
{
	return m.device.universal;
}
