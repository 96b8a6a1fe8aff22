/* HART-IP version 1 over UDP and TCP. */
#include <errno.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "hart.h"
#include "wire.h"

enum { TIMER_MS = 30000, SENDINGS = 3 };

struct hart_ip {
	struct hart_state hart; /* first */
	int fd;			/* -1: none */
	bool tcp;
	struct wire_address device; /* as configured */
	struct wire_address peer;   /* UDP: where requests go; the first answer may move the port */
	uint16_t sequence;
	int64_t timer_ms; /* the device closes the session after so long without a message */
	int64_t used_ms;  /* last message */
	uint8_t bytes[HART_IP_MAX];
	size_t size; /* TCP: received */
	size_t used; /* of those, the messages looked at; they go at the next call */
};

/* A message that came: its head, and its body in the buffer of the source. */
struct message {
	struct hart_ip_head head;
	const uint8_t *body;
	size_t size;
};

static size_t make(struct hart_ip *ip, uint8_t out[HART_IP_HEAD + HART_FRAME_MAX], enum hart_ip_id id,
		   const uint8_t *body, size_t size)
{
	struct hart_ip_head head = {
		.version = 1, .id = (uint8_t)id, .sequence = ip->sequence, .length = (uint16_t)(HART_IP_HEAD + size)};

	hart_ip_head_write(out, &head);
	if (size > 0)
		memcpy(out + HART_IP_HEAD, body, size);
	return HART_IP_HEAD + size;
}

static enum status transmit(struct hart_ip *ip, const uint8_t *bytes, size_t size, int64_t deadline, struct err *err)
{
	if (ip->tcp)
		return wire_send(ip->fd, bytes, size, deadline, err);
	if (sendto(ip->fd, bytes, size, MSG_NOSIGNAL, (const struct sockaddr *)&ip->peer.address, ip->peer.size) < 0)
		return err_set(err, BUSY, NULL, "not reached: %s", strerror(errno));
	return OK;
}

static bool is_same_host(const struct sockaddr_storage *a, const struct sockaddr_storage *b, bool port_too)
{
	if (a->ss_family != b->ss_family)
		return false;
	if (a->ss_family == AF_INET6) {
		const struct sockaddr_in6 *x = (const void *)a, *y = (const void *)b;

		return !memcmp(&x->sin6_addr, &y->sin6_addr, sizeof x->sin6_addr) &&
		       (!port_too || x->sin6_port == y->sin6_port);
	}
	{
		const struct sockaddr_in *x = (const void *)a, *y = (const void *)b;

		return x->sin_addr.s_addr == y->sin_addr.s_addr && (!port_too || x->sin_port == y->sin_port);
	}
}

/*
 * One datagram, one message. Another port of the same host is followed when it answers the session's start, since a device
 * may take that at its public port and go on at another; later, what comes from elsewhere is not for us.
 */
static enum status receive_datagram(struct hart_ip *ip, bool starting, struct message *out, int64_t deadline,
				    struct err *err)
{
	for (;;) {
		struct wire_address from = {.size = sizeof from.address};
		ssize_t n;

		/* The clock is asked as well: a flood of datagrams that make no sense always leaves one to read. */
		if (wire_now_ms() >= deadline || wire_wait(ip->fd, POLLIN, deadline) != 1)
			return err_set(err, BUSY, NULL, "no answer within the time");
		n = recvfrom(ip->fd, ip->bytes, sizeof ip->bytes, MSG_TRUNC, (struct sockaddr *)&from.address,
			     &from.size);
		if (n < 0 && errno != EAGAIN && errno != EINTR)
			return err_set(err, BUSY, NULL, "not reached: %s", strerror(errno));
		if (n < 0 || (size_t)n > sizeof ip->bytes || !hart_ip_head_parse(ip->bytes, (size_t)n, &out->head) ||
		    out->head.length != n || !is_same_host(&from.address, &ip->peer.address, !starting))
			continue;
		if (starting && out->head.sequence == ip->sequence && out->head.type == HART_IP_RESPONSE)
			ip->peer = from;
		out->body = ip->bytes + HART_IP_HEAD;
		out->size = (size_t)n - HART_IP_HEAD;
		return OK;
	}
}

/* The stream is cut into messages; those behind the first wait in the buffer for the next call. */
static enum status receive_stream(struct hart_ip *ip, struct message *out, int64_t deadline, struct err *err)
{
	memmove(ip->bytes, ip->bytes + ip->used, ip->size - ip->used);
	ip->size -= ip->used;
	ip->used = 0;
	for (;;) {
		enum status rc;
		size_t got;

		if (ip->size >= HART_IP_HEAD) {
			if (!hart_ip_head_parse(ip->bytes, ip->size, &out->head))
				return err_set(err, FAILED, NULL, "the answer is no HART-IP message");
			if (ip->size >= out->head.length)
				break;
		}
		rc = wire_receive(ip->fd, ip->bytes + ip->size, sizeof ip->bytes - ip->size, &got, deadline, err);
		if (rc)
			return rc;
		ip->size += got;
	}
	out->body = ip->bytes + HART_IP_HEAD;
	out->size = (size_t)out->head.length - HART_IP_HEAD;
	ip->used = out->head.length;
	return OK;
}

/* The message that answers the latest sent; burst messages, and late answers to earlier ones, are passed over. */
static enum status receive(struct hart_ip *ip, enum hart_ip_id id, struct message *out, int64_t deadline,
			   struct err *err)
{
	enum status rc;

	*out = (struct message){0};
	for (;;) {
		/* Else a device that never stops sending would hold us beyond the time. */
		if (wire_now_ms() >= deadline)
			return err_set(err, BUSY, NULL, "no answer within the time");
		rc = ip->tcp ? receive_stream(ip, out, deadline, err) :
			       receive_datagram(ip, id == HART_IP_INITIATE, out, deadline, err);
		if (rc)
			return rc;
		if (out->head.sequence == ip->sequence && out->head.type != HART_IP_PUBLISH &&
		    out->head.type != HART_IP_REQUEST)
			break;
	}
	if (out->head.type != HART_IP_RESPONSE)
		return err_set(err, FAILED, NULL, "it refuses the message (status %d)", out->head.status);
	if (out->head.version != 1)
		return err_set(err, FAILED, NULL, "it speaks HART-IP version %d, not 1", out->head.version);
	if (out->head.id != id)
		return err_set(err, FAILED, NULL, "the answer is to something else");
	if (hart_ip_refusal(out->head.status))
		return err_set(err, FAILED, NULL, "%s (status %d)", hart_ip_refusal(out->head.status),
			       out->head.status);
	return OK;
}

/* A datagram may be lost either way; asking again with the same number changes nothing, since all we send are queries. */
static enum status converse(struct hart_ip *ip, enum hart_ip_id id, const uint8_t *body, size_t size,
			    struct message *out, int64_t deadline, struct err *err)
{
	uint8_t bytes[HART_IP_HEAD + HART_FRAME_MAX];
	int64_t begun = wire_now_ms();
	enum status rc = OK;
	size_t length;

	ip->sequence++;
	length = make(ip, bytes, id, body, size);
	for (int i = 1; i <= SENDINGS; i++) {
		int64_t until = ip->tcp ? deadline : begun + (deadline - begun) * i / SENDINGS;

		rc = transmit(ip, bytes, length, until, err);
		if (!rc)
			rc = receive(ip, id, out, until, err);
		if (rc != BUSY || ip->tcp)
			break;
	}
	if (!rc)
		ip->used_ms = wire_now_ms();
	return rc;
}

static void hang_up(struct hart_ip *ip)
{
	uint8_t bytes[HART_IP_HEAD + HART_FRAME_MAX];

	if (ip->fd < 0)
		return;
	/* So that the device has a session free again; nobody waits for the answer. */
	ip->sequence++;
	transmit(ip, bytes, make(ip, bytes, HART_IP_CLOSE, NULL, 0), wire_now_ms(), &(struct err){0});
	close(ip->fd);
	ip->fd = -1;
	ip->size = ip->used = 0;
}

static enum status start_session(struct hart_ip *ip, int64_t deadline, struct err *err)
{
	static const uint8_t body[5] = {1, 0, 0, TIMER_MS >> 8, TIMER_MS & 0xff}; /* primary master; timer in ms */
	struct message answer = {0};
	enum status rc = converse(ip, HART_IP_INITIATE, body, sizeof body, &answer, deadline, err);
	const uint8_t *p = answer.body;

	if (rc)
		return rc;
	if (answer.size < 5)
		return err_set(err, FAILED, NULL, "the answer to the session's start is too short");
	ip->timer_ms = (int64_t)p[1] << 24 | (int64_t)p[2] << 16 | (int64_t)p[3] << 8 | p[4];
	if (ip->timer_ms <= 0)
		ip->timer_ms = TIMER_MS;
	return OK;
}

static enum status connect_ip(struct field_source *source, int64_t deadline, struct err *err)
{
	struct hart_ip *ip = source->link;
	enum status rc = OK;

	hang_up(ip);
	ip->peer = ip->device;
	if (ip->tcp) {
		rc = wire_connect(&ip->fd, &ip->device, deadline, err);
	} else {
		/* Not connected: answers may come from another port. */
		ip->fd = socket(ip->device.address.ss_family, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
		if (ip->fd < 0)
			rc = err_set(err, BUSY, NULL, "no socket: %s", strerror(errno));
	}
	return rc ? rc : start_session(ip, deadline, err);
}

static enum status exchange_ip(struct field_source *source, const uint8_t *request, size_t size, uint8_t *answer,
			       size_t *answer_size, int64_t deadline, struct err *err)
{
	struct hart_ip *ip = source->link;
	struct hart_frame asked, frame;
	struct message message = {0};
	size_t taken;
	enum status rc = converse(ip, HART_IP_PDU, request, size, &message, deadline, err);

	if (rc)
		return rc;
	if (hart_parse(message.body, message.size, &frame, &taken) || taken != message.size)
		return err_set(err, FAILED, NULL, "the answer is no sound HART frame");
	if (hart_parse(request, size, &asked, &taken) || !hart_answers(&asked.address, asked.command, &frame))
		return err_set(err, FAILED, NULL, "the answer is from another device or to another command");
	memcpy(answer, message.body, message.size);
	*answer_size = message.size;
	return OK;
}

static bool is_stale(struct field_source *source)
{
	const struct hart_ip *ip = source->link;

	return wire_now_ms() - ip->used_ms > ip->timer_ms * 9 / 10;
}

static enum status keep_ip(struct field_source *source, struct err *err)
{
	struct hart_ip *ip = source->link;
	struct message answer = {0};
	enum status rc;

	if (!ip->hart.up || is_stale(source) || wire_now_ms() - ip->used_ms < ip->timer_ms / 3)
		return OK;
	rc = converse(ip, HART_IP_KEEP_ALIVE, NULL, 0, &answer, wire_now_ms() + source->config.timeout_ms, err);
	if (rc)
		ip->hart.up = false;
	return hart_named(source, rc, err);
}

static void close_ip(struct field_source *source)
{
	struct hart_ip *ip = source->link;

	hang_up(ip);
	free(ip);
	source->link = NULL;
}

static enum status open_ip(struct field_source *source, struct err *err)
{
	static const struct hart_way way = {connect_ip, exchange_ip, is_stale, "HART-IP device"};
	const struct field_config *c = &source->config;
	struct hart_ip *ip = calloc(1, sizeof *ip);
	enum status rc;

	if (!ip)
		return err_set(err, NO_MEMORY, NULL, "no memory for a source");
	ip->hart.way = &way;
	ip->fd = -1;
	ip->tcp = c->protocol == FIELD_HART_IP_TCP;
	source->link = ip;
	rc = wire_resolve(&ip->device, c->host, c->port, ip->tcp ? SOCK_STREAM : SOCK_DGRAM, err);
	if (!rc)
		rc = hart_open(source, err);
	if (rc)
		close_ip(source);
	return rc;
}

const struct field_driver field_hart_ip = {
	.port = 5094,
	.check = hart_check,
	.open = open_ip,
	.read = hart_read,
	.identify = hart_identify,
	.keep = keep_ip,
	.close = close_ip,
};
