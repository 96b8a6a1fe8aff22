#include "hart_line.h"

static void drop(struct hart_line *line, size_t size)
{
	line->size -= size;
	for (size_t i = 0; i < line->size; i++)
		line->bytes[i] = line->bytes[i + size];
}

/* No frame is that long. */
static void drop_preambles(struct hart_line *line)
{
	if (line->size == HART_LINE_MAX)
		drop(line, line->size - 2);
}

void hart_line_add(struct hart_line *line, const uint8_t *bytes, size_t size)
{
	for (size_t i = 0; i < size && line->size < HART_LINE_MAX; i++)
		line->bytes[line->size++] = bytes[i];
}

bool hart_line_answer(struct hart_line *line, const struct hart_frame *asked, bool ended, struct hart_frame *answer)
{
	for (;;) {
		size_t taken;
		enum hart_result rc = hart_find(line->bytes, line->size, ended, answer, &taken);

		if (rc == HART_OK && hart_answers(&asked->address, asked->command, answer))
			return true;
		drop(line, taken);
		if (rc == HART_OK)
			continue;
		drop_preambles(line);
		return false;
	}
}

bool hart_line_turn(struct hart_line *line)
{
	bool turn = false;

	for (;;) {
		struct hart_frame frame;
		size_t taken;
		enum hart_result rc = hart_find(line->bytes, line->size, false, &frame, &taken);

		drop(line, taken);
		if (rc == HART_OK) {
			turn = frame.type != HART_REQUEST;
			continue;
		}
		drop_preambles(line);
		return turn && line->size == 0;
	}
}

void hart_line_clear(struct hart_line *line)
{
	line->size = 0;
}

size_t hart_preambles(uint8_t wanted)
{
	if (wanted < HART_PREAMBLES)
		return HART_PREAMBLES;
	return wanted > HART_PREAMBLES_MAX ? HART_PREAMBLES_MAX : wanted;
}
