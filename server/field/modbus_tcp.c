/* Modbus over TCP (the usual port is 502). One question at a time; its transaction number tells a late answer from the right one. */
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "modbus.h"
#include "wire.h"

struct modbus_tcp {
	struct modbus_link link; /* first */
	struct wire_address to;
	int fd;	     /* -1: not connected */
	bool asking; /* who is there, on a new connection */
	uint16_t transaction;
	uint8_t bytes[2 * MODBUS_FRAME_MAX];
	size_t size;
};

static void hang_up(struct modbus_tcp *t)
{
	if (t->fd >= 0)
		close(t->fd);
	t->fd = -1;
	t->size = 0;
}

static enum status receive(struct modbus_tcp *t, struct modbus_message *out, int64_t deadline, struct err *err)
{
	for (;;) {
		size_t taken, got;
		enum modbus_result r = modbus_tcp_parse(t->bytes, t->size, out, &taken);
		enum status rc;

		if (r == MODBUS_BROKEN)
			return err_set(err, FAILED, NULL, "the answer is no Modbus message");
		if (r == MODBUS_WHOLE) {
			t->size -= taken;
			memmove(t->bytes, t->bytes + taken, t->size);
			return OK;
		}
		rc = wire_receive(t->fd, t->bytes + t->size, sizeof t->bytes - t->size, &got, deadline, err);
		if (rc)
			return rc;
		t->size += got;
	}
}

/* The answer to the question just sent; those to earlier ones are passed over. */
static enum status receive_answer(struct field_source *source, const struct modbus_pdu *question,
				  struct modbus_pdu *answer, int64_t deadline, struct err *err)
{
	struct modbus_tcp *t = source->link;
	struct modbus_message m = {0};
	const char *fault;

	do {
		/* Else a device that never stops sending would hold us beyond the time. */
		enum status rc = wire_now_ms() >= deadline ? err_set(err, BUSY, NULL, "no answer within the time") :
							     receive(t, &m, deadline, err);

		if (rc)
			return rc;
	} while (m.transaction != t->transaction);
	if (m.unit != source->config.address)
		return err_set(err, FAILED, NULL, "unit %d answers instead", m.unit);
	fault = modbus_answer_fault(question, &m.pdu);
	if (fault)
		return err_set(err, FAILED, NULL, "%s", fault);
	*answer = m.pdu;
	return OK;
}

/* An address may have become another device's while the connection was broken. */
static enum status connected(struct field_source *source, int64_t deadline, struct err *err)
{
	struct modbus_tcp *t = source->link;
	enum status rc;

	if (t->fd >= 0)
		return OK;
	if (t->asking)
		return err_set(err, BUSY, NULL, "the connection broke");
	rc = wire_connect(&t->fd, &t->to, deadline, err);
	if (rc)
		return rc;
	t->asking = true;
	rc = modbus_same_device(source, err);
	t->asking = false;
	if (rc)
		hang_up(t);
	return rc;
}

static enum status once(struct field_source *source, const struct modbus_pdu *question, struct modbus_pdu *answer,
			int64_t deadline, struct err *err)
{
	struct modbus_tcp *t = source->link;
	uint8_t bytes[MODBUS_FRAME_MAX];
	enum status rc = connected(source, deadline, err);

	if (rc)
		return rc;
	rc = wire_send(t->fd, bytes, modbus_tcp_frame(bytes, ++t->transaction, source->config.address, question),
		       deadline, err);
	if (!rc)
		rc = receive_answer(source, question, answer, deadline, err);
	if (rc)
		hang_up(t);
	return rc;
}

/* The connection may have ended while nothing was asked: once more on a new one. To write the same again does no harm. */
static enum status exchange(struct field_source *source, const struct modbus_pdu *question, struct modbus_pdu *answer,
			    int64_t deadline, struct err *err)
{
	const struct modbus_tcp *t = source->link;
	bool fresh = t->fd < 0;
	enum status rc = once(source, question, answer, deadline, err);

	if (rc == BUSY && !fresh && wire_now_ms() < deadline)
		rc = once(source, question, answer, deadline, err);
	return rc;
}

static void close_tcp(struct field_source *source)
{
	hang_up(source->link);
	free(source->link);
	source->link = NULL;
}

static enum status open_tcp(struct field_source *source, struct err *err)
{
	static const struct modbus_way way = {.exchange = exchange};
	const struct field_config *c = &source->config;
	struct modbus_tcp *t = calloc(1, sizeof *t);
	enum status rc;

	if (!t)
		return err_set(err, NO_MEMORY, NULL, "no memory for a source");
	t->link.way = &way;
	t->fd = -1;
	source->link = t;
	rc = wire_resolve(&t->to, c->host, c->port, SOCK_STREAM, err);
	if (!rc)
		rc = wire_connect(&t->fd, &t->to, wire_now_ms() + c->timeout_ms, err);
	if (rc) {
		modbus_named(source, rc, err);
		close_tcp(source);
	}
	return rc;
}

const struct field_driver field_modbus_tcp = {
	.port = 502,
	.check = modbus_check,
	.open = open_tcp,
	.read = modbus_read,
	.identify = modbus_identify,
	.drive = modbus_drive,
	.close = close_tcp,
};
