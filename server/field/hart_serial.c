/*
 * HART over a serial modem: 1200 baud, 8 data bits, odd parity, 1 stop bit (public application notes), half duplex. RTS is on
 * while we send: many modems switch their transmitter by it. Some give our own bytes back; those are requests, so they are
 * passed over like frames of the other master.
 */
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "hart.h"
#include "hart_line.h"
#include "serial.h"
#include "wire.h"

/* A device begins its answer within 28 characters, 256 ms (from memory); the rest is what USB adds. The gap inside a frame
 * stays below one character on the line, but adapters hand bytes over in lots. */
enum { ANSWER_CHARACTERS = 28, ADAPTER_MS = 100, GAP_MS = 60, BITS = 11, BAUD_MOST = 38400 };

/* Two masters share a line: one hears before it speaks, and longer when somebody has spoken (the rules of the token, from
 * memory: 8 characters leave the other its turn, after 33 a turn is over that nothing ends). */
enum { TURN_CHARACTERS = 8, SILENCE_CHARACTERS = 33 };

struct hart_serial {
	struct hart_state hart; /* first */
	int fd;			/* -1: none */
	int baud;
	struct hart_line line;
};

static enum status check_serial(const struct field_config *c, struct err *err)
{
	if (c->baud && (!serial_has_baud(c->baud) || c->baud > BAUD_MOST))
		return err_set(err, INVALID, "/baud", "a HART modem has 1200 baud (or 2400 to 38400)");
	if (c->parity && !strchr("NEO", c->parity))
		return err_set(err, INVALID, "/parity", "parity is N, E or O");
	return hart_check(c, err);
}

/* Modems without that wire, and pseudo terminals, do not mind. */
static void set_rts(int fd, bool on)
{
	int bit = TIOCM_RTS;

	ioctl(fd, on ? TIOCMBIS : TIOCMBIC, &bit);
}

static void hang_up(struct hart_serial *s)
{
	if (s->fd >= 0)
		close(s->fd);
	s->fd = -1;
	hart_line_clear(&s->line);
}

static enum status connect_serial(struct field_source *source, int64_t deadline, struct err *err)
{
	struct hart_serial *s = source->link;
	const struct field_config *c = &source->config;
	enum status rc;

	(void)deadline; /* nothing here waits */
	hang_up(s);
	rc = serial_open(&s->fd, c->device, s->baud, c->parity ? c->parity : 'O', false, err);
	if (!rc)
		set_rts(s->fd, false);
	return rc;
}

static int64_t characters_ms(const struct hart_serial *s, size_t n)
{
	return (int64_t)n * BITS * 1000 / s->baud + 1;
}

/* OK: the line is ours. */
static enum status take_turn(struct hart_serial *s, int64_t deadline, struct err *err)
{
	int64_t until = wire_now_ms() + characters_ms(s, TURN_CHARACTERS);

	hart_line_clear(&s->line);
	for (;;) {
		uint8_t bytes[256];
		size_t got, room = HART_LINE_MAX - s->line.size;

		if (wire_now_ms() >= deadline)
			return err_set(err, BUSY, "/device", "others keep the line busy");
		if (wire_wait(s->fd, POLLIN, until < deadline ? until : deadline) != 1)
			break;
		if (wire_receive(s->fd, bytes, room < sizeof bytes ? room : sizeof bytes, &got, deadline, err))
			return err_set(err, BUSY, "/device", "the line is gone");
		hart_line_add(&s->line, bytes, got);
		if (hart_line_turn(&s->line))
			break;
		until = wire_now_ms() + characters_ms(s, SILENCE_CHARACTERS);
	}
	hart_line_clear(&s->line);
	return OK;
}

/* RTS goes off only when the last bit has left: what the driver holds is asked, what the adapter holds is reckoned. */
static void wait_until_sent(const struct hart_serial *s, int64_t begun, size_t size, int64_t deadline)
{
	int64_t end = begun + characters_ms(s, size);

	while (wire_now_ms() < deadline) {
		int waiting = 0;

		if (wire_now_ms() >= end && (ioctl(s->fd, TIOCOUTQ, &waiting) || waiting == 0))
			return;
		poll(NULL, 0, 1);
	}
}

static enum status transmit(struct field_source *source, const uint8_t *request, size_t size, int64_t deadline,
			    struct err *err)
{
	struct hart_serial *s = source->link;
	uint8_t bytes[HART_PREAMBLES_MAX + HART_FRAME_MAX];
	size_t preambles = hart_preambles(s->hart.device.preambles);
	enum status rc = take_turn(s, deadline, err);
	int64_t begun;

	if (rc)
		return rc;
	memset(bytes, 0xff, preambles);
	memcpy(bytes + preambles, request, size);
	begun = wire_now_ms();
	set_rts(s->fd, true);
	rc = wire_send(s->fd, bytes, preambles + size, deadline, err);
	if (!rc)
		wait_until_sent(s, begun, preambles + size, deadline);
	set_rts(s->fd, false);
	return rc;
}

/* Reads until the answer is there or the line is quiet. BUSY: another try may help. */
static enum status listen_once(struct hart_serial *s, const struct hart_frame *asked, struct hart_frame *frame,
			       int64_t deadline, struct err *err)
{
	int64_t quiet = wire_now_ms() + characters_ms(s, ANSWER_CHARACTERS) + ADAPTER_MS;

	for (;;) {
		int64_t until = quiet < deadline ? quiet : deadline;
		uint8_t bytes[256];
		size_t got, room = HART_LINE_MAX - s->line.size;

		/* A line that never stops must not hold us beyond the time. */
		if (wire_now_ms() >= until || wire_wait(s->fd, POLLIN, until) != 1)
			break;
		if (wire_receive(s->fd, bytes, room < sizeof bytes ? room : sizeof bytes, &got, until, err))
			return BUSY;
		hart_line_add(&s->line, bytes, got);
		if (hart_line_answer(&s->line, asked, false, frame))
			return OK;
		if (wire_now_ms() + GAP_MS > quiet)
			quiet = wire_now_ms() + GAP_MS;
	}
	if (hart_line_answer(&s->line, asked, true, frame))
		return OK;
	return err_set(err, BUSY, NULL, "no answer within the time");
}

static enum status exchange_serial(struct field_source *source, const uint8_t *request, size_t size, uint8_t *answer,
				   size_t *answer_size, int64_t deadline, struct err *err)
{
	struct hart_serial *s = source->link;
	struct hart_frame asked, frame;
	enum status rc = BUSY;
	uint8_t bytes[HART_FRAME_MAX];
	size_t taken;

	if (hart_parse(request, size, &asked, &taken))
		return err_set(err, FAILED, NULL, "the request is no HART frame");
	while (rc == BUSY && wire_now_ms() < deadline) {
		rc = transmit(source, request, size, deadline, err);
		if (rc)
			return rc;
		rc = listen_once(s, &asked, &frame, deadline, err);
		if (rc && wire_wait(s->fd, POLLIN, 0) < 0)
			return err_set(err, BUSY, "/device", "the line is gone");
	}
	if (rc)
		return rc;
	/* Written anew from its parts, without preambles and expansion bytes. */
	*answer_size = hart_answer(bytes, sizeof bytes, &frame);
	memcpy(answer, bytes, *answer_size);
	return *answer_size ? OK : err_set(err, FAILED, NULL, "the answer is too long");
}

static void close_serial(struct field_source *source)
{
	hang_up(source->link);
	free(source->link);
	source->link = NULL;
}

static enum status open_serial(struct field_source *source, struct err *err)
{
	static const struct hart_way way = {connect_serial, exchange_serial, NULL, "HART modem"};
	struct hart_serial *s = calloc(1, sizeof *s);
	enum status rc;

	if (!s)
		return err_set(err, NO_MEMORY, NULL, "no memory for a source");
	s->hart.way = &way;
	s->fd = -1;
	s->baud = source->config.baud ? source->config.baud : 1200;
	source->link = s;
	rc = hart_open(source, err);
	if (rc)
		close_serial(source);
	return rc;
}

const struct field_driver field_hart_serial = {
	.timeout_ms = 3000,
	.check = check_serial,
	.open = open_serial,
	.read = hart_read,
	.identify = hart_identify,
	.close = close_serial,
};
