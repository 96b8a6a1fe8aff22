/*
 * Bytes to and from a device, with one deadline over a whole exchange: a device that sends a byte now and then holds nobody
 * up. Descriptors do not block and are not inherited.
 */
#ifndef FIELD_WIRE_H
#define FIELD_WIRE_H

#include <stddef.h>
#include <stdint.h>
#include <sys/socket.h>

#include "base/status.h"

struct wire_address {
	struct sockaddr_storage address;
	socklen_t size;
};

int64_t wire_now_ms(void); /* monotonic; deadlines are in this */

/* A name is looked up here, which takes as long as the system's resolver wants; an address at once. BUSY: unknown. */
enum status wire_resolve(struct wire_address *out, const char *host, int port, int socktype, struct err *err);
/* BUSY: refused, not reached, or not by the deadline; then *fd is -1. */
enum status wire_connect(int *fd, const struct wire_address *to, int64_t deadline, struct err *err);
/* All of the bytes. BUSY: the connection broke or the deadline passed. */
enum status wire_send(int fd, const void *bytes, size_t size, int64_t deadline, struct err *err);
/* At least one byte, *got is at most room. BUSY: nothing by the deadline, or the other side has closed. */
enum status wire_receive(int fd, void *bytes, size_t room, size_t *got, int64_t deadline, struct err *err);
/* 1: there is something to read (or the other side has closed); 0: not by the deadline; -1: errno says why. */
int wire_wait(int fd, short events, int64_t deadline);

#endif
