#include "sim_server.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

struct listener {
	struct sim_endpoint of;
	int fd, moved_fd; /* -1: none */
	int line_fd;	  /* the far side of a line, held open so that it outlives whoever uses it; -1: none */
	char line[64];
};

/* A connection, or whoever sends datagrams from one address. */
struct peer {
	bool used;
	struct listener *at;
	int fd;			    /* TCP or the near side of a line; -1 for UDP */
	struct sockaddr_in address; /* UDP */
	uint64_t last;		    /* when it was heard, in messages of the server */
	struct sim_session session;
	uint8_t in[2 * SIM_MESSAGE]; /* TCP: what is not taken yet */
	size_t size;
};

struct sim_server {
	pthread_t thread;
	int stop; /* eventfd */
	struct listener listeners[SIM_ENDPOINTS];
	size_t count;
	struct peer peers[SIM_PEERS];
	uint64_t messages;
};

/* ---- sockets ---- */

static int open_socket(bool udp, int port)
{
	int fd = socket(AF_INET, (udp ? SOCK_DGRAM : SOCK_STREAM) | SOCK_NONBLOCK | SOCK_CLOEXEC, 0), one = 1;
	struct sockaddr_in to = {
		.sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr = {htonl(INADDR_LOOPBACK)}};

	if (fd < 0)
		return -1;
	if (!udp)
		setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &one, sizeof one);
	if (bind(fd, (struct sockaddr *)&to, sizeof to) || (!udp && listen(fd, 16))) {
		int why = errno;

		close(fd);
		errno = why;
		return -1;
	}
	return fd;
}

static enum status listen_at(struct listener *l, const struct sim_endpoint *e, struct err *err)
{
	*l = (struct listener){.of = *e, .fd = -1, .moved_fd = -1, .line_fd = -1};
	if (e->port == SIM_LINE)
		return OK; /* once there are peers, see open_line */
	l->fd = open_socket(e->udp, e->port);
	if (l->fd >= 0 && e->udp && e->moves)
		l->moved_fd = open_socket(true, 0);
	if (l->fd < 0 || (e->udp && e->moves && l->moved_fd < 0))
		return err_set(err, BUSY, "", "port %d cannot be opened: %s", e->port, strerror(errno));
	return OK;
}

int sim_server_port(const struct sim_server *s, size_t endpoint, bool moved)
{
	const struct listener *l = &s->listeners[endpoint];
	struct sockaddr_in at = {0};
	socklen_t size = sizeof at;

	if (endpoint >= s->count || getsockname(moved ? l->moved_fd : l->fd, (struct sockaddr *)&at, &size))
		return 0;
	return ntohs(at.sin_port);
}

/* ---- peers ---- */

static void forget(struct peer *p)
{
	if (p->used && p->fd >= 0)
		close(p->fd);
	p->used = false;
}

/* A free place, or that of the UDP peer that was silent longest; NULL when connections hold all of them. */
static struct peer *new_peer(struct sim_server *s, struct listener *at, int fd)
{
	struct peer *oldest = NULL;

	for (size_t i = 0; i < SIM_PEERS; i++) {
		struct peer *p = &s->peers[i];

		if (!p->used) {
			oldest = p;
			break;
		}
		if (p->fd < 0 && (!oldest || p->last < oldest->last))
			oldest = p;
	}
	if (oldest)
		*oldest = (struct peer){.used = true, .at = at, .fd = fd, .last = s->messages};
	return oldest;
}

static struct peer *udp_peer(struct sim_server *s, struct listener *at, const struct sockaddr_in *from)
{
	struct peer *p;

	for (size_t i = 0; i < SIM_PEERS; i++) {
		p = &s->peers[i];
		if (p->used && p->fd < 0 && p->at == at && p->address.sin_port == from->sin_port &&
		    p->address.sin_addr.s_addr == from->sin_addr.s_addr)
			return p;
	}
	p = new_peer(s, at, -1);
	if (p)
		p->address = *from;
	return p;
}

/* A terminal as a wire: bytes pass as they are. Without one the device has no line, which is no reason to do without the rest. */
static void open_line(struct sim_server *s, struct listener *l)
{
	int fd = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	struct termios t;

	if (fd < 0)
		return;
	if (!grantpt(fd) && !unlockpt(fd) && !ptsname_r(fd, l->line, sizeof l->line))
		l->line_fd = open(l->line, O_RDWR | O_NOCTTY | O_CLOEXEC);
	if (l->line_fd < 0 || tcgetattr(l->line_fd, &t)) {
		l->line[0] = '\0';
		close(fd);
		return;
	}
	cfmakeraw(&t);
	tcsetattr(l->line_fd, TCSANOW, &t);
	if (!new_peer(s, l, fd))
		close(fd);
}

const char *sim_server_line(const struct sim_server *s, size_t endpoint)
{
	return endpoint < s->count ? s->listeners[endpoint].line : "";
}

/* ---- messages ---- */

static void serve_datagram(struct sim_server *s, struct listener *l, int fd)
{
	uint8_t in[SIM_MESSAGE], out[SIM_MESSAGE];
	struct sockaddr_in from = {0};
	socklen_t size = sizeof from;
	size_t n = 0;
	ssize_t got = recvfrom(fd, in, sizeof in, 0, (struct sockaddr *)&from, &size);
	struct peer *p = got > 0 ? udp_peer(s, l, &from) : NULL;
	long taken;

	if (!p)
		return;
	p->last = ++s->messages;
	taken = l->of.answer(l->of.device, &p->session, in, (size_t)got, out, sizeof out, &n);
	if (n > 0 && taken != 0)
		sendto(l->moved_fd >= 0 ? l->moved_fd : fd, out, n, MSG_NOSIGNAL, (struct sockaddr *)&from, size);
	if (taken < 0)
		forget(p);
}

/* Who asks without reading the answers is cut off; a line loses them. */
static bool send_answer(const struct peer *p, const uint8_t *bytes, size_t size)
{
	if (p->at->of.port == SIM_LINE)
		return write(p->fd, bytes, size) > 0 || errno == EAGAIN;
	return send(p->fd, bytes, size, MSG_NOSIGNAL) == (ssize_t)size;
}

/* Everything whole that has arrived. False: the connection is to be closed. */
static bool answer_all(struct sim_server *s, struct peer *p)
{
	uint8_t out[SIM_MESSAGE];

	while (p->size > 0) {
		size_t n = 0;
		long taken = p->at->of.answer(p->at->of.device, &p->session, p->in, p->size, out, sizeof out, &n);

		if (n > 0 && taken != 0 && !send_answer(p, out, n))
			return false;
		if (taken < 0)
			return false;
		if (taken == 0)
			return p->size < sizeof p->in;
		p->last = ++s->messages;
		p->size -= (size_t)taken;
		memmove(p->in, p->in + taken, p->size);
	}
	return true;
}

static void serve_connection(struct sim_server *s, struct peer *p)
{
	ssize_t got = read(p->fd, p->in + p->size, sizeof p->in - p->size);

	if (got < 0 && (errno == EAGAIN || errno == EINTR))
		return;
	if (got > 0)
		p->size += (size_t)got;
	if (got <= 0 || !answer_all(s, p))
		forget(p);
}

static void accept_one(struct sim_server *s, struct listener *l)
{
	int fd = accept4(l->fd, NULL, NULL, SOCK_NONBLOCK | SOCK_CLOEXEC), one = 1;

	if (fd < 0)
		return;
	setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
	if (!new_peer(s, l, fd))
		close(fd);
}

/* ---- the thread ---- */

struct watch {
	struct pollfd fds[1 + 2 * SIM_ENDPOINTS + SIM_PEERS];
	struct listener *listener[1 + 2 * SIM_ENDPOINTS + SIM_PEERS];
	struct peer *peer[1 + 2 * SIM_ENDPOINTS + SIM_PEERS];
	nfds_t n;
};

static void watch_for(struct watch *w, int fd, struct listener *l, struct peer *p)
{
	if (fd < 0)
		return;
	w->fds[w->n] = (struct pollfd){.fd = fd, .events = POLLIN};
	w->listener[w->n] = l;
	w->peer[w->n++] = p;
}

static void watch_all(struct sim_server *s, struct watch *w)
{
	w->n = 0;
	watch_for(w, s->stop, NULL, NULL);
	for (size_t i = 0; i < s->count; i++) {
		watch_for(w, s->listeners[i].fd, &s->listeners[i], NULL);
		watch_for(w, s->listeners[i].moved_fd, &s->listeners[i], NULL);
	}
	for (size_t i = 0; i < SIM_PEERS; i++) {
		if (s->peers[i].used)
			watch_for(w, s->peers[i].fd, NULL, &s->peers[i]);
	}
}

/* Connections before listeners: accepting may give a place away whose turn is still to come. */
static void serve_ready(struct sim_server *s, struct watch *w)
{
	for (nfds_t i = w->n; i-- > 1;) {
		if (!w->fds[i].revents)
			continue;
		if (w->peer[i])
			serve_connection(s, w->peer[i]);
		else if (w->listener[i]->of.udp)
			serve_datagram(s, w->listener[i], w->fds[i].fd);
		else
			accept_one(s, w->listener[i]);
	}
}

static void *serve(void *arg)
{
	struct sim_server *s = arg;
	struct watch w;

	for (;;) {
		watch_all(s, &w);
		if (poll(w.fds, w.n, -1) < 0 && errno != EINTR)
			return NULL;
		if (w.fds[0].revents)
			return NULL;
		serve_ready(s, &w);
	}
}

static void release(struct sim_server *s)
{
	for (size_t i = 0; i < s->count; i++) {
		if (s->listeners[i].fd >= 0)
			close(s->listeners[i].fd);
		if (s->listeners[i].moved_fd >= 0)
			close(s->listeners[i].moved_fd);
		if (s->listeners[i].line_fd >= 0)
			close(s->listeners[i].line_fd);
	}
	for (size_t i = 0; i < SIM_PEERS; i++)
		forget(&s->peers[i]);
	if (s->stop >= 0)
		close(s->stop);
	free(s);
}

enum status sim_server_start(struct sim_server **out, const struct sim_endpoint *endpoints, size_t count,
			     struct err *err)
{
	struct sim_server *s;
	enum status rc = OK;

	*out = NULL;
	if (count > SIM_ENDPOINTS)
		return err_set(err, INVALID, "", "at most %d simulated devices", SIM_ENDPOINTS);
	s = calloc(1, sizeof *s);
	if (!s)
		return err_set(err, NO_MEMORY, "", "out of memory");
	s->stop = eventfd(0, EFD_CLOEXEC);
	if (s->stop < 0)
		rc = err_set(err, FAILED, "", "no more files can be opened: %s", strerror(errno));
	for (size_t i = 0; i < count && !rc; i++) {
		rc = listen_at(&s->listeners[i], &endpoints[i], err);
		s->count++;
		if (!rc && endpoints[i].port == SIM_LINE)
			open_line(s, &s->listeners[i]);
	}
	if (!rc && pthread_create(&s->thread, NULL, serve, s))
		rc = err_set(err, FAILED, "", "no thread can be started");
	if (rc)
		release(s);
	else
		*out = s;
	return rc;
}

void sim_server_stop(struct sim_server *s)
{
	if (!s)
		return;
	eventfd_write(s->stop, 1);
	pthread_join(s->thread, NULL);
	release(s);
}
