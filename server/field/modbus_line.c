/*
 * Modbus on a serial line (RTU). Several devices share a line, so the line is one for the whole program, however many sources
 * read from it: a source holds it over its exchange, the others wait for their turn within their time. The protocol numbers
 * nothing; what may still come late is heard out before the next question.
 */
#include <errno.h>
#include <limits.h>
#include <poll.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "modbus.h"
#include "serial.h"
#include "wire.h"

/* Start, eight data bits, parity or a second stop bit, stop. USB adapters hand bytes over in lots. */
enum { BITS = 11, ADAPTER_MS = 50, TRIES = 3, BAUD = 9600 };

struct line {
	struct line *next;
	int users; /* under lines_lock, as next */
	char path[PATH_MAX];
	int baud;
	char parity;

	pthread_mutex_t lock; /* of taken */
	pthread_cond_t free;
	bool taken;	 /* whoever has the line has all below */
	int fd;		 /* -1: not open */
	bool echoes;	 /* gives our own bytes back */
	int64_t late_ms; /* an answer that did not come in time may come until then */
	uint8_t bytes[2 * MODBUS_FRAME_MAX + 64];
	size_t size;
};

struct modbus_rtu {
	struct modbus_link link; /* first */
	struct line *line;
};

static struct line *line_of(const struct field_source *source)
{
	const struct modbus_rtu *r = source->link;

	return r->line;
}

static struct line *lines;
static pthread_mutex_t lines_lock = PTHREAD_MUTEX_INITIALIZER;

/* ---- lines ---- */

static struct line *new_line(const char *path, int baud, char parity)
{
	struct line *l = calloc(1, sizeof *l);
	pthread_condattr_t attr;

	if (!l)
		return NULL;
	pthread_condattr_init(&attr);
	pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
	pthread_cond_init(&l->free, &attr);
	pthread_condattr_destroy(&attr);
	snprintf(l->path, sizeof l->path, "%s", path);
	l->baud = baud;
	l->parity = parity;
	l->fd = -1;
	pthread_mutex_init(&l->lock, NULL);
	l->next = lines;
	lines = l;
	return l;
}

static struct line *find_line(const char *path)
{
	struct line *l = lines;

	while (l && strcmp(l->path, path) != 0)
		l = l->next;
	return l;
}

/* By its own name: /dev/serial/by-id/… leads to the same line as /dev/ttyUSB0. */
static enum status take_line(struct line **out, const char *device, int baud, char parity, struct err *err)
{
	char path[PATH_MAX];
	enum status rc = OK;
	struct line *l;

	if (!realpath(device, path))
		return err_set(err, BUSY, "/device", "there is no such serial line");
	pthread_mutex_lock(&lines_lock);
	l = find_line(path);
	if (l && (l->baud != baud || l->parity != parity))
		rc = err_set(err, INVALID, l->baud != baud ? "/baud" : "/parity",
			     "another source reads this line with %d baud and parity %c", l->baud, l->parity);
	else if (!l)
		l = new_line(path, baud, parity);
	if (!rc && !l)
		rc = err_set(err, NO_MEMORY, NULL, "no memory for a source");
	if (!rc)
		l->users++;
	pthread_mutex_unlock(&lines_lock);
	*out = rc ? NULL : l;
	return rc;
}

static void hang_up(struct line *l)
{
	if (l->fd >= 0)
		close(l->fd);
	l->fd = -1;
	l->size = 0;
}

static void leave_line(struct line *gone)
{
	struct line **at = &lines;

	pthread_mutex_lock(&lines_lock);
	if (--gone->users == 0) {
		while (*at != gone)
			at = &(*at)->next;
		*at = gone->next;
		hang_up(gone);
		pthread_cond_destroy(&gone->free);
		pthread_mutex_destroy(&gone->lock);
		free(gone);
	}
	pthread_mutex_unlock(&lines_lock);
}

/* False: others had it until the deadline. */
static bool take_turn(struct line *l, int64_t deadline)
{
	struct timespec until = {deadline / 1000, deadline % 1000 * 1000000};
	bool ours;

	pthread_mutex_lock(&l->lock);
	while (l->taken && pthread_cond_timedwait(&l->free, &l->lock, &until) != ETIMEDOUT)
		;
	ours = !l->taken;
	l->taken = true;
	pthread_mutex_unlock(&l->lock);
	return ours;
}

static void end_turn(struct line *l)
{
	pthread_mutex_lock(&l->lock);
	l->taken = false;
	pthread_cond_signal(&l->free);
	pthread_mutex_unlock(&l->lock);
}

/* ---- one exchange, the line being ours ---- */

/* The silence between two messages: 3.5 characters. */
static int silence_ms(const struct line *l)
{
	return 35 * BITS * 100 / l->baud + 2;
}

static enum status receive(struct line *l, int64_t deadline, struct err *err)
{
	size_t got;
	enum status rc;

	/* Noise without an end: what is old makes room. */
	if (l->size == sizeof l->bytes) {
		l->size = MODBUS_FRAME_MAX;
		memmove(l->bytes, l->bytes + sizeof l->bytes - l->size, l->size);
	}
	rc = wire_receive(l->fd, l->bytes + l->size, sizeof l->bytes - l->size, &got, deadline, err);
	if (!rc)
		l->size += got;
	return rc;
}

/* Listens until nobody has spoken for the silence between messages, after a question without answer longer. */
static enum status wait_for_silence(struct line *l, int64_t deadline, struct err *err)
{
	int64_t now = wire_now_ms(), late = l->late_ms, half = now + (deadline - now) / 2;
	int64_t until = now + silence_ms(l);

	if (late > half)
		late = half;
	if (until < late)
		until = late;
	while (wire_wait(l->fd, POLLIN, until) == 1) {
		enum status rc = receive(l, until, err);

		if (rc)
			return rc;
		l->size = 0;
		now = wire_now_ms();
		if (now >= deadline)
			return err_set(err, BUSY, "/device", "the line is never silent");
		until = now + silence_ms(l) > late ? now + silence_ms(l) : late;
	}
	l->late_ms = 0;
	return OK;
}

/* Our own bytes, where the line gives them back; the answer to function 6 looks the same, so only a reading can tell. */
static void drop_echo(struct line *l, const struct modbus_pdu *question, const uint8_t *sent, size_t size)
{
	if (memcmp(l->bytes, sent, size) != 0)
		return;
	if (question->bytes[0] != MODBUS_WRITE_ONE)
		l->echoes = true;
	if (!l->echoes)
		return;
	l->size -= size;
	memmove(l->bytes, l->bytes + size, l->size);
}

/* BUSY: *damaged says whether something came that was no answer. */
static enum status listen_once(struct field_source *source, const struct modbus_pdu *question, const uint8_t *sent,
			       size_t sent_size, struct modbus_pdu *answer, bool *damaged, int64_t deadline,
			       struct err *err)
{
	struct line *l = line_of(source);
	bool looked = false;
	struct modbus_message m;
	const char *fault;

	do {
		int64_t gap = wire_now_ms() + silence_ms(l) + ADAPTER_MS;
		int64_t until = l->size > 0 && gap < deadline ? gap : deadline;

		*damaged = l->size > 0;
		/* A line that never stops must not hold us beyond the time. */
		if (wire_now_ms() >= deadline || wire_wait(l->fd, POLLIN, until) != 1)
			return err_set(err, BUSY, NULL,
				       *damaged ? "the answer is damaged" : "no answer within the time");
		*damaged = false;
		if (receive(l, until, err))
			return BUSY;
		if (!looked && l->size >= sent_size) {
			drop_echo(l, question, sent, sent_size);
			looked = true;
		}
	} while (modbus_rtu_find(l->bytes, l->size, source->config.address, question->bytes[0], &m) != MODBUS_WHOLE);
	fault = modbus_answer_fault(question, &m.pdu);
	*answer = m.pdu;
	return fault ? err_set(err, FAILED, NULL, "%s", fault) : OK;
}

static enum status once(struct field_source *source, const struct modbus_pdu *question, struct modbus_pdu *answer,
			bool *damaged, int64_t deadline, struct err *err)
{
	struct line *l = line_of(source);
	uint8_t bytes[MODBUS_FRAME_MAX];
	size_t size = modbus_rtu_frame(bytes, source->config.address, question);
	enum status rc = wait_for_silence(l, deadline, err);

	*damaged = false;
	l->size = 0;
	if (!rc && wire_now_ms() >= deadline)
		rc = err_set(err, BUSY, NULL, "no answer within the time");
	if (!rc)
		rc = wire_send(l->fd, bytes, size, deadline, err);
	return rc ? rc : listen_once(source, question, bytes, size, answer, damaged, deadline, err);
}

static enum status connected(const struct field_source *source, struct line *l, struct err *err)
{
	/* Without parity a second stop bit takes its place; a receiver that waits for one only does not mind. */
	return l->fd >= 0 ? OK : serial_open(&l->fd, source->config.device, l->baud, l->parity, l->parity == 'N', err);
}

/* A damaged answer is asked for again; what is sent reads, or writes the same once more. */
static enum status ask_line(struct field_source *source, const struct modbus_pdu *question, struct modbus_pdu *answer,
			    int64_t deadline, struct err *err)
{
	struct line *l = line_of(source);
	enum status rc = connected(source, l, err);
	bool damaged = !rc;
	int tries = 0;

	while (tries < TRIES && damaged) {
		rc = once(source, question, answer, &damaged, deadline, err);
		tries++;
	}
	if (rc != BUSY || damaged || l->fd < 0)
		return rc;
	if (tries > 1)
		err_set(err, BUSY, NULL, "the answer is damaged, and none comes when it is asked again");
	if (wire_now_ms() >= deadline)
		l->late_ms = wire_now_ms() + source->config.timeout_ms;
	else
		hang_up(l); /* the adapter was pulled out */
	return rc;
}

static enum status exchange(struct field_source *source, const struct modbus_pdu *question, struct modbus_pdu *answer,
			    int64_t deadline, struct err *err)
{
	struct line *l = line_of(source);
	enum status rc;

	if (!take_turn(l, deadline))
		return err_set(err, BUSY, "/device", "other sources keep the line busy");
	rc = ask_line(source, question, answer, deadline, err);
	end_turn(l);
	return rc;
}

/* ---- the driver ---- */

static enum status check_rtu(const struct field_config *c, struct err *err)
{
	if (c->baud && !serial_has_baud(c->baud))
		return err_set(err, INVALID, "/baud",
			       "one of 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200 baud");
	if (c->parity && !strchr("NEO", c->parity))
		return err_set(err, INVALID, "/parity", "parity is N, E or O");
	if (c->address == 0)
		return err_set(err, INVALID, "/address", "a unit on a line is 1 to 247; nobody answers to 0");
	return modbus_check(c, err);
}

static void close_rtu(struct field_source *source)
{
	struct modbus_rtu *r = source->link;

	if (r->line)
		leave_line(r->line);
	free(r);
	source->link = NULL;
}

static enum status open_rtu(struct field_source *source, struct err *err)
{
	static const struct modbus_way way = {.exchange = exchange, .may_echo = true};
	const struct field_config *c = &source->config;
	struct modbus_rtu *r = calloc(1, sizeof *r);
	enum status rc;

	if (!r)
		return err_set(err, NO_MEMORY, NULL, "no memory for a source");
	r->link.way = &way;
	source->link = r;
	rc = take_line(&r->line, c->device, c->baud ? c->baud : BAUD, c->parity ? c->parity : 'E', err);
	if (!rc && !take_turn(r->line, wire_now_ms() + c->timeout_ms)) {
		rc = err_set(err, BUSY, "/device", "other sources keep the line busy");
	} else if (!rc) {
		rc = connected(source, r->line, err);
		end_turn(r->line);
	}
	if (rc) {
		modbus_named(source, rc, err);
		close_rtu(source);
	}
	return rc;
}

const struct field_driver field_modbus_rtu = {
	.check = check_rtu,
	.open = open_rtu,
	.read = modbus_read,
	.identify = modbus_identify,
	.drive = modbus_drive,
	.close = close_rtu,
};
