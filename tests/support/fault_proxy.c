#include "support/fault_proxy.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#define QUEUE	256
#define MESSAGE 2048

enum side { CLIENT, DEVICE, STRANGER, SIDES };

/* What waits to be sent. */
struct late {
	bool used, behind_next, breaks;
	enum side to;
	unsigned generation; /* TCP: of the connection it belongs to */
	int64_t due_us;
	uint64_t order;
	size_t size;
	uint8_t bytes[MESSAGE];
};

struct fault_proxy {
	struct fault_plan plan;
	pthread_t thread;
	int stop, front, fd[SIDES]; /* -1: none. UDP: fd[CLIENT] is front */
	struct sockaddr_in client;
	bool strange; /* TCP: the next connection goes to the stranger */
	unsigned generation;
	uint64_t chance, order;
	unsigned done[FAULTS];
	struct late queue[QUEUE];
};

#ifdef __clang__
__attribute__((no_sanitize("integer")))
#endif
static uint64_t
draw(struct fault_proxy *p, uint64_t below)
{
	uint64_t z = p->chance += 0x9e3779b97f4a7c15u; /* splitmix64, public domain */

	z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
	z = (z ^ z >> 27) * 0x94d049bb133111ebu;
	return (z ^ z >> 31) % below;
}

static int64_t now_us(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (int64_t)t.tv_sec * 1000000 + t.tv_nsec / 1000;
}

static struct sockaddr_in loopback(int port)
{
	return (struct sockaddr_in){
		.sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr = {htonl(INADDR_LOOPBACK)}};
}

static int open_front(bool udp)
{
	struct sockaddr_in at = loopback(0);
	int fd = socket(AF_INET, udp ? SOCK_DGRAM : SOCK_STREAM, 0);

	if (fd >= 0 && !bind(fd, (struct sockaddr *)&at, sizeof at) && (udp || !listen(fd, 16)))
		return fd;
	return -1;
}

static int open_back(bool udp, int port)
{
	struct sockaddr_in to = loopback(port);
	int fd = socket(AF_INET, udp ? SOCK_DGRAM : SOCK_STREAM, 0), one = 1;

	if (udp)
		return fd; /* not connected: a device may answer from another port */
	setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
	if (!connect(fd, (struct sockaddr *)&to, sizeof to))
		return fd;
	close(fd);
	return -1;
}

static void hang_up(struct fault_proxy *p)
{
	for (int s = 0; s < SIDES; s++) {
		if (p->fd[s] >= 0)
			close(p->fd[s]);
		p->fd[s] = -1;
	}
	p->generation++;
}

static void pass(struct fault_proxy *p, enum side to, const uint8_t *bytes, size_t size)
{
	struct sockaddr_in at = to == CLIENT ? p->client :
					       loopback(to == STRANGER ? p->plan.stranger_port : p->plan.to_port);

	if (p->fd[to] < 0)
		return;
	if (p->plan.udp)
		sendto(p->fd[to], bytes, size, MSG_NOSIGNAL, (struct sockaddr *)&at, sizeof at);
	else
		send(p->fd[to], bytes, size, MSG_NOSIGNAL | MSG_DONTWAIT);
}

static struct late *queue(struct fault_proxy *p, enum side to, const uint8_t *bytes, size_t size, int64_t in_us)
{
	for (int i = 0; i < QUEUE; i++) {
		struct late *l = &p->queue[i];

		if (l->used)
			continue;
		*l = (struct late){.used = true,
				   .to = to,
				   .generation = p->generation,
				   .due_us = now_us() + in_us,
				   .order = p->order++,
				   .size = size};
		memcpy(l->bytes, bytes, size);
		return l;
	}
	return NULL; /* lost, as on a line that is too full */
}

static void send_late(struct fault_proxy *p, struct late *l)
{
	l->used = false;
	if (!p->plan.udp && l->generation != p->generation)
		return; /* its connection is no more */
	pass(p, l->to, l->bytes, l->size);
	if (l->breaks)
		hang_up(p);
}

/* All that is due, in its order; returns the ms until the next. */
static int send_due(struct fault_proxy *p)
{
	for (;;) {
		struct late *first = NULL;
		int64_t left;

		for (int i = 0; i < QUEUE; i++) {
			struct late *l = &p->queue[i];

			if (l->used && (!first || l->due_us < first->due_us ||
					(l->due_us == first->due_us && l->order < first->order)))
				first = l;
		}
		if (!first)
			return -1;
		left = first->due_us - now_us();
		if (left > 0)
			return (int)(left / 1000 + 1);
		send_late(p, first);
	}
}

/* TCP keeps its order: what comes behind something delayed waits for it. */
static int64_t after_those_before(struct fault_proxy *p, enum side to)
{
	int64_t latest = 0, now = now_us();

	for (int i = 0; i < QUEUE && !p->plan.udp; i++) {
		const struct late *l = &p->queue[i];

		if (l->used && l->to == to && l->generation == p->generation && l->due_us - now > latest)
			latest = l->due_us - now;
	}
	return latest;
}

static void dribble(struct fault_proxy *p, enum side to, const uint8_t *bytes, size_t size, int64_t from_us)
{
	for (size_t i = 0; i < size && i < 100; i++)
		queue(p, to, bytes + i, 1, from_us + (int64_t)i * 1000);
}

static enum fault choose(struct fault_proxy *p)
{
	unsigned at = (unsigned)draw(p, 1000);

	for (int f = FAULT_NONE + 1; f < FAULTS; f++) {
		if (at < p->plan.per_mille[f])
			return (enum fault)f;
		at -= p->plan.per_mille[f];
	}
	return FAULT_NONE;
}

static void break_off(struct fault_proxy *p, enum side to, const uint8_t *bytes, size_t size, int64_t wait)
{
	struct late *l = queue(p, to, bytes, size, wait);

	if (l)
		l->breaks = !p->plan.udp;
}

static void release_held(struct fault_proxy *p, enum side to)
{
	for (int i = 0; i < QUEUE; i++) {
		struct late *l = &p->queue[i];

		if (l->used && l->behind_next && l->to == to) {
			l->behind_next = false;
			l->due_us = now_us();
		}
	}
}

static void carry(struct fault_proxy *p, enum side to, uint8_t *bytes, size_t size)
{
	enum fault f = choose(p);
	int64_t wait = after_those_before(p, to), delay = (int64_t)draw(p, (uint64_t)p->plan.delay_ms * 1000 + 1);
	struct late *l;
	uint64_t at;

	if (to != DEVICE && f == FAULT_STRANGER)
		f = FAULT_NONE;
	p->done[f]++;
	switch (f) {
	case FAULT_DROP:
		if (!p->plan.udp)
			hang_up(p);
		return;
	case FAULT_REORDER:
		l = queue(p, to, bytes, size, wait + delay);
		if (l)
			l->behind_next = p->plan.udp;
		return;
	case FAULT_DELAY:
		queue(p, to, bytes, size, wait + delay);
		return;
	case FAULT_DUPLICATE:
		queue(p, to, bytes, size, wait);
		queue(p, to, bytes, size, wait + delay);
		break;
	case FAULT_CORRUPT:
		if (p->plan.corrupt_first > 0 && p->plan.corrupt_first < size)
			at = draw(p, p->plan.corrupt_first);
		else
			at = draw(p, size);
		bytes[at] ^= (uint8_t)(1 + draw(p, 255)) | p->plan.corrupt_bits;
		queue(p, to, bytes, size, wait);
		break;
	case FAULT_DRIBBLE:
		if (!p->plan.udp) {
			dribble(p, to, bytes, size, wait);
			return;
		}
		/* fall through */
	case FAULT_CUT:
		break_off(p, to, bytes, draw(p, size), wait);
		break;
	case FAULT_STRANGER:
		p->strange = true;
		if (p->plan.udp)
			queue(p, STRANGER, bytes, size, wait);
		else
			hang_up(p);
		return;
	default:
		queue(p, to, bytes, size, wait);
	}
	send_due(p);
	release_held(p, to);
}

static void accept_client(struct fault_proxy *p)
{
	int fd = accept(p->front, NULL, NULL), one = 1;

	if (fd < 0)
		return;
	hang_up(p); /* one client at a time: the old connection is the one it gave up */
	setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
	p->fd[CLIENT] = fd;
	p->fd[DEVICE] = open_back(false, p->strange ? p->plan.stranger_port : p->plan.to_port);
	p->strange = false;
	if (p->fd[DEVICE] < 0)
		hang_up(p);
}

static void hear(struct fault_proxy *p, enum side from)
{
	uint8_t bytes[MESSAGE];
	struct sockaddr_in who;
	socklen_t size = sizeof who;
	ssize_t got = recvfrom(p->fd[from], bytes, sizeof bytes, MSG_DONTWAIT, (struct sockaddr *)&who, &size);

	if (got < 0 && (errno == EAGAIN || errno == EINTR || p->plan.udp))
		return;
	if (got <= 0 && !p->plan.udp) {
		hang_up(p);
		return;
	}
	if (p->plan.udp && from == CLIENT)
		p->client = who;
	if (got > 0)
		carry(p, from == CLIENT ? DEVICE : CLIENT, bytes, (size_t)got);
}

static void *run(void *arg)
{
	struct fault_proxy *p = arg;

	for (;;) {
		int wait = send_due(p);
		struct pollfd fds[2 + SIDES] = {{.fd = p->stop, .events = POLLIN},
						{.fd = p->plan.udp ? -1 : p->front, .events = POLLIN}};
		unsigned generation = p->generation;

		for (int s = 0; s < SIDES; s++)
			fds[2 + s] = (struct pollfd){.fd = p->fd[s], .events = POLLIN};
		poll(fds, 2 + SIDES, wait);
		if (fds[0].revents)
			return NULL;
		for (int s = 0; s < SIDES && generation == p->generation; s++) {
			if (fds[2 + s].revents && p->fd[s] >= 0)
				hear(p, (enum side)s);
		}
		if (fds[1].revents)
			accept_client(p);
	}
}

struct fault_proxy *fault_proxy_start(const struct fault_plan *plan)
{
	struct fault_proxy *p = calloc(1, sizeof *p);

	if (!p)
		return NULL;
	p->plan = *plan;
	p->chance = plan->seed;
	p->stop = eventfd(0, 0);
	p->front = open_front(plan->udp);
	p->fd[CLIENT] = plan->udp ? p->front : -1;
	p->fd[DEVICE] = plan->udp ? open_back(true, 0) : -1;
	p->fd[STRANGER] = plan->udp ? open_back(true, 0) : -1;
	if (p->stop >= 0 && p->front >= 0 && !pthread_create(&p->thread, NULL, run, p))
		return p;
	hang_up(p);
	free(p);
	return NULL;
}

int fault_proxy_port(const struct fault_proxy *p)
{
	struct sockaddr_in at = {0};
	socklen_t size = sizeof at;

	getsockname(p->front, (struct sockaddr *)&at, &size);
	return ntohs(at.sin_port);
}

void fault_proxy_stop(struct fault_proxy *p, unsigned done[FAULTS])
{
	eventfd_write(p->stop, 1);
	pthread_join(p->thread, NULL);
	if (done)
		memcpy(done, p->done, sizeof p->done);
	if (!p->plan.udp)
		close(p->front);
	hang_up(p);
	close(p->stop);
	free(p);
}
