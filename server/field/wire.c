#include "wire.h"

#include <errno.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

int64_t wire_now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

enum status wire_resolve(struct wire_address *out, const char *host, int port, int socktype, struct err *err)
{
	struct addrinfo hints = {.ai_family = AF_UNSPEC, .ai_socktype = socktype, .ai_flags = AI_NUMERICSERV},
			*found = NULL;
	char service[12];

	snprintf(service, sizeof service, "%d", port);
	if (getaddrinfo(host, service, &hints, &found))
		return err_set(err, BUSY, "/host", "%s is not known here", host);
	memcpy(&out->address, found->ai_addr, found->ai_addrlen);
	out->size = found->ai_addrlen;
	freeaddrinfo(found);
	return OK;
}

int wire_wait(int fd, short events, int64_t deadline)
{
	struct pollfd p = {.fd = fd, .events = events};

	for (;;) {
		int64_t left = deadline - wire_now_ms();
		int n = poll(&p, 1, left > 0 ? (int)left : 0);

		if (n > 0)
			return 1;
		if (n < 0 && errno != EINTR)
			return -1;
		if (left <= 0)
			return 0;
	}
}

static enum status connected(int fd, int64_t deadline, struct err *err)
{
	int problem = 0;
	socklen_t size = sizeof problem;

	if (wire_wait(fd, POLLOUT, deadline) != 1)
		return err_set(err, BUSY, NULL, "no connection within the time");
	if (getsockopt(fd, SOL_SOCKET, SO_ERROR, &problem, &size) || problem)
		return err_set(err, BUSY, NULL, "no connection: %s", strerror(problem));
	return OK;
}

enum status wire_connect(int *fd, const struct wire_address *to, int64_t deadline, struct err *err)
{
	enum status rc = OK;
	int on = 1;

	*fd = socket(to->address.ss_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
	if (*fd < 0)
		return err_set(err, BUSY, NULL, "no connection: %s", strerror(errno));
	/* An exchange is one small packet each way; it must not wait for more to send. */
	setsockopt(*fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
	if (connect(*fd, (const struct sockaddr *)&to->address, to->size)) {
		if (errno == EINPROGRESS)
			rc = connected(*fd, deadline, err);
		else
			rc = err_set(err, BUSY, NULL, "no connection: %s", strerror(errno));
	}
	if (rc) {
		close(*fd);
		*fd = -1;
	}
	return rc;
}

enum status wire_send(int fd, const void *bytes, size_t size, int64_t deadline, struct err *err)
{
	const uint8_t *p = bytes;

	while (size > 0) {
		/* A serial line is no socket, so write; a closed peer's SIGPIPE is held back by the first way alone. */
		ssize_t n = send(fd, p, size, MSG_NOSIGNAL);

		if (n < 0 && errno == ENOTSOCK)
			n = write(fd, p, size);
		if (n > 0) {
			p += n;
			size -= (size_t)n;
			continue;
		}
		if (n < 0 && errno != EAGAIN && errno != EINTR)
			return err_set(err, BUSY, NULL, "the connection broke: %s", strerror(errno));
		if (wire_wait(fd, POLLOUT, deadline) != 1)
			return err_set(err, BUSY, NULL, "no answer within the time");
	}
	return OK;
}

enum status wire_receive(int fd, void *bytes, size_t room, size_t *got, int64_t deadline, struct err *err)
{
	*got = 0;
	for (;;) {
		ssize_t n;

		if (wire_wait(fd, POLLIN, deadline) != 1)
			return err_set(err, BUSY, NULL, "no answer within the time");
		n = read(fd, bytes, room);
		if (n > 0) {
			*got = (size_t)n;
			return OK;
		}
		if (n == 0)
			return err_set(err, BUSY, NULL, "the device closed the connection");
		if (errno != EAGAIN && errno != EINTR)
			return err_set(err, BUSY, NULL, "the connection broke: %s", strerror(errno));
	}
}
