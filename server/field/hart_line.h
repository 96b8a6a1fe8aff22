/*
 * What comes in on a line with a HART modem: preambles, answers, bursts, another master's frames, our own bytes given back by
 * the modem, and noise between them. Pure like hart_frame.h, so that a browser hears as the server does.
 */
#ifndef FIELD_HART_LINE_H
#define FIELD_HART_LINE_H

#include "hart_frame.h"

#define HART_LINE_MAX 1024 /* more than any frame with its preambles */

/* Zero at its start. */
struct hart_line {
	uint8_t bytes[HART_LINE_MAX];
	size_t size;
};

/* What has come in; at most HART_LINE_MAX - line->size bytes, which is never 0 after hart_line_answer. */
void hart_line_add(struct hart_line *line, const uint8_t *bytes, size_t size);
/*
 * True: the answer to what was asked is there, and *answer is it, its data borrowed until the line is changed. Whatever stood
 * before it is dropped. ended: no more bytes come, see hart_find.
 */
bool hart_line_answer(struct hart_line *line, const struct hart_frame *asked, bool ended, struct hart_frame *answer);
/* True: what came last is a whole answer or burst, so that the next master may speak. What is understood is dropped. */
bool hart_line_turn(struct hart_line *line);
void hart_line_clear(struct hart_line *line);

/* How many preambles a request to a device has that wants so many. */
size_t hart_preambles(uint8_t wanted);

#endif
